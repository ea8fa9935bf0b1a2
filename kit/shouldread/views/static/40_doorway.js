// The doorway: a board, how it is fed, and its rails. No circuit, no file.

const SUPPLY_FIELDS = [
  ["volts", "Supply", "V"],
  ["limit", "Limit", "A"],
  ["amps", "Draws", "A"],
];

/** @param {ReturnType<typeof makeLink>} link @param {(text: string) => void} say */
function supplyBox(link, say) {
  /** @type {Record<string, {input: HTMLInputElement, box: HTMLElement, stand: any}>} */
  const fields = {};
  const limiting = /** @type {HTMLInputElement} */ (h("input", { type: "checkbox" }));
  const fed = field("Fed inputs", { class: "sr-wide", "data-name": "fed" });
  const send = (/** @type {(a: Answer) => void} */ settle) => {
    const body = Object.fromEntries(SUPPLY_FIELDS.map(([name]) => [name, fields[name].input.value.trim()]));
    if (!Object.values(body).some(Boolean) && !fed.input.value.trim()) return;
    link.commit("supply", { ...body, limiting: limiting.checked, fed: fed.input.value.trim() }, (answer) => {
      settle(answer);
      say(answer.said || "");
    });
  };
  for (const [name, label, unit] of SUPPLY_FIELDS) {
    const made = field(label, { class: "sr-number", inputmode: "decimal", "data-name": `supply ${name}` }, unit);
    fields[name] = { ...made, stand: entry(made.input, link, `supply ${name}`, (text, how, settle) => {
      if (text) send(settle);
      if (how === "enter") {
        const row = [...Object.values(fields).map((f) => f.input), fed.input];
        row[row.indexOf(made.input) + 1]?.focus();
      }
    }) };
  }
  const fedStand = entry(fed.input, link, "fed", (_, __, settle) => send(settle));
  limiting.addEventListener("change", () => send(() => undefined));
  const box = h(
    "div", { class: "sr-supply", role: "group", "aria-label": "Bench supply" },
    ...SUPPLY_FIELDS.map(([name]) => fields[name].box),
    h("label", { class: "sr-tick" }, limiting, h("span", {}, "limiting")), fed.box,
  );
  return {
    box,
    first: fields.volts.input,
    /** @param {Record<string, any>} supply @param {number} revision */
    update(supply, revision) {
      for (const [name] of SUPPLY_FIELDS) fields[name].stand.stands(supply[name] || "", revision);
      limiting.checked = Boolean(supply.limiting);
      fedStand.stands(supply.fed || "", revision);
    },
  };
}

/** One rail: name, what is known of it, what it read, what that means.
 * @param {any} row @param {ReturnType<typeof makeLink>} link @param {any} hands */
function railRow(row, link, hands) {
  const name = h("th", { scope: "row" });
  const facts = /** @type {HTMLInputElement} */ (h("input", {
    type: "text", class: "sr-facts", spellcheck: "false", autocomplete: "off",
    "aria-label": `What is known of ${row.name}: nominal, from, made by, enabled by`,
  }));
  const read = /** @type {HTMLInputElement} */ (h("input", {
    type: "text", class: "sr-read", spellcheck: "false", autocomplete: "off", tabIndex: -1,
    "aria-label": `${row.name} reads`, "data-place": row.name,
  }));
  const verdict = verdictBox();
  const why = h("span", { class: "sr-why" });
  const node = h("tr", {}, name, h("td", { class: "sr-factcell" }, facts), h("td", {}, read),
    h("td", { class: "sr-said" }, verdict, why));
  const factsStand = entry(facts, link, `facts ${row.name}`, (text, _, settle) => {
    link.commit("rail", { rail: row.name, text }, (answer) => {
      settle(answer);
      hands.say(answer.said || "");
    });
  });
  const readStand = entry(read, link, `rail ${row.name}`, (text, how, settle) => {
    if (text) hands.read({ at: row.name, text }, settle);
    if (how === "enter") hands.next(read);
  });
  node.addEventListener("sr-update", (event) => {
    const { row: now, revision } = /** @type {CustomEvent} */ (event).detail;
    put(name, now.name);
    factsStand.stands(now.facts, revision);
    readStand.stands(now.read, revision);
    setVerdict(verdict, now.read ? now.verdict : "", now.said);
    put(why, now.why);
    node.toggleAttribute("data-first", Boolean(now.first));
    node.toggleAttribute("data-waits", Boolean(now.waits));
  });
  return node;
}

/** The line below the last rail: a name and a value make a new one.
 * @param {ReturnType<typeof makeLink>} link @param {any} hands */
function newRail(link, hands) {
  const name = /** @type {HTMLInputElement} */ (h("input", {
    type: "text", class: "sr-name", spellcheck: "false", autocomplete: "off", "aria-label": "New rail: its name",
    "data-name": "new rail",
  }));
  const read = /** @type {HTMLInputElement} */ (h("input", {
    type: "text", class: "sr-read", spellcheck: "false", autocomplete: "off", "aria-label": "New rail: what it reads",
    "data-name": "new reading",
  }));
  const enter = (/** @type {(a: Answer) => void} */ settle) => {
    const place = name.value.trim();
    const value = read.value.trim();
    if (!place) return;
    const [first, ...rest] = place.split(/\s+/);
    const body = rest.length ? { text: place } : value ? { at: first, text: value } : null;
    name.value = "";
    read.value = "";
    if (body) hands.read(body, settle);
    else link.commit("rail", { rail: first, text: "" }, (answer) => {
      settle(answer);
      hands.say(answer.said || "");
    });
    name.focus();
  };
  /** What could not be taken stands in the first field again. @param {string} text */
  const giveBack = (text) => (/** @type {Answer} */ answer) => {
    if (!answer.ok && !name.value) name.value = text;
  };
  entry(name, link, "new rail", (text, how) => {
    if (how === "left" || !text) return;
    if (/\s/.test(text)) enter(giveBack(text));
    else read.focus();
  });
  read.addEventListener("keydown", (event) => {
    if (event.key === "Enter") {
      event.preventDefault();
      enter(giveBack(`${name.value.trim()} ${read.value.trim()}`.trim()));
    }
  });
  const hint = h("span", { class: "sr-hint" }, "name, then what it reads; or 5V 2k1 at once");
  const row = h("tr", { class: "sr-new" }, h("th", { scope: "row" }, name), h("td", { class: "sr-factcell" }, hint),
    h("td", {}, read), h("td", {}));
  return { row, name };
}

