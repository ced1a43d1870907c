// What is being taught: a lesson, an exercise, or a set of them one after the other. Its own place is at the head of the panel.

import { readText } from "./assets.js";
import { KIND_OF_MODE, fragmentOf } from "./fragment.js";
import { text } from "./messages.js";
import { createExerciseView } from "./panels/exercise.js";
import { createLessonView } from "./panels/lesson.js";
import { refusalOf } from "./teaching.js";

/** The set that comes with the page. */
export const OWN_SET = "course";
/** The mode in which an address asks for a kind of teacher's file. */
const modeOf = (kind) => Object.keys(KIND_OF_MODE).find((mode) => KIND_OF_MODE[mode] === kind);
/** Steps in which an exercise is worked on; the hair, the photo and the client are given. */
const EXERCISE_STEPS = ["points", "poses", "shape", "balance", "check"];
/** Quiet time after the last change before a learner's work is kept, ms. */
const QUIET_MS = 400;

const fileOf = (kind, id) => `demo/${id}.${kind}.json`;
/** `[kind, id]` of a set's item. */
const itemOf = (item) => Object.entries(item)[0];

/** `keeper` keeps a learner's work: `{work(id), keepWork(id, text), score(id), keepScore(id, score), place(), keepPlace(index)}`. `told(result)` hears of
 *  every marking. */
export function createCourse(app, { root, keeper, teaching, told }) {
  const { store, messages, wording } = app;
  let set = null;
  let present = null;
  let isOpening = false;
  let turn = 0;
  let timer = 0;

  const problem = (error) => messages.problem(refusalOf(error, wording));
  const place = () => {
    const index = set && present ? set.items.findIndex((item) => String(itemOf(item)) === String([present.kind, present.id])) : -1;
    return index < 0 ? null : { index, count: set.items.length, next: set.items[index + 1] ?? null };
  };

  const acts = {
    leave: () => leave({ bringBack: true }),
    next: () => {
      const next = place()?.next;
      if (next) open(...itemOf(next));
      else leave({ bringBack: true });
    },
    mark: () => markNow(),
    answered: (answers) => {
      present.answers = answers;
      keepSoon();
    },
    again: () => begin(present.file, { isLesson: false, isOwn: present.isOwn, afresh: true }),
    handIn: () => app.giveSubmission(present.id, teaching.submission(present.id, store.keptText, present.answers)),
  };
  const lessonView = createLessonView(root, app, acts);
  const exerciseView = createExerciseView(root, app, acts);

  /** Opens one of the files that come with the page. `true` where it is open now. */
  async function open(kind, id = OWN_SET) {
    const mine = ++turn;
    try {
      const file = await readText(fileOf(kind, id));
      // Something else was asked for meanwhile.
      if (mine !== turn) return false;
      return await openText(file, { isOwn: true });
    } catch (error) {
      problem(error?.code ? error : { code: "missing", subject: id });
      return false;
    }
  }

  /** Opens a teacher's file; `isOwn` for one that comes with the page, which an address can name. */
  async function openText(file, { isOwn = false } = {}) {
    try {
      const { format } = JSON.parse(file);
      if (format === "counterpoise-set") return await openSet(file);
      return await begin(file, { isLesson: format === "counterpoise-lesson", isOwn });
    } catch (error) {
      problem(error instanceof SyntaxError ? { code: "unreadable" } : error);
      return false;
    }
  }

  async function openSet(file) {
    const before = set;
    set = teaching.set(file);
    const first = set.items.findIndex((item) => {
      const [kind, id] = itemOf(item);
      return kind === "exercise" && keeper.score(id) === null;
    });
    // A learner goes on where she was, or with the lesson before the first exercise that is still to be done.
    const at = keeper.place() ?? Math.max(0, first > 0 && itemOf(set.items[first - 1])[0] === "lesson" ? first - 1 : first);
    const isOpen = await open(...itemOf(set.items[at]));
    if (!isOpen) set = before;
    return isOpen;
  }

  async function begin(file, { isLesson, isOwn, afresh = false }) {
    const found = isLesson ? teaching.lesson(file) : teaching.exercise(file);
    await wantSet();
    keepNow();
    let planText = isLesson ? found.steps[0].plan : found.given;
    let answers = {};
    const kept = isLesson || afresh ? null : keeper.work(found.id);
    if (kept) {
      try {
        ({ plan: planText, answers } = teaching.resumed(file, kept));
      } catch {
        messages.note(text("course.work_lost"));
      }
    }
    present = null;
    isOpening = true;
    const hasPicture = await app.showExample(planText, found.picture);
    isOpening = false;
    present = { kind: isLesson ? "lesson" : "exercise", id: found.id, file, isOwn, answers };
    document.documentElement.dataset.course = present.kind;
    root.hidden = false;
    const at = place();
    if (at) keeper.keepPlace(at.index);
    app.limitSteps(isLesson ? [] : EXERCISE_STEPS);
    if (isLesson) lessonView.show(found, at);
    else {
      app.showOnly(null);
      exerciseView.show({ ...found, answers, score: keeper.score(found.id) }, at);
      app.goTo(found.goals.some(({ aim }) => aim === "landmarks") ? "points" : "shape");
    }
    if (!hasPicture) messages.note(text("course.no_picture"));
    // So that loading the page again comes back to it.
    const fragment = isOwn ? fragmentOf({ case: found.id, mode: modeOf(present.kind) }) : "";
    if (!app.isEmbedded) history.replaceState(null, "", `${location.pathname}${location.search}${fragment}`);
    return true;
  }

  /** What comes after a lesson or an exercise is told by the set that comes with the page, where no other was opened. */
  async function wantSet() {
    try {
      set ??= teaching.set(await readText(fileOf("set", OWN_SET)));
    } catch {
      // Without it each part still stands for itself.
    }
  }

  function leave({ bringBack }) {
    keepNow();
    turn += 1;
    present = null;
    root.hidden = true;
    root.replaceChildren();
    delete document.documentElement.dataset.course;
    app.showOnly(null);
    app.limitSteps(null);
    if (!app.isEmbedded) history.replaceState(null, "", location.pathname + location.search);
    if (bringBack && app.hasPrevious()) app.bringBack();
    else if (bringBack) app.goTo("shape");
  }

  function keepNow() {
    clearTimeout(timer);
    timer = 0;
    if (present?.kind !== "exercise") return;
    keeper.keepWork(present.id, teaching.work(present.file, store.keptText, present.answers));
  }
  function keepSoon() {
    clearTimeout(timer);
    timer = setTimeout(keepNow, QUIET_MS);
  }

  function markNow() {
    try {
      const result = teaching.mark(present.file, store.keptText, present.answers);
      keepNow();
      keeper.keepScore(present.id, result.score);
      exerciseView.result(result);
      told(result);
    } catch (error) {
      problem(error);
    }
  }

  store.subscribe(({ type }) => {
    if (type === "plan" && present?.kind === "exercise") {
      exerciseView.changed();
      keepSoon();
    }
    // Another case was opened: what was taught is over, and the case stays.
    if (type === "loaded" && present && !isOpening && !lessonView.isStepping()) leave({ bringBack: false });
  });
  addEventListener("visibilitychange", () => document.visibilityState === "hidden" && keepNow());
  addEventListener("pagehide", keepNow);

  return { open, openText, leave, score: (id) => keeper.score(id), result: () => (present?.kind === "exercise" ? exerciseView.lastResult() : null) };
}
