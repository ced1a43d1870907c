// Step 1: the photo, or none; whose plan it is.

import { button, fileButton, folded, nextButton, section, shareWords, spokenRange, toggle } from "../controls.js";
import { el, newId, setAttribute, setText } from "../dom.js";
import { text } from "../messages.js";

export function createPhotoPanel(root, app) {
  const status = el("p", { class: "status" });
  const mirrored = toggle(text("photo.mirrored"), {
    id: "mirrored", hint: text("photo.mirrored_hint"),
    on: (isOn) => app.commit({ do: "set_mirrored", mirrored: isOn }),
  });
  const whereRight = el("p", { class: "hint strong" });
  const dim = spokenRange({ id: "dim", label: text("photo.dim"), min: 0, max: 0.9, step: 0.05, say: shareWords, input: (share) => app.setView({ dim: share }) });
  const visible = toggle(text("photo.show"), { id: "photo-visible", on: (isOn) => app.setView({ photoVisible: isOn }) });
  const seen = section(text("photo.seen"), mirrored.node, whereRight, visible.node,
    el("div", { class: "dim" }, el("span", { text: text("photo.dim") }), dim.node));

  const labelled = (key, input) => el("div", { class: "field tall" }, el("label", { for: input.id, text: text(key) }), input);
  const saveCase = () => app.commit({ do: "set_case", case: { label: label.value.trim(), note: note.value, date: date.value } });
  const label = el("input", { type: "text", id: "case-label", maxlength: 120, autocomplete: "off", on: { change: saveCase } });
  const date = el("input", { type: "date", id: "case-date", on: { change: saveCase } });
  const note = el("textarea", { id: "case-note", rows: 3, maxlength: 4000, on: { change: saveCase } });
  const hintId = newId("hint");
  label.setAttribute("aria-describedby", hintId);

  const noPhoto = button(text("photo.none"), { id: "no-photo", kind: "button wide", iconName: "calipers", on: () => app.startWithoutPhoto() });
  const keepPhoto = button(text("photo.keep"), { id: "save-photo", iconName: "save", on: () => app.savePhoto() });

  root.append(
    section(text("photo.title"),
      el("p", { class: "lead", text: text("photo.how") }),
      el("div", { class: "pair" },
        fileButton(text("photo.open"), { id: "open-photo", iconName: "picture", kind: "button primary", on: app.openPhoto }),
        fileButton(text("photo.take"), { id: "take-photo", iconName: "camera", options: { capture: "environment" }, on: app.openPhoto })),
      noPhoto,
      status),
    seen,
    section(text("case.title"),
      labelled("case.label", label),
      el("p", { class: "hint", id: hintId, text: text("case.label_hint") }),
      labelled("case.date", date),
      labelled("case.note", note)),
    folded(text("privacy.title"), ...["privacy.consent", "privacy.device", "privacy.stripped"].map((key) => el("p", { text: text(key) })),
      el("div", { class: "pair" }, keepPhoto, button(text("privacy.forget"), { id: "forget", on: () => app.forgetAll() }))),
    nextButton(text("next.points"), () => app.goTo(app.store.plan.photo ? "points" : "hair")),
  );

  return {
    render(plan) {
      const { photo } = plan;
      const hasPicture = app.hasPhoto();
      setText(status, !photo ? text("photo.status_none") : hasPicture ? text("photo.status", { width: photo.width_px, height: photo.height_px }) : text("photo.status_missing", { width: photo.width_px, height: photo.height_px }));
      status.classList.toggle("wants", Boolean(photo) && !hasPicture);
      seen.hidden = !photo;
      keepPhoto.disabled = !hasPicture;
      mirrored.input.checked = Boolean(photo?.mirrored);
      setText(whereRight, text(photo?.mirrored ? "photo.right_is_right" : "photo.right_is_left"));
      setAttribute(noPhoto, "aria-pressed", !photo);
      const view = app.view();
      dim.set(view.dim);
      visible.input.checked = view.photoVisible;
      for (const [input, value] of [[label, plan.case.label], [date, plan.case.date], [note, plan.case.note]]) {
        if (document.activeElement !== input) input.value = value;
      }
    },
  };
}
