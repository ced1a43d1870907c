// What is guessed of a photo: eyes as points, brow hair as lines. Each kind says which guesses it offers, how they look, and what taking one does.

import { el, svg } from "../dom.js";
import { text } from "../messages.js";

const baseOf = (id) => id.split(".")[0];

/** A ring at a place of the photo. */
function ring(id, x, y, stage) {
  const node = el("div", { class: "draft-mark", "aria-hidden": "true", data: { draft: id } });
  return {
    node,
    place() {
      const at = stage.placeInImage(x, y);
      node.hidden = !at;
      if (at) node.style.translate = `${at.x}px ${at.y}px`;
    },
  };
}

/** Landmarks that have an edge on the photo: `{id, x_px, y_px}`. */
export const POINTS = {
  name: "points",
  isPossible: () => true,
  // What was placed by hand stays; what is only a place to start from is always asked for.
  drafts: (found, plan) => found.points.filter(({ id, is_seed: isSeed }) => !isSeed && !plan.landmarks[id]),
  isWanted: ({ id }, plan) => !plan.landmarks[id],
  places: ({ x_px: x, y_px: y }) => [[x, y]],
  edit: ({ id, x_px, y_px }) => ({ do: "place_landmark", landmark: id, x_px, y_px }),
  label: ({ id }) => text(`landmark.${id}`),
  isDoubtful: () => false,
  notes: ({ id }) => (baseOf(id).startsWith("iris") ? [text("find.iris_weak")] : []),
  mark: ({ id, x_px: x, y_px: y }, stage) => ring(id, x, y, stage),
};

/** The hair of each brow: `{id: side, outline_px, front_px, arch_px, tail_px, doubts}`. */
export const BROWS = {
  name: "brows",
  // A line around hair is in millimetres, so the face must be measured first.
  isPossible: (app) => app.hasFrame(),
  drafts: (found, plan) => ["right", "left"].filter((side) => found.brows[side] && !plan.natural[side]).map((side) => ({ id: side, ...found.brows[side] })),
  isWanted: ({ id }, plan) => !plan.natural[id],
  places: ({ outline_px: line }) => line,
  edit: ({ id, outline_px: line }) => ({ do: "trace_natural", side: id, points_px: line }),
  label: ({ id }) => text(`side.${id}`),
  isDoubtful: ({ doubts }) => doubts.length > 0,
  notes: ({ doubts }) => (doubts.length ? [text("find.please_check"), ...doubts.map((doubt) => text(`find.doubt.${doubt}`))] : []),
  mark({ id, outline_px: line, front_px: front, arch_px: arch, tail_px: tail, doubts }, stage) {
    const paths = ["under", "over"].map((name) => svg("path", { class: name }));
    const node = el("div", { class: "draft-brow", "aria-hidden": "true", data: { draft: id, doubtful: String(doubts.length > 0) } }, svg("svg", {}, ...paths));
    const rings = [front, arch, tail].map(([x, y]) => ring(id, x, y, stage));
    node.append(...rings.map((each) => each.node));
    return {
      node,
      place() {
        const d = stage.lineInImage(line);
        paths.forEach((path) => path.setAttribute("d", d));
        rings.forEach((each) => each.place());
      },
    };
  },
};
