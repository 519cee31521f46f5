// The Plan page: a cell of the grid or the slider chooses an hour and a stretch, and the water and its words follow.

import { listenToKeys, say } from "./page.js";

const LONGEST_WAIT = 120; // ms without a further move, then the server is asked

const told = document.getElementById("told");
const grid = document.querySelector("#grid svg");
const piece = document.getElementById("piece");
const slider = document.getElementById("moment");
const stretch = document.getElementById("stretch");
const clocks = JSON.parse(document.getElementById("clocks").textContent);
const question = new URL(told.dataset.address, location.href).searchParams;
const cells = [...grid.querySelectorAll("[data-moment][data-stretch]")];
const frames = ["outer", "inner"].map((name) => {
  const frame = document.createElementNS("http://www.w3.org/2000/svg", "rect");
  frame.setAttribute("class", `frame-${name}`);
  return frame;
});
const at = { moment: Number(piece.firstElementChild.dataset.moment), stretch: Number(piece.firstElementChild.dataset.stretch) };

// The piece

let waiting;
let asked;
function go(moment, row, { isAtOnce = false } = {}) {
  at.moment = Math.max(0, Math.min(clocks.length - 1, moment));
  at.stretch = row;
  show();
  clearTimeout(waiting);
  asked?.abort();
  waiting = setTimeout(fetchPiece, isAtOnce ? 0 : LONGEST_WAIT);
}

function show() {
  const clock = clocks[at.moment];
  slider.value = at.moment;
  stretch.value = at.stretch;
  document.getElementById("moment-told").textContent = clock;
  document.getElementById("hour-clock").textContent = clock;
  slider.setAttribute("aria-valuetext", `${clock}, ${stretch.selectedOptions[0]?.textContent ?? ""}`);
  const nearest = nearestCell();
  for (const cell of cells) {
    cell.classList.toggle("is-chosen", cell === nearest);
    if (cell === nearest) cell.setAttribute("aria-current", "true"); else cell.removeAttribute("aria-current");
  }
  if (nearest) frameCell(nearest);
}

/** Draw the frame of the chosen cell within its edges, where no neighbour covers it: two tones, so that any shade shows one. */
function frameCell(cell) {
  const { x, y, width, height } = cell.querySelector(".room").getBBox();
  [2, 4.5].forEach((inset, i) => {
    Object.entries({ x: x + inset, y: y + inset, width: width - 2 * inset, height: height - 2 * inset }).forEach(([name, value]) => frames[i].setAttribute(name, value));
    cell.append(frames[i]);
  });
}

/** Mark the stand that the words tell of on the water; it need not be the best one of all. */
function markStand() {
  const hour = piece.querySelector(".hour");
  const stand = hour.querySelector(`.stand[data-stand="${hour.dataset.stand}"]`);
  stand?.classList.add("is-chosen");
  hour.querySelector("figcaption").hidden = !stand;
}

async function fetchPiece() {
  const query = new URLSearchParams(question);
  query.set("moment", at.moment);
  query.set("stretch", at.stretch);
  history.replaceState(null, "", `/plan?${query}`);
  piece.setAttribute("aria-busy", "true");
  asked = new AbortController();
  try {
    const answer = await fetch(`/plan/water?${query}`, { signal: asked.signal, headers: { Accept: "text/html, application/json;q=0.5" } });
    const text = await answer.text();
    if (!answer.ok) throw new Error(new DOMParser().parseFromString(text, "text/html").querySelector("main p:not(:empty)")?.textContent ?? "that hour cannot be shown");
    piece.innerHTML = text;
    markStand();
    piece.removeAttribute("aria-busy");
    say(`${piece.querySelector("h3").textContent}: ${piece.querySelector(".cell-told > p:nth-of-type(2)").textContent}`);
  } catch (error) {
    if (error.name === "AbortError") return;
    piece.removeAttribute("aria-busy");
    say(error.name === "TypeError" ? "stillwing does not answer; is it still running?" : error.message);
  }
}

// The grid: one stop of the Tab key, arrows within

const rowOf = (cell) => Number(cell.dataset.stretch);
const momentOf = (cell) => Number(cell.dataset.moment);

function nearestCell() {
  const row = cells.filter((cell) => rowOf(cell) === at.stretch);
  const from = (cell) => Number(cell.dataset.from ?? cell.dataset.moment);
  const inside = row.filter((cell) => from(cell) <= at.moment);
  const byDistance = (a, b) => Math.abs(momentOf(a) - at.moment) - Math.abs(momentOf(b) - at.moment);
  return (grid.querySelector("[data-from]") ? inside.at(-1) : undefined) ?? row.sort(byDistance)[0];
}

function beginGrid() {
  grid.setAttribute("role", "group");
  for (const cell of cells) {
    cell.setAttribute("role", "button");
    cell.setAttribute("tabindex", "-1");
    const title = cell.querySelector("title");
    if (title) cell.setAttribute("aria-label", title.textContent);
  }
  (nearestCell() ?? cells[0])?.setAttribute("tabindex", "0");
}

function focusCell(cell) {
  for (const other of cells) other.setAttribute("tabindex", other === cell ? "0" : "-1");
  cell.focus();
}

function beside(cell, across, down) {
  const rows = [...new Set(cells.map(rowOf))].sort((a, b) => a - b);
  const row = rows[rows.indexOf(rowOf(cell)) + down];
  if (row === undefined) return null;
  const inRow = cells.filter((one) => rowOf(one) === row);
  const columns = cells.filter((one) => rowOf(one) === rowOf(cell));
  return inRow[columns.indexOf(cell) + across] ?? null;
}

const MOVES = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
grid.addEventListener("keydown", (event) => {
  const cell = event.target.closest("[data-moment][data-stretch]");
  if (!cell || event.ctrlKey || event.altKey || event.metaKey) return;
  if (event.key === "Enter" || event.key === " ") {
    event.preventDefault();
    go(momentOf(cell), rowOf(cell), { isAtOnce: true });
  }
  const next = MOVES[event.key] && beside(cell, ...MOVES[event.key]);
  if (MOVES[event.key]) event.preventDefault();
  if (next) focusCell(next);
});
grid.addEventListener("click", (event) => {
  const cell = event.target.closest("[data-moment][data-stretch]");
  if (!cell) return;
  focusCell(cell);
  go(momentOf(cell), rowOf(cell), { isAtOnce: true });
});

// Slider, stretch, windows and letters

slider.addEventListener("input", () => go(Number(slider.value), at.stretch));
stretch.addEventListener("change", () => go(at.moment, Number(stretch.value)));
for (const link of document.querySelectorAll("a.look")) {
  link.addEventListener("click", (event) => {
    event.preventDefault();
    go(Number(link.dataset.moment), Number(link.dataset.stretch), { isAtOnce: true });
    document.getElementById("hour").scrollIntoView();
    slider.focus({ preventScroll: true });
  });
}
listenToKeys({
  e: () => go(at.moment - Number(slider.step), at.stretch),
  l: () => go(at.moment + Number(slider.step), at.stretch),
});

const print = document.getElementById("print");
print.hidden = document.getElementById("choose").hidden = false;
print.addEventListener("click", () => window.print());
beginGrid();
show();
markStand();

// The grid may be wider than a phone: it begins at the chosen cell.
const room = document.getElementById("grid");
const first = grid.querySelector("[aria-current]");
if (first) room.scrollLeft += first.getBoundingClientRect().right - room.getBoundingClientRect().right + room.clientWidth / 3;
