// The bench: one root for everything, one key guard, one line that says what happened.

const WORTH_A_WORD = 500; // ms
const TABS = [["rails", "Rails"], ["trace", "Trace a stage"], ["stage", "Stage"], ["proof", "Proof"]];

/** @param {(name: string) => void} opened */
function makeTabs(opened) {
  const prefix = freshPrefix();
  const list = h("div", { class: "sr-tabs", role: "tablist", "aria-label": "Screens of the bench" });
  /** @type {Record<string, {tab: HTMLElement, panel: HTMLElement}>} */
  const all = {};
  for (const [name, words] of TABS) {
    const tab = h("button", { type: "button", role: "tab", id: `${prefix}${name}-tab`, "aria-controls": `${prefix}${name}`,
      "data-name": `tab ${name}`, onclick: () => opened(name) }, words);
    const sheet = h("div", { role: "tabpanel", id: `${prefix}${name}`, "aria-labelledby": `${prefix}${name}-tab` });
    all[name] = { tab, panel: sheet };
    list.append(tab);
  }
  list.addEventListener("keydown", (event) => {
    const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
    const tabs = /** @type {HTMLButtonElement[]} */ ([...list.children]).filter((tab) => !tab.disabled);
    const at = tabs.indexOf(/** @type {HTMLButtonElement} */ (event.target));
    if (!step || at < 0) return;
    event.preventDefault();
    const next = tabs[(at + step + tabs.length) % tabs.length];
    next.focus();
    next.click();
  });
  return {
    list,
    all,
    now: "",
    /** @param {string} name */
    open(name) {
      this.now = name;
      for (const [key, { tab, panel: sheet }] of Object.entries(all)) {
        tab.setAttribute("aria-selected", String(key === name));
        tab.tabIndex = key === name ? 0 : -1;
        show(sheet, key === name);
      }
    },
  };
}

/** The reading line: any reading or observation, as people write it.
 * @param {ReturnType<typeof makeLink>} link @param {any} hands @param {() => string} last id of the last reading */
function makeLine(link, hands, last) {
  const line = field("Reading", { class: "sr-wide sr-code", "data-name": "reading line" });
  line.input.setAttribute("aria-label", "Reading or what was seen, as you would say it");
  entry(line.input, link, "reading line", (text, how, settle) => {
    if (how === "left" || !text) return;
    line.input.value = "";
    hands.read({ text }, settle);
  });
  const undo = h("button", { type: "button", class: "sr-quiet", "data-name": "undo",
    onclick: () => link.commit("undo", { text: last() }, (answer) => hands.say(answer.said || "")) }, "take back the last");
  return h("div", { class: "sr-line" }, line.box, undo,
    h("span", { class: "sr-hint" }, "EN 0.02 · L1 ohms OL · C17 hot · nothing warm"));
}

/** What is not yet written down, and a kernel that does not answer. */
function makeNotice() {
  const box = h("p", { class: "sr-notice", role: "alert", hidden: true });
  const count = h("span", { class: "sr-saved" }, "all saved");
  return {
    box,
    count,
    /** @param {number} unsaved @param {boolean} late */
    tell(unsaved, late) {
      put(count, unsaved ? `${unsaved} not yet saved` : "all saved");
      count.toggleAttribute("data-unsaved", unsaved > 0);
      put(box, late ? "The kernel is not answering. What you typed is kept here; run this cell again." : "");
      show(box, late);
    },
  };
}

/** What the kernel is working out, once that takes a while, and a button that stops it or lets it go on.
 * @param {any} model @param {ReturnType<typeof makeLink>} link */
