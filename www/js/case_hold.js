// Who works on a case: of all windows that show it, one (Web Locks). The others show what it was when they opened it.

const PREFIX = "counterpoise.case.";
/** How long a window that is just being closed may hold on to a case, ms. */
const CLOSING_MS = 400;
/** How long a window may take to store its work and let go when another asks for the case, ms. One that sleeps does not answer. */
const GIVE_UP_MS = 3000;

/** `giveUp()` stores what is in work, once another window asks for it; `lost()` is told when the case is another window's. */
export function createCaseHold({ giveUp, lost }) {
  const { locks } = navigator;
  let held = null;
  let wanted = null;
  const channel = globalThis.BroadcastChannel ? new BroadcastChannel("counterpoise.cases") : null;

  function letGo() {
    held?.release();
    held = null;
  }

  /** Resolves to whether this window has the case. */
  function ask(id, options) {
    return new Promise((resolve) => {
      locks.request(PREFIX + id, options, (lock) => {
        resolve(Boolean(lock));
        // Another case was opened in the meantime.
        if (!lock || wanted !== id) return undefined;
        letGo();
        return new Promise((release) => { held = { id, release }; });
      }).catch((error) => {
        if (held?.id === id && !options.signal?.aborted) {
          // Another window took it by force, as this one did not answer.
          held = null;
          lost();
        }
        // A page that may not lock may not store either: nobody else has its cases.
        resolve(error?.name === "SecurityError");
      });
    });
  }

  function askFor(id, ms) {
    const patience = new AbortController();
    const timer = setTimeout(() => patience.abort(), ms);
    return ask(id, { signal: patience.signal }).finally(() => clearTimeout(timer));
  }

  channel?.addEventListener("message", async ({ data }) => {
    if (typeof data?.take !== "string" || data.take !== held?.id) return;
    await giveUp();
    if (data.take !== held?.id) return;
    letGo();
    lost();
  });

  return {
    /** Makes a case this window's, in place of the one it had, and resolves to whether it is: another window may have it. `null` is no case. */
    async claim(id) {
      if (!locks || held?.id === id) return true;
      wanted = id;
      letGo();
      if (id === null) return true;
      return (await ask(id, { ifAvailable: true })) || askFor(id, CLOSING_MS);
    },
    /** Makes a case this window's that another has: that one stores its work first, if it still can. */
    async take(id) {
      wanted = id;
      channel?.postMessage({ take: id });
      return (await askFor(id, GIVE_UP_MS)) || ask(id, { steal: true });
    },
    /** The cases that other windows have. */
    async elsewhere() {
      const found = await locks?.query().catch(() => null);
      const ids = (found?.held ?? []).filter(({ name }) => name.startsWith(PREFIX)).map(({ name }) => name.slice(PREFIX.length));
      return new Set(ids.filter((id) => id !== held?.id));
    },
  };
}
