// The Sites page: ticks and dots of the stands go together, a press on the drawing tells a position, forms unfold.

import { say } from "./page.js";

const map = document.getElementById("site-map");
const here = document.getElementById("here");
const ticks = [...document.querySelectorAll('.ticks input[name="stand"]')];

// Stands: the dot on the drawing and the tick in the list are one thing.

const dots = new Map([...map.querySelectorAll(".stand")].map((dot) => [dot.dataset.stand, dot]));
const showTick = (tick) => dots.get(tick.value)?.classList.toggle("is-ticked", tick.checked);
for (const tick of ticks) {
  tick.addEventListener("change", () => showTick(tick));
  showTick(tick);
}

function pressStand(name) {
  const tick = ticks.find((one) => one.value === name);
  if (!tick || !document.getElementById("stands").open) return false;
  tick.checked = !tick.checked;
  showTick(tick);
  say(`${name} ${tick.checked ? "ticked" : "not ticked"}`);
  return true;
}

// A position from a press on the drawing, for the form that was opened last.

const forms = ["stand", "perches"].map((id) => document.getElementById(id)).filter(Boolean);
let asking = forms.find((form) => form.open) ?? null;
for (const form of forms) form.addEventListener("toggle", () => { asking = form.open ? form : forms.find((one) => one.open) ?? null; });

map.addEventListener("click", (event) => {
  const dot = event.target.closest(".stand");
  if (dot && pressStand(dot.dataset.stand)) return;
  if (!asking) return;
  const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(map.getScreenCTM().inverse());
  const given = (name) => Number(map.dataset[name]);
  const where = `${(given("latitude") - at.y * given("north")).toFixed(6)}, ${(given("longitude") + at.x * given("east")).toFixed(6)}`;
  asking.querySelector('[name="where"]').value = where;
  here.setAttribute("transform", `translate(${at.x} ${at.y})`);
  here.removeAttribute("hidden");
  say(`${where} put into the form`);
});

// Forms: the one that an address names is unfolded, and a table grows.

function unfold() {
  const named = location.hash ? document.getElementById(location.hash.slice(1)) : null;
  if (named instanceof HTMLDetailsElement) named.open = true;
}
addEventListener("hashchange", unfold);
unfold();

const moreRows = document.getElementById("more-rows");
if (moreRows) {
  moreRows.hidden = false;
  moreRows.addEventListener("click", () => {
    const body = document.querySelector("table.horizon tbody");
    const row = body.lastElementChild.cloneNode(true);
    for (const cell of row.querySelectorAll("input")) {
      cell.value = "";
      cell.setAttribute("aria-label", cell.getAttribute("aria-label").replace(/\d+$/, body.children.length + 1));
    }
    body.append(row);
    row.querySelector("input").focus();
  });
}

// Adding: only the way that is picked, and the time zone of this machine unless another was typed.

const ways = [...document.querySelectorAll(".way")];
const picked = [...document.querySelectorAll('[name="way"]')];
const showWay = () => { for (const way of ways) way.hidden = way.dataset.way !== picked.find((one) => one.checked)?.value; };
for (const one of picked) one.addEventListener("change", () => { showWay(); document.dispatchEvent(new Event("stillwing:way")); });
showWay();

const zone = document.getElementById("add-zone");
if (!zone.value) zone.value = Intl.DateTimeFormat().resolvedOptions().timeZone ?? "";