function makeBusy(model, link) {
  const words = h("span", { class: "sr-busy-words" });
  const button = h("button", { type: "button", class: "sr-quiet", "data-name": "stop or go on",
    onclick: () => link.ask(model.get("busy").stopped ? "go on" : "stop", {}, () => undefined) });
  const box = h("span", { class: "sr-busy", hidden: true }, button, words);
  let timer = 0;
  const look = () => {
    const now = model.get("busy") || {};
    put(words, now.stopped ? "stopped: suspects are as they were" : now.words ? `${now.words} …` : "");
    put(button, now.stopped ? "go on" : "stop");
    show(box, Boolean(now.stopped || now.words));
  };
  return {
    box,
    /** Work that ends soon is not worth a word. */
    update() {
      const now = model.get("busy") || {};
      if (now.words && !box.hidden) look();
      if (now.words) timer = timer || window.setTimeout(look, WORTH_A_WORD);
      else {
        window.clearTimeout(timer);
        timer = 0;
        look();
      }
    },
    close: () => window.clearTimeout(timer),
  };
}

/** @param {{model: any, el: HTMLElement}} context */
function render({ model, el }) {
  const notice = makeNotice();
  const status = h("p", { class: "sr-status", role: "status" });
  const last = { said: "", joins: true }; // what was said last, and whether it goes together with what it means
  const say = (/** @type {string} */ text, joins = true) => {
    Object.assign(last, { said: text, joins });
    put(status, text);
  };
  const link = makeLink(model, notice.tell, (text, trouble) => {
    if (last.joins || trouble) put(status, [last.said, text].filter(Boolean).join(" · "));
  });
  let resumed = ""; // the case left behind by a dead kernel, while this bench is about to go on with it
  const hands = {
    say,
    open: (/** @type {string} */ name) => tabs.open(name),
    /** @param {Record<string, any>} body @param {(a: Answer) => void} [done] */
    read(body, done) {
      link.commit("read", { screen: tabs.now === "stage" ? "stage" : "rails", ...body }, (answer) => {
        say(answer.said || "");
        if (done) done(answer);
      });
    },
  };
  const tabs = makeTabs((name) => {
    tabs.open(name);
    if (name === "proof") proof.ask();
  });
  const doorway = makeDoorway(model, link, hands);
  const stage = makeStage(model, link, hands);
  const trace = makeTrace(model, link, hands);
  const proof = makeProof(link, hands);
  tabs.all.proof.panel.append(proof.box);
  tabs.all.rails.panel.append(doorway.box);
  tabs.all.stage.panel.append(stage.box);
  tabs.all.trace.panel.append(trace.box);
  const busy = makeBusy(model, link);
  const title = h("h2", {}, h("span"), " ", h("span")); // the second keeps together at the end of a line
  const line = makeLine(link, hands, () => model.get("head").last);
  const root = h("div", { class: "shouldread", "data-live": "", role: "region", "aria-label": "Bench" },
    h("header", { class: "sr-head" }, title, notice.count, busy.box, tabs.list), notice.box, line,
    ...Object.values(tabs.all).map((tab) => tab.panel), status);
  guardKeys(root);
  el.append(root);

  const replay = () => {
    const again = link.replay((message, answer) => say(answer.ok ? answer.said || "" : `${message.text}: ${answer.said}`));
    if (again) say(`${again} kept from before, sent again`);
  };
  const head = () => {
    const now = model.get("head");
    const [name, of] = now.title.split(/ · (?=case )/);
    put(title.children[0], of ? `${name} ·` : name);
    put(title.children[1], of || "");
    if (resumed && now.case === resumed) {
      resumed = "";
      replay();
    }
    doorway.offer(now.cases);
    tabs.all.stage.tab.toggleAttribute("disabled", !now.has_circuit);
  };
  /** @type {[string, () => void][]} */
  const updates = [["head", head], ["doorway", doorway.update], ["stage", stage.update], ["trace", trace.update],
    ["drawing", stage.draw], ["busy", busy.update]];
  for (const [name, update] of updates) {
    model.on(`change:${name}`, update);
    update();
  }
  model.on("msg:custom", stage.hear);
  tabs.open(model.get("head").opens);
  const left = link.leftBehind();
  if (left && model.get("head").empty && left !== model.get("head").case) {
    resumed = left;
    link.ask("case", { text: left }, () => undefined);
  } else replay();
  return () => {
    for (const [name, update] of updates) model.off(`change:${name}`, update);
    model.off("msg:custom", stage.hear);
    busy.close();
    link.close();
  };
}

export default { render };
