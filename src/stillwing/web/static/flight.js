// The page of a flight: draws its way at one scale and its figures over frame number, and follows one frame through all of them.

import { say } from "./page.js";
import { drawPlot, labelStep } from "./plot.js";

const EDGE = { left: 73, right: 16, top: 14, bottom: 46 };
const AIR_PX = 24; // round the way, so that numbers and rings stand inside
const BAR_PX = [50, 130];
const HIGH_PX = 13;
const MOST_APART = 3; // scales that differ by more are not made one

const flight = document.getElementById("flight");
const sets = JSON.parse(document.getElementById("flight-sets").textContent);
const readings = JSON.parse(document.getElementById("readings").textContent);
const slider = document.getElementById("frame");
const reading = document.getElementById("reading");
const places = [...document.querySelectorAll(".plot")];
const plots = [];
const isSideTold = flight.dataset.side === "told";
const reach = Number(flight.dataset.reach);
const last = Number(flight.dataset.last);

function roomOf(place) {
  return { ...EDGE, width: place.clientWidth - EDGE.left - EDGE.right, height: place.clientHeight - EDGE.top - EDGE.bottom };
}

/** Return the ends of what a plot of the way must hold. [mm] */
function extent(name) {
  const rows = sets[name];
  const ends = (axis) => {
    const values = rows.flatMap((row) => [row[`${axis}_low`], row[`${axis}_high`]]);
    if (name === "above" && axis === "y") values.push(0); // the focal plane
    return [Math.min(...values), Math.max(...values)];
  };
  return { x: ends("x"), y: ends("y") };
}

/** Return how many mm a CSS px must stand for on both axes of a picture of the way. */
function scaleNeeded(place) {
  const room = roomOf(place);
  const { x, y } = extent(place.dataset.name);
  return Math.max((x[1] - x[0]) / (room.width - 2 * AIR_PX), (y[1] - y[0]) / (room.height - 2 * AIR_PX), 1e-3);
}

/** Return the scale of each picture of the way: one for both, unless the smaller would shrink to a spot. */
function scalesOf(ways) {
  const needed = ways.map(scaleNeeded);
  const widest = Math.max(...needed);
  const isOne = widest <= MOST_APART * Math.min(...needed);
  document.getElementById("scale-words").textContent = isOne ? "Both at one scale" : "Each at its own scale, the same across and upright";
  return isOne ? needed.map(() => widest) : needed;
}

/** Return the roundest length whose bar has a handy size: 1, 2 or 5 times a power of ten. [mm] */
function barOf(scale) {
  for (let power = -2; power < 7; power++) {
    for (const digit of [1, 2, 5]) {
      const length = digit * 10 ** power;
      if (length / scale >= BAR_PX[0] && length / scale <= BAR_PX[1]) return Number(length.toPrecision(1));
    }
  }
  return Number((90 * scale).toPrecision(1));
}

/** Return the rows with numbers at those whose number keeps clear of the others: kept ones first, then both ends. */
function numbered(rows, x, y) {
  const order = (row) => (row.choice === "keep" ? 0 : row.number === rows[0].number || row.number === rows.at(-1).number ? 1 : 2);
  const at = new Map(rows.map((row) => [row, [x(row.x), y(row.y)]]));
  const taken = [];
  const labelled = new Set();
  for (const row of [...rows].sort((a, b) => order(a) - order(b))) {
    const [px, py] = at.get(row);
    const half = 4 * String(row.number).length + 3;
    const box = [px - half, py - 13 - HIGH_PX / 2, px + half, py - 13 + HIGH_PX / 2];
    const isClear = taken.every((one) => box[2] < one[0] || box[0] > one[2] || box[3] < one[1] || box[1] > one[3]);
    const hidesNone = [...at.values()].every(([ox, oy]) => ox < box[0] || ox > box[2] || oy < box[1] || oy > box[3]);
    if (!isClear || (order(row) === 2 && !hidesNone)) continue;
    taken.push(box);
    labelled.add(row);
  }
  return rows.map((row) => (labelled.has(row) ? { ...row, label: String(row.number) } : row));
}

function drawWay(place, scale) {
  const room = roomOf(place);
  const name = place.dataset.name;
  const { x, y } = extent(name);
  const [xMiddle, yMiddle] = [(x[0] + x[1]) / 2, (y[0] + y[1]) / 2];
  const signals = {
    x_from: xMiddle - (scale * room.width) / 2, x_to: xMiddle + (scale * room.width) / 2,
    y_from: yMiddle - (scale * room.height) / 2, y_to: yMiddle + (scale * room.height) / 2,
    bar_mm: barOf(scale), bar_words: `${barOf(scale)} mm`, current: Number(slider.value),
    is_side_told: name === "seen" || isSideTold, reach_mm: name === "above" ? reach : 0,
  };
  const across = (value) => (value - signals.x_from) / scale;
  const down = (value) => (signals.y_to - value) / scale;
  return drawPlot(place.querySelector(".canvas"), `flight-${name}`, { spots: numbered(sets[name], across, down) }, signals, room);
}

function drawOverFrames(place) {
  const room = roomOf(place);
  const name = place.dataset.name;
  const signals = { first: 1, last, step: labelStep(last, room.width), current: Number(slider.value), is_side_told: isSideTold };
  let data = { spots: sets[name] };
  if (name === "speed") signals.highest = 1.05 * Math.max(...sets.speed.map((row) => row.speed_high));
  if (name === "depth") {
    const deepest = Math.max(...sets.depth.map((row) => Math.max(row.depth_high, -row.depth_low)));
    Object.assign(signals, { deepest: 1.08 * deepest, reach_mm: reach });
    data = { spots: sets.depth, left: sets.left };
  }
  if (name === "causes") data = { parts: sets.parts };
  return drawPlot(place.querySelector(".canvas"), `flight-${name}`, data, signals, room);
}

async function drawAll() {
  for (const plot of plots.splice(0)) plot.remove();
  const ways = places.filter((place) => place.closest(".ways"));
  const scales = ways.length ? scalesOf(ways) : [];
  plots.push(...await Promise.all(places.map((place) => (ways.includes(place) ? drawWay(place, scales[ways.indexOf(place)]) : drawOverFrames(place)))));
}

function show(number) {
  const words = readings[number - 1];
  reading.textContent = `${words.charAt(0).toUpperCase()}${words.slice(1)}.`;
  slider.setAttribute("aria-valuetext", words);
  for (const plot of plots) if (plot.known.has("current")) plot.set("current", number);
}

slider.addEventListener("input", () => show(Number(slider.value)));

let width = innerWidth;
let resizing;
addEventListener("resize", () => {
  if (innerWidth === width) return; // a phone's address bar changes the height alone
  width = innerWidth;
  clearTimeout(resizing);
  resizing = setTimeout(() => drawAll().catch((error) => say(error.message)), 150);
});

drawAll().then(() => show(Number(slider.value))).catch((error) => say(error.message));