/** Next places with a field each. @param {any} hands @param {ReturnType<typeof makeLink>} link */
function placeList(hands, link) {
  const list = h("ol", { class: "sr-places" });
  const walk = rowWalk(list, "input.sr-read");
  const make = (/** @type {any} */ step) => {
    const input = /** @type {HTMLInputElement} */ (h("input", {
      type: "text", class: "sr-read", spellcheck: "false", autocomplete: "off", tabIndex: -1,
      "aria-label": `${step.place} reads`, "data-place": step.place,
    }));
    entry(input, link, `place ${step.place}`, (text, how, settle) => {
      if (text) hands.read({ at: step.at, setting: step.setting, state: step.state, text }, settle);
      if (how === "enter") walk.go(input, 1);
    });
    return h("li", {}, h("label", { class: "sr-next" }, h("b", { class: "sr-place" }, step.place), input),
      h("span", { class: "sr-why" }));
  };
  return {
    list,
    /** @param {any[]} steps */
    update(steps) {
      keyed(list, steps, (step) => step.place, make, (node, step) =>
        put(node.children[1], step.why));
      walk.refresh();
    },
  };
}

/** @param {any} model @param {ReturnType<typeof makeLink>} link @param {any} hands */
function makeDoorway(model, link, hands) {
  const board = field("Board", { class: "sr-wide", "data-name": "board" });
  const symptom = field("Symptom", { class: "sr-wide", "data-name": "symptom" });
  const supply = supplyBox(link, hands.say);
  const say = (/** @type {Answer} */ answer) => hands.say(answer.said || "");
  const told = (/** @type {(a: Answer) => void} */ settle) => (/** @type {Answer} */ answer) => {
    settle(answer);
    say(answer);
  };
  const boardStand = entry(board.input, link, "board", (text, how, settle) => {
    if (text) link.commit("board", { text }, told(settle));
    if (how === "enter") symptom.input.focus();
  });
  const symptomStand = entry(symptom.input, link, "symptom", (text, how, settle) => {
    if (text) link.commit("symptom", { text }, told(settle));
    if (how === "enter") supply.first.focus();
  });
  const cases = picker("Go on with", (name) => name && link.ask("case", { text: name }, say));
  const settings = choice("Rails in", ["volts", "ohms", "diode"], (setting) => link.ask("rails in", { setting }, say));
  const body = h("tbody");
  const walk = rowWalk(body, "input.sr-read");
  const railHands = { ...hands, next: (/** @type {HTMLInputElement} */ input) => {
    if (!walk.go(input, 1)) fresh.name.focus();
  } };
  const fresh = newRail(link, railHands);
  const table = h("table", { class: "sr-table sr-rails" },
    h("caption", {}, "Number and Enter goes to the next rail."),
    h("thead", {}, h("tr", {}, ...["Rail", "Nominal, from, made by, enabled by", "Reads", "Verdict"].map((word) =>
      h("th", { scope: "col" }, word)))), body, h("tfoot", {}, fresh.row));
  const caution = cautionLine();
  const finding = h("p", { class: "sr-finding" });
  const says = h("ul", { class: "sr-plain" });
  const causes = h("ul", { class: "sr-plain" });
  const assumed = h("ul", { class: "sr-plain sr-soft" });
  const next = placeList(hands, link);
  const panels = [panel("Probe next", next.list), panel("Cannot be told apart yet", causes),
    panel("What the supply says", says), panel("Assumed", assumed)];
  const box = h("div", { class: "sr-screen sr-doorway" },
    h("div", { class: "sr-row" }, board.box, symptom.box, cases.box), supply.box,
    h("div", { class: "sr-row sr-over" }, settings.box, finding), caution,
    h("div", { class: "sr-scroll", role: "region", tabIndex: -1, "aria-label": "Rails" }, table),
    h("div", { class: "sr-panels" }, ...panels));

  return {
    box,
    /** Other cases that one may go on with. @param {{name: string, said: string}[]} others */
    offer(others) {
      cases.set(others.map((row) => row.name), "", "another case");
      for (const row of others) {
        const option = [...cases.select.options].find((one) => one.value === row.name);
        if (option) put(option, row.said);
      }
      show(cases.box, others.length > 0);
    },
    update() {
      const now = model.get("doorway");
      boardStand.stands(now.board, now.revision);
      symptomStand.stands(now.symptom, now.revision);
      supply.update(now.supply, now.revision);
      settings.set(now.setting);
      setCaution(caution, now.caution);
      keyed(body, now.rows, (row) => row.name, (row) => railRow(row, link, railHands), (node, row) =>
        node.dispatchEvent(new CustomEvent("sr-update", { detail: { row, revision: now.revision } })));
      walk.refresh();
      put(finding, now.finding);
      lines(says, now.says);
      lines(causes, now.causes);
      lines(assumed, now.assumed);
      next.update(now.next);
      [now.next, now.causes, now.says, now.assumed].forEach((rows, index) => show(panels[index], rows.length > 0));
    },
  };
}
