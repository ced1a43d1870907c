// The part of the poses' step that takes a pose from a photo: open it, place its points, see how it lies over the first one.

import { button, fileButton, folded, numberField, toggle } from "../controls.js";
import { el, replace, setText } from "../dom.js";
import { firstText, text } from "../messages.js";
import { createPointRows } from "../point_rows.js";
import { photoOfPose } from "../pose_photos.js";

/** A point's name without its side. */
const baseOf = (id) => id.split(".")[0];

/** `pose()` is the id of the pose at hand, `setPhoto(photo)` keeps what the plan says of its photo, or forgets it, and `settle()` is called
 *  when the stage should show something else. `name` makes the ids, `how` is the text's key. */
export function createPosePhoto(app, { pose, setPhoto, settle, name = "pose", how = "poses.photo_how" }) {
  const { describe, wording } = app;
  let asked = null;

  const photoOf = () => photoOfPose(app.store.plan, pose());
  const points = () => describe.pose_points[pose()];

  async function open(file) {
    const there = photoOf();
    const at = pose();
    const opened = await app.openPosePhoto(file, there && !app.posePhotos.has(there.key) ? there : null);
    // Another pose may have been chosen, or another plan opened, while the photo was read.
    if (!opened || pose() !== at || opened.key === there?.key) return;
    setPhoto({ key: opened.key, photo: { ...opened.photo, mirrored: Boolean(app.store.plan.photo?.mirrored) }, points: {}, ruler_mm: null });
    asked = nextMissing();
    settle();
  }

  const openers = el("div", { class: "pair" },
    fileButton(text("photo.open"), { id: `open-${name}-photo`, iconName: "picture", kind: "button primary", on: open }),
    fileButton(text("photo.take"), { id: `take-${name}-photo`, iconName: "camera", options: { capture: "environment" }, on: open }));
  const missing = el("p", { class: "status wants" });

  const askedNow = el("p", { class: "asked", role: "status" });
  const askedHow = el("p", { class: "hint" });
  const placeCentre = button(text("points.place_here"), { id: `place-${name}-point`, iconName: "plus", on: () => app.placeAtCentre() });
  const takeOff = button(text("points.remove"), { id: `remove-${name}-point`, iconName: "close", on: () => asked && app.commit({ do: "remove_pose_point", pose: pose(), point: asked }) });
  const rowsHere = el("div", { class: "points" });
  const rulerHere = el("div", { class: "points" });
  let rows = [];
  let rowsOf = null;

  const mirrored = toggle(text("photo.mirrored"), { id: `${name}-mirrored`, hint: text("photo.mirrored_hint"), on: (isOn) => app.commit({ do: "mirror_pose", pose: pose(), mirrored: isOn }) });
  const ruler = numberField(text("field.poses.ruler_mm"), {
    ...describe.fields.find((field) => field.id === "poses.ruler_mm"), id: `${name}-ruler`, optional: true, refuse: app.problem,
    on: (value) => setPhoto({ ...photoOf(), ruler_mm: value }),
  });
  const forget = button(text("poses.forget_photo"), {
    id: `forget-${name}-photo`, iconName: "close",
    on: () => {
      setPhoto(null);
      settle();
    },
  });
  const placing = el("div", { class: "part-of" }, askedNow, askedHow, el("div", { class: "pair" }, placeCentre, takeOff), rowsHere,
    folded(text("poses.ruler"), el("p", { class: "hint", text: text("poses.ruler_hint") }), rulerHere, ruler.node),
    mirrored.node, forget);
  const first = el("p", { class: "status wants", text: text("poses.photo_first") });
  const node = el("div", { class: "part-of" }, first, el("p", { class: "lead", text: text(how) }), openers, missing, placing);

  function ask(id) {
    asked = id;
    settle();
    app.select(photoOf()?.points[id] ? `pose:${id}` : null);
    render();
  }

  const nextMissing = () => points().find((point) => !point.optional && !photoOf()?.points[point.id])?.id ?? null;

  function render() {
    const { plan } = app.store;
    const photo = photoOf();
    const hasBaseline = Boolean(plan.photo) && app.hasFrame();
    first.hidden = hasBaseline;
    openers.hidden = !hasBaseline || (Boolean(photo) && app.posePhotos.has(photo.key));
    missing.hidden = !photo || app.posePhotos.has(photo.key);
    placing.hidden = !photo;
    if (!photo) return;
    setText(missing, text("photo.status_missing", { width: photo.photo.width_px, height: photo.photo.height_px }));
    if (rowsOf !== pose()) {
      rowsOf = pose();
      // Which points a photo shows depends on the eyes.
      rows = [false, true].map((optional) => createPointRows(points().filter((point) => Boolean(point.optional) === optional), ask));
      replace(rowsHere, ...rows[0].rows);
      replace(rulerHere, ...rows[1].rows);
    }
    for (const each of rows) each.show(photo.points, asked);
    const needed = points().filter((point) => !point.optional);
    const placed = needed.filter((point) => photo.points[point.id]).length;
    setText(askedNow, asked
      ? text(photo.points[asked] ? "points.move" : "points.ask", { name: text(`landmark.${asked}`) })
      : text(placed === needed.length ? "points.done" : "points.count", { placed, needed: needed.length }));
    setText(askedHow, asked ? firstText([`landmark_how.${baseOf(asked)}`, "landmark_how.any"]) : text("points.tap_any"));
    placeCentre.hidden = !asked || Boolean(photo.points[asked]);
    takeOff.hidden = !asked || !photo.points[asked];
    mirrored.input.checked = photo.photo.mirrored;
    ruler.set(photo.ruler_mm);
  }

  /** How the photo lies over the first one, in sentences. */
  function fitSaid(fit) {
    const said = [text("poses.fit", { rms: wording.shown("mm", fit.rms_mm), count: fit.residuals.length })];
    if (fit.outlier) said.push(text("poses.fit_outlier", { name: text(`landmark.${fit.outlier}`) }));
    if (fit.is_turned) said.push(text("poses.fit_turned", { yaw: wording.signed("deg", fit.yaw_deg.value), pitch: wording.signed("deg", fit.pitch_deg.value) }));
    if (fit.ruler_pct) said.push(text("poses.fit_ruler", { pct: wording.signed("pct", fit.ruler_pct.value), ci: wording.shown("pct", fit.ruler_pct.ci95) }));
    return said;
  }

  return {
    node,
    render,
    fitSaid,
    /** The pose has a photo: its points can be placed. */
    isThere: () => Boolean(photoOf()),
    /** What the stage asks for, or shows where nothing is asked. */
    stage: () => ({ pose: pose(), ask: asked }),
    /** Asks for the first point that is missing. */
    begin() {
      asked = photoOf() ? nextMissing() : null;
    },
    asked(id) {
      asked = id ?? null;
      render();
    },
  };
}
