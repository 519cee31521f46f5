// Where the phone keeps its log: IndexedDB. What is on the way there, and what it refuses, lies in localStorage; a refusal is said aloud.

import { merged, uuid } from "./moments.js";

const NAME = "stillwing-log";
const REFUGE = "stillwing.log.kept."; // in localStorage, one record each
const RECORDS = "records";
const THINGS = "things";

export class Store {
  #db = null;
  #memory = new Map(); // records that the database does not hold
  #others = "BroadcastChannel" in globalThis ? new BroadcastChannel(NAME) : null;

  /** Call `told(records)` when another page of this phone stored some. */
  listen(told) {
    if (this.#others) this.#others.onmessage = (message) => told(message.data);
  }

  /** All records: those of the database, and those that took refuge, which are tried again. */
  async records() {
    const kept = new Map();
    let trouble = null;
    try {
      for (const record of await this.#run("readonly", (t) => t.objectStore(RECORDS).getAll())) kept.set(record.id, record);
    } catch (error) {
      trouble = error;
    }
    for (const record of this.#refugees()) {
      kept.set(record.id, merged(kept.get(record.id), record));
      this.#memory.set(record.id, record);
    }
    return { records: [...kept.values()], trouble };
  }

  /**
   * Write a record down before the page shows it: the database answers later, and a page may be closed until then.
   * localStorage is written at once; where there is none, `put` says so if the database refuses too.
   */
  hold(record) {
    try {
      localStorage.setItem(REFUGE + record.id, JSON.stringify(record));
    } catch {
      // The database is on its way.
    }
  }

  /** Store records; resolves once they lie in the database. Throws where they do not: then they are in refuge. */
  async put(...records) {
    try {
      const stored = await this.#run("readwrite", (t) => this.#merge(t.objectStore(RECORDS), records));
      for (const { id } of records) this.#memory.delete(id);
      for (const record of records) this.#forget(record);
      this.#others?.postMessage(stored);
      return stored;
    } catch (error) {
      for (const record of records) this.#memory.set(record.id, record);
      try {
        for (const record of records) localStorage.setItem(REFUGE + record.id, JSON.stringify(record));
      } catch (second) {
        throw new Error(`${reason(error)}; nor in its small store: ${reason(second)}`, { cause: error });
      }
      throw new Error(reason(error), { cause: error });
    }
  }

  /** How many records the database does not hold. */
  get nInRefuge() {
    return this.#memory.size;
  }

  /** Try those again; throws where they are still refused. */
  async rescue() {
    if (this.#memory.size) await this.put(...this.#memory.values());
  }

  /** A thing of the phone's own by its name: its id, what is picked, what can be picked. */
  async thing(name) {
    return (await this.#run("readonly", (t) => t.objectStore(THINGS).get(name))) ?? null;
  }

  async keepThing(name, value) {
    await this.#run("readwrite", (t) => t.objectStore(THINGS).put(value, name));
  }

  /** The phone's id, made once; two pages that open at once agree, because one transaction comes first. */
  async device() {
    return this.#run("readwrite", (t) => {
      const things = t.objectStore(THINGS);
      const asked = things.get("device");
      const answer = { result: null };
      asked.onsuccess = () => {
        answer.result = asked.result ?? uuid();
        if (!asked.result) things.put(answer.result, "device");
      };
      return answer;
    });
  }

  #merge(kept, records) {
    const answer = { result: [] };
    for (const record of records) {
      const asked = kept.get(record.id);
      asked.onsuccess = () => {
        const stored = merged(asked.result, record);
        try {
          kept.put(stored);
        } catch (error) {
          answer.error = error; // the browser itself would say only that a handler failed
          kept.transaction.abort();
          return;
        }
        answer.result.push(stored);
      };
    }
    return answer;
  }

  /** Run one transaction and wait until it is on disk. A connection that the browser closed is opened again, once. */
  async #run(mode, work, again = true) {
    this.#db ??= await open();
    let transaction;
    try {
      transaction = this.#db.transaction([RECORDS, THINGS], mode, { durability: "strict" });
    } catch (error) {
      this.#db = null;
      if (error.name === "InvalidStateError" && again) return this.#run(mode, work, false);
      throw error;
    }
    return new Promise((resolve, reject) => {
      let answer;
      transaction.oncomplete = () => resolve(answer.result);
      transaction.onabort = () => reject(answer?.error ?? transaction.error ?? new Error("the database gave up"));
      try {
        answer = work(transaction);
      } catch (error) {
        reject(error);
        transaction.abort();
      }
    });
  }

  #refugees() {
    const found = [...this.#memory.values()];
    try {
      for (const [key, text] of Object.entries(localStorage)) if (key.startsWith(REFUGE)) found.push(JSON.parse(text));
    } catch {
      // No small store: nothing lies there.
    }
    return found;
  }

  /** Take a record out of refuge, unless a later version came there meanwhile. */
  #forget({ id, changed_at }) {
    try {
      const text = localStorage.getItem(REFUGE + id);
      if (text && JSON.parse(text).changed_at <= changed_at) localStorage.removeItem(REFUGE + id);
    } catch {
      // No small store: nothing lies there.
    }
  }
}

const reason = (error) => error?.message || error?.name || String(error);

function open() {
  return new Promise((resolve, reject) => {
    const asked = indexedDB.open(NAME, 1);
    asked.onupgradeneeded = () => {
      asked.result.createObjectStore(RECORDS, { keyPath: "id" });
      asked.result.createObjectStore(THINGS);
    };
    asked.onsuccess = () => {
      asked.result.onversionchange = () => asked.result.close();
      resolve(asked.result);
    };
    asked.onerror = () => reject(asked.error);
    asked.onblocked = () => reject(new Error("another page holds the database"));
  });
}
