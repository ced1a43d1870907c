// Measures of both sides with what they differ by, each with its uncertainty.

import { el, setAttribute, setText } from "../dom.js";
import { text } from "../messages.js";
import { SIDES, sidesAsSeen } from "../sides.js";

/** A table of these measures (`describe().measures`): right, difference, left. `{node, report(rows)}`. */
export function measureTable(id, caption, measures, wording) {
  const rows = new Map();
  const [first, last] = sidesAsSeen();
  const columns = [first, "difference", last];
  const body = el("tbody", {}, ...measures.map((measure) => {
    const cells = Object.fromEntries(columns.map((column) => [column, { value: el("span", { class: "value" }), more: el("small") }]));
    rows.set(measure.id, { cells, measure });
    const cell = (column) => el("td", { data: { col: column } }, cells[column].value, cells[column].more);
    return el("tr", { data: { measure: measure.id } },
      el("th", { scope: "row" }, text(`measure.${measure.id}`), el("small", { text: text(`unit.${measure.unit}`) })),
      ...columns.map(cell));
  }));
  const node = el("table", { class: "report", id },
    el("caption", { class: "visually-hidden", text: caption }),
    el("thead", {}, el("tr", {},
      el("th", { scope: "col" }, el("span", { class: "visually-hidden", text: text("report.measure") })),
      ...columns.map((column) => el("th", { scope: "col", text: text(`report.${column}`) })))),
    body);
  return {
    node,
    report(list) {
      const present = new Map(list.map((row) => [row.id, row]));
      for (const [id, { cells, measure }] of rows) {
        const row = present.get(id);
        for (const side of SIDES) {
          const measured = row?.sides[side];
          setText(cells[side].value, measured ? wording.shown(measure.unit, measured.value) : "–");
          const percentile = row?.percentile[side];
          setText(cells[side].more, !measured ? "" : [text("report.ci", { ci: wording.shown(measure.unit, measured.ci95) }), percentile === null || percentile === undefined ? "" : text("report.percentile", { p: Math.round(percentile) })].filter(Boolean).join(" "));
        }
        const difference = row?.difference;
        setText(cells.difference.value, difference ? wording.signed(measure.unit, difference.value) : "–");
        setText(cells.difference.more, !difference ? "" : row.within_error ? text("report.within_error") : row.band ? text("report.ci_band", { ci: wording.shown(measure.unit, difference.ci95), band: text(`band.${row.band}`) }) : text("report.ci", { ci: wording.shown(measure.unit, difference.ci95) }));
        setAttribute(cells.difference.value.parentElement, "data-band", !difference || row.within_error ? "error" : row.band ?? "none");
      }
    },
  };
}
