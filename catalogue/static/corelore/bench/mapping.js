// One open session: what is picked, and what becomes of each answer of the meter.
//
// A reading goes to the browser's store before anything else is done with it; then it is sent, and what all readings
// tell is asked anew. The page is drawn from three things alone: the session, the pick, and the last knowledge.

import { againFrom, doneBy, lineFrom, placeOf, pointsOf, resultFrom, runBetween, seatsOf } from "./contacts.js";
import { Faces, facesOf } from "./faces.js";
import { Finish } from "./finish.js";
import { drawKept } from "./kept.js";
import { Knowledge } from "./knowledge.js";
import { button, find, make, mark, say, several } from "./page.js";
import { Sender } from "./sending.js";
import { ask } from "./server.js";
import * as sessions from "./sessions.js";

const SHOWN_READINGS = 30;
const SHOWN_DEFECTS = 5;
const JOIN_OHMS = 10; // what a map document takes where its meter says nothing else

const NOTHING_PICKED = { red: null, black: [], runStart: null, again: null };

export class Mapping {
  // `runStart` is the first contact of a run whose last is not picked yet; `again` the reading measured again.
  #pick = NOTHING_PICKED;
  #isSweep = false;
  #isTyping = false; // the pick came from the field, so the next one will too
  #isLed = false; // the pick came from a proposal, so the next one will too
  #showsAll = false;
  #roomless = "";
  #common = null; // the document as this tab and the browser's store last had it alike

