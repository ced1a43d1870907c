// The tablet turned round: her photo as in a mirror, a soft preview, a few large sliders, and nothing else in reach.

import { button, choice, shareWords, spokenRange, toggle } from "./controls.js";
import { el, replace, setText } from "./dom.js";
import { held } from "./held.js";
import { text } from "./messages.js";

/** How long the way back has to be held, ms: longer than any tap, short enough to be found. */
const HOLD_MS = 1200;
/** A slider's step. */
const STEP = 0.02;
const byId = (id) => document.getElementById(id);

/** Opens the view on the pair as it is planned now; `pigment` is a CSS colour. */
export function openClientView(app, pigment) {
  const { store, stage, describe, wording } = app;
  const root = byId("client");
  const behind = [document.querySelector(".bar"), byId("panel"), byId("live")];
  const base = store.plan.planned;
  const wasMirrored = app.view().mirror;
  const none = Object.fromEntries(describe.wishes.map(({ id }) => [id, 0]));
  let wishes = { ...none };
  /** What was wished when the last drag ended. */
  let before = { ...none };
  let preview = { healed: false, cleaned: true };
  const skin = stage.skinTone();

  const show = (isBefore = false) => app.setStageMode("client", { preview: isBefore ? null : preview, pigment, skin });

  // Sliders

  const allowed = (limit) => {
    const name = limit.slice("client.".length);
    return (store.plan.client?.[name] ?? describe.fields.find(({ id }) => id === limit).default) > 0;
  };
  const sliders = describe.wishes.filter(({ limit }) => allowed(limit)).map(({ id, min, max }) => {
    const ends = { less: text(`wish.${id}.less`), more: text(`wish.${id}.more`) };
    const range = spokenRange({
      id: `wish-${id}`, label: text(`wish.${id}`), min, max, step: STEP, data: { wish: id },
      say: (wish) => (wish === 0 ? shareWords(0) : text("client.wished", { end: wish < 0 ? ends.less : ends.more, share: shareWords(Math.abs(wish)) })),
      input(wish) {
        wishes = { ...wishes, [id]: wish };
        app.preview({ do: "wish", base, before, wishes });
      },
      change() {
        // The slider comes to rest where the outlines are.
        const held = app.engine.wishesHeld(store.keptText, { do: "wish", base, before, wishes });
        const isShort = Math.abs(held[id] - wishes[id]) > STEP;
        app.keep();
        wishes = held;
        before = held;
        range.set(held[id]);
        setText(asFar, isShort ? text("client.as_far") : "");
      },
    });
    const node = el("div", { class: "wish" },
      el("span", { class: "wish-name", text: text(`wish.${id}`) }), range.node,
      el("span", { class: "wish-end", text: ends.less }), el("span", { class: "wish-end", text: ends.more }));
    return { range, node };
  });
  const reset = button(text("client.reset"), {
    id: "client-reset", iconName: "undo",
    on: () => {
      wishes = { ...none };
      before = { ...none };
      for (const { range } of sliders) range.set(0);
      setText(asFar, "");
      app.commit({ do: "set_outlines", outlines: base });
    },
  });

  // How it is shown

  const finish = choice(text("client.finish"), ["fresh", "healed"].map((value) => ({ value, label: text(`client.${value}`), id: `client-${value}` })), (value) => {
    preview = { ...preview, healed: value === "healed" };
    finish.set(value);
    note.hidden = value !== "healed";
    show();
  });
  finish.set("fresh");
  const note = el("p", { class: "hint", text: text("client.illustration"), hidden: true });
  const cleaned = toggle(text("client.cleaned"), { id: "client-cleaned", on: (isOn) => { preview = { ...preview, cleaned: isOn }; show(); } });
  cleaned.input.checked = preview.cleaned;
  const without = held(button(text("client.before"), { id: "client-before", iconName: "eye" }), { begin: () => show(true), end: () => show() });

  // What it costs, quietly

  const asFar = el("p", { class: "hint strong", id: "client-as-far", role: "status" });
  const price = el("p", { class: "hint", id: "client-price", role: "status" });
  const showPrice = (report) => {
    const { right, left } = report.areas;
    const pct = (areas) => (areas ? wording.shown("pct", areas.removed_pct) : "–");
    const uneven = report.planned_symmetry ? text("client.uneven", { mm: wording.shown("mm", report.planned_symmetry.mean_distance_mm) }) : "";
    setText(price, [uneven, text("client.price", { right: pct(right), left: pct(left) })].filter(Boolean).join(" · "));
  };
  const stopReports = stage.on("report", showPrice);
  showPrice(app.report());

  // The way back

  let timer = 0;
  const back = held(button(text("client.back"), { id: "client-back", iconName: "lock" }), {
    begin(node) {
      node.dataset.held = "true";
      timer = setTimeout(close, HOLD_MS);
    },
    end(node) {
      delete node.dataset.held;
      clearTimeout(timer);
    },
  });
  back.style.setProperty("--hold", `${HOLD_MS}ms`);

  function close() {
    clearTimeout(timer);
    stopReports();
    store.keep();
    delete document.documentElement.dataset.view;
    for (const node of behind) node.inert = false;
    root.hidden = true;
    root.replaceChildren();
    app.setStageMode("look");
    app.setView({ mirror: wasMirrored });
    stage.fit();
    byId("client-start").focus();
  }

  replace(root,
    el("h1", { class: "visually-hidden", text: text("client.label") }),
    el("div", { class: "wishes" }, ...sliders.map(({ node }) => node)),
    el("div", { class: "client-show" }, finish.node, cleaned.node, note, asFar),
    el("div", { class: "client-foot" }, without, reset, price, back));
  root.hidden = false;
  document.documentElement.dataset.view = "client";
  for (const node of behind) node.inert = true;
  stage.select(null);
  show();
  app.setView({ mirror: true });
  stage.fit();
  (sliders[0]?.range.node ?? back).focus();
}
