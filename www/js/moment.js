// Days and moments by the device's clock, in the time of this place.

import { locale } from "./messages.js";

/** Now with its offset, as a plan keeps it: `YYYY-MM-DDThh:mm:ss+hh:mm`. */
export function nowWithOffset(now = new Date()) {
  const two = (number) => String(Math.floor(Math.abs(number))).padStart(2, "0");
  const ahead = -now.getTimezoneOffset();
  const local = new Date(now.getTime() + ahead * 60000).toISOString().slice(0, 19);
  return `${local}${ahead < 0 ? "-" : "+"}${two(ahead / 60)}:${two(ahead % 60)}`;
}

/** Today: `YYYY-MM-DD`. */
export const today = () => nowWithOffset().slice(0, 10);

/** A moment of a plan in words. */
export const momentWords = (at) => new Date(at).toLocaleString(locale(), { dateStyle: "medium", timeStyle: "short" });
