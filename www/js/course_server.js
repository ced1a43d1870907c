// A course's own server, by the run-time environment of SCORM 1.2: how far a learner is, the score, and little enough to go on from. Nothing of a client:
// all cases here are the course's own.

import { text } from "./messages.js";

/** So many windows up a course's server is looked for (ADL's own algorithm: 7). */
const MOST_PARENTS = 7;
/** Longest `cmi.suspend_data`, characters (SCORM 1.2 RTE 3.4.4: CMIString4096). */
const MOST_KEPT = 4096;
const VERSION = 1;

/** The server's object, in this window, one around it, or the one that opened it; `null` where there is none. */
export function findServer(from = window) {
  const inParents = (start) => {
    let at = start;
    for (let i = 0; at && i <= MOST_PARENTS; i += 1) {
      try {
        if (at.API) return at.API;
      } catch {
        // A window of another origin keeps its own.
      }
      if (at.parent === at) break;
      at = at.parent;
    }
    return null;
  };
  return inParents(from) ?? (from.opener ? inParents(from.opener) : null);
}

/** HHHH:MM:SS.SS (CMITimespan). */
function timespan(ms) {
  const hundredths = Math.min(Math.floor(ms / 10), 9999 * 360_000);
  const part = (value, digits = 2) => String(value).padStart(digits, "0");
  return `${part(Math.floor(hundredths / 360_000), 4)}:${part(Math.floor(hundredths / 6000) % 60)}:${part(Math.floor(hundredths / 100) % 60)}.${part(hundredths % 100)}`;
}

const exercisesIn = (items) => items.filter((item) => item.exercise !== undefined).map((item) => item.exercise);

/** Keeps a learner's work in the server: the acts of `course_keeper.js`, and `listen()`, which hands over when the page is left. `null` where the server
 *  does not begin. `pass` is the mean score from which on it is passed, or `null`. */
export function serverKeeper(api, { pass, items, refused }) {
  if (String(api.LMSInitialize("")) !== "true") return null;
  const get = (name) => String(api.LMSGetValue(name) ?? "");
  let isTold = false;
  const set = (name, value) => {
    if (String(api.LMSSetValue(name, String(value))) === "true" || isTold) return;
    isTold = true;
    refused(text("course.server_refused", {}));
  };
  const exercises = exercisesIn(items);
  /** A teacher looks at what was handed in: nothing of it changes. */
  const isReview = get("cmi.core.lesson_mode") === "review";
  let began = performance.now();
  let isOver = false;

  const works = new Map();
  let state = { v: VERSION, at: null, scores: exercises.map(() => null), work: null };
  try {
    const kept = JSON.parse(get("cmi.suspend_data"));
    if (kept.v === VERSION && Array.isArray(kept.scores)) {
      state = {
        v: VERSION, at: Number.isInteger(kept.at) && kept.at >= 0 && kept.at < items.length ? kept.at : null,
        scores: exercises.map((_, i) => (typeof kept.scores[i] === "number" ? Math.min(Math.max(kept.scores[i], 0), 100) : null)),
        work: kept.work && typeof kept.work.id === "string" && typeof kept.work.text === "string" ? kept.work : null };
    }
    if (state.work) works.set(state.work.id, state.work.text);
  } catch {
    // The first time, or another course's.
  }

  const isDone = () => (exercises.length ? state.scores.every((score) => score !== null) : state.at === items.length - 1);
  const mean = () => (exercises.length ? state.scores.reduce((sum, score) => sum + (score ?? 0), 0) / exercises.length : null);

  function hand() {
    if (isReview || isOver) return;
    let kept = JSON.stringify(state);
    if (kept.length > MOST_KEPT) kept = JSON.stringify({ ...state, work: null });
    if (kept.length <= MOST_KEPT) set("cmi.suspend_data", kept);
    const score = mean();
    if (score !== null && state.scores.some((each) => each !== null)) {
      set("cmi.core.score.min", 0);
      set("cmi.core.score.max", 100);
      set("cmi.core.score.raw", Math.round(score * 100) / 100);
    }
    set("cmi.core.lesson_status", !isDone() ? "incomplete" : pass === null || score === null ? "completed" : score >= pass ? "passed" : "failed");
    api.LMSCommit("");
  }

  function finish() {
    if (isOver) return;
    hand();
    if (!isReview) {
      set("cmi.core.session_time", timespan(performance.now() - began));
      set("cmi.core.exit", isDone() ? "" : "suspend");
    }
    api.LMSCommit("");
    api.LMSFinish("");
    isOver = true;
  }

  if (!isReview && ["", "not attempted"].includes(get("cmi.core.lesson_status"))) {
    set("cmi.core.lesson_status", "incomplete");
    api.LMSCommit("");
  }

  return {
    work: (id) => works.get(id) ?? null,
    keepWork(id, work) {
      works.set(id, work);
      state.work = { id, text: work };
    },
    score: (id) => state.scores[exercises.indexOf(id)] ?? null,
    keepScore(id, score) {
      const at = exercises.indexOf(id);
      if (at < 0) return;
      state.scores[at] = score;
      hand();
    },
    place: () => state.at,
    keepPlace(index) {
      state.at = index;
      hand();
    },
    listen() {
      addEventListener("visibilitychange", () => document.visibilityState === "hidden" && hand());
      addEventListener("pagehide", finish);
      addEventListener("pageshow", ({ persisted }) => {
        if (!persisted || String(api.LMSInitialize("")) !== "true") return;
        isOver = false;
        began = performance.now();
      });
    },
  };
}
