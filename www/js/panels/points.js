// Step 2: landmarks, which line is level, and the scale.

import { button, choice, folded, nextButton, numberField, section, slider, toggle } from "../controls.js";
import { el, icon, replace, setAttribute, setText } from "../dom.js";
import { firstText, text } from "../messages.js";
import { createPointRows } from "../point_rows.js";
import { POINTS } from "./draft_kinds.js";
import { createDraftsSection } from "./drafts_section.js";

/** The landmark's name without its side. */
const baseOf = (id) => id.split(".")[0];

export function createPointsPanel(root, app) {
  const { describe, wording } = app;
  let asked = null;
  const fieldInfo = (id) => describe.fields.find((field) => field.id === id);

  const needed = describe.landmarks.filter((landmark) => !landmark.optional);
  const others = describe.landmarks.filter((landmark) => landmark.optional);

  function ask(id) {
    asked = id;
    app.setStageMode("points", { ask: id });
    app.select(app.store.plan.landmarks[id] ? `landmark:${id}` : null);
    render(app.store.plan);
  }

  const [neededRows, otherRows] = [needed, others].map((points) => createPointRows(points, ask));

  const askedNow = el("p", { class: "asked", role: "status" });
  const askedHow = el("p", { class: "hint" });
  const remove = button(text("points.remove"), { id: "remove-point", iconName: "close", on: () => asked && app.commit({ do: "remove_landmark", landmark: asked }) });
  const placeCentre = button(text("points.place_here"), { id: "place-point", iconName: "plus", on: () => asked && app.placeAtCentre() });

  // Level
  const frame = () => structuredClone(app.store.plan.frame);
  const setFrame = (change) => app.commit({ do: "set_frame", frame: { ...frame(), ...change } });
  const rollFrom = choice(text("level.from"), [
    { value: "eyes", label: text("level.eyes"), id: "roll-eyes" },
    { value: "bridge", label: text("level.bridge"), id: "roll-bridge" },
  ], (value) => setFrame({ roll_from: value }));
  const nudgeInfo = fieldInfo("frame.roll_nudge_deg");
  const nudge = slider({
    ...nudgeInfo, id: "frame.roll_nudge_deg", label: text("field.frame.roll_nudge_deg"), dataName: "field", refuse: app.problem,
    move: (value) => app.preview({ do: "set_frame", frame: { ...frame(), roll_nudge_deg: value } }),
    keep: () => app.keep(), drop: () => app.drop(),
    jump: (value) => setFrame({ roll_nudge_deg: value }),
  });
  const rollSaid = el("p", { class: "status" });

  // Scale
  const ruler = numberField(text("field.frame.ruler_mm"), { ...fieldInfo("frame.ruler_mm"), id: "ruler-mm", optional: true, refuse: app.problem, on: (value) => setFrame({ ruler_mm: value }) });
  const iris = toggle(text("scale.iris"), { id: "use-iris", hint: text("scale.iris_hint"), on: (isOn) => setFrame({ use_iris: isOn }) });
  const calipers = el("ul", { class: "caliper-list" });
  const landmarkPicker = (id, label, chosen) => {
    const select = el("select", { id, "aria-label": label }, ...describe.landmarks.map((landmark) => el("option", { value: landmark.id, text: text(`landmark.${landmark.id}`) })));
    select.value = chosen;
    return select;
  };
  const from = landmarkPicker("caliper-from", text("scale.from"), "pupil.right");
  const to = landmarkPicker("caliper-to", text("scale.to"), "pupil.left");
  let distance = null;
  const distanceField = numberField(text("scale.distance"), { ...fieldInfo("frame.calipers.mm"), id: "caliper-mm", optional: true, refuse: app.problem, on: (value) => { distance = value; } });
  const add = button(text("scale.add"), {
    id: "add-caliper", iconName: "plus",
    on: () => {
      if (distance === null) return distanceField.input.focus();
      const result = app.commit({ do: "set_caliper", caliper: { from: from.value, to: to.value, mm: distance } });
      if (result.ok) { distance = null; distanceField.set(null); }
      return undefined;
    },
  });
  const scaleSaid = el("p", { class: "status big" });
  const sources = el("ul", { class: "sources" });

  const noise = ["landmark_mm", "edge_mm", "caliper_mm", "yaw_deg"].map((name) => ({
    name,
    field: numberField(text(`field.noise.${name}`), {
      ...fieldInfo(`noise.${name}`), id: `noise-${name}`, refuse: app.problem,
      on: (value) => app.commit({ do: "set_noise", noise: { ...app.store.plan.noise, [name]: value } }),
    }),
  }));

  /** Points that are never guessed but wanted with what was: the wings of the nose. */
  let wanted = [];
  const drafts = createDraftsSection(app, POINTS, (found) => {
    wanted = found.points.filter((point) => point.is_seed).map(({ id }) => id);
    ask(nextMissing(app.store.plan));
  });
  const problems = el("ul", { class: "problems" });
  const withPhoto = el("div", {}, drafts.node,
    section(text("points.title"),
      askedNow, askedHow,
      el("div", { class: "pair" }, placeCentre, remove),
      el("div", { class: "points" }, ...neededRows.rows),
      folded(text("points.more"), el("div", { class: "points" }, ...otherRows.rows))),
    problems,
    section(text("scale.title"),
      scaleSaid, sources,
      ruler.node, el("p", { class: "hint", text: text("scale.ruler_hint") }),
      iris.node,
      el("h3", { text: text("scale.calipers") }),
      calipers,
      el("div", { class: "caliper-form" }, from, to, distanceField.node, add)),
    section(text("level.title"),
      el("p", { class: "hint", text: text("level.hint") }),
      rollFrom.node, nudge.node, rollSaid));

  const withoutPhoto = el("div", {}, section(text("points.title"), el("p", { class: "lead", text: text("points.no_photo") })));
  root.append(withoutPhoto, withPhoto,
    folded(text("noise.title"), el("p", { class: "hint", text: text("noise.hint") }), ...noise.map(({ field }) => field.node)),
    nextButton(text("next.hair"), () => app.goTo("hair")));

  /** The landmark to ask for: the first needed or wanted one that is missing, else nothing. */
  const nextMissing = (plan) => [...needed.map(({ id }) => id), ...wanted].find((id) => !plan.landmarks[id]) ?? null;

  function render(plan) {
    const hasPhoto = Boolean(plan.photo);
    withPhoto.hidden = !hasPhoto;
    drafts.render();
    withoutPhoto.hidden = hasPhoto;
    const placed = needed.filter((landmark) => plan.landmarks[landmark.id]).length;
    for (const rows of [neededRows, otherRows]) rows.show(plan.landmarks, asked);
    setText(askedNow, asked
      ? text(plan.landmarks[asked] ? "points.move" : "points.ask", { name: text(`landmark.${asked}`) })
      : text(placed === needed.length ? "points.done" : "points.count", { placed, needed: needed.length }));
    setText(askedHow, asked ? firstText([`landmark_how.${baseOf(asked)}`, "landmark_how.any"]) : text("points.tap_any"));
    placeCentre.hidden = !asked || Boolean(plan.landmarks[asked]);
    remove.hidden = !asked || !plan.landmarks[asked];

    rollFrom.set(plan.frame.roll_from);
    nudge.set(plan.frame.roll_nudge_deg);
    ruler.set(plan.frame.ruler_mm);
    iris.input.checked = plan.frame.use_iris;
    for (const { name, field } of noise) field.set(plan.noise[name]);
    replace(calipers, ...plan.frame.calipers.map((caliper) =>
      el("li", {},
        el("span", { text: text("scale.caliper_is", { from: text(`landmark.${caliper.from}`), to: text(`landmark.${caliper.to}`), mm: wording.withUnit("mm", caliper.mm) }) }),
        el("button", { type: "button", class: "step", "aria-label": text("scale.caliper_remove", { from: text(`landmark.${caliper.from}`), to: text(`landmark.${caliper.to}`) }), on: { click: () => app.commit({ do: "remove_caliper", from: caliper.from, to: caliper.to }) } }, icon("close")))));
  }

  return {
    render,
    /** Called when the step is shown. */
    enter() {
      const missing = nextMissing(app.store.plan);
      asked = app.store.plan.photo ? missing : null;
      app.setStageMode("points", { ask: asked });
    },
    leave: () => drafts.leave(),
    /** The stage placed what was asked for and asks for the next landmark. */
    asked(id) {
      const next = id ?? (wanted.length ? nextMissing(app.store.plan) : null);
      if (next !== (id ?? null)) {
        ask(next);
        return;
      }
      asked = next;
      render(app.store.plan);
    },
    report(report) {
      const { frame: framed } = report;
      setText(scaleSaid, framed ? text("scale.is", { px: wording.shown("one", framed.px_per_mm), pct: wording.shown("pct", 1.96 * framed.scale_sd_pct) }) : text("scale.none"));
      setText(rollSaid, framed ? text("level.is", { deg: wording.shown("deg", framed.roll_deg), ci: wording.shown("deg", 1.96 * framed.roll_sd_deg) }) : text("level.none"));
      replace(sources, ...(framed?.scale_sources ?? []).map((source) =>
        el("li", { text: text("scale.source", { name: wording.source(source.id), pct: wording.shown("pct", 1.96 * source.sd_pct), residual: wording.signed("pct", source.residual_pct) }) })));
      // That there is no scale is said beside the scale; which point is next, above the points.
      const mine = report.problems.filter(({ code }) => /^(points_|sides_|scale_|frame_)/.test(code) && code !== "scale_missing");
      replace(problems, ...mine.map((problem) => el("li", {}, icon("warn"), el("span", { text: wording.problem(problem) }))));
      problems.hidden = mine.length === 0;
    },
  };
}
