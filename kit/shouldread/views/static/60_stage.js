// The stage: readings first, then the drawing; suspects and the next probe beside them.

const AHEAD = 12; // suspects whose readings are fetched before anybody asks
const PAUSE = 300; // ms after a change before that begins

/** One point: what it should read, what it read, what it would read under the chosen fault.
 * @param {any} point @param {ReturnType<typeof makeLink>} link @param {any} hands */
function pointRow(point, link, hands) {
  const name = h("th", { scope: "row" }, h("b", { class: "sr-place" }, point.place), h("span", { class: "sr-about" }));
  const typical = h("span", {});
  const span = h("span", { class: "sr-about" });
  const should = h("td", { class: "sr-num" }, typical, span);
  const underTypical = h("span", {});
  const underSpan = h("span", { class: "sr-about" });
  const under = h("td", { class: "sr-num sr-under" }, underTypical, underSpan);
  const read = /** @type {HTMLInputElement} */ (h("input", {
    type: "text", class: "sr-read", spellcheck: "false", autocomplete: "off", tabIndex: -1,
    "aria-label": `${point.place} reads`, "data-place": point.place,
  }));
  const verdict = verdictBox();
  const node = h("tr", {}, name, should, h("td", {}, read), h("td", { class: "sr-said" }, verdict), under);
  const stand = entry(read, link, `point ${point.key}`, (text, how, settle) => {
    if (text) hands.readPoint(point.place, text, settle);
    if (how === "enter") hands.next(read);
  });
  read.addEventListener("focus", () => hands.choose(point.place, false));
  node.addEventListener("sr-update", (event) => {
    const { point: now, under: told, chosen, isNext, revision } = /** @type {CustomEvent} */ (event).detail;
    put(name.children[1], now.about);
    put(typical, now.typical);
    put(span, tight(now.span));
    put(underTypical, told.typical);
    put(underSpan, tight(told.span));
    stand.stands(now.read, revision);
    setVerdict(verdict, /** @type {CustomEvent} */ (event).detail.verdict);
    dress(verdict, { title: now.why || null });
    node.toggleAttribute("data-chosen", chosen);
    node.toggleAttribute("data-next", isNext);
    under.toggleAttribute("data-moved", told.moved);
  });
  return node;
}

