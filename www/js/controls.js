// The controls that panels are made of: native elements first, so that touch, keyboard and screen readers work as
// people know them.

import { el, icon, newId, setAttribute, setText } from "./dom.js";
import { text } from "./messages.js";
import { clamp, fixed, inputText, onStep, parseNumber } from "./numbers.js";

/** A button with a text and, if wanted, an icon. */
export function button(label, { id, kind = "button", iconName, on, data, title } = {}) {
  return el("button", { type: "button", class: kind, id, title, data, on: { click: on } }, iconName ? icon(iconName) : null, el("span", { text: label }));
}

/** A button that opens a picture file; `on` gets the file. */
export function fileButton(label, { id, kind = "button", iconName, options = {}, on }) {
  const input = el("input", {
    type: "file", class: "file-input", id, accept: "image/*", "aria-label": label, ...options,
    on: { change: () => { const [file] = input.files; if (file) on(file); input.value = ""; } },
  });
  return el("span", { class: "file-button" }, input, el("label", { class: kind, for: id }, icon(iconName), el("span", { text: label })));
}

/** A labelled switch. `{node, input}`. */
export function toggle(label, { id, hint, on, data } = {}) {
  const input = el("input", { type: "checkbox", role: "switch", id: id ?? newId("switch"), data, on: { change: () => on?.(input.checked) } });
  const hintId = hint ? newId("hint") : undefined;
  if (hintId) input.setAttribute("aria-describedby", hintId);
  const node = el("div", { class: "switch" },
    el("label", { for: input.id }, el("span", { text: label }), input, el("span", { class: "track", "aria-hidden": "true" })),
    hint ? el("p", { class: "hint", id: hintId, text: hint }) : null);
  return { node, input };
}

/** Buttons of which one is pressed. `choices`: [{id, value, label}]. `{node, set(value)}`. */
export function choice(label, choices, on) {
  const buttons = choices.map(({ id, value, label: words, data }) =>
    el("button", { type: "button", id, class: "segment", data, "aria-pressed": "false", on: { click: () => on(value) } }, el("span", { text: words })));
  const node = el("div", { class: "segments", role: "group", "aria-label": label }, ...buttons);
  return {
    node,
    buttons,
    set(value) {
      buttons.forEach((segment, i) => setAttribute(segment, "aria-pressed", choices[i].value === value));
    },
  };
}

/** A typed number with its unit. `on(value)` gets the number; an empty field gives `null` where `optional`.
 *  `{node, input, set(value)}`. */
export function numberField(label, { id, unit, step, min, max, optional = false, on, data, refuse, hideLabel = false, placeholder }) {
  const input = el("input", {
    type: "text", inputmode: min < 0 ? "text" : "decimal", autocomplete: "off", spellcheck: "false", enterkeyhint: "done", id: id ?? newId("number"), data, placeholder,
    ...(hideLabel ? { "aria-label": label } : {}),
  });
  let value = null;
  let shownWords = "";
  let shownValue;
  const isShowing = (other) => other === shownValue && input.value === shownWords;
  const show = () => {
    const words = value === null ? "" : inputText(value, step);
    if (input.value !== words) input.value = words;
    shownWords = words;
    shownValue = value;
    setAttribute(input, "aria-invalid", "false");
  };
  input.addEventListener("change", () => {
    if (optional && input.value.trim() === "") return on(null);
    const typed = parseNumber(input.value);
    const isFine = typed !== null && typed >= min && typed <= max;
    setAttribute(input, "aria-invalid", !isFine);
    if (isFine) return on(typed);
    refuse(typed === null ? text("number.not_a_number", { name: label, example: inputText(clamp(value ?? min, min, max), step) }) : text("number.out_of_range", { name: label, min: inputText(min, step), max: inputText(max, step), unit: text(`unit.${unit}`) }));
    return undefined;
  });
  input.addEventListener("keydown", (event) => {
    if (event.key === "Escape") show();
  });
  const field = el("span", { class: "number" }, input, unit && unit !== "one" ? el("span", { class: "unit", "aria-hidden": "true", text: text(`unit.${unit}`) }) : null);
  const node = hideLabel ? field : el("div", { class: "field" }, el("label", { for: input.id, text: label }), field);
  return {
    node,
    input,
    /** True while it shows this value and nothing else that was typed. */
    isShowing,
    set(next) {
      value = next ?? null;
      // All fields of a panel are set at every frame of a drag.
      if (isShowing(value)) return;
      if (document.activeElement !== input || input.getAttribute("aria-invalid") !== "true") show();
    },
  };
}

/** A bare slider that says its value in words: `say(value)` gives them. Of its value 0 is the beginning unless `value` says otherwise. */
export function spokenRange({ id, label, min, max, step, value = 0, say, data, input, change }) {
  const node = el("input", { type: "range", id, min, max, step, value, "aria-label": label, data });
  const told = () => setAttribute(node, "aria-valuetext", say(Number(node.value)));
  node.addEventListener("input", () => {
    told();
    input(Number(node.value));
  });
  if (change) node.addEventListener("change", change);
  told();
  return {
    node,
    get value() {
      return Number(node.value);
    },
    set(next) {
      node.value = String(next);
      told();
    },
  };
}

