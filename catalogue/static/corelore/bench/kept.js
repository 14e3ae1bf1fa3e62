// Where the session is kept, in words: in this browser, in the account, or not everywhere yet. What was written
// elsewhere meanwhile is laid before the person, who says what becomes of both.

import { button, find, make, several } from "./page.js";
import { State } from "./sending.js";
import { together, unsent } from "./sessions.js";

const NO_ACCOUNT = new Set([State.HERE, State.SIGNED_OUT]);

/** Show where `session` is kept. `roomless` says why this browser cannot keep it, or is empty. */
export function drawKept(session, sender, routes, roomless, settled) {
  const kept = find("kept");
  const text = roomless + inWords(session, sender.state);
  if (kept.firstChild?.textContent !== text || kept.dataset.state !== sender.state) {
    kept.dataset.state = sender.state;
    kept.replaceChildren(text, ...(NO_ACCOUNT.has(sender.state) ? [signIn(session, sender, routes)] : []));
  }
  drawTrouble(session, sender, settled);
}

function inWords(session, state) {
  const count = unsent(session);
  const [all, some] = [session.document.readings.length, count].map((number) => several(number, "reading"));
  const here = "kept in this browser";
  return {
    [State.HERE]: `${all}, ${here} only. `,
    [State.SENT]: `${all}, kept in your account.`,
    [State.WAITING]: count ? `${some} being sent; ${here}.` : `${all}, being sent.`,
    [State.NO_LINK]: `No link. ${some} not sent yet; ${here}, and sent when the link is back.`,
    [State.SIGNED_OUT]: `You are signed out. ${some} not sent yet; ${here}. `,
    [State.STALE]: `${some} not sent yet; ${here}.`,
    [State.GONE]: `${all}, ${here} only.`,
    [State.REFUSED]: `${some} not sent yet; ${here}.`,
  }[state];
}

function signIn(session, sender, routes) {
  const text = sender.state === State.HERE ? "Sign in to keep it in your account too" : "Sign in again";
  return make("a", { href: signInAddress(routes, session) }, text);
}

/** Where to sign in, so that this session is open afterwards. */
export function signInAddress(routes, { key }) {
  return `${routes.signIn}?next=${encodeURIComponent(`${routes.bench}#${key}`)}`;
}

function drawTrouble(session, sender, settled) {
  const trouble = find("trouble");
  if (trouble.dataset.state === sender.state) return;
  trouble.dataset.state = sender.state;
  const told = {
    [State.STALE]: () => stale(session, sender, settled),
    [State.GONE]: () => gone(session, sender),
    [State.REFUSED]: () => [make("p", {}, sender.problem)],
  }[sender.state];
  trouble.hidden = !told;
  trouble.replaceChildren(...(told?.() ?? []));
}

function stale(session, sender, settled) {
  const { theirs } = sender;
  const [here, there] = [session.document, theirs.document].map(({ readings }) => several(readings.length, "reading"));
  const settle = (document, said) => {
    sender.settle(document, theirs);
    settled(said);
  };
  const both = () => together(sender.session().draft.base, sender.session().document, theirs.document);
  return [
    make(
      "p",
      {},
      make("b", {}, "This session was changed elsewhere meanwhile"),
      ", in another tab or on another device. Nothing is lost, and nothing was overwritten. ",
      `Here it has ${there === here ? `${here} too` : here}, elsewhere ${there}. What shall become of them?`,
    ),
    make(
      "p",
      { class: "buttons" },
      button("Put both together", () => settle(both(), "Both are put together.")),
      button("Take the other", () => settle(theirs.document, "The other one is here now."), { class: "second" }),
      button("Keep this one", () => settle(sender.session().document, "This one is kept."), { class: "second" }),
    ),
  ];
}

function gone(session, sender) {
  const again = () => sender.settle(sender.session().document, null);
  return [
    make(
      "p",
      {},
      "This session is not in your account any more: it was submitted or thrown away elsewhere. ",
      "What you have here is kept in this browser.",
    ),
    make("p", { class: "buttons" }, button("Keep it as a new session", again)),
  ];
}
