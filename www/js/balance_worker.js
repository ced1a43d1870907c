// Computes balance curves beside the page, so that no input waits for them.
//
// In: `{id, plan, limits}`: a plan text and limits of added skin, %, in the order they are wanted. Out, one for each limit:
// `{id, limit, curve}` or `{id, limit, refused: {code, subject, values}}`; `{failed}` where the core cannot be started.
// A newer question ends the older one after the curve that is being computed.

import { loadSolver } from "./balance_solver.js";

const solver = loadSolver();

let question = null;
let isRunning = false;

/** After the curve that is waited for the page draws it. The others are no hurry, and a tablet with few cores would do both
 *  slowly, ms. */
const TURN_MS = 150;

/** Lets a newer question in. */
const breath = (ms) => new Promise((done) => { setTimeout(done, ms); });

async function run() {
  isRunning = true;
  try {
    const answer = await solver;
    while (question) {
      const present = question;
      question = null;
      for (const [i, limit] of present.limits.entries()) {
        if (question) break;
        postMessage(answer(present, limit));
        await breath(i === 0 ? TURN_MS : 0);
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
