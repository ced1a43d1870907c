// The plan, its past and its future: the one writer. Holds texts and edits, and nothing derived but what was asked for last.

/**
 * `commit(edit)` is one step of undo. `preview(edit)` shows an edit of the kept plan without keeping it, `keep()` makes the
 * preview one step of undo, `drop()` forgets it and leaves redo alone. A refused edit changes nothing: the last valid
 * preview stays, and the answer says why.
 *
 * `planText` and `plan` are what is shown: the preview where there is one. `keptText` and `keptPlan` are without it. `shown` is the same as
 * the engine takes it, `{text, edit}`, another object whenever it is something else: in a drag a picture needs no text of the preview.
 * Events: `{type}` is `loaded`, `plan` (kept plan changed), `preview` (what is shown changed) or `restarted`.
 */
export function createStore(engine) {
  let kept = { text: "", edit: "", plan: null };
  /** As `kept`, with the edit as JSON text; `next` is its text and `plan` that as an object, once they were asked for. */
  let preview = null;
  /** The members of the plan that was read last, by their text. */
  let members = new Map();
  let undone = [];
  let done = [];
  let isFrozen = false;
  const listeners = new Set();
  const tell = (type) => {
    for (const listener of [...listeners]) listener({ type });
  };

  /** The core writes each member of a plan on lines of its own, set in by two; most are what they were a moment ago. */
  const parse = (text) => {
    const next = new Map();
    for (const member of text.trim().slice(1, -1).split(/,?\n  (?=")/)) next.set(member, members.get(member) ?? JSON.parse(`{${member}}`));
    members = next;
    return Object.assign({}, ...next.values());
  };

  const keptPlan = () => {
    if (kept.text !== "") kept.plan ??= parse(kept.text);
    return kept.plan;
  };

  const shownPlan = () => {
    const text = shownText();
    if (preview === null) return keptPlan();
    preview.plan ??= parse(text);
    return preview.plan;
  };

  /** What `work` gives, or why the core refuses it. */
  const tried = (work) => {
    if (isFrozen) return { refused: { code: "shown_only", values: {} } };
    try {
      return { text: work() };
    } catch (error) {
      if (typeof error?.code !== "string") throw error;
      return { refused: { code: error.code, subject: error.subject, values: error.values } };
    }
  };

  /** The text of what is shown. Where the core stops over it for good, that is the kept plan again. */
  const shownText = () => {
    if (preview === null) return kept.text;
    try {
      preview.next ??= engine.textOf(preview);
      return preview.next;
    } catch (error) {
      if (typeof error?.code !== "string") throw error;
      drop();
      return kept.text;
    }
  };

  const keepText = (text) => {
    kept = { text, edit: "", plan: preview?.next === text ? preview.plan : null };
    preview = null;
  };

  /** Makes a text the kept plan; the present one becomes the past. */
  const advance = (text) => {
    if (text === kept.text) drop();
    else {
      done.push(kept.text);
      undone = [];
      keepText(text);
      tell("plan");
    }
    return { ok: true };
  };

  function drop() {
    if (preview === null) return;
    preview = null;
    tell("preview");
  }

  engine.onRestart?.(() => tell("restarted"));

  return {
    get shown() {
      return preview ?? kept;
    },
    get planText() {
      return shownText();
    },
    get keptText() {
      return kept.text;
    },
    get plan() {
      return shownPlan();
    },
    get keptPlan() {
      return keptPlan();
    },
    get isPreview() {
      return preview !== null;
    },
    get canUndo() {
      return done.length > 0 && !isFrozen;
    },
    get canRedo() {
      return undone.length > 0 && !isFrozen;
    },

    commit(edit) {
      const { text, refused } = tried(() => engine.apply(kept.text, edit));
      if (!refused) return advance(text);
      drop();
      return { refused };
    },

    preview(edit) {
      const next = { text: kept.text, edit: JSON.stringify(edit), next: null, plan: null };
      if (next.edit === preview?.edit) return { ok: true };
      const { refused } = tried(() => engine.attempt(next));
      if (refused) return { refused };
      preview = next;
      tell("preview");
      return { ok: true };
    },

    keep: () => advance(shownText()),

    drop,

    undo() {
      if (!this.canUndo) return;
      undone.push(kept.text);
      keepText(done.pop());
      tell("plan");
    },

    redo() {
      if (!this.canRedo) return;
      done.push(kept.text);
      keepText(undone.pop());
      tell("plan");
    },

    /** Takes no change, or takes them again. What is shown without being kept goes. */
    freeze(isOn) {
      isFrozen = isOn;
      if (isOn) drop();
    },

    /** Puts another plan in place and forgets past and future. Throws where it cannot be read. */
    load(text) {
      keepText(engine.open(text));
      done = [];
      undone = [];
      tell("loaded");
    },

    subscribe(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}
