// What every page has: the theme, the list of keys, the live region, and a sentence in place of a picture that cannot be shown.

const LETTERS = "stillwing.letters";

/** Say something to the eye and to a screen reader, for a while. `link` is {href, text}, or nothing. */
let silence;
export function say(sentence, link) {
  const said = document.getElementById("said");
  said.textContent = sentence;
  if (link) {
    const anchor = document.createElement("a");
    anchor.href = link.href;
    anchor.textContent = link.text;
    said.append(" ", anchor);
  }
  clearTimeout(silence);
  silence = setTimeout(() => said.replaceChildren(), 8000);
}

/** Ask the server for JSON; its own sentence becomes the error's. */
export async function ask(url, settings = {}) {
  let answer;
  try {
    answer = await fetch(url, { ...settings, headers: { Accept: "application/json", ...settings.headers } });
  } catch (error) {
    if (error.name === "AbortError") throw error;
    throw new Error("stillwing does not answer; is it still running?");
  }
  const body = await answer.json();
  if (!answer.ok) throw new Error(body.sentence);
  return body;
}

/** Send a change as JSON. */
export function send(url, change) {
  return ask(url, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(change) });
}

/** Call `actions[key]` for single keys, unless a field is being filled in or letters are switched off. */
export function listenToKeys(actions) {
  document.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || document.querySelector("dialog[open]")) return;
    // A checkbox takes no letters, and the one of a list just closed keeps the focus for a moment.
    const field = event.target.closest("input:not([type=range], [type=checkbox]), select, textarea, [contenteditable]");
    if (field) return;
    const isRange = event.target.matches("input[type=range]");
    const key = event.shiftKey && event.key.length > 1 ? `Shift+${event.key}` : event.key.length === 1 ? event.key.toLowerCase() : event.key;
    if (!(key in actions) || (isRange && ["ArrowLeft", "ArrowRight"].includes(key))) return;
    if (key.length === 1 && !lettersAreOn()) return;
    event.preventDefault();
    actions[key](event);
  });
}

function lettersAreOn() {
  return localStorage.getItem(LETTERS) !== "off";
}

function startTheme() {
  const button = document.getElementById("theme");
  const root = document.documentElement;
  const name = () => root.dataset.theme ?? "system";
  const show = () => {
    button.textContent = { system: "As the system", light: "Bright", dark: "Dark" }[name()];
    button.setAttribute("aria-label", `Colours: ${button.textContent}`);
  };
  button.hidden = false;
  show();
  button.addEventListener("click", () => {
    const next = { system: "light", light: "dark", dark: "system" }[name()];
    if (next === "system") delete root.dataset.theme; else root.dataset.theme = next;
    document.cookie = `stillwing_theme=${next}; path=/; max-age=31536000; SameSite=Strict`;
    show();
    document.dispatchEvent(new Event("stillwing:theme"));
  });
}

function startKeys() {
  const dialog = document.getElementById("keys");
  const open = document.getElementById("open-keys");
  if (!dialog || !open) return;
  open.hidden = false;
  open.addEventListener("click", () => dialog.showModal());
  document.addEventListener("keydown", (event) => {
    const field = event.target.closest("input:not([type=range], [type=checkbox]), select, textarea");
    if (event.key === "?" && !field && !document.querySelector("dialog[open]")) dialog.showModal();
  });
  const letters = document.getElementById("letters");
  if (!letters) return;
  letters.checked = lettersAreOn();
  letters.addEventListener("change", () => localStorage.setItem(LETTERS, letters.checked ? "on" : "off"));
}

/** Put a sentence where a picture could not be shown; the server says why. */
export function explainMissing(picture) {
  if (!picture.isConnected || picture.dataset.explained) return;
  picture.dataset.explained = "yes";
  const box = document.createElement("span");
  box.className = `no-picture ${picture.className}`;
  box.setAttribute("role", "img");
  box.style.width = `${picture.clientWidth || picture.width}px`;
  box.style.height = `${picture.clientHeight || picture.height}px`;
  box.setAttribute("aria-label", `${picture.alt}: picture not at hand`);
  box.textContent = picture.clientWidth > 70 || picture.width > 70 ? "picture not at hand" : "×";
  picture.replaceWith(box);
  ask(picture.src).catch((error) => {
    box.title = error.message;
    box.setAttribute("aria-label", `${picture.alt}: ${error.message}`);
    document.dispatchEvent(new CustomEvent("stillwing:missing", { detail: error.message }));
  });
}

function watchPictures() {
  // Errors of pictures do not bubble; catch them on the way down. Those that failed before this script came are looked up.
  document.addEventListener("error", (event) => { if (event.target.matches?.("img")) explainMissing(event.target); }, true);
  const notice = document.getElementById("missing");
  let told = 0;
  document.addEventListener("stillwing:missing", (event) => {
    told += 1;
    if (!notice) return;
    notice.hidden = false;
    notice.querySelector("p").textContent = told === 1 ? event.detail : `${event.detail} (and ${told - 1} more like it)`;
  });
  for (const picture of [...document.images]) if (picture.complete && picture.src && !picture.naturalWidth) explainMissing(picture);
}

startTheme();
startKeys();
watchPictures();
