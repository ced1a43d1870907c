// The page in a frame of another page: that page may ask for some things, and its own scrolling comes first.

import { button } from "./controls.js";
import { numbersOf } from "./embedded_numbers.js";
import { createEmbedding } from "./embedding.js";
import { text } from "./messages.js";

/** A finger on the stage first scrolls the page around; a tap wakes the stage, and touching anything else puts it to rest again. */
function restUntilTapped(stageRoot) {
  const root = document.documentElement;
  const wake = button(text("embed.wake"), { id: "embed-wake", kind: "embed-wake", on: () => set("awake") });
  const set = (state) => {
    root.dataset.embedded = state;
    wake.hidden = state === "awake";
  };
  stageRoot.append(wake);
  set("resting");
  // The page around took the focus.
  addEventListener("blur", () => set("resting"));
}

/** `asked` is what the address says, `step()` and `course()` what is open, `openCase({id, mode})` opens what comes with the page. */
export function beInFrame(app, { asked, step, course, openCase }) {
  const { store, engine, wording } = app;
  restUntilTapped(document.getElementById("stage-area"));

  async function load({ plan, case: id, mode }) {
    if (plan === undefined) return (await openCase({ id, mode: mode ?? "explore" })) ? null : text("fragment.case");
    try {
      const opened = engine.open(plan);
      course()?.leave({ bringBack: false });
      await app.showExample(opened, "");
      return null;
    } catch (error) {
      return wording.refusal(error);
    }
  }

  const embedding = createEmbedding({
    hosts: asked.hosts,
    ready: { version: app.version, case: asked.id, mode: asked.mode ?? "explore", language: document.documentElement.lang },
    acts: {
      load,
      state: () => ({ plan: engine.shareable(store.keptText), step: step() }),
      report: () => numbersOf(engine.report(store.keptText)),
      result: () => course()?.result() ?? null,
    },
  });
  store.subscribe(({ type }) => type !== "preview" && embedding.changed());
  return embedding;
}
