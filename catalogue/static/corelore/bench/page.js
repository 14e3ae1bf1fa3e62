// Elements of the page: found, made and filled. Text goes in as text only.

export function find(id) {
  return document.getElementById(id);
}

/** An element with attributes and children, which are elements or text. A null attribute is left out. */
export function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== null && value !== false) element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...children);
  return element;
}

export function button(text, act, attributes = {}) {
  const made = make("button", { type: "button", ...attributes }, text);
  made.addEventListener("click", act);
  return made;
}

/** Fill an element with text, only when it differs, so that nobody is told the same thing twice. */
export function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/** `1 reading`, `2 readings`. */
export function several(count, word) {
  return `${count} ${word}${count === 1 ? "" : "s"}`;
}

/** Say at a field what is wrong with it, or with an empty text that nothing is. */
export function mark(field, text) {
  const errors = find(`${field.id}-error`);
  errors.replaceChildren(...(text ? [make("p", {}, make("span", { "aria-hidden": "true" }, "✕ "), text)] : []));
  if (text) field.setAttribute("aria-invalid", "true");
  else field.removeAttribute("aria-invalid");
}
