// The page of an animal: the ends of its body moved by hand or keys, and every form answered in place.

import { say } from "./page.js";

const STEP = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const FAR = 10; // px of the original at one press with Shift
const NAMES = { head: "front of the head", tail: "end of the body" };

// Every form and every link to a question left out fetch the page anew; what changed on it is put in place.

let asked;
async function refresh(url, settings) {
  asked?.abort();
  asked = new AbortController();
  const bench = document.getElementById("animal");
  bench.setAttribute("aria-busy", "true");
  try {
    const answer = await fetch(url, { ...settings, signal: asked.signal, headers: { Accept: "text/html" } });
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (!fresh.getElementById("animal")) {
      say(fresh.querySelector(".notice p")?.textContent ?? "stillwing answered with what is no page");
      return;
    }
    if (answer.ok) history.replaceState(null, "", new URL(answer.url).pathname + new URL(answer.url).search);
    put(fresh);
    tell(fresh);
  } catch (error) {
    if (error.name !== "AbortError") say("stillwing does not answer; is it still running?");
  } finally {
    bench.removeAttribute("aria-busy");
  }
}

/** Put the parts of a fresh page in place of those that differ; what is unfolded stays so, and the focus finds its place. */
function put(fresh) {
  const bench = document.querySelector(".animal-bench");
  const isSame = [...document.querySelectorAll("[data-part]")].map((part) => part.id).join() === [...fresh.querySelectorAll("[data-part]")].map((part) => part.id).join();
  const unfolded = [...document.querySelectorAll("details[open][id]")].map((one) => one.id);
  const focused = document.activeElement?.id;
  const wasAsked = document.activeElement?.closest?.(".question") !== null && document.activeElement !== document.body;
  const pairs = isSame
    ? [...document.querySelectorAll("[data-part]")].map((part) => [part, fresh.getElementById(part.id)])
    : [[document.getElementById("told"), fresh.getElementById("told")], [bench, fresh.querySelector(".animal-bench")]];
  for (const [part, next] of pairs) {
    for (const id of unfolded) next.querySelector(`details[id="${id}"]`)?.setAttribute("open", "");
    if (part.dataset.source !== next.outerHTML && part.outerHTML !== next.outerHTML) part.replaceWith(document.adoptNode(next));
  }
  startEnds();
  if (document.activeElement !== document.body) return;
  const again = (focused && document.getElementById(focused)) || document.querySelector(wasAsked ? ".question h3" : "#verdict-title");
  again?.focus({ preventScroll: !wasAsked });
}

function tell(fresh) {
  const trouble = fresh.querySelector("#told p")?.textContent;
  const verdict = document.getElementById("verdict")?.dataset.spoken;
  if (trouble) say(trouble);
  else if (verdict) say(`${verdict}.`);
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.closest("#animal")) return;
  event.preventDefault();
  const sent = new FormData(form, event.submitter);
  refresh(form.action, { method: "POST", body: new URLSearchParams(sent) });
});

document.addEventListener("click", (event) => {
  const link = event.target.closest("a.skip");
  if (!link || event.button !== 0 || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  link.focus();
  refresh(link.href);
});

// The ends of the body

let ends;

function startEnds() {
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
  };
  ends.first = read();
  for (const handle of cut.querySelectorAll(".end")) {
    handle.hidden = false;
    handle.addEventListener("pointerdown", grab);
    handle.addEventListener("pointermove", drag);
    handle.addEventListener("keydown", press);
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

startEnds();
