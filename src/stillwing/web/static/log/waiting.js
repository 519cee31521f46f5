// What the waiting teaches, live: this phone's own taps of the present stay, and what the desk told of earlier ones.
// Works without the desk, which is when it is needed most. The same rules in Python: stillwing.review.

import { intervalsOf, watchesOf } from "./intervals.js";
import { LONGEST_HOVER_MS } from "./moments.js";
import { leaveAfter, learnReturns, returnAfter, steadyChance, sum } from "./returns.js";
import { goneWords, hoversWords, returnsWords, waitingWords } from "./waitingwords.js";

const REST_MS = 6 * 3600_000; // taps further apart belong to different stays
const ENOUGH = 3; // returns, or hovers, that a narrow scope needs (a choice, no source)
const LEAST_WATCHED_S = 600;
const WALK_S = 60;
const NAMES = ["animal", "stand", "perch"];

export const NOTHING_KNOWN = { past: [], rates: [] };

const keys = new Map(); // of all names met so far, which are few, and asked for at each tap a thousand times
function key(name) {
  let found = keys.get(name);
  if (found === undefined) {
    found = name.normalize("NFKC").toLowerCase().split(/\s+/).filter(Boolean).join(" ");
    keys.set(name, found);
  }
  return found;
}
const alike = (one, other) => one === other || key(one) === key(other);

/** The taps of the stay that goes on at a water, in order of time; none where the last is more than six hours ago. */
export function presentStay(records, site, nowMs) {
  const timed = [...records]
    .filter((one) => !one.undone && alike(one.site, site))
    .map((one) => ({ ...one, atMs: Date.parse(one.at), untilMs: one.until === null ? null : Date.parse(one.until) }))
    .filter((one) => one.atMs <= nowMs)
    .sort((one, other) => one.atMs - other.atMs || (one.id < other.id ? -1 : 1));
  let first = 0;
  let lastMs = -Infinity;
  timed.forEach((one, place) => {
    if (one.atMs - lastMs > REST_MS) first = place;
    lastMs = Math.max(lastMs, one.untilMs ?? one.atMs);
  });
  if (nowMs - lastMs > REST_MS) return null;
  const startMs = timed[first].atMs;
  return { site, startMs, lastMs, events: speltAlike(timed.slice(first)).map((one) => eventOf(one, startMs)) };
}

function eventOf({ kind, animal, stand, perch, atMs, untilMs }, startMs) {
  const seconds = (ms) => (ms - startMs) / 1000;
  return { kind, animal, stand, perch, at: seconds(atMs), until: untilMs === null ? null : seconds(untilMs) };
}

/** A name that was written in several ways, as "Post" and "post", is one, as it was written last. */
function speltAlike(taps) {
  const last = new Map();
  for (const tap of taps) for (const name of NAMES) last.set(`${name} ${key(tap[name])}`, tap[name]);
  return taps.map((tap) => ({ ...tap, ...Object.fromEntries(NAMES.map((name) => [name, last.get(`${name} ${key(tap[name])}`)])) }));
}

/** All that the two lines need but the clock: worked out on each tap. `running` are the hovers that go on; `null` where there is nothing to say. */
export function learn({ records, picks, known, running, nowMs }) {
  const stay = presentStay(records, picks.site, nowMs);
  if (stay === null) return null;
  const seconds = (ms) => (ms - stay.startMs) / 1000;
  const tapped = watchesOf(stay.events, 0, seconds(nowMs)).at(-1).stand;
  // Where another stand is picked than was tapped last, the watch ended with the last tap, as it will be read once there is a tap here.
  const isElsewhere = picks.stand !== "" && tapped !== "" && !alike(picks.stand, tapped);
  const endS = seconds(isElsewhere ? stay.lastMs : nowMs);
  const watches = watchesOf(stay.events, 0, endS);
  const intervals = intervalsOf(stay.events, 0, endS);
  const told = { stay, watches, intervals, known, picks, running, now: watches.at(-1), stand: isElsewhere ? picks.stand : tapped, isElsewhere };
  const away = openAbsence(told);
  const learned = away ? absence(away, told) : hovering(told);
  return learned && { ...learned, untilMs: stay.lastMs + REST_MS };
}

/** The two lines at an instant. */
export function lines(learned, nowMs) {
  if (learned === null || nowMs > learned.untilMs) return ["", ""];
  const passed = Math.max(0, (nowMs - learned.sinceMs) / 1000);
  if (learned.what === "away") {
    const chance = learned.returns === null ? null : returnAfter(learned.returns, passed).chance;
    return [learned.line, goneWords(passed, chance, learned.leaveS)];
  }
  if (learned.isElsewhere || nowMs < learned.hoversUntilMs) return [learned.line, ""];
  return [learned.line, waitingWords(passed, steadyChance(learned.n, learned.totalS + passed))];
}

