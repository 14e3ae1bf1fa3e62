// The sessions to go on with, on the start page of the site and of the bench.

import { find, make, several } from "./page.js";
import { sessionsOf, unsent } from "./sessions.js";

/** List the sessions of this browser before those of the account. */
export function listSessions() {
  const list = find("sessions");
  const { user, bench } = list.dataset;
  list.querySelectorAll("[data-here]").forEach((entry) => entry.remove());
  const sessions = sessionsOf(user).slice(0, list.dataset.most);
  for (const session of sessions.reverse()) {
    if (session.draft) list.querySelector(`[data-draft="${session.draft.id}"]`)?.setAttribute("hidden", "");
    list.prepend(entryOf(session, bench));
  }
  find("continue").hidden = !list.children.length;
}

function entryOf(session, bench) {
  const { cable = {}, ends, readings } = session.document;
  const title = [cable.maker, cable.model].filter(Boolean).join(" ") || ends.map((end) => end.name).join(" to ");
  const when = new Date(session.changedAt).toLocaleString("en-GB", { dateStyle: "medium", timeStyle: "short" });
  return make(
    "li",
    { "data-here": session.key },
    make("a", { class: "row-title", href: `${bench}#${session.key}` }, title),
    make("span", { class: "row-facts" }, `${several(readings.length, "reading")}, ${whereOf(session)}, ${when}`),
  );
}

function whereOf(session) {
  if (!session.draft) return "in this browser only";
  const count = unsent(session);
  return count ? `${several(count, "reading")} not sent yet` : "all of it sent";
}
