// A task, the marks for what was done of it, and the teacher's solution over it. What is worked on stays in the steps below.

import { button, shareWords, spokenRange } from "../controls.js";
import { el, icon, replace, setAttribute, setText } from "../dom.js";
import { firstText, hasText, text } from "../messages.js";
import { written } from "../numbers.js";
import { showFrom } from "../scroll.js";
import { courseHead } from "./course_head.js";

/** Subjects of marks that are no landmark and no measure. */
const OWN_SUBJECTS = new Set(["asymmetry", "removed", "added", "failing_pose"]);
/** The answer to the one question that is asked in words. */
const FAILING_POSE = "failing_pose";
/** Marks without needless digits. */
const marks = (value) => written(String(Math.round(value * 100) / 100));

export function createExerciseView(root, app, acts) {
  const { store, describe, wording } = app;
  let exercise = null;
  let place = null;
  let latest = null;
  let isSolution = false;

  const unitOf = ({ subject }) => (subject === "removed" || subject === "added" ? "pct" : describe.measures.find(({ id }) => id === subject)?.unit ?? "mm");
  const subjectOf = ({ subject, side }) => {
    const name = OWN_SUBJECTS.has(subject) ? text(`mark.${subject}`) : firstText([`landmark.${subject}`, `measure.${subject}`]);
    return side && !hasText(`landmark.${subject}`) ? text("mark.of_side", { name, side: text(`side.${side}`) }) : name;
  };

  /** What is off, by how much and where. */
  function offOf(item) {
    const parts = [text(`mark.outcome.${item.outcome}`)];
    const unit = unitOf(item);
    const amount = (value) => wording.withUnit(unit, value);
    if (item.from_key_mm) {
      const [out, up] = item.from_key_mm.map((mm) => wording.signed("mm", mm));
      parts.push(text(item.side ? "mark.place" : "mark.place_on_line", { by: amount(item.value), limit: amount(item.limit), out, up }));
    } else if (item.key !== null && item.value !== null) parts.push(text("mark.by", { by: wording.signed(unit, item.value), key: amount(item.key), limit: amount(item.limit) }));
    else if (item.value !== null && item.limit !== null) parts.push(text("mark.over", { value: amount(item.value), limit: amount(item.limit) }));
    return parts.join(": ");
  }

  const goalWords = (goal) => {
    const mm = (value) => wording.withUnit("mm", value);
    const pct = (value) => wording.withUnit("pct", value);
    const values = {
      landmarks: () => ({ count: goal.landmarks.length, within: mm(goal.within_mm) }),
      measures: () => ({ measures: goal.measures.map((id) => text(`measure.${id}`)).join(", "), within: wording.withUnit(describe.measures.find(({ id }) => id === goal.measures[0])?.unit ?? "mm", goal.within) }),
      asymmetry: () => ({ limit: mm(goal.at_most_mm) }),
      removed: () => ({ limit: pct(goal.at_most_pct) }),
      added: () => ({ limit: pct(goal.at_most_pct) }),
      failing_pose: () => ({}),
    }[goal.aim];
    return values ? text(`goal.${goal.aim}`, values()) : goal.aim;
  };

  const score = el("span", { class: "course-score", id: "exercise-score", role: "status" });
  const isOpenButton = button(text("exercise.task"), { id: "exercise-task", kind: "button small", on: () => setOpen(body.hidden) });
  isOpenButton.append(icon("down"));
  const results = el("ul", { class: "marks", id: "exercise-marks" });
  const stale = el("p", { class: "hint", id: "exercise-stale", text: text("exercise.changed") });
  const solution = button(text("exercise.solution"), { id: "exercise-solution", iconName: "eye", on: () => showSolution(!isSolution) });
  const wipe = spokenRange({ id: "exercise-wipe", label: text("exercise.wipe"), min: 0, max: 1, step: 0.01, say: shareWords, input: () => showSolution(true) });
  const wipeRow = el("div", { class: "wipe-row" }, el("span", { class: "hint", text: text("exercise.wipe_key") }), wipe.node, el("span", { class: "hint", text: text("exercise.wipe_own") }));
  const answer = el("select", { id: "exercise-answer", on: { change: () => acts.answered(answer.value ? { [FAILING_POSE]: answer.value } : {}) } });
  const asked = el("div", { class: "field tall" }, el("label", { for: "exercise-answer", text: text("exercise.failing_pose") }), answer);
  const mark = button(text("exercise.mark"), { id: "exercise-mark", kind: "button primary", on: () => acts.mark() });
  const again = button(text("exercise.again"), { id: "exercise-again", on: () => acts.again() });
  const handIn = button(text("exercise.hand_in"), { id: "exercise-hand-in", iconName: "save", on: () => acts.handIn() });
  const next = button(text("course.to_lesson"), { id: "exercise-next", on: () => acts.next() });
  const body = el("div", { class: "course-body", id: "exercise-body", tabindex: 0, role: "region" });

  function setOpen(isOpen) {
    body.hidden = !isOpen;
    setAttribute(isOpenButton, "aria-expanded", isOpen);
  }

  function showSolution(isOn) {
    isSolution = isOn;
    setAttribute(solution, "aria-pressed", isOn);
    wipeRow.hidden = !isOn;
    if (isOn) app.setStageMode("look", { other: exercise.key, wipe: wipe.value });
    else app.enterStep();
  }

  function draw() {
    setText(score, latest ? text("exercise.score", { score: Math.round(latest.score) }) : exercise.score === null ? "" : text("exercise.last_score", { score: Math.round(exercise.score) }));
    replace(results, ...(latest?.items ?? []).map((item) => el("li", { data: { outcome: item.outcome, subject: item.subject, ...(item.side ? { side: item.side } : {}) } },
      icon(item.outcome === "met" ? "ok" : "warn"),
      el("span", {}, el("b", { text: subjectOf(item) }), el("span", { class: "mark-said", text: offOf(item) })),
      el("span", { class: "mark-points", text: text("exercise.points", { earned: marks(item.earned), worth: marks(item.worth) }) }))));
    results.hidden = !latest;
    // The key is for who has tried.
    solution.hidden = !latest && exercise.score === null;
    next.hidden = !latest || !place?.next;
    if (place?.next) setText(next.firstChild, text(place.next.exercise ? "course.to_exercise" : "course.to_lesson"));
  }

  return {
    lastResult: () => latest,
    show(found, where) {
      exercise = found;
      place = where;
      latest = null;
      isSolution = false;
      wipe.set(0);
      wipeRow.hidden = true;
      stale.hidden = true;
      setAttribute(solution, "aria-pressed", false);
      replace(answer, el("option", { value: "", text: text("exercise.choose") }), ...found.poses.map((pose) => el("option", { value: pose, text: text(`pose.${pose}`) })));
      answer.value = found.answers[FAILING_POSE] ?? "";
      asked.hidden = found.poses.length === 0;
      body.setAttribute("aria-label", found.title);
      replace(body,
        el("p", { class: "lead", text: found.task }),
        el("ul", { class: "plain goals" }, ...found.goals.map((goal) => el("li", {}, el("span", { text: goalWords(goal) }), el("span", { class: "mark-points", text: text("exercise.worth", { points: marks(goal.points) }) })))),
        asked, solution, wipeRow, stale, results,
        el("div", { class: "answers" }, handIn, again));
      replace(root, courseHead({ kind: "exercise", title: found.title || found.id, place, leave: acts.leave, extra: score }), el("div", { class: "course-bar" }, isOpenButton, mark, next), body);
      setOpen(true);
      draw();
    },
    result(found) {
      latest = found;
      stale.hidden = true;
      setOpen(true);
      draw();
      showFrom(body, solution);
    },
    /** The plan is another than the one that was marked. */
    changed() {
      stale.hidden = !latest;
      if (isSolution) showSolution(false);
    },
  };
}
