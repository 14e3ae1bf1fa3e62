// Sends a session to the account, over and over until the server has all of it. A version that was written elsewhere
// is never overwritten: it is shown, and the person says what becomes of both.

import { ask, NoLink, Refused } from "./server.js";
import { documentFrom, same, together, unsent } from "./sessions.js";

const PAUSE_MS = 250;
const LONGEST_WAIT_MS = 30_000;
const NOTHING = Object.freeze({ readings: [] });
const [NOT_SIGNED_IN, FORBIDDEN, NOT_THERE, CHANGED_ELSEWHERE] = [401, 403, 404, 412];

/** What the server has of a session. `problem` and `theirs` come with the state they belong to. */
export const State = Object.freeze({
  HERE: "here", // nobody is signed in: only this browser keeps it
  SENT: "sent",
  WAITING: "waiting", // not sent yet, or being sent
  NO_LINK: "no link", // tried in vain; tried again by itself
  SIGNED_OUT: "signed out",
  STALE: "stale", // `theirs` was written elsewhere meanwhile
  GONE: "gone", // submitted or thrown away elsewhere
  REFUSED: "refused", // `problem` says why the server does not take it
});

export class Sender {
  #timer = null;
  #wait = 0;
  #stopped = false;
  #hasLooked = false;

  /** `session` gives the session as it is now, `keep` keeps it, `tell` is called when the state changes, and `taken`
   * when the session was replaced by what was written elsewhere. */
  constructor({ address, isSignedIn, session, keep, tell, taken }) {
    Object.assign(this, { address, isSignedIn, session, keep, tell, taken });
    this.state = isSignedIn ? State.WAITING : State.HERE;
    this.again = () => this.nudge();
    addEventListener("online", this.again);
  }

  /** Something may have changed: send it soon. */
  nudge() {
    if (this.#stopped || !this.isSignedIn || [State.STALE, State.GONE].includes(this.state)) {
      this.tell();
    } else {
      this.#set(this.state === State.NO_LINK ? State.NO_LINK : State.WAITING);
      this.#later(PAUSE_MS);
    }
  }

  /** Look whether somebody wrote elsewhere, such as on another device. */
  look() {
    this.#hasLooked = false;
    this.nudge();
  }

  /** Stop for good: the session was submitted or left. */
  stop() {
    this.#stopped = true;
    clearTimeout(this.#timer);
    removeEventListener("online", this.again);
  }

  /** Throw the draft away, as far as the account has one. */
  async throwAway() {
    const { key, draft } = this.session();
    clearTimeout(this.#timer);
    await alone(key, async () => {
      if (draft) await ask("DELETE", this.#addressOf(draft), { version: draft.version }).catch(unlessGone);
    });
  }

  /** Resolves when the server has everything, or throws what hinders it. */
  async flush() {
    clearTimeout(this.#timer);
    await alone(this.session().key, () => this.#send());
  }

  /** Take what was written elsewhere for read, and go on with `document`. */
  settle(document, theirs) {
    const session = this.session();
    session.document = document;
    session.draft = theirs && { id: session.draft.id, version: theirs.version, base: theirs.document };
    this.state = State.WAITING;
    this.keep();
    this.nudge();
  }

  #later(milliseconds) {
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.#try(), milliseconds);
  }

  async #try() {
    try {
      await this.flush();
      this.#wait = 0;
    } catch (error) {
      this.#failed(error);
    }
  }

  #failed(error) {
    if (this.#stopped) return;
    if (error instanceof NoLink) {
      this.#wait = Math.min(LONGEST_WAIT_MS, Math.max(1000, this.#wait * 2));
      this.#set(State.NO_LINK);
      this.#later(this.#wait);
    } else if (error instanceof Refused) {
      this.problem = error.message;
      this.#set([NOT_SIGNED_IN, FORBIDDEN].includes(error.status) ? State.SIGNED_OUT : State.REFUSED);
    } else if (!(error instanceof Unsettled)) {
      throw error;
    }
  }

  async #send() {
    if (this.session().draft && !this.#hasLooked) await this.#meet(this.session().draft);
    this.#hasLooked = true;
    while (!this.#stopped && (!this.session().draft || unsent(this.session()))) {
      const sent = this.session().document;
      const draft = this.session().draft;
      const answer = draft ? await this.#write(draft, sent) : await this.#begin(sent);
      if (!answer) continue;
      this.session().draft = { id: answer.id, version: answer.version, base: sent };
      this.keep();
    }
    if (!this.#stopped) this.#set(State.SENT);
  }

  // Where the session was begun before, but the answer was lost, its draft comes back with the text that it has.
  async #begin(sent) {
    const session = this.session();
    const { id, version, text } = await ask("POST", this.address, { ...asBody(sent), key: session.key });
    if (text === undefined) return { id, version };
    // As long as nobody else wrote, all that is there came from here; else nothing of it is known.
    session.draft = version === 1 ? { id, version, base: documentFrom(text) } : { id, version: 0, base: NOTHING };
    this.keep();
    return null;
  }

  async #write(draft, sent) {
    try {
      return await ask("PUT", this.#addressOf(draft), { ...asBody(sent), version: draft.version });
    } catch (error) {
      if (error.status === NOT_THERE) throw this.#unsettled(State.GONE);
      if (error.status !== CHANGED_ELSEWHERE) throw error;
      return this.#meet(draft);
    }
  }

  // Take over what was written elsewhere, where that is no question; else the person has to say.
  async #meet(draft) {
    const { text, version } = await ask("GET", this.#addressOf(draft)).catch((error) => {
      throw error.status === NOT_THERE ? this.#unsettled(State.GONE) : error;
    });
    if (version === draft.version) return;
    const theirs = { document: documentFrom(text), version };
    const session = this.session();
    const isNothingMine = same(draft.base, session.document);
    // An answer that was lost on the way, for one, left there what is here too.
    const isNothingNew = same(together(draft.base, session.document, theirs.document), session.document);
    if (!isNothingMine && !isNothingNew) throw this.#unsettled(State.STALE, theirs);
    session.draft = { id: draft.id, version, base: theirs.document };
    if (!isNothingNew) session.document = theirs.document;
    this.keep();
    if (!isNothingNew) this.taken();
  }

  #addressOf(draft) {
    return `${this.address}${draft.id}/`;
  }

  #unsettled(state, theirs = null) {
    this.theirs = theirs;
    this.#set(state);
    return new Unsettled();
  }

  #set(state) {
    this.state = state;
    this.tell();
  }
}

/** The person has to say first what becomes of both writings. */
export class Unsettled extends Error {}

function unlessGone(error) {
  if (error.status !== NOT_THERE) throw error;
}

function asBody(document) {
  return { body: JSON.stringify(document) };
}

// One tab sends at a time, where the browser can see to it; where it cannot, the version does.
function alone(name, act) {
  return navigator.locks ? navigator.locks.request(`corelore bench ${name}`, act) : act();
}
