// What the fragment of the page's address may say. It is never sent anywhere.
//
// `#plan=…`: a plan that was passed on as a link (`share_link.js`), or names with values, as in a form:
//
//   case       what to begin with: a case, lesson, exercise or set of the demo folder, by its id
//   mode       how: `explore` (a case), `demonstration` (a lesson), `exercise` (an exercise), `course` (a set)
//   controls   ids of the steps that are open, with commas between them; `none` for none
//   language   of the page
//   host       origins of pages that may talk to this one where it is embedded, with commas between them (`embedding.js`)
//
// A host page writes it; nothing in it is trusted further than that.

import { LANGUAGES } from "./messages.js";
import { STEPS } from "./steps.js";

/** Begins a plan that was passed on as a link. */
export const PLAN = "#plan=";
/** What each mode opens: a kind of teacher's file, or a case as it is. */
export const KIND_OF_MODE = { explore: null, demonstration: "lesson", exercise: "exercise", course: "set" };
/** No fragment of ours is longer, characters. */
const MOST = 4000;
/** Ids are named as files are. */
const ID = /^[A-Za-z0-9][A-Za-z0-9-]{0,63}$/;
/** A page without an origin of its own, such as one opened from a file. */
const NO_ORIGIN = "null";

const list = (value) => value.split(",").map((each) => each.trim()).filter(Boolean);

function origin(value) {
  if (value === NO_ORIGIN) return NO_ORIGIN;
  try {
    const { origin: own, protocol } = new URL(value);
    return (protocol === "https:" || protocol === "http:") && own === value ? own : null;
  } catch {
    return null;
  }
}

/** `{id, mode, controls, language, hosts, unknown}` with `null` and `[]` for what is not said; `unknown` names what could not be read. */
export function readFragment(hash) {
  const said = { id: null, mode: null, controls: null, language: null, hosts: [], unknown: [] };
  if (hash.startsWith(PLAN)) return said;
  if (hash.length > MOST) return { ...said, unknown: ["case"] };
  const given = new URLSearchParams(hash.slice(1));
  const take = (name, read) => {
    const value = given.get(name);
    if (value === null) return null;
    const found = read(value);
    if (found === null) said.unknown.push(name);
    return found;
  };
  const oneOf = (known) => (value) => (known.includes(value) ? value : null);
  said.id = take("case", (value) => (ID.test(value) ? value : null));
  said.mode = take("mode", oneOf(Object.keys(KIND_OF_MODE)));
  said.language = take("language", oneOf(Object.keys(LANGUAGES)));
  said.controls = take("controls", (value) => {
    const steps = value === "none" ? [] : list(value);
    return steps.every((step) => STEPS.includes(step)) ? steps : null;
  });
  said.hosts = take("host", (value) => {
    const hosts = list(value).map(origin);
    return hosts.length > 0 && hosts.every(Boolean) ? hosts : null;
  }) ?? [];
  return said;
}

/** The fragment with these names and values; those without a value are left out. */
export function fragmentOf(values) {
  const given = new URLSearchParams(Object.entries(values).filter(([, value]) => value));
  return given.size ? `#${given}` : "";
}
