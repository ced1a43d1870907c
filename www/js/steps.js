// The steps: tabs with one panel each.

import { isRightToLeft } from "./messages.js";
import { showFrom } from "./scroll.js";

/** Ids of the steps in working order. */
export const STEPS = ["photo", "points", "hair", "poses", "shape", "balance", "check", "client", "sheet", "later"];

/** Wires the tabs; `changed(id, before)` is told of every change. */
export function createSteps(changed) {
  const tabs = STEPS.map((id) => document.getElementById(`step-${id}`));
  let present = null;
  /** Steps that can be gone to. */
  let open = STEPS;

  function show(id, { focus = false } = {}) {
    if (!STEPS.includes(id) || (open.length && !open.includes(id))) return;
    const before = present;
    present = id;
    STEPS.forEach((each, i) => {
      const isPresent = each === id;
      tabs[i].setAttribute("aria-selected", String(isPresent));
      tabs[i].tabIndex = isPresent ? 0 : -1;
      document.getElementById(`panel-${each}`).hidden = !isPresent;
    });
    if (before !== id) {
      changed(id, before);
      const panel = document.getElementById(`panel-${id}`);
      if (before) showFrom(panel, panel, document.getElementById("steps"));
    }
    if (focus) tabs[STEPS.indexOf(id)].focus();
  }

  tabs.forEach((tab, i) => {
    tab.addEventListener("click", () => show(STEPS[i]));
    tab.addEventListener("keydown", (event) => {
      const at = open.indexOf(STEPS[i]);
      const onward = isRightToLeft() ? -1 : 1;
      const to = { ArrowRight: at + onward, ArrowLeft: at - onward, Home: 0, End: open.length - 1 }[event.key];
      if (to === undefined) return;
      event.preventDefault();
      show(open[(to + open.length) % open.length], { focus: true });
    });
  });

  /** Leaves only these steps open; where the present one is none of them, the first of them is shown. */
  function limit(ids) {
    open = STEPS.filter((id) => ids.includes(id));
    STEPS.forEach((id, i) => { tabs[i].hidden = !open.includes(id); });
    document.getElementById("steps").hidden = open.length === 0;
    if (present && open.length && !open.includes(present)) show(open[0]);
  }

  return { show, limit, present: () => present };
}
