// How far each brow is lifted in a pose, at front, arch and tail, in mm against upright and at rest.

import { el } from "../dom.js";
import { text } from "../messages.js";
import { sidesAsSeen } from "../sides.js";

/** The rows of a pose's places (`report.poses[].places`). */
export const liftRows = (places, wording) => places.map(({ place, lift }) => el("tr", { data: { place } },
  el("th", { scope: "row", text: text(`lift_place.${place}`) }),
  ...sidesAsSeen().map((side) => el("td", {},
    el("span", { text: lift[side] ? wording.signed("mm", lift[side].value) : "–" }),
    lift[side] ? el("small", { text: ` ${text("report.ci", { ci: wording.shown("mm", lift[side].ci95) })}` }) : null))));

/** The table around them. */
export function liftTable(id, places, wording, body = el("tbody", {}, ...liftRows(places, wording))) {
  return el("table", { class: "areas lifts", id },
    el("thead", {}, el("tr", {}, el("th", { text: text("poses.lift") }), ...sidesAsSeen().map((side) => el("th", { scope: "col", text: text(`side_short.${side}`) })))), body);
}
