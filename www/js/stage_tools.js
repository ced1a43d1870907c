// What floats on the stage: zoom, photo on and off, the nudge pad, the note of what a tap does, dropped files.

import { setAttribute, setText } from "./dom.js";
import { text } from "./messages.js";

/** One press of a zoom button. */
const ZOOM_STEP = 1.35;

export function createStageTools(app) {
  const { stage } = app;
  const byId = (id) => document.getElementById(id);

  byId("zoom-in").addEventListener("click", () => stage.zoom(ZOOM_STEP));
  byId("zoom-out").addEventListener("click", () => stage.zoom(1 / ZOOM_STEP));
  byId("zoom-fit").addEventListener("click", () => stage.fit());
  const photoToggle = byId("photo-toggle");
  photoToggle.addEventListener("click", () => app.setView({ photoVisible: !app.view().photoVisible }));

  // Nudge pad: the way to move a point without dragging it.
  const nudge = byId("nudge");
  const nudgeName = byId("nudge-name");
  nudge.addEventListener("click", (event) => {
    const pressed = event.target.closest("[data-nudge]");
    if (!pressed) return;
    if (pressed.dataset.nudge === "done") return stage.select(null);
    const [dx, dy] = pressed.dataset.nudge.split(" ").map(Number);
    return stage.nudge(dx, dy);
  });

  const note = byId("stage-note");
  const penExit = byId("pen-exit");
  penExit.addEventListener("click", () => {
    stage.leavePenMode?.();
    penExit.hidden = true;
  });

  // Dropped files
  const hint = byId("drop-hint");
  let depth = 0;
  const hasFile = (event) => [...(event.dataTransfer?.types ?? [])].includes("Files");
  addEventListener("dragenter", (event) => {
    if (!hasFile(event)) return;
    depth += 1;
    hint.hidden = app.isWithClient();
  });
  addEventListener("dragleave", (event) => {
    if (!hasFile(event)) return;
    depth = Math.max(0, depth - 1);
    hint.hidden = depth === 0;
  });
  addEventListener("dragover", (event) => hasFile(event) && event.preventDefault());
  addEventListener("drop", (event) => {
    if (!hasFile(event)) return;
    event.preventDefault();
    depth = 0;
    hint.hidden = true;
    const [file] = event.dataTransfer.files;
    if (file && !app.isWithClient()) app.openFile(file);
  });

  return {
    /** Shows or hides what goes with the plan and the view. */
    render(plan) {
      photoToggle.hidden = !plan.photo;
      setAttribute(photoToggle, "aria-pressed", app.view().photoVisible);
    },
    /** A point was chosen, or none. */
    selected(chosen) {
      nudge.hidden = !chosen?.id;
      if (chosen?.id) setText(nudgeName, chosen.name ?? "");
    },
    /** Says what a tap on the stage does now. */
    note(message) {
      note.hidden = !message;
      setText(note, message ?? "");
    },
    /** Shows the way out of pen mode. */
    penMode(isOn) {
      penExit.hidden = !isOn;
    },
    mirrorText: () => text("stage.as_in_mirror"),
  };
}
