// The language of the page, chosen in it: her work is stored, then the page is opened anew in the other words.

import { el, newId } from "./dom.js";
import { LANGUAGES, language, text } from "./messages.js";
import { rememberSetting } from "./settings.js";

/** `save()` resolves to whether the work is stored; where it is not, the page stays as it is and says so. */
export function languageChoice({ save, messages, close }) {
  const id = newId("language");
  const select = el("select", { id, data: { setting: "language" }, on: { change: choose } },
    // Each by its own name, so that it is found by whoever reads no other.
    ...Object.entries(LANGUAGES).map(([tag, name]) => el("option", { value: tag, lang: tag, text: name })));
  select.value = language();

  async function choose() {
    rememberSetting("language", select.value);
    if (!(await save())) {
      close();
      messages.problem(text("more.language_waits", {}));
      return;
    }
    // What the address asks for counts more than what was chosen before, but not more than what is chosen now.
    const asked = new URLSearchParams(location.hash.slice(1));
    if (asked.has("language")) {
      asked.delete("language");
      history.replaceState(null, "", location.pathname + location.search + (asked.size ? `#${asked}` : ""));
    }
    location.reload();
  }

  return el("div", { class: "field" }, el("label", { for: id, text: text("more.language", {}) }), select);
}
