// What is left of the suspects, and the probe that would tell most.

const RANKS = ["likely", "possible", "unlikely"];

/** One group: what cannot be told apart, why, what would split it.
 * @param {any} group @param {(fault: string) => void} choose @param {(fault: string) => void} confirm */
function groupRow(group, choose, confirm) {
  const faults = h("div", { class: "sr-faults" });
  const why = h("p", { class: "sr-why" });
  const split = h("p", { class: "sr-why" });
  const test = h("button", { type: "button", class: "sr-quiet",
    onclick: () => confirm(faults.firstElementChild?.textContent || "") }, "how to confirm");
  const node = h("li", { class: "sr-group" }, faults, why, split, test);
  node.addEventListener("sr-update", (event) => {
    const now = /** @type {CustomEvent} */ (event).detail;
    keyed(faults, now.group.faults, (fault) => fault, (fault) =>
      h("button", { type: "button", class: "sr-fault", onclick: () => choose(fault) }, fault), (button, fault) => {
      button.setAttribute("aria-pressed", String(fault === now.fault));
      button.setAttribute("title", `what every point would read with ${fault}`);
    });
    put(why, now.group.why);
    put(split, now.group.split ? `told apart by: ${now.group.split}` : "");
    show(why, Boolean(now.group.why));
    show(split, Boolean(now.group.split));
    show(test, now.group.rank === "likely" && now.taken);
  });
  return node;
}

/** @param {(fault: string) => void} choose @param {(fault: string) => void} confirm */
function makeSuspects(choose, confirm) {
  const lists = Object.fromEntries(RANKS.map((rank) => [rank, h("ul", { class: "sr-groups" })]));
  const count = h("p", { class: "sr-finding" });
  const alike = h("p", { class: "sr-alike" });
  const others = h("ul", { class: "sr-plain" });
  const rest = h("details", { class: "sr-rest" }, h("summary", {}, "unlikely"), lists.unlikely);
  const heads = { likely: h("h4", {}, "likely"), possible: h("h4", {}, "possible") };
  const box = panel("Suspects", count, alike, heads.likely, lists.likely, heads.possible, lists.possible, rest, others);
  return {
    box,
    /** @param {any} now @param {string} fault the chosen one */
    update(now, fault) {
      put(count, now.left);
      put(alike, now.alike);
      show(alike, Boolean(now.alike));
      for (const rank of RANKS) {
        const groups = now.groups.filter((/** @type {any} */ group) => group.rank === rank);
        keyed(lists[rank], groups, (group) => group.key, (group) => groupRow(group, choose, confirm), (node, group) =>
          node.dispatchEvent(new CustomEvent("sr-update", { detail: { group, fault, taken: now.taken.length > 0 } })));
        if (rank !== "unlikely") show(heads[rank], groups.length > 0);
        else {
          show(rest, groups.length > 0);
          put(/** @type {Element} */ (rest.firstElementChild), `unlikely: ${now.unlikely}`);
        }
      }
      lines(others, now.notes);
      show(others, now.notes.length > 0);
    },
  };
}

/** Steps that confirm a fault before anything is replaced, cheapest and safest first. */
function makeConfirmation() {
  const title = h("h3", {});
  const far = h("p", { class: "sr-why" });
  const steps = h("ol", { class: "sr-steps" });
  const why = h("p", { class: "sr-why" });
  const close = h("button", { type: "button", class: "sr-quiet", onclick: () => show(box, false) }, "close");
  const box = h("section", { class: "sr-panel sr-confirm", hidden: true, "aria-label": "How to confirm" },
    title, far, steps, why, close);
  return {
    box,
    /** @param {any} now */
    update(now) {
      put(title, `Confirm ${now.fault} before replacing`);
      steps.replaceChildren(...now.steps.map((/** @type {any} */ step) => h("li", {},
        h("p", { class: "sr-do" }, step.action), step.caution ? h("p", { class: "sr-caution" }, `⚠ ${step.caution}`) : null,
        step.reads.length ? h("table", { class: "sr-table" },
          h("thead", {}, h("tr", {}, ...["Read", "if it is", "if not"].map((word) => h("th", { scope: "col" }, word)))),
          h("tbody", {}, ...step.reads.map((/** @type {any} */ read) => h("tr", {},
            h("th", { scope: "row" }, read.place), h("td", {}, read.right), h("td", {}, read.wrong))))) : null)));
      put(far, now.so_far);
      show(far, Boolean(now.so_far));
      put(why, now.why);
      show(box, true);
      title.scrollIntoView({ block: "nearest" });
    },
  };
}

/** The next probe with its own field: number and Enter goes on.
 * @param {any} hands @param {ReturnType<typeof makeLink>} link */
function makeNextProbe(hands, link) {
  const lead = leads();
  const how = h("p", { class: "sr-how" });
  const why = h("p", { class: "sr-why" });
  const caution = cautionLine();
  const read = field("reads", { class: "sr-read", "data-name": "next probe" });
  const others = h("ul", { class: "sr-plain sr-soft" });
  const more = h("details", { class: "sr-rest" }, h("summary", {}, "others that would tell"), others);
  const stopped = h("p", { class: "sr-finding" });
  const work = h("div", {}, lead.box, how, read.box, why, caution);
  const box = panel("Next probe", work, stopped, more);
  box.classList.add("sr-probe");
  /** @type {any} */
  let probe = null;
  entry(read.input, link, "next probe", (text, how_, settle) => {
    if (!text || !probe) return;
    const asked = probe;
    read.input.value = "";
    const { at, setting, state, condition } = asked;
    hands.read({ at, setting, state, condition, text }, settle);
    if (how_ === "enter") read.input.focus();
  });
  return {
    box,
    input: read.input,
    /** @param {any} now */
    update(now) {
      probe = now.next;
      show(work, Boolean(probe));
      show(stopped, !probe);
      put(stopped, probe ? "" : now.stop);
      if (probe) {
        lead.set(probe.red, probe.black);
        put(how, probe.how);
        put(why, probe.why);
        setCaution(caution, probe.caution);
        read.input.setAttribute("aria-label", `${probe.at} ${probe.setting} reads`);
      }
      lines(others, now.others);
      show(more, now.others.length > 0);
    },
  };
}
