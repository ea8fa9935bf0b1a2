// The slider: what every point would read if one part had another value. The newest position wins, one on its way.

/** @param {ReturnType<typeof makeLink>} link @param {any} hands @param {() => void} shown */
function makeWhatIf(link, hands, shown) {
  const DECADES = 1.5; // to either side
  const slider = /** @type {HTMLInputElement} */ (h("input", {
    type: "range", min: -DECADES, max: DECADES, step: "0.02", value: "0", "data-name": "what if value",
  }));
  const said = h("output", { class: "sr-unit" });
  const moving = h("div", { class: "sr-moving", hidden: true }, slider, said,
    h("button", { type: "button", class: "sr-quiet", onclick: () => clear() }, "as it is"));
  let part = "";
  let waiting = false;
  let wanted = "";
  /** @type {any} */
  let told = null;
  const picked = picker("What if", (name) => {
    part = name;
    slider.value = "0";
    slider.setAttribute("aria-label", `Value of ${name}, from a thirtieth to thirty times`);
    told = null;
    show(moving, Boolean(name));
    put(said, "");
    if (name) move();
    shown();
  });
  const move = () => {
    wanted = (10 ** Number(slider.value)).toPrecision(4);
    if (waiting || !part) return;
    const asked = wanted;
    const name = part;
    waiting = true;
    link.ask("what if", { part: name, text: asked }, (answer) => {
      waiting = false;
      if (!answer.ok) hands.say(answer.said || "");
      else if (name === part) {
        told = answer.told;
        put(said, told.name);
        slider.setAttribute("aria-valuetext", told.name);
        shown();
      }
      if (wanted !== asked) move();
    });
  };
  slider.addEventListener("input", move);
  const clear = () => {
    part = "";
    told = null;
    show(moving, false);
    picked.set(names, "", "nothing");
    shown();
  };
  /** @type {string[]} */
  let names = [];
  const box = h("div", { class: "sr-whatif" }, picked.box, moving);
  return {
    box,
    clear,
    active: () => Boolean(part),
    /** The column that is shown, null when nothing is moved. */
    column: () => (part ? told : null),
    /** @param {any[]} values */
    update(values) {
      names = values.map((row) => row.name);
      if (!names.includes(part)) part = "";
      picked.set(names, part, "nothing");
    },
    /** Readings changed what is healthy: ask anew. */
    refresh: () => part && move(),
  };
}
