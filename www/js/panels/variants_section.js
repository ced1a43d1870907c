// Pairs kept by name: keep, take up again, copy, rename, forget, and compare with the one in work.

import { button, section, shareWords, spokenRange } from "../controls.js";
import { el, replace, setAttribute } from "../dom.js";
import { held } from "../held.js";
import { text } from "../messages.js";

/** Most characters of a name; the core refuses more. */
const NAME_CHARS = 40;

export function createVariantsSection(app) {
  const { store, engine } = app;
  const name = el("input", { type: "text", id: "variant-name", maxlength: NAME_CHARS, autocomplete: "off" });
  const keep = button(text("variants.keep"), {
    id: "variant-keep", iconName: "plus",
    on: () => {
      const wanted = name.value.trim() || nextName();
      if (app.commit({ do: "keep_variant", name: wanted }).refused) return;
      name.value = "";
    },
  });
  const list = el("ul", { class: "variants", id: "variants" });
  const none = el("p", { class: "hint", text: text("variants.none") });

  // Comparing

  const other = el("select", { id: "variant-other", on: { change: () => { stop(); render(); } } });
  const flick = held(button(text("variants.flick"), { id: "variant-flick", iconName: "eye" }), { begin: () => compare(0), end: () => stop() });
  const wipe = spokenRange({ id: "variant-wipe", label: text("variants.wipe"), min: 0, max: 1, step: 0.01, value: 1, say: shareWords, input: (from) => compare(from) });
  const off = button(text("variants.wipe_off"), { id: "variant-wipe-off", iconName: "close", on: () => stop() });
  const comparing = el("div", { class: "part-of" },
    el("div", { class: "field" }, el("label", { for: other.id, text: text("variants.compare") }), other),
    flick, el("p", { class: "hint", text: text("variants.wipe") }), wipe.node, off);
  const node = section(text("variants.title"), el("p", { class: "hint", text: text("variants.how") }),
    el("div", { class: "field" }, el("label", { for: name.id, text: text("variants.name") }), name), keep, none, list, comparing);

  const variants = () => store.plan.variants ?? [];
  const nextName = () => {
    for (let n = 1; ; n += 1) {
      const free = text("variants.next", { n });
      if (!variants().some((variant) => variant.name === free)) return free;
    }
  };
  const copyName = (of) => {
    let wanted = text("variants.copy_name", { name: of }).slice(0, NAME_CHARS);
    while (variants().some((variant) => variant.name === wanted)) wanted = nextName();
    return wanted;
  };

  /** Shows the other pair from this share of the stage's width on. */
  function compare(from) {
    try {
      app.setStageMode("look", { other: engine.apply(store.keptText, { do: "take_variant", name: other.value }), wipe: from });
      off.hidden = false;
    } catch (error) {
      if (error?.code === undefined) throw error;
      render();
    }
  }

  function stop() {
    if (off.hidden) return;
    off.hidden = true;
    wipe.set(1);
    app.setStageMode("look");
  }
  off.hidden = true;

  function row(variant, isInWork) {
    const label = (act) => text("variants.act", { act: text(`variants.${act}`), name: variant.name });
    const act = (id, iconName, edit) => {
      const made = button(text(`variants.${id}`), { iconName, data: { act: id }, on: () => app.commit(edit()) });
      setAttribute(made, "aria-label", label(id));
      return made;
    };
    const field = el("input", {
      type: "text", value: variant.name, maxlength: NAME_CHARS, autocomplete: "off", "aria-label": label("rename"),
      on: { change: () => field.value.trim() !== variant.name && app.commit({ do: "rename_variant", name: variant.name, to: field.value.trim() }) },
    });
    const take = isInWork ? el("span", { class: "hint strong", text: text("variants.taken") }) : act("take", "ok", () => ({ do: "take_variant", name: variant.name }));
    return el("li", { class: "card", data: { variant: variant.name } }, field,
      el("div", { class: "pair" }, take,
        act("copy", "plus", () => ({ do: "duplicate_variant", name: variant.name, to: copyName(variant.name) })),
        act("forget", "close", () => ({ do: "remove_variant", name: variant.name }))));
  }

  let shown = "";
  function render() {
    const { plan } = store;
    const all = variants();
    const inWork = JSON.stringify(plan.planned);
    keep.disabled = !plan.planned.right && !plan.planned.left;
    setAttribute(name, "placeholder", nextName());
    none.hidden = all.length > 0;
    comparing.hidden = all.length === 0;
    // A name that is being typed is not taken away by something else that changes.
    const wanted = JSON.stringify(all.map((variant) => [variant.name, JSON.stringify(variant.planned) === inWork]));
    if (wanted === shown) return;
    shown = wanted;
    replace(list, ...all.map((variant) => row(variant, JSON.stringify(variant.planned) === inWork)));
    const chosen = other.value;
    replace(other, ...all.map((variant) => el("option", { value: variant.name, text: variant.name })));
    if (all.some((variant) => variant.name === chosen)) other.value = chosen;
    else stop();
  }

  return { node, render, stop };
}
