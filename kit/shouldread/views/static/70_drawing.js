// The drawing: built once, element by element, from a tree of plain data; then only texts and marks change.

const DRAWN = new Set(["svg", "g", "rect", "polyline", "polygon", "circle", "path", "text", "title"]);
const DRAWN_WITH = new Set([
  "class", "points", "fill", "stroke", "stroke-width", "cx", "cy", "r", "d", "x", "y", "text-anchor", "font-weight",
  "textLength", "lengthAdjust", "data-node", "data-part", "transform", "pointer-events", "width", "height", "viewBox",
  "font-family", "font-size", "stroke-linecap", "stroke-linejoin",
]);

const INSIDE = 0.56; // times its size where a mark stands in the circle of its point

const EDGE = 60; // px from the side within which a point counts as out of view
const ROUND = 5.2; // units: a point's ring; the nearest text begins 6.3 from its middle

/** A line below every name of a rail or flag, which has no ring: its texts stand too close.
 * @param {Element[]} names @param {number} below @param {string} sort */
function underline(names, below, sort) {
  const strokes = names.map((name) => {
    const [x, y, wide] = ["x", "y", "textLength"].map((key) => Number(name.getAttribute(key)));
    const left = x - { start: 0, middle: wide / 2, end: wide }[name.getAttribute("text-anchor") || "start"];
    return `M${left},${y + below} h${wide}`;
  });
  return s("path", { class: `sr-underline ${sort}`, d: strokes.join(" "), fill: "none", stroke: "none" });
}

/** One element of the tree: [tag, attributes, children or text]. @param {any[]} item */
function drawn([tag, attributes, content]) {
  if (!DRAWN.has(tag)) return document.createComment("not drawn");
  const node = s(tag);
  for (const [name, value] of Object.entries(attributes)) if (DRAWN_WITH.has(name)) node.setAttribute(name, value);
  if (Array.isArray(content)) node.append(...content.map(drawn));
  else if (content) node.textContent = content;
  return node;
}

/**
 * @param {(place: string, goThere?: boolean) => void} choose
 * @param {(place: string) => void} type go to the field of a point
 */
