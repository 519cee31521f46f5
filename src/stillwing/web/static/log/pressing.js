// The instant of a press: when the finger came down, not when it left, and not when this page found time to hear of it.

const LONGEST_DELAY_MS = 2000;
const CLICK_FOLLOWS_MS = 700;

/**
 * Call `down(button, atMs)` for each press on a button, by finger, pen, mouse, key or a screen reader; where a finger then
 * scrolls instead, call `cancelled(what)` with what `down` returned.
 */
export function listenToPresses(buttons, down, cancelled) {
  // Of all buttons: where what is said moves them under a finger, its click goes to another one than its press.
  const held = new Map();
  const awaited = new Set(); // pointers whose click is still to come
  let lastAt = -Infinity; // the event's own time: a busy page hears of a click long after the finger
  for (const button of buttons) {
    button.addEventListener("pointerdown", (event) => {
      if (event.button !== 0) return;
      if (!held.size) awaited.clear();
      awaited.add(event.pointerId);
      lastAt = event.timeStamp;
      held.set(event.pointerId, down(button, instantOf(event)));
    });
    button.addEventListener("pointercancel", (event) => {
      if (held.has(event.pointerId)) cancelled(held.get(event.pointerId));
      held.delete(event.pointerId);
      awaited.delete(event.pointerId);
    });
    for (const end of ["pointerup", "pointerleave"]) button.addEventListener(end, (event) => {
      if (held.delete(event.pointerId)) lastAt = event.timeStamp;
    });
    // Keys and screen readers give a click alone; after a finger or a mouse the click is the same press once more.
    button.addEventListener("click", (event) => {
      // Browsers whose clicks name no pointer are left to the time between.
      const isSame = awaited.delete(event.pointerId) || held.size > 0 || event.timeStamp - lastAt < CLICK_FOLLOWS_MS;
      if (event.detail === 0 || !isSame) down(button, instantOf(event));
    });
    button.addEventListener("contextmenu", (event) => event.preventDefault());
  }
}

/** The event's own time, on the clock of the day: now, less what it waited for. */
function instantOf(event) {
  const waited = performance.now() - event.timeStamp;
  return Math.round(Date.now() - Math.min(Math.max(waited, 0), LONGEST_DELAY_MS));
}
