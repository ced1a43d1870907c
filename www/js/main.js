// Wiring only: engine, store, stage and panels are made and told of each other.

import { needStyle, readCarried } from "./assets.js";
import { createMessages } from "./dialogs.js";
import { icon, setText } from "./dom.js";
import { loadEngine } from "./engine.js";
import { KIND_OF_MODE, PLAN, readFragment } from "./fragment.js";
import { layOutForHand } from "./hand.js";
import { panelLater } from "./later.js";
import { fillTexts, firstText, loadMessages, locale, storageWhy, text } from "./messages.js";
import { createFlags } from "./panels/balance_flags.js";
import { createLive } from "./panels/live.js";
import { createShapePanel } from "./panels/shape.js";
import { TOUCH_UP } from "./pose_photos.js";
import { rememberSetting, setting } from "./settings.js";
import { createStage } from "./stage.js";
import { createStageTools } from "./stage_tools.js";
import { STEPS, createSteps } from "./steps.js";
import { createStore } from "./store.js";
import { createTheme } from "./theme.js";
import { createToolbar } from "./toolbar.js";
import { createWording } from "./wording.js";
import { BLANK, createWork } from "./work.js";

const VERSION = "0.1.0";
/** Steps that are about the brows themselves. */
const BROW_STEPS = new Set(["hair", "poses", "shape", "balance", "check", "client", "sheet", "later"]);
/** Steps that are about the planned pair. */
const PLAN_STEPS = new Set(["shape", "balance", "check", "sheet"]);
/** How long after the start the other panels are fetched, ms. */
const QUIET_MS = 1000;
/** What a page that a course's server hands out carries beside the page (`open_course.js`): `{"set": ID}`. */
const HANDED_OUT = "course.json";
const byId = (id) => document.getElementById(id);

