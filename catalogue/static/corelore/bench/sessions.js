// Sessions as this browser keeps them: every reading at once, so that neither a reload nor a lost link takes any.
//
// A session is {key, owner, stamp, changedAt, document, names, skipped, past, draft}. `document` is the map document in
// work; `names` are what nets are called, by a contact of each; `past` holds what undo needs; `draft` is {id, version,
// base}, base being the document as the server has it, or null where no account keeps it.

const PREFIX = "corelore bench ";
const MOST_UNDONE = 50;

/** Another tab wrote the session since this one read it. */
export class WrittenElsewhere extends Error {}

export function newSession(owner, document) {
  return { key: chance(), owner, stamp: "", changedAt: Date.now(), document, names: {}, skipped: [], past: [], draft: null };
}

/** A draft's text as a document to work on. Throws an Error that says why it is none. */
export function documentFrom(text) {
  const document = JSON.parse(text);
  const { ends, readings = [] } = document;
  const areEnds = Array.isArray(ends) && ends.length && ends.every(isEnd);
  const areReadings = Array.isArray(readings) && readings.every(isReading);
  if (!areEnds || !areReadings) throw new Error("Its ends or its readings cannot be read.");
  return { ...document, readings };
}

function isEnd(end) {
  return end && isText(end.name) && isText(end.connector);
}

function isReading(reading) {
  return reading && isText(reading.id) && isText(reading.red) && [reading.black].flat().every(isText);
}

function isText(value) {
  return typeof value === "string";
}

/** The session of a draft of the account, as the server told it. */
export function sessionOfDraft(owner, { id, version, text }) {
  const document = documentFrom(text);
  return { ...newSession(owner, document), draft: { id, version, base: document } };
}

/** The sessions that this person may see, last changed first: their own, and those that nobody has signed for. */
export function sessionsOf(owner) {
  const keys = Array.from({ length: localStorage.length }, (_, index) => localStorage.key(index));
  const sessions = keys.filter((key) => key.startsWith(PREFIX)).map((key) => load(key.slice(PREFIX.length)));
  const seen = sessions.filter((session) => session && (!session.owner || session.owner === owner));
  return seen.sort((a, b) => b.changedAt - a.changedAt);
}

/** The session as it is kept by now, or null. */
export function load(key) {
  try {
    const session = JSON.parse(localStorage.getItem(PREFIX + key));
    return session?.document && session.key === key ? session : null;
  } catch {
    return null;
  }
}

/** Keep the session. Throws WrittenElsewhere, or what the browser throws when it has no room. */
export function save(session) {
  const kept = load(session.key);
  if (kept && kept.stamp !== session.stamp) throw new WrittenElsewhere();
  const before = [session.stamp, session.changedAt];
  [session.stamp, session.changedAt] = [chance(), Date.now()];
  try {
    localStorage.setItem(PREFIX + session.key, JSON.stringify(session));
  } catch (error) {
    [session.stamp, session.changedAt] = before;
    throw error;
  }
}

export function remove(session) {
  localStorage.removeItem(PREFIX + session.key);
}

/** Whether an event of the browser's store is about this session. */
export function isAbout(event, session) {
  return event.key === PREFIX + session.key;
}

/** Change readings, and keep what they were for undo. `after` maps ids to readings, or to null to take one out. */
export function change(session, what, after, skipped = null) {
  const readings = session.document.readings;
  const before = Object.fromEntries(
    Object.keys(after).map((id) => [id, readings.find((reading) => reading.id === id) ?? null]),
  );
  session.past = [...session.past, { what, before, skipped: skipped && session.skipped }].slice(-MOST_UNDONE);
  if (skipped) session.skipped = skipped;
  put(session, after);
}

/** Take the last change back; what it was, or null. */
export function undo(session) {
  const last = session.past.at(-1);
  if (!last) return null;
  session.past = session.past.slice(0, -1);
  if (last.skipped) session.skipped = last.skipped;
  put(session, last.before);
  return last.what;
}

function put(session, after) {
  const readings = session.document.readings;
  const known = new Set(readings.map((reading) => reading.id));
  const kept = readings.map((reading) => (reading.id in after ? after[reading.id] : reading));
  const added = Object.entries(after).filter(([id]) => !known.has(id)).map(([, reading]) => reading);
  session.document = { ...session.document, readings: [...kept, ...added].filter(Boolean) };
}

/** The number for the next reading: one more than the highest in use. */
export function nextNumber(document) {
  const numbers = document.readings.map((reading) => Number(/^r([0-9]{1,9})$/.exec(reading.id)?.[1] ?? 0));
  return Math.max(0, ...numbers) + 1;
}

/** How many readings the server does not have yet, or has and should not; 1 when only something else differs. */
export function unsent(session) {
  const base = session.draft?.base;
  if (base === session.document) return 0;
  const [here, there] = [byId(session.document), byId(base ?? {})];
  const ids = new Set([...Object.keys(here), ...Object.keys(there)]);
  const count = [...ids].filter((id) => !same(here[id], there[id])).length;
  return count || (same(session.document, base) ? 0 : 1);
}

/** Both documents put together: theirs, with what was added, changed and taken out here since `base`. Where both
 * gave one id to different readings, the one from here gets a new id. */
export function together(base, mine, theirs) {
  const [old, here, there] = [base, mine, theirs].map(byId);
  let readings = theirs.readings.filter((reading) => here[reading.id] || !same(old[reading.id], reading));
  const joined = { ...theirs, ...(same(base.cable, mine.cable) ? {} : { cable: mine.cable }) };
  for (const reading of mine.readings) {
    if (same(reading, old[reading.id]) || same(reading, there[reading.id])) continue;
    if (same(old[reading.id], there[reading.id]) && there[reading.id]) {
      readings = readings.map((other) => (other.id === reading.id ? reading : other));
    } else {
      const id = there[reading.id] ? `r${nextNumber({ readings: [...readings, ...mine.readings] })}` : reading.id;
      readings = [...readings, { ...reading, id }];
    }
  }
  return { ...joined, readings };
}

export function same(one, other) {
  return JSON.stringify(one) === JSON.stringify(other);
}

function byId(document) {
  return Object.fromEntries((document.readings ?? []).map((reading) => [reading.id, reading]));
}

// Not crypto.randomUUID, which browsers keep from pages that come without TLS.
function chance() {
  return Array.from(crypto.getRandomValues(new Uint32Array(2)), (number) => number.toString(36)).join("");
}
