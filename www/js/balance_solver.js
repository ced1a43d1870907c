// The balance solver, in WebAssembly: a module of its own, so that who only measures and draws does not load it.

import init, * as core from "../pkg/balance/counterpoise_web_balance.js";
import { wasm } from "./assets.js";

/**
 * Loads the solver. `answer({id, plan}, limit)`, with a limit of added skin, %, gives `{id, limit, curve}` or
 * `{id, limit, refused: {code, subject, values}}` after tens of milliseconds.
 */
export async function loadSolver() {
  await init({ module_or_path: wasm("pkg/balance/counterpoise_web_balance_bg.wasm") });
  return ({ id, plan }, limit) => {
    try {
      return { id, limit, curve: core.balanceCurve(plan, limit) };
    } catch (error) {
      if (typeof error?.code === "string") return { id, limit, refused: { code: error.code, subject: error.subject, values: error.values } };
      // A trap: a fresh instance goes on.
      console.error("the core stopped in balanceCurve", error);
      core.__wbg_reset_state();
      return { id, limit, refused: { code: "restarted", subject: "", values: {} } };
    }
  };
}
