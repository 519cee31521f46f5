// The drawing of a new site: points round the bank in metres from its middle, over a picture that never leaves the browser.

import { send } from "./page.js";

const SVG = "http://www.w3.org/2000/svg";
const MOST_BACK = 200; // steps that can be taken back
const LONGEST_WAIT = 150; // ms without a further change, then the server is asked
const REACH = 16; // CSS px round a point within which it is taken hold of

const box = document.getElementById("drawing");
const sketch = document.getElementById("sketch");
const canvas = document.getElementById("beneath");
const told = document.getElementById("sketch-told");
const held = document.getElementById("add-metres");
const fields = { middle: document.getElementById("add-middle"), width: document.getElementById("add-width_m") };
const modes = [...document.querySelectorAll("#modes button[data-mode]")];
const measure = document.getElementById("measure");
const measured = document.getElementById("measured");

let rings = read(held.value);
let at = { ring: rings.length - 1, point: rings.at(-1).length - 1 };
let mode = "draw";
let picture = null; // { bitmap, left, top, scale }: metres of its corner, and metres a pixel
let marks = []; // the two places that tell the picture's scale
let figures = "";
const before = [];

function read(text) {
  const lines = text.split("\n").filter((line) => line.trim());
  return lines.length ? lines.map((line) => line.split(";").map((pair) => { const [x, y] = pair.split(",").map(Number); return { x, y: -y }; })) : [[]];
}

const number = (text) => Number(text.replace(",", "."));
const width = () => { const typed = number(fields.width.value); return typed >= 5 && typed <= 50000 ? typed : 150; };
const height = () => (width() * 2) / 3;
const metresAPixel = () => width() / (sketch.clientWidth || 600);

// Drawing

function make(name, attributes, inside = "") {
  const part = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) part.setAttribute(key, value);
  part.textContent = inside;
  return part;
}

const path = (ring) => `M${ring.map((one) => `${one.x} ${one.y}`).join("L")}${ring.length > 2 ? "Z" : ""}`;

function round(longest) {
  const ten = 10 ** Math.floor(Math.log10(longest));
  return [5, 2, 1].map((step) => step * ten).find((step) => step <= longest);
}

function draw() {
  const [wide, high, px] = [width(), height(), metresAPixel()];
  const [left, top, step] = [-wide / 2, -high / 2, round(wide / 5)];
  sketch.setAttribute("viewBox", `${left} ${top} ${wide} ${high}`);
  sketch.replaceChildren();
  for (let x = Math.ceil(left / step) * step; x < -left; x += step) sketch.append(make("path", { class: "squares", d: `M${x} ${top}v${high}` }));
  for (let y = Math.ceil(top / step) * step; y < -top; y += step) sketch.append(make("path", { class: "squares", d: `M${left} ${y}h${wide}` }));
  sketch.append(make("path", { class: "water", "fill-rule": "evenodd", d: rings.filter((ring) => ring.length > 1).map(path).join("") }));
  for (const [a, b] of crossings()) for (const side of [a, b]) sketch.append(make("path", { class: "crossing", d: path(side) }));
  rings.forEach((ring, r) => ring.forEach((one, p) => {
    const isChosen = r === at.ring && p === at.point;
    if (isChosen) sketch.append(make("circle", { class: "chosen-ring", cx: one.x, cy: one.y, r: 11 * px }));
    sketch.append(make("circle", { class: isChosen ? "point is-chosen" : "point", cx: one.x, cy: one.y, r: 5 * px }));
    sketch.append(make("circle", { class: "grip", "data-ring": r, "data-point": p, cx: one.x, cy: one.y, r: REACH * px }));
  }));
  for (const one of marks) sketch.append(make("path", { class: "measured", d: `M${one.x - 8 * px} ${one.y}h${16 * px}M${one.x} ${one.y - 8 * px}v${16 * px}` }));
  sketch.append(make("path", { class: "scale", d: `M${left + 12 * px} ${-top - 12 * px}h${step}` }));
  sketch.append(make("text", { class: "scale-label", x: left + 12 * px, y: -top - 20 * px, "font-size": 14 * px }, `${step} m, north is up`));
  drawPicture();
}

function drawPicture() {
  const dense = devicePixelRatio || 1;
  canvas.width = sketch.clientWidth * dense;
  canvas.height = sketch.clientHeight * dense;
  if (!picture) return;
  const px = metresAPixel();
  const [x, y] = [(picture.left + width() / 2) / px, (picture.top + height() / 2) / px];
  const size = picture.scale / px;
  canvas.getContext("2d").setTransform(dense, 0, 0, dense, 0, 0);
  canvas.getContext("2d").drawImage(picture.bitmap, x, y, picture.bitmap.width * size, picture.bitmap.height * size);
}

