// The bar: undo and redo, files, mirror view, theme, and the rest behind one button.

import { openDialog } from "./dialogs.js";
import { el, setAttribute } from "./dom.js";
import { handChoice } from "./hand.js";
import { languageChoice } from "./language_choice.js";
import { text } from "./messages.js";
import { button, toggle } from "./controls.js";

const KEYS = ["keys.undo", "keys.save", "keys.steps", "keys.points", "keys.slider", "keys.escape"];

export function createToolbar(app) {
  const byId = (id) => document.getElementById(id);
  const undo = byId("undo");
  const redo = byId("redo");
  const mirror = byId("view-mirror");
  const theme = byId("theme");
  const openPlan = byId("open-plan");

  undo.addEventListener("click", () => app.undo());
  redo.addEventListener("click", () => app.redo());
  byId("save-plan").addEventListener("click", () => app.savePlan());
  byId("book-open").addEventListener("click", async () => {
    const { openCaseBook } = await import("./case_book.js");
    openCaseBook(app);
  });
  byId("export-svg").addEventListener("click", () => app.exportSvg());
  byId("export-png").addEventListener("click", () => app.exportPng());
  openPlan.addEventListener("change", () => {
    const [file] = openPlan.files;
    if (file) app.openPlan(file);
    openPlan.value = "";
  });
  mirror.addEventListener("click", () => app.setView({ mirror: !app.view().mirror }));
  theme.addEventListener("click", () => {
    app.theme.next();
    renderTheme();
  });
  byId("more").addEventListener("click", () => openMore());

  function renderTheme() {
    const label = text("toolbar.theme_is", { theme: text(`theme.${app.theme.chosen()}`) });
    setAttribute(theme, "title", label);
    setAttribute(theme, "aria-label", label);
  }

  function openMore() {
    openDialog(text("more.title"), (close) => {
      const then = (act) => () => { close(); act(); };
      const withPhoto = toggle(text("more.export_photo"), { id: "export-photo", hint: text("more.export_photo_hint"), on: (isOn) => app.setExportPhoto(isOn) });
      withPhoto.input.checked = app.exportsPhoto();
      return [
        el("div", { class: "answers" },
          button(text("more.new"), { id: "new-case", kind: "button wide", on: then(() => app.newCase()) }),
          button(text("share.title"), { id: "share", kind: "button wide", on: then(() => app.shareLink()) }),
          button(text("more.teaching"), { id: "teaching", kind: "button wide", on: then(() => app.showCourses()) }),
          button(text("more.demo"), { id: "demo-case", kind: "button wide", on: then(() => app.openDemo()) }),
          app.hasPrevious() ? button(text("more.previous"), { id: "previous-work", kind: "button wide", on: then(() => app.bringBack()) }) : null),
        withPhoto.node,
        // A page around this one chooses for it.
        app.isEmbedded ? null : languageChoice({ save: () => app.autosave.now(), messages: app.messages, close }),
        handChoice(),
        app.offline() ? el("p", { class: "hint", id: "offline-state", text: text(`offline.${app.offline().state()}`) }) : null,
        app.offline()?.waiting() ? button(text("offline.take"), { id: "offline-take", kind: "button wide", on: then(() => app.offline().take()) }) : null,
        el("h3", { text: text("more.keys") }),
        el("ul", { class: "plain" }, ...KEYS.map((key) => el("li", { text: text(key) }))),
        el("p", { class: "hint", text: text("more.about", { version: app.version }) }),
        button(text("licences.title"), { id: "licences", kind: "button wide", on: then(() => app.showLicences()) }),
      ].filter(Boolean);
    });
  }

  addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || event.altKey || app.isWithClient()) return;
    const isTyping = event.target.closest?.("input:not([type=range]):not([type=checkbox]):not([type=file]), textarea, select");
    const key = event.key.toLowerCase();
    if (key === "s") {
      event.preventDefault();
      app.savePlan();
    } else if (!isTyping && (key === "y" || (key === "z" && event.shiftKey))) {
      event.preventDefault();
      app.redo();
    } else if (!isTyping && key === "z") {
      event.preventDefault();
      app.undo();
    }
  });

  renderTheme();
  return {
    render() {
      undo.disabled = !app.store.canUndo;
      redo.disabled = !app.store.canRedo;
      setAttribute(mirror, "aria-pressed", app.view().mirror);
    },
  };
}
