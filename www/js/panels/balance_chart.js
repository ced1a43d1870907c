// The chart of the balance: how uneven the pair stays against how much natural brow is removed. A knob runs along the
// chosen curve; the same is done with a native slider below it, so the drawing itself is for the eye and the hand.

import { el, replaceChanged, setAttribute, svg } from "../dom.js";
import { text } from "../messages.js";

/** Room around the plot, CSS px. The slider below has the same plot width (see balance.css). */
const MARGIN = { left: 36, right: 44, top: 26, bottom: 38 };
const HEIGHT = 264;
/** The axis of removed hair ends here, %. */
const MOST_PCT = 30;
const TICKS_PCT = [0, 5, 10, 15, 20, 25, 30];
/** Beside the knob a drag begins only after this way to the side, CSS px: until then it may be a scroll. */
const DRAG_PX = 6;
/** Lines of text keep this far apart, CSS px. */
const LINE_PX = 14;

/** A round number of mm above this, and how far apart its ticks are. */
function axis(most) {
  const step = [0.1, 0.2, 0.25, 0.5, 1, 2, 5].find((each) => most / each <= 5) ?? 10;
  return { most: Math.max(step, Math.ceil((most * 1.04) / step) * step), step };
}

/** About how wide a letter of the labels is, CSS px. */
const LETTER_PX = 6.7;

/** Moves labels by whole lines of text until none lies on another or on a line of the chart, the nearest place first; where
 *  every place is taken, on a line. `lines` are lists of `[x, y]`; a label's `y` is its foot. */
function moveApart(labels, lines, top, floor) {
  const placed = [];
  const isOn = (from, to, y) => lines.some((points) => points.some(([x, at], i) => {
    const [x0, at0] = points[Math.max(i - 1, 0)];
    return x >= from && x0 <= to && Math.min(at, at0) < y + 3 && Math.max(at, at0) > y - LINE_PX + 3;
  }));
  for (const label of labels) {
    const wide = label.words.length * LETTER_PX;
    const from = label.anchor === "end" ? label.x - wide : label.x;
    const isFree = (y) => !placed.some((other) => Math.abs(other.y - y) < LINE_PX && other.from < from + wide && from < other.from + other.wide);
    const places = [label.y];
    for (let away = LINE_PX; away < floor - top; away += LINE_PX) places.push(label.y - away, label.y + away + LINE_PX);
    const free = places.filter((y) => y === label.y || (y > top && y < floor)).filter(isFree);
    const y = free.find((each) => !isOn(from, from + wide, each)) ?? free[0] ?? label.y;
    placed.push({ ...label, from, wide, y });
  }
  return placed;
}

/** Where the names of the curves go so that none lies on another: moved apart as little as needed. */
function spread(wanted, lowest) {
  const order = wanted.map((y, i) => ({ y, i })).sort((a, b) => a.y - b.y);
  order.forEach((each, i) => {
    if (i > 0) each.y = Math.max(each.y, order[i - 1].y + LINE_PX);
  });
  for (let i = order.length - 1; i >= 0; i -= 1) {
    order[i].y = Math.min(order[i].y, i === order.length - 1 ? lowest : order[i + 1].y - LINE_PX);
  }
  const placed = [];
  for (const { y, i } of order) placed[i] = y;
  return placed;
}

/**
 * `hands`: `start()`, `move(index)`, `end()`, `cancel()` of a drag along the chosen curve, and `tap(index)`.
 *
 * `set(model)`: `{curves: [{limit, points: [{x, y}], isChosen}], stops: [{x, y}], index, isTaken, natural, error, limit,
 * knee, recipes: [{id, x, y}], plan}`; x in %, y in mm.
 */
