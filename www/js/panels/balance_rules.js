// The artist's own rules for the balance: what stays, how far it may go, what is preferred.

import { choice, folded, numberField, section, toggle } from "../controls.js";
import { el, icon, setAttribute } from "../dom.js";
import { text } from "../messages.js";
import { SIDES, sidesAsSeen } from "../sides.js";

const GUIDES = ["front", "end", "arch"];
const PREFERENCES = ["even", "filling", "trimming"];
const LIMITS = ["removed_pct", "removed_mm2", "added_pct", "added_mm2"];

export function createRules(app) {
  const { describe } = app;
  const info = (id) => describe.fields.find((field) => field.id === id);
  const rules = () => app.store.plan.balance;
  const setBalance = (change) => app.commit({ do: "set_balance", balance: { ...rules(), ...change } });
  const setSide = (side, change) => setBalance({ sides: { ...rules().sides, [side]: { ...rules().sides[side], ...change } } });
  const sideName = (side) => text(`side.${side}`);
  const named = (side, name) => `${sideName(side)}, ${name}`;

  const locks = SIDES.map((side) => ({ side, control: toggle(text("rules.leave", { side: sideName(side) }), { id: `lock-${side}`, on: (isOn) => setSide(side, { locked: isOn }) }) }));

  const prefer = choice(text("rules.prefer"), PREFERENCES.map((value) => ({ value, label: text(`rules.prefer_${value}`), id: `prefer-${value}` })), (value) => setBalance({ prefer: value }));

  const limits = LIMITS.map((name) => ({
    name,
    control: numberField(text(`field.limits.${name}`), {
      ...info(`limits.${name}`), id: `balance-${name}`, optional: name.endsWith("_mm2"), refuse: app.problem, placeholder: name.endsWith("_mm2") ? text("rules.no_limit") : undefined,
      on: (value) => app.commit({ do: "set_limits", limits: { ...app.store.plan.limits, [name]: value } }),
    }),
  }));

  /** A row with one control for each side. */
  const row = (name, ...controls) => el("div", { class: "caliper-row" }, el("span", { class: "caliper-name", text: name }), ...controls);
  const head = () => el("div", { class: "caliper-row head", "aria-hidden": "true" }, el("span"), ...sidesAsSeen().map((side) => el("span", { text: text(`side_short.${side}`) })));

  const bounds = ["lift_mm", "lower_mm"].map((name) => ({
    name,
    fields: sidesAsSeen().map((side) => ({
      side,
      control: numberField(named(side, text(`field.balance.${name}`)), { ...info(`balance.${name}`), id: `${name}-${side}`, hideLabel: true, refuse: app.problem, on: (value) => setSide(side, { [name]: value }) }),
    })),
  }));

  const pullOf = (side, guide) => rules().sides[side].pulls.find((pull) => pull.guide === guide)?.weight ?? null;
  const setPull = (side, guide, weight) => {
    const others = rules().sides[side].pulls.filter((pull) => pull.guide !== guide);
    setSide(side, { pulls: weight ? [...others, { guide, weight }] : others });
  };
  const pulls = GUIDES.map((guide) => ({
    guide,
    fields: sidesAsSeen().map((side) => ({
      side,
      control: numberField(named(side, text(`rules.pull_${guide}`)), {
        ...info("balance.pulls.weight"), id: `pull-${guide}-${side}`, hideLabel: true, optional: true, placeholder: text("rules.no_pull"), refuse: app.problem,
        on: (value) => setPull(side, guide, value),
      }),
    })),
  }));

  const kept = describe.params.map((param) => ({
    param,
    buttons: sidesAsSeen().map((side) => ({
      side,
      node: el("button", {
        type: "button", class: "button keep", "aria-pressed": "false", "aria-label": text("rules.keep_one", { side: sideName(side), name: text(`param.${param.id}`) }), data: { keep: param.id, side },
        on: {
          click() {
            const { locked_params: list } = rules().sides[side];
            setSide(side, { locked_params: list.includes(param.id) ? list.filter((id) => id !== param.id) : [...list, param.id] });
          },
        },
      }, icon("lock")),
    })),
  }));

  const node = el("div", { class: "balance-rules" },
    section(text("rules.title"),
      ...locks.map(({ control }) => control.node),
      el("h3", { text: text("rules.prefer") }), prefer.node,
      ...limits.map(({ control }) => control.node),
      head(), ...bounds.map(({ name, fields }) => row(text(`field.balance.${name}`), ...fields.map(({ control }) => control.node))),
      el("p", { class: "hint", text: text("rules.bounds_hint") })),
    folded(text("rules.pulls"), el("p", { class: "hint", text: text("rules.pulls_hint") }), head(), ...pulls.map(({ guide, fields }) => row(text(`rules.pull_${guide}`), ...fields.map(({ control }) => control.node)))),
    folded(text("rules.keep"), el("p", { class: "hint", text: text("rules.keep_hint") }), head(), ...kept.map(({ param, buttons }) => row(text(`param.${param.id}`), ...buttons.map((each) => each.node)))));

  return {
    node,
    render(plan) {
      const { sides, prefer: preferred } = plan.balance;
      prefer.set(preferred);
      for (const { side, control } of locks) if (control.input.checked !== sides[side].locked) control.input.checked = sides[side].locked;
      for (const { name, control } of limits) control.set(plan.limits[name]);
      for (const { name, fields } of bounds) {
        for (const { side, control } of fields) control.set(sides[side][name]);
      }
      for (const { guide, fields } of pulls) {
        for (const { side, control } of fields) control.set(pullOf(side, guide));
      }
      for (const { param, buttons } of kept) {
        for (const { side, node: one } of buttons) setAttribute(one, "aria-pressed", sides[side].locked || sides[side].locked_params.includes(param.id));
      }
      for (const { buttons } of kept) for (const { side, node: one } of buttons) one.disabled = sides[side].locked;
    },
  };
}
