// Tracing a stage: one part a line, by keyboard; each line is drawn at once, what does not go is said beside it.

const TRACE_HINTS = [
  ["R? from 12V_AUX to B1 47k", "between two points; ? = no marking, it gets the next number"],
  ["R7 from B1 to GND ?", "a value that cannot be read; or 1k..100k"],
  ["Q1 npn c EN b B1 e GND", "leg by leg; npn bec 1 B1 2 GND 3 EN where the package counts so"],
  ["Q7 npn pair 1 GND 2 B1 6 X", "two in one; Q7.2 is then a place"],
  ["Q7 npn pair | npn prebiased pair", "not sure which"],
  ["R4 from X to B2? 10k", "not sure that it goes there"],
  ["VAUX at 12V_AUX 12", "what feeds the stage"],
  ["X is Q7.6", "two names, one point"],
];

/** The field in which parts are typed: a new line, or with arrow up and down one that stands.
 * @param {ReturnType<typeof makeLink>} link @param {any} hands */
function partField(link, hands) {
  const label = h("span", { class: "sr-label" }, "Part");
  const line = /** @type {HTMLInputElement} */ (h("input", {
    type: "text", class: "sr-wide sr-code", spellcheck: "false", autocomplete: "off", "data-name": "part",
    "aria-label": "Part: its name, where it sits, its value", placeholder: "",
  }));
  const wrong = h("p", { class: "sr-wrong", role: "alert" });
  /** @type {any[]} */
  let parts = [];
  let at = ""; // the key of the line that is changed, "" for a new one
  const told = (/** @type {(a: Answer) => void} */ settle) => (/** @type {Answer} */ answer) => {
    put(wrong, answer.ok ? "" : answer.said || "");
    settle(answer);
    hands.say(answer.said || "");
  };
  /** @param {any} part */
  const change = (part) => {
    at = part ? part.key : "";
    line.value = part ? part.text : "";
    put(label, part ? `Change ${part.text.split(/\s/)[0]} (empty takes it back, Escape leaves it)` : "Part");
  };
  entry(line, link, "part", (text, how, settle) => {
    if (how === "left") return;
    const old = parts.find((part) => part.key === at);
    const typed = line.value.trim();
    change(null);
    if (old && !typed) link.commit("unpart", { text: old.key }, told(settle));
    else if (text && text !== old?.text) link.commit("part", old ? { text, line: old.key } : { text }, told(settle));
  });
  line.addEventListener("keydown", (event) => {
    const step = { ArrowUp: -1, ArrowDown: 1 }[event.key];
    if (event.key === "Escape" && at) change(null);
    if (!step || (!at && (step > 0 || line.value.trim()))) return;
    event.preventDefault();
    const now = at ? parts.findIndex((part) => part.key === at) : parts.length;
    change(parts[Math.max(0, now + step)] || null);
  });
  return {
    box: h("label", { class: "sr-field sr-grow" }, label, line),
    wrong,
    /** @param {any} part */
    change(part) {
      change(part);
      line.focus();
    },
    /** A point of the drawing goes into the line. @param {string} place */
    insert(place) {
      const gap = line.value && !line.value.endsWith(" ") ? " " : "";
      line.value += `${gap}${place} `;
      line.dispatchEvent(new Event("input"));
      line.focus();
    },
    /** @param {any[]} now */
    update(now) {
      parts = now;
    },
  };
}

/** One line as it stands. @param {any} part @param {ReturnType<typeof makeLink>} link @param {any} hands */
function partRow(part, link, hands) {
  const text = h("button", { type: "button", class: "sr-partline", tabIndex: -1 }, h("code", {}));
  const off = h("button", { type: "button", class: "sr-quiet", tabIndex: -1 }, "take back");
  const said = h("span", { class: "sr-why" });
  const wrong = h("span", { class: "sr-wrong" });
  const sorts = h("span", { class: "sr-sorts" });
  const node = h("li", {}, text, off, said, wrong, sorts);
  let now = part;
  text.addEventListener("click", () => hands.change(now));
  off.addEventListener("click", () => link.commit("unpart", { text: now.key }, (answer) => hands.say(answer.said || "")));
  node.addEventListener("sr-update", (event) => {
    now = /** @type {CustomEvent} */ (event).detail;
    put(text.children[0], now.text);
    text.setAttribute("aria-label", `Change ${now.text}`);
    off.setAttribute("aria-label", `Take back ${now.text}`);
    put(said, now.said);
    put(wrong, now.wrong ? `✗ ${now.wrong}` : "");
    show(said, Boolean(now.said));
    keyed(sorts, now.also, (sort) => sort, (sort) => h("button", { type: "button", class: "sr-quiet",
      onclick: () => link.commit("sort", { text: sort, line: now.key }, (answer) => hands.say(answer.said || "")) },
    `it is: ${sort}`), () => undefined);
  });
  return node;
}

/** Netlist text as the second view of the same stage.
 * @param {ReturnType<typeof makeLink>} link @param {any} hands */
