// Step 5: the planned outlines. Sliders are made from what the core describes.

import { button, choice, folded, nextButton, numberField, section, slider, toggle } from "../controls.js";
import { el, setAttribute, setText } from "../dom.js";
import { text } from "../messages.js";
import { inputText } from "../numbers.js";
import { SIDES, sidesAsSeen } from "../sides.js";
import { areaTable } from "./areas.js";

/** Switches of the drawing: the kinds of the scene that each shows or hides. */
const LAYERS = {
  areas: ["kept", "removed", "added"],
  natural: ["natural"],
  centre_line: ["centre_line"],
  height_line: ["height_line"],
  front_line: ["front_line"],
  end_line: ["end_line"],
  arch: ["arch_measure", "arch_natural", "arch_bone"],
  thread: ["thread"],
  labels: ["labels"],
};

export function createShapePanel(root, app) {
  const { describe, wording } = app;
  const side = () => app.side();
  const isLinked = () => side() === "both";
  const shownSide = () => (isLinked() ? "right" : side());

  const [first, last] = sidesAsSeen();
  const sides = choice(text("shape.side"), [first, "both", last].map((value) => ({ value, label: text(value === "both" ? "shape.both" : `side.${value}`), id: `side-${value}` })),
    (value) => app.setSide(value));
  const linkedHint = el("p", { class: "hint" });

  const startNatural = button(text("shape.start_natural"), { id: "start-natural", on: () => app.commit({ do: "start_from_natural", sides: isLinked() ? SIDES : [side()] }) });
  const startMean = button(text("shape.start_mean"), { id: "start-mean", on: () => app.commit({ do: "start_from_mean" }) });
  const copyOther = button(text("shape.copy_other"), { id: "copy-other", on: () => app.commit({ do: "copy_from_other", side: shownSide() }) });
  const wants = el("p", { class: "status wants" });

  const edit = (param, value) => ({ do: "set_param", side: shownSide(), param, value, linked: isLinked() });
  const sliders = describe.params.map((param) => ({
    param,
    control: slider({
      ...param, label: text(`param.${param.id}`), refuse: app.problem,
      move: (value) => app.preview(edit(param.id, value)),
      keep: () => app.keep(), drop: () => app.drop(),
      jump: (value) => app.commit(edit(param.id, value)),
    }),
  }));
  const groups = [...new Set(describe.params.map((param) => param.group))].map((group) =>
    el("section", { class: "part group", "aria-label": text(`group.${group}`) },
      el("h2", { text: text(`group.${group}`) }),
      el("div", { class: "sliders" }, ...sliders.filter(({ param }) => param.group === group).map(({ control }) => control.node))));

  const areas = areaTable("shape-areas", wording);
  const layers = Object.keys(LAYERS).map((name) => ({
    name,
    control: toggle(text(`layer.${name}`), { id: `layer-${name}`, on: (isOn) => app.setLayers(LAYERS[name], isOn) }),
  }));
  const info = (id) => describe.fields.find((field) => field.id === id);
  const setGuides = (change) => app.commit({ do: "set_guides", guides: { ...app.store.plan.guides, ...change } });
  const archGuide = choice(text("guides.arch"), ["measure", "natural", "bone"].map((value) => ({ value, label: text(`guides.arch_${value}`), id: `arch-${value}` })), (value) => setGuides({ arch: value }));
  const archMeasure = numberField(text("field.guides.arch_measure_mm"), { ...info("guides.arch_measure_mm"), id: "arch-measure-mm", refuse: app.problem, on: (value) => setGuides({ arch_measure_mm: value }) });
  const limits = describe.fields.filter((field) => field.id.startsWith("limits.")).map((field) => {
    const name = field.id.slice("limits.".length);
    return { name, control: numberField(text(`field.${field.id}`), { ...field, id: `limit-${name}`, optional: name.endsWith("_mm2"), placeholder: name.endsWith("_mm2") ? text("rules.no_limit") : undefined, refuse: app.problem, on: (value) => app.commit({ do: "set_limits", limits: { ...app.store.plan.limits, [name]: value } }) }) };
  });

  root.append(
    el("div", { class: "stay" }, sides.node),
    section(text("shape.title"), linkedHint,
      el("div", { class: "starts" }, startNatural, startMean, copyOther), wants),
    ...groups,
    section(text("areas.title"), areas.node, el("p", { class: "hint", text: text("areas.edge_hint") })),
    folded(text("guides.title"),
      ...layers.map(({ control }) => control.node),
      el("h3", { text: text("guides.arch") }), el("p", { class: "hint", text: text("guides.arch_hint") }), archGuide.node, archMeasure.node),
    folded(text("limits.title"), el("p", { class: "hint", text: text("limits.hint") }), ...limits.map(({ control }) => control.node)),
    nextButton(text("next.balance"), () => app.goTo("balance")));

  function render(plan) {
    sides.set(side());
    const outline = plan.planned[shownSide()];
    const other = plan.planned[shownSide() === "right" ? "left" : "right"];
    const isReady = isLinked() ? Boolean(plan.planned.right && plan.planned.left) : Boolean(outline);
    setText(linkedHint, text(isLinked() ? "shape.linked_hint" : "shape.one_hint", { side: text(`side.${shownSide()}`) }));
    setText(wants, isReady ? "" : text("shape.start_first"));
    wants.hidden = isReady;
    const naturals = SIDES.filter((each) => plan.natural[each]);
    startNatural.disabled = isLinked() ? naturals.length < 2 : !plan.natural[side()];
    startMean.disabled = naturals.length < 2;
    copyOther.disabled = isLinked() || !other;
    setText(copyOther.lastChild, isLinked() ? text("shape.copy_other") : text("shape.copy_from", { side: text(`side.${side() === "right" ? "left" : "right"}`) }));
    for (const { param, control } of sliders) {
      control.enable(isReady);
      const value = (outline ?? other)?.[param.id] ?? param.planned_start ?? param.default;
      const differs = isLinked() && isReady && other[param.id] !== value && inputText(other[param.id], param.step) !== inputText(value, param.step);
      control.set(value, differs ? text("shape.sides_differ", { right: inputText(value, param.step), left: inputText(other[param.id], param.step) }) : "");
    }
    archGuide.set(plan.guides.arch);
    archMeasure.set(plan.guides.arch_measure_mm);
    for (const { name, control } of limits) control.set(plan.limits[name]);
    const view = app.view();
    for (const { name, control } of layers) {
      const isOn = LAYERS[name].every((kind) => view.layers[kind] !== false);
      if (control.input.checked !== isOn) control.input.checked = isOn;
    }
    setAttribute(root, "data-side", side());
  }

  return {
    render,
    enter() {
      app.setStageMode("shape", { linked: isLinked(), side: side() });
    },
    report(report) {
      areas.report(report, app.store.plan);
    },
  };
}
