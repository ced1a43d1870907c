// Step 3: the natural brow of each side: traced on the photo, typed from calipers, or an outline pulled over the hair.

import { button, choice, nextButton, numberField, section, slider } from "../controls.js";
import { el, setAttribute, setText } from "../dom.js";
import { text } from "../messages.js";
import { SIDES, sidesAsSeen } from "../sides.js";
import { BROWS } from "./draft_kinds.js";
import { createDraftsSection } from "./drafts_section.js";

/** The typed numbers of one brow, in the order in which calipers are walked along it. */
const CALIPERS = ["front_out_mm", "bulb_bottom_mm", "bulb_top_mm", "arch_out_mm", "arch_top_mm", "arch_thickness_mm", "tail_out_mm", "tail_up_mm", "tail_thickness_mm"];

export function createHairPanel(root, app) {
  const { describe } = app;
  let way = null;
  let tracing = null;
  let shaping = "right";
  let before = null;

  const ways = choice(text("hair.way"), [
    { value: "trace", label: text("hair.trace"), id: "way-trace" },
    { value: "shape", label: text("hair.shape"), id: "way-shape" },
    { value: "calipers", label: text("hair.calipers"), id: "way-calipers" },
  ], (value) => { way = value; stopTracing(); render(app.store.plan); });

  // Traces
  const cards = Object.fromEntries(SIDES.map((side) => {
    const status = el("p", { class: "status" });
    const trace = el("button", { type: "button", class: "button", id: `trace-${side}`, "aria-pressed": "false", on: { click: () => startTracing(side) } }, app.icon("pen"), el("span"));
    const clear = button(text("hair.clear"), { id: `clear-${side}`, iconName: "close", on: () => app.commit({ do: "clear_natural", side }) });
    clear.setAttribute("aria-label", text("hair.clear_long", { side: text(`side.${side}`) }));
    const node = el("div", { class: `card side-${side}` }, el("h3", {}, el("span", { class: "side-mark", "aria-hidden": "true" }), el("span", { text: text(`side.${side}`) })), status, el("div", { class: "pair" }, trace, clear));
    return [side, { node, status, trace, clear }];
  }));
  const traceHow = el("p", { class: "lead", text: text("hair.trace_how") });
  const done = button(text("hair.trace_stop"), { id: "trace-done", kind: "button wide", iconName: "ok", on: () => stopTracing() });
  const redrawHow = el("p", { class: "hint", text: text("hair.redraw_how") });

  function startTracing(side) {
    tracing = side;
    app.setStageMode("trace", { side });
    render(app.store.plan);
  }
  function stopTracing() {
    tracing = null;
    settleStage();
    render(app.store.plan);
  }
  /** What the stage is for while nobody traces: the handles of a pulled outline, or looking. */
  function settleStage() {
    if (tracing) return;
    if (shownWay() === "shape" && pulled()) app.setStageMode("natural", { side: shaping });
    else app.setStageMode("look");
  }
  function shownWay() {
    const { photo } = app.store.plan;
    const present = way ?? (photo ? "trace" : "calipers");
    return !photo && present === "trace" ? "calipers" : present;
  }

  // Typed calipers
  const info = (name) => describe.fields.find((field) => field.id === `calipers.${name}`);
  const typed = { right: {}, left: {} };
  const fields = { right: {}, left: {} };
  const missing = Object.fromEntries(SIDES.map((side) => [side, el("p", { class: "hint" })]));
  const take = (side, name, value) => {
    typed[side][name] = value;
    const lacking = CALIPERS.filter((each) => typed[side][each] === null || typed[side][each] === undefined);
    if (lacking.length === 0) app.commit({ do: "type_natural", side, calipers: { ...typed[side] } });
    showMissing(side);
  };
  const showMissing = (side) => {
    const lacking = CALIPERS.filter((each) => typed[side][each] === null || typed[side][each] === undefined).length;
    setText(missing[side], lacking === CALIPERS.length ? "" : lacking ? text("hair.calipers_lacking", { side: text(`side.${side}`), count: lacking }) : text("hair.calipers_done", { side: text(`side.${side}`) }));
  };
  const caliperRows = CALIPERS.map((name) =>
    el("div", { class: "caliper-row" },
      el("span", { class: "caliper-name", text: text(`field.calipers.${name}`) }),
      ...sidesAsSeen().map((side) => {
        const field = numberField(`${text(`side.${side}`)}, ${text(`field.calipers.${name}`)}`, {
          ...info(name), id: `caliper-${side}-${name}`, hideLabel: true, optional: true, data: { caliper: name, side }, refuse: app.problem,
          on: (value) => take(side, name, value),
        });
        fields[side][name] = field;
        return field.node;
      })));
  const caliperForm = el("div", { class: "calipers" },
    el("p", { class: "lead", text: text("hair.calipers_how") }),
    el("div", { class: "caliper-row head" }, el("span"), ...sidesAsSeen().map((side) => el("span", { text: text(`side_short.${side}`) }))),
    ...caliperRows, ...SIDES.map((side) => missing[side]));

  // An outline pulled over the hair
  const shapeSide = choice(text("shape.side"), sidesAsSeen().map((side) => ({ value: side, label: text(`side.${side}`), id: `hair-side-${side}` })), (side) => { shaping = side; settleStage(); render(app.store.plan); });
  const shapeStart = button(text("hair.shape_start"), { id: "hair-shape-start", kind: "button wide", on: () => startShape() });
  const natural = () => app.store.plan.natural[shaping];
  const pulled = () => (natural()?.by === "shape" ? natural().outline : null);
  const asShape = (outline) => ({ do: "shape_natural", side: shaping, outline });
  const sliders = describe.params.map((param) => ({
    param,
    control: slider({
      ...param, label: text(`param.${param.id}`), dataName: "natural", refuse: app.problem,
      move: (value) => pulled() && app.preview(asShape({ ...pulled(), [param.id]: value })),
      keep: () => app.keep(), drop: () => app.drop(),
      jump: (value) => pulled() && app.commit(asShape({ ...pulled(), [param.id]: value })),
    }),
  }));
  const shapeSliders = el("div", { class: "sliders" }, ...sliders.map(({ control }) => control.node));
  const shapeForm = el("div", {}, el("p", { class: "lead", text: text("hair.shape_how") }), shapeSide.node, shapeStart, shapeSliders);

  /** Starts from the fit of what is there, where the core finds one, else from a median brow. */
  function startShape() {
    const fitted = natural() ? app.fittedOutline(shaping) : null;
    const median = Object.fromEntries(describe.params.map((param) => [param.id, param.default]));
    app.commit(asShape(fitted ?? median));
  }

  const drafts = createDraftsSection(app, BROWS, () => startTracing("right"));
  const traceForm = el("div", {}, traceHow, done);
  const framing = el("p", { class: "status wants", text: text("hair.points_first") });
  root.append(
    section(text("hair.title"), ways.node, framing),
    drafts.node,
    el("div", { class: "part" }, traceForm, shapeForm, caliperForm),
    el("div", { class: "cards" }, ...SIDES.map((side) => cards[side].node)),
    redrawHow,
    nextButton(text("next.poses"), () => { stopTracing(); app.goTo("poses"); }));

  function render(plan) {
    const hasPhoto = Boolean(plan.photo);
    const shown = shownWay();
    ways.set(shown);
    ways.buttons[0].disabled = !hasPhoto;
    traceForm.hidden = shown !== "trace";
    done.hidden = !tracing;
    shapeForm.hidden = shown !== "shape";
    caliperForm.hidden = shown !== "calipers";
    redrawHow.hidden = shown !== "trace" || !SIDES.some((side) => plan.natural[side]?.by === "trace");
    framing.hidden = !hasPhoto || app.hasFrame();
    drafts.node.hidden = shown !== "trace" || !hasPhoto;
    drafts.render();
    for (const side of SIDES) {
      const { status, trace, clear } = cards[side];
      const brow = plan.natural[side];
      setText(status, brow ? text(`hair.is_${brow.by}`) : text("hair.is_missing"));
      trace.hidden = shown !== "trace";
      clear.disabled = !brow;
      setAttribute(trace, "aria-pressed", tracing === side);
      setText(trace.lastChild, text(tracing === side ? "hair.tracing" : brow?.by === "trace" ? "hair.trace_again" : "hair.trace_start"));
      setAttribute(trace, "aria-label", `${text(`side.${side}`)}: ${trace.lastChild.textContent}`);
      if (brow?.by === "calipers") {
        for (const name of CALIPERS) typed[side][name] = brow[name];
      }
      for (const name of CALIPERS) fields[side][name].set(typed[side][name] ?? null);
      showMissing(side);
    }
    shapeSide.set(shaping);
    const outline = pulled();
    shapeSliders.hidden = !outline;
    shapeStart.hidden = Boolean(outline);
    if (outline) for (const { param, control } of sliders) control.set(outline[param.id]);
  }

  return {
    render,
    enter() {
      tracing = null;
      const plan = app.store.plan;
      before = plan.natural;
      const first = SIDES.find((side) => !plan.natural[side]);
      if (plan.photo && (way ?? "trace") === "trace" && first && app.hasFrame()) tracing = first;
      if (tracing) app.setStageMode("trace", { side: tracing });
      else settleStage();
      if (shownWay() === "trace") void drafts.recall();
    },
    leave: () => drafts.leave(),
    /** Another plan was opened: typed numbers of the last one go. */
    loaded() {
      way = null;
      for (const side of SIDES) typed[side] = {};
    },
    /** A first trace was drawn: goes on to the other side while that one is missing. */
    changed(plan) {
      settleStage();
      const wasMissing = tracing && before && !before[tracing];
      before = plan.natural;
      if (!wasMissing || !plan.natural[tracing]) return;
      const other = tracing === "right" ? "left" : "right";
      if (!plan.natural[other]) startTracing(other);
    },
    report() {
      framing.hidden = !app.store.plan.photo || app.hasFrame();
    },
  };
}
