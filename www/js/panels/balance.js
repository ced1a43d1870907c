// Step 6: how even the pair can be, and what it costs. The curve is computed beside the page; going along it shows both
// outlines at once, and letting go keeps them as one step of undo.

import { behindFrame } from "../behind_frame.js";
import { choice, nextButton } from "../controls.js";
import { el, replace, replaceChanged, setAttribute, setText } from "../dom.js";
import { text } from "../messages.js";
import { fixed } from "../numbers.js";
import { isScrolledInto, scrollerOf } from "../scroll.js";
import { SIDES } from "../sides.js";
import { createChart } from "./balance_chart.js";
import { createCurves } from "./balance_curves.js";
import { createRules } from "./balance_rules.js";
import { createWords } from "./balance_words.js";

/** Limits of added skin that have a curve, %; the plan's own limit has one too. */
const ADDED_PCT = [10, 15, 25, 40];
/** What the curve does not depend on: the limits that it varies itself, and what is only checked afterwards. */
const BESIDE_THE_CURVE = ["removed_pct", "added_pct", "strip_mm", "equal_mm"];
/** A point may pass its limit by this much, % of the natural area: how exactly the core keeps limits. */
const SLACK_PCT = 0.2;
/** Nobody needs to see that it computes where it is done this soon, ms. */
const QUIET_MS = 250;

