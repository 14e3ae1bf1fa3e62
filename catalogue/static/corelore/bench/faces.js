// The mating faces as grids of contacts to tap. Tab goes from face to face, the arrows from contact to contact.

import { make } from "./page.js";

const MIRRORED = { plug: "receptacle", receptacle: "plug" };
const STEPS = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowUp: [-1, 0], ArrowDown: [1, 0] };

/** The faces of a document's ends: a Map from the name of an end to its rows, as seen looking into the mating face.
 *
 * `standard` maps the key of a connector to its rows and the form they are seen of; the other form is its mirror
 * image. Throws an Error for a connector that nobody knows. */
export function facesOf(ends, standard) {
  return new Map(ends.map((end) => {
    if (end.connector === "custom") return [end.name, (end.rows ?? []).map((row) => row.map((seat) => seat ?? ""))];
    const known = standard.get(end.connector);
    if (!known) throw new Error(`The connector ${end.connector} is not known here.`);
    const isMirrored = MIRRORED[known.form] === end.form;
    return [end.name, known.rows.map((row) => (isMirrored ? [...row].reverse() : row))];
  }));
}

export class Faces {
  #contacts = new Map();

  /** Draw the faces into `place`; `tapped` is called with `END:contact`. */
  constructor(place, ends, faces, tapped) {
    place.replaceChildren(...ends.map((end) => this.#face(end, faces.get(end.name))));
    place.onclick = (event) => {
      const contact = event.target.closest("[data-point]");
      if (contact) {
        this.#rove(contact);
        tapped(contact.dataset.point);
      }
    };
    place.onkeydown = (event) => this.#step(event);
  }

  /** Show on every contact its net, where it has one, and which probe is there. */
  mark(netOf, red, black) {
    for (const [point, contact] of this.#contacts) {
      const probe = point === red ? "red" : black.includes(point) ? "black" : "";
      const net = netOf.get(point) ?? "";
      contact.classList.toggle("is-red", probe === "red");
      contact.classList.toggle("is-black", probe === "black");
      contact.classList.toggle("is-joined", Boolean(net));
      contact.setAttribute("aria-pressed", String(Boolean(probe)));
      const words = [point, net && `net ${net}`, probe && `${probe} probe`];
      contact.setAttribute("aria-label", words.filter(Boolean).join(", "));
      contact.lastChild.textContent = probe || net;
    }
  }

  /** Bring a contact into view, also within its face. */
  show(point) {
    this.#contacts.get(point)?.scrollIntoView({ block: "nearest", inline: "center" });
  }

  #face(end, rows) {
    const seatsIn = (row) => row.map((contact) => this.#seat(end.name, contact));
    const seats = rows.map((row) => make("div", { class: "seats" }, ...seatsIn(row)));
    seats[0]?.querySelector("[data-point]")?.setAttribute("tabindex", "0");
    const scroll = make("div", { class: "face-scroll" }, ...seats);
    scroll.style.setProperty("--seats", String(Math.max(...rows.map((row) => row.length))));
    const title = make("h2", { class: "face-title" }, end.name);
    return make(
      "section",
      { class: "face", "aria-label": `${end.name}, looking into the mating face` },
      title,
      scroll,
    );
  }

  #seat(end, contact) {
    if (!contact) return make("span", { class: "seat-free" });
    const point = `${end}:${contact}`;
    const seat = make(
      "button",
      { type: "button", class: "contact", "data-point": point, tabindex: "-1" },
      make("span", { class: "contact-name" }, contact),
      make("span", { class: "contact-net" }),
    );
    this.#contacts.set(point, seat);
    return seat;
  }

  #rove(contact) {
    for (const other of contact.closest(".face").querySelectorAll("[tabindex='0']")) other.tabIndex = -1;
    contact.tabIndex = 0;
  }

  #step(event) {
    const step = STEPS[event.key];
    const contact = event.target.closest("[data-point]");
    if (!step || !contact || event.altKey || event.ctrlKey || event.metaKey) return;
    const rows = [...contact.closest(".face").querySelectorAll(".seats")].map((row) => [...row.children]);
    let row = rows.findIndex((seats) => seats.includes(contact));
    let column = rows[row].indexOf(contact);
    do {
      row += step[0];
      column += step[1];
      const seats = rows[row];
      if (!seats || column < 0 || (step[1] && column >= seats.length)) return;
    } while (!rows[row][Math.min(column, rows[row].length - 1)].dataset.point);
    const next = rows[row][Math.min(column, rows[row].length - 1)];
    event.preventDefault();
    this.#rove(next);
    next.focus();
  }
}
