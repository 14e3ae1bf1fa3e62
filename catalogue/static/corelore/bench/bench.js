// The bench: which session is open, and which key or button does what. Which one stands behind the # of the address,
// so that it survives a reload, and nothing of it is sent where nobody asked for it.

import { namedRows, resultFrom } from "./contacts.js";
import { Mapping } from "./mapping.js";
import { find, mark, say } from "./page.js";
import { ask } from "./server.js";
import * as sessions from "./sessions.js";
import { showStart } from "./start.js";

const routes = find("bench").dataset;

let open = null; // the Mapping that is shown

async function show() {
  open?.close();
  open = null;
  find("start-trouble").hidden = true;
  const key = decodeURIComponent(location.hash.slice(1));
  if (!key) {
    start();
    return;
  }
  try {
    const session = await sessionNamed(key);
    session.owner ||= routes.user;
    find("start").hidden = true;
    find("session").hidden = false;
    open = new Mapping(session, routes, standardConnectors());
  } catch (error) {
    start(`This session cannot be opened here. ${error.message || "There is no link; try again when it is back."}`);
  }
}

/** Show where sessions begin, with what hindered another. */
function start(trouble = "") {
  open?.close();
  open = null;
  if (trouble) history.replaceState(null, "", routes.bench);
  find("start").hidden = false;
  find("session").hidden = true;
  find("start-trouble").hidden = !trouble;
  say(find("start-trouble"), trouble);
  say(find("bench-title"), "Map a cable at the bench");
  showStart(begin);
}

async function sessionNamed(key) {
  const draft = Number(/^draft-([0-9]{1,18})$/.exec(key)?.[1] ?? 0);
  const here = sessions.sessionsOf(routes.user);
  const found = here.find((session) => (draft ? session.draft?.id === draft : session.key === key));
  if (!found && !draft) throw new Error("It is not in this browser: it was submitted, thrown away, or kept elsewhere.");
  return found ?? sessions.sessionOfDraft(routes.user, await ask("GET", `${routes.drafts}${draft}/`));
}

function begin(document) {
  const session = sessions.newSession(routes.user, document);
  try {
    sessions.save(session);
    location.hash = session.key;
  } catch {
    start("This browser keeps nothing for this site, so a session would be lost. Use the submit page instead.");
  }
}

function standardConnectors() {
  const options = find("end-template").content.querySelectorAll("option[data-rows]");
  const known = ({ dataset: { form, rows } }) => ({ form, rows: namedRows(rows) });
  return new Map([...options].map((option) => [option.value, known(option)]));
}

const ACTS = {
  b: () => open.answer({ mode: "beep", beeps: true }),
  n: () => open.answer({ mode: "beep", beeps: false }),
  v: () => askValue(""),
  s: () => open.skip(),
  u: () => open.undo(),
  w: () => open.toggleSweep(),
  p: () => open.takeProposal(),
  r: () => open.measureAgain(find("again").dataset.reading),
  c: () => find("typed").focus(),
  f: () => open.finish.show(),
  Escape: () => open.letGo(),
};
const KEY_OF_BUTTON = { beeps: "b", silent: "n", sweep: "w", skip: "s", undo: "u", take: "p", again: "r" };

function pressed(event) {
  if (!open || event.ctrlKey || event.altKey || event.metaKey || event.isComposing) return;
  if (event.key === "Escape" && !find("value-form").hidden) {
    closeValue();
    return;
  }
  if (event.key === "Escape" && event.target.id === "typed") {
    find("answer").focus({ preventScroll: true });
    return;
  }
  const isWriting = event.target.closest("input:not([type=checkbox]), textarea, select");
  if (isWriting || !find("single-keys").checked) return;
  const act = ACTS[event.key] ?? (/^[0-9.]$/.test(event.key) ? () => askValue(event.key) : null);
  if (!act) return;
  event.preventDefault();
  act();
}

function askValue(text) {
  find("value-form").hidden = false;
  find("with-value").setAttribute("aria-expanded", "true");
  const field = find("value");
  mark(field, "");
  field.value = text;
  field.focus();
}

function closeValue() {
  find("value-form").hidden = true;
  find("with-value").setAttribute("aria-expanded", "false");
  find("answer").focus({ preventScroll: true });
}

function keepValue(text) {
  try {
    const result = resultFrom(text);
    closeValue();
    open.answer(result);
  } catch (error) {
    mark(find("value"), error.message);
    find("value").focus();
  }
}

// Another tab wrote this session: what it wrote is shown here, and it is said.
function followTab() {
  const theirs = sessions.load(open.session.key);
  if (!theirs) {
    start("This session was submitted or thrown away in another tab.");
  } else if (theirs.stamp !== open.session.stamp) {
    const isOther = !sessions.same(theirs.document, open.session.document);
    if (isOther) open.follow(theirs, "Another tab changed this session. Its readings are here now.");
    else open.session = theirs;
  }
}

function on(id, kind, act) {
  find(id).addEventListener(kind, (event) => {
    event.preventDefault();
    act(event);
  });
}

for (const [id, key] of Object.entries(KEY_OF_BUTTON)) on(id, "click", ACTS[key]);
on("with-value", "click", () => (find("value-form").hidden ? askValue("") : closeValue()));
on("value-over", "click", () => keepValue("OL"));
on("value-form", "submit", () => keepValue(find("value").value));
on("typed-form", "submit", () => open.type(find("typed").value));
on("csv-form", "submit", () => open.paste(find("csv").value));
on("csv-file", "change", async ({ target }) => {
  if (target.files[0]) find("csv").value = await target.files[0].text();
});
on("session", "dragover", () => {});
on("session", "drop", async ({ dataTransfer }) => {
  find("paste").open = true;
  const file = dataTransfer.files[0];
  find("csv").value = file ? await file.text() : dataTransfer.getData("text");
  find("csv").focus();
});
on("throw-away", "click", () => open.throwAway());
document.addEventListener("keydown", pressed);
document.addEventListener("visibilitychange", () => {
  if (!open || document.hidden) return;
  followTab();
  open?.sender.look();
});
addEventListener("storage", (event) => open && sessions.isAbout(event, open.session) && followTab());
addEventListener("hashchange", async () => {
  await show();
  // What was left may have been scrolled far down.
  find("bench-title").focus({ preventScroll: true });
  find("bench-title").scrollIntoView();
});
find("proposal-why").open = !matchMedia("(max-width: 30rem)").matches;
show();
