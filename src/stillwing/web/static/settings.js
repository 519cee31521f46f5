// The Settings page: the plane of all settings and the one that is looked at, moved by hand, keys or sliders; its figures follow.

import { ask, listenToKeys, say } from "./page.js";
import { drawPlot, rows } from "./plot.js";

const EDGE = { left: 76, right: 14, top: 12, bottom: 44 };
const LETTER = 7.8; // CSS px that a letter of the plot's words takes, about
const LONGEST_WAIT = 160; // ms without a further move, then the server is asked

const plane = document.getElementById("plane");
const frontier = document.getElementById("frontier");
const handle = plane.querySelector(".handle");
const chosen = document.getElementById("chosen");
const back = document.getElementById("back");
const sliders = { f: document.getElementById("f-slider"), s: document.getElementById("s-slider") };
const figures = JSON.parse(plane.querySelector(".figures").textContent);
const buys = JSON.parse(frontier.querySelector(".figures").textContent);
const address = document.getElementById("answer").dataset.address;
const count = { f: figures.f_numbers.length, s: figures.exposures_s.length };
const at = { f: figures.chosen[0], s: figures.chosen[1] };
const plots = {};

// Plots

async function drawAll() {
  for (const plot of Object.values(plots)) plot.remove();
  const room = { ...EDGE, width: plane.clientWidth - EDGE.left - EDGE.right, height: plane.clientHeight - EDGE.top - EDGE.bottom };
  const low = { ...EDGE, left: 50, right: 28, width: frontier.clientWidth - 78, height: frontier.clientHeight - EDGE.top - EDGE.bottom };
  const isos = buys.rows.map((row) => row.iso);
  [plots.plane, plots.frontier] = await Promise.all([
    drawPlot(plane.querySelector(".canvas"), "plane", { cells: rows(figures.cells), lines: rows(figures.lines), words: clear(figures.words, room) }, planeSignals(), room),
    drawPlot(frontier.querySelector(".canvas"), "frontier",
      { settings: structuredClone(buys.rows), noise: noiseWords(isos) },
      { iso_low: isos[0] / 1.25, iso_high: isos.at(-1) * 1.1, iso_values: buys.iso_values, sharp_px: 0.35, soft_px: buys.soft_px, limit_px: Number(frontier.dataset.limit) }, low),
  ]);
  show();
}

function noiseWords(isos) {
  if (buys.noise_iso === null) return [];
  const isLeft = buys.noise_iso > Math.sqrt(isos[0] * isos.at(-1));
  return [{ iso: buys.noise_iso, is_left: isLeft, words: isLeft ? "noise unseen up to here" : "noise seen from here on" }];
}

/** Return the words that have room, each at the first of its places that is clear of those before it and of the pencilled ring. */
function clear(words, room) {
  const across = (f) => (room.width * Math.log(f / figures.f_low)) / Math.log(figures.f_high / figures.f_low);
  const down = (s) => (room.height * Math.log(s / figures.s_short)) / Math.log(figures.s_long / figures.s_short);
  const [bestF, bestS] = figures.best;
  const [x, y] = [across(figures.f_numbers[bestF]), down(figures.exposures_s[bestS])];
  const taken = [{ left: x - 18, right: x + 18, top: y - 18, bottom: y + 18 }];
  const told = new Set();
  return words.filter((one) => {
    if (told.has(one.words)) return false;
    const wide = one.words.length * LETTER;
    const at = across(one.f_number);
    const left = one.side === "top" ? at + 30 : one.side.startsWith("start") ? at + 5 : one.side.startsWith("end") ? at - wide - 5 : at - wide / 2;
    const middle = down(one.exposure_s) + (one.side.endsWith("above") ? -9 : 11);
    const box = { left, right: left + wide, top: middle - 8, bottom: middle + 8 };
    if (box.left < 0 || box.right > room.width) return false;
    if (taken.some((other) => box.left < other.right && other.left < box.right && box.top < other.bottom && other.top < box.bottom)) return false;
    taken.push(box);
    told.add(one.words);
    return true;
  });
}

function planeSignals() {
  const [bestF, bestS] = figures.best;
  return {
    f_low: figures.f_low, f_high: figures.f_high, s_short: figures.s_short, s_long: figures.s_long,
    f_values: figures.f_numbers, f_names: figures.f_words.map((one) => one.replace("f/", "")),
    s_values: figures.exposures_s, s_names: figures.exposure_words.map((one) => one.replace(" s", "")),
    best_f: figures.f_numbers[bestF], best_s: figures.exposures_s[bestS],
    chosen_f: figures.f_numbers[at.f], chosen_s: figures.exposures_s[at.s],
  };
}

// Where we are

function go(f, s) {
  const next = { f: clamp(f, count.f), s: clamp(s, count.s) };
  if (next.f === at.f && next.s === at.s) return;
  Object.assign(at, next);
  show();
  settle();
}

