// The page without a network (`sw.js`): registered for a release, and a newer release taken when a person says so, after her work is saved.

import { isOneFile, trusted } from "./assets.js";
import { text } from "./messages.js";

/** A tablet may stay on for weeks: it is asked for a newer release when the page comes to the front, but not more often than this, ms. */
const ASK_AGAIN_MS = 3_600_000;

/** `save()` resolves to whether the work is stored. Gives `{state(), waiting(), take()}`: `file` (all of it is one), `none` (no release, or a
 *  browser that cannot), `preparing`, `ready` or `failed`. */
export function keepOffline({ messages, save, isFramed }) {
  const { serviceWorker } = navigator;
  let state = isOneFile() ? "file" : "none";
  let registration = null;
  let isTaking = false;

  /** Takes the newer release that is waiting: the page is loaded anew, once. */
  async function take() {
    if (!registration?.waiting) return;
    if (!(await save())) {
      messages.problem(text("offline.not_saved"));
      return;
    }
    isTaking = true;
    registration.waiting.postMessage("take over");
  }
  const offer = () => messages.note(text("offline.newer"), { text: text("offline.take"), act: take });

  function watch(worker) {
    worker?.addEventListener("statechange", () => {
      if (worker.state === "installed" && serviceWorker.controller) offer();
      if (worker.state === "activated") state = "ready";
      if (worker.state === "redundant" && state === "preparing") state = "failed";
    });
  }

  async function begin() {
    const hadController = Boolean(serviceWorker.controller);
    let hasChanged = false;
    serviceWorker.addEventListener("controllerchange", async () => {
      // The first one only begins to keep the page.
      if (!hadController && !hasChanged && !isTaking) {
        hasChanged = true;
        return;
      }
      if (isTaking) location.reload();
      else messages.note(text("offline.elsewhere"), { text: text("offline.reload"), act: async () => (await save()) && location.reload() });
    });
    try {
      state = "preparing";
      registration = await serviceWorker.register(trusted("sw.js"), { updateViaCache: "none" });
      if (registration.active) state = "ready";
      if (registration.waiting && serviceWorker.controller) offer();
      watch(registration.installing);
      registration.addEventListener("updatefound", () => watch(registration.installing));
    } catch (error) {
      // Refused, or no network at the first visit.
      console.warn(String(error));
      state = serviceWorker.controller ? "ready" : "failed";
    }
    // Not the time of day, which may jump.
    let asked = performance.now();
    addEventListener("visibilitychange", () => {
      if (document.visibilityState !== "visible" || performance.now() - asked < ASK_AGAIN_MS) return;
      asked = performance.now();
      registration?.update().catch(() => {});
    });
  }

  if (document.documentElement.dataset.release && serviceWorker && !isFramed) begin();
  return { state: () => state, waiting: () => Boolean(registration?.waiting), take };
}
