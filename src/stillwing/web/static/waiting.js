// The Waiting page: draws its plots, and shows another animal or site as soon as one is picked.

import { say } from "./page.js";
import { drawPlot } from "./plot.js";

const EDGE = { left: 56, right: 22, top: 12, bottom: 30 };
const ROW = 44;
const LABEL_PX = 64; // from one figure of the axis of time to the next, at least
const STEPS_S = [1, 2, 5, 10, 15, 20, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 14400, 43200];
const UNITS = [[3600, "h"], [60, "min"], [1, "s"]];

const places = [...document.querySelectorAll(".plot")];
const plots = [];

/** Return the figures of an axis of time, and the unit that they are told in. */
function axisOfTime(until, width) {
  const step = STEPS_S.find((each) => (width * each) / until >= LABEL_PX) ?? STEPS_S.at(-1);
  const [unit, word] = UNITS.find(([seconds]) => step % seconds === 0 && until >= seconds);
  const ticks = [];
  for (let at = 0; at <= until; at += step) ticks.push(at);
  return { ticks_s: ticks, unit_s: unit, unit: word };
}

function draw(place) {
  const figures = JSON.parse(place.querySelector(".figures").textContent);
  const canvas = place.querySelector(".canvas");
  if (place.classList.contains("by-place")) {
    const room = { left: 12, right: 16, top: 0, bottom: 30, width: place.clientWidth - 28, height: ROW * figures.length };
    const rows = figures.map((one) => one.row);
    return drawPlot(canvas, "places", { places: figures }, { highest: Number(place.dataset.highest), rows }, room);
  }
  const room = { ...EDGE, width: place.clientWidth - EDGE.left - EDGE.right, height: place.clientHeight - EDGE.top - EDGE.bottom };
  const until = Number(place.dataset.until);
  const signals = { until_s: until, leave_s: Number(place.dataset.leave), ...axisOfTime(until, room.width) };
  return drawPlot(canvas, place.dataset.name, figures, signals, room);
}

async function drawAll() {
  for (const plot of plots.splice(0)) plot.remove();
  plots.push(...await Promise.all(places.map(draw)));
}

const picked = document.getElementById("picked");
document.getElementById("site").addEventListener("change", () => {
  document.getElementById("animal").disabled = true; // another site has other animals: its most logged one is shown
  picked.submit();
});
document.getElementById("animal").addEventListener("change", () => picked.submit());
document.getElementById("show").hidden = true;

let width = innerWidth;
let resizing;
addEventListener("resize", () => {
  if (innerWidth === width) return; // a phone's address bar changes the height alone
  width = innerWidth;
  clearTimeout(resizing);
  resizing = setTimeout(() => drawAll().catch((error) => say(error.message)), 150);
});

drawAll().catch((error) => say(error.message));
