// The Log page: one tap per moment, stored on the phone at once, and brought to the desk when it answers.

import { documentOf, DOUBLE_MS, changed, ended, forFile, isAtDesk, isHovering, leftOut, letGo, made, merged, MOST_IN_A_FILE, taps, tidy, turned, undoable, uuid } from "./moments.js";
import { Picks } from "./picks.js";
import { listenToPresses } from "./pressing.js";
import { show, showTrouble, showWaiting } from "./show.js";
import { Store } from "./store.js";
import { Sync } from "./sync.js";
import { learn, lines, NOTHING_KNOWN } from "./waiting.js";
import { clock, deskWords, fileName, kindWords, outWords, tapWords } from "./words.js";
import { startWorker, unkept } from "./working.js";

const FLASH_MS = 220;
const NOTE_RESTS_MS = 500;

const byId = (id) => document.getElementById(id);
const records = new Map();
const counted = new Map(); // kind to the instant of its last tap that counted, ms
const store = new Store();
const picks = new Picks(() => records.values(), picked);
const log = { device: "", nextTap: 1, known: NOTHING_KNOWN, learned: null, desk: "", aheadMs: 0, worker: unkept(), sync: null };
const ready = load();

// Taps

listenToPresses(document.querySelectorAll(".tap"), (button, atMs) => {
  flash(button);
  return ready.then(() => tapped(button.dataset.kind, atMs));
}, async (made) => {
  const { id, part, kind } = await made;
  counted.delete(kind);
  await keep(leftOut(records.get(id), part, "swipe"), "A swipe, not counted; undo counts it.");
});

function tapped(kind, atMs) {
  const before = counted.get(kind);
  const why = before !== undefined && Math.abs(atMs - before) < DOUBLE_MS ? "double" : "";
  if (!why) counted.set(kind, atMs);
  const open = kind === "hover" ? hovering(atMs) : null;
  const tap = log.nextTap++;
  const part = open ? "end" : "start";
  let record = open ? ended(open, atMs, tap) : made(kind, atMs, log.device, picks.now, tap);
  if (kind === "moved" && !why) {
    record = { ...record, stand: "", perch: "" }; // the new stand, once it is picked
    for (const one of running(atMs)) keep(letGo(one));
    picks.left();
    store.keepThing("picks", picks.now).catch(showTrouble);
  }
  if (why) record = leftOut(record, part, why);
  const told = taps([record]).find((one) => one.part === part);
  keep(record, why ? `${kindWords(kind)}: ${outWords(told)}; undo counts it.` : `${tapWords(told)}`);
  return { id: record.id, part, kind };
}

const running = (nowMs) => [...records.values()].filter((record) => isHovering(record, nowMs));
const hovering = (nowMs) => running(nowMs).sort((one, other) => other.local.tap - one.local.tap)[0] ?? null;

function flash(button) {
  button.classList.add("is-hit");
  setTimeout(() => button.classList.remove("is-hit"), FLASH_MS);
  navigator.vibrate?.(30);
}

byId("undo").addEventListener("click", async () => {
  flash(byId("undo"));
  await ready;
  turn(undoable(records.values()));
});

/** Take a tap back, or give it back. */
function turn(tap) {
  if (!tap) return;
  const record = turned(tap);
  if (tap.part === "start" && tap.isOut) counted.set(record.kind, Date.parse(record.at));
  else counted.delete(record.kind); // a tap right after is meant
  keep(record, `${tap.isOut ? "Counted" : "Taken back"}: ${tapWords(tap)}`);
}

byId("lost-sight").addEventListener("click", () => {
  const open = hovering(Date.now());
  if (open) keep(letGo(open), `hover from ${clock(open.at)}, its end not seen`);
});

// Keeping

/** Keep a version of a record: written down and shown at once, then stored, and sent soon. */
async function keep(record, told) {
  records.set(record.id, record);
  store.hold(record);
  if (told) byId("last").textContent = told;
  draw();
  try {
    adopt(await store.put(record));
    showTrouble(null);
  } catch (error) {
    showTrouble(error);
  }
  draw();
  learnAnew();
  log.sync?.soon();
}

function adopt(stored) {
  for (const record of stored) records.set(record.id, merged(records.get(record.id), record));
}

const unsynced = () => [...records.values()].filter((record) => !isAtDesk(record) && !record.local.refused);

/** Mark versions in the store; a record that was changed meanwhile keeps its newer version. */
async function mark(marked) {
  for (const record of marked) records.set(record.id, record);
  try {
    adopt(await store.put(...marked));
  } catch (error) {
    showTrouble(error);
  }
  draw();
}

function draw() {
  const nUnsynced = [...records.values()].filter((one) => !isAtDesk(one)).length;
  show({ records, log, hovering: hovering(Date.now()), nUnsynced, turn });
}

/** Learn from what was tapped, and say it; what the clock alone changes is told each second. */
function learnAnew() {
  const nowMs = Date.now();
  log.learned = learn({ records: records.values(), picks: picks.now, known: log.known, running: running(nowMs), nowMs });
  showWaiting(lines(log.learned, nowMs), true);
}

