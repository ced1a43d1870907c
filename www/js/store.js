// The plan, its past and its future: the one writer. Holds texts and nothing derived.

/**
 * `commit(edit)` is one step of undo. `preview(edit)` shows an edit of the kept plan without keeping it, `keep()` makes the
 * preview one step of undo, `drop()` forgets it and leaves redo alone. A refused edit changes nothing: the last valid
 * preview stays, and the answer says why.
 *
 * `planText` and `plan` are what is shown: the preview where there is one. `keptText` and `keptPlan` are without it.
 * Events: `{type}` is `loaded`, `plan` (kept plan changed), `preview` (what is shown changed) or `restarted`.
 */
export function createStore(engine) {
  let kept = "";
  let shown = null;
  /** The plans that were asked for last, at most the kept one and the one that is shown. */
  let parsed = [];
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

  const planOf = (text) => {
    if (text === "") return null;
    const known = parsed.find((each) => each.text === text) ?? { text, plan: parse(text) };
    parsed = [known, ...parsed.filter((each) => each !== known)].slice(0, 2);
    return known.plan;
  };

  const applied = (edit) => {
    if (isFrozen) return { refused: { code: "shown_only", values: {} } };
    try {
      return { text: engine.apply(kept, edit) };
    } catch (error) {
      if (typeof error?.code !== "string") throw error;
      return { refused: { code: error.code, subject: error.subject, values: error.values } };
    }
  };

  /** Makes a text the kept plan; the present one becomes the past. */
  const advance = (text) => {
    const changed = text !== kept;
    const wasPreview = shown !== null;
    shown = null;
    if (changed) {
      done.push(kept);
      undone = [];
      kept = text;
    }
    if (changed) tell("plan");
    else if (wasPreview) tell("preview");
    return { ok: true };
  };

  engine.onRestart?.(() => tell("restarted"));

  return {
    get planText() {
      return shown ?? kept;
    },
    get keptText() {
      return kept;
    },
    get plan() {
      return planOf(shown ?? kept);
    },
    get keptPlan() {
      return planOf(kept);
    },
    get isPreview() {
      return shown !== null;
    },
    get canUndo() {
      return done.length > 0 && !isFrozen;
    },
    get canRedo() {
      return undone.length > 0 && !isFrozen;
    },

    commit(edit) {
      const { text, refused } = applied(edit);
      if (!refused) return advance(text);
      if (shown !== null) this.drop();
      return { refused };
    },

    preview(edit) {
      const { text, refused } = applied(edit);
      if (refused) return { refused };
      if (text !== (shown ?? kept)) {
        shown = text;
        tell("preview");
      }
      return { ok: true };
    },

    keep: () => (shown === null ? { ok: true } : advance(shown)),

    drop() {
      if (shown === null) return;
      shown = null;
      tell("preview");
    },

    undo() {
      if (!this.canUndo) return;
      shown = null;
      undone.push(kept);
      kept = done.pop();
      tell("plan");
    },

    redo() {
      if (!this.canRedo) return;
      shown = null;
      done.push(kept);
      kept = undone.pop();
      tell("plan");
    },

    /** Takes no change, or takes them again. What is shown without being kept goes. */
    freeze(isOn) {
      isFrozen = isOn;
      if (isOn) this.drop();
    },

    /** Puts another plan in place and forgets past and future. Throws where it cannot be read. */
    load(text) {
      kept = engine.open(text);
      shown = null;
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
