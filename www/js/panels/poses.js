// Step 4: how the brows move when her eyes close and when she lies down: what of a difference is muscle, and what sits.

import { button, choice, nextButton, numberField, section, slider, toggle } from "../controls.js";
import { el, replaceChanged, setText } from "../dom.js";
import { firstText, text } from "../messages.js";
import { SIDES, sidesAsSeen } from "../sides.js";
import { liftRows, liftTable } from "./lift_table.js";
import { createPosePhoto } from "./pose_photo.js";

/** Beyond this a difference that moves is worth a warning, mm (judgement: what photos and calipers tell apart at all). */
const MOVES_MM = 1;

export function createPosesPanel(root, app) {
  const { describe, wording } = app;
  const [first] = describe.poses;
  let shown = first;
  /** Calipers or a photo; `null`: by what the pose has. */
  let way = null;
  /** Numbers typed so far, by pose and side; a side counts once all three are there. */
  let typed = {};

  const select = el("select", { id: "pose", on: { change: () => { shown = select.value; way = null; photo.begin(); settle(); render(app.store.plan); } } },
    ...describe.poses.map((id) => el("option", { value: id })));
  const upright = Object.fromEntries(describe.lift_places.map((place) => [place, el("small", { class: "hint" })]));
  const fields = { right: {}, left: {} };
  const info = describe.fields.find((field) => field.id === "balance.relaxed_weight");
  const height = describe.fields.find((field) => field.id === "poses.height_mm");
  const rows = describe.lift_places.map((place) =>
    el("div", { class: "caliper-row" },
      el("span", { class: "caliper-name" }, el("span", { text: text(`poses.height_${place}`) }), upright[place]),
      ...sidesAsSeen().map((side) => {
        const field = numberField(`${text(`side.${side}`)}, ${text(`poses.height_${place}`)}`, {
          ...height, id: `pose-${side}-${place}`, hideLabel: true, optional: true, refuse: app.problem, on: (value) => take(side, place, value),
        });
        fields[side][place] = field;
        return field.node;
      })));
  const lacking = el("p", { class: "hint", id: "pose-lacking" });
  const forget = button(text("poses.forget"), { id: "pose-forget", iconName: "close", on: () => { delete typed[shown]; app.commit({ do: "remove_pose", pose: shown }); } });
  const browsFirst = el("p", { class: "status wants", text: text("poses.brows_first") });

  const preview = toggle(text("poses.preview"), { id: "pose-preview", hint: text("poses.preview_hint"), on: (isOn) => { settle(); if (isOn && photo.isThere()) app.stage.fit(); } });
  const photo = createPosePhoto(app, {
    pose: () => shown,
    setPhoto(photo) {
      const heights = record()?.heights ?? { right: null, left: null };
      app.commit(photo || heights.right || heights.left ? { do: "set_pose", pose: shown, record: { heights, photo } } : { do: "remove_pose", pose: shown });
    },
    settle() {
      settle();
      render(app.store.plan);
    },
  });
  const ways = choice(text("poses.way"), ["calipers", "photo"].map((value) => ({ value, label: text(`poses.by_${value}`), id: `pose-by-${value}` })), (value) => {
    way = value;
    photo.begin();
    settle();
    render(app.store.plan);
  });
  const shownWay = () => way ?? (record()?.photo ? "photo" : "calipers");
  const waits = el("p", { class: "status wants", text: text("poses.heights_wait") });

  const said = el("div", { class: "plain said", id: "pose-said" });
  const moves = el("p", { class: "hint strong" });
  const problem = el("p", { class: "status wants" });
  const lifts = el("tbody");
  const fit = el("ul", { class: "sources", id: "pose-fit" });
  const told = section(text("poses.told"), problem, fit, said, moves,
    liftTable("pose-lifts", [], wording, lifts),
    el("p", { class: "hint", text: text("poses.published") }));

  const asWeight = (value) => ({ do: "set_balance", balance: { ...app.store.plan.balance, relaxed_weight: value } });
  const weight = slider({
    ...info, id: "relaxed_weight", label: text("field.balance.relaxed_weight"), dataName: "weight", refuse: app.problem,
    move: (value) => app.preview(asWeight(value)), keep: () => app.keep(), drop: () => app.drop(), jump: (value) => app.commit(asWeight(value)),
  });
  const stateLine = el("p", { class: "lead", id: "pose-states" });
  const states = section(text("poses.states"), el("p", { class: "hint", text: text("poses.states_how") }), weight.node, stateLine);

  const byCalipers = el("div", { class: "part-of" }, el("p", { class: "lead", text: text("poses.calipers_how") }), waits,
    el("div", { class: "calipers" },
      el("div", { class: "caliper-row head", "aria-hidden": "true" }, el("span"), ...sidesAsSeen().map((side) => el("span", { text: text(`side_short.${side}`) }))),
      ...rows),
    lacking);
  root.append(
    section(text("poses.title"), el("p", { class: "lead", text: text("poses.how") }), browsFirst,
      el("div", { class: "field" }, el("label", { for: select.id, text: text("poses.pose") }), select),
      ways.node, photo.node, byCalipers,
      preview.node, forget),
    told, states,
    nextButton(text("next.shape"), () => app.goTo("shape")));

  /** Puts on the stage what goes with the way and the pose: its photo to place points on, the pair in that pose, or nothing of
   *  it where nothing is recorded. */
  function settle() {
    const isPlacing = shownWay() === "photo" && photo.isThere() && !preview.input.checked;
    const next = isPlacing ? ["pose", photo.stage()] : ["look", preview.input.checked && record() ? { pose: shown } : {}];
    if (JSON.stringify(next) !== JSON.stringify(settled)) app.setStageMode(...next);
    settled = next;
  }
  let settled = null;

  const record = () => app.store.plan.poses?.[shown];
  const isWhole = (numbers) => describe.lift_places.every((place) => typeof numbers?.[place] === "number");
  const asHeights = (numbers) => (isWhole(numbers) ? { front_mm: numbers.front, arch_mm: numbers.arch, tail_mm: numbers.tail } : null);

  function take(side, place, value) {
    typed[shown] ??= { right: {}, left: {} };
    typed[shown][side][place] = value;
    const heights = Object.fromEntries(SIDES.map((each) => [each, asHeights(typed[shown][each])]));
    if (!SIDES.some((each) => heights[each])) {
      render(app.store.plan);
      return;
    }
    const result = app.commit({ do: "set_pose", pose: shown, record: { heights, photo: record()?.photo ?? null } });
    // A refused number stays in its field, to be mended there.
    if (result?.refused) fields[side][place].input.setAttribute("aria-invalid", "true");
  }

  const mm = (value) => wording.shown("mm", Math.abs(value));

  /** One place in one sentence. */
  function sentence({ place, split }) {
    const { difference, muscle, sits } = split;
    const way = difference.value < 0 ? -1 : 1;
    const goes = muscle.value * way;
    const turns = sits.value * way < 0;
    const key = split.within_error ? "poses.split_within" : goes < 0 ? "poses.split_grows" : turns ? "poses.split_turns" : "poses.split";
    return text(key, {
      place: text(`lift_place.${place}`), higher: text(`side.${way < 0 ? "left" : "right"}`), lower: text(`side.${way < 0 ? "right" : "left"}`), when: firstText([`pose_when.${shown}`, "pose_when.other"]),
      difference: mm(difference.value), difference_ci: mm(difference.ci95), muscle: mm(muscle.value), muscle_ci: mm(muscle.ci95), sits: mm(sits.value), sits_ci: mm(sits.ci95),
    });
  }

  function showTold(report) {
    const pose = report?.poses.find(({ id }) => id === shown);
    told.hidden = !pose;
    if (!pose) return;
    replaceChanged(fit, ...(pose.fit ? photo.fitSaid(pose.fit) : []).map((words) => el("li", { text: words })));
    problem.hidden = !pose.problem;
    if (pose.problem) setText(problem, wording.problem(pose.problem));
    const splits = pose.places.filter(({ split }) => split);
    replaceChanged(said, ...splits.map((row) => el("p", { data: { place: row.place }, text: sentence(row) })));
    const isMoving = splits.some(({ split }) => !split.within_error && Math.abs(split.muscle.value) > MOVES_MM);
    moves.hidden = !isMoving;
    if (isMoving) setText(moves, text("poses.moves"));
    replaceChanged(lifts, ...liftRows(pose.places, wording));
  }

  function showStates(report, plan) {
    const found = report?.states;
    states.hidden = !found;
    weight.set(plan.balance.relaxed_weight ?? 0);
    if (!found) return;
    const planned = found.open_mm !== null && found.relaxed_mm !== null;
    setText(stateLine, text(planned ? "poses.states_are" : "poses.states_never", { open: planned ? mm(found.open_mm) : "", relaxed: planned ? mm(found.relaxed_mm) : "", never: mm(found.never_mm) }));
  }

  function render(plan) {
    const report = app.report();
    const hasBrows = SIDES.some((side) => plan.natural[side]);
    browsFirst.hidden = hasBrows;
    describe.poses.forEach((id, i) => setText(select.options[i], plan.poses?.[id] ? text("poses.recorded", { pose: text(`pose.${id}`) }) : text(`pose.${id}`)));
    select.value = shown;
    const kept = record();
    for (const side of SIDES) {
      const heights = kept?.heights?.[side];
      if (heights) (typed[shown] ??= { right: {}, left: {} })[side] = { front: heights.front_mm, arch: heights.arch_mm, tail: heights.tail_mm };
      for (const place of describe.lift_places) {
        fields[side][place].set(typed[shown]?.[side]?.[place] ?? null);
        fields[side][place].input.disabled = !hasBrows;
      }
    }
    const measured = (id, side) => report?.natural.find((row) => row.id === id)?.sides[side];
    for (const [place, id] of [["front", "bulb_bottom"], ["arch", "arch_top"], ["tail", "tail_up"]]) {
      const both = SIDES.map((side) => measured(id, side));
      setText(upright[place], both.some(Boolean) ? text("poses.upright", Object.fromEntries(SIDES.map((side, i) => [side, both[i] ? mm(both[i].value) : "–"]))) : "");
    }
    const open = SIDES.filter((side) => Object.values(typed[shown]?.[side] ?? {}).some((value) => typeof value === "number") && !isWhole(typed[shown]?.[side]));
    setText(lacking, open.map((side) => text("poses.lacking", { side: text(`side.${side}`) })).join(" "));
    const by = shownWay();
    ways.set(by);
    photo.node.hidden = by !== "photo" || !hasBrows;
    byCalipers.hidden = by !== "calipers";
    waits.hidden = !kept?.photo;
    photo.render();
    forget.hidden = !kept || by === "photo";
    preview.node.hidden = !kept;
    settle();
    showTold(report);
    showStates(report, plan);
  }

  return {
    render(plan) {
      // A weight that is being dragged changes no number above it.
      if (app.store.isPreview) showStates(app.report(), plan);
      else render(plan);
    },
    asked(id) {
      photo.asked(id);
      // The stage asks for the next point by itself.
      settled = ["pose", photo.stage()];
    },
    enter() {
      settled = null;
      photo.begin();
      settle();
    },
    loaded() {
      typed = {};
      way = null;
      shown = describe.poses.find((id) => app.store.plan.poses?.[id]) ?? first;
    },
  };
}
