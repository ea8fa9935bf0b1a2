// Talking to the kernel. Every message bears an id and stays in the browser until the kernel has written it
// down and said so; a kernel that is gone loses nothing.

const PATIENCE = 3000; // ms without an answer before the page says so
const CLAIMED = 20000; // ms for which a case that was left behind belongs to the bench that took it up
const SHELF = {
  /** @param {string} key */
  get(key) {
    try { return window.localStorage.getItem(key); } catch { return null; }
  },
  /** @param {string} key @param {string} value */
  set(key, value) {
    try { window.localStorage.setItem(key, value); } catch { /* private window: memory only */ }
  },
  /** @param {string} key */
  drop(key) {
    try { window.localStorage.removeItem(key); } catch { /* nothing was kept */ }
  },
  /** @param {string} prefix */
  keys(prefix) {
    try { return Object.keys(window.localStorage).filter((key) => key.startsWith(prefix)); } catch { return []; }
  },
};

function freshId() {
  const bytes = window.crypto.getRandomValues(new Uint8Array(16));
  return [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/**
 * @typedef {{do: string, id: string, revision: number, sent: number, text?: string, [more: string]: any}} Message
 * @typedef {{re: string, ok: boolean, said?: string, revision?: number, [more: string]: any}} Answer
 */

/**
 * @param {any} model
 * @param {(unsaved: number, late: boolean) => void} tell called whenever the number of unanswered changes
 * @param {(text: string, trouble: boolean) => void} heard called with what the kernel says unasked
 */
function makeLink(model, tell, heard) {
  const shelf = () => `shouldread/${model.get("head").key}`;
  /** @type {Map<string, {message: Message, lasting: boolean, late: boolean, answered: (a: Answer) => void}>} */
  const open = new Map();
  const timers = new Map();

  function count() {
    const rows = [...open.values()];
    tell(rows.filter((row) => row.lasting).length, rows.some((row) => row.late && row.lasting));
  }

  /** @param {Message} message @param {boolean} lasting @param {(a: Answer) => void} answered */
  function transmit(message, lasting, answered) {
    open.set(message.id, { message, lasting, late: false, answered });
    timers.set(message.id, window.setTimeout(() => {
      const row = open.get(message.id);
      if (row) row.late = true;
      count();
    }, PATIENCE));
    try {
      model.send(message);
    } catch { /* the connection is gone: the clock tells it */ }
    count();
  }

  /** An answer, or the same from another view of this bench. @param {Answer} answer */
  function settle(answer) {
    for (const key of SHELF.keys("shouldread/")) if (key.endsWith(`/waiting/${answer.re}`)) SHELF.drop(key);
    const row = open.get(answer.re);
    window.clearTimeout(timers.get(answer.re));
    open.delete(answer.re);
    timers.delete(answer.re);
    for (const other of open.values()) other.late = false; // it does answer: give the others their time again
    count();
    if (row) row.answered(answer);
  }

  const hear = (/** @type {Answer} */ answer) => {
    if (answer && typeof answer.re === "string") settle(answer);
    else if (answer && typeof answer.say === "string" && answer.say) heard(answer.say, Boolean(answer.trouble));
  };
  model.on("msg:custom", hear);

  return {
    /** Send what must not get lost: it is kept until the kernel has written it down.
     * @param {string} verb @param {Record<string, any>} body @param {(a: Answer) => void} answered */
    commit(verb, body, answered) {
      const message = { do: verb, id: freshId(), revision: model.get("head").revision, sent: Date.now(), ...body };
      SHELF.set(`${shelf()}/waiting/${message.id}`, JSON.stringify(message));
      transmit(message, true, answered);
    },
    /** Ask for something to look at: nothing is kept.
     * @param {string} verb @param {Record<string, any>} body @param {(a: Answer) => void} answered */
    ask(verb, body, answered) {
      const message = { do: verb, id: freshId(), revision: model.get("head").revision, sent: Date.now(), ...body };
      transmit(message, false, answered);
    },
    /** Send again what an earlier page or a dead kernel left unanswered, in the order it was typed.
     * @param {(m: Message, a: Answer) => void} answered */
    replay(answered) {
      const kept = SHELF.keys(`${shelf()}/waiting/`).map((key) => {
        try { return JSON.parse(SHELF.get(key) || "null"); } catch { return null; }
      });
      const messages = kept.filter((m) => m && typeof m.id === "string" && !open.has(m.id));
      messages.sort((a, b) => a.sent - b.sent);
      for (const message of messages) transmit(message, true, (answer) => answered(message, answer));
      return messages.length;
    },
    /** The case whose texts a dead kernel left unanswered most recently, "" when there is none. */
    leftBehind() {
      const prefix = `shouldread/${model.get("head").book}/`;
      const rows = SHELF.keys(prefix).filter((key) => key.includes("/waiting/")).map((key) => {
        try { return { ...JSON.parse(SHELF.get(key) || "null"), from: key.slice(prefix.length).split("/waiting/")[0] }; } catch { return null; }
      });
      const taken = (/** @type {string} */ name) => Number(SHELF.get(`${prefix}${name}/claimed`)) > Date.now() - CLAIMED;
      const old = rows.filter((row) => row && row.sent < Date.now() - PATIENCE && !taken(row.from));
      old.sort((a, b) => b.sent - a.sent);
      if (!old.length) return "";
      SHELF.set(`${prefix}${old[0].from}/claimed`, String(Date.now())); // other benches of this page leave it alone
      return old[0].from;
    },
    /** Keep what stands in a field though it is not entered yet. @param {string} name @param {string} text */
    draft(name, text) {
      if (text) SHELF.set(`${shelf()}/draft/${name}`, text);
      else SHELF.drop(`${shelf()}/draft/${name}`);
    },
    /** @param {string} name */
    drafted(name) {
      return SHELF.get(`${shelf()}/draft/${name}`) || "";
    },
    /** @param {string} name */
    drafts(name) {
      const prefix = `${shelf()}/draft/${name}`;
      return SHELF.keys(prefix).map((key) => [key.slice(prefix.length), SHELF.get(key) || ""]);
    },
    close() {
      model.off("msg:custom", hear);
      for (const timer of timers.values()) window.clearTimeout(timer);
    },
  };
}

/**
 * A field whose text is entered by Enter or by leaving it, and kept as a draft while it is typed. What was entered
 * stays in view until the kernel has shown a state that knows of it; what could not be taken stays to be mended.
 * @param {HTMLInputElement|HTMLTextAreaElement} input
 * @param {ReturnType<typeof makeLink>} link
 * @param {string} name
 * @param {(text: string, how: "enter"|"left", settle: (a: Answer) => void) => void} entered text is "" when
 *     Enter only goes on
 */
function entry(input, link, name, entered) {
  let timer = 0;
  let stood = input.value;
  let touched = false;
  let known = 0; // the revision from which on a state knows what was entered last
  const enter = (/** @type {"enter"|"left"} */ how) => {
    window.clearTimeout(timer);
    if (!touched && how === "left") return;
    const text = touched ? input.value.trim() : "";
    touched = false;
    stood = input.value;
    link.draft(name, "");
    if (text) known = Infinity;
    entered(text, how, (answer) => {
      known = answer.ok ? Number(answer.revision) : 0;
      if (!answer.ok) giveBack(text);
    });
    stood = input.value;
  };
  /** @param {string} text */
  function giveBack(text) {
    if (!input.value) input.value = text;
    touched = true;
    link.draft(name, input.value);
  }
  const draft = link.drafted(name);
  if (draft) {
    input.value = draft;
    touched = true;
  }
  input.addEventListener("input", () => {
    touched = true;
    window.clearTimeout(timer);
    timer = window.setTimeout(() => link.draft(name, input.value), 300);
  });
  input.addEventListener("keydown", (event) => {
    const key = /** @type {KeyboardEvent} */ (event);
    if (key.key === "Enter" && !key.isComposing) {
      key.preventDefault();
      enter("enter");
    }
    if (key.key === "Escape") {
      input.value = stood;
      touched = false;
      window.clearTimeout(timer);
      link.draft(name, "");
    }
  });
  input.addEventListener("blur", () => enter("left"));
  return {
    /** Show what stands, unless somebody types here or the kernel does not know yet what was.
     * @param {string} text @param {number} revision */
    stands(text, revision) {
      if (touched || link.drafted(name) || revision <= known) return;
      stood = text;
      if (input.value !== text) input.value = text;
    },
  };
}
