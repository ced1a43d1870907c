// First guesses of points: shown as guesses, and part of the plan only once a person has taken them.

import { button, section } from "../controls.js";
import { el, icon, replace, setText } from "../dom.js";
import { firstText, text } from "../messages.js";

const baseOf = (id) => id.split(".")[0];

/** `taken()` is told when drafts have become points. */
export function createDraftsSection(app, taken) {
  const { store, stage } = app;
  let drafts = [];
  let isLooking = false;
  let marks = [];

  const find = button(text("find.points"), { id: "find-points", iconName: "eye", on: () => look() });
  const said = el("p", { class: "hint strong", id: "find-said", role: "status" });
  const list = el("ul", { class: "drafts", id: "drafts" });
  const all = button(text("find.take_all"), { id: "take-drafts", kind: "button primary", iconName: "ok", on: () => take(drafts) });
  const none = button(text("find.drop_all"), { id: "drop-drafts", iconName: "close", on: () => { set([]); setText(said, ""); } });
  const answers = el("div", { class: "pair" }, all, none);
  const node = section(text("find.title"), el("p", { class: "hint", text: text("find.how") }), find, said, list, answers, el("p", { class: "hint", text: text("find.bad_at") }));

  const overlay = document.getElementById("stage-overlay");
  function place() {
    marks.forEach((mark, i) => {
      const at = stage.placeInImage(drafts[i].x_px, drafts[i].y_px);
      mark.hidden = !at;
      if (at) mark.style.translate = `${at.x}px ${at.y}px`;
    });
  }
  stage.on("painted", () => marks.length && place());

  function set(next) {
    drafts = next;
    marks.forEach((mark) => mark.remove());
    marks = drafts.map(({ id }) => el("div", { class: "draft-mark", "aria-hidden": "true", data: { draft: id } }));
    overlay.append(...marks);
    place();
    render();
  }

  /** Makes drafts points of the plan, in one step of undo. */
  function take(which) {
    const edits = which.map(({ id, x_px, y_px }) => ({ do: "place_landmark", landmark: id, x_px, y_px }));
    if (app.commit({ do: "many", edits }).refused) return;
    set(drafts.filter((draft) => !which.includes(draft)));
    if (drafts.length === 0) {
      setText(said, text("find.taken"));
      taken();
    }
  }

  async function look() {
    const bitmap = app.photoBitmap();
    if (!bitmap || isLooking) return;
    const before = store.plan.photo;
    const { landmarks } = store.plan;
    const pupils = ["right", "left"].map((side) => landmarks[`pupil.${side}`]);
    isLooking = true;
    set([]);
    setText(said, text("find.looking"));
    const { findPoints } = await import("../face_finder.js");
    const found = await findPoints(bitmap, { mirrored: Boolean(before.mirrored), pupils: pupils.every(Boolean) ? pupils.flatMap(({ x_px, y_px }) => [x_px, y_px]) : [] });
    isLooking = false;
    // Another photo may have been opened, or this one called mirrored.
    if (JSON.stringify(store.plan.photo) !== JSON.stringify(before)) {
      setText(said, "");
      render();
      return;
    }
    if (!found.points) {
      setText(said, firstText([`find.${found.problem}`, "find.failed"]));
      render();
      return;
    }
    // What was placed by hand stays; what is only a place to start from is always asked for.
    const next = found.points.filter(({ id, is_seed: isSeed }) => !isSeed && !store.plan.landmarks[id]);
    setText(said, text(next.length ? "find.found" : "find.nothing_new", { count: next.length }));
    set(next);
    if (next.length) stage.lookAt(around(next));
  }

  /** A box of the photo with room around these places, px: guesses are to be looked at closely. */
  function around(points) {
    const [xs, ys] = [points.map(({ x_px: x }) => x), points.map(({ y_px: y }) => y)];
    const room = 0.25 * (Math.max(...xs) - Math.min(...xs));
    return [Math.min(...xs) - room, Math.min(...ys) - room, Math.max(...xs) + room, Math.max(...ys) + room];
  }

  function render() {
    find.disabled = isLooking || !app.photoBitmap();
    list.hidden = drafts.length === 0;
    answers.hidden = drafts.length === 0;
    const rows = drafts.map((draft) => {
      const name = text(`landmark.${draft.id}`);
      const act = (key, iconName, on) => {
        const made = el("button", { type: "button", class: "step", "aria-label": text(key, { name }), data: { act: key }, on: { click: on } }, icon(iconName));
        return made;
      };
      return el("li", { data: { draft: draft.id } }, el("span", { text: name }), el("small", { text: baseOf(draft.id).startsWith("iris") ? text("find.iris_weak") : "" }),
        act("find.take", "ok", () => take([draft])), act("find.drop", "close", () => set(drafts.filter((other) => other !== draft))));
    });
    replace(list, ...rows);
  }

  return {
    node,
    render,
    /** Drafts belong to the step and the photo. */
    leave: () => set([]),
  };
}
