// A verdict is a shape and a word; colour only helps.

const MARKS = {
  "as it should be": { sign: "✓", look: "right" },
  "too low": { sign: "▼", look: "wrong" },
  "too high": { sign: "▲", look: "wrong" },
  "cannot tell": { sign: "?", look: "open" },
  "": { sign: "", look: "unread" },
};

/** @param {string} verdict */
function markOf(verdict) {
  return MARKS[verdict] || MARKS[""];
}

function verdictBox() {
  const sign = h("span", { class: "sr-sign", "aria-hidden": "true" });
  const word = h("span", { class: "sr-word" });
  return h("span", { class: "sr-verdict" }, sign, word);
}

/** @param {Element} box @param {string} verdict @param {string} [word] */
function setVerdict(box, verdict, word = verdict) {
  const mark = markOf(verdict);
  put(box.children[0], mark.sign);
  put(box.children[1], word);
  if (box.getAttribute("data-look") !== mark.look) box.setAttribute("data-look", mark.look);
}

/** The two leads of a meter, by word and dot. */
function leads() {
  const red = h("b", { class: "sr-place" });
  const black = h("b", { class: "sr-place" });
  const dot = (/** @type {string} */ lead) => h("span", { class: "sr-lead", "data-lead": lead, "aria-hidden": "true" });
  const box = h("div", { class: "sr-leads" },
    h("p", {}, dot("red"), "red lead on ", red), h("p", {}, dot("black"), "black lead on ", black));
  return {
    box,
    /** @param {string} onRed @param {string} onBlack */
    set(onRed, onBlack) {
      put(red, onRed);
      put(black, onBlack);
    },
  };
}

/** A heading and a place below it. @param {string} title @param {...(Node|null)} kids */
function panel(title, ...kids) {
  return h("section", { class: "sr-panel", "aria-label": title }, h("h3", {}, title), ...kids);
}

/** A caution of the trade: said once, where it matters. */
function cautionLine() {
  return h("p", { class: "sr-caution", role: "note", hidden: true });
}

/** @param {HTMLElement} line @param {string} text */
function setCaution(line, text) {
  put(line, text ? `⚠ ${text}` : "");
  show(line, Boolean(text));
}

/**
 * Up and down go to the same field of the next row; only one field of a column is a Tab stop.
 * @param {HTMLElement} body
 * @param {string} selector
 */
function rowWalk(body, selector) {
  const all = () => /** @type {HTMLInputElement[]} */ ([...body.querySelectorAll(selector)]);
  const stop = (/** @type {HTMLInputElement} */ input) => {
    for (const other of all()) other.tabIndex = other === input ? 0 : -1;
  };
  body.addEventListener("focusin", (event) => {
    const input = /** @type {HTMLInputElement} */ (event.target);
    if (input.matches(selector)) stop(input);
  });
  body.addEventListener("keydown", (event) => {
    const input = /** @type {HTMLInputElement} */ (event.target);
    const step = { ArrowDown: 1, ArrowUp: -1 }[event.key];
    if (step && input.matches(selector)) {
      event.preventDefault();
      go(input, step);
    }
  });
  /** @param {HTMLInputElement} input @param {number} step */
  function go(input, step) {
    const fields = all();
    const next = fields[fields.indexOf(input) + step];
    if (next) {
      next.focus();
      next.select();
    }
    return Boolean(next);
  }
  return {
    go,
    refresh() {
      const fields = all();
      if (fields.length && !fields.some((input) => input.tabIndex === 0)) stop(fields[0]);
    },
  };
}

let choiceCount = 0;

/** A row of radio buttons, one Tab stop, arrows inside (the browser's own behaviour).
 * @param {string} label @param {string[]} options @param {(chosen: string) => void} chosen */
function choice(label, options, chosen) {
  choiceCount += 1;
  const group = `${freshPrefix()}choice-${choiceCount}`;
  const box = h("fieldset", { class: "sr-choice" }, h("legend", {}, label));
  const row = h("div", { class: "sr-choices" });
  box.append(row);
  const make = (/** @type {string} */ option) => {
    const input = h("input", { type: "radio", name: group, value: option, onchange: () => chosen(option) });
    return h("label", {}, input, h("span", {}, option));
  };
  const fill = (/** @type {string[]} */ names) => keyed(row, names, (name) => name, make, () => undefined);
  fill(options);
  return {
    box,
    fill,
    /** @param {string} option */
    set(option) {
      for (const input of row.querySelectorAll("input")) input.checked = input.value === option;
    },
  };
}

/** A drop-down with its label. @param {string} label @param {(chosen: string) => void} chosen */
function picker(label, chosen) {
  const select = /** @type {HTMLSelectElement} */ (h("select", { "data-name": label }));
  const box = h("label", { class: "sr-field" }, h("span", { class: "sr-label" }, label), select);
  select.addEventListener("change", () => chosen(select.value));
  return {
    box,
    select,
    /** @param {string[]} options @param {string} now @param {string} [none] word for no choice */
    set(options, now, none) {
      const rows = none === undefined ? options : ["", ...options];
      keyed(select, rows, (name) => name, () => h("option"), (node, name) => {
        put(node, name || none || "");
        node.setAttribute("value", name);
      });
      if (select.value !== now) select.value = now;
    },
  };
}