function makeDrawing(choose, type) {
  const scroll = h("div", { class: "sr-scroll sr-picture", role: "region", "aria-label": "Drawing of the circuit" });
  const remarks = h("ul", { class: "sr-plain sr-soft" });
  const box = panel("Drawing", scroll, remarks);
  /** @type {Map<string, any>} */
  let spots = new Map();
  let marks = /** @type {Record<string, string>} */ ({});
  let [wide, shown] = [1, ""]; // units of the drawing, and the point that was brought into view last
  show(box, false);

  /** The spots of one node: the first is reached by keyboard, all of them by pointer.
   * @param {string} node @param {Element[]} groups @param {Element[]} readings @param {Element[]} names */
  function makeSpot(node, groups, readings, names) {
    const parts = groups.map((group) => {
      const hit = /** @type {Element} */ (group.querySelector(".draw-hit"));
      const [x, y] = ["cx", "cy"].map((name) => Number(hit.getAttribute(name)));
      const ring = s("circle", { cx: x, cy: y, r: ROUND, class: "sr-ring", fill: "none", stroke: "none" });
      const plate = s("circle", { cx: x, cy: y, r: ROUND, class: "sr-plate", stroke: "none", "stroke-width": 1.2 });
      const mark = s("path", { class: "sr-mark", fill: "none" });
      const onWire = Boolean(group.querySelector(".draw-spot"));
      group.append(...(onWire ? [plate, mark, ring] : [underline(names, 2.5, "sr-once"), underline(names, 5, "")]));
      group.classList.add("sr-spot");
      group.addEventListener("click", () => choose(node, true));
      return { group, x, y, mark, onWire };
    });
    const main = parts[0];
    dress(main.group, { role: "radio", "aria-checked": "false", tabindex: "-1" });
    main.group.addEventListener("keydown", (event) => move(/** @type {KeyboardEvent} */ (event), node));
    return { node, parts, readings, x: main.x, y: main.y, main: main.group };
  }

  /** @param {KeyboardEvent} event @param {string} node */
  function move(event, node) {
    if (event.key === "Enter" || event.key === " ") {
      event.preventDefault();
      type(node);
      return;
    }
    const way = { ArrowRight: [1, 0], ArrowLeft: [-1, 0], ArrowDown: [0, 1], ArrowUp: [0, -1] }[event.key];
    if (!way) return;
    event.preventDefault();
    const next = nearest(spots.get(node), way);
    if (next) {
      choose(next.node);
      next.main.focus();
    }
  }

  /** The nearest spot that lies that way. @param {any} from @param {number[]} way */
  function nearest(from, way) {
    let best = null;
    let least = Infinity;
    for (const spot of spots.values()) {
      const along = (spot.x - from.x) * way[0] + (spot.y - from.y) * way[1];
      const aside = Math.abs((spot.x - from.x) * way[1]) + Math.abs((spot.y - from.y) * way[0]);
      const cost = along + 2.5 * aside;
      if (along > 0.5 && cost < least) [best, least] = [spot, cost];
    }
    return best;
  }

  /** Where the drawing is wider than its room, bring a point into view once, when it becomes the one that matters.
   * @param {string} place */
  function reveal(place) {
    const spot = spots.get(place);
    if (!spot || place === shown || !scroll.clientWidth) return;
    shown = place;
    const spare = scroll.scrollWidth - scroll.clientWidth;
    const x = spot.x * scroll.scrollWidth / wide - scroll.scrollLeft;
    if (spare > 1 && (x < EDGE || x > scroll.clientWidth - EDGE)) scroll.scrollLeft += x - scroll.clientWidth / 2;
  }

  return {
    box,
    /** @param {any} drawing */
    draw(drawing) {
      show(box, Boolean(drawing.tree) || drawing.remarks.length > 0);
      lines(remarks, drawing.remarks);
      show(remarks, drawing.remarks.length > 0);
      if (!drawing.tree) return scroll.replaceChildren();
      marks = drawing.marks;
      [wide, shown] = [drawing.width, ""];
      const svg = /** @type {SVGElement} */ (drawn(drawing.tree));
      dress(svg, { role: "radiogroup", "aria-label": "Points of the circuit; arrow keys move, Enter goes to the reading" });
      svg.style.minWidth = `${Math.round(drawing.width)}px`;
      svg.style.maxWidth = `${Math.round(drawing.width * 1.25)}px`;
      for (const ink of svg.children) if (!ink.classList.contains("draw-node")) ink.setAttribute("aria-hidden", "true");
      const readings = [...svg.querySelectorAll("text.draw-reading")];
      const groups = [...svg.querySelectorAll("g.draw-node")];
      const names = [...svg.querySelectorAll("text.draw-node")];
      const of = (/** @type {Element[]} */ all, /** @type {string} */ node) =>
        all.filter((element) => element.getAttribute("data-node") === node);
      const nodes = [...new Set(groups.map((group) => group.getAttribute("data-node") || "0"))].filter((node) => node !== "0");
      spots = new Map(nodes.map((node) => [node, makeSpot(node, of(groups, node), of(readings, node), of(names, node))]));
      scroll.replaceChildren(svg);
      const first = spots.values().next().value;
      if (first) first.main.setAttribute("tabindex", "0");
    },
    /** @param {any[]} points @param {string} place @param {string} next @param {any} column @param {string} fault */
    paint(points, place, next, column, fault) {
      for (const point of points) {
        const spot = spots.get(point.place);
        if (!spot) continue;
        const { look, sign } = markOf(point.verdict);
        const words = fault ? (column ? column.short[point.place] || "" : "…") : point.short;
        const onWire = spot.parts[0].onWire; // a flag has no room for a mark: it stands before the words
        for (const text of spot.readings) put(text, onWire || fault || !words ? words || "" : `${sign} ${words}`.trim());
        for (const part of spot.parts) {
          const size = look === "wrong" ? 0.86 : INSIDE; // a filled mark needs no circle around it
          dress(part.mark, { d: onWire ? marks[point.verdict] || "" : "", "data-filled": look === "wrong",
            transform: `translate(${part.x} ${part.y}) scale(${size})` });
          dress(part.group, { "data-look": look, "data-next": point.place === next, "data-chosen": point.place === place });
        }
        for (const text of spot.readings) dress(text, { "data-read": Boolean(point.read) && !fault, "data-look": look });
        dress(spot.main, {
          "aria-checked": String(point.place === place),
          "aria-label": [point.place, `should read ${point.should}`, point.read ? `read ${point.read}` : "not read",
            point.verdict, fault ? `with ${fault}: ${words}` : "", point.place === next ? "next probe" : ""]
            .filter(Boolean).join(", "),
        });
        if (place) spot.main.setAttribute("tabindex", point.place === place ? "0" : "-1");
      }
      reveal(place || next);
    },
  };
}
