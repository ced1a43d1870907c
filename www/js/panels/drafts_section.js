// First guesses of one kind: shown as guesses, and part of the plan only once a person has taken them.

import { button, section } from "../controls.js";
import { el, icon, replace, setText } from "../dom.js";
import { firstText, text } from "../messages.js";

/**
 * `kind` says what is guessed (see `draft_kinds.js`); `taken(found)` is told when drafts have become part of the plan.
 */
export function createDraftsSection(app, kind, taken) {
  const { store, stage } = app;
  const { name } = kind;
  let drafts = [];
  let isLooking = false;
  let marks = [];
  /** The photo whose guesses she has dropped or taken: they do not come back by themselves. */
  let answered = null;
  let found = null;

  const find = button(text(`find.${name}`), { id: `find-${name}`, iconName: "eye", on: () => look() });
  const said = el("p", { class: "hint strong", id: `said-${name}`, role: "status" });
  const list = el("ul", { class: "drafts", id: `drafts-${name}` });
  const all = button(text("find.take_all"), { id: `take-${name}`, kind: "button primary", iconName: "ok", on: () => take(drafts) });
  const none = button(text("find.drop_all"), { id: `drop-${name}`, iconName: "close", on: () => { answer([]); setText(said, ""); } });
  const answers = el("div", { class: "pair" }, all, none);
  const node = section(text("find.title"), el("p", { class: "hint", text: text(`find.how_${name}`) }), find, said, list, answers, el("p", { class: "hint", text: text(`find.bad_at_${name}`) }));
  node.classList.add("guesses");

  const overlay = document.getElementById("stage-overlay");
  stage.on("painted", () => marks.forEach((mark) => mark.place()));

  function set(next) {
    drafts = next;
    marks.forEach((mark) => mark.node.remove());
    marks = drafts.map((draft) => kind.mark(draft, stage));
    overlay.append(...marks.map((mark) => mark.node));
    marks.forEach((mark) => mark.place());
    render();
  }

  /** What is left after some were taken or dropped. */
  function answer(left) {
    answered = app.photoBitmap();
    set(left);
  }

  /** Makes drafts part of the plan, in one step of undo. */
  function take(which) {
    if (app.commit({ do: "many", edits: which.map(kind.edit) }).refused) return;
    answer(drafts.filter((draft) => !which.includes(draft)));
    if (drafts.length === 0) {
      setText(said, text(`find.taken_${name}`));
      taken(found);
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
    const { findFace } = await import("../face_finder.js");
    const seen = await findFace(bitmap, { mirrored: Boolean(before.mirrored), pupils: pupils.every(Boolean) ? pupils.flatMap(({ x_px, y_px }) => [x_px, y_px]) : [] });
    isLooking = false;
    // Another photo may have been opened, or this one called mirrored.
    if (JSON.stringify(store.plan.photo) !== JSON.stringify(before)) {
      setText(said, "");
      render();
      return;
    }
    if (!seen.points) {
      setText(said, firstText([`find.${seen.problem}`, "find.failed"]));
      render();
      return;
    }
    show(seen);
  }

  function show(seen) {
    found = seen;
    const next = kind.drafts(found, store.plan);
    setText(said, text(next.length ? `find.found_${name}` : `find.nothing_new_${name}`, { count: next.length }));
    set(next);
    if (next.length) stage.lookAt(around(next.flatMap(kind.places)));
  }

  /** A box of the photo with room around these places, px: guesses are to be looked at closely. */
  function around(places) {
    const [xs, ys] = [places.map(([x]) => x), places.map(([, y]) => y)];
    const room = 0.25 * (Math.max(...xs) - Math.min(...xs));
    return [Math.min(...xs) - room, Math.min(...ys) - room, Math.max(...xs) + room, Math.max(...ys) + room];
  }

  function render() {
    // What is there by hand needs no guess.
    const left = drafts.filter((draft) => kind.isWanted(draft, store.plan));
    if (left.length < drafts.length) {
      set(left);
      return;
    }
    find.disabled = isLooking || !app.photoBitmap() || !kind.isPossible(app);
    list.hidden = drafts.length === 0;
    answers.hidden = drafts.length === 0;
    // What may be wrong is not to be taken along with the rest.
    all.classList.toggle("primary", !drafts.some(kind.isDoubtful));
    const rows = drafts.map((draft) => {
      const label = kind.label(draft);
      const act = (key, iconName, on) =>
        el("button", { type: "button", class: "step", "aria-label": text(key, { name: label }), data: { act: key }, on: { click: on } }, icon(iconName));
      const notes = kind.notes(draft);
      return el("li", { data: { draft: draft.id, doubtful: String(kind.isDoubtful(draft)) } }, el("span", {}, el("span", { text: label }), ...notes.map((note) => el("small", { class: "note", text: note }))),
        act("find.take", "ok", () => take([draft])), act("find.drop", "close", () => answer(drafts.filter((other) => other !== draft))));
    });
    replace(list, ...rows);
  }

  return {
    node,
    render,
    /** Shows what an earlier look at this photo has found, where she has not answered yet. */
    async recall() {
      const bitmap = app.photoBitmap();
      if (!bitmap || bitmap === answered || isLooking || drafts.length > 0 || !kind.isPossible(app)) return;
      const { alreadyFound } = await import("../face_finder.js");
      const earlier = alreadyFound(bitmap, Boolean(store.plan.photo?.mirrored));
      if (earlier && bitmap === app.photoBitmap() && kind.drafts(earlier, store.plan).length > 0) show(earlier);
    },
    /** Drafts belong to the step and the photo. */
    leave: () => set([]),
  };
}
