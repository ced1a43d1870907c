// Keeps the work on this device, and says plainly when it could not.

import { storeCase } from "./storage.js";

/** Watches the work; `state()` gives `{head, planText, photos, thumbKey, thumb}`: the head as far as it does not depend on when,
 *  all photos `[{id, bytes, type}]` with `bytes` being promises, and the thumbnail by a key that says whether it is another one.
 *  `show(state, detail)` tells the person. `changedElsewhere(id)` is asked for another id where another window wrote the case. */
export function createAutosave({ state, show, changedElsewhere }) {
  let isAsked = false;
  let isPaused = false;
  /** What is stored for certain: `{head, planText, photoIds, thumbKey, changedAt, readAs}`. */
  let stored = null;
  /** States that wait to be written, the newest of each case. */
  let waiting = [];
  let running = null;
  let gate = null;

  const isSame = (one, other) =>
    one !== null && one.planText === other.planText && one.thumbKey === other.thumbKey && JSON.stringify(one.head) === JSON.stringify(other.head) && one.photoIds.join() === other.photoIds.join();

  /** Writes what is new since `before`. Gives what the book had of the case: `same`, `less` or `other`. */
  async function put(now, before) {
    const newPhotos = await Promise.all(now.photos.filter(({ id }) => !before.photoIds.includes(id)).map(async ({ id, bytes, type }) => ({ id, bytes: await bytes, type })));
    const gonePhotos = before.photoIds.filter((id) => !now.photoIds.includes(id));
    const thumb = now.thumbKey === before.thumbKey ? undefined : await now.thumb();
    const at = new Date();
    // That a file holds it now, or that a newer version writes it in another way, is no change of the work.
    const changedAt = [before.planText, before.readAs].includes(now.planText) ? before.changedAt : at.toISOString();
    const found = await storeCase({ head: { ...now.head, changedAt }, text: now.planText, newPhotos, gonePhotos, thumb, before });
    if (found !== "same") return found;
    stored = { head: now.head, planText: now.planText, photoIds: now.photoIds, thumbKey: now.thumbKey, changedAt };
    show("saved", at);
    return found;
  }

  const NOTHING = { photoIds: [], thumbKey: null, planText: null };

  async function store(now) {
    if (isSame(stored, now)) return;
    const found = await put(now, stored?.head.id === now.head.id ? stored : NOTHING);
    if (found === "same") return;
    // Emptied behind our back: all of it is written. Written by another window: neither is lost.
    stored = null;
    const id = found === "other" ? changedElsewhere(now.head.id) : now.head.id;
    await put({ ...now, head: { ...now.head, id } }, NOTHING);
  }

  async function drain() {
    let isStored = true;
    await gate;
    while (waiting.length) {
      try {
        await store(waiting.shift());
        isStored = true;
      } catch (error) {
        // Everything is new to a store that failed, and tried again with the next change.
        stored = null;
        isStored = false;
        show("failed", error);
      }
    }
    running = null;
    return isStored;
  }

  /** Stores what is in work now; resolves to whether it is stored. */
  function write() {
    isAsked = false;
    if (isPaused) return Promise.resolve(true);
    const given = state();
    const now = { ...given, photoIds: given.photos.map(({ id }) => id) };
    waiting = [...waiting.filter(({ head }) => head.id !== now.head.id), now];
    running ??= drain();
    return running;
  }

  /** At once, but after what the person sees: a page can be ended at any moment. */
  function later() {
    if (isAsked) return;
    isAsked = true;
    setTimeout(() => isAsked && write());
  }

  addEventListener("visibilitychange", () => document.visibilityState === "hidden" && write());
  addEventListener("pagehide", write);

  return {
    later,
    now: write,
    /** Writes nothing, or again. */
    pause: (isOn) => { isPaused = isOn; },
    /** Writes nothing before this is over, well or not. */
    after: (work) => { gate = work.catch(() => {}); },
    /** What is stored already, after a start from it; `readAs` is how the core writes that plan. */
    startFrom({ changedAt, ...head }, planText, readAs, photoIds, thumbKey) {
      stored = { head, planText, readAs, photoIds, thumbKey, changedAt };
    },
  };
}
