// The page of one burst: trace, slider, plate and note stay on the same frame; choices are saved at once and can be taken back.

import { hang } from "./curve.js";
import { openOriginal } from "./original.js";
import { ask, listenToKeys, say, send } from "./page.js";
import { drawPlot, labelStep, rows } from "./plot.js";

const LANE = 88;
const EDGE = { left: 50, right: 16, bottom: 40 };
const THUMB = 22; // CSS px, as in burst.css

const page = document.getElementById("burst").dataset;
const at = `/outings/${page.outing}/bursts/${page.burst}`;
const trace = document.getElementById("trace");
const slider = document.getElementById("frame");
const noteRoom = document.getElementById("note");
const plate = document.getElementById("plate");

let figures = rows(JSON.parse(trace.querySelector(".figures").textContent));
let cuts = JSON.parse(trace.querySelector(".cuts").textContent);
let number = Number(slider.value);
const last = Number(slider.max);
const plots = {};

const leadOf = (wanted) => figures.find((row) => row.number === wanted && row.is_lead);

// Plots

async function drawAll() {
  for (const plot of Object.values(plots)) if (plot) plot.remove();
  const width = trace.clientWidth - EDGE.left - EDGE.right;
  const frames = { first: 1, last, step: labelStep(last, width), current: number };
  const blur = { sharp_px: Number(page.sharp), soft_px: Number(page.soft), limit_px: Number(page.limit) };
  const size = document.getElementById("size");
  const path = document.getElementById("path");
  const hasWay = !path.closest("[hidden]");
  if (hasWay) path.style.height = `${pathRoom(path).height + 12 + EDGE.bottom}px`;
  [plots.trace, plots.size, plots.path] = await Promise.all([
    drawPlot(trace.querySelector(".canvas"), "trace", { frames: figures }, { ...frames, ...blur },
      { ...EDGE, top: LANE, width, height: trace.clientHeight - LANE - EDGE.bottom }),
    drawPlot(size.querySelector(".canvas"), "size", { frames: figures }, { ...frames, largest_percent: largestPercent() },
      { ...EDGE, top: 10, width, height: size.clientHeight - 22 }),
    hasWay && drawPlot(path.querySelector(".canvas"), "path", { frames: figures },
      { current: number, frame_width_px: Number(page.width), frame_height_px: Number(page.height) }, pathRoom(path)),
  ]);
  placeSlider();
  hangCuts();
}

function pathRoom(path) {
  const left = 62;
  const width = Math.min(path.clientWidth - left - EDGE.right, 640);
  return { ...EDGE, left, top: 12, width, height: (width * page.height) / page.width };
}

function largestPercent() {
  return Math.min(100, Math.max(5, 1.15 * Math.max(...figures.map((row) => row.size_percent ?? 0))));
}

function placeSlider() {
  const from = plots.trace.x(1);
  const to = plots.trace.x(last);
  slider.style.marginLeft = `${from - THUMB / 2}px`;
  slider.style.width = `${Math.max(to - from, 0) + THUMB}px`;
}

function hangCuts() {
  const hung = cuts.map((cut) => {
    const element = document.createElement("a");
    element.className = `cut-on-curve ${!cut.is_kept ? "is-not-kept" : cut.is_decided ? "is-inked" : "is-pencilled"}`;
    element.href = cut.href;
    element.dataset.number = cut.number;
    const picture = document.createElement("img");
    Object.assign(picture, { src: cut.source, width: cut.width, height: cut.height, alt: cut.words });
    element.append(picture);
    return { element, ...cut };
  });
  hang(plots.trace, hung, trace.querySelector(".hanging"));
}

function refreshPlots() {
  for (const plot of Object.values(plots)) if (plot) plot.figures("frames", structuredClone(figures));
  if (plots.trace) hangCuts();
}

// Where we are

