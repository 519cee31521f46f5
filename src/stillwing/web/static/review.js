// The Review page: draws its plots, and reviews by something else as soon as it is picked.

import { say } from "./page.js";
import { drawPlot } from "./plot.js";

const EDGE = { left: 56, right: 16, top: 12, bottom: 30 };

const places = [...document.querySelectorAll(".plot")];
const plots = [];

function figuresOf(place) {
  return JSON.parse(place.querySelector(".figures").textContent);
}

const draws = {
  keepers(place, canvas, levels) {
    const beside = place.closest(".rows").querySelector("li"); // a row of the plot is as high as the name beside it
    const height = levels.length * (beside?.offsetHeight ?? 0);
    const room = { left: 14, right: 24, top: 0, bottom: 30, width: place.clientWidth - 38, height };
    const rows = levels.map((one) => one.row);
    const signals = { highest: Number(place.dataset.highest), overall: Number(place.dataset.overall), rows };
    return drawPlot(canvas, "keepers", { levels }, signals, room);
  },
  apart(place, canvas, apart) {
    const room = { left: 24, right: 24, top: 0, bottom: 30, width: place.clientWidth - 48, height: place.clientHeight - 30 };
    return drawPlot(canvas, "apart", { apart }, { widest: Number(place.dataset.widest) }, room);
  },
  practice(place, canvas, figures) {
    const room = { ...EDGE, width: place.clientWidth - EDGE.left - EDGE.right, height: place.clientHeight - EDGE.top - EDGE.bottom };
    const { last, worst, best, times, unit, told } = place.dataset;
    const signals = { last: Number(last), worst: Number(worst), best: Number(best), times: Number(times), unit, is_told: told === "1" };
    return drawPlot(canvas, "practice", figures, signals, room);
  },
};

async function drawAll() {
  for (const plot of plots.splice(0)) plot.remove();
  plots.push(...await Promise.all(places.map((place) => draws[place.dataset.name](place, place.querySelector(".canvas"), figuresOf(place)))));
}

for (const form of document.querySelectorAll("#picked, #ways")) {
  for (const select of form.querySelectorAll("select")) select.addEventListener("change", () => form.submit());
  form.querySelector(".show").hidden = true;
}

// Of the usual words, only those that go with what is typed.
const name = document.getElementById("condition-name");
const words = document.getElementById("condition-words");
if (name && words) {
  const usual = [...words.options];
  const narrow = () => {
    const fitting = usual.filter((option) => option.dataset.of === name.value.trim().toLowerCase());
    words.replaceChildren(...(fitting.length ? fitting : usual));
  };
  name.addEventListener("input", narrow);
  narrow();
}

let width = innerWidth;
let resizing;
addEventListener("resize", () => {
  if (innerWidth === width) return; // a phone's address bar changes the height alone
  width = innerWidth;
  clearTimeout(resizing);
  resizing = setTimeout(() => drawAll().catch((error) => say(error.message)), 150);
});

drawAll().catch((error) => say(error.message));
