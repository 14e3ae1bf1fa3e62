// What the bench asks of the server. Answers are values; errors are NoLink, or a Refused with the problem document.

const TOO_MANY = 429;

/** No useful answer came: the link is lost, or the site is at its limits. Asked again later, it may well answer. */
export class NoLink extends Error {}

/** The server answered with an error. `status` and `problem` say which. */
export class Refused extends Error {
  constructor(status, problem) {
    super(problem.detail ?? `The site answered ${status}.`);
    this.status = status;
    this.problem = problem;
  }
}

/** Ask, and give what came back. `body` is text, of JSON unless `type` says otherwise; `key` names what is to be made
 * once, however often it is sent. */
export async function ask(method, address, { body, type = "application/json", version, key, signal } = {}) {
  const headers = { Accept: "application/json", "X-CSRFToken": tokenAgainstForgery() };
  if (body !== undefined) headers["Content-Type"] = type;
  if (key !== undefined) headers["Idempotency-Key"] = key;
  if (version !== undefined) headers["If-Match"] = `"${version}"`;
  const answer = await reached(fetch(address, { method, headers, body, signal, credentials: "same-origin" }));
  if (answer.status === 204) return null;
  const said = await reached(answer.text());
  const value = asJson(said);
  if (answer.ok && value) return value;
  if (answer.status >= 500 || answer.status === TOO_MANY) throw new NoLink();
  throw new Refused(answer.status, value ?? {});
}

async function reached(promise) {
  try {
    return await promise;
  } catch (error) {
    throw error.name === "AbortError" ? error : new NoLink();
  }
}

function asJson(text) {
  try {
    return JSON.parse(text);
  } catch {
    return null;
  }
}

// From the cookie, since signing in again in another tab changes it.
function tokenAgainstForgery() {
  return /(?:^|;\s*)csrftoken=([^;]+)/.exec(document.cookie)?.[1] ?? "";
}
