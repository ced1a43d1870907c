// The steps: tabs with one panel each.

/** Ids of the steps in working order. */
export const STEPS = ["photo", "points", "hair", "poses", "shape", "balance", "check", "client", "sheet", "later"];

/** Wires the tabs; `changed(id, before)` is told of every change. */
export function createSteps(changed) {
  const tabs = STEPS.map((id) => document.getElementById(`step-${id}`));
  let present = null;

  function show(id, { focus = false } = {}) {
    if (!STEPS.includes(id)) return;
    const before = present;
    present = id;
    STEPS.forEach((each, i) => {
      const isPresent = each === id;
      tabs[i].setAttribute("aria-selected", String(isPresent));
      tabs[i].tabIndex = isPresent ? 0 : -1;
      document.getElementById(`panel-${each}`).hidden = !isPresent;
    });
    if (before !== id) {
      document.getElementById(`panel-${id}`).scrollTop = 0;
      changed(id, before);
    }
    if (focus) tabs[STEPS.indexOf(id)].focus();
  }

  tabs.forEach((tab, i) => {
    tab.addEventListener("click", () => show(STEPS[i]));
    tab.addEventListener("keydown", (event) => {
      const to = { ArrowRight: i + 1, ArrowLeft: i - 1, Home: 0, End: STEPS.length - 1 }[event.key];
      if (to === undefined) return;
      event.preventDefault();
      show(STEPS[(to + STEPS.length) % STEPS.length], { focus: true });
    });
  });

  return { show, present: () => present };
}
