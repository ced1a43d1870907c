// The legend and the numbers of kept, removed and added.

import { el, setAttribute, setText } from "../dom.js";
import { text } from "../messages.js";
import { SIDES, sidesAsSeen } from "../sides.js";

const KINDS = ["kept", "removed", "added"];

/** A table of the three areas per side. `{node, report(report, plan)}`. */
export function areaTable(id, wording) {
  const cells = {};
  const percent = {
    kept: (areas) => (areas.natural_mm2 > 0 ? (100 * areas.kept_mm2) / areas.natural_mm2 : 0),
    removed: (areas) => areas.removed_pct,
    added: (areas) => areas.added_pct,
  };
  const rows = KINDS.map((kind) => {
    cells[kind] = Object.fromEntries(SIDES.map((side) => [side, { mm2: el("span"), pct: el("small") }]));
    return el("tr", { data: { area: kind } },
      el("th", { scope: "row" }, el("span", { class: `swatch ${kind}`, "aria-hidden": "true" }), text(`kind.${kind}`)),
      ...sidesAsSeen().map((side) => el("td", { data: { col: side } }, cells[kind][side].mm2, cells[kind][side].pct)));
  });
  const node = el("table", { class: "areas", id },
    el("caption", { class: "visually-hidden", text: text("areas.title") }),
    el("thead", {}, el("tr", {}, el("th", { scope: "col" }, el("span", { class: "visually-hidden", text: text("areas.kind") })), ...sidesAsSeen().map((side) => el("th", { scope: "col", text: text(`side.${side}`) })))),
    el("tbody", {}, ...rows));

  return {
    node,
    report(report, plan) {
      const limits = { removed: plan.limits.removed_pct, added: plan.limits.added_pct };
      for (const kind of KINDS) {
        for (const side of SIDES) {
          const areas = report.areas[side];
          const cell = cells[kind][side];
          setText(cell.mm2, areas ? wording.withUnit("mm2", areas[`${kind}_mm2`]) : "–");
          setText(cell.pct, areas ? wording.withUnit("pct", percent[kind](areas)) : "");
          const isOver = Boolean(areas) && kind in limits && percent[kind](areas) > limits[kind];
          setAttribute(cell.mm2.parentElement, "data-over", isOver);
        }
      }
    },
  };
}
