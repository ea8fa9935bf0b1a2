// Builders: every element is made by name, every text is set as text. No markup is ever parsed.

const SVG = "http://www.w3.org/2000/svg";

/**
 * Set attributes, properties (value, checked, disabled, hidden) and listeners (on...).
 * @param {Element} node
 * @param {Record<string, any>} [attributes]
 */
function dress(node, attributes = {}) {
  for (const [name, value] of Object.entries(attributes)) {
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (["value", "checked", "disabled", "hidden", "tabIndex"].includes(name)) node[name] = value;
    else if (value === null || value === undefined || value === false) node.removeAttribute(name);
    else node.setAttribute(name, value === true ? "" : String(value));
  }
  return node;
}

/**
 * @param {string} tag
 * @param {Record<string, any>} [attributes]
 * @param {...(Node|string|null)} kids
 */
function h(tag, attributes = {}, ...kids) {
  const node = /** @type {HTMLElement} */ (dress(document.createElement(tag), attributes));
  node.append(...kids.filter((kid) => kid !== null));
  return node;
}

/**
 * @param {string} tag
 * @param {Record<string, any>} [attributes]
 * @param {...(Node|string|null)} kids
 */
function s(tag, attributes = {}, ...kids) {
  const node = dress(document.createElementNS(SVG, tag), attributes);
  node.append(...kids.filter((kid) => kid !== null));
  return node;
}

/** Set a text only when it differs, so that a selection in it survives.
 * @param {Element} node
 * @param {string} text */
function put(node, text) {
  if (node.textContent !== text) node.textContent = text;
}

/** A number and its unit are not parted at the end of a line. @param {string} text */
function tight(text) {
  return text.replace(/(\d) (?=[a-zA-ZµΩ]{1,3}\b|Ω)/g, "$1\u00a0").replace(/\u00a0to /g, " to ");
}

/** Show or hide without moving focus. @param {HTMLElement} node @param {boolean} visible */
function show(node, visible) {
  if (node.hidden === visible) node.hidden = !visible;
}

/**
 * Keep one child per key, in order; make missing ones, drop others, never rebuild those that stay.
 * @template T
 * @param {Element} parent
 * @param {T[]} items
 * @param {(item: T) => string} key
 * @param {(item: T) => HTMLElement} make
 * @param {(node: HTMLElement, item: T) => void} update
 */
function keyed(parent, items, key, make, update) {
  const old = new Map([...parent.children].map((child) => [child.getAttribute("data-key"), child]));
  let previous = null;
  for (const item of items) {
    const name = key(item);
    let node = /** @type {HTMLElement} */ (old.get(name));
    old.delete(name);
    if (!node) {
      node = make(item);
      node.setAttribute("data-key", name);
    }
    const next = previous ? previous.nextElementSibling : parent.firstElementChild;
    if (next !== node) parent.insertBefore(node, next);
    update(node, item);
    previous = node;
  }
  for (const gone of old.values()) gone.remove();
}

/** Rows of plain text in a list. @param {Element} list @param {string[]} lines */
function lines(list, lines) {
  const rows = lines.map((text, index) => ({ text, index }));
  keyed(list, rows, (row) => String(row.index), () => h("li"), (node, row) => put(node, row.text));
}

/**
 * Typing in the widget must not reach the notebook: x would cut a cell, Shift+Enter would run it.
 * Ctrl and Cmd combinations (save) still do, except with Enter.
 * @param {HTMLElement} root
 */
function guardKeys(root) {
  root.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.key === "Enter") event.stopPropagation();
  });
}

let viewCount = 0;

/** A prefix for ids that differs in every view of every bench. */
function freshPrefix() {
  viewCount += 1;
  return `shouldread-${viewCount}-`;
}

/**
 * A labelled text field.
 * @param {string} label
 * @param {Record<string, any>} attributes
 * @param {string} [unit] shown after the field, outside of it
 */
function field(label, attributes, unit = "") {
  const input = h("input", { type: "text", autocomplete: "off", spellcheck: "false", ...attributes });
  const tail = unit ? h("span", { class: "sr-unit", "aria-hidden": "true" }, unit) : null;
  const box = h("label", { class: "sr-field" }, h("span", { class: "sr-label" }, label), input, tail);
  return { box, input: /** @type {HTMLInputElement} */ (input) };
}
