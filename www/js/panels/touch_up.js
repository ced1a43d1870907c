// Step 10: weeks later. A new photo over the first one, the agreed outline over that, and what has become of it.

import { button, choice, section } from "../controls.js";
import { el, replaceChanged, setText } from "../dom.js";
import { text } from "../messages.js";
import { today } from "../moment.js";
import { TOUCH_UP } from "../pose_photos.js";
import { SIDES, sidesAsSeen } from "../sides.js";
import { createPosePhoto } from "./pose_photo.js";

const LINES = ["healed", "hair"];

export function createTouchUpPanel(root, app) {
  const { store, wording } = app;
  /** What is drawn around now, `{line, side}`; `null` while points are placed or looked at. */
  let drawing = null;
  let settled = "";

  const touchUp = () => store.plan.touch_up ?? null;
  const photo = createPosePhoto(app, {
    pose: () => TOUCH_UP, name: "later", how: "later.photo_how",
    setPhoto: (next) => app.commit({ do: "set_touch_up", date: today(), ...(next ? { pose_photo: next } : {}) }),
    settle() {
      drawing = null;
      settle();
      render();
    },
  });
  const unagreed = el("p", { class: "hint strong", text: text("later.unagreed") });
  const problem = el("p", { class: "status wants" });
  const fit = el("ul", { class: "sources", id: "later-fit" });

  // Lines

  const lineButtons = choice(text("later.lines"), LINES.flatMap((line) => sidesAsSeen().map((side) => ({
    value: `${line} ${side}`, id: `later-${line}-${side}`, label: text("later.line", { line: text(`later.${line}`), side: text(`side_short.${side}`) }) }))), (value) => {
    const [line, side] = value.split(" ");
    drawing = drawing?.line === line && drawing.side === side ? null : { line, side };
    settle();
    render();
  });
  const clear = button(text("later.clear"), { id: "later-clear", iconName: "close", on: () => app.commit({ do: "trace_touch_up", ...drawing, points_px: [] }) });
  lineButtons.node.classList.add("two-by-two");
  const look = button(text("later.look"), { id: "later-look", iconName: "eye", on: () => { drawing = null; settle(); render(); } });
  const lines = section(text("later.lines"), el("p", { class: "hint", text: text("later.lines_how") }), lineButtons.node, el("div", { class: "pair" }, look, clear));

  // What has changed

  const said = el("div", { class: "plain said", id: "later-said" });
  const rows = el("tbody");
  const table = el("table", { class: "areas", id: "later-measures" },
    el("thead", {}, el("tr", {}, el("th", { scope: "col", text: text("later.measure") }), ...sidesAsSeen().map((side) => el("th", { scope: "col" }, text(`side_short.${side}`), el("small", { text: text("later.change") }))))), rows);
  const hair = el("ul", { class: "plain", id: "later-hair" });
  const start = button(text("later.start"), {
    id: "later-start", kind: "button primary wide", iconName: "right",
    on: () => {
      const at = store.plan.agreements?.at(-1)?.at;
      app.startTouchUp(at ? text("later.agreed_name", { date: at.slice(0, 10) }) : text("later.agreed_before"));
    },
  });
  const changed = section(text("later.changed"), said, table);
  const hairPart = section(text("later.hair_title"), hair);
  const next = section(text("later.start_title"), el("p", { class: "hint", text: text("later.start_how") }), start);
  root.append(section(text("later.title"), el("p", { class: "lead", text: text("later.how") }), unagreed, photo.node, problem, fit), lines, changed, hairPart, next);

  /** Puts on the stage what goes with what is done: points to place, a line to draw, or the agreed outline to look at. */
  function settle() {
    const { ask } = photo.stage();
    const wanted = !photo.isThere() ? ["look", {}] : drawing ? ["trace", { pose: TOUCH_UP, ...drawing }] : ask ? ["pose", photo.stage()] : ["look", { pose: TOUCH_UP }];
    const key = JSON.stringify(wanted);
    if (key === settled) return;
    const wasThere = settled.includes(TOUCH_UP);
    settled = key;
    app.setStageMode(...wanted);
    if (photo.isThere() && !wasThere) app.stage.fit();
  }

  const mm2 = (value) => wording.shown("mm2", value);
  const mm = (value) => wording.shown("mm", value);

  function showChanges(report) {
    const { healed, hair: outside } = report;
    const sentences = SIDES.filter((side) => healed[side]).map((side) => {
      const { agreed_mm2: agreed, faded_mm2: faded, spread_mm2: spread, area_ci95_mm2: ci, mean_distance_mm: mean, farthest_mm: farthest } = healed[side];
      const words = text("later.side", { side: text(`side.${side}`), agreed: mm2(agreed), faded: mm2(faded), spread: mm2(spread), ci: mm2(ci), mean: mm(mean), farthest: mm(farthest) });
      return Math.max(faded, spread) > ci ? words : `${words} ${text("later.within_error")}`;
    });
    replaceChanged(said, ...(sentences.length ? sentences : [text("later.none_drawn")]).map((words) => el("p", { text: words })));
    table.hidden = sentences.length === 0;
    const ids = [...new Set(SIDES.flatMap((side) => (healed[side]?.measures ?? []).map(({ id }) => id)))];
    const cell = (side, id) => {
      const found = healed[side]?.measures.find((row) => row.id === id);
      if (!found) return el("td", {}, el("span", { text: "–" }));
      return el("td", {}, el("span", { text: `${wording.signed(found.unit, found.change.value)} ` }),
        el("small", { text: found.within_error ? text("report.within_error") : text("report.ci", { ci: wording.shown(found.unit, found.change.ci95) }) }));
    };
    replaceChanged(rows, ...ids.map((id) => el("tr", { data: { measure: id } }, el("th", { scope: "row", text: text(`measure.${id}`) }), ...sidesAsSeen().map((side) => cell(side, id)))));
    const strips = SIDES.filter((side) => outside[side]).flatMap((side) => (outside[side].length
      ? outside[side].map((strip) => text("strips.one", { side: text(`side.${side}`), place: text(`strip.${strip.place}`), area: mm2(strip.area_mm2), mean: mm(strip.mean_width_mm), widest: mm(strip.widest_mm) }))
      : [text("later.hair_none", { side: text(`side.${side}`) })]));
    replaceChanged(hair, ...(strips.length ? strips : [text("later.hair_undrawn")]).map((words) => el("li", { text: words })));
  }

  function render() {
    const report = app.report()?.touch_up ?? null;
    unagreed.hidden = (store.plan.agreements ?? []).length > 0;
    photo.render();
    problem.hidden = !report?.problem;
    if (report?.problem) setText(problem, wording.problem(report.problem));
    replaceChanged(fit, ...(report?.fit ? photo.fitSaid(report.fit) : []).map((words) => el("li", { text: words })));
    const isLying = Boolean(report?.fit);
    for (const part of [lines, changed, hairPart, next]) part.hidden = !isLying;
    lineButtons.set(drawing ? `${drawing.line} ${drawing.side}` : null);
    look.hidden = !drawing;
    clear.hidden = !drawing || !touchUp()?.[drawing.line]?.[drawing.side];
    if (isLying) showChanges(report);
  }

  return {
    render,
    asked(id) {
      photo.asked(id);
      settled = JSON.stringify(["pose", photo.stage()]);
      // The last point is placed: the agreed outline can be looked at.
      if (!id) settle();
    },
    enter() {
      settled = "";
      drawing = null;
      photo.begin();
      settle();
    },
    loaded() {
      drawing = null;
      photo.begin();
    },
    report: render,
  };
}
