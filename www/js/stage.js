// The stage: photo and drawing, and what hands and keys do to them. Gestures become edits here; rules and geometry are the
// core's.

import { photoOfPose } from "./pose_photos.js";
import { RESTARTED } from "./engine.js";
import { createLoupe } from "./loupe.js";
import { textsOfNumbers } from "./messages.js";
import { looksSame, play } from "./painter.js";
import { createPointer } from "./pointer.js";
import { skinTone } from "./skin_tone.js";
import { createTwins } from "./twins.js";
import { createView } from "./view.js";

/** The id of a drag that puts down the landmark that is asked for. */
const PLACE = "asked";
/** One step of the arrow keys and the nudge pad, mm on the face. */
const STEP_MM = 0.1;
/** Before a frame exists a step is this, photo px. */
const STEP_PX = 1;
/** An end of a stroke joins the old trace within this, CSS px: a fingertip's width. */
const JOIN_PX = 22;
/** Magnified this much, photo px are shown as they are. */
const SHARP_FROM = 4;
/** What there is to see without a photo, mm: a face's width and from the brow to the nose. */
const FACE_MM = [-110, -70, 110, 90];

/** Kinds that would cover the hair or the points while one works on them. */
const OUT_OF_THE_WAY = {
  points: ["kept", "removed", "added"],
  pose: ["kept", "removed", "added", "natural", "planned"],
  trace: ["kept", "removed", "added", "planned", "thread", "height_line"],
  natural: ["kept", "removed", "added", "planned", "thread", "height_line"],
};
const HANDLES = { points: "landmarks", pose: "pose", shape: "planned", natural: "natural" };
/** Modes in which a photo's points are placed, and how their handles' ids begin. */
const POINTS = { points: "landmark:", pose: "pose:" };
/** Places of inks of the core (`crates/web/src/palette.rs`): two that are chosen here, and the quiet one. */
const [PIGMENT_INK, SKIN_INK] = [7, 8];
const QUIET_INK = 2;
/** Modes in which one side's outline is worked on. */
const SIDED = ["shape", "natural"];
/** Labels beside the brows; on a stage narrower than this they are numbers alone, CSS px: the words would lie on the hair. */
const HEIGHTS = ["measure.bulb_bottom", "measure.bulb_top", "measure.arch_top"];
const NARROW_PX = 520;
const LABELS = [...HEIGHTS, "kind.front_line", "kind.arch_measure", "kind.arch_natural", "kind.arch_bone"];

const spacing = ([a, b]) => Math.hypot(a, b);

/** Modes in which the photo of a pose may be shown. */
const POSED = ["look", "pose", "trace"];

/**
 * Modes: `look` (pan and zoom; `{pose}`: the recorded pose that the brows are shown in; `{other, wipe}`: the text of another plan on the same photo, shown from this share of the width on), `points` (`{ask}`: the landmark to place), `pose` (`{pose, ask}`: the same on the pose's own photo), `trace` (`{side}`), `natural` (`{side}`: handles of a natural brow that is an outline), `client` (`{preview, pigment, skin}`: what the client sees; `preview` `null` is before), `shape` (`{side, linked}`;
 * `side` "both" shows the handles of both).
 *
 * Events: `report` (the numbers that belong to the drawing; in a drag behind the frame that shows it), `behind` (after that, in a drag alone), `selected` (`{id, name}` or `null`), `asked` (id of a point or `null`), `refused`
 * (`{code, subject, values}`), `mode` (name), `pen` (boolean).
 */
