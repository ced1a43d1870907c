// Lessons and exercises, in WebAssembly: a module of its own, so that who is not taught does not load it.

import init, * as core from "../pkg/teaching/counterpoise_web_teaching.js";
import { wasm } from "./assets.js";
import { text } from "./messages.js";

let loading = null;

/** Loads the module. Calls throw `{code, part, subject, plan}` where the core refuses. */
export async function loadTeaching() {
  loading ??= init({ module_or_path: wasm("pkg/teaching/counterpoise_web_teaching_bg.wasm") });
  try {
    await loading;
  } catch (error) {
    // The next try loads it again.
    loading = null;
    throw error;
  }
  const call = (name, ...given) => {
    try {
      return core[name](...given);
    } catch (error) {
      if (error instanceof WebAssembly.RuntimeError || error instanceof RangeError) core.__wbg_reset_state();
      throw error;
    }
  };
  return Object.freeze({
    /** `{id, title, text, picture, steps: [{show, text, why, pose, kinds, measures, brows, plan}]}`. */
    lesson: (file) => call("lesson", file),
    /** `{id, title, task, picture, given, key, goals, poses}`. */
    exercise: (file) => call("exercise", file),
    /** `{id, title, pass, items: [{lesson} | {exercise}]}`. */
    set: (file) => call("set", file),
    /** `{exercise, score, items}`; `answers` by what is asked. */
    mark: (file, planText, answers) => call("mark", file, planText, JSON.stringify(answers)),
    /** What was done, as a text to go on from. */
    work: (file, planText, answers) => call("work", file, planText, JSON.stringify(answers)),
    /** `{plan, answers}`: going on from such a text. */
    resumed: (file, kept) => call("resumed", file, kept),
    /** What is handed in, as a file. */
    submission: (id, planText, answers) => JSON.stringify({ format: "counterpoise-submission", version: 1, exercise: id, plan: JSON.parse(planText), answers }, null, 2),
  });
}

/** Why a teacher's file cannot be used, in words. */
export function refusalOf(error, wording) {
  if (typeof error?.code !== "string") return text("error.unexpected", { detail: String(error?.message ?? error) });
  const parts = [text(`teaching.${error.code}`)];
  if (error.part > 0) parts.unshift(text("teaching.at", { part: error.part }));
  if (error.subject) parts.push(text("teaching.about", { subject: error.subject }));
  if (error.plan) parts.push(wording.refusal(error.plan));
  return parts.join(" ");
}
