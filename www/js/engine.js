// The core, in WebAssembly. Beside the balance solver the only importer of pkg/. It keeps no state between calls: after a
// trap a fresh instance goes on with the last good plan text.

import init, * as core from "../pkg/counterpoise_web.js";

/** What a trap throws: the engine's own errors, not refusals. */
const isTrap = (error) => error instanceof WebAssembly.RuntimeError || error instanceof RangeError;

/** What a call throws after the engine had to be started again; nothing was changed. */
export const RESTARTED = "restarted";

/**
 * Loads the core. Calls throw `{code, subject, values}` where the core refuses.
 *
 * `onRestart(listener)` is told after a trap, when a fresh instance is already in place.
 */
export async function loadEngine() {
  // Streams where the host serves the right type, and reads the whole file where it does not.
  await init({ module_or_path: new URL("../pkg/counterpoise_web_bg.wasm", import.meta.url) });
  const listeners = new Set();

  const call = (name, ...given) => {
    try {
      return core[name](...given);
    } catch (error) {
      if (!isTrap(error)) throw error;
      console.error(`the core stopped in ${name}`, error);
      core.__wbg_reset_state();
      for (const listener of [...listeners]) listener(name);
      throw { code: RESTARTED, subject: name, values: {} };
    }
  };

  let described = null;
  return Object.freeze({
    describe() {
      described ??= call("describe");
      return described;
    },
    blank: () => call("blank"),
    open: (text) => call("open", text),
    apply: (planText, edit) => call("apply", planText, JSON.stringify(edit)),
    report: (planText) => call("report", planText),
    draw: (context, planText, view, wantReport) => call("draw", context, planText, JSON.stringify(view), wantReport),
    svg: (planText, options) => call("svg", planText, JSON.stringify(options)),
    explainMove: (planText, outlines) => call("explainMove", planText, JSON.stringify(outlines)),
    shown: (unit, value) => call("shown", unit, value),
    shownSigned: (unit, value) => call("shown_signed", unit, value),
    gesture: (state, events, context) => call("gesture", state, JSON.stringify(events), JSON.stringify(context)),
    strokeEdit: (planText, side, points, reachPx) => call("stroke_edit", planText, side, Float64Array.from(points), reachPx),
    onRestart(listener) {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
    /** Stops the core on purpose; for the test of the way back. */
    trap() {
      try {
        call("trap_for_test");
      } catch (error) {
        if (error.code !== RESTARTED) throw error;
      }
    },
  });
}
