// What is asked before she agrees: each question open, no or yes. Answers are kept with the plan and clear nobody.

import { choice, folded, section } from "../controls.js";
import { el, setText } from "../dom.js";
import { text } from "../messages.js";

/** The one that does not wait. */
const AT_ONCE = "droop";
const ANSWERS = { open: undefined, no: false, yes: true };

export function createAskedSection(app) {
  const { describe, store } = app;
  const rows = describe.cautions.map((id) => {
    const answers = choice(text(`caution.${id}`), Object.keys(ANSWERS).map((value) => ({ value, label: text(`asked.${value}`), id: `asked-${id}-${value}` })), (value) =>
      app.commit({ do: "answer_caution", caution: id, ...(value === "open" ? {} : { yes: ANSWERS[value] }) }));
    const advice = el("p", { class: "hint strong warn", text: text(id === AT_ONCE ? "asked.at_once" : "asked.advice") });
    return { id, answers, advice, node: el("li", { class: "question", data: { caution: id } }, el("span", { text: text(`caution.${id}`) }), answers.node, advice) };
  });
  const count = el("p", { class: "status", id: "asked-count", role: "status" });
  const note = el("textarea", { id: "asked-note", rows: 2, maxlength: 2000, on: { change: () => app.commit({ do: "note_cautions", note: note.value }) } });
  const node = section(text("asked.title"), el("p", { class: "hint", text: text("asked.how") }), count,
    el("ul", { class: "questions" }, ...rows.map((row) => row.node)),
    el("div", { class: "field tall" }, el("label", { for: note.id, text: text("asked.note") }), note),
    folded(text("asked.sources_title"), el("p", { class: "hint", text: text("asked.sources") })));

  return {
    node,
    render() {
      const given = store.plan.cautions?.answers ?? {};
      for (const { id, answers, advice } of rows) {
        answers.set(id in given ? (given[id] ? "yes" : "no") : "open");
        advice.hidden = !given[id];
      }
      const yes = Object.values(given).filter(Boolean).length;
      setText(count, [text("asked.count", { asked: Object.keys(given).length, all: rows.length }), yes ? text("asked.yes_count", { yes }) : ""].filter(Boolean).join(" "));
      count.classList.toggle("wants", yes > 0);
      if (document.activeElement !== note) note.value = store.plan.cautions?.note ?? "";
    },
  };
}