/** Return the pairs of sides of one ring that cross, so that they are seen at once; what is stored is checked by the server. */
function crossings() {
  const found = [];
  for (const ring of rings) {
    const sides = ring.length > 3 ? ring.map((one, i) => [one, ring[(i + 1) % ring.length]]) : [];
    for (let i = 0; i < sides.length; i += 1) {
      for (let j = i + 2; j < sides.length; j += 1) {
        if (i === 0 && j === sides.length - 1) continue;
        if (meet(...sides[i], ...sides[j])) found.push([sides[i], sides[j]]);
      }
    }
  }
  return found;
}

const turn = (a, b, c) => Math.sign((b.x - a.x) * (c.y - a.y) - (b.y - a.y) * (c.x - a.x));
const meet = (a, b, c, d) => turn(a, b, c) !== turn(a, b, d) && turn(c, d, a) !== turn(c, d, b);

// What it has come to

let waiting;
let latest = 0;
function changed() {
  held.value = rings.filter((ring) => ring.length).map((ring) => ring.map((one) => `${one.x.toFixed(2)},${(-one.y).toFixed(2)}`).join(";")).join("\n");
  draw();
  tell();
  latest += 1; // an answer that is still on its way is about another shape
  clearTimeout(waiting);
  waiting = setTimeout(reckon, LONGEST_WAIT);
}

async function reckon() {
  const mine = latest;
  const n = rings.reduce((sum, ring) => sum + ring.length, 0);
  let words = "";
  if (n >= 3 && fields.middle.value.trim()) {
    try {
      const answer = await send("/sites/outline", { middle: fields.middle.value, metres: held.value });
      words = answer.sentence ? `${answer.sentence[0].toUpperCase()}${answer.sentence.slice(1)}.` : `${answer.area} of water, ${answer.bank} of bank.`;
    } catch (error) {
      words = error.message;
    }
  } else if (n >= 3) {
    words = "Type the middle of the drawing, so that the water has a place.";
  }
  if (mine !== latest) return;
  figures = words;
  tell();
}

function tell() {
  const chosen = rings[at.ring][at.point];
  const away = (metres, plus, minus) => `${Math.abs(metres).toFixed(1)} m ${metres < 0 ? minus : plus}`;
  const point = chosen ? `Point ${at.point + 1} of ${rings[at.ring].length}${at.ring ? " of an island" : ""}: ${away(chosen.x, "east", "west")}, ${away(-chosen.y, "north", "south")} of the middle. ` : "";
  told.textContent = point + figures;
}

// Changes, each of which can be taken back

function keep() {
  before.push(JSON.stringify({ rings, at }));
  if (before.length > MOST_BACK) before.shift();
}

function takeBack() {
  const last = before.pop();
  if (last) ({ rings, at } = JSON.parse(last));
  changed();
}

function add(point) {
  keep();
  rings[at.ring].splice(at.point + 1, 0, point);
  at.point += 1;
  changed();
}

function addByKey() {
  const ring = rings[at.ring];
  const here = ring[at.point];
  if (!here) return add({ x: 0, y: 0 });
  const next = ring[(at.point + 1) % ring.length];
  return add(ring.length < 3 ? { x: here.x + width() / 10, y: here.y } : { x: (here.x + next.x) / 2, y: (here.y + next.y) / 2 });
}

function move(x, y) {
  const chosen = rings[at.ring][at.point];
  if (!chosen) return;
  keep();
  Object.assign(chosen, { x: chosen.x + x, y: chosen.y + y });
  changed();
}

function takeAway() {
  if (!rings[at.ring][at.point]) return;
  keep();
  rings[at.ring].splice(at.point, 1);
  if (!rings[at.ring].length && rings.length > 1) rings.splice(at.ring, 1);
  at = { ring: Math.min(at.ring, rings.length - 1), point: 0 };
  at.point = Math.min(Math.max(at.point - 1, 0), rings[at.ring].length - 1);
  changed();
}

function choose(step) {
  const all = rings.flatMap((ring, r) => ring.map((_, p) => ({ ring: r, point: p })));
  if (!all.length) return;
  const now = all.findIndex((one) => one.ring === at.ring && one.point === at.point);
  at = all[(now + step + all.length) % all.length];
  draw();
  tell();
}

// Hands

function place(event) {
  const point = new DOMPoint(event.clientX, event.clientY).matrixTransform(sketch.getScreenCTM().inverse());
  return { x: point.x, y: point.y };
}