function netlistBox(link, hands) {
  const area = /** @type {HTMLTextAreaElement} */ (h("textarea", {
    class: "sr-netlist", spellcheck: "false", rows: "14", "aria-label": "Netlist of the stage", "data-name": "netlist",
  }));
  const wrong = h("pre", { class: "sr-wrong", role: "alert" });
  let stood = "";
  const take = () => link.commit("netlist", { text: area.value }, (answer) => {
    put(wrong, answer.ok ? "" : answer.said || "");
    if (answer.ok) stood = area.value;
    hands.say(answer.said || "");
  });
  area.addEventListener("keydown", (event) => {
    if (event.key === "Escape") area.value = stood;
  });
  const copy = h("button", { type: "button", class: "sr-quiet", onclick: () => {
    const file = new Blob([area.value], { type: "text/plain" });
    const address = URL.createObjectURL(file);
    h("a", { href: address, download: `${hands.name().replace(/\W+/g, "_") || "stage"}.cir` }).click();
    URL.revokeObjectURL(address);
  } }, "save as a .cir file");
  const box = h("details", { class: "sr-netbox" }, h("summary", {}, "Netlist, the same stage as a circuit file"), area, wrong,
    h("div", { class: "sr-row" },
      h("button", { type: "button", class: "sr-quiet", onclick: take }, "take the netlist as changed"), copy));
  return {
    box,
    /** @param {string} text */
    stands(text) {
      show(box, Boolean(text) || Boolean(stood));
      if (area.value === stood && area.value !== text) area.value = text;
      stood = text;
    },
  };
}

/** @param {any} model @param {ReturnType<typeof makeLink>} link @param {any} hands */
function makeTrace(model, link, hands) {
  const tell = (/** @type {Answer} */ answer) => hands.say(answer.said || "");
  const name = field("Stage", { class: "sr-wide", "data-name": "stage name" });
  const nameStand = entry(name.input, link, "stage name", (text, how, settle) => {
    if (text) link.commit("stage name", { text }, (answer) => {
      settle(answer);
      tell(answer);
    });
    if (how === "enter") line.box.querySelector("input")?.focus();
  });
  const line = partField(link, hands);
  const rowHands = { ...hands, change: line.change };
  const list = h("ol", { class: "sr-parts" });
  const counted = h("p", { class: "sr-soft sr-counted" });
  const empty = h("p", { class: "sr-soft" }, "No part yet. Type what you see: a name, where it sits, its value.");
  const over = h("button", { type: "button", class: "sr-quiet", "data-name": "retrace",
    onclick: () => link.commit("retrace", {}, tell) }, "take over the stage on the bench");
  const hints = h("ul", { class: "sr-hints" });
  for (const [written, means] of TRACE_HINTS) {
    hints.append(h("li", {}, h("code", {}, written), h("span", { class: "sr-about" }, means)));
  }
  const done = h("button", { type: "button", class: "sr-button", "data-name": "use",
    onclick: () => link.commit("use", {}, (answer) => {
      tell(answer);
      if (answer.ok) hands.open("stage");
    }) }, "Put it on the bench");
  const undo = h("button", { type: "button", class: "sr-quiet", "data-name": "untrace",
    onclick: () => link.commit("untrace", { text: model.get("trace").last }, tell) }, "undo");
  const questions = h("ul", { class: "sr-plain" });
  const open = panel("Still open", questions);
  const likes = h("ul", { class: "sr-likes" });
  const looks = panel("This looks like", likes);
  const help = h("details", { class: "sr-panel", open: true }, h("summary", {}, "How to type a part"), hints);
  const drawing = makeDrawing((place, go) => go && line.insert(place), line.insert);
  const netlist = netlistBox(link, { ...hands, name: () => model.get("trace").name });
  const box = h("div", { class: "sr-screen sr-trace" },
    h("div", { class: "sr-row" }, name.box, line.box), line.wrong, drawing.box,
    h("div", { class: "sr-split" },
      h("div", { class: "sr-main" }, counted, list, empty, h("div", { class: "sr-row" }, done, undo, over), netlist.box),
      h("div", { class: "sr-side" }, open, looks, help)));
  return {
    box,
    update() {
      const now = model.get("trace");
      nameStand.stands(now.name, now.revision);
      line.update(now.parts);
      keyed(list, [...now.parts].reverse(), (part) => part.key, (part) => partRow(part, link, rowHands), (node, part) =>
        node.dispatchEvent(new CustomEvent("sr-update", { detail: part })));
      put(counted, now.counted);
      show(empty, now.parts.length === 0);
      show(over, now.parts.length === 0 && model.get("head").has_circuit);
      done.toggleAttribute("disabled", !now.ready);
      undo.toggleAttribute("disabled", !now.last);
      lines(questions, now.questions);
      show(open, now.questions.length > 0);
      keyed(likes, now.likes, (like) => like.name, () => h("li", {}, h("b", {}), h("ul", { class: "sr-plain sr-soft" })),
        (node, like) => {
          put(node.children[0], like.title);
          lines(node.children[1], like.differences);
        });
      show(looks, now.likes.length > 0);
      netlist.stands(now.netlist);
      drawing.draw(now.drawing);
    },
  };
}
