// The strip of live numbers under the stage.

import { el, setAttribute, setText } from "../dom.js";
import { text } from "../messages.js";
import { sidesAsSeen } from "../sides.js";

export function createLive(app) {
  const { wording } = app;
  const list = document.getElementById("live-numbers");
  const make = (name) => {
    const first = el("span");
    const arrow = el("span", { class: "arrow", text: "→" });
    const second = el("span");
    const unit = el("small");
    list.append(el("div", { data: { live: name } }, el("dt", { text: text(`live.${name}`) }), el("dd", {}, first, arrow, second, unit)));
    return { first, arrow, second, unit, dd: list.lastChild.lastChild };
  };
  const uneven = make("uneven");
  const removed = make("removed");
  const added = make("added");
  const agreed = document.getElementById("agreed");
  for (const item of [removed, added]) item.arrow.textContent = "·";

  const perSide = (item, report, key, limit) => {
    const { right, left } = report.areas;
    const one = (side) => text(`live.of_${side}`, { pct: report.areas[side] ? wording.shown("pct", report.areas[side][key]) : "–" });
    const [first, second] = sidesAsSeen();
    setText(item.first, one(first));
    setText(item.second, one(second));
    setText(item.unit, text("live.pct"));
    setAttribute(item.dd, "data-over", [right, left].some((areas) => areas && areas[key] > limit));
  };

  return {
    report(report) {
      const { natural_symmetry: natural, planned_symmetry: planned } = report;
      setText(uneven.first, natural ? wording.shown("mm", natural.mean_distance_mm) : "–");
      setText(uneven.second, planned ? wording.shown("mm", planned.mean_distance_mm) : "–");
      const latest = planned ?? natural;
      setText(uneven.unit, latest ? text("live.mm_ci", { ci: wording.shown("mm", latest.ci95_mm) }) : text("live.mm"));
      const { limits } = app.store.plan;
      perSide(removed, report, "removed_pct", limits.removed_pct);
      perSide(added, report, "added_pct", limits.added_pct);
      const { agreement } = report;
      agreed.hidden = !agreement;
      if (!agreement) return;
      const isWhole = agreement.seal === "whole";
      setText(agreed, text(isWhole ? "live.seal_whole" : "live.seal_broken", { initials: agreement.initials }));
      setAttribute(agreed, "data-seal", agreement.seal);
    },
  };
}
