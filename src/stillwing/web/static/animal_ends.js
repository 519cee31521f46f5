// The two ends of an animal's body on its cut-out, moved by mouse, finger or arrow keys; a small glass shows the place larger.

const STEP = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const FAR = 10; // px of the original at one press with Shift
const NAMES = { head: "front of the head", tail: "end of the body" };
const LARGER = 2.5; // of the glass, against the cut-out
const ROOM = 4; // CSS px between glass and edge

let ends;

/** Take hold of the ends on the page, unless they are held already. */
export function startEnds() {
  const cut = document.getElementById("cut");
  if (!cut) { ends = null; return; }
  if (ends?.cut === cut) return;
  const form = document.getElementById("ends");
  const given = (name) => Number(cut.dataset[name]);
  ends = {
    cut, form,
    keep: document.getElementById("keep-ends"), back: document.getElementById("put-back"),
    left: given("x"), top: given("y"), width: given("width"), height: given("height"),
    isPlaced: cut.dataset.line === "yes", isMoved: false,
    field: (end, axis) => form.elements[`${end}_${axis}`],
    glass: glass(cut),
  };
  ends.first = read();
  for (const handle of cut.querySelectorAll(".end")) {
    handle.hidden = false;
    handle.addEventListener("pointerdown", grab);
    handle.addEventListener("pointermove", drag);
    handle.addEventListener("keydown", press);
    handle.addEventListener("focus", () => look(handle.dataset.end));
    handle.addEventListener("blur", () => { ends.glass.hidden = true; });
  }
  form.addEventListener("input", () => { ends.isMoved = true; ends.isPlaced = true; draw(); });
  ends.back.addEventListener("click", putBack);
  draw();
}

function read() {
  const told = {};
  for (const end of ["head", "tail"]) for (const axis of ["x", "y"]) told[`${end}_${axis}`] = ends.field(end, axis).value;
  return told;
}

const at = (end) => ["x", "y"].map((axis) => Number(ends.field(end, axis).value));

/** Move an end to a place in px of the original, held within the cut-out. */
function move(end, x, y) {
  const within = (value, low, size) => Math.max(low, Math.min(low + size, value));
  ends.field(end, "x").value = within(x, ends.left, ends.width).toFixed(1);
  ends.field(end, "y").value = within(y, ends.top, ends.height).toFixed(1);
  ends.isMoved = ends.isPlaced = true;
  draw();
  look(end);
}

function glass(cut) {
  const made = document.createElement("div");
  made.className = "glass";
  made.hidden = true;
  made.setAttribute("aria-hidden", "true");
  const picture = cut.querySelector("img").cloneNode();
  picture.alt = "";
  made.append(picture);
  cut.append(made);
  return made;
}

/** Show the place of an end larger, in the corner that is farthest from both. */
function look(end) {
  const { glass: shown, cut } = ends;
  shown.hidden = false;
  const [wide, high, side] = [cut.clientWidth, cut.clientHeight, shown.offsetWidth];
  const onCut = ([x, y]) => [((x - ends.left) * wide) / ends.width, ((y - ends.top) * high) / ends.height];
  const both = [onCut(at("head")), onCut(at("tail"))];
  const corners = [ROOM, wide - side - ROOM].flatMap((left) => [ROOM, high - side - ROOM].map((top) => [left, top]));
  const free = ([left, top]) => Math.min(...both.map(([x, y]) => Math.hypot(x - left - side / 2, y - top - side / 2)));
  const [left, top] = corners.reduce((best, one) => (free(one) > free(best) ? one : best));
  shown.style.left = `${left}px`;
  shown.style.top = `${top}px`;
  const [x, y] = both[end === "head" ? 0 : 1];
  const picture = shown.firstChild;
  picture.style.width = `${LARGER * wide}px`;
  picture.style.height = `${LARGER * high}px`;
  picture.style.translate = `${shown.clientWidth / 2 - LARGER * x}px ${shown.clientHeight / 2 - LARGER * y}px`;
}

function draw() {
  const [head, tail] = [at("head"), at("tail")];
  const lines = ends.cut.querySelector(".body-line");
  lines.classList.toggle("is-waiting", !ends.isPlaced);
  if (ends.isMoved) lines.classList.remove("is-inked");
  for (const line of lines.querySelectorAll(".line")) line.setAttribute("d", `M${head.join(" ")}L${tail.join(" ")}`);
  for (const [end, [x, y]] of [["head", head], ["tail", tail]]) {
    for (const dot of lines.querySelectorAll(`.${end}`)) dot.setAttribute("d", `M${x} ${y}h0`);
    const handle = ends.cut.querySelector(`[data-end="${end}"]`);
    handle.style.left = `${(100 * (x - ends.left)) / ends.width}%`;
    handle.style.top = `${(100 * (y - ends.top)) / ends.height}%`;
    handle.setAttribute("aria-label", `${NAMES[end]}: ${Math.round(x)} px across, ${Math.round(y)} px down; arrow keys move it`);
  }
  ends.keep.disabled = !ends.isMoved;
  ends.back.hidden = !ends.isMoved;
}

function putBack() {
  for (const [name, value] of Object.entries(ends.first)) ends.form.elements[name].value = value;
  ends.isMoved = false;
  ends.isPlaced = ends.cut.dataset.line === "yes";
  ends.cut.querySelector(".body-line").classList.toggle("is-inked", document.getElementById("unmark") !== null);
  draw();
}

function grab(event) {
  if (event.button !== 0) return;
  event.preventDefault();
  const end = event.currentTarget.dataset.end;
  event.currentTarget.focus({ preventScroll: true });
  event.currentTarget.setPointerCapture(event.pointerId);
  ends.held = { from: [event.clientX, event.clientY], was: at(end) };
}

// The end moves as far as the finger does, wherever on the ring it was taken, so that the finger need not cover it.
function drag(event) {
  if (!ends.held || !event.currentTarget.hasPointerCapture(event.pointerId)) return;
  const room = ends.cut.getBoundingClientRect();
  const [x, y] = ends.held.was;
  const across = ((event.clientX - ends.held.from[0]) * ends.width) / room.width;
  const down = ((event.clientY - ends.held.from[1]) * ends.height) / room.height;
  if (across || down) move(event.currentTarget.dataset.end, x + across, y + down);
}

function press(event) {
  if (event.ctrlKey || event.altKey || event.metaKey) return;
  const end = event.currentTarget.dataset.end;
  const step = STEP[event.key];
  if (step) {
    event.preventDefault();
    const [x, y] = at(end);
    const far = event.shiftKey ? FAR : 1;
    move(end, x + step[0] * far, y + step[1] * far);
  } else if (event.key === "Enter" && ends.isMoved) {
    event.preventDefault();
    ends.form.requestSubmit();
  } else if (event.key === "Backspace" && ends.isMoved) {
    event.preventDefault();
    putBack();
  }
}