const clamp = (step, n) => Math.max(0, Math.min(n - 1, step));

function show() {
  const cell = at.f * count.s + at.s;
  const told = (column) => figures.cells[column][cell];
  const [f, s] = [figures.f_words[at.f], figures.exposure_words[at.s]];
  put({ setting: `${f}, ${s}, ${told("iso")}`, verdict: told("verdict"), blur: told("blur"), sharpest: told("sharpest"), usable: told("usable"), noise: told("noise") });
  sliders.f.value = at.f;
  sliders.s.value = count.s - 1 - at.s; // to the right it gets shorter
  document.getElementById("f-told").textContent = f;
  document.getElementById("s-told").textContent = s;
  sliders.f.setAttribute("aria-valuetext", `${f}; blur ${told("blur")}; ${told("verdict")}`);
  sliders.s.setAttribute("aria-valuetext", `${s}; blur ${told("blur")}; ${told("verdict")}`);
  back.disabled = at.f === figures.best[0] && at.s === figures.best[1];
  if (!plots.plane) return;
  plots.plane.set("chosen_f", figures.f_numbers[at.f]);
  plots.plane.set("chosen_s", figures.exposures_s[at.s]);
  handle.hidden = false;
  handle.style.left = `${plots.plane.x(figures.f_numbers[at.f])}px`;
  handle.style.top = `${plots.plane.y(figures.exposures_s[at.s])}px`;
}

function put(words) {
  for (const [name, text] of Object.entries(words)) chosen.querySelector(`[data-told="${name}"]`).textContent = text;
}

// Frames to expect are reckoned by the server, once a move has come to rest.

let waiting;
let asked;
function settle() {
  const frames = chosen.querySelector('[data-told="frames"]');
  frames.setAttribute("aria-busy", "true");
  clearTimeout(waiting);
  asked?.abort();
  waiting = setTimeout(async () => {
    const query = new URL(address, location.href).searchParams;
    query.set("f_number", figures.f_words[at.f].replace("f/", ""));
    query.set("exposure", figures.exposure_words[at.s].replace(" s", ""));
    history.replaceState(null, "", `/settings?${query}`);
    asked = new AbortController();
    try {
      const point = await ask(`/settings/point?${query}`, { signal: asked.signal });
      put({ setting: point.setting, verdict: point.verdict, blur: point.blur, sharpest: point.sharpest, usable: point.usable, noise: point.noise, frames: point.frames });
      frames.removeAttribute("aria-busy");
    } catch (error) {
      if (error.name !== "AbortError") say(error.message);
    }
  }, LONGEST_WAIT);
}

// Hands

function nearest(values, wanted) {
  let best = 0;
  values.forEach((value, i) => { if (Math.abs(Math.log(value / wanted)) < Math.abs(Math.log(values[best] / wanted))) best = i; });
  return best;
}

function goTo(event) {
  const room = plane.getBoundingClientRect();
  const f = plots.plane.atX(event.clientX - room.left - plane.clientLeft);
  const s = plots.plane.atY(event.clientY - room.top - plane.clientTop);
  if (f > 0 && s > 0) go(nearest(figures.f_numbers, f), nearest(figures.exposures_s, s));
}

// A finger drags by the ring alone, so that it can still scroll the page; a mouse drags from anywhere, and both may point.
plane.addEventListener("pointerdown", (event) => {
  const isHandle = event.target === handle;
  if (!plots.plane || event.button !== 0 || (event.pointerType === "touch" && !isHandle)) return;
  event.preventDefault();
  handle.focus({ preventScroll: true });
  handle.setPointerCapture(event.pointerId);
  if (!isHandle) goTo(event);
});
handle.addEventListener("pointermove", (event) => { if (handle.hasPointerCapture(event.pointerId)) goTo(event); });
plane.addEventListener("click", (event) => { if (plots.plane && event.pointerType === "touch" && event.target !== handle) goTo(event); });

const MOVES = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
handle.addEventListener("keydown", (event) => {
  const move = MOVES[event.key];
  if (!move || event.ctrlKey || event.altKey || event.metaKey) return;
  event.preventDefault();
  go(at.f + move[0], at.s + move[1]);
});
sliders.f.addEventListener("input", () => go(Number(sliders.f.value), at.s));
sliders.s.addEventListener("input", () => go(at.f, count.s - 1 - Number(sliders.s.value)));
back.addEventListener("click", () => go(...figures.best));
listenToKeys({ p: () => go(...figures.best) });

let width = innerWidth;
let resizing;
addEventListener("resize", () => {
  if (innerWidth === width) return; // a phone's address bar changes the height alone
  width = innerWidth;
  clearTimeout(resizing);
  resizing = setTimeout(drawAll, 150);
});

sliders.f.max = count.f - 1;
sliders.s.max = count.s - 1;
document.getElementById("sliders").hidden = back.hidden = false;
show();
drawAll().catch((error) => say(error.message));
