// What absences tell of the next return: what stillwing.review.survival, .returns and .leaving do at the desk.

const N_GRID = 64;
const REACH = 6;
const SHORTEST_S = 0.001;
const SMALL_CHANCE = 0.1;
const LONGEST_S = 7200;
const CLOSE_S = 0.1;

/** Share of absences that had ended in a return, after Aalen and Johansen: [{at, share}], rising. */
export function sharesBack(absences) {
  const ordered = [...absences].sort((one, other) => one.length_s - other.length_s);
  const found = [];
  let waiting = 1;
  let back = 0;
  for (let first = 0, next; first < ordered.length; first = next) {
    const at = ordered[first].length_s;
    for (next = first; next < ordered.length && ordered[next].length_s === at;) next += 1;
    const ended = ordered.slice(first, next).filter((one) => one.end !== "cut off");
    const nBack = ended.filter((one) => one.end === "happened").length;
    const nAtRisk = ordered.length - first;
    back += (waiting * nBack) / nAtRisk;
    waiting *= 1 - ended.length / nAtRisk;
    if (ended.length && back > 0) found.push({ at, share: back });
  }
  return found;
}

/** What is known of how often it comes back and how fast: a grid, summed over the shares at each rate; null where no return was seen. */
export function learnReturns(absences) {
  const lengths = (how) => absences.filter((one) => one.end === how).map((one) => one.length_s);
  const returned = lengths("happened");
  if (!returned.length) return null;
  const cutOff = lengths("cut off");
  const nElsewhere = absences.length - returned.length - cutOff.length;
  const n = returned.length;
  const total = Math.max(sum(returned), SHORTEST_S * n);
  const reach = REACH / Math.sqrt(n);
  const shares = Array.from({ length: N_GRID }, (_, i) => (i + 0.5) / N_GRID);
  const logRates = Array.from({ length: N_GRID }, (_, j) => Math.log(n / total) - reach + (2 * reach * j) / (N_GRID - 1));
  const rates = logRates.map(Math.exp);
  const logWeights = rates.map((rate, j) => {
    const still = cutOff.map((length) => Math.exp(-rate * length));
    return shares.map((share) => n * (Math.log(share) + logRates[j]) - rate * total + nElsewhere * Math.log1p(-share) + logOfAll(share, still));
  });
  const most = Math.max(...logWeights.flat());
  const weights = logWeights.map((row) => row.map((weight) => Math.exp(weight - most)));
  return {
    rates,
    coming: weights.map((row) => sum(row.map((weight, i) => weight * shares[i]))),
    never: sum(weights.flatMap((row) => row.map((weight, i) => weight * (1 - shares[i])))),
  };
}

/** The logarithm of all (1 - share + share e) multiplied; one logarithm for many of them, before they get too small for a number. */
function logOfAll(share, still) {
  let whole = 0;
  let product = 1;
  for (const one of still) {
    product *= 1 - share + share * one;
    if (product < 1e-200) {
      whole += Math.log(product);
      product = 1;
    }
  }
  return whole + Math.log(product);
}

/** The chance that it comes back at all, once it has been gone for so long, and the rate of a return in the next moment. */
export function returnAfter(returns, goneS) {
  let coming = 0;
  let soon = 0;
  returns.rates.forEach((rate, j) => {
    const part = returns.coming[j] * Math.exp(-rate * goneS);
    coming += part;
    soon += part * rate;
  });
  return { chance: coming / (coming + returns.never), hazard: soon / (coming + returns.never) };
}

/** How long to wait before going elsewhere; `best` is {per_s, walk_s} of the best other perch, or null. */
export function leaveAfter(returns, best) {
  if (best === null) return firstBelow((at) => returnAfter(returns, at).chance, SMALL_CHANCE);
  return firstBelow((at) => returnAfter(returns, at).hazard, 1 / (1 / best.per_s + best.walk_s));
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
