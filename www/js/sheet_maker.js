// The printed sheet, in WebAssembly: a module of its own with its fonts, so that who prints nothing does not load it.

import init, * as core from "../pkg/sheet/counterpoise_web_sheet.js";
import { wasm } from "./assets.js";

let loading = null;

/**
 * The sheet of a plan: `{pdf, svg, csv, missing}`. `wishes`: `{paper, mirrored, date, printed_bar_mm, pose}`; `words`: the
 * texts by key. Throws `{code, subject, values}` where it cannot be made so.
 */
export async function makeSheet(planText, wishes, words) {
  loading ??= init({ module_or_path: wasm("pkg/sheet/counterpoise_web_sheet_bg.wasm") });
  try {
    await loading;
  } catch (error) {
    // The next try loads it again.
    loading = null;
    throw error;
  }
  try {
    const [pdf, svg, csv, missing] = core.sheet(planText, JSON.stringify(wishes), JSON.stringify(words));
    return { pdf, svg, csv, missing };
  } catch (error) {
    if (error instanceof WebAssembly.RuntimeError || error instanceof RangeError) core.__wbg_reset_state();
    throw error;
  }
}
