// Numbers as people type and read them.

/** How the language writes numbers; English until `writeNumbersIn` says otherwise. */
let language = "en";
/** The ways of writing by decimals: a drag writes dozens of numbers a frame. */
const ways = new Map();

/** Digits of the calipers and rulers that lie beside the tablet, in every language; no signs between thousands. */
const DIGITS = "latn";

/** Writes numbers as this language does from now on. */
export function writeNumbersIn(tag) {
  language = tag;
  ways.clear();
}

/** A number as the core writes it (`-12.30`) in the signs of the page's language, digit for digit. What is no number stays. */
export function written(plain) {
  if (!/^-?\d+(\.\d+)?$/.test(plain)) return plain;
  const decimals = decimalsOf(plain);
  let way = ways.get(decimals);
  if (!way) {
    way = new Intl.NumberFormat(language, { minimumFractionDigits: decimals, maximumFractionDigits: decimals, useGrouping: false, numberingSystem: DIGITS });
    ways.set(decimals, way);
  }
  return way.format(Number(plain));
}

/** A number with so many decimals in the signs of the page's language. */
export const fixed = (value, decimals) => written(value.toFixed(decimals));

/** Digits that Arabic, Persian and Urdu keyboards write. The value is in the last four bits of each. */
const OTHER_DIGITS = /[٠-٩۰-۹]/g;

/** The number a person typed, with comma or point and the digits of her keyboard; `null` where it is none. An empty text is none. */
export function parseNumber(typed) {
  // Marks of direction come along where a number is pasted from a text that runs from right to left.
  const text = typed.replace(/[\s\u200e\u200f\u061c]/g, "").replace("−", "-").replace(/[,٫]/, ".").replace(OTHER_DIGITS, (digit) => String(digit.charCodeAt(0) & 0xf));
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
  return written(Number(text) === 0 ? text.replace("-", "") : text);
}

/** Keeps a value inside its range. */
export function clamp(value, min, max) {
  return Math.min(max, Math.max(min, value));
}
