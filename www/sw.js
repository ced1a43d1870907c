// The page without a network: every file of a release, kept in a cache of its own by its sum. It never touches the work, which is in IndexedDB.
//
// `cargo xtask release` writes the list; without one (`serve`) nothing is registered. A newer release is fetched beside the present one and waits until a
// person says so. A kept file that is missing or changed is fetched again; where that cannot be, the page says what to do.

const RELEASE = { version: "", files: [] };
const PREFIX = "counterpoise-";
const CACHE = `${PREFIX}${RELEASE.version}`;
const PAGE = "index.html";
/** Files that are fetched at once: a tablet does more no faster. */
const AT_ONCE = 6;

const address = (path) => new URL(path, registration.scope).href;
/** `{bytes, sum}` by address. */
const files = new Map(RELEASE.files.map(([path, bytes, sum]) => [address(path), { bytes, sum }]));
/** What was found whole since this worker was started. */
const whole = new Set();

const hex = (bytes) => Array.from(new Uint8Array(bytes), (byte) => byte.toString(16).padStart(2, "0")).join("");

async function isWhole(response, { bytes, sum }) {
  const body = await response.clone().arrayBuffer();
  return body.byteLength === bytes && hex(await crypto.subtle.digest("SHA-256", body)) === sum;
}

/** A file as it was released, from the network. Throws where there is none, or another. */
async function fetched(at) {
  const response = await fetch(new Request(at, { cache: "reload" }));
  if (!response.ok || response.redirected || !(await isWhole(response, files.get(at)))) throw new Error(`${at}: not of this release`);
  return response;
}

/** Brings these files into the cache; from an older release's where that has the same. */
async function bring(list) {
  const cache = await caches.open(CACHE);
  const older = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== CACHE);
  const one = async (at) => {
    for (const cacheName of older) {
      const kept = await caches.match(at, { cacheName });
      if (kept && (await isWhole(kept, files.get(at)))) return cache.put(at, kept);
    }
    return cache.put(at, await fetched(at));
  };
  const left = [...list];
  await Promise.all(Array.from({ length: AT_ONCE }, async () => {
    while (left.length) await one(left.pop());
  }));
}

async function missing() {
  const kept = new Set((await (await caches.open(CACHE)).keys()).map(({ url }) => url));
  return [...files.keys()].filter((at) => !kept.has(at));
}

/** A kept file, mended where it is not whole. Throws where it cannot be. */
async function kept(at) {
  const cache = await caches.open(CACHE);
  const found = await cache.match(at);
  if (found && (whole.has(at) || (await isWhole(found, files.get(at))))) {
    whole.add(at);
    return found;
  }
  const response = await fetched(at);
  await cache.put(at, response.clone());
  whole.add(at);
  return response;
}

/** What stands in the browser's window where the page itself is lost and there is no network. */
const lost = () => new Response(
  "<!doctype html><html lang=\"en\"><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width\"><title>Counterpoise</title><h1>Counterpoise</h1><p>Part of this copy of the page is lost. Connect to the network once and open it again. Your cases are still on this device.</p>",
  { status: 503, headers: { "Content-Type": "text/html; charset=utf-8" } });

async function page() {
  try {
    // What is lost is brought again before the page asks for it.
    const gone = await missing();
    if (gone.length) await bring(gone).catch(() => {});
    return await kept(address(PAGE));
  } catch {
    try {
      // There is a newer release, and this one cannot be made whole: the newer one takes over from the network.
      const response = await fetch(address(PAGE), { cache: "reload" });
      if (!response.ok) return lost();
      await caches.delete(CACHE);
      await registration.unregister();
      return response;
    } catch {
      return lost();
    }
  }
}

/** Any other file: kept, mended, or whatever the network has. */
const other = (at) => kept(at).catch(() => fetch(at)).catch(() => new Response(null, { status: 503 }));

addEventListener("install", (event) => event.waitUntil(bring(files.keys())));

addEventListener("activate", (event) => event.waitUntil((async () => {
  const older = (await caches.keys()).filter((name) => name.startsWith(PREFIX) && name !== CACHE);
  await Promise.all(older.map((name) => caches.delete(name)));
  await clients.claim();
})()));

addEventListener("message", ({ data }) => {
  if (data === "take over") skipWaiting();
});

addEventListener("fetch", (event) => {
  const { request } = event;
  if (request.method !== "GET") return;
  const { origin, pathname } = new URL(request.url);
  const at = origin + pathname;
  if (request.mode === "navigate" && (at === registration.scope || at === address(PAGE))) event.respondWith(page());
  else if (files.has(at) && at !== address(PAGE)) event.respondWith(other(at));
});