export function createChart(hands, { inMm, inPct }) {
  const drawing = svg("svg", { "aria-hidden": "true", focusable: "false", class: "curve" });
  const knob = el("div", { class: "knob", id: "balance-knob", "aria-hidden": "true" }, el("span"));
  const frame = el("div", { class: "plot", id: "balance-plot" }, drawing, knob);
  let model = null;
  let width = 0;
  let most = 1;
  let drag = null;

  const px = (pct) => MARGIN.left + (Math.min(pct, MOST_PCT) / MOST_PCT) * (width - MARGIN.left - MARGIN.right);
  const py = (mm) => HEIGHT - MARGIN.bottom - (mm / most) * (HEIGHT - MARGIN.top - MARGIN.bottom);
  const path = (points) => points.map(({ x, y }, i) => `${i ? "L" : "M"}${px(x).toFixed(1)} ${py(y).toFixed(1)}`).join("");

  function placeKnob() {
    const at = model?.stops[model.index];
    knob.hidden = !at;
    if (!at) return;
    knob.style.transform = `translate(${px(at.x).toFixed(1)}px, ${py(at.y).toFixed(1)}px)`;
    setAttribute(knob, "data-taken", model.isTaken);
  }

  function draw() {
    if (!model || width === 0) return;
    const { curves, natural, error, limit, knee, recipes, plan } = model;
    const chosen = curves.find((curve) => curve.isChosen);
    const ys = [natural, plan?.y ?? 0, ...curves.flatMap((curve) => curve.points.map(({ y }) => y)), ...recipes.map(({ y }) => y)];
    const scale = axis(Math.max(...ys));
    most = scale.most;
    const right = width - MARGIN.right;
    const floor = HEIGHT - MARGIN.bottom;
    const parts = [];
    const labels = [];
    const label = (x, y, anchor, words) => labels.push({ x, y, anchor, words });
    const add = (name, attributes, ...words) => parts.push(svg(name, attributes, ...words));

    // Below the measuring error there is nothing to win; beyond the limit nothing was agreed.
    if (error > 0) add("rect", { class: "noise", x: MARGIN.left, y: py(Math.min(error, most)), width: right - MARGIN.left, height: floor - py(Math.min(error, most)) });
    if (limit < MOST_PCT) add("rect", { class: "beyond", x: px(limit), y: MARGIN.top, width: right - px(limit), height: floor - MARGIN.top });
    for (let tick = 0; tick * scale.step <= most + 1e-9; tick += 1) {
      const y = py(tick * scale.step);
      add("line", { class: "grid", x1: MARGIN.left, x2: right, y1: y, y2: y });
      add("text", { class: "tick", x: MARGIN.left - 7, y: y + 4, "text-anchor": "end" }, inMm(tick * scale.step));
    }
    for (const pct of TICKS_PCT) add("text", { class: "tick", x: px(pct), y: floor + 17, "text-anchor": "middle" }, String(pct));
    add("text", { class: "axis", x: 2, y: 13 }, text("balance.axis_mm"));
    add("text", { class: "axis", x: right, y: floor + 34, "text-anchor": "end" }, text("balance.axis_removed"));

    if (limit < MOST_PCT) {
      add("line", { class: "limit", x1: px(limit), x2: px(limit), y1: MARGIN.top, y2: floor });
      const isLeft = limit > MOST_PCT * 0.7;
      label(px(limit) + (isLeft ? -5 : 5), MARGIN.top - 5, isLeft ? "end" : "start", text("balance.limit_mark", { pct: inPct(limit) }));
    }
    add("line", { class: "natural", x1: MARGIN.left, x2: right, y1: py(natural), y2: py(natural) });
    label(right - 4, py(natural) + (py(natural) < MARGIN.top + 12 ? 14 : -5), "end", text("balance.natural_mark", { mm: inMm(natural) }));
    if (error > 0 && error < most) label(right - 4, py(error) - 4, "end", text("balance.noise_mark", { mm: inMm(error) }));

    for (const curve of curves.filter((each) => !each.isChosen)) add("path", { class: "line quiet", d: path(curve.points) });
    if (chosen) add("path", { class: "line chosen", d: path(chosen.points) });
    const ends = curves.filter(({ points }) => points.length > 0);
    const heights = spread(ends.map(({ points }) => py(points.at(-1).y) + 4), floor);
    ends.forEach((curve, i) => add("text", { class: curve.isChosen ? "end chosen" : "end", x: right + 6, y: heights[i] }, text("balance.end_mark", { pct: inPct(curve.limit) })));

    if (knee) {
      const [x, y] = [px(knee.x), py(knee.y)];
      add("path", { class: "knee", d: `M${x} ${y - 6}l6 6-6 6-6-6z` });
      label(x + 4, y - 12, "start", text("balance.knee_mark"));
    }
    for (const recipe of recipes) {
      const [x, y] = [px(recipe.x), py(recipe.y)];
      add("rect", { class: "recipe", x: x - 4.5, y: y - 4.5, width: 9, height: 9 });
      const isLeft = recipe.x > MOST_PCT * 0.6;
      label(isLeft ? x + 6 : x - 5, y - 10, isLeft ? "end" : "start",
        text(recipe.x > MOST_PCT ? "balance.recipe_mark_beyond" : "balance.recipe_mark", { name: text(`recipe_short.${recipe.id}`), pct: inPct(recipe.x) }));
    }
    const lines = [...curves.map(({ points }) => points.map(({ x, y }) => [px(x), py(y)])), [[MARGIN.left, py(natural)], [right, py(natural)]]];
    for (const { x, y, anchor, words } of moveApart(labels, lines, MARGIN.top, floor)) add("text", { class: "mark", x, y, "text-anchor": anchor }, words);
    if (plan) add("circle", { class: "plan", cx: px(plan.x), cy: py(plan.y), r: 6 });

    setAttribute(drawing, "viewBox", `0 0 ${width} ${HEIGHT}`);
    setAttribute(drawing, "width", width);
    setAttribute(drawing, "height", HEIGHT);
    replaceChanged(drawing, ...parts);
    placeKnob();
  }

  new ResizeObserver(() => {
    const next = Math.round(frame.clientWidth);
    if (next === width || next === 0) return;
    width = next;
    draw();
  }).observe(frame);

  /** The stop nearest to a place on the page. */
  const stopAt = (clientX) => {
    const x = clientX - frame.getBoundingClientRect().left;
    let best = 0;
    model.stops.forEach((stop, i) => {
      if (Math.abs(px(stop.x) - x) < Math.abs(px(model.stops[best].x) - x)) best = i;
    });
    return best;
  };

  const finish = (act) => {
    const { isMoving } = drag;
    drag = null;
    frame.classList.remove("dragging");
    removeEventListener("keydown", escape, true);
    act(isMoving);
  };
  function escape(event) {
    if (event.key !== "Escape" || !drag) return;
    event.preventDefault();
    event.stopPropagation();
    finish(() => hands.cancel());
  }

  frame.addEventListener("pointerdown", (event) => {
    if (drag || event.button !== 0 || !model || model.stops.length === 0 || model.isBusy) return;
    const isKnob = knob.contains(event.target);
    // The knob does not jump under the finger that takes it beside its middle.
    const off = isKnob ? px(model.stops[model.index].x) - (event.clientX - frame.getBoundingClientRect().left) : 0;
    drag = { id: event.pointerId, x: event.clientX, isKnob, off, isMoving: false };
    frame.setPointerCapture(event.pointerId);
    addEventListener("keydown", escape, true);
    if (isKnob) event.preventDefault();
  });
  frame.addEventListener("pointermove", (event) => {
    if (drag?.id !== event.pointerId) return;
    if (!drag.isMoving) {
      if (Math.abs(event.clientX - drag.x) < (drag.isKnob ? 1 : DRAG_PX)) return;
      drag.isMoving = true;
      frame.classList.add("dragging");
      hands.start();
    }
    hands.move(stopAt(event.clientX + drag.off));
  });
  frame.addEventListener("pointerup", (event) => {
    if (drag?.id !== event.pointerId) return;
    const index = drag.isKnob ? model.index : stopAt(event.clientX);
    finish((isMoving) => (isMoving ? hands.end() : hands.tap(index)));
  });
  for (const type of ["pointercancel", "lostpointercapture"]) {
    frame.addEventListener(type, (event) => {
      if (drag?.id === event.pointerId) finish(() => hands.cancel());
    });
  }

  return {
    node: frame,
    set(next) {
      model = next;
      draw();
    },
    /** Another line is on the way: until it is there this one cannot be dragged. */
    setBusy() {
      if (model) model.isBusy = true;
    },
    /** Moves the knob alone, and the dot of the plan with it. */
    moveTo(index, isTaken) {
      model.index = index;
      model.isTaken = isTaken;
      placeKnob();
    },
    abort() {
      if (drag) finish(() => hands.cancel());
    },
  };
}