function spoken(row) {
  const blur = row.blur_px === null ? (row.is_found ? "blur not measured" : row.is_measured ? "no animal found" : "not measured") : `blur ${row.blur_px.toPrecision(2)} pixels`;
  const choice = row.choice ? `${row.choice} ${row.is_decided ? "decided" : "proposed"}` : "nothing proposed";
  return `frame ${row.number} of ${last}, ${blur}, ${choice}`;
}

function go(wanted) {
  const next = Math.max(1, Math.min(last, wanted));
  if (next === number) return;
  number = next;
  show();
  history.replaceState(null, "", `${at}?frame=${number}`);
  fetchNote();
}

function show() {
  slider.value = number;
  slider.setAttribute("aria-valuetext", spoken(leadOf(number)));
  for (const plot of Object.values(plots)) if (plot) plot.set("current", number);
  plate.querySelector("[aria-current]")?.removeAttribute("aria-current");
  plate.querySelector(`[data-number="${number}"]`)?.setAttribute("aria-current", "true");
}

let noteAsked;
async function fetchNote() {
  noteAsked?.abort();
  noteAsked = new AbortController();
  try {
    const answer = await fetch(`${at}/notes/${number}?as=html`, { signal: noteAsked.signal });
    const body = await answer.text();
    if (!answer.ok) throw new Error("the note did not come; load the page again");
    putNote(body);
  } catch (error) {
    if (error.name !== "AbortError") say(error.message === "Failed to fetch" ? "stillwing does not answer; is it still running?" : error.message);
  }
}

function putNote(html) {
  // The button in use keeps the focus when its note is written anew.
  const used = noteRoom.contains(document.activeElement) ? document.activeElement : null;
  const again = used && (used.name ? `[name="${used.name}"][value="${used.value}"]` : used.classList[0] && `.${used.classList[0]}`);
  noteRoom.innerHTML = html;
  readyNote();
  if (used) (noteRoom.querySelector(again || "button") ?? noteRoom.querySelector("button"))?.focus();
}

function readyNote() {
  for (const button of noteRoom.querySelectorAll(".open-original, .open-drawing")) button.hidden = false;
  for (const button of document.querySelectorAll("#hand-bar [data-choice]")) {
    const own = noteRoom.querySelector(`[name="choice"][value="${button.dataset.choice}"]`);
    button.setAttribute("aria-pressed", own.getAttribute("aria-pressed"));
    button.classList.toggle("is-proposed", own.classList.contains("is-proposed"));
  }
}

// What is done

const currentFrame = () => noteRoom.querySelector(".note-inner").dataset;

async function choose(choice) {
  try {
    apply(await send(`${at}/frames/${leadOf(number).id}/choice`, { choice }));
  } catch (error) {
    say(`Not saved: ${error.message}`);
  }
}

async function takeBack() {
  try {
    const changed = await send(`${at}/undo`, {});
    if (changed.burst_id !== Number(page.burst)) return say(changed.sentence, { href: changed.href, text: "Show it" });
    if (changed.number) number = changed.number;
    apply(changed);
  } catch (error) {
    say(`Not taken back: ${error.message}`);
  }
}

function apply(changed) {
  figures = rows(changed.trace);
  cuts = changed.cuts;
  refreshPlots();
  refreshMarks();
  show();
  fetchNote();
  say(changed.sentence);
  if (changed.measuring.is_running) watchMeasuring();
}

function refreshMarks() {
  const marks = document.getElementById("marks").content;
  for (const item of plate.querySelectorAll("a")) {
    const row = leadOf(Number(item.dataset.number));
    const name = row.is_decided ? `${row.choice}-decided` : !row.is_found || !row.choice ? "none" : row.choice;
    const mark = row.is_measured || row.is_decided ? [marks.querySelector(`[data-mark="${name}"]`).firstElementChild.cloneNode(true)] : [];
    item.querySelector(".frame-mark").replaceChildren(...mark);
    item.setAttribute("aria-label", spoken(row));
    const line = document.querySelector(`tr[data-row="${row.number}"]`);
    line.querySelector(".choice-word").textContent = row.choice ?? "–";
    line.querySelector(".whose-word").textContent = row.is_decided ? "decided" : row.choice ? "proposed" : "–";
  }
}