export function createStage({ canvas, overlayRoot, twinsRoot, store, engine, ui }) {
  const context = canvas.getContext("2d");
  const view = createView();
  const listeners = new Map();
  const emit = (event, value) => listeners.get(event)?.forEach((listener) => listener(value));

  let mode = "look";
  let options = {};
  let photo = null;
  let flags = { dim: 0, photoVisible: true, layers: {}, mirror: false };
  let selected = null;
  /** What the last drawing gave back, of what that was shown then, and of what the numbers were told. */
  let drawn = { handles: [], bounds: null, image_from_face: null };
  let drawnOf = null;
  let reportedOf = null;
  let unreadable = null;
  let isDirty = false;
  let wantsFit = true;
  let wasMoved = false;
  let basedOn = "";
  let drag = null;
  let stroke = null;
  let step = null;

  const kindOf = (id) => id.slice(0, id.indexOf(":"));
  const pointOf = (id) => id.slice(id.indexOf(":") + 1);
  const isPoint = (id) => Object.values(POINTS).some((start) => id.startsWith(start));
  /** The photo of the pose that is shown, where it has one. */
  const posed = () => (POSED.includes(mode) && photoOfPose(store.keptPlan, options.pose)) || null;
  /** Size and pixels of the photo that is shown. No drag changes a photo, so a frame of one need not read the plan it shows. */
  const sheet = () => posed()?.photo ?? store.keptPlan.photo;
  const pixels = () => (posed() ? ui.posePhoto(posed().key) : photo);
  const placedPoints = () => (mode === "pose" ? photoOfPose(store.plan, options.pose)?.points ?? {} : store.plan.landmarks);
  const placeEdit = (point, x_px, y_px) => (mode === "pose" ? { do: "place_pose_point", pose: options.pose, point, x_px, y_px } : { do: "place_landmark", landmark: point, x_px, y_px });
  const outlineOf = (id) => {
    const [, side, handle] = id.split(":");
    return { side, handle };
  };
  /** The edit that brings a handle of an outline to a place, mm. */
  const handleTo = (id, out_mm, up_mm) => {
    const { side, handle } = outlineOf(id);
    if (kindOf(id) === "natural") return { do: "move_natural_handle", side, handle, out_mm, up_mm };
    return { do: "move_handle", side, handle, out_mm, up_mm, linked: Boolean(options.linked) };
  };
  const nameOf = (id) => {
    if (isPoint(id)) return ui.text(`landmark.${pointOf(id)}`);
    const { side, handle } = outlineOf(id);
    return `${ui.text(`side.${side}`)}, ${ui.text(`handle.${handle}`)}`;
  };
  const placeOf = (handle) => {
    if (Number.isNaN(handle.out_mm)) return "";
    const mm = (value) => ui.shown("mm", value);
    return ui.firstText(["twin.place"], { out: mm(handle.out_mm), up: mm(handle.up_mm) });
  };

  // Edits

  /** What a stroke means: a line around healed colour or hair at the touch-up, else a trace of the natural brow. */
  const strokeEdit = (points) => {
    const { line, side } = options;
    if (!line) return engine.strokeEdit(store.keptText, side, points, JOIN_PX / view.scale);
    return { do: "trace_touch_up", line, side, points_px: Array.from({ length: points.length / 2 }, (_, i) => [points[2 * i], points[2 * i + 1]]) };
  };

  const refuse = (result) => {
    if (result.refused && result.refused.code !== RESTARTED) emit("refused", result.refused);
    return !result.refused;
  };

  /** The edit that brings a handle to a place of the stage. */
  const moveTo = (id, x, y) => {
    if (isPoint(id)) {
      const at = view.baseFromScreen(x, y);
      return placeEdit(pointOf(id), at.x, at.y);
    }
    const at = view.sideFromScreen(outlineOf(id).side, x, y);
    return at && handleTo(id, at.out, at.up);
  };

  const isAsking = () => mode in POINTS && Boolean(options.ask) && view.base === "image" && Boolean(store.plan) && !placedPoints()[options.ask];

  /** The next point to ask for after this one was placed. */
  const nextAfter = (placed) => {
    const there = placedPoints();
    const all = mode === "pose" ? engine.describe().pose_points[options.pose] : engine.describe().landmarks;
    const index = all.findIndex((point) => point.id === placed);
    const later = [...all.slice(index + 1), ...all.slice(0, index)].filter((point) => !there[point.id]);
    if (!all[index]?.optional) return later.find((point) => !point.optional)?.id ?? null;
    // An optional point has partners: the other rim of the iris, the other end of the ruler.
    const family = (id) => id.split(/[._]/)[0];
    return later.find((point) => point.optional && family(point.id) === family(placed))?.id ?? null;
  };

  const placed = (point) => {
    select(`${POINTS[mode]}${point}`);
    const next = nextAfter(point);
    options = { ...options, ask: next };
    emit("asked", next);
  };

  // Commands of the gesture reducer

  const commands = {
    drag_start({ id, x, y }) {
      settleStep();
      const real = id === PLACE ? `${POINTS[mode]}${options.ask}` : id;
      select(real);
      drag = { id: real, isNew: id === PLACE, x, y, isPending: false };
    },
    drag_to({ x, y }) {
      if (drag) Object.assign(drag, { x, y, isPending: true });
    },
    drag_end() {
      if (!drag) return;
      follow();
      const { id, isNew, refused } = drag;
      drag = null;
      if (refused && !store.isPreview) refuse({ refused });
      store.keep();
      if (isNew && placedPoints()[pointOf(id)]) placed(pointOf(id));
      else twins.focus(id);
    },
    drag_cancel() {
      drag = null;
      store.drop();
    },
    stroke_start({ x, y }) {
      settleStep();
      stroke = [view.baseFromScreen(x, y)];
    },
    stroke_point({ x, y }) {
      stroke?.push(view.baseFromScreen(x, y));
    },
    stroke_end() {
      const points = stroke?.flatMap(({ x, y }) => [x, y]) ?? [];
      stroke = null;
      if (mode !== "trace" || points.length < 4) return;
      try {
        refuse(store.commit(strokeEdit(points)));
      } catch (error) {
        if (error?.code === undefined) throw error;
        refuse({ refused: error });
      }
    },
    stroke_cancel() {
      stroke = null;
    },
    pan({ dx, dy }) {
      wasMoved = true;
      view.pan(dx, dy);
    },
    zoom({ factor, x, y }) {
      wasMoved = true;
      view.zoom(factor, x, y);
    },
    tap({ x, y }) {
      if (!isAsking()) {
        select(null);
        return;
      }
      const point = options.ask;
      if (refuse(store.commit(moveTo(`${POINTS[mode]}${point}`, x, y)))) placed(point);
    },
    select({ id }) {
      select(id);
      twins.focus(id);
    },
    pen_mode({ on }) {
      emit("pen", on);
    },
  };

  const pointer = createPointer({
    canvas,
    engine,
    isEmbedded: ui.isEmbedded,
    context: () => ({ mode: SIDED.includes(mode) ? "shape" : mode in POINTS ? "points" : mode === "client" ? "look" : mode, selected, placing: isAsking() }),
    handles: () => current().handles.map(({ id, x, y }) => ({ id, x, y })),
    run(list) {
      for (const command of list) commands[command.do]?.(command);
      dirty();
    },
  });

  /** Lets the plan follow the drag; once for each drawing, however many events there were. */
  function follow() {
    if (!drag?.isPending) return;
    drag.isPending = false;
    const edit = moveTo(drag.id, drag.x, drag.y);
    // A refused place leaves the last valid one: the handle stops there.
    if (edit) drag.refused = store.preview(edit).refused;
  }

  // Keyboard and nudge pad

  const stepped = (id, dx, dy) => {
    if (pointer.isEditing) return;
    if (step?.id !== id) {
      settleStep();
      const handle = current().handles.find((each) => each.id === id);
      if (!handle) return;
      step = { id, ...stepStart(handle) };
    }
    step.x += dx * step.dx;
    step.y += dy * step.dy;
    refuse(store.preview(step.edit(step.x, step.y)));
  };
  /** Where a handle is in its own frame, and what one step to the right and one up are there. */
  const stepStart = (handle) => {
    const { id } = handle;
    const right = view.mirror ? -1 : 1;
    if (isPoint(id)) {
      const { x_px: x, y_px: y } = placedPoints()[pointOf(id)];
      const length = drawn.image_from_face ? STEP_MM * spacing(drawn.image_from_face) : STEP_PX;
      return { x, y, dx: right * length, dy: -length, edit: (x_px, y_px) => placeEdit(pointOf(id), x_px, y_px) };
    }
    const { side } = outlineOf(id);
    // A mirrored selfie shows the face the other way round.
    const isTurned = view.base === "image" && drawn.image_from_face?.[0] < 0;
    const outward = (side === "left" ? right : -right) * (isTurned ? -1 : 1);
    return {
      x: handle.out_mm, y: handle.up_mm, dx: outward * STEP_MM, dy: STEP_MM,
      edit: (out_mm, up_mm) => handleTo(id, out_mm, up_mm),
    };
  };
  function settleStep() {
    if (!step) return;
    step = null;
    store.keep();
  }

  const twins = createTwins(twinsRoot, {
    name: (handle) => [nameOf(handle.id), placeOf(handle)].filter(Boolean).join(", "),
    focused: (id) => select(id),
    pressed: (id) => select(id),
    stepped,
    settled: settleStep,
    dropped() {
      step = null;
      store.drop();
    },
  });

  function select(id) {
    if (id === selected) return;
    if (step && step.id !== id) settleStep();
    selected = id;
    twins.select(id);
    emit("selected", id ? { id, name: nameOf(id) } : null);
    dirty();
  }

  // Drawing

  const ground = () => getComputedStyle(canvas.parentElement).backgroundColor;
  const smooth = (target, scale, density) => {
    target.imageSmoothingEnabled = scale * density < SHARP_FROM;
    target.imageSmoothingQuality = "high";
  };

  function drawPhoto(target, matrix, density) {
    const [of, picture] = [sheet(), pixels()];
    if (!picture || !of || !flags.photoVisible) return;
    const [a, b, c, d, e, f] = matrix;
    target.save();
    target.transform(a, b, c, d, e, f);
    target.globalAlpha = 1 - Math.min(Math.max(flags.dim, 0), 1);
    smooth(target, spacing(matrix) * (of.width_px / picture.width), density);
    // A picture decoded a pixel off its nominal size still fills it.
    target.drawImage(picture, 0, 0, of.width_px, of.height_px);
    target.restore();
  }

  const hidden = () => (mode === "client" && !options.preview ? engine.describe().kinds : [
    ...Object.entries(flags.layers).filter(([kind, isOn]) => isOn === false && kind !== "labels").map(([kind]) => kind),
    ...(OUT_OF_THE_WAY[mode] ?? []),
  ]);
  /** Their texts as JSON text, written once: there are many of them, and they stay. */
  let texts = null;
  const labels = () => {
    if (texts === null) {
      // With the decimal sign, since the core writes the heights beside the lines.
      const all = { ...Object.fromEntries(LABELS.map((key) => [key, ui.firstText([`label.${key}`, key])])), ...textsOfNumbers() };
      texts = { all: JSON.stringify(all), few: JSON.stringify({ ...all, ...Object.fromEntries(HEIGHTS.map((key) => [key, ""])) }) };
    }
    return view.width < NARROW_PX ? texts.few : texts.all;
  };

  /** What the core is asked to draw, as JSON text. */
  function wasmView(matrix, width, height, { isPlain = false, ...change } = {}) {
    const hasLabels = !(isPlain || mode in OUT_OF_THE_WAY || mode === "client" || flags.layers.labels === false);
    const asked = JSON.stringify({
      base: view.base, matrix, width, height, theme: ui.theme?.() ?? "light", hidden: hidden(),
      handles: HANDLES[mode] ?? "none", side: SIDED.includes(mode) && options.side !== "both" ? options.side ?? null : null,
      selected, line_scale: 1, pose: POSED.includes(mode) ? options.pose ?? null : null,
      preview: mode === "client" ? options.preview ?? null : null,
      stroke: stroke ? { side: options.side, points: stroke.flatMap(({ x, y }) => [x, y]) } : null, ...change,
    });
    return hasLabels ? `${asked.slice(0, -1)},"texts":${labels()}}` : asked;
  }

  let askedLast = { by: [], text: "" };
  /** The same of the whole stage. A drag changes nothing of it but a stroke. */
  function askedNow(matrix) {
    const { base, width, height } = view;
    if (stroke) return wasmView(matrix, width, height);
    const by = [mode, options, flags, selected, ui.theme?.(), base, width, height, ...matrix];
    if (!by.every((value, i) => value === askedLast.by[i])) askedLast = { by, text: wasmView(matrix, width, height) };
    return askedLast.text;
  }

  /** The drawing of the plan; `null` where it could not be made, which is told once for each plan. */
  function drawingOf(asked) {
    const { shown } = store;
    if (shown === unreadable) return null;
    try {
      const drawing = engine.draw(shown, asked);
      if (mode === "client") [drawing.inks[PIGMENT_INK], drawing.inks[SKIN_INK]] = [options.pigment, options.skin ?? drawing.inks[SKIN_INK]];
      return drawing;
    } catch (error) {
      unreadable = shown;
      console.error(error);
      if (error?.code && error.code !== RESTARTED) emit("refused", error);
      return null;
    }
  }

  const loupe = createLoupe(overlayRoot, {
    magnified: view.magnified,
    draw(target, matrix, size, density) {
      drawPhoto(target, matrix, density);
      const drawing = drawingOf(wasmView(matrix, size, size, { isPlain: true, handles: "none" }));
      if (drawing) play(target, drawing);
    },
  });

  /** What there is to see in the base of the plan; the view hangs on the photo or on the face. */
  function hang() {
    const of = sheet();
    const key = of ? `${posed()?.key ?? ""}:${of.width_px}x${of.height_px}` : "face";
    if (key === basedOn) return;
    basedOn = key;
    view.setBase(of ? "image" : "face", whole());
    wantsFit = true;
  }

  function whole() {
    const of = sheet();
    return of ? [0, 0, of.width_px, of.height_px] : FACE_MM;
  }

  /** Whether the plan that was drawn last has this one's drawing too. In a drag it has not, and nobody has to ask. */
  function isDrawnAlike(shown) {
    if (reportedOf !== drawnOf) return false;
    if (shown === drawnOf) return true;
    if (store.isPreview) return false;
    try {
      return engine.sameFrame(drawnOf, shown);
    } catch (error) {
      if (error?.code === undefined) throw error;
      return false;
    }
  }

  /** Another plan on the part of the canvas that the wipe has reached. */
  function paintOver(text, asked, matrix, ratio) {
    const from = Math.round(canvas.width * Math.min(Math.max(options.wipe, 0), 1));
    let other;
    try {
      other = engine.draw({ text, edit: "" }, asked);
    } catch (error) {
      if (error?.code === undefined) throw error;
      return;
    }
    context.save();
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.beginPath();
    context.rect(from, 0, canvas.width - from, canvas.height);
    context.clip();
    context.clearRect(0, 0, canvas.width, canvas.height);
    context.setTransform(ratio, 0, 0, ratio, 0, 0);
    drawPhoto(context, matrix, ratio);
    play(context, other);
    context.setTransform(1, 0, 0, 1, 0, 0);
    context.fillStyle = other.inks[QUIET_INK];
    context.fillRect(from, 0, from > 0 ? Math.ceil(ratio) : 0, canvas.height);
    context.restore();
  }

  /** What is on the canvas; `null` where nothing is. */
  let painted = null;
  function paint() {
    const ratio = canvas.width / view.width;
    const matrix = view.matrix();
    const { shown } = store;
    const asked = askedNow(matrix);
    const over = (mode === "look" && options.other) || null;
    const under = [over, options.wipe, pixels(), sheet()?.width_px, sheet()?.height_px, flags.photoVisible, flags.dim, ratio, ...matrix];
    const isUnder = painted && under.every((value, i) => value === painted.under[i]);
    // A rule or a note changes nothing that is seen, and painting takes longer than all the rest.
    if (isUnder && asked === painted.asked && isDrawnAlike(shown)) {
      drawnOf = reportedOf = shown;
      return drawn;
    }
    const result = drawingOf(asked);
    if (!(isUnder && result && looksSame(result, painted.result))) {
      context.setTransform(1, 0, 0, 1, 0, 0);
      context.clearRect(0, 0, canvas.width, canvas.height);
      context.setTransform(ratio, 0, 0, ratio, 0, 0);
      drawPhoto(context, matrix, ratio);
      if (result) play(context, result);
      if (over) paintOver(over, asked, matrix, ratio);
    }
    painted = result && { under, asked, result };
    if (!result) return null;
    drawn = result;
    drawnOf = shown;
    view.setFrame(result.image_from_face);
    return result;
  }

  function render() {
    isDirty = false;
    if (!store.shown.text || !(view.width > 0 && view.height > 0)) return;
    follow();
    hang();
    const before = drawn;
    let result = paint();
    if (result && wantsFit) {
      wantsFit = false;
      wasMoved = false;
      view.fit(result.bounds ?? whole());
      result = paint();
    }
    if (!result) {
      drawn = before;
      return;
    }
    if (selected && !drag && !result.handles.some((handle) => handle.id === selected)) select(null);
    twins.update(result.handles, store.isPreview);
    twins.select(selected);
    showLoupe();
    isDirty = false;
    if (!store.isPreview) tellNumbers();
  }

  /** Tells the numbers of what is on the canvas, unless they were told. */
  function tellNumbers() {
    if (drawnOf === null || reportedOf === drawnOf) return;
    reportedOf = drawnOf;
    let report;
    try {
      report = engine.glance(drawnOf);
    } catch (error) {
      console.error(error);
      if (error?.code && error.code !== RESTARTED) emit("refused", error);
      return;
    }
    emit("report", report);
  }

  function showLoupe() {
    const last = stroke?.at(-1);
    const held = drag && (drag.refused ? drawn.handles.find((handle) => handle.id === drag.id) : drag);
    const at = last ? view.screenFromBase(last.x, last.y) : held;
    if (!at) {
      loupe.hide();
      return;
    }
    loupe.show({ x: at.x, y: at.y, stageWidth: view.width, density: canvas.width / view.width, ground: ground() });
  }

  let frameAsked = false;
  let isBehindAsked = false;
  function dirty() {
    isDirty = true;
    if (frameAsked) return;
    frameAsked = true;
    requestAnimationFrame(() => {
      frameAsked = false;
      if (isDirty) render();
      if (!store.isPreview || isBehindAsked) return;
      isBehindAsked = true;
      setTimeout(behind);
    });
  }

  /** In a drag the picture follows the finger first: numbers and panel take as long again, and come before the next frame. */
  function behind() {
    isBehindAsked = false;
    tellNumbers();
    emit("behind");
  }

  /** The drawing as it is now, made at once where it is stale. */
  function current() {
    if (isDirty || drawnOf !== store.shown) render();
    return drawn;
  }

  const measure = () => {
    const box = canvas.getBoundingClientRect();
    if (box.width === 0 || box.height === 0) return;
    const density = view.density(devicePixelRatio || 1);
    const isSame = view.width === box.width && view.height === box.height;
    if (!isSame) {
      view.resize(box.width, box.height);
      // A view that nobody moved goes on showing all.
      if (!wasMoved) wantsFit = true;
    }
    const [pixelWidth, pixelHeight] = [Math.max(1, Math.round(box.width * density)), Math.max(1, Math.round(box.height * density))];
    if (canvas.width !== pixelWidth || canvas.height !== pixelHeight) {
      canvas.width = pixelWidth;
      canvas.height = pixelHeight;
      painted = null;
      render();
    }
  };
  new ResizeObserver(measure).observe(canvas);
  // A tablet may take a canvas's memory away while the page is hidden.
  canvas.addEventListener("contextrestored", () => {
    painted = null;
    dirty();
  });
  addEventListener("resize", measure);

  store.subscribe(({ type }) => {
    if (type === "loaded") {
      pointer.abort();
      step = null;
      drawnOf = reportedOf = null;
      unreadable = null;
      basedOn = "";
      drawn = { handles: [], bounds: null, image_from_face: null };
      painted = null;
      select(null);
    } else if (type === "restarted") {
      // Whatever was under way is over; what is kept is drawn again.
      drag = null;
      stroke = null;
      step = null;
      pointer.forget();
      reportedOf = null;
      store.drop();
    } else if (type === "plan") {
      step = null;
    }
    dirty();
  });

  const onPage = (at) => {
    if (!at) return null;
    const box = canvas.getBoundingClientRect();
    return { x: at.x + box.left, y: at.y + box.top };
  };

  measure();
  return {
    setMode(next, nextOptions = {}) {
      if (next !== mode || nextOptions.side !== options.side) {
        pointer.abort();
        settleStep();
      }
      const isOther = next !== mode;
      mode = next;
      options = nextOptions;
      canvas.style.cursor = mode === "trace" || isAsking() ? "crosshair" : mode === "look" ? "grab" : "default";
      if (isOther) emit("mode", mode);
      dirty();
    },
    /** What is drawn of the plan, by kind, in painting order. */
    kinds: () => engine.describe().kinds.filter((kind) => !hidden().includes(kind)),
    /** A pose's photo was decoded. */
    repaint: dirty,
    setPhoto(bitmap) {
      photo = bitmap;
      dirty();
    },
    setView(change) {
      flags = { ...flags, ...change };
      view.setMirror(Boolean(flags.mirror));
      dirty();
    },
    fit() {
      wantsFit = true;
      dirty();
    },
    /** Brings a part of the photo into view, `[x0, y0, x1, y1]` px. */
    lookAt(box) {
      if (view.base !== "image") return;
      wasMoved = true;
      view.fit(box);
      dirty();
    },
    zoom(factor) {
      wasMoved = true;
      view.zoom(factor, view.width / 2, view.height / 2);
      dirty();
    },
    select,
    /** One step of the selected handle, to the right and up on the screen. */
    nudge(dx, dy) {
      if (!selected) return;
      stepped(selected, dx, dy);
      settleStep();
    },
    leavePenMode: () => pointer.leavePenMode(),
    /** The colour of her skin by the photo, as CSS; `null` without a photo or a frame. */
    skinTone() {
      current();
      const [of, picture] = [sheet(), pixels()];
      if (!of || !picture || !drawn.image_from_face) return null;
      const placeOf = (side, out, up) => {
        const at = view.screenFromSide(side, out, up);
        return view.baseFromScreen(at.x, at.y);
      };
      return skinTone({ picture, scale: picture.width / of.width_px, perMm: spacing(drawn.image_from_face), placeOf });
    },
    /** Puts the point that is asked for in the middle of the stage, and selects it: the arrow keys move it from there. */
    placeAtCentre() {
      if (!isAsking()) return;
      const id = `${POINTS[mode]}${options.ask}`;
      if (!refuse(store.commit(moveTo(id, view.width / 2, view.height / 2)))) return;
      select(id);
      current();
      twins.focus(id);
    },
    on(event, listener) {
      if (!listeners.has(event)) listeners.set(event, new Set());
      listeners.get(event).add(listener);
      return () => listeners.get(event).delete(listener);
    },
    /** Where things are on the page, CSS px of the viewport; `null` where there is no frame. */
    view: Object.freeze({
      screenFromImage: (x, y) => (view.base === "image" ? onPage(view.screenFromBase(x, y)) : null),
      screenFromSide(side, out, up) {
        current();
        return onPage(view.screenFromSide(side, out, up));
      },
    }),
    /** A place of the photo, CSS px from the stage's corner; `null` where it is not on it. */
    placeInImage(x, y) {
      const at = view.base === "image" ? view.screenFromBase(x, y) : null;
      return at && at.x > 0 && at.x < view.width && at.y > 0 && at.y < view.height ? at : null;
    },
    /** A closed line of the photo as an SVG path, CSS px from the stage's corner; empty where no photo is shown. */
    lineInImage(points) {
      if (view.base !== "image") return "";
      const places = points.map(([x, y]) => view.screenFromBase(x, y));
      return `M${places.map(({ x, y }) => `${x.toFixed(1)} ${y.toFixed(1)}`).join("L")}Z`;
    },
    /** A place of the stage as it is drawn, CSS px from its corner; `null` where it is not on it. */
    placeOf(side, out, up) {
      const at = view.screenFromSide(side, out, up);
      return at && at.x > 0 && at.x < view.width && at.y > 0 && at.y < view.height ? at : null;
    },
  };
}
