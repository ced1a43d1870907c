// Every text that a person reads comes from one flat catalogue for each language, `messages/LANGUAGE.json`: key to text with {names}.

import { readText } from "./assets.js";
import { writeNumbersIn } from "./numbers.js";
import { setting } from "./settings.js";

let catalogue = {};

/** The text that tells whether the language is read from the left or from the right, in HTML's words: `ltr`, `rtl`. */
const DIRECTION = "text.direction";
/** The texts by which the core writes numbers into drawings and sheets. */
const OF_NUMBERS = ["number.decimal_sign", DIRECTION];

/** The languages there are, each by its own name. */
export const LANGUAGES = { en: "English", de: "Deutsch", es: "Español", pl: "Polski", ar: "العربية" };
/** The language that the others are translated from. */
const SOURCE = "en";

/** The language that was chosen on this device, or the first of the browser's that there is. */
function ownLanguage() {
  const wanted = [setting("language", ""), ...(navigator.languages ?? [])].map((tag) => String(tag).slice(0, 2).toLowerCase());
  return wanted.find((tag) => Object.hasOwn(LANGUAGES, tag)) ?? SOURCE;
}

/** The language that the page is in. */
export const language = () => document.documentElement.lang;

/** Whether the page is read from right to left. The picture and what is measured on it never are. */
export const isRightToLeft = () => document.documentElement.dir === "rtl";

/** How days and times are written: the page's language as it is spoken where this browser says it is. */
export const locale = () => (navigator.languages ?? []).find((tag) => tag.slice(0, 2).toLowerCase() === language()) ?? language();

/** Reads the catalogue of a language, or of this device's own. Where it cannot be had the page is in English; where that cannot be had
 *  either, throws: without it the page has no words. */
export async function loadMessages(wanted = ownLanguage()) {
  const read = async (tag) => {
    catalogue = JSON.parse(await readText(`messages/${tag}.json`));
    split.clear();
    document.documentElement.lang = tag;
    document.documentElement.dir = text(DIRECTION);
    writeNumbersIn(tag);
  };
  try {
    await read(wanted);
  } catch (error) {
    if (wanted === SOURCE) throw error;
    console.warn(String(error));
    await read(SOURCE);
  }
}

/** True where the catalogue has this key. */
export function hasText(key) {
  return Object.hasOwn(catalogue, key);
}

/** The text of a key, with {names} filled in. A missing text shows its key, so that it is noticed. */
export function text(key, values = {}) {
  if (!hasText(key)) return key;
  const parts = split.get(key) ?? cut(key);
  const isolate = isRightToLeft() ? isolated : String;
  let words = parts[0];
  for (let i = 1; i < parts.length; i += 2) words += (Object.hasOwn(values, parts[i]) ? isolate(values[parts[i]]) : `{${parts[i]}}`) + parts[i + 1];
  return words;
}

/** Numbers and names keep their own direction within words that run from right to left (Unicode UAX 9, FSI and PDI): without it
 *  the minus of -1.2 stands behind the number. */
export const isolated = (words) => `\u2068${words}\u2069`;

/** Texts by key, cut at their names: the live numbers are filled in at every frame. Words and names take turns. */
const split = new Map();

function cut(key) {
  const parts = catalogue[key].split(/\{(\w+)\}/);
  split.set(key, parts);
  return parts;
}

/** The first of these keys that the catalogue has, filled in. */
export function firstText(keys, values = {}) {
  return text(keys.find(hasText) ?? keys[keys.length - 1], values);
}

/** The texts whose keys start with this, by key. */
export function textsStartingWith(prefix) {
  return Object.fromEntries(Object.entries(catalogue).filter(([key]) => key.startsWith(prefix)));
}

/** The texts by which the core writes numbers, by key. */
export const textsOfNumbers = () => Object.fromEntries(OF_NUMBERS.map((key) => [key, text(key, {})]));

const ATTRIBUTES = [["label", "aria-label"], ["title", "title"], ["placeholder", "placeholder"]];

/** Fills in every element that names its text: `data-text`, `data-label`, `data-title`, `data-placeholder`. */
export function fillTexts(root) {
  for (const node of root.querySelectorAll("[data-text]")) node.textContent = text(node.dataset.text);
  for (const [name, attribute] of ATTRIBUTES) {
    for (const node of root.querySelectorAll(`[data-${name}]`)) node.setAttribute(attribute, text(node.dataset[name]));
  }
}

/** Why storage failed, in words. */
export const storageWhy = (error) => firstText([`storage.${error?.name}`, "storage.other"]);
