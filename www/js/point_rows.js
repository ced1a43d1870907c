// Rows of buttons for the points of a photo: both sides of a landmark, or the two points of a line, in one row.

import { el, setAttribute } from "./dom.js";
import { firstText, text } from "./messages.js";
import { sidesAsSeen } from "./sides.js";

const rowOf = (point) => (point.side ? point.id.split(".")[0] : point.id.replace(/_[a-z]+$/, ""));

/** Makes the rows, in the order in which the points are asked for. `ask(id)` is called when a button is pressed.
 *  `show(placed, asked)` says which points are there (an object by id) and which one is asked for. */
export function createPointRows(points, ask) {
  const buttons = new Map();
  const button = (point) => {
    const name = point.side ? text(`side_short.${point.side}`) : firstText([`landmark_short.${point.id}`, `landmark.${point.id}`]);
    const node = el("button", { type: "button", class: "point", data: { landmark: point.id }, on: { click: () => ask(point.id) } },
      el("span", { class: "point-mark", "aria-hidden": "true" }), el("span", { class: "point-name", text: name }));
    buttons.set(point.id, node);
    return node;
  };
  const rows = [...new Set(points.map(rowOf))].map((row) => {
    const members = points.filter((point) => rowOf(point) === row);
    // As on an ordinary photo, whatever the order of asking.
    const order = sidesAsSeen();
    members.sort((a, b) => order.indexOf(a.side) - order.indexOf(b.side));
    return el("div", { class: "point-row" }, el("span", { class: "point-label", text: firstText([`landmark_row.${row}`, `landmark.${members[0].id}`]) }), ...members.map(button));
  });
  return {
    rows,
    show(placed, asked) {
      for (const [id, node] of buttons) {
        const isPlaced = Boolean(placed[id]);
        setAttribute(node, "data-state", isPlaced ? "placed" : "missing");
        setAttribute(node, "aria-pressed", id === asked);
        setAttribute(node, "aria-label", text(isPlaced ? "points.is_placed" : "points.is_missing", { name: text(`landmark.${id}`) }));
      }
    },
  };
}
