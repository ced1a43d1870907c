// The lessons and exercises that come with the page, and the way to a teacher's own.

import { readText } from "./assets.js";
import { fileButton } from "./controls.js";
import { OWN_SET } from "./course.js";
import { openDialog } from "./dialogs.js";
import { el, icon } from "./dom.js";
import { readPlanFile } from "./files.js";
import { text } from "./messages.js";

async function parts() {
  const { items } = JSON.parse(await readText(`demo/${OWN_SET}.set.json`));
  return Promise.all(items.map(async (item) => {
    const [[kind, id]] = Object.entries(item);
    const { title } = JSON.parse(await readText(`demo/${id}.${kind}.json`));
    return { kind, id, title };
  }));
}

/** Shows them; `open(kind, id)` and `openText(text)` open one, `score(id)` is what was reached last. */
export async function showCourseList({ open, openText, score: scoreOf, failed }) {
  const found = await parts().catch(() => []);
  await openDialog(text("course.list_title"), (close) => {
    const row = ({ kind, id, title }) => {
      const score = kind === "exercise" ? scoreOf(id) : null;
      return el("button", { type: "button", class: "course-row", data: { kind, id }, on: { click: () => { close(); open(kind, id); } } },
        icon(kind === "lesson" ? "eye" : "pen"),
        el("span", { class: "course-row-name" }, el("small", { text: text(`course.${kind}`) }), el("span", { text: title })),
        score === null ? null : el("span", { class: "course-score", text: text("exercise.last_score", { score: Math.round(score) }) }));
    };
    return [
      el("p", { class: "hint", text: text("course.list_hint") }),
      el("div", { class: "course-rows" }, ...found.map(row)),
      fileButton(text("course.open_own"), {
        id: "course-file", iconName: "open", options: { accept: ".json,application/json" },
        async on(file) {
          close();
          try {
            openText(await readPlanFile(file));
          } catch (error) {
            failed(error);
          }
        },
      }),
    ];
  });
}
