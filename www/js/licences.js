// Whose work is in the page, with the licences that it goes under (`crates/xtask/src/licences.rs`).

import { readText } from "./assets.js";
import { openDialog } from "./dialogs.js";
import { el } from "./dom.js";
import { text } from "./messages.js";

/** Shows every part of the page that others wrote. */
export async function showLicences() {
  const { parts, texts } = JSON.parse(await readText("pkg/licences.json"));
  const part = ({ name, version, licence, texts: places }) =>
    el("details", { class: "licence", data: { part: name } },
      el("summary", {}, el("span", { text: [name, version].filter(Boolean).join(" ") }), el("span", { class: "hint", text: licence })),
      // In the words of whoever wrote it, in whatever language the page is.
      ...places.map((place) => el("pre", { lang: "en", dir: "ltr", tabindex: 0, role: "group", "aria-label": name, text: texts[place] })));
  await openDialog(text("licences.title"), () => [
    el("p", { text: text("licences.how", { count: parts.length }) }),
    el("div", { class: "licences" }, ...parts.map(part)),
  ]);
}
