// Step 7: the report, the checks in plain words, and the cautions.

import { section } from "../controls.js";
import { el, icon, replace } from "../dom.js";
import { text } from "../messages.js";
import { areaTable } from "./areas.js";
import { measureTable } from "./measure_table.js";

const CAUTIONS = ["device", "doctor", "today", "rules", "patch", "needles", "upright"];
/** Problems that only a guide has: worth knowing, nothing to stop for. */
const OPTIONAL_PROBLEMS = new Set(["guide_landmark"]);
const LEVEL_ORDER = { warn: 0, note: 1, ok: 2 };

export function createCheckPanel(root, app) {
  const { describe, wording } = app;

  const headline = el("div", { class: "headline" });
  const problems = el("ul", { class: "problems" });
  const checks = el("ul", { class: "checks" });
  const areas = areaTable("report-areas", wording);
  const strips = el("ul", { class: "plain" });
  const tables = Object.fromEntries(["natural", "planned"].map((which) => [which, measureTable(`report-${which}`, text(`report.${which}`), describe.measures, wording)]));

  root.append(
    section(text("check.headline"), headline),
    section(text("check.checks"), problems, checks),
    section(text("areas.title"), areas.node, el("p", { class: "hint", text: text("areas.edge_hint") })),
    section(text("strips.title"), strips),
    section(text("report.planned"), tables.planned.node),
    section(text("report.natural"), tables.natural.node, el("p", { class: "hint", text: text("report.hint") })),
    section(text("cautions.title"), el("ul", { class: "cautions" }, ...CAUTIONS.map((name) => el("li", { text: text(`cautions.${name}`) })))));

  function showHeadline(report) {
    const { natural_symmetry: natural, planned_symmetry: planned } = report;
    const figure = (which, symmetry) => el("div", { class: "figure", data: { symmetry: which } },
      el("span", { class: "figure-name", text: text(`check.uneven_${which}`) }),
      el("span", { class: "figure-value" }, el("b", { text: symmetry ? wording.shown("mm", symmetry.mean_distance_mm) : "–" }), symmetry ? el("small", { text: text("check.mm_ci", { ci: wording.shown("mm", symmetry.ci95_mm) }) }) : null),
      symmetry ? el("span", { class: "figure-word", text: symmetry.within_error ? text("check.headline_within_error") : text(`band.${symmetry.band}`) }) : null,
      symmetry ? el("small", { text: text("check.roll_band", { low: wording.shown("mm", Math.min(symmetry.mean_distance_mm, ...symmetry.roll_band_mm)), high: wording.shown("mm", Math.max(symmetry.mean_distance_mm, ...symmetry.roll_band_mm)) }) }) : null,
      symmetry ? el("small", { text: text("check.symmetry_more", { hausdorff: wording.shown("mm", symmetry.hausdorff_mm), overlap: wording.shown("pct", 100 * (1 - symmetry.one_minus_iou)) }) }) : null);
    replace(headline, figure("natural", natural), figure("planned", planned), el("p", { class: "hint", text: text("check.headline_hint") }));
  }

  /** A line of the lists: its level as an icon for the eye and a word for the ear. */
  const item = (data, words) =>
    el("li", { data }, icon(data.level), el("span", {}, el("span", { class: "visually-hidden", text: `${text(`level_word.${data.level}`)}: ` }), words));

  let isShown = false;

  function show() {
    const report = app.report();
    if (!report) return;
    showHeadline(report);
    const urgent = report.problems.filter(({ code }) => !OPTIONAL_PROBLEMS.has(code));
    const waiting = report.problems.filter(({ code }) => OPTIONAL_PROBLEMS.has(code));
    replace(problems, ...urgent.map((problem) => item({ problem: problem.code, level: "warn" }, wording.problem(problem))));
    problems.hidden = urgent.length === 0;
    const lines = [
      ...report.checks.map((check) => ({ level: check.level, data: { check: check.id, level: check.level, ...(check.side ? { side: check.side } : {}) }, words: wording.check(check) })),
      ...waiting.map((problem) => ({ level: "note", data: { problem: problem.code, level: "note" }, words: wording.problem(problem) })),
    ].sort((a, b) => LEVEL_ORDER[a.level] - LEVEL_ORDER[b.level]);
    replace(checks, ...lines.map(({ data, words }) => item(data, words)));
    areas.report(report, app.store.plan);
    replace(strips, ...(report.strips.length
      ? report.strips.map((strip) => el("li", { text: text("strips.one", {
        side: text(`side.${strip.side}`), place: text(`strip.${strip.place}`), area: wording.shown("mm2", strip.area_mm2), mean: wording.shown("mm", strip.mean_width_mm), widest: wording.shown("mm", strip.widest_mm) }) }))
      : [el("li", { text: text("strips.none") })]));
    tables.natural.report(report.natural);
    tables.planned.report(report.planned);
  }

  return {
    render() {},
    enter() {
      app.setStageMode("look");
      isShown = true;
      show();
    },
    leave() {
      isShown = false;
    },
    report() {
      if (isShown) show();
    },
  };
}
