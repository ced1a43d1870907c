// A case shown step by step: the construction on the stage, what there is to see, why, and the numbers that belong to it.

import { button } from "../controls.js";
import { el, icon, replace } from "../dom.js";
import { text } from "../messages.js";
import { showFrom } from "../scroll.js";
import { areaTable } from "./areas.js";
import { courseHead } from "./course_head.js";
import { liftTable } from "./lift_table.js";
import { measureTable } from "./measure_table.js";

/** What is drawn before the first step. */
const AT_FIRST = ["natural"];

export function createLessonView(root, app, acts) {
  const { store, engine, describe, wording } = app;
  let lesson = null;
  let place = null;
  /** −1 is what it is about. */
  let at = -1;
  let isStepping = false;

  const measuresOf = (ids) => ids.map((id) => describe.measures.find((measure) => measure.id === id)).filter(Boolean);

  function numbers(step) {
    const report = engine.report(step.plan);
    const found = [];
    if (step.pose) {
      const pose = report.poses.find(({ id }) => id === step.pose);
      if (pose) found.push(el("p", { class: "hint", text: text(`pose.${step.pose}`) }), liftTable("lesson-lifts", pose.places, wording));
    }
    if (step.show === "balance") {
      const areas = areaTable("lesson-areas", wording);
      areas.report(report, JSON.parse(step.plan));
      found.push(areas.node);
    } else if (step.measures.length) {
      const which = step.brows === "planned" && report.planned.length ? "planned" : "natural";
      const table = measureTable("lesson-measures", text(`report.${which}`), measuresOf(step.measures), wording);
      table.report(report[which]);
      found.push(el("p", { class: "hint", text: text(`report.${which}`) }), table.node);
    }
    return found;
  }

  function words() {
    if (at < 0) return [el("h3", { text: text("lesson.about") }), el("p", { class: "lead", text: lesson.text })];
    const step = lesson.steps[at];
    return [
      el("h3", {}, el("span", { class: "n", text: `${at + 1}` }), el("span", { text: text(`lesson.step.${step.show}`) })),
      step.text ? el("p", { class: "lead", text: step.text }) : null,
      el("h4", { text: text("lesson.why") }),
      el("p", { text: step.why || text(`lesson.why.${step.show}`) }),
      ...numbers(step),
    ];
  }

  function go(to) {
    at = to;
    const step = lesson.steps[Math.max(at, 0)];
    if (step.plan !== store.keptText) {
      isStepping = true;
      store.load(step.plan);
      isStepping = false;
    }
    app.showOnly(at < 0 ? AT_FIRST : step.kinds);
    app.setStageMode("look", at >= 0 && step.pose ? { pose: step.pose } : {});
    draw();
  }

  const count = el("p", { class: "course-count" });
  const back = button(text("lesson.back"), { id: "lesson-back", iconName: "left", on: () => go(at - 1) });
  const next = button("", { id: "lesson-next", kind: "button primary", on: () => (at + 1 < lesson.steps.length ? go(at + 1) : acts.next()) });
  const body = el("div", { class: "course-body", id: "lesson-body", tabindex: 0, role: "region", "aria-live": "polite" });
  const foot = el("div", { class: "course-foot" }, back, count, next);

  function draw() {
    replace(body, ...words());
    showFrom(body);
    count.textContent = text("lesson.count", { at: at + 1, of: lesson.steps.length });
    back.disabled = at < 0;
    const isLast = at + 1 === lesson.steps.length;
    const label = !isLast ? text(at < 0 ? "lesson.begin" : "lesson.next") : place?.next ? text(place.next.exercise ? "course.to_exercise" : "course.to_lesson") : text("lesson.end");
    next.replaceChildren(el("span", { text: label }), icon("right"));
  }

  return {
    isStepping: () => isStepping,
    show(found, where) {
      lesson = found;
      place = where;
      body.setAttribute("aria-label", found.title);
      replace(root, courseHead({ kind: "lesson", title: found.title || found.id, place, leave: acts.leave }), body, foot);
      go(-1);
    },
  };
}