async function start() {
  const theme = createTheme();
  layOutForHand();
  const isFramed = window.parent !== window;
  const handedOut = JSON.parse((await readCarried(HANDED_OUT)) ?? "null")?.set ?? null;
  const isEmbedded = isFramed || handedOut !== null;
  /** What the address asks for; a page that a course handed out begins with that course. */
  const askedNow = () => {
    const found = readFragment(location.hash);
    return handedOut !== null && !found.mode ? { ...found, id: handedOut, mode: "course" } : found;
  };
  let asked = askedNow();
  await loadMessages(asked.language ?? undefined);
  fillTexts(document);
  const messages = createMessages();

  let engine;
  try {
    engine = await loadEngine();
  } catch (error) {
    messages.problem(text("error.engine", { detail: String(error?.message ?? error) }));
    throw error;
  }
  const describe = engine.describe();
  const wording = createWording(engine, describe);
  const store = createStore(engine);
  store.load(engine.open(BLANK));

  const view = { dim: 0, photoVisible: true, layers: setting("layers", {}), only: null, mirror: false };
  let side = "both";
  let latestReport = null;
  let refusalShown = "";

  const stage = createStage({
    canvas: byId("stage"),
    overlayRoot: byId("stage-overlay"),
    twinsRoot: byId("twins"),
    store,
    engine,
    ui: { text, firstText, shown: wording.shown, withUnit: wording.withUnit, posePhoto: (key) => app.posePhotos.bitmap(key), theme: () => theme.shade(), isEmbedded, isMotionReduced: () => matchMedia("(prefers-reduced-motion: reduce)").matches },
  });

  const showRefusal = (refused) => {
    refusalShown = wording.refusal(refused);
    messages.problem(refusalShown);
  };
  const clearRefusal = () => {
    if (refusalShown) messages.clear(refusalShown);
    refusalShown = "";
  };
  /** A refused change leaves the plan as it was; the controls go back to it. */
  const done = (result) => {
    if (result?.refused) {
      showRefusal(result.refused);
      render();
    } else clearRefusal();
    return result ?? { ok: true };
  };

  const layersNow = () => (view.only ? Object.fromEntries(describe.kinds.map((kind) => [kind, view.only.includes(kind)])) : view.layers);

  const app = {
    store, messages, isEmbedded, stage, engine, describe, wording, theme, icon, version: VERSION,
    commit: (edit) => done(store.commit(edit)),
    preview(edit) {
      const result = store.preview(edit);
      if (result?.refused) showRefusal(result.refused);
      else clearRefusal();
      return result;
    },
    keep() {
      store.keep();
      clearRefusal();
      render();
    },
    drop() {
      store.drop();
      clearRefusal();
      render();
    },
    undo: () => store.canUndo && store.undo(),
    redo: () => store.canRedo && store.redo(),
    /** A typed number that cannot be used; the message goes with the next change that can. */
    problem(message) {
      refusalShown = message;
      messages.problem(message);
    },
    view: () => view,
    setView(change) {
      Object.assign(view, change);
      stage.setView({ ...view, layers: layersNow(), theme: theme.shade() });
      showNote();
      render();
    },
    setLayers(kinds, isOn) {
      const layers = { ...view.layers };
      for (const kind of kinds) layers[kind] = isOn;
      rememberSetting("layers", layers);
      app.setView({ layers });
    },
    /** Draws nothing but these kinds, or again what is chosen; nothing of it is remembered. */
    showOnly: (kinds) => app.setView({ only: kinds }),
    /** Leaves only these steps open, or again those that the address asks for. */
    limitSteps: (ids) => steps.limit(ids ?? asked.controls ?? STEPS),
    /** The stage as the present step has it. */
    enterStep: () => showPanel(panels[steps.present()]),
    /** A lesson is shown: it says what the stage does. */
    isInLesson: () => document.documentElement.dataset.course === "lesson",
    async showCourses() {
      const { showCourseList } = await import("./course_list.js");
      const course = await courseOf();
      if (course) await showCourseList({ ...course, failed: (error) => messages.problem(wording.refusal(error)) });
    },
    async showLicences() {
      try {
        await (await import("./licences.js")).showLicences();
      } catch (error) {
        console.error(error);
        messages.problem(text("error.part_missing"));
      }
    },
    setStageMode(mode, options = {}) {
      stageMode = { mode, options };
      stage.setMode(mode, options);
      showNote();
    },
    select: (id) => stage.select(id),
    /** The tablet is in the client's hands. */
    isWithClient: () => document.documentElement.dataset.view === "client",
    side: () => side,
    setSide(next) {
      side = next;
      if (steps.present() === "shape") app.setStageMode("shape", { linked: side === "both", side });
      render();
    },
    goTo: (step) => steps.show(step),
    hasFrame: () => Boolean(latestReport?.frame),
    /** The whole report of what is shown; drawings bring the parts that are read at every frame. */
    report: () => (latestReport ? engine.report(store.planText) : null),
    /** Puts the point that is asked for in the middle of the stage, to be dragged from there. */
    placeAtCentre: () => stage.placeAtCentre(),
  };
  let stageMode = { mode: "look", options: {} };

  const savedLine = byId("saved");
  const work = createWork({
    engine, store, stage, messages, wording, isEmbedded, shade: () => theme.shade(), view: () => view,
    goTo: (step) => { steps.show(step); render(); },
    showElsewhere(isOn) {
      byId("elsewhere").hidden = !isOn;
      if (isOn) {
        savedLine.dataset.state = "elsewhere";
        setText(savedLine, text("elsewhere.saved"));
      }
      render();
    },
    showSaved(state, detail, isInFile) {
      savedLine.dataset.state = state;
      if (state === "failed") {
        const why = storageWhy(detail);
        setText(savedLine, text("storage.failed_short"));
        messages.problem(text("storage.failed", { why }), { text: text("storage.export_now"), act: () => work.savePlan() });
        return;
      }
      if (state === "demo" || state === "embedded") {
        setText(savedLine, text(`storage.${state}`));
        return;
      }
      const time = detail.toLocaleTimeString(locale(), { hour: "2-digit", minute: "2-digit" });
      setText(savedLine, text(isInFile ? "storage.kept_and_saved" : "storage.kept", { time }));
    },
  });
  Object.assign(app, work);
  byId("elsewhere-take").addEventListener("click", () => work.workHere());

  const showPanel = (panel) => {
    if (panel.enter) panel.enter();
    else app.setStageMode("look");
    panel.render(store.plan);
    if (latestReport) panel.report?.(latestReport);
  };
  const later = (id, fetch, creator) => panelLater(fetch, (module) => module[creator](byId(`panel-${id}`), app), {
    isPresent: () => steps.present() === id,
    show: showPanel,
    meanwhile: () => app.setStageMode("look"),
    failed: (error) => {
      console.error(error);
      messages.problem(text("error.part_missing"));
    },
  });
  /** A panel with the style sheet that only it needs. */
  const styled = (path, fetch) => async () => (await Promise.all([fetch(), needStyle(path)]))[0];
  const panels = {
    photo: later("photo", () => import("./panels/photo.js"), "createPhotoPanel"),
    points: later("points", () => import("./panels/points.js"), "createPointsPanel"),
    hair: later("hair", () => import("./panels/hair.js"), "createHairPanel"),
    poses: later("poses", () => import("./panels/poses.js"), "createPosesPanel"),
    shape: createShapePanel(byId("panel-shape"), app),
    balance: later("balance", styled("css/balance.css", () => import("./panels/balance.js")), "createBalancePanel"),
    check: later("check", () => import("./panels/check.js"), "createCheckPanel"),
    client: later("client", styled("css/client.css", () => import("./panels/client.js")), "createClientPanel"),
    sheet: later("sheet", () => import("./panels/sheet.js"), "createSheetPanel"),
    later: later("later", () => import("./panels/touch_up.js"), "createTouchUpPanel"),
  };
  const live = createLive(app);
  const flags = createFlags(stage, wording);
  const showFlags = () => {
    if (latestReport && PLAN_STEPS.has(steps.present()) && !app.isInLesson()) flags.set(latestReport, store.plan.limits.strip_mm);
    else flags.hide();
  };
  const tools = createStageTools(app);
  const toolbar = createToolbar(app);
  const steps = createSteps((id, before) => {
    if (before) panels[before].leave?.();
    rememberSetting("step", id);
    stage.select(null);
    // From the hair on, the brows are what there is to see.
    if (BROW_STEPS.has(id) && !BROW_STEPS.has(before) && (app.hasFrame() || !store.plan.photo)) stage.fit();
    showPanel(panels[id]);
    showFlags();
  });

  function render() {
    if (!store.plan) return;
    panels[steps.present()]?.render(store.plan);
    if (store.isPreview) return;
    toolbar.render();
    tools.render(store.plan);
  }

  /** What a tap or stroke on the stage does now, in words. */
  function showNote() {
    const { mode, options } = stageMode;
    const parts = [];
    if ((mode === "points" || mode === "pose") && options.ask) parts.push(text("points.ask", { name: text(`landmark.${options.ask}`) }));
    if (mode === "trace") parts.push(text(options.line ? `later.note_${options.line}` : "hair.trace_note", { side: text(`side.${options.side}`) }));
    if (mode === "look" && options.pose && options.pose !== TOUCH_UP) parts.push(text("poses.note", { pose: text(`pose.${options.pose}`) }));
    if (view.mirror) parts.push(text("stage.as_in_mirror"));
    tools.note(parts.join(" · "));
  }

  store.subscribe((event) => {
    if (event.type === "restarted") {
      messages.note(text("work.restarted"));
      return;
    }
    if (event.type !== "preview") setText(byId("case-name"), store.plan.case.label);
    if (event.type === "loaded") {
      panels.hair.loaded();
      panels.poses.loaded();
      panels.balance.loaded();
      panels.later.loaded();
    }
    if (event.type === "plan" && steps.present() === "hair") panels.hair.changed(store.plan);
    if (event.type === "loaded" && steps.present() && !app.isInLesson()) panels[steps.present()].enter?.();
    if (!store.isPreview) render();
    if (event.type === "loaded") work.autosave.now();
    else if (event.type !== "preview") work.autosave.later();
  });

  stage.on("report", (report) => {
    const isFirst = !latestReport;
    const hadFrame = Boolean(latestReport?.frame);
    latestReport = report;
    live.report(report);
    panels[steps.present()]?.report?.(report);
    showFlags();
    if (isFirst || hadFrame !== Boolean(report.frame)) render();
  });
  // In a drag the panel comes behind the picture; whatever ended the drag has shown it already.
  stage.on("behind", () => store.isPreview && render());
  stage.on("selected", (chosen) => tools.selected(chosen));
  stage.on("asked", (asked) => {
    const id = asked?.landmark ?? asked?.id ?? asked ?? null;
    stageMode = { ...stageMode, options: { ...stageMode.options, ask: id } };
    panels[steps.present()]?.asked?.(id);
    showNote();
  });
  stage.on("refused", (refused) => showRefusal(refused.refused ?? refused));
  stage.on("pen", (isOn) => tools.penMode(isOn));
  theme.onChange(() => app.setView({}));

  /** Lessons and exercises, fetched when they are first wanted; `null` where they cannot be had. */
  let course = null;
  async function courseOf() {
    try {
      const { openCourse } = await import("./open_course.js");
      course ??= await openCourse(app, { root: byId("course"), setId: handedOut, told: () => embedding?.marked() });
    } catch (error) {
      console.error(error);
      messages.problem(text("error.part_missing"));
    }
    return course;
  }

  /** Opens what the address asks for. A plan that it brings is taken out of it, so that it is opened once. */
  async function openAsked() {
    const { hash } = location;
    if (hash.startsWith(PLAN)) {
      history.replaceState(null, "", location.pathname + location.search);
      await work.openLink(hash);
      return;
    }
    asked = askedNow();
    app.limitSteps(null);
    await openCase(asked);
    if (asked.unknown.length) messages.problem(text(`fragment.${asked.unknown[0]}`));
  }

  /** Opens a case that comes with the page, in a mode. `true` where it is open. */
  async function openCase({ id, mode }) {
    const kind = KIND_OF_MODE[mode ?? "explore"];
    if (kind) return Boolean(await (await courseOf())?.open(kind, id ?? undefined));
    return id ? work.openDemo({ id, quietly: true }) : false;
  }

  /** The page without a network, once it is looked after. */
  let offline = null;
  app.offline = () => offline;

  /** How a page around this one talks to it, where there is one. */
  let embedding = null;
  async function embed() {
    const [{ beInFrame }] = await Promise.all([import("./framed.js"), needStyle("css/course.css")]);
    embedding = beInFrame(app, { asked, step: () => steps.present(), course: () => course, openCase });
  }

  window.counterpoise = Object.freeze({
    /** Whether the page is kept for days without a network. */
    offline: () => offline?.state() ?? "none",
    /** The marks that were given last. */
    result: () => course?.result() ?? null,
    /** Messages of other pages, taken and refused, by why. */
    messages: () => embedding?.counts() ?? null,
    version: VERSION,
    test: location.hash.includes("test") ? Object.freeze({ trapAt: engine.trapAt }) : undefined,
    stage,
    planJson: () => store.planText,
    report: app.report,
    view: Object.freeze({
      screenFromImage: (x, y) => stage.view.screenFromImage(x, y),
      screenFromSide: (which, out, up) => stage.view.screenFromSide(which, out, up),
    }),
  });

  await work.start();
  await openAsked();
  addEventListener("hashchange", openAsked);
  if (isFramed) await embed();
  app.setView({});
  // The first step is there before the page says that it is.
  await panels[steps.present()]?.arrived?.();
  document.documentElement.dataset.ready = "true";
  // The other panels and views are fetched while nothing else is done, so that each opens at once, and without a network from then on.
  setTimeout(() => {
    Object.values(panels).forEach((panel) => panel.prepare?.());
    for (const fetched of [import("./case_book.js"), import("./client_view.js")]) fetched.catch(() => {});
    import("./offline.js").then(({ keepOffline }) => { offline = keepOffline({ messages, save: () => work.autosave.now(), isFramed }); }, () => {});
  }, QUIET_MS);
}

start().catch((error) => {
  console.error(error);
  // Whatever it was, a person must not sit before a page that says nothing.
  const words = byId("message-text");
  if (words.textContent === "") {
    words.textContent = text("error.unexpected", { detail: String(error?.message ?? error?.code ?? error) });
    Object.assign(byId("message"), { hidden: false, role: "alert" }).dataset.level = "problem";
  }
});
