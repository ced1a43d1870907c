// Numbers as people type and read them.

/** The number a person typed, with comma or point; `null` where it is none. An empty text is none. */
export function parseNumber(typed) {
  const text = typed.trim().replace(/\s/g, "").replace("−", "-").replace(",", ".");
  if (!/^[+-]?(\d+\.?\d*|\.\d+)$/.test(text)) return null;
  const value = Number(text);
  return Number.isFinite(value) ? value : null;
}

/** Decimals of a step: 0.05 has two. */
export function decimalsOf(step) {
  const text = String(step);
  const point = text.indexOf(".");
  return point < 0 ? 0 : text.length - point - 1;
}

/** The value on the grid of a step, without the dust of binary fractions. */
export function onStep(value, step) {
  return Number((Math.round(value / step) * step).toFixed(decimalsOf(step)));
}

/** The value with the decimals of its step, for an input. */
export function inputText(value, step) {
  const text = value.toFixed(decimalsOf(step));
  return Number(text) === 0 ? text.replace("-", "") : text;
}

/** Keeps a value inside its range. */
export function clamp(value, min, max) {
  return Math.min(max, Math.max(min, value));
}
