// The proof: the hand-over sheet line by line. Each result is in the case before it stands here.

const PROVEN = {
  "right": { sign: "✓", look: "right" },
  "wrong": { sign: "✗", look: "wrong" },
  "not proven": { sign: "?", look: "open" },
  "not done": { sign: "", look: "unread" },
};

/** @param {Element} box @param {string} verdict */
function setProven(box, verdict) {
  const mark = PROVEN[verdict] || PROVEN["not done"];
  put(box.children[0], mark.sign);
  put(box.children[1], verdict);
  box.setAttribute("data-look", mark.look);
}

/** @param {any} line @param {ReturnType<typeof makeLink>} link @param {any} hands */
function proofRow(line, link, hands) {
  const input = /** @type {HTMLInputElement} */ (h("input", {
    type: "text", class: "sr-read", spellcheck: "false", autocomplete: "off", tabIndex: -1,
    "aria-label": `${line.key} gave`, "data-line": line.key,
  }));
  const verdict = verdictBox();
  const [action, should, before, why] = ["sr-about", "sr-should", "sr-about", "sr-why"].map((name) => h("span", { class: name }));
  const row = h("tr", {}, h("th", { scope: "row" }, line.key, action), h("td", {}, should, before), h("td", {}, input),
    h("td", { class: "sr-said" }, verdict, why));
  const stand = entry(input, link, `proof ${line.key}`, (text, how, settle) => {
    if (text) hands.enter("test", { at: line.key, text }, settle);
    if (how === "enter") hands.next(input);
  });
  row.addEventListener("sr-update", (event) => {
    const { line: now, revision } = /** @type {CustomEvent} */ (event).detail;
    put(action, now.hint && !now.shown ? `${now.action.replace(/\.$/, "")}; such as ${now.hint}` : now.action);
    put(should, tight(now.should));
    put(before, now.before ? `before: ${now.before}` : "");
    stand.stands(now.shown, revision);
    setProven(verdict, now.verdict);
    put(why, tight(now.why));
  });
  return row;
}

/** @param {string} label @param {string} verb @param {ReturnType<typeof makeLink>} link @param {any} hands */
function proofField(label, verb, link, hands) {
  const made = field(label, { class: "sr-wide", "data-name": `proof ${verb}` });
  const stand = entry(made.input, link, `proof ${verb}`, (text, _, settle) => {
    if (text) hands.enter(verb, { text }, settle);
  });
  return { box: made.box, stand };
}

/** @param {ReturnType<typeof makeLink>} link @param {any} hands */
function makeProof(link, hands) {
  let revision = 0;
  const mine = {
    /** @param {string} verb @param {Record<string, any>} body @param {(a: Answer) => void} settle */
    enter(verb, body, settle) {
      link.commit(verb, body, (answer) => {
        settle(answer);
        hands.say(answer.said || "", false); // it changes nothing of what the readings mean
        if (answer.ok) ask();
      });
    },
    next: (/** @type {HTMLInputElement} */ input) => walk.go(input, 1),
  };
  const title = h("p", { class: "sr-title" });
  const trouble = h("p", { class: "sr-finding", role: "status" }, "Working out what the board is held to ...");
  const cautions = h("ul", { class: "sr-plain sr-soft" });
  const fields = [["Cause", "cause"], ["Why it failed", "why"], ["How it was confirmed", "confirmed"]].map(([label, verb]) =>
    ({ verb, ...proofField(label, verb, link, mine) }));
  const body = h("tbody");
  const walk = rowWalk(body, "input.sr-read");
  const table = h("table", { class: "sr-table sr-proof" },
    h("caption", {}, "A result and Enter goes to the next line."),
    h("thead", {}, h("tr", {}, ...["Line", "Should give", "Gave", "Verdict"].map((word) => h("th", { scope: "col" }, word)))), body);
  const open = h("ul", { class: "sr-plain" });
  let last = "";
  const undo = h("button", { type: "button", class: "sr-quiet", "data-name": "undo result", onclick: () =>
    last && mine.enter("undo", { text: last }, () => undefined) }, "take back the last result");
  const write = h("button", { type: "button", class: "sr-button", "data-name": "write proof", onclick: () =>
    mine.enter("proved", {}, () => undefined) }, "Write into the case as proved");
  const sheet = h("div", { hidden: true }, title, panel("Mind", cautions),
    h("div", { class: "sr-row" }, ...fields.map((one) => one.box)),
    h("div", { class: "sr-scroll", role: "region", tabIndex: -1, "aria-label": "Hand-over sheet" }, table),
    h("div", { class: "sr-row" }, write, undo), panel("Not proven so far", open));
  const box = h("div", { class: "sr-screen" }, trouble, sheet);

  /** @param {any} now */
  function update(now) {
    put(title, now.title);
    lines(cautions, now.cautions);
    for (const one of fields) one.stand.stands(now[one.verb], revision);
    /** @type {any[]} */
    const rows = now.stages.flatMap((/** @type {any} */ stage) => [{ key: `stage ${stage.name}`, head: stage.name },
      ...stage.lines]);
    keyed(body, rows, (row) => row.key, (row) => row.head
      ? h("tr", { class: "sr-stagehead" }, h("th", { colspan: "4", scope: "colgroup" }, row.head))
      : proofRow(row, link, mine), (node, row) => {
      if (!row.head) node.dispatchEvent(new CustomEvent("sr-update", { detail: { line: row, revision } }));
    });
    walk.refresh();
    lines(open, now.unproven);
    last = now.last;
    show(undo, Boolean(last));
    show(sheet, true);
    put(trouble, now.passed ? "Proved: every line is right." : "");
  }

  function ask() {
    link.ask("proof", {}, (answer) => {
      revision = Math.max(revision, Number(answer.revision)) + 1;
      if (answer.told) update(answer.told);
      else {
        put(trouble, answer.said || "");
        show(sheet, false);
      }
    });
  }
  return { box, ask };
}