const goesOn = (one, now) => one.end === "cut off" && one.start >= now.start && Math.abs(one.start + one.length_s - now.end) < 1e-6;

/** The newest absence that goes on where one stands, of the picked animal, or of the one that took off last. */
function openAbsence({ stay, intervals, now, picks, isElsewhere }) {
  const animal = picks.animal || (stay.events.findLast((one) => one.kind === "take-off")?.animal ?? "");
  const isOpen = (one) => one.what === "away" && goesOn(one, now) && alike(one.animal, animal);
  return (!isElsewhere && intervals.findLast(isOpen)) || null;
}

function absence(open, told) {
  const { stay, known, stand, picks } = told;
  const all = [...known.past, ...told.intervals].filter((one) => one.what === "away" && one !== open && alike(one.animal, open.animal));
  const { seen, words } = narrowest(all, stay.site, (one) => alike(one.perch, open.perch), "away");
  const returns = learnReturns(seen);
  const best = bestElsewhere(paysOf(told), { site: stay.site, animal: open.animal, perch: open.perch, stand: stand || picks.stand });
  return { what: "away", line: words + returnsWords(seen), returns, leaveS: returns === null ? Infinity : leaveAfter(returns, best), sinceMs: stay.startMs + open.start * 1000 };
}

function hovering({ stay, now, stand, intervals, known, picks, running, isElsewhere }) {
  const animal = picks.animal || stay.events.findLast((one) => one.kind === "hover")?.animal;
  if (animal === undefined) return null;
  const isOpen = (one) => one.what === "hover-wait" && goesOn(one, now) && alike(one.animal, animal);
  const open = (!isElsewhere && intervals.find(isOpen)) || null;
  const all = [...known.past, ...intervals].filter((one) => (one.what === "hover-wait" || one.what === "hover") && one !== open && alike(one.animal, animal));
  const { seen, words } = narrowest(all, stay.site, (one) => alike(one.stand, stand), "hover-wait");
  const lengths = (what, how) => seen.filter((one) => one.what === what && one.end === how).map((one) => one.length_s);
  const came = lengths("hover-wait", "happened");
  if (!came.length) return null;
  const begun = running.filter((one) => alike(one.animal, animal)).map((one) => Date.parse(one.at));
  return {
    what: "hover", line: words + hoversWords(came, lengths("hover", "happened")), n: came.length, isElsewhere,
    totalS: sum(came) + sum(lengths("hover-wait", "cut off")), sinceMs: stay.startMs + (open?.start ?? now.end) * 1000,
    hoversUntilMs: Math.max(...begun) + LONGEST_HOVER_MS, // the last one is let go by itself then; none: long ago
  };
}

/** Of intervals in order of time, those of the narrowest scope in which enough of them were seen to their end; and its words. */
function narrowest(anywhere, site, isOwn, what) {
  const here = anywhere.filter((one) => one.site === undefined || alike(one.site, site)); // today's are of this water
  const scopes = [{ words: "", seen: here.filter(isOwn) }, { words: "here: ", seen: here }, { words: "anywhere: ", seen: anywhere }];
  const isEnough = ({ seen }) => seen.filter((one) => one.what === what && one.end === "happened").length >= ENOUGH;
  const found = scopes.find(isEnough) ?? scopes.at(-1);
  // Where the wide scope holds nothing more, it is no other scope.
  return scopes.find(({ seen }) => seen.length === found.seen.length);
}

/** What each perch of this water brought, today added to what the desk told of earlier days: rows of review.perchpay, in their order. */
export function paysOf({ stay, watches, intervals, known }) {
  const rows = new Map();
  const standsAt = (row, stand) => row.stands.some((one) => alike(one, stand));
  const row = (perch, animal, stands) => {
    const name = JSON.stringify([perch, animal].map(key));
    if (!rows.has(name)) rows.set(name, { name, site: stay.site, perch, animal, stands: [], returns: 0, watched_s: 0 });
    const found = rows.get(name);
    for (const stand of stands) if (!standsAt(found, stand)) found.stands.push(stand);
    return found;
  };
  for (const told of known.rates.filter((one) => alike(one.site, stay.site))) {
    const found = row(told.perch, told.animal, told.stands);
    found.returns += told.returns;
    found.watched_s += told.watched_s;
  }
  for (const watch of watches) for (const event of watch.events) if (event.perch) row(event.perch, event.animal, [watch.stand]);
  // Where it was seen on an earlier day one watches for it today as well, tapped or not.
  for (const found of rows.values()) for (const watch of watches) if (standsAt(found, watch.stand)) found.watched_s += watch.end - watch.start;
  for (const one of intervals) if (one.what === "away" && one.end === "happened" && one.perch) row(one.perch, one.animal, []).returns += 1;
  return [...rows.values()].sort((one, other) => (one.name < other.name ? -1 : 1));
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
