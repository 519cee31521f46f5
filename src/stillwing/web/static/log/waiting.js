// What the waiting teaches, live: this phone's own taps of the present stay, and what the desk told of earlier ones.
// Works without the desk, which is when it is needed most. The same rules in Python: stillwing.review.

import { intervalsOf, watchesOf } from "./intervals.js";
import { leaveAfter, learnReturns, returnAfter, steadyChance, sum } from "./returns.js";
import { goneWords, hoversWords, returnsWords, waitingWords } from "./waitingwords.js";

const REST_MS = 6 * 3600_000; // taps further apart belong to different stays
const ENOUGH = 3; // returns, or hovers, that a narrow scope needs (a choice, no source)
const LEAST_WATCHED_S = 600;
const WALK_S = 60;

export const NOTHING_KNOWN = { past: [], rates: [] };

const key = (name) => name.normalize("NFKC").toLowerCase().split(/\s+/).filter(Boolean).join(" ");
const alike = (one, other) => one === other || key(one) === key(other);
const isCutAt = (one, end) => one.end === "cut off" && Math.abs(one.start + one.length_s - end) < 1e-6;

/** The taps of the stay that goes on at a water, in order of time; none where the last is more than six hours ago. */
export function presentStay(records, site, nowMs) {
  const timed = [...records]
    .filter((one) => !one.undone && alike(one.site, site))
    .map((one) => ({ id: one.id, kind: one.kind, atMs: Date.parse(one.at), untilMs: one.until === null ? null : Date.parse(one.until), animal: one.animal, stand: one.stand, perch: one.perch }))
    .filter((one) => one.atMs <= nowMs)
    .sort((one, other) => one.atMs - other.atMs || (one.id < other.id ? -1 : 1));
  let first = 0;
  let last = -Infinity;
  timed.forEach((one, place) => {
    if (one.atMs - last > REST_MS) first = place;
    last = Math.max(last, one.untilMs ?? one.atMs);
  });
  if (nowMs - last > REST_MS) return null;
  const startMs = timed[first].atMs;
  const seconds = (ms) => (ms - startMs) / 1000;
  const events = timed.slice(first).map((one) => ({ kind: one.kind, animal: one.animal, stand: one.stand, perch: one.perch, at: seconds(one.atMs), until: one.untilMs === null ? null : seconds(one.untilMs) }));
  return { site, startMs, events };
}

/** All that the two lines need but the clock: worked out on each tap. `running` are the hovers that go on; `null` where there is nothing to say. */
export function learn({ records, picks, known, running, nowMs }) {
  const stay = presentStay(records, picks.site, nowMs);
  if (stay === null) return null;
  const endS = (nowMs - stay.startMs) / 1000;
  const now = watchesOf(stay.events, 0, endS).at(-1);
  const intervals = intervalsOf(stay.events, 0, endS);
  const away = openAbsence(intervals, now, picks, stay.events);
  return away ? absence(away, { stay, endS, now, intervals, known, picks }) : hovering({ stay, now, intervals, known, picks, running });
}

/** The two lines at an instant. */
export function lines(learned, nowMs) {
  if (learned === null) return ["", ""];
  const passed = Math.max(0, (nowMs - learned.sinceMs) / 1000);
  if (learned.what === "away") {
    const chance = learned.points === null ? null : returnAfter(learned.points, passed).chance;
    return [learned.line, goneWords(passed, chance, learned.leaveS)];
  }
  if (learned.isOn) return [learned.line, ""];
  return [learned.line, waitingWords(passed, steadyChance(learned.n, learned.totalS + passed))];
}

/** The newest absence that goes on where one stands, of the picked animal, or of the one that took off last. */
function openAbsence(intervals, now, picks, events) {
  const tookOff = events.findLast((one) => one.kind === "take-off");
  const animal = picks.animal || tookOff?.animal;
  const open = intervals.filter((one) => one.what === "away" && isCutAt(one, now.end) && one.start >= now.start && alike(one.animal, animal ?? ""));
  return open.at(-1) ?? null;
}

