// What all readings tell by now: nets, conflicts, counts, and which reading would tell most next. The server works it
// out; without a link the page shows what it told last, and says of which readings that is.

import { boundShown, doneBy, placeOf, pointsOf } from "./contacts.js";
import { find, make, say, several } from "./page.js";
import { ask, NoLink, Refused } from "./server.js";

const PAUSE_MS = 100;
const NOT_THERE = 404;
const SHOWN_CONFLICTS = 5;

export class Knowledge {
  netOf = new Map(); // `END:contact` to the name of its net, where it has one
  nets = []; // those of more than one contact: {contacts, proof, proposed}
  proposals = [];
  actsLeft = 0;
  plannedOf = null; // the document that the proposals are for

  #told = null;
  #toldOf = 0;
  #timer = null;
  #asked = null;
  #hasPlans = true;
  #trouble = "";

  /** `drawn` is called when something new is known. */
  constructor(routes, seats, drawn) {
    Object.assign(this, { routes, seats, drawn });
    this.again = () => this.document && this.ask(this.document);
    addEventListener("online", this.again);
  }

  stop() {
    clearTimeout(this.#timer);
    this.#asked?.abort();
    removeEventListener("online", this.again);
  }

  /** The readings changed: work out anew what they tell. */
  ask(document) {
    this.document = document;
    clearTimeout(this.#timer);
    this.#asked?.abort();
    this.#timer = setTimeout(() => this.#askBoth(document), PAUSE_MS);
  }

  /** Show what is known of these readings. */
  draw({ readings }) {
    find("computed").hidden = !this.#trouble && (!this.#told || this.#toldOf === readings.length);
    say(find("computed"), this.#trouble || `This is of ${this.#of()}; the rest is being worked out.`);
    if (this.#told) {
      this.#drawCounts(this.#told);
      this.#drawNets(this.#told);
      this.#drawConflicts(this.#told, readings);
    }
  }

  async #askBoth(document) {
    const asked = new AbortController();
    this.#asked = asked;
    // Probe points in an opening are no contacts, so that nets of the ends say nothing of them.
    const readings = document.readings.filter((reading) => pointsOf(reading).every((point) => this.seats.has(point)));
    const { ends, meter } = document;
    const body = JSON.stringify({ ends, ...(meter ? { meter } : {}), readings });
    const { signal } = asked;
    const inferred = readings.length ? ask("POST", this.routes.inferences, { body, signal }) : this.#nothingYet();
    await Promise.all([this.#infer(inferred, document), this.#plan(body, document, signal)]);
  }

  // Without readings there is nothing to infer from, and the server says so.
  async #nothingYet() {
    const contacts = [...this.seats.keys()];
    const total = (contacts.length * (contacts.length - 1)) / 2;
    return {
      nets: contacts.map((contact) => ({ contacts: [contact] })),
      pairs: { joined: 0, apart: 0, undecided: total, total },
      conflicts: [],
      conflicts_total: 0,
      suspects: {},
    };
  }

  async #infer(inferred, document) {
    try {
      this.#told = await inferred;
      [this.#toldOf, this.#trouble] = [document.readings.length, ""];
      this.nets = this.#told.nets.filter((net) => net.contacts.length > 1);
      this.netOf = new Map(this.nets.flatMap((net) => net.contacts.map((contact) => [contact, net.proposed.name])));
    } catch (error) {
      if (error.name === "AbortError") return;
      this.#trouble = this.#sorry(error);
    }
    this.drawn();
  }

  async #plan(body, document, signal) {
    if (!this.#hasPlans) return;
    try {
      const plan = await ask("POST", this.routes.plans, { body, signal });
      [this.proposals, this.actsLeft, this.plannedOf] = [plan.next ?? [], plan.acts_left ?? 0, document];
    } catch (error) {
      if (error.name === "AbortError") return;
      // A proposal for other readings than these would send the probes to the wrong place.
      [this.proposals, this.actsLeft] = [[], 0];
      this.#hasPlans = error.status !== NOT_THERE;
    }
    this.drawn();
  }

  #sorry(error) {
    if (!(error instanceof Refused || error instanceof NoLink)) throw error;
    const what = error instanceof Refused ? error.message : "No link, so what the readings tell cannot be worked out.";
    return `${what} Go on measuring; nothing is lost.${this.#told ? ` Below is what ${this.#of()} told.` : ""}`;
  }

  #of() {
    return several(this.#toldOf, "reading");
  }

  #drawCounts({ pairs: { joined, apart, undecided, total } }) {
    const decided = joined + apart;
    const share = (count) => String(total ? (100 * count) / total : 0);
    find("progress").querySelector(".progress-joined").setAttribute("width", share(joined));
    const rest = find("progress").querySelector(".progress-apart");
    rest.setAttribute("x", share(joined));
    rest.setAttribute("width", share(apart));
    const still = undecided ? `${undecided} not known yet` : "all is decided";
    const known = `${decided} of ${several(total, "pair")} of contacts`;
    say(find("counts"), `${known}: ${joined} joined, ${apart} apart; ${still}.`);
  }

  #drawNets({ nets }) {
    const alone = nets.length - this.nets.length;
    find("nets").replaceChildren(...this.nets.map((net) => make(
      "li",
      {},
      make("b", {}, net.proposed.name),
      make("span", { class: "net-contacts" }, ` ${net.contacts.join(" ")} `),
      make("span", { class: "quiet" }, `by ${net.proof.slice(0, 8).join(", ")}${net.proof.length > 8 ? " …" : ""}`),
    )));
    say(find("alone"), alone ? `${several(alone, "contact")} joined to none yet.` : "");
  }

  #drawConflicts({ conflicts, conflicts_total: total, suspects }, readings) {
    const byId = new Map(readings.map((reading) => [reading.id, reading]));
    const told = conflicts.map((conflict) => conflict.reading);
    const first = [...(suspects.in_every ?? []), ...(suspects.smallest ?? []), ...told].find((id) => byId.has(id));
    find("conflicts").hidden = !total || !first;
    if (!total || !first) return;
    const reading = byId.get(first);
    const [where, what] = [placeOf(reading), doneBy(reading)];
    say(find("conflicts-first"), `Measure ${first} again first: ${where}, where you read ${what}.`);
    find("again").dataset.reading = first;
    const why = conflicts.slice(0, SHOWN_CONFLICTS).map(({ witness }) => make("li", {}, this.#why(witness)));
    find("conflicts-why").replaceChildren(...why);
  }

  #why(witness) {
    const says = ({ reading, from, to, limit, ohms }) => `${reading}: ${from} to ${to} is ${boundShown(limit, ohms)}`;
    return `${witness.map(says).join("; ")}.`;
  }
}
