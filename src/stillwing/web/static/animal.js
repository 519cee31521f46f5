// The page of an animal: every form is answered in place; the ends of its body are moved in animal_ends.js.

import { startEnds } from "./animal_ends.js";
import { say } from "./page.js";

const PLACES = { picture: "#end-head", body: "#body-title", questions: "#questions-title", sources: "#sources-title" }; // where the focus goes when what had it is gone
const LONG_MS = 700; // a picture is being read when an answer takes longer

// Every form and every link to a question left out fetch the page anew; what changed on it is put in place.

const parts = (page) => [...page.querySelectorAll("[data-part]")];
// As the server gave it: our own changes on it, and addresses that only say what is left out, make no part another one.
const asGiven = (part) => part.outerHTML.replaceAll(/ action="[^"]*"/g, "");
const given = new Map(parts(document).map((part) => [part.id, asGiven(part)]));

let last = Promise.resolve();
/** Ask for the page once what was asked before is answered: each answer is about the page as it then stands. */
function refresh(request) {
  document.getElementById("animal").setAttribute("aria-busy", "true");
  const patience = setTimeout(() => say("One moment, the picture is read."), LONG_MS);
  const mine = last.then(() => answer(...request())).catch(reportError).finally(() => {
    clearTimeout(patience);
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

startEnds();