/** @param {any} model @param {ReturnType<typeof makeLink>} link @param {any} hands */
function makeStage(model, link, hands) {
  const seen = { place: "", fault: "", asked: "", pause: 0, columns: /** @type {Record<string, any>} */ ({}),
    early: /** @type {Record<string, {verdict: string, revision: number, of: string}>} */ ({}) };
  const say = (/** @type {Answer} */ answer) => hands.say(answer.said || "");
  const look = (/** @type {Record<string, any>} */ part, /** @type {(a: Answer) => void} */ settle = () => undefined) => {
    const { setting, state, condition } = model.get("stage");
    link.ask("look", { setting, state, condition, ...part }, (answer) => {
      settle(answer);
      say(answer);
    });
  };
  const setting = choice("Setting", ["volts"], (name) => look({ setting: name }));
  const state = picker("State", (name) => look({ state: name }));
  const condition = field("With", { class: "sr-wide", "data-name": "condition" });
  const conditionStand = entry(condition.input, link, "condition", (_, __, settle) =>
    look({ condition: condition.input.value.trim() }, settle));
  const meter = picker("Meter", (name) => link.commit("meter", { text: name }, say));
  const fault = picker("Suppose", (name) => suppose(name));
  const whatIf = makeWhatIf(link, hands, () => {
    if (whatIf.column()) seen.fault = "";
    paint();
  });
  const caution = cautionLine();
  const head = h("th", { scope: "col", class: "sr-under" });
  const body = h("tbody");
  const walk = rowWalk(body, "input.sr-read");
  const table = h("table", { class: "sr-table sr-points" },
    h("caption", {}, "Number and Enter goes to the next point."),
    h("thead", {}, h("tr", {}, ...["Point", "Should read", "Reads", "Verdict"].map((word) =>
      h("th", { scope: "col" }, word)), head)), body);
  const probe = makeNextProbe(hands, link);
  const confirmation = makeConfirmation();
  const suspects = makeSuspects((name) => suppose(name === seen.fault ? "" : name), (name) =>
    link.ask("confirm", { fault: name, state: model.get("stage").state }, (answer) => {
      if (answer.ok) confirmation.update(answer.told);
      else hands.say(answer.said || "");
    }));
  const drawing = makeDrawing(choose, (place) => fieldOf(place)?.focus());
  const title = h("p", { class: "sr-title" });
  const taken = h("ol", { class: "sr-taken" });
  const count = h("summary", {});
  const log = h("details", { class: "sr-rest" }, count, taken);
  const box = h("div", { class: "sr-screen sr-stage" }, title,
    h("div", { class: "sr-row" }, setting.box, state.box, condition.box, meter.box, fault.box),
    whatIf.box, caution,
    h("div", { class: "sr-split" },
      h("div", { class: "sr-main" },
        h("div", { class: "sr-scroll", role: "region", tabIndex: -1, "aria-label": "Points" }, table)),
      h("div", { class: "sr-side" }, probe.box, suspects.box, log)), confirmation.box, drawing.box);
  const tableHands = {
    ...hands,
    choose,
    next: (/** @type {HTMLInputElement} */ input) => walk.go(input, 1) || probe.input.focus(),
    readPoint: (/** @type {string} */ place, /** @type {string} */ text, /** @type {(a: Answer) => void} */ done) => {
      const { setting: at, state: fed, condition: under } = model.get("stage");
      hands.read({ at: place, setting: at, state: fed, condition: under, text }, done);
    },
  };

  /** @param {string} place */
  function fieldOf(place) {
    return /** @type {HTMLInputElement|undefined} */ (
      [...body.querySelectorAll("input.sr-read")].find((input) => input.getAttribute("data-place") === place));
  }

  /** @param {string} place @param {boolean} [goThere] */
  function choose(place, goThere = false) {
    seen.place = place;
    paint();
    if (goThere) fieldOf(place)?.focus();
  }

  /** Show what every point would read under a fault; columns already here are switched in the page.
   * @param {string} name */
  function suppose(name) {
    seen.fault = name;
    if (name && whatIf.active()) whatIf.clear();
    inquireChosen();
    paint();
  }

  /** Ask what every point would read under a fault. @param {string} name @param {(a: Answer) => void} done */
  function inquire(name, done) {
    const { setting: at, state: fed, condition: under } = model.get("stage");
    link.ask("suppose", { fault: name, setting: at, state: fed, condition: under }, (answer) => {
      if (answer.ok) seen.columns[`${answer.told.basis}/${name}`] = answer.told;
      done(answer);
      if (name === seen.fault) paint();
    });
  }

  /** The chosen fault's readings, where the page does not have them or they rest on something else by now. */
  function inquireChosen() {
    const name = seen.fault;
    if (!name || columnOf(name) || seen.asked === name) return;
    seen.asked = name;
    inquire(name, (answer) => {
      seen.asked = "";
      if (!answer.ok) hands.say(answer.said || "");
      else if (name === seen.fault) inquireChosen(); // what is in view may have changed meanwhile
    });
  }

  /** At a pause, ask for what the suspects would show, one by one: choosing one is then the page's own work. */
  function lookAhead() {
    window.clearTimeout(seen.pause);
    seen.pause = window.setTimeout(() => {
      const now = model.get("stage");
      const name = now.basis && now.faults.slice(0, AHEAD).find((/** @type {string} */ fault) => !columnOf(fault));
      if (name) inquire(name, (answer) => answer.ok && lookAhead());
    }, PAUSE);
  }

  /** What a place would read under the chosen fault. @param {any} column @param {string} place */
  function underOf(column, place) {
    if (!seen.fault && !column) return { typical: "", span: "", moved: false };
    if (!column) return { typical: "…", span: "", moved: false };
    const moved = column.moved.includes(place);
    return { typical: column.typical[place] || "", span: column.span[place] || "", moved };
  }

  /** The verdict of a point: what came with the answer stands until a state knows of the reading.
   * @param {any} point @param {number} revision */
  function verdictOf(point, revision) {
    const early = seen.early[point.key];
    return early && revision <= early.revision ? early.verdict : point.verdict;
  }

  /** @param {string} name */
  function columnOf(name) {
    const now = model.get("stage");
    return seen.columns[`${now.basis}/${name}`];
  }

  function paint() {
    const now = model.get("stage");
    const column = seen.fault ? columnOf(seen.fault) : whatIf.column();
    const shown = seen.fault || column?.name || "";
    const next = now.next?.setting === now.setting ? now.next.at : "";
    keyed(body, now.points, (point) => point.key, (point) => pointRow(point, link, tableHands), (node, point) =>
      node.dispatchEvent(new CustomEvent("sr-update", { detail: {
        point, under: underOf(column, point.place), revision: now.revision, verdict: verdictOf(point, now.revision),
        chosen: point.place === seen.place, isNext: point.place === next,
      } })));
    walk.refresh();
    put(head, shown ? `with ${shown}` : "");
    table.toggleAttribute("data-supposed", Boolean(shown));
    suspects.update(now, seen.fault);
    fault.set(now.faults, seen.fault, "nothing wrong");
    drawing.paint(now.points, seen.place, next, column, shown);
  }

  return {
    box,
    drawing,
    /** Verdicts come ahead of the answer and of what they mean; when the reading could not be kept, they go again.
     * @param {any} message */
    hear(message) {
      for (const [key, verdict] of Object.entries(message?.verdicts || {})) {
        seen.early[key] = { verdict, revision: Infinity, of: message.judged };
      }
      const mine = Object.entries(seen.early).filter(([, early]) => early.of === message?.re);
      for (const [key, early] of mine) {
        if (message.ok) early.revision = Number(message.revision);
        else delete seen.early[key];
      }
      if (message?.judged || (mine.length && !message.ok)) paint();
    },
    update() {
      const now = model.get("stage");
      put(title, now.about);
      setting.fill(now.settings);
      setting.set(now.setting);
      state.set(now.states, now.state);
      conditionStand.stands(now.condition, now.revision);
      meter.set(now.meters, now.meter);
      whatIf.update(now.values);
      setCaution(caution, now.caution);
      probe.update(now);
      inquireChosen();
      lookAhead();
      put(count, `taken so far: ${now.taken.length}`);
      show(log, now.taken.length > 0);
      lines(taken, now.taken.map((row) => [row.label, row.read, row.verdict].filter(Boolean).join("  ")));
      paint();
    },
    draw() {
      drawing.draw(model.get("drawing"));
      paint();
    },
  };
}
