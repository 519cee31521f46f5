// The waiting in short words: the sentences of stillwing.review.words, from the same figures.

import { sharesBack } from "./returns.js";

const LAST = 6;
const MOST = 0.8;

export function returnsWords(absences) {
  const returns = absences.filter((one) => one.end === "happened").map((one) => one.length_s);
  if (!returns.length) {
    if (!absences.length) return "nothing known of its returns yet";
    return `no return seen of ${absences.length === 1 ? "one absence" : `${absences.length} absences`}`;
  }
  const lately = returns.slice(-LAST);
  const told = lately.length === 1 ? `one return, after ${lengthWords(lately[0])}` : `last ${lately.length} returns ${rangeWords(Math.min(...lately), Math.max(...lately))}`;
  const back = sharesBack(absences);
  const reached = Math.floor(Math.min(MOST, back.at(-1).share) * 10 + 1e-9);
  if (reached < 1) return told;
  return `${told}; ${reached * 10} % back within ${lengthWords(back.find((step) => step.share >= reached / 10 - 1e-12).at)}`;
}

/** How an absence stands that goes on; `chance` is null where no return was seen. */
export function goneWords(goneS, chance, leaveS) {
  const told = `gone ${lengthWords(goneS)}`;
  if (chance === null) return told;
  return `${told}: ${chanceWords(chance)} chance${goneS >= leaveS ? ", move on?" : ""}`;
}

export function hoversWords(waits, hovers) {
  if (!waits.length) return "";
  const lately = waits.slice(-LAST);
  const held = hovers.slice(-LAST);
  const told = lately.length === 1 ? `one hover, after ${lengthWords(lately[0])}` : `last ${lately.length} hovers came after ${rangeWords(Math.min(...lately), Math.max(...lately))}`;
  return held.length ? `${told}, held ${rangeWords(Math.min(...held), Math.max(...held))}` : told;
}

export const waitingWords = (waitedS, chance) => `waiting ${lengthWords(waitedS)}: ${chanceWords(chance)} within a minute`;

export function chanceWords(chance) {
  const whole = Math.min(99, rounded(chance * 100));
  return whole >= 1 ? `${whole} %` : "under 1 %";
}

export function rangeWords(lowS, highS) {
  const low = lengthWords(lowS);
  const high = lengthWords(highS);
  if (low === high) return low;
  const [figure, unit] = low.split(" ");
  return high.endsWith(` ${unit}`) ? `${figure} to ${high}` : `${low} to ${high}`;
}

export function lengthWords(lengthS) {
  for (const [unitS, unit] of [[1, "s"], [60, "min"]]) if (lengthS < 90 * unitS) return `${rounded(lengthS / unitS)} ${unit}`;
  return `${rounded(lengthS / 3600)} h`;
}

const rounded = (value) => Math.floor(value + 0.5);
