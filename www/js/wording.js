// Codes and numbers of the core, put into the words of the catalogue.

import { firstText, hasText, isRightToLeft, isolated, text } from "./messages.js";
import { written } from "./numbers.js";

const UNIT_BY_SUFFIX = [["_mm2", "mm2"], ["_mm", "mm"], ["_pct", "pct"], ["_deg", "deg"], ["_px", "px"]];
const WHOLE = new Set(["count", "have_count", "needed_count", "limit_mb", "version", "newest", "line", "column", "length"]);

/** The wording of one engine: it writes numbers as the core writes them everywhere. */
export function createWording(engine, describe) {
  const units = new Map();
  for (const field of describe.fields ?? []) units.set(field.id, field.unit);
  for (const param of describe.params ?? []) units.set(param.id, param.unit);
  for (const measure of describe.measures ?? []) units.set(measure.id, measure.unit);

  /** A number as shown, without its unit. */
  const shown = (unit, value) => (value === null || value === undefined ? "–" : written(engine.shown(unit, value)));

  /** A number with its unit. */
  const withUnit = (unit, value) => text(`number.${unit}`, { value: shown(unit, value) });

  /** A difference with its sign. */
  const signed = (unit, value) => {
    if (value === null || value === undefined) return "–";
    const [, plus, rounded] = /^(\+?)(.*)$/.exec(engine.shownSigned(unit, value));
    return isRightToLeft() ? isolated(plus + written(rounded)) : plus + written(rounded);
  };

  const unitOf = (name, subject) => {
    const found = UNIT_BY_SUFFIX.find(([suffix]) => name.endsWith(suffix));
    if (found) return found[1];
    return units.get(subject) ?? "mm";
  };

  /** The numbers of a check, problem or refusal as texts. */
  const values = (numbers, subject) =>
    Object.fromEntries(
      Object.entries(numbers instanceof Map ? Object.fromEntries(numbers) : numbers ?? {}).map(([name, value]) => [
        name,
        WHOLE.has(name) ? String(Math.round(value)) : name === "limit" && Number.isInteger(value) ? String(value) : shown(unitOf(name, subject), value),
      ]),
    );

  /** What a refusal or problem is about, in words. */
  const subject = (id) => {
    if (!id) return "";
    return firstText([`landmark.${id}`, `param.${id}`, `field.${id}`, `handle.${id}`, `measure.${id}`, `side.${id}`, `source.${id}`, `strip.${id}`, `refused.${id}`, id].filter(hasText).concat(["subject.other"]), { id });
  };

  return {
    shown,
    withUnit,
    signed,
    values,
    subject,

    /** Why an edit or a file was refused, in words. */
    refusal(refused) {
      const words = { subject: subject(refused.subject), other: subject(refused.other), ...values(refused.values, refused.subject) };
      return firstText([`refused.${refused.code}`, "refused.other"], { ...words, code: refused.code });
    },

    /** What should be mended, in words. */
    problem(problem) {
      const words = { subject: subject(problem.subject), other: subject(problem.other), side: problem.side ? text(`side.${problem.side}`) : "", ...values(problem.values, problem.subject) };
      return firstText([`problem.${problem.code}`, "problem.other"], { ...words, code: problem.code });
    },

    /** A check, in words. */
    check(check) {
      return firstText([`check.${check.id}.${check.level}`, "check.other"], { id: check.id, subject: subject(check.subject), side: check.side ? text(`side.${check.side}`) : "", ...values(check.values, "") });
    },

    /** The client's side, in words. */
    side: (side) => text(`side.${side}`),

    /** A scale source, in words. */
    source(id) {
      const [kind, from, to] = id.split(":");
      return kind === "caliper" ? text("source.caliper", { from: text(`landmark.${from}`), to: text(`landmark.${to}`) }) : text(`source.${kind}`);
    },
  };
}
