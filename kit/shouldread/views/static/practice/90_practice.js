// Practice: the bench with the answer hidden. Predict a point, probe it, go to the next.

/** One point: what is predicted, what a healthy board reads (told once predicted), what the meter shows.
 * @param {any} point @param {ReturnType<typeof makeLink>} link @param {any} hands */
function practiceRow(point, link, hands) {
  const about = h("span", { class: "sr-about" });
  const guess = /** @type {HTMLInputElement} */ (h("input", {
    type: "text", class: "sr-read sr-predict", spellcheck: "false", autocomplete: "off", tabIndex: -1,
    "aria-label": `${point.place} predicted`, "data-predict": point.place,
  }));
  const healthy = h("span", { class: "sr-num" });
  const span = h("span", { class: "sr-about" });
  const mark = h("span", { class: "sr-sign", "aria-hidden": "true" });
  const probe = h("button", { type: "button", class: "sr-fault sr-probebutton", "data-probe": point.place,
    "aria-label": `probe ${point.place}`, onclick: () => hands.measure(point, "", () => undefined) }, "probe");
  const typed = /** @type {HTMLInputElement} */ (h("input", {
    type: "text", class: "sr-read", spellcheck: "false", autocomplete: "off", "data-place": point.place,
    "aria-label": `${point.place} reads`,
  }));
  const shown = h("b", { class: "sr-num sr-shown" });
  const verdict = verdictBox();
  const predicted = entry(guess, link, `predict ${point.key}`, (text, how, settle) => {
    if (text) hands.predict(point, text, settle);
    if (how === "enter") (hands.real() ? typed : probe).focus();
  });
  const reading = entry(typed, link, `read ${point.key}`, (text, _, settle) => {
    if (text) hands.measure(point, text, settle);
  });
  guess.addEventListener("focus", () => hands.choose(point.place, false));
  probe.addEventListener("focus", () => hands.choose(point.place, false));
  const node = h("tr", {}, h("th", { scope: "row" }, h("b", { class: "sr-place" }, point.place), about),
    h("td", {}, guess), h("td", { class: "sr-told" }, mark, healthy, span),
    h("td", { class: "sr-shows" }, probe, typed, shown), h("td", { class: "sr-said" }, verdict));
  node.addEventListener("sr-update", (event) => {
    const { point: now, chosen, real, done } = /** @type {CustomEvent} */ (event).detail;
    put(about, now.about);
    predicted.stands(now.predicted, 1);
    put(mark, now.predicted ? (now.right ? "✓" : "✗") : "");
    node.toggleAttribute("data-missed", Boolean(now.predicted) && !now.right);
    put(healthy, now.healthy);
    put(span, now.span);
    show(probe, !real);
    show(typed, real);
    if (real) reading.stands(now.read, 1);
    put(shown, real ? "" : now.read);
    setVerdict(verdict, now.verdict);
    node.toggleAttribute("data-chosen", chosen);
    dress(probe, { disabled: done });
    dress(guess, { disabled: done });
  });
  return node;
}

/** A line of the log: what was done, what came of it, what it cost. */
function logRow() {
  return h("li", {}, h("span", { class: "sr-do" }), h("span", { class: "sr-came" }), h("span", { class: "sr-about" }));
}

/** Everything that is done beside readings. @param {ReturnType<typeof makeLink>} link @param {any} hands */
function makeActs(link, hands) {
  const prefix = freshPrefix();
  const act = field("Do to the board", { class: "sr-wide sr-code", "data-name": "do" });
  entry(act.input, link, "do", (text, how, settle) => {
    if (how === "left" || !text) return;
    act.input.value = "";
    hands.commit("do", { text }, settle);
  });
  const back = h("button", { type: "button", class: "sr-quiet", "data-name": "take back",
    onclick: () => hands.commit("take back", {}) }, "take back");
  const doneTo = h("p", { class: "sr-soft" }, h("span", {}), " ", back);
  const look = h("button", { type: "button", class: "sr-fault", "data-name": "look and feel",
    onclick: () => hands.commit("seen", {}) }, "look and feel");
  const list = h("datalist", { id: `${prefix}faults` });
  const name = field("The fault", { class: "sr-wide sr-code", "data-name": "fault", list: `${prefix}faults` });
  entry(name.input, link, "fault", (text, how, settle) => {
    if (how === "left" || !text) return;
    hands.commit("name", { text }, settle);
  });
  const give = h("button", { type: "button", class: "sr-quiet", "data-name": "give up",
    onclick: () => hands.commit("give up", {}) }, "give up");
  const doing = panel("Do", act.box, h("p", { class: "sr-hint" }, "L1 bridged · R2 lifted · warmed · inject 3.3 V at EN limit 0.2"),
    doneTo, h("div", { class: "sr-faults" }, look));
  const naming = panel("Name it", name.box, h("p", { class: "sr-hint" }, "A wrong one is a part changed for nothing: 15 minutes."),
    list, h("div", { class: "sr-faults" }, give));
  return {
    box: h("div", { class: "sr-acts" }, doing, naming),
    /** @param {any} now */
    update(now) {
      put(doneTo.children[0], now.done_to.join(", "));
      show(doneTo, now.done_to.length > 0 && !now.done);
      show(look, !now.real);
      show(doing, !now.done);
      show(naming, !now.done);
      keyed(list, now.faults, (fault) => fault, (fault) => h("option", { value: fault }), () => undefined);
    },
  };
}

