// Step 9: the sheet for the couch: what it is to be like, and its files.

import { button, choice, numberField, section, toggle } from "../controls.js";
import { el, setText } from "../dom.js";
import { fileName, giveFile } from "../files.js";
import { locale, text, textsStartingWith } from "../messages.js";
import { rememberSetting, setting } from "../settings.js";

const FULL_MM = 100;
/** The pose that is offered first where it is recorded. */
const COUCH = "reclined_closed_resting";
const FILES = {
  pdf: { ending: ".pdf", type: "application/pdf" },
  svg: { ending: ".svg", type: "image/svg+xml" },
  csv: { ending: ".csv", type: "text/csv" },
};

export function createSheetPanel(root, app) {
  const { describe, store, wording } = app;
  let wishedPose;

  const paper = choice(text("print.paper"), [{ value: "a4", label: text("print.a4"), id: "paper-a4" }, { value: "letter", label: text("print.letter"), id: "paper-letter" }], (value) => {
    rememberSetting("paper", value);
    paper.set(value);
  });
  paper.set(setting("paper", "a4"));
  const mirrored = toggle(text("print.mirrored"), { id: "sheet-mirrored", hint: text("print.mirrored_hint") });
  const pose = el("select", { id: "sheet-pose", on: { change: () => { wishedPose = pose.value; } } });
  const barField = describe.fields.find((field) => field.id === "sheet.printed_bar_mm");
  const bar = numberField(text("field.sheet.printed_bar_mm"), {
    ...barField, id: "sheet-bar", refuse: app.problem,
    on: (value) => {
      rememberSetting("printedBar", value);
      bar.set(value);
    },
  });
  bar.set(setting("printedBar", FULL_MM));
  const said = el("p", { class: "hint", id: "sheet-said", role: "status" });
  const buttons = Object.keys(FILES).map((kind) => button(text(`print.${kind}`), { id: `sheet-${kind}`, kind: kind === "pdf" ? "button primary" : "button", on: () => make(kind) }));

  async function make(kind) {
    for (const each of buttons) each.disabled = true;
    setText(said, text("print.making"));
    try {
      const { makeSheet } = await import("../sheet_maker.js");
      const made = await makeSheet(store.keptText, {
        paper: setting("paper", "a4"), mirrored: mirrored.input.checked, date: new Date().toLocaleDateString(locale()),
        printed_bar_mm: setting("printedBar", FULL_MM), pose: pose.value || null,
      }, textsStartingWith(""));
      const { label, date } = store.plan.case;
      const { ending, type } = FILES[kind];
      const name = fileName(label, date, `-${text("print.file")}${ending}`);
      const way = await giveFile(name, type, made[kind]);
      setText(said, way === "cancelled" ? "" : [text(`files.${way}`, { name }), made.missing ? text("print.missing", { letters: made.missing }) : ""].filter(Boolean).join(" "));
    } catch (error) {
      setText(said, "");
      const isRefused = typeof error?.code === "string";
      if (!isRefused) console.error(error);
      app.problem(isRefused ? wording.refusal(error) : text("print.failed"));
    } finally {
      for (const each of buttons) each.disabled = false;
    }
  }

  const upkeep = el("textarea", { id: "upkeep", rows: 3, maxlength: 1000, on: { change: () => app.commit({ do: "note_upkeep", note: upkeep.value }) } });
  root.append(section(text("print.title"),
    el("p", { class: "hint", text: text("print.how") }),
    paper.node,
    el("div", { class: "field" }, el("label", { for: pose.id, text: text("print.pose") }), pose),
    mirrored.node, bar.node,
    el("div", { class: "field tall" }, el("label", { for: upkeep.id, text: text("print.upkeep") }), upkeep, el("p", { class: "hint", text: text("print.upkeep_hint") })),
    el("div", { class: "pair" }, ...buttons), said));

  return {
    render() {
      if (document.activeElement !== upkeep) upkeep.value = store.plan.upkeep ?? "";
    },
    /** Offers what is recorded now. */
    enter() {
      app.setStageMode("look");
      const recorded = describe.poses.filter((id) => store.plan.poses?.[id]);
      pose.replaceChildren(el("option", { value: "", text: text("print.pose_upright") }), ...recorded.map((id) => el("option", { value: id, text: text(`pose.${id}`) })));
      const wanted = wishedPose ?? COUCH;
      pose.value = recorded.includes(wanted) ? wanted : "";
    },
  };
}
