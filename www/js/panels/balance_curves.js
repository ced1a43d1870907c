// Asks for balance curves: a worker computes them; where there is none, the page does, one curve at a time.

import { startWorker } from "../assets.js";

/** The solver's module (`balance_solver.js`, which is fetched only where there are no workers). */
const SOLVER = "pkg/balance/counterpoise_web_balance_bg.wasm";
/** Between two curves on the page's own thread input gets its turn, ms. */
const TURN_MS = 16;

/** `told({limit, curve})` or `told({limit, refused})` for each answer to the latest `ask(plan, limits)`. */
export function createCurves(told) {
  let worker = null;
  let hasWorker = typeof Worker === "function";
  let isFirst = true;
  let id = 0;
  let latest = null;
  let timer = 0;
  let solver = null;

  const give = (answer) => {
    if (answer.id !== id) return;
    latest.limits = latest.limits.filter((limit) => limit !== answer.limit);
    told(answer);
  };

  /** Without a worker: a curve, then a turn for input, then the next. */
  const slice = () => {
    clearTimeout(timer);
    timer = setTimeout(async () => {
      solver ??= import("../balance_solver.js").then(({ loadSolver }) => loadSolver());
      try {
        const answer = await solver;
        const [limit] = latest?.limits ?? [];
        if (limit === undefined) return;
        give(answer(latest, limit));
      } catch (error) {
        // The next question tries again.
        solver = null;
        throw error;
      }
      slice();
    }, TURN_MS);
  };

  /** A worker that never answered is none: a page opened from a file may not start one. */
  const goWithout = () => {
    worker?.terminate();
    worker = null;
    hasWorker = false;
    slice();
  };

  const start = () => {
    try {
      worker = startWorker("js/balance_worker.js", [SOLVER]);
    } catch {
      goWithout();
      return;
    }
    worker.addEventListener("message", ({ data }) => {
      if (data.failed !== undefined) {
        goWithout();
        return;
      }
      isFirst = false;
      give(data);
    });
    worker.addEventListener("error", (event) => {
      if (isFirst) event.preventDefault();
      goWithout();
    });
  };

  return {
    /** Asks for the curves of a plan; answers to earlier questions no longer come. */
    ask(plan, limits) {
      id += 1;
      latest = { id, plan, limits: [...limits] };
      if (hasWorker && !worker) start();
      if (worker) worker.postMessage(latest);
      else slice();
    },
    /** Nothing is wanted any more. */
    cancel() {
      id += 1;
      latest = null;
      clearTimeout(timer);
      worker?.postMessage({ id, plan: "", limits: [] });
    },
  };
}
