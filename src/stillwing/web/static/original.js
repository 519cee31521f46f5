// The original at one pixel of the picture to one pixel of the screen, in pieces; and a box drawn on it.

const dialog = document.getElementById("original");
const view = document.getElementById("view");
const surface = document.getElementById("surface");
const drawButton = document.getElementById("original-draw");
const scaleButton = document.getElementById("original-scale");
const useButton = document.getElementById("original-use");
const fields = document.getElementById("box-fields");
const inputs = Object.fromEntries(["x", "y", "width", "height"].map((name) => [name, document.getElementById(`box-${name}`)]));

const ONE_TO_ONE = () => 1 / devicePixelRatio;
const LEAST_BOX_PX = 4;

let frame;
let scale; // CSS px per px of the original
let isDrawing;
let box; // {x, y, width, height} in px of the original, or null
let frameElement; // the drawn box on the surface
const tiles = new Map();

/** Show `opened`: {id, number, width, height, file, box, tile, isDrawing, use(box)}. */
export function openOriginal(opened) {
  frame = opened;
  if (!frame.width) return;
  box = frame.box && { x: frame.box.x_px, y: frame.box.y_px, width: frame.box.width_px, height: frame.box.height_px };
  document.getElementById("original-title").textContent = `Frame ${frame.number}, ${frame.file}`;
  dialog.showModal();
  setDrawing(opened.isDrawing);
  lay(opened.isDrawing && !box ? fit() : ONE_TO_ONE());
  view.focus();
}

function fit() {
  return Math.min(view.clientWidth / frame.width, view.clientHeight / frame.height, 1);
}

/** Lay the picture out at `newScale`, with `centre` (px of the original) in the middle of the view. */
function lay(newScale, centre = middle()) {
  scale = newScale;
  tiles.clear();
  surface.replaceChildren();
  surface.style.width = `${frame.width * scale}px`;
  surface.style.height = `${frame.height * scale}px`;
  const whole = document.createElement("img");
  Object.assign(whole, { src: `/pictures/${frame.id}/whole.jpg`, alt: "", className: "whole", draggable: false });
  surface.append(whole);
  frameElement = document.createElement("div");
  frameElement.className = "drawn-box";
  surface.append(frameElement);
  showBox();
  view.scrollLeft = centre[0] * scale - view.clientWidth / 2;
  view.scrollTop = centre[1] * scale - view.clientHeight / 2;
  const isWhole = scale !== ONE_TO_ONE();
  scaleButton.textContent = isWhole ? "One to one" : "Whole picture";
  tell();
  fill();
}

function middle() {
  return box ? [box.x + box.width / 2, box.y + box.height / 2] : [frame.width / 2, frame.height / 2];
}

function tell() {
  const told = document.getElementById("original-told");
  const size = scale === ONE_TO_ONE() ? "1 px of the picture is 1 px of this screen" : `reduced ${(1 / (scale * devicePixelRatio)).toFixed(1)} times`;
  told.textContent = isDrawing
    ? `Draw from one corner of the animal to the other, or move the box with the arrows and size it with Shift and arrows. The burst is measured again from it. ${size[0].toUpperCase()}${size.slice(1)}.`
    : `${size}, ${frame.width} × ${frame.height} px. Drag or use the arrows to move.`;
}

/** Ask for the pieces in view, when one pixel is one pixel; reduced, the whole picture does. */
function fill() {
  if (scale !== ONE_TO_ONE()) return;
  const side = frame.tile * scale;
  const range = (start, length, limit) => {
    const first = Math.max(0, Math.floor(start / side));
    const last = Math.min(Math.ceil(limit / frame.tile) - 1, Math.floor((start + length) / side));
    return Array.from({ length: Math.max(0, last - first + 1) }, (_, i) => first + i);
  };
  for (const row of range(view.scrollTop, view.clientHeight, frame.height)) {
    for (const column of range(view.scrollLeft, view.clientWidth, frame.width)) {
      const name = `${column}/${row}`;
      if (tiles.has(name)) continue;
      const tile = document.createElement("img");
      Object.assign(tile, { src: `/pictures/${frame.id}/tiles/${name}.jpg`, alt: "", className: "tile", draggable: false });
      Object.assign(tile.style, {
        left: `${column * side}px`, top: `${row * side}px`,
        width: `${Math.min(frame.tile, frame.width - column * frame.tile) * scale}px`,
        height: `${Math.min(frame.tile, frame.height - row * frame.tile) * scale}px`,
      });
      tiles.set(name, tile);
      surface.insertBefore(tile, frameElement);
    }
  }
}

