// The head of a lesson or an exercise: what it is, where in the course it stands, and the way out.

import { el, icon } from "../dom.js";
import { text } from "../messages.js";

export function courseHead({ kind, title, place, leave, extra = null }) {
  const where = place ? text("course.where", { kind: text(`course.${kind}`), at: place.index + 1, of: place.count }) : text(`course.${kind}`);
  return el("div", { class: "course-head" },
    el("div", { class: "course-name" }, el("p", { class: "course-where", text: where }), el("h2", { id: "course-title", text: title })),
    extra,
    el("button", { type: "button", class: "float plain-float", id: "course-leave", title: text("course.leave"), "aria-label": text("course.leave"), on: { click: leave } }, icon("close")));
}
