// Where a session is begun, or one of this browser is taken up again.

import { rowsFrom } from "./contacts.js";
import { listSessions } from "./go_on.js";
import { find, mark, several } from "./page.js";

const TYPED = "corelore new session";
const USUAL_ENDS = 2;
const MOST_ENDS = 24;

/** Show the start; `begin` is called with the document of a new session. */
export function showStart(begin) {
  listSessions();
  const ends = find("ends");
  if (!ends.children.length) {
    for (let end = 0; end < USUAL_ENDS; end += 1) addEnd();
    fillInAgain();
    find("new").addEventListener("input", keepTyped);
    find("more-ends").addEventListener("click", () => addEnd().querySelector("input").focus());
    find("new").addEventListener("submit", (event) => {
      event.preventDefault();
      const document = filledIn();
      if (!document) return;
      sessionStorage.removeItem(TYPED);
      begin(document);
    });
  }
}

// What is typed before there is a session outlasts a reload of this tab, where the browser keeps anything.
function keepTyped() {
  const fields = [...find("new").querySelectorAll("input, select")];
  try {
    sessionStorage.setItem(TYPED, JSON.stringify(Object.fromEntries(fields.map(({ id, value }) => [id, value]))));
  } catch {
    // Then it is typed again.
  }
}

function fillInAgain() {
  const typed = JSON.parse(sessionStorage.getItem(TYPED) ?? "{}");
  while (`end-${find("ends").children.length + 1}-name` in typed) addEnd();
  for (const field of find("new").elements) {
    if (field.id in typed) field.value = typed[field.id];
  }
  [...find("ends").children].forEach(preview);
}

function addEnd() {
  const ends = find("ends");
  const number = ends.children.length + 1;
  const end = find("end-template").content.firstElementChild.cloneNode(true);
  end.querySelector("legend").textContent = `End ${number}`;
  for (const name of ["id", "for", "aria-describedby"]) {
    for (const part of end.querySelectorAll(`[${name}]`)) {
      part.setAttribute(name, part.getAttribute(name).replaceAll("end-0-", `end-${number}-`));
    }
  }
  end.addEventListener("input", ({ target }) => {
    if (target.hasAttribute("aria-invalid")) mark(target, "");
    preview(end);
  });
  ends.append(end);
  find("more-ends").hidden = ends.children.length >= MOST_ENDS;
  return end;
}

function preview(end) {
  const isOwn = fieldOf(end, "connector").value === "custom";
  fieldOf(end, "rows").closest(".field").hidden = !isOwn;
  const shown = end.querySelector(".rows-shown");
  const text = fieldOf(end, "rows").value;
  try {
    const rows = text.trim() && isOwn ? rowsFrom(text) : [];
    const count = rows.flat().filter(Boolean).length;
    shown.textContent = rows.length ? `${several(count, "contact")}: ${rows.map(inShort).join(" / ")}` : "";
  } catch {
    shown.textContent = "";
  }
}

function inShort(row) {
  const names = row.map((contact) => contact || "_");
  return names.length > 6 ? `${names.slice(0, 3).join(" ")} … ${names.at(-1)}` : names.join(" ");
}

// The document of what is filled in; or null, and the fields say why.
function filledIn() {
  const fields = [...find("ends").children];
  const used = fields.filter(isUsed);
  const names = new Set();
  const read = (used.length ? used : fields.slice(0, 1)).map((end) => endFrom(end, names));
  const lead = leadOhms();
  if (read.includes(null) || lead === null) {
    find("new").querySelector("[aria-invalid]").focus();
    return null;
  }
  const cable = { maker: find("new-maker").value.trim(), model: find("new-model").value.trim() };
  const meter = lead === undefined ? {} : { meter: { lead_ohms: lead } };
  return { format: "corelore.map/1", cable, ends: read, ...meter, readings: [] };
}

function isUsed(end) {
  const isTyped = ["name", "rows"].some((name) => fieldOf(end, name).value.trim());
  return isTyped || fieldOf(end, "connector").value !== "custom";
}

function endFrom(end, names) {
  const [name, connector, form, rows] = ["name", "connector", "form", "rows"].map((field) => fieldOf(end, field));
  const word = name.value.trim();
  if (!word || /[\s:@]/.test(word)) mark(name, "Name the end in one word, without colon and @: HEAD.");
  else mark(name, names.has(word) ? "Another end has this name." : "");
  names.add(word);
  const made = { name: word, connector: connector.value, form: form.value };
  mark(rows, "");
  if (connector.value === "custom") {
    try {
      made.rows = rowsFrom(rows.value);
    } catch (error) {
      mark(rows, error.message);
    }
  }
  return end.querySelector("[aria-invalid]") ? null : made;
}

function leadOhms() {
  const field = find("new-lead");
  const text = field.value.trim().replace(",", ".");
  const isRight = !text || (/^[0-9]+(\.[0-9]*)?$/.test(text) && Number(text) <= 100);
  mark(field, isRight ? "" : "Type a number of ohms, such as 0.3.");
  if (!isRight) return null;
  return text ? Number(text) : undefined;
}

function fieldOf(end, name) {
  return end.querySelector(`[data-name="${name}"]`);
}
