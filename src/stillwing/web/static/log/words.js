// How the Log page says things.

import { ms } from "./moments.js";

const NAMES = { moved: "moved stand", conditions: "conditions changed" };

export const kindWords = (kind) => NAMES[kind] ?? kind;

/** The phone's own time of day, to the second. */
export function clock(text) {
  const at = new Date(ms(text));
  return [at.getHours(), at.getMinutes(), at.getSeconds()].map((part) => String(part).padStart(2, "0")).join(":");
}

export const seconds = (from, to) => `${((ms(to) - ms(from)) / 1000).toFixed(1)} s`;

/** One tap in words: "pass, 10:21:04", "hover of 4.2 s, ended 10:21:08". */
export function tapWords({ record, part, at }) {
  if (part === "end") return `${kindWords(record.kind)} of ${seconds(record.at, at)}, ended ${clock(at)}`;
  return `${kindWords(record.kind)}, ${clock(at)}`;
}

/** What stands beside it: animal, where, note. */
export const besides = (record) => [record.animal, record.perch, record.stand, record.site, record.note].filter(Boolean).join(" · ");

export function outWords(tap) {
  if (tap.why === "double") return "second tap within 0.3 s, not counted";
  if (tap.why === "swipe") return "a swipe, not counted";
  return "taken back";
}

export function countWords(n, nOut, nUnsynced) {
  return `${n} on this phone${nOut ? ` (${nOut} taken back)` : ""}, ${nUnsynced} not yet at the desk`;
}

export function deskWords(state, sentence, aheadMs) {
  if (state === "gone") return "No desk in reach; taps stay here.";
  if (state === "locked" || state === "wrong") return `The desk refuses: ${sentence}.`;
  if (state !== "here") return "";
  if (Math.abs(aheadMs) < 60_000) return "The desk answers.";
  const minutes = Math.round(Math.abs(aheadMs) / 60_000);
  return `The desk answers. This phone's clock is ${minutes} min ${aheadMs > 0 ? "ahead of" : "behind"} the desk's.`;
}

export function fileName(now) {
  const two = (part) => String(part).padStart(2, "0");
  const day = [now.getFullYear(), two(now.getMonth() + 1), two(now.getDate())].join("-");
  return `stillwing-moments-${day}-${two(now.getHours())}${two(now.getMinutes())}.json`;
}
