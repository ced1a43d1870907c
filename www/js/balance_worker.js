// Computes balance curves beside the page, so that no input waits for them.
//
// In: `{id, plan, limits}`: a plan text and limits of added skin, %, in the order they are wanted. Out, one for each limit:
// `{id, limit, curve}` or `{id, limit, refused: {code, subject, values}}`; `{failed}` where the core cannot be started.
// A newer question ends the older one after the curve that is being computed.

import init, * as core from "../pkg/counterpoise_web.js";

const started = init({ module_or_path: new URL("../pkg/counterpoise_web_bg.wasm", import.meta.url) });

let question = null;
let isRunning = false;

/** Lets a newer question in. */
const breath = () => new Promise((done) => { setTimeout(done); });

function answer({ id, plan }, limit) {
  try {
    return { id, limit, curve: core.balanceCurve(plan, limit) };
  } catch (error) {
    if (typeof error?.code === "string") return { id, limit, refused: { code: error.code, subject: error.subject, values: error.values } };
    // A trap: a fresh instance goes on.
    console.error("the core stopped in balanceCurve", error);
    core.__wbg_reset_state();
    return { id, limit, refused: { code: "restarted", subject: "", values: {} } };
  }
}

async function run() {
  isRunning = true;
  try {
    await started;
    while (question) {
      const present = question;
      question = null;
      for (const limit of present.limits) {
        if (question) break;
        postMessage(answer(present, limit));
        await breath();
      }
    }
  } catch (error) {
    postMessage({ failed: String(error?.message ?? error) });
  }
  isRunning = false;
}

addEventListener("message", ({ data }) => {
  question = data;
  if (!isRunning) run();
});
