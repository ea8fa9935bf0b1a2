// A drill: a question, an answer and Enter; why, and the truth table of the stage; Enter goes on.

/** The five boxes of spaced repetition: the further right, the later it comes again. */
function makeBoxes() {
  const list = h("ol", { class: "sr-boxes" });
  const words = h("p", { class: "sr-soft sr-boxwords" });
  return {
    box: h("div", { class: "sr-boxrow" }, list, words),
    /** @param {number[]} counts */
    update(counts) {
      const rows = counts.map((count, index) => ({ count, index }));
      keyed(list, rows, (row) => String(row.index), (row) => h("li", {},
        h("span", { class: "sr-boxname" }, `box ${row.index + 1}`), h("b", {})), (node, row) => {
        put(node.children[1], String(row.count));
        node.toggleAttribute("data-empty", row.count === 0);
      });
      put(words, "Missed goes back to box 1 and comes again soon; right moves one on and comes later.");
    },
  };
}

/** The truth table of the stage, the row in question marked. */
function makeTruth() {
  const head = h("tr");
  const body = h("tbody");
  const table = h("table", { class: "sr-table sr-truth" }, h("thead", {}, head), body);
  const box = panel("Truth table of the stage",
    h("div", { class: "sr-scroll", role: "region", tabIndex: 0, "aria-label": "Truth table" }, table));
  return {
    box,
    /** @param {any} told */
    update(told) {
      show(box, Boolean(told));
      if (!told) return;
      head.replaceChildren(...told.heads.map((/** @type {string} */ word) => h("th", { scope: "col" }, word)));
      body.replaceChildren(...told.rows.map((/** @type {string[]} */ cells, /** @type {number} */ index) =>
        h("tr", { "data-chosen": index === told.at, "aria-current": index === told.at ? "true" : null },
          h("th", { scope: "row" }, cells[0]), ...cells.slice(1).map((cell) => h("td", {}, tight(cell))))));
    },
  };
}

/** @param {{model: any, el: HTMLElement}} context */
function render({ model, el }) {
  const notice = h("p", { class: "sr-notice", role: "alert", hidden: true });
  const score = h("span", { class: "sr-saved", role: "status" });
  const status = h("p", { class: "sr-status", role: "status" });
  const say = (/** @type {string} */ text) => put(status, text);
  const link = makeLink(model, (_, late) => {
    put(notice, late ? "The kernel is not answering. What you typed is kept here; run this cell again." : "");
    show(notice, late);
  }, say);
  const title = h("h2", {});
  const asked = h("p", { class: "sr-asked" });
  const choices = h("ul", { class: "sr-answers" });
  const answer = field("Answer", { class: "sr-wide sr-code", "data-name": "answer" });
  const wanted = h("p", { class: "sr-hint" });
  const sign = h("span", { class: "sr-sign", "aria-hidden": "true" });
  const mark = h("p", { class: "sr-marked" }, sign, h("b", {}), " ", h("span", {}));
  const why = h("ul", { class: "sr-plain" });
  const next = h("button", { type: "button", class: "sr-button", "data-name": "next question", onclick: () => goOn() }, "Next question");
  const truth = makeTruth();
  const said = h("div", { class: "sr-outcome" }, mark, why, next);
  const boxes = makeBoxes();
  const root = h("div", { class: "shouldread", "data-live": "", role: "region", "aria-label": "Drill" },
    h("header", { class: "sr-head" }, title, score), notice, asked, choices,
    h("div", { class: "sr-asking" }, answer.box, wanted), said, truth.box, boxes.box, status);
  let wasMarked = false;
  guardKeys(root);
  el.append(root);

  /** @param {string} text @param {(a: Answer) => void} [settle] */
  function give(text, settle) {
    const { question } = model.get("drill");
    if (!question) return;
    link.commit("answer", { text, card: question.key }, (told) => {
      say(told.ok ? "" : told.said || "");
      if (settle) settle(told);
      if (told.ok) answer.input.value = "";
    });
  }
  entry(answer.input, link, "answer", (text, how, settle) => {
    if (how === "enter" && text) give(text, settle);
  });
  const goOn = () => link.commit("next", {}, () => undefined);

  function update() {
    const now = model.get("drill");
    const marked = now.marked;
    const here = root.contains(document.activeElement);
    put(title, now.title);
    put(score, now.score);
    put(asked, now.question ? now.question.text : now.done);
    const letters = "ABCDEFGH";
    const rows = (now.question?.choices || []).map((/** @type {string} */ words, /** @type {number} */ index) =>
      ({ words, letter: letters[index] }));
    keyed(choices, rows, (row) => `${now.question.key}|${row.letter}`, (row) => h("li", {},
      h("button", { type: "button", class: "sr-fault", "data-choice": row.letter, onclick: () => give(row.letter) },
        h("b", {}, row.letter), ` ${row.words}`)), (node, row) => {
      const button = /** @type {HTMLButtonElement} */ (node.firstElementChild);
      button.disabled = Boolean(marked);
      node.toggleAttribute("data-right", Boolean(marked) && row.words === marked.answer);
    });
    show(choices, rows.length > 0);
    put(wanted, now.question ? now.question.wanted : "");
    show(/** @type {HTMLElement} */ (answer.box.parentElement), Boolean(now.question) && !marked);
    show(said, Boolean(marked));
    said.toggleAttribute("data-missed", Boolean(marked) && !marked.right);
    if (marked) {
      put(sign, marked.right ? "✓" : "✗");
      put(mark.children[1], marked.right ? "Right." : "Not so.");
      put(mark.children[2], marked.right ? marked.answer : `You said ${marked.said}. It is ${marked.answer}.`);
      lines(why, marked.why);
    }
    truth.update(now.table);
    boxes.update(now.boxes);
    if (here && Boolean(marked) !== wasMarked) (marked ? next : answer.input).focus();
    wasMarked = Boolean(marked);
  }

  model.on("change:drill", update);
  update();
  link.replay((message, told) => say(told.ok ? "" : `${message.text}: ${told.said}`));
  return () => {
    model.off("change:drill", update);
    link.close();
  };
}

export default { render };