export function createBalancePanel(root, app) {
  const { describe, engine, store, wording } = app;

  /** Answers by limit: `{curve}` or `{refused}`, with the question that they answer. */
  const answers = new Map();
  let question = 0;
  /** What the curves were asked for: the plan without its outlines, and the outlines that they start from. */
  let rulesKey = "";
  let base = null;
  let isShown = false;
  /** Index of the knob on the chosen curve; `null` where nobody has put it anywhere yet. */
  let index = null;
  /** The limit for removed hair that it was put at, %. */
  let put = null;
  let isDragging = false;
  /** Outlines before the last drag. */
  let before = null;
  let since = "natural";
  let report = null;
  let keptFrom = "";
  let keptPlan = null;

  /** Evenness is read to a hundredth: half a tenth of a mm is what the knee is about. */
  const inMm = (value) => fixed(value, 2);
  /** Limits are whole per cents as a rule; what was measured has its decimal. */
  const inPct = (value) => (Number.isInteger(value) ? String(value) : wording.shown("pct", value));

  const readout = el("p", { class: "readout", id: "balance-readout" });
  const sidesLine = el("p", { class: "hint", id: "balance-sides" });
  const rollLine = el("p", { class: "hint" });
  const notes = el("p", { class: "hint strong", id: "balance-note" });
  const state = el("p", { class: "computing", id: "balance-state", role: "status" });
  const chips = el("div", { class: "chips" });
  const take = el("button", { type: "button", class: "button primary", id: "take-balance", on: { click: () => takeAt(index) } }, el("span", { text: text("balance.take") }));
  const range = el("input", { type: "range", id: "balance-range", min: 0, max: 30, step: 1, "aria-label": text("balance.range") });
  const legend = el("ul", { class: "legend" });
  const refusal = el("p", { class: "status wants", id: "balance-refused" });

  const hands = {
    start: () => begin(),
    move: (at) => show(at),
    end: () => keep(),
    cancel: () => drop(),
    tap: (at) => takeAt(at),
  };
  const chart = createChart(hands, { inMm, inPct });
  const words = createWords(wording, (value) => {
    since = value;
    showWords();
  });
  const rules = createRules(app);
  const curves = createCurves((answer) => {
    answers.set(answer.limit, { ...answer, question });
    const isChosen = answer.limit === chosenLimit();
    if (isChosen) settle();
    // The quiet lines are drawn together when the last of them is there: nobody waits for them one by one.
    if (!isDragging && (isChosen || missing().length === 0)) draw();
  });

  const figure = el("figure", { class: "balance-figure", id: "balance-figure" },
    chart.node,
    el("div", { class: "range-row" }, range));
  root.append(
    el("div", { class: "balance-top" },
      el("section", { class: "part", "aria-labelledby": "balance-title" },
        el("div", { class: "balance-head" }, el("h2", { id: "balance-title", text: text("balance.title") }), state),
        refusal, readout, figure, chips, take, sidesLine, notes, rollLine, legend,
        el("p", { class: "hint", text: text("balance.how") })),
      words.node),
    rules.node,
    nextButton(text("next.check"), () => app.goTo("check")));

  // What is chosen

  const kept = () => {
    if (keptFrom !== store.keptText) {
      keptFrom = store.keptText;
      keptPlan = JSON.parse(keptFrom);
    }
    return keptPlan;
  };
  const chosenLimit = () => kept().limits.added_pct;
  const limitsWanted = () => [...new Set([...ADDED_PCT, chosenLimit()])].sort((a, b) => a - b);
  const answerOf = (limit) => answers.get(limit);
  const missing = () => limitsWanted().filter((limit) => answerOf(limit)?.question !== question);
  const chosen = () => answerOf(chosenLimit());
  const isFresh = () => chosen()?.question === question;
  /** Points of a curve that keep every limit and lock: the only ones that can be taken. */
  const stopsOf = (curve) => curve.points.filter((point) => point.keeps_limits);
  const stops = () => (chosen()?.curve ? stopsOf(chosen().curve) : []);
  const sameOutlines = (a, b) => SIDES.every((side) => (a[side] && b[side] ? describe.params.every(({ id }) => a[side][id] === b[side][id]) : !a[side] && !b[side]));
  const indexOf = (planned) => stops().findIndex((stop) => sameOutlines(stop.outlines, planned));
  const isKnown = (planned) => sameOutlines(planned, base) || [...answers.values()].some(({ curve, question: of }) => of === question && curve?.points.some((point) => sameOutlines(point.outlines, planned)));

  /** The knob stands where the plan is, else where it was put, else where the limit for removed hair is. */
  const place = () => {
    const list = stops();
    // Where the line is flat several stops have the same outlines: it stays at its own.
    if (isTaken()) return index;
    const there = indexOf(store.plan.planned);
    if (there >= 0) return there;
    // Another curve may have fewer stops: the same limit is meant, not the same number in the row.
    const allowed = list.findLastIndex((stop) => stop.removed_limit_pct <= (put ?? kept().limits.removed_pct));
    return Math.max(allowed, 0);
  };
  const isTaken = () => index !== null && Boolean(stops()[index]) && sameOutlines(stops()[index].outlines, store.plan.planned);

  // The question

  const keyOf = ({ case: _case, planned: _planned, limits, ...plan }) => {
    const binding = Object.fromEntries(Object.entries(limits).filter(([name]) => !BESIDE_THE_CURVE.includes(name)));
    return JSON.stringify({ ...plan, limits: binding });
  };

  /** Asks for what is not known yet about the kept plan. */
  function ask() {
    const plan = kept();
    const key = keyOf(plan);
    const isNew = key !== rulesKey || base === null || !isKnown(plan.planned);
    if (isNew) {
      rulesKey = key;
      base = plan.planned;
      before = null;
      question += 1;
    }
    const limits = missing();
    if (limits.length === 0 || (!isNew && asked.question === question && limits.every((limit) => asked.limits.has(limit)))) return;
    // The chosen curve comes first.
    limits.sort((a, b) => Number(b === chosenLimit()) - Number(a === chosenLimit()) || a - b);
    asked = { question, limits: new Set(limits) };
    curves.ask(JSON.stringify({ ...plan, planned: base }), limits);
    if (!isFresh()) wait();
  }
  let asked = { question: -1, limits: new Set() };

  let waiting = 0;
  function wait() {
    clearTimeout(waiting);
    setAttribute(figure, "aria-busy", true);
    root.dataset.state = "computing";
    waiting = setTimeout(() => {
      setText(state, text("balance.computing"));
      root.classList.add("stale");
    }, QUIET_MS);
  }
  function settle() {
    clearTimeout(waiting);
    setText(state, "");
    root.classList.remove("stale");
    setAttribute(figure, "aria-busy", false);
  }

  // Going along the curve

  const edit = (at) => ({ do: "set_outlines", outlines: stops()[at].outlines });
  let planBefore = null;

  function begin() {
    isDragging = true;
    planBefore = kept().planned;
  }
  function show(at) {
    if (!stops()[at] || (at === index && store.isPreview)) return;
    const result = app.preview(edit(at));
    if (result?.refused) return;
    index = at;
    put = stops()[at].removed_limit_pct;
    chart.moveTo(at, true);
    showPoint();
  }
  function keep() {
    isDragging = false;
    if (!store.isPreview) return draw();
    remember();
    app.keep();
    return draw();
  }
  function drop() {
    isDragging = false;
    index = null;
    put = null;
    app.drop();
    draw();
  }
  function takeAt(at) {
    isDragging = false;
    if (!isFresh() || !stops()[at]) return;
    planBefore = kept().planned;
    index = at;
    put = stops()[at].removed_limit_pct;
    remember();
    app.commit(edit(at));
    draw();
  }
  function remember() {
    if (!sameOutlines(planBefore, stops()[index].outlines)) before = planBefore;
  }

  /** The slider counts per cent; it stops only where the curve has a point, on the side it was moved to. */
  const stopFor = (pct) => {
    const list = stops();
    const from = list[index]?.removed_limit_pct ?? 0;
    if (pct > from) {
      const next = list.findIndex((stop) => stop.removed_limit_pct >= pct);
      return next < 0 ? list.length - 1 : next;
    }
    return Math.max(list.findLastIndex((stop) => stop.removed_limit_pct <= pct), 0);
  };
  range.addEventListener("input", () => {
    if (!isFresh() || stops().length === 0) return;
    if (!isDragging) begin();
    show(stopFor(Number(range.value)));
  });
  range.addEventListener("change", () => {
    if (isDragging) keep();
    else draw();
  });
  range.addEventListener("keydown", (event) => {
    if (event.key === "Escape" && isDragging) drop();
  });
  range.addEventListener("pointercancel", () => isDragging && drop());

  // What is shown

  const most = (pair) => Math.max(pair.right, pair.left);
  const spoken = (stop) => text("balance.readout", { pct: inPct(stop.removed_limit_pct), mm: inMm(stop.asymmetry_mm) });

  /** The numbers of the point under the knob. */
  function showPoint() {
    const stop = stops()[index];
    readout.hidden = !stop;
    sidesLine.hidden = !stop;
    if (!stop) return;
    const { limits } = kept();
    setText(readout, spoken(stop));
    setText(sidesLine, text("balance.sides", Object.fromEntries(SIDES.flatMap((side) => [[`removed_${side}`, wording.shown("pct", stop.removed_pct[side])], [`added_${side}`, wording.shown("pct", stop.added_pct[side])]]))));
    setAttribute(range, "aria-valuetext", spoken(stop));
    if (Number(range.value) !== stop.removed_limit_pct) range.value = String(stop.removed_limit_pct);
    const error = chosen().curve.measuring_error_mm;
    const said = [];
    if (most(stop.removed_pct) > limits.removed_pct + SLACK_PCT) said.push(text("balance.beyond", { pct: inPct(limits.removed_pct) }));
    if (stop.asymmetry_mm < error) said.push(text("balance.noise", { mm: inMm(error) }));
    setText(notes, said.join(" "));
    notes.hidden = said.length === 0;
    take.hidden = isTaken() || isDragging;
    showWords();
  }

  /** Outlines fitted to the natural brows, once for each pair of brows: a fit takes longer than all the rest of a frame. */
  let fit = null;
  let fitFor = "";
  function naturalFit() {
    const { photo, landmarks, frame, noise, natural } = kept();
    const key = JSON.stringify([photo, landmarks, frame, noise, natural]);
    if (fitFor === key) return fit;
    fitFor = key;
    const [right, left] = SIDES.map((side) => app.fittedOutline(side));
    fit = right && left ? { right, left } : { right: null, left: null };
    return fit;
  }

  /** Does a part of the work once for each drawing, and after it; no part holds the page up for long. */
  const afterDrawing = (work) => behindFrame(() => {
    // What an old curve says about new rules would be written for nothing: its answer is on the way.
    if (isShown && store.plan && isFresh()) holdingRules(work);
  });
  const showWords = afterDrawing(() => writeWords());
  const showPrice = afterDrawing(() => words.setPrice({ explained, limits: kept().limits }));
  const showNumbers = afterDrawing(() => writeNumbers());
  let explainedFor = "";
  let explained = null;
  function writeWords() {
    const stop = stops()[index];
    const taken = isTaken();
    const canCompare = taken && before !== null;
    const from = taken ? (canCompare && since === "before" ? before : naturalFit()) : kept().planned;
    if (!stop) {
      words.setMoves({ explained: null });
      return;
    }
    const key = JSON.stringify([rulesKey, from, stop.outlines]);
    if (key !== explainedFor) {
      explainedFor = key;
      try {
        explained = engine.explainMove(JSON.stringify({ ...kept(), planned: from }), stop.outlines);
      } catch (error) {
        if (typeof error?.code !== "string") throw error;
        explained = null;
      }
    }
    words.setMoves({ title: taken ? "balance.moves" : "balance.would_move", since: canCompare ? since : null, explained });
    showPrice();
  }

  function showChips() {
    const limits = limitsWanted();
    const key = limits.join(" ");
    if (chips.dataset.limits !== key) {
      chips.dataset.limits = key;
      chipChoice = choice(text("balance.added"), limits.map((limit) => ({ value: limit, label: text("balance.chip", { pct: inPct(limit) }), data: { added: String(limit) } })), (limit) => {
        app.commit({ do: "set_limits", limits: { ...store.plan.limits, added_pct: limit } });
      });
      replace(chips, el("p", { class: "chips-name", "aria-hidden": "true", text: text("balance.added") }), chipChoice.node);
    }
    chipChoice.set(chosenLimit());
  }
  let chipChoice = null;

  const mark = (kind, words_) => el("li", {}, el("span", { class: `legend-mark ${kind}`, "aria-hidden": "true" }), el("span", { text: words_ }));

  /** What stands above the rules changes its height with every answer; the rule under a finger stays where it is. */
  function holdingRules(change) {
    const scroller = scrollerOf(root);
    const isInView = isScrolledInto(root) && !isDragging && rules.node.getBoundingClientRect().top < Math.min(root.getBoundingClientRect().bottom, innerHeight);
    if (!isInView) {
      change();
      return;
    }
    const top = rules.node.getBoundingClientRect().top;
    change();
    scroller.scrollTop += rules.node.getBoundingClientRect().top - top;
  }

  let isDrawn = false;
  /** The whole step as it is now. */
  function draw() {
    if (isShown && store.plan) holdingRules(drawAll);
  }
  function drawAll() {
    showChips();
    const answer = chosen();
    const refused = isFresh() ? answer.refused : null;
    refusal.hidden = !refused;
    if (refused) setText(refusal, wording.refusal(refused));
    const curve = answer?.curve;
    figure.hidden = !curve || Boolean(refused);
    range.disabled = !isFresh() || stops().length === 0;
    if (refused) root.dataset.state = "refused";
    if (!curve || refused) {
      readout.hidden = true;
      sidesLine.hidden = true;
      notes.hidden = true;
      take.hidden = true;
      rollLine.hidden = true;
      legend.hidden = true;
      words.setMoves({ explained: null });
      return;
    }
    index = place();
    if (!isFresh() && isDrawn) {
      // The old line stays until the new one is there, dimmed where that takes long.
      chart.setBusy();
      return;
    }
    const list = stops();
    const knee = kneeOf(curve);
    const present = planNow(curve);
    chart.set({
      curves: limitsWanted().map((limit) => ({ limit, answer: answerOf(limit) })).filter(({ answer: each }) => each?.curve).map(({ limit, answer: each }) => ({
        limit, isChosen: limit === chosenLimit(), points: stopsOf(each.curve).map((point) => ({ x: point.removed_limit_pct, y: point.asymmetry_mm })),
      })),
      stops: list.map((stop) => ({ x: stop.removed_limit_pct, y: stop.asymmetry_mm })),
      index, isTaken: isTaken(), isBusy: !isFresh(),
      natural: curve.natural_mm, error: curve.measuring_error_mm, limit: kept().limits.removed_pct,
      knee: knee && { x: knee.removed_limit_pct, y: knee.asymmetry_mm },
      recipes: curve.recipes.map((recipe) => ({ id: recipe.id, x: most(recipe.removed_pct), y: recipe.asymmetry_mm })),
      plan: present && { x: most(present.removed_pct), y: present.asymmetry_mm },
    });
    // Nothing that is seen may jump when the numbers come: the first time they come with the line.
    if (isDrawn) showNumbers();
    else writeNumbers();
    isDrawn = true;
  }

  const kneeOf = (curve) => {
    const knee = curve.points[curve.knee ?? -1];
    return knee?.keeps_limits ? knee : null;
  };

  /** What belongs to the line in numbers: of the knob, and of the marked points. */
  function writeNumbers() {
    const { curve } = chosen();
    if (!curve) return;
    const knee = kneeOf(curve);
    const present = planNow(curve);
    legend.hidden = false;
    replaceChanged(legend,
      present ? mark("plan", text("balance.legend_plan", { mm: inMm(present.asymmetry_mm), removed: wording.shown("pct", most(present.removed_pct)) })) : null,
      knee ? mark("knee", text("balance.legend_knee", { mm: inMm(knee.asymmetry_mm), pct: inPct(knee.removed_limit_pct) })) : null,
      ...curve.recipes.map((recipe) => mark("recipe", text("balance.legend_recipe", {
        name: text(`recipe.${recipe.id}`), mm: inMm(recipe.asymmetry_mm), removed: wording.shown("pct", most(recipe.removed_pct)), added: wording.shown("pct", most(recipe.added_pct)) }))));
    showPoint();
    showRoll();
    if (isFresh()) root.dataset.state = "ready";
  }

  /** The kept plan's own point: of a curve where it lies on one, else as it was when the curves were asked for. */
  function planNow(curve) {
    const { planned } = kept();
    for (const { curve: each } of answers.values()) {
      const found = each?.points.find((point) => sameOutlines(point.outlines, planned));
      if (found) return found;
    }
    return sameOutlines(planned, base) ? curve.current : null;
  }

  /** What a degree of head tilt would make of the pair that is shown. */
  function showRoll() {
    const symmetry = report?.planned_symmetry;
    rollLine.hidden = !symmetry;
    if (!symmetry) return;
    const across = [symmetry.mean_distance_mm, ...symmetry.roll_band_mm];
    setText(rollLine, text("balance.roll", { low: inMm(Math.min(...across)), high: inMm(Math.max(...across)) }));
  }

  return {
    render(plan) {
      if (!isShown) return;
      rules.render(plan);
      if (isDragging && store.isPreview) return;
      if (!store.isPreview) ask();
      draw();
    },
    enter() {
      isShown = true;
      app.setStageMode("look");
    },
    leave() {
      chart.abort();
      if (isDragging) drop();
      isShown = false;
    },
    /** Another plan was opened: nothing that was asked holds any more. */
    loaded() {
      chart.abort();
      isDragging = false;
      answers.clear();
      curves.cancel();
      rulesKey = "";
      base = null;
      before = null;
      index = null;
      put = null;
      isDrawn = false;
      explainedFor = "";
    },
    report(latest) {
      report = latest;
      if (isShown) showRoll();
    },
  };
}