function setDrawing(wanted) {
  isDrawing = wanted;
  drawButton.setAttribute("aria-pressed", String(wanted));
  view.classList.toggle("is-drawing", wanted);
  fields.hidden = useButton.hidden = !wanted;
  if (wanted) useButton.disabled = !box;
}

function showBox() {
  frameElement.hidden = !box;
  if (!box) return;
  Object.assign(frameElement.style, {
    left: `${box.x * scale}px`, top: `${box.y * scale}px`, width: `${box.width * scale}px`, height: `${box.height * scale}px`,
  });
  for (const [name, input] of Object.entries(inputs)) if (document.activeElement !== input) input.value = Math.round(box[name]);
  useButton.disabled = false;
}

/** Keep a box on whole pixels inside the picture. */
function within({ x, y, width, height }) {
  const left = Math.max(0, Math.min(frame.width - LEAST_BOX_PX, Math.round(x)));
  const top = Math.max(0, Math.min(frame.height - LEAST_BOX_PX, Math.round(y)));
  return {
    x: left, y: top,
    width: Math.max(LEAST_BOX_PX, Math.min(frame.width - left, Math.round(width))),
    height: Math.max(LEAST_BOX_PX, Math.min(frame.height - top, Math.round(height))),
  };
}

function point(event) {
  const edge = surface.getBoundingClientRect();
  return [(event.clientX - edge.left) / scale, (event.clientY - edge.top) / scale];
}

function drag(event) {
  if (event.button !== 0) return;
  if (isDrawing) return drawBox(event);
  if (event.pointerType !== "mouse") return; // fingers scroll by themselves
  event.preventDefault();
  view.focus();
  const from = [view.scrollLeft + event.clientX, view.scrollTop + event.clientY];
  follow(event, (moved) => view.scrollTo(from[0] - moved.clientX, from[1] - moved.clientY));
}

function drawBox(event) {
  event.preventDefault();
  const [x, y] = point(event);
  follow(event, (moved) => {
    const [toX, toY] = point(moved);
    box = within({ x: Math.min(x, toX), y: Math.min(y, toY), width: Math.abs(toX - x), height: Math.abs(toY - y) });
    showBox();
  });
}

function follow(event, move) {
  view.setPointerCapture(event.pointerId);
  const stop = new AbortController();
  view.addEventListener("pointermove", move, { signal: stop.signal });
  for (const end of ["pointerup", "pointercancel"]) view.addEventListener(end, () => stop.abort(), { signal: stop.signal });
}

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };

function press(event) {
  const by = ARROWS[event.key];
  if (!by || event.ctrlKey || event.metaKey || event.altKey) return;
  event.preventDefault();
  if (!isDrawing) return view.scrollBy(by[0] * 80, by[1] * 80);
  const step = Math.max(1, Math.round(6 / scale));
  const [centreX, centreY] = [(view.scrollLeft + view.clientWidth / 2) / scale, (view.scrollTop + view.clientHeight / 2) / scale];
  const side = Math.min(view.clientWidth, view.clientHeight) / scale / 5;
  const from = box ?? { x: centreX - side / 2, y: centreY - side / 2, width: side, height: side };
  box = within(event.shiftKey
    ? { ...from, width: from.width + by[0] * step, height: from.height + by[1] * step }
    : { ...from, x: from.x + by[0] * step, y: from.y + by[1] * step });
  showBox();
}

view.addEventListener("pointerdown", drag);
view.addEventListener("keydown", press);
view.addEventListener("scroll", fill, { passive: true });
scaleButton.addEventListener("click", () => { lay(scale === ONE_TO_ONE() ? fit() : ONE_TO_ONE()); view.focus(); });
drawButton.addEventListener("click", () => { setDrawing(!isDrawing); tell(); view.focus(); });
document.getElementById("original-close").addEventListener("click", () => dialog.close());
useButton.addEventListener("click", () => {
  dialog.close();
  frame.use({ x_px: box.x, y_px: box.y, width_px: box.width, height_px: box.height });
});
for (const input of Object.values(inputs)) {
  input.addEventListener("change", () => {
    const told = Object.fromEntries(Object.entries(inputs).map(([name, one]) => [name, one.valueAsNumber]));
    if (Object.values(told).some(Number.isNaN)) return;
    box = within(told);
    showBox();
  });
}
addEventListener("resize", () => { if (dialog.open) fill(); });