let dragged = null; // what the pointer holds: a point of the bank, or the picture
sketch.addEventListener("pointerdown", (event) => {
  if (event.button !== 0) return;
  const grip = event.target.closest(".grip");
  if (mode === "shift" && picture) {
    event.preventDefault();
    dragged = { from: place(event), left: picture.left, top: picture.top };
  } else if (mode === "draw" && grip) {
    event.preventDefault();
    at = { ring: Number(grip.dataset.ring), point: Number(grip.dataset.point) };
    dragged = { point: rings[at.ring][at.point], isMoved: false };
    draw();
    tell();
  } else {
    return;
  }
  sketch.focus({ preventScroll: true });
  sketch.setPointerCapture(event.pointerId);
});

sketch.addEventListener("pointermove", (event) => {
  if (!dragged) return;
  const now = place(event);
  if (dragged.point) {
    if (!dragged.isMoved) keep();
    dragged.isMoved = true;
    Object.assign(dragged.point, now);
    changed();
  } else {
    picture.left = dragged.left + now.x - dragged.from.x;
    picture.top = dragged.top + now.y - dragged.from.y;
    drawPicture();
  }
});

let hasJustDragged = false;
const release = () => { hasJustDragged = dragged !== null; dragged = null; };
sketch.addEventListener("pointerup", release);
sketch.addEventListener("pointercancel", release);

sketch.addEventListener("click", (event) => {
  if (hasJustDragged) {
    hasJustDragged = false;
    return;
  }
  if (mode === "draw") add(place(event));
  if (mode === "scale") {
    marks = marks.length === 2 ? [place(event)] : [...marks, place(event)];
    showMeasure();
    draw();
    if (marks.length === 2) measured.focus();
  }
});

const KEYS = {
  Enter: addByKey, Backspace: takeBack, Delete: takeAway, n: () => choose(1), b: () => choose(-1),
};
const MOVES = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
sketch.addEventListener("keydown", (event) => {
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  const way = MOVES[event.key];
  if (!way && !(event.key in KEYS)) return;
  event.preventDefault();
  const far = event.shiftKey ? 10 : 1;
  if (!way) KEYS[event.key]();
  else if (mode === "shift" && picture) {
    picture.left += way[0] * far;
    picture.top += way[1] * far;
    drawPicture();
  } else move(way[0] * far, way[1] * far);
});

// The picture beneath

document.getElementById("picture").addEventListener("change", async (event) => {
  const [file] = event.target.files;
  if (!file) return;
  try {
    const bitmap = await createImageBitmap(file);
    const scale = width() / bitmap.width;
    picture = { bitmap, scale, left: -width() / 2, top: (-bitmap.height * scale) / 2 };
  } catch {
    picture = null;
    told.textContent = `${file.name} is no picture that this browser can show.`;
  }
  document.getElementById("modes").hidden = !picture;
  go(picture ? "scale" : "draw");
});

function go(next) {
  mode = next;
  marks = [];
  for (const button of modes) button.setAttribute("aria-pressed", String(button.dataset.mode === mode));
  sketch.dataset.mode = mode;
  showMeasure();
  draw();
}

function showMeasure() {
  measure.hidden = mode !== "scale";
  measure.firstChild.textContent = marks.length === 2 ? "between the two places, m " : "press two places on it, or: the picture's whole width, m ";
}

for (const button of modes) button.addEventListener("click", () => go(button.dataset.mode));

document.getElementById("take-scale").addEventListener("click", () => {
  const length = number(measured.value);
  if (!(length > 0)) {
    told.textContent = `${measured.value || "nothing"} is no length; write metres, such as 40.`;
    return;
  }
  const apart = marks.length === 2 ? Math.hypot(marks[1].x - marks[0].x, marks[1].y - marks[0].y) : picture.bitmap.width * picture.scale;
  const fixed = marks.length === 2 ? marks[0] : { x: 0, y: 0 };
  const larger = length / apart;
  picture.scale *= larger;
  picture.left = fixed.x + (picture.left - fixed.x) * larger;
  picture.top = fixed.y + (picture.top - fixed.y) * larger;
  go("draw");
});
measured.addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); document.getElementById("take-scale").click(); } });

// Buttons and fields

document.getElementById("take-back").addEventListener("click", takeBack);
document.getElementById("take-away").addEventListener("click", takeAway);
document.getElementById("island").addEventListener("click", () => {
  if (rings.at(-1).length < 3) return;
  keep();
  rings.push([]);
  at = { ring: rings.length - 1, point: -1 };
  changed();
});
document.getElementById("clear").addEventListener("click", () => {
  keep();
  rings = [[]];
  at = { ring: 0, point: -1 };
  changed();
});
fields.width.addEventListener("input", draw);
fields.middle.addEventListener("input", changed);
document.addEventListener("stillwing:way", () => { if (!box.hidden) draw(); });
new ResizeObserver(() => { if (sketch.clientWidth) draw(); }).observe(sketch);

for (const id of ["ground", "sketch-help", "sketch-tools"]) document.getElementById(id).hidden = false;
go("draw");
changed();
