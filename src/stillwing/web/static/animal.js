// The page of an animal: the ends of its body moved by hand or keys, and every form answered in place.

import { say } from "./page.js";

const STEP = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
const FAR = 10; // px of the original at one press with Shift
const PLACES = { picture: "#end-head", body: "#body-title", questions: "#questions-title", sources: "#sources-title" }; // where the focus goes when what had it is gone
const NAMES = { head: "front of the head", tail: "end of the body" };

// Every form and every link to a question left out fetch the page anew; what changed on it is put in place.

const parts = (page) => [...page.querySelectorAll("[data-part]")];
// As the server gave it: our own changes on it, and addresses that only say what is left out, make no part another one.
const asGiven = (part) => part.outerHTML.replaceAll(/ action="[^"]*"/g, "");
const given = new Map(parts(document).map((part) => [part.id, asGiven(part)]));

let last = Promise.resolve();
/** Ask for the page once what was asked before is answered: each answer is about the page as it then stands. */
function refresh(request) {
  document.getElementById("animal").setAttribute("aria-busy", "true");
  const mine = last.then(() => answer(...request())).catch(reportError).finally(() => {
    if (last === mine) document.getElementById("animal").removeAttribute("aria-busy");
  });
  last = mine;
}

async function answer(url, settings) {
  let told;
  try {
    told = await fetch(url, { ...settings, headers: { Accept: "text/html" } });
  } catch {
    say("stillwing does not answer; is it still running?");
    return;
  }
  const fresh = new DOMParser().parseFromString(await told.text(), "text/html");
  const page = fresh.getElementById("animal");
  if (!page) {
    say(fresh.querySelector(".notice p")?.textContent ?? "stillwing answered with what is no page");
    return;
  }
  if (told.ok) history.replaceState(null, "", new URL(told.url).pathname + new URL(told.url).search);
  document.getElementById("animal").dataset.action = page.dataset.action;
  put(fresh);
  tell();
}

/** Put the parts of a fresh page in place of those that differ; what is unfolded stays so, and the focus finds its place. */
function put(fresh) {
  const unfolded = [...document.querySelectorAll("details[open][id]")].map((one) => one.id);
  const focused = document.activeElement;
  const at = { id: focused.id, part: focused.closest("[data-part]")?.id, wasAsked: focused.closest(".question") !== null };
  const isSame = parts(document).map((part) => part.id).join() === parts(fresh).map((part) => part.id).join();
  const fetched = new Map(parts(fresh).map((part) => [part.id, asGiven(part)]));
  for (const id of unfolded) fresh.querySelector(`details[id="${id}"]`)?.setAttribute("open", "");
  if (isSame) {
    for (const part of parts(document)) if (given.get(part.id) !== fetched.get(part.id)) part.replaceWith(document.adoptNode(fresh.getElementById(part.id)));
  } else {
    for (const one of ["#told", ".animal-bench"]) document.querySelector(one).replaceWith(document.adoptNode(fresh.querySelector(one)));
  }
  given.clear();
  for (const [id, html] of fetched) given.set(id, html);
  startEnds();
  if (document.activeElement === document.body) refocus(at);
}

function refocus(at) {
  const next = at.wasAsked && document.querySelector(".question h3");
  if (next) next.focus();
  else ((at.id && document.getElementById(at.id)) || document.querySelector(PLACES[at.part] ?? PLACES.questions))?.focus({ preventScroll: true });
}

function tell() {
  const trouble = document.querySelector("#told p")?.textContent;
  const verdict = document.getElementById("verdict")?.dataset.spoken;
  if (trouble) say(trouble);
  else if (verdict) say(`${verdict}.`);
}

document.addEventListener("submit", (event) => {
  const form = event.target;
  if (!form.closest("#animal")) return;
  event.preventDefault();
  const body = new URLSearchParams(new FormData(form, event.submitter));
  refresh(() => [document.getElementById("animal").dataset.action, { method: "POST", body }]);
});

document.addEventListener("click", (event) => {
  const link = event.target.closest("a.skip");
  if (!link || event.button !== 0 || event.ctrlKey || event.metaKey || event.shiftKey) return;
  event.preventDefault();
  link.focus();
  // The link as it stands when its turn comes: one left out before belongs to its address.
  refresh(() => [document.querySelector(`a.skip[data-character="${link.dataset.character}"]`)?.href ?? link.href]);
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