function absence(open, { stay, endS, now, intervals, known, picks }) {
  const of = (one) => one.what === "away" && alike(one.animal, open.animal);
  const here = [...known.past.filter((one) => of(one) && alike(one.site, stay.site)), ...intervals.filter((one) => of(one) && one !== open)];
  const anywhere = [...known.past.filter((one) => of(one) && !alike(one.site, stay.site)), ...here];
  const { seen, words } = narrowest([
    { words: "", seen: here.filter((one) => alike(one.perch, open.perch)) },
    { words: "here: ", seen: here },
    { words: "anywhere: ", seen: anywhere },
  ]);
  const points = learnReturns(seen);
  const best = bestElsewhere(paysOf(stay, endS, intervals, known.rates), { site: stay.site, animal: open.animal, perch: open.perch, stand: now.stand || picks.stand });
  return { what: "away", line: words + returnsWords(seen), points, leaveS: points === null ? Infinity : leaveAfter(points, best), sinceMs: stay.startMs + open.start * 1000 };
}

function hovering({ stay, now, intervals, known, picks, running }) {
  const hovered = stay.events.findLast((one) => one.kind === "hover");
  const animal = picks.animal || hovered?.animal;
  if (animal === undefined) return null;
  const of = (one) => alike(one.animal, animal) && (one.what === "hover-wait" || one.what === "hover");
  const open = intervals.find((one) => one.what === "hover-wait" && of(one) && isCutAt(one, now.end) && one.start >= now.start) ?? null;
  const here = [...known.past.filter((one) => of(one) && alike(one.site, stay.site)), ...intervals.filter((one) => of(one) && one !== open)];
  const anywhere = [...known.past.filter((one) => of(one) && !alike(one.site, stay.site)), ...here];
  const { seen, words } = narrowest([
    { words: "", seen: here.filter((one) => alike(one.stand, now.stand)) },
    { words: "here: ", seen: here },
    { words: "anywhere: ", seen: anywhere },
  ], "hover-wait");
  const lengths = (what, how) => seen.filter((one) => one.what === what && one.end === how).map((one) => one.length_s);
  const came = lengths("hover-wait", "happened");
  if (!came.length) return null;
  return {
    what: "hover", line: words + hoversWords(came, lengths("hover", "happened")), n: came.length,
    totalS: sum(came) + sum(lengths("hover-wait", "cut off")), sinceMs: stay.startMs + (open?.start ?? now.end) * 1000,
    isOn: running.some((one) => alike(one.animal, animal)),
  };
}

function narrowest(scopes, what = "away") {
  const isEnough = ({ seen }) => seen.filter((one) => one.what === what && one.end === "happened").length >= ENOUGH;
  const found = scopes.find(isEnough) ?? scopes.at(-1);
  // Where the wide scope holds nothing more, it is no other scope.
  return scopes.find(({ seen }) => seen.length === found.seen.length);
}

/** What each perch brought, this stay added to what the desk told: rows of review.perchpay. */
export function paysOf(stay, endS, intervals, rates) {
  const rows = new Map();
  const row = (site, perch, animal) => {
    const name = JSON.stringify([site, perch, animal].map(key));
    if (!rows.has(name)) rows.set(name, { site, perch, animal, stands: [], returns: 0, watched_s: 0 });
    return rows.get(name);
  };
  const standsAt = (found, stand) => found.stands.some((one) => alike(one, stand));
  const watches = watchesOf(stay.events, 0, endS);
  for (const watch of watches) {
    for (const event of watch.events) {
      if (!event.perch) continue;
      const found = row(stay.site, event.perch, event.animal);
      if (!standsAt(found, watch.stand)) found.stands.push(watch.stand);
    }
  }
  for (const found of rows.values()) for (const watch of watches) if (standsAt(found, watch.stand)) found.watched_s += watch.end - watch.start;
  for (const one of intervals) if (one.what === "away" && one.end === "happened" && one.perch) row(stay.site, one.perch, one.animal).returns += 1;
  for (const told of rates) {
    const found = row(told.site, told.perch, told.animal);
    found.returns += told.returns;
    found.watched_s += told.watched_s;
    for (const stand of told.stands) if (!standsAt(found, stand)) found.stands.push(stand);
  }
  return [...rows.values()];
}

function bestElsewhere(pays, { site, animal, perch, stand }) {
  let best = null;
  for (const pay of pays) {
    const isOther = alike(pay.site, site) && alike(pay.animal, animal) && !alike(pay.perch, perch);
    if (!isOther || pay.returns < ENOUGH || pay.watched_s < LEAST_WATCHED_S) continue;
    if (best === null || pay.returns / pay.watched_s > best.returns / best.watched_s) best = pay;
  }
  return best && { per_s: best.returns / best.watched_s, walk_s: best.stands.some((one) => alike(one, stand)) ? 0 : WALK_S };
}
