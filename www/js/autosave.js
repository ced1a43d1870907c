// Keeps the work on this device, and says plainly when it could not.

import { storeCase } from "./storage.js";

/** Quiet time after the last change before it is stored, ms. */
const QUIET_MS = 500;

/** Watches the work; `state()` gives `{head, planText, photos, thumbKey, thumb}`: the head as far as it does not depend on when,
 *  all photos `[{id, bytes, type}]` with `bytes` being promises, and the thumbnail by a key that says whether it is another one.
 *  `show(state, detail)` tells the person. */
export function createAutosave({ state, show }) {
  let timer = 0;
  /** What is stored for certain: `{head, planText, photoIds, thumbKey, changedAt}`. */
  let stored = null;
  let latest = null;
  let queue = Promise.resolve(true);

  const isSame = (one, other) =>
    one !== null && one.planText === other.planText && one.thumbKey === other.thumbKey && JSON.stringify(one.head) === JSON.stringify(other.head) && one.photoIds.join() === other.photoIds.join();

  async function store(now) {
    if (isSame(stored, now)) return;
    const before = stored?.head.id === now.head.id ? stored : { photoIds: [], thumbKey: null };
    const newPhotos = await Promise.all(now.photos.filter(({ id }) => !before.photoIds.includes(id)).map(async ({ id, bytes, type }) => ({ id, bytes: await bytes, type })));
    const gonePhotos = before.photoIds.filter((id) => !now.photoIds.includes(id));
    const thumb = now.thumbKey === before.thumbKey ? undefined : await now.thumb();
    const at = new Date();
    // That a file holds it now is no change of the work.
    const changedAt = before.planText === now.planText ? before.changedAt : at.toISOString();
    await storeCase({ head: { ...now.head, changedAt }, text: now.planText, newPhotos, gonePhotos, thumb });
    stored = { head: now.head, planText: now.planText, photoIds: now.photoIds, thumbKey: now.thumbKey, changedAt };
    show("saved", at);
  }

  /** Stores what is in work now; resolves to whether it is stored. */
  function write() {
    clearTimeout(timer);
    const given = state();
    const now = { ...given, photoIds: given.photos.map(({ id }) => id) };
    if (latest && isSame(latest, now)) return queue;
    latest = now;
    queue = queue.then(() => store(now)).then(() => true, (error) => {
      // Everything is new to a store that failed, and tried again with the next change.
      stored = null;
      latest = null;
      show("failed", error);
      return false;
    });
    return queue;
  }

  function later() {
    clearTimeout(timer);
    timer = setTimeout(write, QUIET_MS);
  }

  addEventListener("visibilitychange", () => document.visibilityState === "hidden" && write());
  addEventListener("pagehide", write);

  return {
    later,
    now: write,
    /** What is stored already, after a start from it. */
    startFrom({ changedAt, ...head }, planText, photoIds, thumbKey) {
      stored = { head, planText, photoIds, thumbKey, changedAt };
      latest = stored;
    },
  };
}
