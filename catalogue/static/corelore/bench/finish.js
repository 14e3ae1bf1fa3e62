// The end of a session: what is still missing is asked for, the rules have their say, and the map is submitted.

import { signInAddress } from "./kept.js";
import { button, find, make, mark } from "./page.js";
import { Unsettled } from "./sending.js";
import { ask, NoLink, Refused } from "./server.js";

const SEVERITIES = {
  reject: ["reason to refuse", "reasons to refuse"],
  warn: ["warning", "warnings"],
  note: ["note", "notes"],
};

const MOST_DOUBTFUL = 4;

export class Finish {
  constructor(routes, bench) {
    Object.assign(this, { routes, bench, nets: [] });
    const { cable = {} } = bench.session.document;
    for (const name of ["maker", "model", "revision"]) find(name).value = cable[name] ?? "";
    find("devices").value = (cable.devices ?? []).join("\n");
    find("outcome").hidden = true;
    find("finish").open = false;
    const form = find("finish-form");
    form.onchange = () => bench.rename(this.#cable());
    form.onsubmit = (event) => {
      event.preventDefault();
      this.#act(event.submitter?.value ?? "check");
    };
    for (const link of ["sign-in", "finish-sign-in"]) find(link)?.setAttribute("href", signInAddress(routes, bench.session));
  }

  /** Open it, and put the keyboard there. */
  show() {
    find("finish").open = true;
    find("finish").querySelector("summary").focus();
  }

  /** The nets by now: a field for the name of each that the author has not declared. */
  draw(nets) {
    const declared = new Set((this.bench.session.document.nets ?? []).flatMap((net) => net.contacts));
    this.nets = nets.filter((net) => !net.contacts.some((contact) => declared.has(contact)));
    find("names-field").hidden = !this.nets.length;
    if (find("names").contains(document.activeElement)) return;
    find("names").replaceChildren(...this.nets.map((net, number) => this.#field(net, number)));
  }

  #field(net, number) {
    const id = `net-${number}`;
    const field = make("input", { id, maxlength: "40", autocomplete: "off" });
    field.value = this.#nameOf(net);
    field.addEventListener("input", () => this.bench.nameNet(net.contacts[0], field.value));
    return make("div", { class: "field" }, make("label", { for: id }, net.contacts.join(" ")), field);
  }

  #nameOf(net) {
    const { names = {} } = this.bench.session;
    const contact = net.contacts.find((one) => one in names);
    return contact === undefined ? net.proposed.name : names[contact];
  }

  #cable() {
    const devices = find("devices").value.split("\n").map((line) => line.trim());
    const typed = Object.fromEntries(["maker", "model", "revision"].map((name) => [name, find(name).value.trim()]));
    return { ...this.bench.session.document.cable, ...typed, devices: devices.filter(Boolean) };
  }

  // A net whose name was left as proposed stays out of the document: the site deduces it again, and names it alike.
  #whole() {
    const { document } = this.bench.session;
    const named = this.nets.map((net) => ({ ...net.proposed, name: this.#nameOf(net).trim() }));
    const renamed = named.filter(({ name }, number) => name && name !== this.nets[number].proposed.name);
    const nets = [...(document.nets ?? []), ...renamed];
    return { ...document, cable: this.#cable(), ...(nets.length ? { nets } : {}) };
  }

  async #act(act) {
    const missing = ["maker", "model"].map(find).filter((field) => !field.value.trim());
    for (const name of ["maker", "model"]) mark(find(name), "");
    for (const field of missing) mark(field, "Write it as it is printed on the cable or its device.");
    if (missing.length) {
      missing[0].focus();
      return;
    }
    const body = JSON.stringify(this.#whole());
    try {
      if (act === "submit") await this.#submit(body);
      else this.#checked(await ask("POST", this.routes.checks, { body }));
    } catch (error) {
      this.#failed(error);
    }
  }

  async #submit(body) {
    const { sender } = this.bench;
    await sender.flush();
    const { id, version } = this.bench.session.draft;
    const map = await ask("POST", `${this.routes.drafts}${id}/submission/`, { body, version });
    this.bench.forget();
    location.assign(this.routes.map.replace("SLUG", map.cable).replace("/0/", `/${map.revision}/`));
  }

  #checked({ accepted, findings }) {
    if (accepted) this.#show(true, "This map can be submitted", "Nothing in it is impossible.", findings);
    else this.#show(false, "This map would be refused", "Nothing is lost. Mend what is listed first.", findings);
  }

  #failed(error) {
    if (error instanceof NoLink) {
      this.#show(false, "No link", "Nothing is lost: this browser keeps the session. Try again when the link is back.");
    } else if (error instanceof Refused) {
      this.#show(false, "Not taken", error.message, error.problem.findings, error.problem.defects);
    } else if (error instanceof Unsettled) {
      this.#show(false, "Not yet", "Above you are asked what becomes of another writing. Nothing is lost.");
    } else {
      throw error;
    }
  }

  #show(isAccepted, title, text, findings = [], defects = []) {
    const outcome = find("outcome");
    outcome.className = `outcome outcome-${isAccepted ? "accepted" : "refused"}`;
    const sign = make("span", { class: `sign sign-${isAccepted ? "accepted" : "reject"}`, "aria-hidden": "true" });
    find("outcome-title").replaceChildren(sign, title);
    const wrong = defects.map(({ where, message, remedy }) => make("li", {}, `${where}: ${message}. ${remedy}`));
    const groups = Object.keys(SEVERITIES).map((name) => [name, findings.filter(({ severity }) => severity === name)]);
    find("outcome-said").replaceChildren(
      make("p", {}, text),
      ...(wrong.length ? [make("ul", { class: "defects" }, ...wrong)] : []),
      ...groups.filter(([, some]) => some.length).map(([severity, some]) => this.#group(severity, some)),
    );
    outcome.hidden = false;
    outcome.focus();
  }

  #group(severity, findings) {
    const sign = make("span", { class: `sign sign-${severity}`, "aria-hidden": "true" });
    return make(
      "section",
      { class: `findings findings-${severity}` },
      make("h3", {}, sign, `${findings.length} ${SEVERITIES[severity][findings.length === 1 ? 0 : 1]}`),
      make("ul", {}, ...findings.map((finding) => this.#finding(finding))),
    );
  }

  #finding({ code, severity, message, readings }) {
    const known = new Set(this.bench.session.document.readings.map((reading) => reading.id));
    const doubtful = severity === "reject" ? readings.filter((id) => known.has(id)).slice(0, MOST_DOUBTFUL) : [];
    const again = (id) => button(`Measure ${id} again`, () => this.bench.measureAgain(id), { class: "plain" });
    const why = make("a", { href: this.routes.rule.replace("CODE", code) }, `Why? ${code}`);
    const links = make("span", { class: "finding-links" }, why, ...doubtful.map(again));
    return make("li", {}, make("p", {}, message, " ", links));
  }
}
