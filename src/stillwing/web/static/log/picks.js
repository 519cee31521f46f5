// What the next taps are about: animal, stand and perch, picked from what was used last, from the field book, or typed.

import { tidy } from "./moments.js";

const NOTHING = { animal: "", site: "", stand: "", perch: "" };
const TITLES = { animal: "Which animal", stand: "Which stand", perch: "Which perch" };
const NONE = { animal: "no animal named", stand: "no stand named", perch: "no perch named" };

export class Picks {
  /** `records()` gives all records; `changed(picks, name)` is told of each pick. */
  constructor(records, changed) {
    this.now = { ...NOTHING };
    this.state = { sites: [], animals: [] };
    this.records = records;
    this.changed = changed;
    this.dialog = document.getElementById("picker");
    this.typed = document.getElementById("picker-typed");
    this.site = document.getElementById("picker-site");
    this.longest = Number(document.getElementById("leaf").dataset.longestWords);
    for (const button of document.querySelectorAll("[data-pick]")) button.addEventListener("click", () => this.#open(button.dataset.pick));
    document.getElementById("picker-close").addEventListener("click", () => this.dialog.close());
    document.getElementById("picker-form").addEventListener("submit", (event) => {
      event.preventDefault();
      this.#use(this.#typedPick());
    });
    this.typed.addEventListener("input", () => this.#offer());
    this.show();
  }

  set(picks) {
    this.now = { ...NOTHING, ...picks };
    this.show();
  }

  /** At another stand neither the stand nor the perch before holds. */
  left() {
    this.set({ ...this.now, stand: "", perch: "" });
    document.querySelector('[data-pick="stand"]').classList.add("is-wanted");
  }

  show() {
    for (const button of document.querySelectorAll("[data-pick]")) {
      const name = button.dataset.pick;
      const words = name === "stand" ? [this.now.stand, this.now.site].filter(Boolean).join(" · ") : this.now[name];
      button.querySelector("b").textContent = words || "none";
    }
  }

  #open(name) {
    this.name = name;
    document.getElementById("picker-title").textContent = TITLES[name];
    this.typed.value = "";
    this.site.value = this.now.site;
    this.site.closest("p").hidden = name !== "stand";
    this.#offer();
    this.dialog.showModal();
    document.getElementById("picker-close").focus(); // not the field: it would raise the keyboard over the list
    this.dialog.scrollTop = 0;
  }

  #offer() {
    const sought = this.typed.value.trim().toLowerCase();
    const all = [{ words: NONE[this.name], pick: this.#nothing() }, ...this.#offers()];
    const seen = new Set();
    const fits = all.filter(({ words }) => words.toLowerCase().includes(sought) && !seen.has(words) && seen.add(words));
    document.getElementById("picker-offered").replaceChildren(...fits.map((offer) => this.#item(offer)));
  }

  #item({ words, pick }) {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = words;
    button.addEventListener("click", () => this.#use(pick));
    const item = document.createElement("li");
    item.append(button);
    return item;
  }

  /** Used last on this phone first, then what the field book knows. */
  #offers() {
    const used = [...this.records()].sort((one, other) => other.local.tap - one.local.tap);
    if (this.name === "animal")
      return [...used.map((record) => record.animal), ...this.state.animals].filter(Boolean).map((animal) => ({ words: animal, pick: { animal } }));
    const here = (site) => site === this.now.site;
    if (this.name === "perch") {
      const known = this.state.sites.filter((site) => here(site.name)).flatMap((site) => site.perches);
      return [...used.filter((record) => here(record.site)).map((record) => record.perch), ...known].filter(Boolean).map((perch) => ({ words: perch, pick: { perch } }));
    }
    const known = this.state.sites.flatMap(({ name, stands }) => [...stands, ""].map((stand) => ({ site: name, stand })));
    const places = [...used.map(({ site, stand }) => ({ site, stand })), ...known].filter(({ site, stand }) => site || stand);
    places.sort((one, other) => here(other.site) - here(one.site)); // the present site first; the order within stays
    return places.map(({ site, stand }) => ({ words: [stand || "no stand", site].filter(Boolean).join(" · "), pick: { site, stand } }));
  }

  #nothing() {
    return this.name === "stand" ? { site: "", stand: "" } : { [this.name]: "" };
  }

  #typedPick() {
    const words = tidy(this.typed.value, this.longest);
    return this.name === "stand" ? { stand: words, site: tidy(this.site.value, this.longest) } : { [this.name]: words };
  }

  #use(pick) {
    const isElsewhere = "stand" in pick && (pick.stand !== this.now.stand || pick.site !== this.now.site);
    this.set({ ...this.now, ...pick, ...(isElsewhere && { perch: "" }) });
    if (this.name === "stand") document.querySelector('[data-pick="stand"]').classList.remove("is-wanted");
    this.dialog.close();
    this.changed(this.now, this.name);
  }
}
