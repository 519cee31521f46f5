// What absences tell of the next return: what stillwing.review.survival, .returns and .leaving do at the desk.

const N_GRID = 64;
const REACH = 6;
const SHORTEST_S = 0.001;
const SMALL_CHANCE = 0.1;
const LONGEST_S = 7200;
const CLOSE_S = 0.1;

/** Share of absences that had ended in a return, after Aalen and Johansen: [{at, share}], rising. */
export function sharesBack(absences) {
  const times = [...new Set(absences.filter((one) => one.end !== "cut off").map((one) => one.length_s))].sort((one, other) => one - other);
  const found = [];
  let waiting = 1;
  let back = 0;
  for (const at of times) {
    const nAtRisk = absences.filter((one) => one.length_s >= at).length;
    const ended = absences.filter((one) => one.length_s === at && one.end !== "cut off");
    const nBack = ended.filter((one) => one.end === "happened").length;
    back += (waiting * nBack) / nAtRisk;
    waiting *= 1 - ended.length / nAtRisk;
    if (back > 0) found.push({ at, share: back });
  }
  return found;
}

/** A grid of how often it comes back and how fast, each point with its weight; null where no return was seen. */
export function learnReturns(absences) {
  const lengths = (how) => absences.filter((one) => one.end === how).map((one) => one.length_s);
  const returned = lengths("happened");
  if (!returned.length) return null;
  const cutOff = lengths("cut off");
  const nElsewhere = absences.length - returned.length - cutOff.length;
  const n = returned.length;
  const total = Math.max(sum(returned), SHORTEST_S * n);
  const reach = REACH / Math.sqrt(n);
  const points = [];
  let most = -Infinity;
  for (let i = 0; i < N_GRID; i += 1) {
    const share = (i + 0.5) / N_GRID;
    for (let j = 0; j < N_GRID; j += 1) {
      const logRate = Math.log(n / total) - reach + (2 * reach * j) / (N_GRID - 1);
      const rate = Math.exp(logRate);
      let logWeight = n * (Math.log(share) + logRate) - rate * total + nElsewhere * Math.log1p(-share);
      for (const length of cutOff) logWeight += Math.log(1 - share + share * Math.exp(-rate * length));
      most = Math.max(most, logWeight);
      points.push({ share, rate, logWeight });
    }
  }
  return points.map(({ share, rate, logWeight }) => ({ share, rate, weight: Math.exp(logWeight - most) }));
}

/** The chance that it comes back at all, once it has been gone for so long, and the rate of a return in the next moment. */
export function returnAfter(points, goneS) {
  let coming = 0;
  let soon = 0;
  let never = 0;
  for (const { share, rate, weight } of points) {
    const part = weight * share * Math.exp(-rate * goneS);
    coming += part;
    soon += part * rate;
    never += weight * (1 - share);
  }
  return { chance: coming / (coming + never), hazard: soon / (coming + never) };
}

/** How long to wait before going elsewhere; `best` is {per_s, walk_s} of the best other perch, or null. */
export function leaveAfter(points, best) {
  if (best === null) return firstBelow((at) => returnAfter(points, at).chance, SMALL_CHANCE);
  return firstBelow((at) => returnAfter(points, at).hazard, 1 / (1 / best.per_s + best.walk_s));
}

/** Chance of at least one more within a time, after `n` in `total` seconds at a steady rate. */
export function steadyChance(n, total, within = 60) {
  if (n === 0 || total <= 0) return n > 0 ? 1 : 0;
  return 1 - (total / (total + within)) ** n;
}

export const sum = (values) => values.reduce((whole, value) => whole + value, 0);

function firstBelow(falling, level) {
  if (falling(0) < level) return 0;
  let low = 0;
  let high = 1;
  while (falling(high) >= level) {
    low = high;
    high *= 2;
    if (low >= LONGEST_S) return Infinity;
  }
  while (high - low > CLOSE_S) {
    const middle = (low + high) / 2;
    if (falling(middle) < level) high = middle;
    else low = middle;
  }
  return high;
}
