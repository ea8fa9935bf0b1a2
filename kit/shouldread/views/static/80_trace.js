// Tracing a stage: one part a line, by keyboard; what does not go is said beside the line.

/** @param {any} model @param {ReturnType<typeof makeLink>} link @param {any} hands */
function makeTrace(model, link, hands) {
  const name = field("Stage", { class: "sr-wide", "data-name": "stage name" });
  const nameStand = entry(name.input, link, "stage name", (text, _, settle) => {
    if (text) link.commit("stage name", { text }, (answer) => {
      settle(answer);
      hands.say(answer.said || "");
    });
  });
  const line = /** @type {HTMLInputElement} */ (h("input", {
    type: "text", class: "sr-wide sr-code", spellcheck: "false", autocomplete: "off", "data-name": "part",
    "aria-label": "Next part",
  }));
  const wrong = h("p", { class: "sr-wrong", role: "alert" });
  const list = h("ol", { class: "sr-parts" });
  const empty = h("p", { class: "sr-soft" }, "No part yet. Type what you see: a name, where it sits, its value.");
  entry(line, link, "part", (text, how, settle) => {
    if (how === "left" || !text) return;
    line.value = "";
    link.commit("part", { text }, (answer) => {
      put(wrong, answer.ok ? "" : answer.said || "");
      settle(answer);
      hands.say(answer.said || "");
    });
  });
  const make = (/** @type {any} */ part) => {
    const code = h("code", {});
    const remark = h("span", { class: "sr-wrong" });
    const off = h("button", { type: "button", class: "sr-quiet", "aria-label": `Take back ${part.text}`,
      onclick: () => link.commit("unpart", { text: part.key }, (answer) => hands.say(answer.said || "")) }, "take back");
    return h("li", {}, code, off, remark);
  };
  const hints = h("ul", { class: "sr-hints" });
  for (const [written, means] of [
    ["R? from 12V_AUX to B1 47k", "a resistor between two points; ? = no marking, the kit names it"],
    ["R7 from B1 to GND ?", "a value that cannot be read"],
    ["Q1 npn c EN b B1 e GND", "a transistor, pin by pin; or npn | prebiased while unsure"],
    ["VAUX at 12V_AUX 12", "what feeds the stage"],
  ]) hints.append(h("li", {}, h("code", {}, written), h("span", { class: "sr-about" }, means)));
  const done = h("button", { type: "button", class: "sr-button", "data-name": "use",
    onclick: () => link.commit("use", {}, (answer) => {
      hands.say(answer.said || "");
      if (answer.ok) hands.open("stage");
    }) }, "Put it on the bench");
  const likes = h("ul", { class: "sr-plain" });
  const looks = panel("This looks like", likes);
  const drawing = makeDrawing(() => undefined, () => undefined);
  const box = h("div", { class: "sr-screen sr-trace" },
    h("div", { class: "sr-row" }, name.box),
    h("div", { class: "sr-split" },
      h("div", { class: "sr-main" }, h("label", { class: "sr-field sr-grow" }, h("span", { class: "sr-label" }, "Part"), line),
        wrong, list, empty, h("div", { class: "sr-row" }, done)),
      h("div", { class: "sr-side" }, panel("How to type a part", hints), looks)), drawing.box);
  return {
    box,
    update() {
      const now = model.get("trace");
      nameStand.stands(now.name, now.revision);
      keyed(list, now.parts, (part) => part.key, make, (node, part) => {
        put(node.children[0], part.text);
        put(node.children[2], part.wrong);
      });
      show(empty, now.parts.length === 0);
      done.toggleAttribute("disabled", !now.ready);
      lines(likes, now.likes);
      show(looks, now.likes.length > 0);
      drawing.draw(now.drawing);
    },
  };
}
