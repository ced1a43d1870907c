// On the stage, at its place: each strip of removed hair so wide that regrowth could read as a second brow line. The panels
// say the same in words, so these are for the eye alone.

import { el, icon, setText } from "../dom.js";
import { text } from "../messages.js";

/** `set(report, limitMm)` says which; `{hide()}` where the step is about something else. */
export function createFlags(stage, wording) {
  const root = document.getElementById("stage-overlay");
  const flags = [];
  let strips = [];

  function place() {
    strips.forEach((strip, i) => {
      const at = stage.placeOf(strip.side, ...strip.at);
      flags[i].hidden = !at;
      if (at) flags[i].style.translate = `${at.x}px ${at.y}px`;
    });
  }

  const show = (next) => {
    strips = next;
    while (flags.length < strips.length) {
      const flag = el("div", { class: "flag", "aria-hidden": "true" }, icon("warn"), el("span"));
      flags.push(flag);
      root.append(flag);
    }
    flags.forEach((flag, i) => {
      flag.hidden = i >= strips.length;
      if (strips[i]) setText(flag.lastChild, text("balance.flag", { mm: wording.shown("mm", strips[i].widest_mm) }));
    });
    place();
  };

  stage.on("painted", () => strips.length && place());
  return {
    set(report, limitMm) {
      const next = report.strips.filter((strip) => strip.widest_mm > limitMm);
      if (next.length || strips.length) show(next);
    },
    hide: () => strips.length && show([]),
  };
}