// Picks and notes

function picked(now, name) {
  store.keepThing("picks", now).catch(showTrouble);
  learnAnew();
  if (name !== "stand") return;
  const last = taps(records.values()).find((tap) => !tap.isOut)?.record;
  if (last?.kind === "moved" && !last.stand) keep(changed(last, { site: now.site, stand: now.stand }), `moved stand, to ${now.stand || "no stand named"}`);
}

const note = byId("note");
let noteRests;
note.addEventListener("input", () => {
  clearTimeout(noteRests);
  noteRests = setTimeout(keepNote, NOTE_RESTS_MS);
});
note.addEventListener("change", keepNote);
note.addEventListener("keydown", (event) => { if (event.key === "Enter") note.blur(); });

function keepNote() {
  clearTimeout(noteRests);
  const record = records.get(note.dataset.about);
  const words = tidy(note.value, Number(byId("leaf").dataset.longestNote));
  if (record && record.note !== words) keep(changed(record, { note: words }));
}

// A file, the hand, the desk

const content = () => {
  const chosen = forFile([...records.values()]);
  return new File([`${JSON.stringify(documentOf(chosen, log.device), null, 1)}\n`], fileName(new Date()), { type: "application/json" });
};
const cutWords = () => (records.size > MOST_IN_A_FILE ? ` It holds ${MOST_IN_A_FILE} of ${records.size} moments, those that the desk lacks first.` : "");

byId("save-file").addEventListener("click", async () => {
  await ready;
  const file = content();
  const link = document.createElement("a");
  link.href = URL.createObjectURL(file);
  link.download = file.name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
  byId("file-told").textContent = `Saved as ${file.name}.${cutWords()}`;
});

byId("hand-on").hidden = !navigator.canShare?.({ files: [new File(["{}"], "a.json", { type: "application/json" })] });
byId("hand-on").addEventListener("click", async () => {
  const file = content();
  try {
    await navigator.share({ files: [file], title: file.name });
    byId("file-told").textContent = `Handed on: ${file.name}.${cutWords()}`;
  } catch (error) {
    byId("file-told").textContent = error.name === "AbortError" ? "Not handed on." : `Could not be handed on (${error.message}); save it as a file.`;
  }
});

byId("send-now").addEventListener("click", () => log.sync?.now());

for (const button of document.querySelectorAll("[data-side]")) button.addEventListener("click", () => lean(button.dataset.side));
function lean(side) {
  document.documentElement.dataset.side = side;
  for (const button of document.querySelectorAll("button[data-side]")) button.setAttribute("aria-pressed", button.dataset.side === side);
  store.keepThing("side", side).catch(showTrouble);
}

addEventListener("beforeunload", (event) => {
  const isLost = !log.worker.isReady && unsynced().length > 0;
  if (isLost || store.nInRefuge > 0) event.preventDefault();
});

// Start

async function load() {
  const { records: kept, trouble } = await store.records();
  for (const record of kept) records.set(record.id, merged(records.get(record.id), record));
  log.nextTap = Math.max(0, ...kept.flatMap((record) => [record.local.tap, record.local.end_tap ?? 0])) + 1;
  try {
    if (trouble) throw trouble;
    log.device = await store.device();
    picks.set(await store.thing("picks"));
    picks.state = (await store.thing("state")) ?? picks.state;
    log.known = (await store.thing("waiting")) ?? log.known;
    lean((await store.thing("side")) ?? "right");
    await store.rescue();
  } catch (error) {
    log.device ||= uuid(); // for as long as this page stays open
    showTrouble(error);
  }
  draw();
  learnAnew();
}

async function goOn() {
  await ready;
  store.listen((stored) => {
    adopt(stored);
    learnAnew();
    log.nextTap = Math.max(log.nextTap, ...stored.map((record) => Math.max(record.local.tap, record.local.end_tap ?? 0) + 1));
    draw();
  });
  log.sync = new Sync(log.device, {
    unsynced,
    taken: (versions) => mark([...versions].map(([id, at_desk]) => withLocal(records.get(id), { at_desk }))),
    refused: (id, version, sentence) => {
      const record = records.get(id);
      return record.changed_at === version ? mark([withLocal(record, { refused: sentence })]) : undefined;
    },
    gotState: (state) => {
      log.aheadMs = Date.now() - Date.parse(state.now);
      picks.state = state;
      store.keepThing("state", state).catch(showTrouble);
    },
    gotWaiting: (known) => {
      log.known = known;
      store.keepThing("waiting", known).catch(showTrouble);
      learnAnew();
    },
    told: (state, sentence) => {
      log.desk = deskWords(state, sentence, log.aheadMs);
      draw();
    },
  });
  log.sync.start();
  startWorker(log.worker, draw);
  setInterval(() => {
    if (hovering(Date.now())) draw();
    showWaiting(lines(log.learned, Date.now()), false);
  }, 1000);
  navigator.storage?.persist?.(); // asks that the browser does not clear the log when space runs short
}

const withLocal = (record, local) => ({ ...record, local: { ...record.local, ...local } });

goOn();
