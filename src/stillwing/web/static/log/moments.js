// Moments as the phone keeps them: what a tap makes, what takes it back, and the document that leaves the phone.
//
// A record is the moment of the protocol and a part of the phone's own, `local`:
//   tap, end_tap   place of the tap that made it, and of the tap that ended it, among all taps of this phone
//   why            "double" or "swipe" where a tap was not counted of itself; "" where a person took it back
//   spare_end      an end that is not counted: taken back, or the second of two taps within 300 ms; and end_why, as why
//   let_go         its end was not seen: the next tap on hover begins another
//   at_desk        changed_at of the version that the desk has; "" before that
//   refused        the desk's sentence, where it does not take this version
// All functions return a new record and leave the old one as it was.

export const DOUBLE_MS = 300;
export const LONGEST_HOVER_MS = 600_000; // after ten minutes nobody is still ending that hover (a choice, no source)
export const MOST_IN_A_FILE = 10_000;

/** A UUID of version 4 (RFC 9562); crypto.randomUUID is there on secure origins only, and this page works on others too. */
export function uuid() {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  bytes[6] = (bytes[6] & 0x0f) | 0x40;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return [hex.slice(0, 8), hex.slice(8, 12), hex.slice(12, 16), hex.slice(16, 20), hex.slice(20)].join("-");
}

export const instant = (ms) => new Date(ms).toISOString();
export const ms = (text) => Date.parse(text);

/** Words without what is no text: control characters, halves of characters, blanks around. */
export function tidy(words, longest) {
  const whole = words.replace(/[\p{Cc}\p{Cs}]+/gu, " ").trim();
  return [...whole].slice(0, longest).join("");
}

export function made(kind, atMs, device, picks, tap) {
  const { animal, site, stand, perch } = picks;
  return {
    id: uuid(), kind, at: instant(atMs), until: null, animal, site, stand, perch, note: "", undone: false,
    changed_at: instant(atMs), device,
    local: { tap, end_tap: null, why: "", spare_end: null, end_why: "", let_go: false, at_desk: "", refused: "" },
  };
}

/** A later version: its changed_at is later than that of the one before, whatever the clock says. */
export function changed(record, change, local = {}) {
  const at = Math.max(Date.now(), ms(record.changed_at) + 1);
  return { ...record, ...change, changed_at: instant(at), local: { ...record.local, refused: "", ...local } };
}

export const ended = (record, atMs, tap) =>
  changed(record, { until: instant(Math.max(atMs, ms(record.at))) }, { end_tap: tap, spare_end: null, end_why: "" });

/** A hover whose end nobody saw. The desk learns nothing new by that: a hover without an end is one cut off. */
export const letGo = (record) => ({ ...record, local: { ...record.local, let_go: true } });

/** Of two versions of one id, the later; what is known of the desk is kept from both. */
export function merged(one, other) {
  if (!one) return other;
  const newer = other.changed_at >= one.changed_at ? other : one;
  const at_desk = one.local.at_desk > other.local.at_desk ? one.local.at_desk : other.local.at_desk;
  return { ...newer, local: { ...newer.local, at_desk, let_go: one.local.let_go || other.local.let_go } };
}

export const isAtDesk = (record) => record.local.at_desk === record.changed_at;
export const isHovering = (record, nowMs) =>
  record.kind === "hover" && !record.undone && record.until === null && !record.local.let_go && nowMs - ms(record.at) < LONGEST_HOVER_MS;

/** All taps, the newest first. A hover that was ended is two of them. */
export function taps(records) {
  const found = [];
  for (const record of records) {
    found.push({ record, part: "start", place: record.local.tap, at: record.at, isOut: record.undone, why: record.local.why });
    const end = record.until ?? record.local.spare_end;
    if (end && !record.undone)
      found.push({ record, part: "end", place: record.local.end_tap, at: end, isOut: record.until === null, why: record.local.end_why });
  }
  return found.sort((one, other) => other.place - one.place);
}

/** The tap that "undo" is about: the newest one that counts; or the newest of all, where it was not counted of itself. */
export function undoable(records) {
  const all = taps(records);
  if (all[0]?.isOut && all[0].why) return all[0];
  return all.find((tap) => !tap.isOut) ?? null;
}

/** Take a tap back, or give it back. */
export function turned(tap) {
  const { record, part, isOut } = tap;
  if (part === "start") return changed(record, { undone: !isOut }, { why: "" });
  if (isOut) return changed(record, { until: record.local.spare_end }, { spare_end: null, end_why: "" });
  return changed(record, { until: null }, { spare_end: record.until, end_why: "" });
}

/** Not counted: a second tap within 300 ms, or a swipe. */
export function leftOut(record, part, why) {
  if (part === "start") return changed(record, { undone: true }, { why });
  return changed(record, { until: null }, { spare_end: record.until, end_why: why });
}

const FIELDS = ["id", "kind", "at", "until", "animal", "site", "stand", "perch", "note", "undone", "changed_at", "device"];

/** The document of the protocol. */
export function documentOf(records, device) {
  const moments = records.map((record) => Object.fromEntries(FIELDS.map((name) => [name, record[name]])));
  return { stillwing: "moments", version: 1, device, moments };
}

/** What a file may hold of many records: those that the desk lacks first, then the newest; in order of time. */
export function forFile(records) {
  const byNeed = [...records].sort((one, other) => isAtDesk(one) - isAtDesk(other) || other.local.tap - one.local.tap);
  return byNeed.slice(0, MOST_IN_A_FILE).sort((one, other) => (one.at < other.at ? -1 : 1));
}
