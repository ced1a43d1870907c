// What she agrees to, and whether it still is what she agreed to.

import { button, folded, section } from "../controls.js";
import { el, icon, replace, setText } from "../dom.js";
import { text } from "../messages.js";
import { momentWords, nowWithOffset } from "../moment.js";
import { SIDES } from "../sides.js";
import { createSignaturePad, signatureDrawing } from "../signature_pad.js";

const INITIAL_CHARS = 12;

export function createAgreementSection(app) {
  const { store, wording } = app;
  const seal = el("p", { class: "seal", id: "agree-seal", role: "status" });
  const back = button(text("agree.back"), {
    id: "agree-back", iconName: "undo",
    on: () => {
      const last = store.plan.agreements?.at(-1);
      if (last) app.commit({ do: "set_outlines", outlines: last.planned });
    },
  });
  const record = el("div", { id: "agree-record" });

  // A new agreement

  const price = el("ul", { class: "plain", id: "agree-price" });
  const open = el("p", { class: "hint strong", id: "agree-open" });
  const initials = el("input", { type: "text", id: "agree-initials", maxlength: INITIAL_CHARS, autocomplete: "off", autocapitalize: "characters", on: { input: () => renderReady() } });
  const pad = createSignaturePad(() => renderReady());
  const sign = button(text("agree.sign"), {
    id: "agree-sign", kind: "button primary wide", iconName: "ok",
    on: () => {
      if (app.commit({ do: "agree", at: nowWithOffset(), initials: initials.value.trim(), strokes: pad.strokes() }).refused) return;
      initials.value = "";
      pad.clear();
    },
  });
  const anew = el("div", { class: "part-of", id: "agree-new" },
    el("h3", { text: text("agree.what") }), price, open,
    el("p", { class: "hint", text: text("agree.words") }),
    el("div", { class: "field" }, el("label", { for: initials.id, text: text("agree.initials") }), initials),
    pad.node, sign);
  const node = section(text("agree.title"), el("p", { class: "hint", text: text("agree.how") }), seal, back, record, anew);

  const renderReady = () => {
    sign.disabled = initials.value.trim() === "" || pad.strokes().length === 0;
  };

  /** The price in words; `sides` holds numbers as they are shown. */
  const priceLines = ({ natural_mm: natural, planned_mm: planned, sides }) => [
    natural !== null && planned !== null ? text("agree.uneven", { natural: wording.shown("mm", natural), planned: wording.shown("mm", planned) }) : null,
    ...SIDES.map((side) => {
      const one = sides[side];
      return one && text(one.widest_strip_mm > 0 ? "agree.side_strip" : "agree.side", {
        side: text(`side.${side}`), removed: wording.shown("pct", one.removed_pct), removed_mm2: wording.shown("mm2", one.removed_mm2),
        added: wording.shown("pct", one.added_pct), added_mm2: wording.shown("mm2", one.added_mm2), strip: wording.shown("mm", one.widest_strip_mm) });
    }),
  ].filter(Boolean);

  /** What is shown now, in the form that a record keeps it in. */
  function shownNow(report) {
    const side = (which) => {
      const areas = report.areas[which];
      return areas && {
        removed_pct: areas.removed_pct, removed_mm2: areas.removed_counted_mm2, added_pct: areas.added_pct, added_mm2: areas.added_mm2,
        widest_strip_mm: Math.max(0, ...report.strips.filter((strip) => strip.side === which).map((strip) => strip.widest_mm)) };
    };
    return {
      natural_mm: report.natural_symmetry?.mean_distance_mm ?? null, planned_mm: report.planned_symmetry?.mean_distance_mm ?? null,
      sides: { right: side("right"), left: side("left") } };
  }

  function details(agreement) {
    const [no, yes, left] = agreement.asked;
    return el("div", { class: "card record" },
      el("p", { class: "strong", text: text(agreement.variant ? "agree.by_variant" : "agree.by", { initials: agreement.initials, at: momentWords(agreement.at), variant: agreement.variant }) }),
      signatureDrawing(agreement.signature, text("agree.signature_of", { initials: agreement.initials })),
      el("ul", { class: "plain" }, ...priceLines(agreement.shown).map((line) => el("li", { text: line })),
        el("li", { text: text("agree.asked", { no, yes, left }) }),
        agreement.upkeep ? el("li", { text: text("agree.upkeep", { upkeep: agreement.upkeep }) }) : null),
      el("p", { class: "hint sum", text: text("agree.sum", { sum: agreement.seal_sha256.slice(0, 16) }) }));
  }

  let shown = "";
  return {
    node,
    render() {
      const { plan } = store;
      const report = app.report();
      const state = report?.agreement ?? null;
      const all = plan.agreements ?? [];
      seal.hidden = !state;
      back.hidden = state?.seal !== "pair_changed";
      if (state) {
        seal.dataset.seal = state.seal;
        replace(seal, icon(state.seal === "whole" ? "ok" : "warn"),
          el("span", { text: [text(`seal.${state.seal}`), state.clock_back ? text("seal.clock_back") : ""].filter(Boolean).join(" ") }));
      }
      const wanted = JSON.stringify(all.map((agreement) => agreement.seal_sha256));
      if (wanted !== shown) {
        shown = wanted;
        const earlier = all.slice(0, -1).reverse();
        replace(record, ...all.slice(-1).map(details), earlier.length ? folded(text("agree.earlier", { count: earlier.length }), ...earlier.map(details)) : null);
      }
      anew.hidden = state?.seal === "whole" || (!plan.planned.right && !plan.planned.left);
      if (anew.hidden || !report) return;
      replace(price, ...priceLines(shownNow(report)).map((line) => el("li", { text: line })));
      const unasked = app.describe.cautions.length - Object.keys(plan.cautions?.answers ?? {}).length;
      setText(open, unasked ? text("agree.unasked", { count: unasked }) : "");
      renderReady();
      pad.paint();
    },
  };
}
