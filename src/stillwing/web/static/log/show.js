// What the Log page shows of its records.

import { isAtDesk, taps, undoable } from "./moments.js";
import { besides, countWords, kindWords, outWords, tapWords } from "./words.js";

const LATELY = 20;
const LONG = 32; // letters that stand in bold on one line of the narrowest phone
const byId = (id) => document.getElementById(id);

/** Say aloud that the database refused something; `null` where it takes all again. */
export function showTrouble(error) {
  const box = byId("trouble");
  if (!error) {
    box.hidden = true;
    return;
  }
  box.hidden = false;
  box.querySelector("p").textContent = `This phone does not store taps in its database (${error.message}). They are kept on this page: leave it open and save a file.`;
}

export function show({ records, log, hovering, nUnsynced, turn }) {
  const all = [...records.values()];
  byId("counts").textContent = countWords(all.length, all.filter((record) => record.undone).length, nUnsynced);
  byId("desk-told").textContent = log.desk;
  showReload(log.worker);
  showHover(hovering);
  showUndo(undoable(all));
  const shown = taps(all);
  showNote(shown.find((tap) => !tap.isOut && tap.part === "start")?.record);
  byId("lately").replaceChildren(...shown.slice(0, LATELY).map((tap) => item(tap, turn)));
}

/** What the waiting teaches: the wait itself in bold, and what earlier ones were like. Read aloud on taps, not each second. */
export function showWaiting([past, wait], isNew) {
  const place = byId("waiting");
  const now = place.querySelector("b");
  now.textContent = unbroken(wait);
  now.classList.toggle("is-long", wait.length > LONG);
  if (!isNew) return;
  place.querySelector("small").textContent = unbroken(past);
  place.querySelector("span").textContent = [past, wait].filter(Boolean).join("; ");
}

/** No line ends between a figure and its unit. */
const unbroken = (words) => words.replace(/(\d) (?=(s|min|h|%))/g, "$1\u00a0");

function showReload(worker) {
  const told = byId("reload-told");
  told.textContent = worker.told;
  told.classList.toggle("is-loud", !worker.isReady);
  byId("newer").hidden = !worker.isNewer;
}

function showHover(record) {
  const button = document.querySelector('[data-kind="hover"]');
  button.classList.toggle("is-on", record !== null);
  button.setAttribute("aria-pressed", record !== null);
  const running = record && Math.max(0, Math.floor((Date.now() - Date.parse(record.at)) / 1000));
  button.querySelector("small").textContent = record ? `${running} s: tap at its end` : "";
  byId("lost-sight").hidden = record === null;
}

function showUndo(tap) {
  const button = byId("undo");
  button.disabled = tap === null;
  button.querySelector("span").textContent = tap?.isOut ? "count it" : "undo";
  button.querySelector("small").textContent = tap ? (tap.part === "end" ? "the end of the hover" : kindWords(tap.record.kind)) : "";
}

function showNote(record) {
  const note = byId("note");
  if (document.activeElement === note) return; // it is about the moment for which it was begun
  note.disabled = !record;
  note.dataset.about = record?.id ?? "";
  note.value = record?.note ?? "";
  byId("note-for").textContent = record ? `Note to ${tapWords({ record, part: "start", at: record.at })}` : "Note";
}

function item(tap, turn) {
  const line = document.createElement("li");
  line.classList.toggle("is-out", tap.isOut);
  const words = document.createElement("div");
  const main = document.createElement("span");
  main.textContent = tapWords(tap);
  words.append(main, small([tap.isOut && outWords(tap), besides(tap.record), isAtDesk(tap.record) ? "at the desk" : "on this phone only"].filter(Boolean).join(" · ")));
  if (tap.record.local.refused) words.append(small(`Refused by the desk: ${tap.record.local.refused}`, "refused"));
  const button = document.createElement("button");
  button.type = "button";
  button.textContent = tap.isOut ? "count it" : "undo";
  button.setAttribute("aria-label", `${button.textContent}: ${tapWords(tap)}`);
  button.addEventListener("click", () => turn(tap));
  line.append(words, button);
  return line;
}

function small(text, name = "") {
  const made = document.createElement("small");
  made.className = name;
  made.textContent = text;
  return made;
}