  /** Open a session. `standard` maps standard connectors to their rows. Throws an Error for ends it cannot show. */
  constructor(session, routes, standard) {
    Object.assign(this, { session, routes });
    const { ends } = session.document;
    this.faces = facesOf(ends, standard);
    this.seats = seatsOf(this.faces);
    this.board = new Faces(find("faces"), ends, this.faces, (point) => this.tap(point));
    this.knowledge = new Knowledge(routes, this.seats, () => this.#drawKnowledge());
    this.sender = new Sender({
      address: routes.drafts,
      isSignedIn: Boolean(routes.user),
      session: () => this.session,
      keep: () => this.#keep(),
      tell: () => this.#drawKept(),
      taken: () => this.follow(this.session, "This session was changed elsewhere. Its readings are here now."),
    });
    this.finish = new Finish(routes, this);
    say(find("typed-sample"), this.#sample());
    this.#changed();
  }

  close() {
    this.sender.stop();
    this.knowledge.stop();
  }

  // What the person does

  /** A contact is tapped: the red probe first, then the black one; in a sweep the source, then both ends of the run. */
  tap(point) {
    const { red, black, runStart } = this.#pick;
    [this.#isTyping, this.#isLed] = [false, false];
    if (!red) this.#pick = { ...NOTHING_PICKED, red: point };
    else if (point === red && !runStart) this.#pick = NOTHING_PICKED;
    else if (!this.#isSweep) this.#pick = { ...NOTHING_PICKED, red, black: black[0] === point ? [] : [point] };
    else if (!runStart) this.#pick = { ...NOTHING_PICKED, red, runStart: point };
    else this.#pickRun(point);
    this.#drawPick();
  }

  /** The line in the field: two contacts, and perhaps what the meter did. */
  type(text) {
    const field = find("typed");
    mark(field, "");
    const [id, did] = againFrom(text);
    try {
      if (this.#reading(id)) {
        this.#retype(id, did);
        return;
      }
      const line = lineFrom(text, this.faces, this.seats);
      this.pick(line.red, line.black, line.isSweep);
      this.#isTyping = true;
      field.value = "";
      if (line.result) this.answer(line.result);
      else find("answer").focus({ preventScroll: true });
    } catch (error) {
      mark(field, error.message);
      field.focus();
    }
  }

  /** `r17`: a reading to measure again; or `r17 b`, what it is now. */
  #retype(id, did) {
    const result = did ? resultFrom(did) : null;
    this.measureAgain(id);
    this.#isTyping = true;
    find("typed").value = "";
    if (result) this.answer(result);
  }

  pick(red, black, isSweep, again = null) {
    this.#pick = { red, black, runStart: null, again };
    [this.#isSweep, this.#isTyping, this.#isLed] = [isSweep, false, false];
    this.#drawPick();
    this.board.show(black[0]);
    this.board.show(red);
  }

  letGo() {
    if (this.#isTyping || this.#isLed || this.#pick.again) this.#isSweep = false;
    [this.#pick, this.#isLed] = [NOTHING_PICKED, false];
    this.#drawPick();
  }

  toggleSweep() {
    this.#isSweep = !this.#isSweep;
    this.#pick = { ...NOTHING_PICKED, red: this.#pick.red };
    this.#drawPick();
    this.#tell(this.#isSweep ? "Sweep: pick the source, then first and last of the run." : "Pair by pair again.");
  }

  measureAgain(id) {
    const reading = this.#reading(id);
    if (!reading) return;
    this.pick(reading.red, [reading.black].flat(), reading.mode === "sweep", id);
    find("answer").focus({ preventScroll: true });
    this.#tell(`Measure ${id} again: ${placeOf(reading)}.`);
  }

  takeProposal() {
    const next = this.#proposal();
    if (!next) return;
    this.pick(next.red, [next.black].flat(), next.mode === "sweep");
    this.#isLed = true;
    find("answer").focus({ preventScroll: true });
  }

  /** The meter answered. `result` are the fields of a reading that say what it did. */
  answer(result) {
    if (!this.#isPicked()) {
      this.#tell(this.#isSweep ? "Pick the source and both ends of the run first." : "Pick two contacts first.");
    } else if (this.#isSweep && result.mode !== "beep") {
      this.#tell("A sweep only beeps or does not. For a value, pick two contacts.");
    } else {
      const told = this.#record(result);
      // The red probe stays where it is while its partner is looked for.
      const isFound = result.beeps || result.ohms <= (this.session.document.meter?.join_ohms ?? JOIN_OHMS);
      const staysRed = !this.#isLed && (this.#isSweep || !isFound);
      // A sweep that was typed, proposed or repeated leaves the person in no other mode than they were.
      if (this.#isTyping || this.#isLed || this.#pick.again) this.#isSweep = false;
      this.#pick = { ...NOTHING_PICKED, red: staysRed ? this.#pick.red : null };
      this.#changed();
      this.#tell(told);
      if (this.#isTyping) find("typed").focus();
    }
  }

  skip() {
    if (!this.#isPicked()) {
      this.#tell("Pick two contacts first; then they can be skipped.");
      return;
    }
    const place = placeOf(this.#pick);
    sessions.change(this.session, `skipped ${place}`, {}, [...this.session.skipped, keyOf(this.#pick)]);
    this.#pick = NOTHING_PICKED;
    this.#changed();
    this.#tell(`Skipped ${place}. It is not proposed again in this session.`);
  }

  undo() {
    const what = sessions.undo(this.session);
    this.#changed();
    this.#tell(what ? `Taken back: ${what}.` : "There is nothing to take back.");
  }

  takeOut(id) {
    const reading = this.#reading(id);
    sessions.change(this.session, `${id} was taken out`, { [id]: null });
    this.#changed();
    this.#tell(`${id} is taken out: ${placeOf(reading)}, ${doneBy(reading)}. Undo brings it back.`);
    find("undo").focus({ preventScroll: true });
  }

  /** Add a list of readings as CSV, which the server reads. */
  async paste(text) {
    const field = find("csv");
    mark(field, "");
    try {
      const read = await ask("POST", this.routes.readings, { body: text, type: "text/csv" });
      const lineOf = new Map(read.readings.map((reading, index) => [reading, `line ${read.lines[index]}`]));
      const strange = read.readings.filter((reading) => !this.#isHere(reading)).map((reading) => lineOf.get(reading));
      const wrong = [
        ...read.defects.map(({ where, message, remedy }) => `${where}: ${message}. ${remedy}`),
        ...strange.map((where) => `${where}: these ends have no such contact.`),
      ];
      const count = this.#add(read.readings.filter((reading) => this.#isHere(reading)));
      this.#tell(`${several(count, "reading")} added.`);
      mark(field, wrong.length ? `Not read, and left above: ${wrong.slice(0, SHOWN_DEFECTS).join(" ")}` : "");
      // What was added is taken out of the list, so that nobody adds it twice.
      const left = new Set([...read.defects.map(({ where }) => where), ...strange]);
      const lines = text.split("\n").filter((_, index) => index === 0 || left.has(`line ${index + 1}`));
      if (count) field.value = wrong.length ? lines.join("\n") : "";
    } catch (error) {
      mark(field, error.message || "There is no link now. What you pasted stays here; add it when the link is back.");
    }
  }

  /** Keep changes to the document that are no readings, such as the name of the cable. */
  rename(cable) {
    this.session.document = { ...this.session.document, cable };
    this.#keep();
    this.#drawTitle();
    this.sender.nudge();
  }

  /** Keep what somebody calls the net of this contact, until the map is submitted. */
  nameNet(contact, name) {
    this.session.names = { ...this.session.names, [contact]: name };
    this.#keep();
  }

  /** The session was changed outside: in another tab, on another device, or by settling two writings. */
  follow(session, said) {
    this.session = session;
    this.#common = session.document;
    this.#inform();
    this.#tell(said);
  }

  throwAway() {
    const count = several(this.session.document.readings.length, "reading");
    if (!confirm(`Throw this session away, with ${count}? This cannot be taken back.`)) return;
    this.sender.throwAway().then(
      () => {
        this.forget();
        location.assign(this.routes.bench);
      },
      () => this.#tell("Your account could not be told now, so the session stays. Try again when the link is back."),
    );
  }

  /** The session has ended: this browser need not keep it. */
  forget() {
    this.close();
    sessions.remove(this.session);
  }

  // What becomes of it

  #isPicked() {
    return Boolean(this.#pick.red && this.#pick.black.length);
  }

  #pickRun(last) {
    const { red, runStart } = this.#pick;
    this.#pick = { ...NOTHING_PICKED, red };
    try {
      const run = runBetween(this.faces, this.seats, runStart, last);
      if (run.includes(red)) throw new Error(`${red} is in the run itself. Begin behind it, or end before it.`);
      this.#pick = { ...this.#pick, black: run };
    } catch (error) {
      this.#tell(error.message);
    }
  }

  // A reading measured again takes the place of the old one where the meter says otherwise now. Where it says the
  // same, it is a second witness.
  #record(result) {
    const { red, black, again } = this.#pick;
    const fresh = this.#isSweep ? { red, black, ...result, mode: "sweep" } : { red, black: black[0], ...result };
    const old = this.#reading(again);
    const isOther = old && (old.mode !== fresh.mode || doneBy(old) !== doneBy(fresh));
    const id = isOther ? again : `r${sessions.nextNumber(this.session.document)}`;
    const what = `${id}, ${placeOf(fresh)}: ${doneBy(fresh)}`;
    sessions.change(this.session, what, { [id]: { id, ...fresh } });
    return isOther ? `${id} corrected: ${placeOf(fresh)}: ${doneBy(fresh)}, not ${doneBy(old)}.` : `${what}.`;
  }

  #add(readings) {
    const first = sessions.nextNumber(this.session.document);
    const added = readings.map((reading, index) => ({ ...reading, id: `r${first + index}` }));
    if (added.length) {
      const byId = Object.fromEntries(added.map((reading) => [reading.id, reading]));
      sessions.change(this.session, `a list of ${several(added.length, "reading")}`, byId);
      this.#changed();
    }
    return added.length;
  }

  #reading(id) {
    return this.session.document.readings.find((reading) => reading.id === id);
  }

  #isHere(reading) {
    return pointsOf(reading).every((point) => this.seats.has(point));
  }

  #proposal() {
    const skipped = new Set(this.session.skipped);
    return this.knowledge.proposals.find((next) => !skipped.has(keyOf(next)));
  }

  #changed() {
    this.#keep();
    this.#inform();
  }

  #inform() {
    this.sender.nudge();
    this.knowledge.ask(this.session.document);
    this.#drawTitle();
    this.#drawReadings();
    this.#drawKnowledge();
  }

  #keep() {
    try {
      sessions.save(this.session);
      this.#roomless = "";
    } catch (error) {
      if (error instanceof sessions.WrittenElsewhere) this.#putTogether();
      else this.#roomless = "This browser has no room for the session, so it is lost when the page closes. ";
    }
    this.#common = this.session.document;
    window.onbeforeunload = this.#roomless ? (event) => event.preventDefault() : null;
  }

  // Another tab of this browser wrote, and its word came too late.
  #putTogether() {
    const theirs = sessions.load(this.session.key);
    theirs.document = sessions.together(this.#common ?? theirs.document, this.session.document, theirs.document);
    theirs.names = { ...theirs.names, ...this.session.names };
    sessions.save(theirs);
    this.session = theirs;
    this.#tell("Another tab changed this session too. The readings of both are here now.");
  }

  // What is shown

  #sample() {
    const points = [...this.seats.keys()];
    const firsts = [...this.faces.keys()].map((end) => points.find((point) => point.startsWith(`${end}:`)));
    return [...new Set([...firsts.filter(Boolean), ...points])].slice(0, 2).join(" ");
  }

  #drawTitle() {
    const { cable = {}, ends } = this.session.document;
    const name = [cable.maker, cable.model].filter(Boolean).join(" ") || ends.map((end) => end.name).join(" to ");
    say(find("bench-title"), `Bench: ${name}`);
    document.title = `${name} – Bench – Corelore`;
  }

  #drawKept() {
    drawKept(this.session, this.sender, this.routes, this.#roomless, (said) => this.follow(this.session, said));
  }

  #drawPick() {
    const { red, black, runStart } = this.#pick;
    this.board.mark(this.knowledge.netOf, red, runStart ? [runStart] : black);
    find("sweep").setAttribute("aria-pressed", String(this.#isSweep));
    say(find("chosen"), this.#isSweep ? this.#sweepInWords() : this.#pairInWords());
  }

  #pairInWords() {
    const { red, black } = this.#pick;
    if (!red) return "Pick a contact for the red probe.";
    if (!black.length) return `Red on ${red}. Pick one for the black probe.`;
    return `Red on ${red}, black on ${black[0]}.${this.#before()}`;
  }

  #sweepInWords() {
    const { red, black, runStart } = this.#pick;
    if (!red) return "Sweep: pick the source.";
    if (runStart) return `Red on ${red}, run from ${runStart}. Pick its last contact.`;
    if (!black.length) return `Red on ${red}. Pick the first contact of the run.`;
    return `Red on ${red}, drag black along ${black[0]} to ${black.at(-1)}.${this.#before()}`;
  }

  #before() {
    if (this.#pick.again) return ` ${this.#pick.again} again.`;
    const key = keyOf(this.#pick);
    const alike = this.session.document.readings.filter((reading) => keyOf(reading) === key);
    const before = alike.map((reading) => `${reading.id} ${doneBy(reading)}`).join(", ");
    return before && ` Read before: ${before}.`;
  }

  #drawReadings() {
    const { readings } = this.session.document;
    const shown = this.#showsAll ? readings : readings.slice(-SHOWN_READINGS);
    find("readings").replaceChildren(...shown.map((reading) => this.#entry(reading)).reverse());
    find("no-readings").hidden = readings.length > 0;
    const all = find("all-readings");
    all.hidden = shown.length === readings.length;
    say(all, `Show all ${readings.length}`);
    all.onclick = () => {
      this.#showsAll = true;
      this.#drawReadings();
    };
  }

  #entry(reading) {
    const { id } = reading;
    const done = [make("b", {}, doneBy(reading)), reading.flexed ? ", flexed" : ""];
    return make(
      "li",
      {},
      make("span", { class: "reading" }, make("b", {}, id), ` ${placeOf(reading)}: `, ...done),
      button("Again", () => this.measureAgain(id), { class: "plain", "aria-label": `Again: measure ${id}` }),
      button("Take out", () => this.takeOut(id), { class: "plain", "aria-label": `Take out ${id}` }),
    );
  }

  #drawKnowledge() {
    this.knowledge.draw(this.session.document);
    this.#drawProposal();
    if (this.#isLed && !this.#pick.red && this.knowledge.plannedOf === this.session.document) this.takeProposal();
    this.#drawPick();
    this.finish.draw(this.knowledge.nets);
  }

  #drawProposal() {
    const next = this.#proposal();
    const areAllSkipped = !next && this.knowledge.proposals.length > 0;
    find("proposal").hidden = !next && !areAllSkipped;
    find("take").hidden = !next;
    if (areAllSkipped) say(find("proposal-act"), "You skipped all that is proposed. Undo brings it back.");
    else if (next) say(find("proposal-act"), this.#actInWords(next));
    const tells = [["Beeps", next?.if_yes], ["No beep", next?.if_no]].filter(([, outcome]) => outcome?.text);
    find("proposal-tells").replaceChildren(
      ...tells.map(([word, { text }]) => make("li", {}, make("b", {}, `${word}: `), text)),
    );
  }

  #actInWords({ mode, red, black }) {
    const points = [black].flat();
    const act = mode === "sweep" ? `drag black along ${points[0]} to ${points.at(-1)}` : `black on ${points[0]}`;
    const left = this.knowledge.actsLeft;
    return `Red on ${red}, ${act}.${left ? ` About ${several(left, "reading")} to go.` : ""}`;
  }

  #tell(text) {
    say(find("said"), text);
  }
}

// The same two points, or the same source and run, have the same key whichever probe is where.
function keyOf({ red, black }) {
  const points = [black].flat();
  return points.length > 1 ? `${red} ${[...points].sort().join(" ")}` : [red, ...points].sort().join(" ");
}
