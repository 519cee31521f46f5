// From taps to intervals, on the phone, where no desk is in reach: what stillwing.review.watches and .intervals do at the desk.
// Instants and lengths in seconds. An event is {at, kind, animal, stand, perch, until}.

const LANDINGS = new Set(["return", "landing", "perch"]);

/** Stays at stands: a tap of having moved ends one and begins the next, and so does a tap that names another stand. */
export function watchesOf(events, startS, endS) {
  const found = [];
  let stand = "";
  let start = startS;
  let last = startS;
  let own = [];
  const close = (end) => {
    found.push({ stand, start, end, events: own });
    own = [];
  };
  for (const event of events) {
    const isMove = event.kind === "moved";
    if (isMove || (stand && event.stand && event.stand !== stand)) {
      close(isMove ? event.at : Math.min(last, event.at));
      stand = event.stand;
      start = event.at;
    }
    stand ||= event.stand;
    last = Math.max(last, event.until ?? event.at);
    if (!isMove) own.push(event);
  }
  close(endS);
  return found;
}

/** All intervals of a stay that lasts from its first tap to `endS`, in order of their start. `end` is "happened", "elsewhere" or "cut off". */
export function intervalsOf(events, startS, endS) {
  const named = [...new Set(events.filter((one) => one.kind === "hover" || one.kind === "pass" || one.kind === "take-off" || LANDINGS.has(one.kind)).map((one) => one.animal))].sort();
  const found = [];
  for (const watch of watchesOf(events, startS, endS)) {
    for (const animal of named) {
      const own = watch.events.filter((one) => one.animal === animal);
      const keep = (what, perch, start, end, how) => found.push({ what, start, length_s: end - start, end: how, animal, stand: watch.stand, perch });
      hovers(watch, own.filter((one) => one.kind === "hover"), keep);
      perching(watch, own, keep);
    }
  }
  return found.sort((one, other) => one.start - other.start);
}

function hovers(watch, own, keep) {
  let start = watch.start;
  for (const event of own) {
    // Two hovers at once are two animals; how long one waited for a hover that is the first tap is not known.
    if (event.at >= start && event.at > watch.start) keep("hover-wait", "", start, event.at, "happened");
    start = Math.max(start, event.until ?? event.at);
  }
  if (start < watch.end) keep("hover-wait", "", start, watch.end, "cut off");
  for (const event of own) {
    if (event.until === null) continue;
    keep("hover", "", event.at, Math.min(event.until, watch.end), event.until > watch.end ? "cut off" : "happened");
  }
}

/** What is open at each perch, an absence or a stay, since when. */
function perching(watch, own, keep) {
  const away = new Map();
  const sits = new Map();
  for (const event of own) {
    if (event.kind === "take-off") takeOff(event, away, sits, keep);
    else if (LANDINGS.has(event.kind)) land(event, away, sits, keep);
  }
  for (const [perch, start] of away) keep("away", perch, start, watch.end, "cut off");
  for (const [perch, start] of sits) keep("stay", perch, start, watch.end, "cut off");
}

function takeOff(event, away, sits, keep) {
  const perch = event.perch || (latest(sits) ?? "");
  away.delete(perch); // it left twice without coming back in between: the return was missed
  const seat = sits.has(perch) ? perch : ""; // a landing that named no perch may have been on this one
  if (sits.has(seat)) {
    keep("stay", perch, sits.get(seat), event.at, "happened");
    sits.delete(seat);
  }
  away.set(perch, event.at);
}

function land(event, away, sits, keep) {
  const left = returnedTo(event, away);
  const at = event.perch || (left ?? "");
  if (event.kind === "perch" && left === null && sits.has(at)) return; // seen again where it sits
  const gone = (perch, how) => {
    keep("away", perch, away.get(perch), event.at, how);
    away.delete(perch);
  };
  if (left !== null) gone(left, "happened");
  else if (event.kind !== "return" && away.size) gone(latest(away), "elsewhere"); // of several, the one that left last
  sits.delete(at); // where it sat already: the take-off was missed
  sits.set(at, event.at);
}

/** The perch of the absence that a landing ends as a return; null where it is none. */
function returnedTo(event, away) {
  if (event.perch) return away.has(event.perch) ? event.perch : null;
  return event.kind === "landing" ? null : latest(away);
}

function latest(open) {
  let found = null;
  for (const [perch, start] of open) if (found === null || start > open.get(found)) found = perch;
  return found;
}