/** @param {{model: any, el: HTMLElement}} context */
function render({ model, el }) {
  const seen = { place: "" };
  const notice = h("p", { class: "sr-notice", role: "alert", hidden: true });
  const count = h("span", { class: "sr-saved", role: "status" });
  const status = h("p", { class: "sr-status", role: "status" });
  const say = (/** @type {string} */ text) => put(status, text);
  const link = makeLink(model, (unsaved, late) => {
    put(notice, late ? "The kernel is not answering. What you typed is kept here; run this cell again." : "");
    show(notice, late);
    root.toggleAttribute("data-busy", unsaved > 0);
  }, say);
  const hands = {
    real: () => model.get("task").real,
    choose,
    /** @param {string} verb @param {Record<string, any>} body @param {(a: Answer) => void} [done] */
    commit(verb, body, done) {
      link.commit(verb, body, (answer) => {
        say(answer.said || "");
        if (done) done(answer);
      });
    },
    /** @param {any} point @param {string} text @param {(a: Answer) => void} done */
    predict(point, text, done) {
      hands.commit("predict", { ...at(point), text }, done);
    },
    /** @param {any} point @param {string} text @param {(a: Answer) => void} done */
    measure(point, text, done) {
      hands.commit("measure", { ...at(point), text }, (answer) => {
        done(answer);
        if (answer.ok) next(point.place);
      });
    },
  };
  const at = (/** @type {any} */ point) => {
    const { setting, state } = model.get("task");
    return { at: point.place, setting, state };
  };
  const setting = choice("Setting", ["volts"], (name) => look({ setting: name }));
  const state = picker("State", (name) => look({ state: name }));
  const look = (/** @type {Record<string, any>} */ part) => {
    const now = model.get("task");
    link.ask("look", { setting: now.setting, state: now.state, ...part }, (answer) => say(answer.said || ""));
  };
  const caution = cautionLine();
  const body = h("tbody");
  const walk = rowWalk(body, "input.sr-predict");
  const caption = h("caption", {}, "Predict and Enter, Enter to probe, and on to the next point.");
  const table = h("table", { class: "sr-table sr-points sr-practice" },
    caption,
    h("thead", {}, h("tr", {}, ...["Point", "You predict", "Healthy board", "Shows", "Verdict"].map((word) =>
      h("th", { scope: "col" }, word)))), body);
  const acts = makeActs(link, hands);
  const log = h("ol", { class: "sr-log", tabIndex: 0, "aria-label": "Log, the last first" });
  const logBox = panel("Log", log);
  const backList = h("ul", { class: "sr-back" });
  const back = panel("Looking back", backList);
  const drawing = makeDrawing(choose, (place) => fieldOf(place)?.focus());
  const title = h("h2", {});
  const brief = h("p", { class: "sr-brief" });
  const about = h("p", { class: "sr-soft" });
  const split = h("div", { class: "sr-split" },
    h("div", { class: "sr-main" }, h("div", { class: "sr-scroll", role: "region", tabIndex: -1, "aria-label": "Points" }, table)),
    h("div", { class: "sr-side" }, acts.box));
  const root = h("div", { class: "shouldread", "data-live": "", role: "region", "aria-label": "Practice" },
    h("header", { class: "sr-head" }, title, count), notice, h("div", { class: "sr-told-by" }, brief, about),
    h("div", { class: "sr-row" }, setting.box, state.box), caution,
    split, back, drawing.box, logBox, status);
  guardKeys(root);
  el.append(root);

  /** @param {string} place */
  function fieldOf(place) {
    return /** @type {HTMLInputElement|undefined} */ (
      [...body.querySelectorAll("input.sr-predict")].find((input) => input.getAttribute("data-predict") === place));
  }

  /** To the field below, where the focus is still at the point just read. @param {string} place */
  function next(place) {
    const here = fieldOf(place);
    const row = here?.closest("tr");
    if (here && row?.contains(document.activeElement)) walk.go(here, 1);
  }

  /** @param {string} place @param {boolean} [goThere] */
  function choose(place, goThere = false) {
    seen.place = place;
    paint();
    if (goThere) fieldOf(place)?.focus();
  }

  function paint() {
    const now = model.get("task");
    keyed(body, now.points, (point) => point.key, (point) => practiceRow(point, link, hands), (node, point) =>
      node.dispatchEvent(new CustomEvent("sr-update", { detail: {
        point, chosen: point.place === seen.place, real: now.real, done: now.done,
      } })));
    walk.refresh();
    drawing.paint(now.points, seen.place, "", null, "");
  }

  function update() {
    const now = model.get("task");
    put(title, now.title);
    put(brief, now.brief);
    put(about, now.about);
    put(count, `${now.toll} · ${now.predictions}`);
    setting.fill(now.settings);
    setting.set(now.setting);
    state.set(now.states, now.state);
    setCaution(caution, now.done ? "" : now.caution);
    acts.update(now);
    keyed(log, now.log.map((/** @type {any} */ row, /** @type {number} */ index) => ({ ...row, index })).reverse(),
      (row) => String(row.index), logRow, (node, row) => {
        put(node.children[0], row.said);
        put(node.children[1], row.answer);
        put(node.children[2], row.toll);
        node.toggleAttribute("data-stopped", row.stopped);
      });
    show(logBox, now.log.length > 0);
    lines(backList, now.back.length || !now.done ? now.back : ["Working out what each reading told …"]);
    show(back, now.done);
    split.toggleAttribute("data-done", now.done);
    show(caption, !now.done);
    paint();
  }

  const draw = () => {
    drawing.draw(model.get("drawing"));
    paint();
  };
  model.on("change:task", update);
  model.on("change:drawing", draw);
  update();
  draw();
  link.replay((message, answer) => say(answer.ok ? answer.said || "" : `${message.text}: ${answer.said}`));
  return () => {
    model.off("change:task", update);
    model.off("change:drawing", draw);
    link.close();
  };
}

export default { render };
