// A point of the balance in words: what moves on each side, what it costs, and where regrowth could show.

import { choice } from "../controls.js";
import { el, icon, replaceChanged } from "../dom.js";
import { text } from "../messages.js";
import { SIDES } from "../sides.js";

/** Moves named for each side; the rest is counted. */
const NAMED = 4;

/** What a change of a value means on the face, by the value's id: `_y` a height, `_x` a distance, `_t` a thickness. */
const WORDS = { y: ["up", "down"], x: ["out", "in"], t: ["thicker", "thinner"] };
const wayOf = (param, change) => {
  const [more, less] = WORDS[param.split("_").at(-1)] ?? ["more", "less"];
  return change > 0 ? more : less;
};

/** `changed(since)` is told "natural" or "before". */
export function createWords(wording, changed) {
  const title = el("h2", { id: "balance-moves-title" });
  const since = choice(text("balance.since"), [
    { value: "natural", label: text("balance.since_natural"), id: "since-natural" },
    { value: "before", label: text("balance.since_before"), id: "since-before" },
  ], changed);
  const moves = el("div", { class: "moves" });
  const price = el("ul", { class: "plain price" });
  const warnings = el("ul", { class: "checks", id: "balance-warnings" });
  const node = el("div", { class: "balance-words" },
    el("section", { class: "part", "aria-labelledby": title.id }, title, since.node, moves),
    el("section", { class: "part", "aria-labelledby": "balance-price-title" }, el("h2", { id: "balance-price-title", text: text("balance.price") }), price, warnings));

  const move = ({ param, unit, change }) =>
    el("li", { data: { move: param }, text: text("balance.move", { name: text(`param.${param}`), how: text(`move.${wayOf(param, change)}`), value: wording.withUnit(unit, Math.abs(change)) }) });

  /** One side's moves, the largest first. */
  const side = (id, list) => {
    // What calipers can follow comes first; within that the largest move.
    const all = list.filter((each) => each.side === id);
    const mine = [...all.filter(({ unit }) => unit === "mm"), ...all.filter(({ unit }) => unit !== "mm")];
    const rest = mine.length - NAMED;
    return el("div", { data: { side: id } },
      el("h3", { class: `side-${id}` }, el("span", { class: "side-mark", "aria-hidden": "true" }), text(`side.${id}`)),
      mine.length
        ? el("ul", { class: "plain" }, ...mine.slice(0, NAMED).map(move), rest > 0 ? el("li", { class: "hint", text: text(rest === 1 ? "balance.one_more" : "balance.more", { count: rest }) }) : null)
        : el("p", { class: "hint", text: text("balance.stays") }));
  };

  const strip = (found) => ({ side: text(`side.${found.side}`), place: text(`strip.${found.place}`), area: wording.shown("mm2", found.area_mm2), mean: wording.shown("mm", found.mean_width_mm), widest: wording.shown("mm", found.widest_mm) });
  const warning = (data, words) =>
    el("li", { data: { ...data, level: "warn" } }, icon("warn"), el("span", {}, el("span", { class: "visually-hidden", text: `${text("level_word.warn")}: ` }), words));

  let shown = "";
  let priced = "";
  return {
    node,
    /** What moves. `model`: `{title, since, explained}`; without `explained` there is nothing to say. */
    setMoves({ title: key, since: chosen, explained }) {
      node.hidden = !explained;
      if (!explained) return;
      // Nothing is written anew that says the same.
      const next = JSON.stringify([key, chosen, explained.moves]);
      if (next === shown) return;
      shown = next;
      title.textContent = text(key);
      since.node.hidden = chosen === null;
      since.set(chosen);
      replaceChanged(moves, ...SIDES.map((each) => side(each, explained.moves)));
    },
    /** What it costs, and where regrowth could show. */
    setPrice({ explained, limits }) {
      if (!explained) return;
      const next = JSON.stringify([explained.areas, explained.strips, limits.strip_mm]);
      if (next === priced) return;
      priced = next;
      replaceChanged(price,
        ...SIDES.map((each) => [each, explained.areas[each]]).filter(([, areas]) => areas).map(([each, areas]) =>
          el("li", { data: { side: each }, text: text("balance.price_one", {
            side: text(`side.${each}`), removed: wording.withUnit("mm2", areas.removed_mm2), removed_pct: wording.shown("pct", areas.removed_pct),
            added: wording.withUnit("mm2", areas.added_mm2), added_pct: wording.shown("pct", areas.added_pct) }) })),
        ...explained.strips.map((found) => el("li", { class: "hint", data: { strip: found.place, side: found.side }, text: text("strips.one", strip(found)) })));
      replaceChanged(warnings, ...explained.strips.filter((found) => found.widest_mm > limits.strip_mm).map((found) =>
        warning({ strip: found.place, side: found.side }, text("balance.second_line", { ...strip(found), limit: wording.shown("mm", limits.strip_mm) }))));
      warnings.hidden = warnings.childElementCount === 0;
    },
  };
}