/** A share as a percentage in words. */
export const shareWords = (share) => text("number.pct", { value: fixed(100 * share, 0) });

/** Time before a held − or + button repeats, and between repeats, ms. */
const HOLD_MS = 420;
const REPEAT_MS = 70;

/** A slider with − and + and a typed number: three ways to the same value.
 *  `move(value)` follows a gesture, `keep()` ends it as one step of undo, `drop()` gives it up, `jump(value)` is one
 *  step at once. */
export function slider({ id, label, unit, min, max, step, move, keep, drop, jump, refuse, dataName = "param" }) {
  const range = el("input", { type: "range", min, max, step, "aria-label": label, data: { [dataName]: id } });
  let value = null;
  let shownNote = "";
  let shownRange = "";
  let isMoving = false;
  let wasOn = null;

  const spoken = (number) => (unit === "one" ? inputText(number, step) : text(`number.${unit}`, { value: inputText(number, step) }));
  const typed = numberField(label, {
    unit, step, min, max, hideLabel: true, data: dataName === "param" ? { number: id } : {}, refuse,
    on: (number) => jump(number),
  });

  range.addEventListener("input", () => {
    isMoving = true;
    move(Number(range.value));
  });
  range.addEventListener("change", () => {
    isMoving = false;
    keep();
  });
  const giveUp = () => {
    if (!isMoving) return;
    isMoving = false;
    drop();
  };
  range.addEventListener("pointercancel", giveUp);
  range.addEventListener("keydown", (event) => {
    if (event.key === "Escape") giveUp();
  });

  const stepButton = (direction) => {
    const name = direction < 0 ? "minus" : "plus";
    const node = el("button", {
      type: "button", class: "step", "aria-label": text(direction < 0 ? "slider.less" : "slider.more", { name: label }),
      data: { step: String(direction), [dataName]: id },
    }, icon(name));
    let timer = 0;
    let isHeld = false;
    let wanted = 0;
    const stop = (act) => {
      clearTimeout(timer);
      timer = 0;
      if (!isHeld) return;
      act();
      // The click that follows the held press is not another step.
      setTimeout(() => { isHeld = false; });
    };
    const repeat = () => {
      isHeld = true;
      wanted = clamp(onStep(wanted + direction * step, step), min, max);
      move(wanted);
      timer = setTimeout(repeat, REPEAT_MS);
    };
    node.addEventListener("pointerdown", (event) => {
      if (event.button !== 0 || node.disabled) return;
      wanted = value;
      timer = setTimeout(repeat, HOLD_MS);
    });
    node.addEventListener("pointerup", () => stop(keep));
    node.addEventListener("pointerleave", () => stop(keep));
    node.addEventListener("pointercancel", () => stop(drop));
    node.addEventListener("contextmenu", (event) => event.preventDefault());
    node.addEventListener("click", () => {
      if (isHeld) return;
      const next = clamp(onStep(value + direction * step, step), min, max);
      if (next !== value) jump(next);
    });
    return node;
  };

  const less = stepButton(-1);
  const more = stepButton(1);
  const aside = el("span", { class: "slider-aside" });
  const node = el("div", { class: "slider" },
    el("span", { class: "slider-name", text: label }), aside, typed.node,
    el("div", { class: "slider-row" }, less, range, more));

  return {
    node,
    range,
    /** Shows a value; `note` stands beside the name. */
    set(next, note = "") {
      // All sliders are set at every frame of a drag; only one of them has news.
      if (next === value && note === shownNote && range.value === shownRange && typed.isShowing(next)) return;
      value = next;
      shownNote = note;
      typed.set(next);
      if (!isMoving) {
        range.value = String(next);
        // The slider itself rounds to its step.
        shownRange = range.value;
      }
      setAttribute(range, "aria-valuetext", spoken(next));
      setText(aside, note);
    },
    /** Switches all three on or off. */
    enable(isOn) {
      if (isOn === wasOn) return;
      wasOn = isOn;
      for (const control of [range, less, more, typed.input]) control.disabled = !isOn;
      node.classList.toggle("off", !isOn);
    },
  };
}

/** A part of a panel with a heading. */
export function section(title, ...children) {
  const id = newId("section");
  return el("section", { class: "part", "aria-labelledby": id }, el("h2", { id, text: title }), ...children);
}

/** A part of a panel that is closed until asked for. */
export function folded(title, ...children) {
  return el("details", { class: "fold" }, el("summary", {}, el("span", { text: title }), icon("down")), el("div", { class: "fold-body" }, ...children));
}

/** The button at the end of a panel that leads to the next step. */
export function nextButton(label, on) {
  return el("div", { class: "next" }, el("button", { type: "button", class: "button primary wide", on: { click: on } }, el("span", { text: label }), icon("right")));
}
