// Every text that a person reads comes from one flat catalogue for each language, `messages/LANGUAGE.json`: key to text with {names}.

import { readText } from "./assets.js";

let catalogue = {};

/** The languages there are. */
export const LANGUAGES = ["en"];

/** Reads the catalogue of a language. Throws where it cannot be had: without it the page has no words. */
export async function loadMessages(language = LANGUAGES[0]) {
  catalogue = JSON.parse(await readText(`messages/${language}.json`));
  document.documentElement.lang = language;
  split.clear();
}

/** True where the catalogue has this key. */
export function hasText(key) {
  return Object.hasOwn(catalogue, key);
}

/** The text of a key, with {names} filled in. A missing text shows its key, so that it is noticed. */
export function text(key, values = {}) {
  if (!hasText(key)) return key;
  const parts = split.get(key) ?? cut(key);
  let words = parts[0];
  for (let i = 1; i < parts.length; i += 2) words += (Object.hasOwn(values, parts[i]) ? values[parts[i]] : `{${parts[i]}}`) + parts[i + 1];
  return words;
}

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