// Measuring again

let watching = false;
async function watchMeasuring() {
  if (watching) return;
  watching = true;
  const notice = document.getElementById("measuring");
  const bar = notice.querySelector("progress");
  notice.hidden = bar.hidden = false;
  notice.querySelector("form").hidden = true;
  try {
    for (;;) {
      const state = await ask(`${at}/measuring`);
      notice.querySelector(".told").textContent = state.sentence;
      if (state.n_to_measure) { bar.max = state.n_to_measure; bar.value = state.n_done; }
      if (!state.is_running) {
        bar.hidden = true;
        if (state.has_failed) { notice.querySelector("form").hidden = false; say(state.sentence); break; }
        location.reload();
        break;
      }
      await new Promise((resolve) => setTimeout(resolve, 400));
    }
  } catch (error) {
    notice.querySelector(".told").textContent = error.message;
  }
  watching = false;
}

async function useBox(frameId, box) {
  try {
    apply(await send(`${at}/frames/${frameId}/box`, box));
  } catch (error) {
    say(`The box was not saved: ${error.message}`);
  }
}

function look(isDrawing) {
  const frame = currentFrame();
  openOriginal({
    id: frame.frame, number: Number(frame.number), width: Number(frame.width), height: Number(frame.height), file: frame.file,
    box: frame.box ? JSON.parse(frame.box) : null, tile: Number(page.tile), isDrawing,
    use: (box) => useBox(frame.frame, box),
  });
}

function sharpest() {
  const measured = figures.filter((row) => row.is_lead && row.blur_px !== null);
  if (measured.length) go(measured.reduce((best, row) => (row.blur_px < best.blur_px ? row : best)).number);
}

function turnTo(href, which) {
  if (href) location.href = href; else say(`This is the ${which} burst of the outing.`);
}

// Hands

slider.addEventListener("input", () => go(Number(slider.value)));
for (const place of [trace, document.getElementById("size")]) {
  place.addEventListener("click", (event) => {
    const cut = event.target.closest("a");
    if (cut) { event.preventDefault(); return go(Number(cut.dataset.number)); }
    if (plots.trace) go(Math.round(plots.trace.atX(event.clientX - place.getBoundingClientRect().left)));
  });
}
plate.addEventListener("click", (event) => {
  const item = event.target.closest("a");
  if (!item || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  go(Number(item.dataset.number));
});
noteRoom.addEventListener("submit", (event) => { event.preventDefault(); choose(event.submitter.value); });
noteRoom.addEventListener("click", (event) => {
  if (event.target.closest(".open-original")) look(false);
  if (event.target.closest(".open-drawing")) look(true);
});
document.querySelector("form.undo").addEventListener("submit", (event) => { event.preventDefault(); takeBack(); });
document.getElementById("hand-bar").addEventListener("click", (event) => {
  const { step, choice } = event.target.closest("button")?.dataset ?? {};
  if (step) go(number + Number(step));
  if (choice) choose(choice);
});
listenToKeys({
  ArrowLeft: () => go(number - 1),
  ArrowRight: () => go(number + 1),
  "Shift+ArrowLeft": () => turnTo(page.before, "first"),
  "Shift+ArrowRight": () => turnTo(page.after, "last"),
  h: sharpest,
  k: () => choose("keep"),
  s: () => choose("spare"),
  l: () => choose("leave"),
  Backspace: takeBack,
  o: () => look(false),
  d: () => look(true),
});

let width = innerWidth;
let waiting;
addEventListener("resize", () => {
  if (innerWidth === width) return; // a phone's address bar changes the height alone
  width = innerWidth;
  clearTimeout(waiting);
  waiting = setTimeout(drawAll, 150);
});

document.getElementById("hand-bar").hidden = false;
readyNote();
show();
drawAll().catch((error) => say(error.message));
if (page.measuring === "yes") watchMeasuring();
