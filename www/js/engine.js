// The core, in WebAssembly. It keeps nothing between calls but a memo of
// what it read last: after a trap a fresh instance goes on with the last good plan text.

import init, * as core from "../pkg/counterpoise_web.js";
import { wasm } from "./assets.js";

/** What a trap throws: the engine's own errors, not refusals. */
const isTrap = (error) => error instanceof WebAssembly.RuntimeError || error instanceof RangeError;

/** What a call throws after the engine had to be started again; nothing was changed. */
export const RESTARTED = "restarted";

/** How many bytes of UTF-8 a letter of a text takes at most. */
const MOST_BYTES = 3;

/**
 * Loads the core. Calls throw `{code, subject, values}` where the core refuses.
 *
 * `onRestart(listener)` is told after a trap, when a fresh instance is already in place.
 */
export async function loadEngine() {
  // Streams where the host serves the right type, and reads the whole file where it does not.
  await init({ module_or_path: wasm("pkg/counterpoise_web_bg.wasm") });
  const listeners = new Set();

  /** When the core stops on purpose: at which call from now, and how often. */
  let trap = { calls: Infinity, times: 0 };
  const called = (name, given) => {
    trap.calls -= 1;
    if (trap.calls > 0 || trap.times === 0) return core[name](...given);
    trap.times -= 1;
    return core.trap_for_test();
  };

  /** The core keeps nothing, so a fresh one does what the stopped one was asked, and nobody notices. What stops that too is told. */
  const call = (name, ...given) => {
    for (let tries = 0; tries < 2; tries += 1) {
      try {
        return called(name, given);
      } catch (error) {
        if (!isTrap(error)) throw error;
        console.error(`the core stopped in ${name}`, error);
        core.__wbg_reset_state();
      }
    }
    for (const listener of [...listeners]) listener(name);
    throw { code: RESTARTED, subject: name, values: {} };
  };

  // A text goes over as bytes: for a long one that is far quicker than letter by letter. The kept plan goes over at every frame, and
  // at times another one, each in room of its own that is used again.
  const encoder = new TextEncoder();
  let sent = [{ room: new Uint8Array() }, { room: new Uint8Array() }];
  const bytes = (text) => {
    const known = sent.find((each) => each.text === text) ?? sent[1];
    if (known !== sent[0]) sent = [known, sent[0]];
    if (known.text !== text) {
      const most = MOST_BYTES * text.length;
      if (known.room.length < most) known.room = new Uint8Array(2 * most);
      known.bytes = known.room.subarray(0, encoder.encodeInto(text, known.room).written);
      known.text = text;
    }
    return known.bytes;
  };

  let described = null;
  return Object.freeze({
    describe() {
      described ??= call("describe");
      return described;
    },
    blank: () => call("blank"),
    open: (text) => call("open", bytes(text)),
    /** The text of a plan that may be passed on: nothing in it says whose it is. */
    shareable: (planText) => call("shareable", bytes(planText)),
    apply: (planText, edit) => call("apply", bytes(planText), JSON.stringify(edit)),
    /** Throws where a plan does not take an edit. What is shown is `{text, edit}`: the text of a plan, and an edit of it as JSON text that
     *  is not kept, empty where there is none. */
    attempt: ({ text, edit }) => call("attempt", bytes(text), edit),
    /** The text of what is shown. */
    textOf: ({ text, edit }) => (edit ? call("apply", bytes(text), edit) : text),
    /** The whole report. */
    report: (planText) => call("report", bytes(planText)),
    /** The parts of it that are shown beside a drawing at every frame, of what is shown. */
    glance: ({ text, edit }) => call("glance", bytes(text), edit),
    /** Where the sliders come to rest that a `wish` edit tells of. */
    wishesHeld: (planText, edit) => call("wishesHeld", bytes(planText), JSON.stringify(edit)),
    /** Whether two that are shown have the same drawing and numbers. */
    sameFrame: (one, other) => call("sameFrame", bytes(one.text), one.edit, bytes(other.text), other.edit),
    /** The drawing of what is shown, with the marks that `play` puts on a canvas; a handle is `{id, x, y, out_mm, up_mm}`, in mm `NaN` without a frame. */
    draw({ text, edit }, viewText) {
      const [drawn, marks, places] = call("draw", bytes(text), edit, viewText);
      const at = (id, i) => ({ id, x: places[i], y: places[i + 1], out_mm: places[i + 2], up_mm: places[i + 3] });
      return { ...drawn, handles: drawn.handles.map((id, i) => at(id, 4 * i)), marks };
    },
    svg: (planText, options) => call("svg", bytes(planText), JSON.stringify(options)),
    explainMove: (planText, outlines) => call("explainMove", bytes(planText), JSON.stringify(outlines)),
    shown: (unit, value) => call("shown", unit, value),
    shownSigned: (unit, value) => call("shown_signed", unit, value),
    gesture: (state, events, context) => call("gesture", state, JSON.stringify(events), JSON.stringify(context)),
    strokeEdit: (planText, side, points, reachPx) => call("stroke_edit", bytes(planText), side, Float64Array.from(points), reachPx),
    onRestart(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    /** Stops the core on purpose, at the so many-th call from now and so often; for the test of the way back. */
    trapAt(calls, times = 1) {
      trap = { calls, times };
    },
  });
}
