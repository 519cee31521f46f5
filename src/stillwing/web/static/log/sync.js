// Bringing moments to the desk: again and again until it says that it has them. Sending twice does no harm.

import { documentOf } from "./moments.js";

const EVERY_MS = 15_000;
const LONGEST_MS = 300_000;
const STATE_MS = 60_000; // how often the names to pick are asked for
const WAITING_MS = 600_000; // and what earlier days tell of waiting
const SOON_MS = 150;
const PATIENCE_MS = 20_000;
const BATCH = 500;

export class Sync {
  /**
   * unsynced()            records that the desk lacks in their present version
   * taken(versions)       the desk has these: a map from id to changed_at
   * refused(id, changed_at, sentence) the desk will not take that version
   * gotState(state)       what can be picked
   * gotWaiting(known)     what earlier days tell of waiting
   * told(state, sentence) "here", "gone", "locked" or "wrong", with words
   */
  constructor(device, calls) {
    this.device = device;
    this.calls = calls;
    this.busy = false;
    this.again = false;
    this.failures = 0;
    this.stateAt = -Infinity;
    this.waitingAt = -Infinity;
    this.timer = null;
  }

  start() {
    addEventListener("online", () => this.now());
    document.addEventListener("visibilitychange", () => { if (document.visibilityState === "visible") this.now(); });
    return this.now();
  }

  /** After a tap. */
  soon() {
    if (this.busy) this.again = true;
    else this.#next(SOON_MS);
  }

  /** At once; a round that is under way is followed by another. */
  async now() {
    if (this.busy) {
      this.again = true;
      return;
    }
    this.busy = true;
    clearTimeout(this.timer);
    try {
      await this.#round();
      this.failures = 0;
      this.calls.told("here", "");
    } catch (error) {
      this.failures += 1;
      this.calls.told(error.state ?? "gone", error.state ? error.message : "");
    }
    this.busy = false;
    this.#next(this.again && !this.failures ? SOON_MS : Math.min(LONGEST_MS, EVERY_MS * 2 ** Math.max(0, this.failures - 1)));
    this.again = false;
  }

  #next(ms) {
    clearTimeout(this.timer);
    this.timer = setTimeout(() => this.now(), ms);
  }

  async #round() {
    for (let batch = this.#batch(); batch.length; batch = this.#batch()) await this.#send(batch);
    if (performance.now() - this.stateAt >= STATE_MS) {
      this.calls.gotState(await ask("/log/state.json"));
      this.stateAt = performance.now();
    }
    if (performance.now() - this.waitingAt < WAITING_MS) return;
    this.calls.gotWaiting(await ask("/log/waiting.json"));
    this.waitingAt = performance.now();
  }

  #batch() {
    return this.calls.unsynced().slice(0, BATCH);
  }

  /** Send some; what the desk refuses is halved until the one that is wrong is known, so that it holds up no other. */
  async #send(records) {
    const body = JSON.stringify(documentOf(records, this.device));
    let answer;
    try {
      answer = await ask("/log/moments", { method: "POST", headers: { "Content-Type": "application/json" }, body });
    } catch (error) {
      if (error.status !== 422) throw error;
      if (records.length === 1) {
        await this.calls.refused(records[0].id, records[0].changed_at, error.message);
        return;
      }
      const middle = Math.ceil(records.length / 2);
      await this.#send(records.slice(0, middle));
      await this.#send(records.slice(middle));
      return;
    }
    const sent = new Map(records.map((record) => [record.id, record.changed_at]));
    const known = answer.taken.filter((id) => sent.has(id));
    if (known.length < records.length) throw wrong("the desk answered, but does not name all moments that were sent");
    await this.calls.taken(new Map(known.map((id) => [id, sent.get(id)])));
  }
}

function wrong(sentence, status = 0) {
  return Object.assign(new Error(sentence), { status, state: status === 401 ? "locked" : "wrong" });
}

async function ask(url, settings = {}) {
  const answer = await fetch(url, { ...settings, cache: "no-store", signal: AbortSignal.timeout(PATIENCE_MS) });
  let body;
  try {
    body = await answer.json();
  } catch {
    throw wrong(`the desk answered ${answer.status}, without words`, answer.status);
  }
  if (!answer.ok) throw wrong(body.error ?? body.sentence ?? `the desk answered ${answer.status}`, answer.status);
  return body;
}
