// The case book on this device, in IndexedDB. Always ArrayBuffer and plain JSON, never Blob: private WebKit sessions refuse
// Blobs. This is a cache of the work; exported files are its safe copy.
//
// A case is a head (what the list shows of it), its plan's text, its photos and a thumbnail, each in a store of its own, so that the list
// reads heads alone. All of a case is written in one transaction: all of it or nothing.

import { hex } from "./hex.js";

const DATABASE = "counterpoise";
const VERSION = 2;
const STORES = ["heads", "plans", "photos", "thumbs", "state"];
/** The one store of the first version: one case. */
const OLD_STORE = "work";
/** In `state`: the id of the case in work. */
const CURRENT = "current";

const photoKey = (caseId, id) => [caseId, id];
/** Everything whose key begins with this case: an array sorts after every text. */
const photosOf = (caseId) => IDBKeyRange.bound([caseId], [caseId, []]);

/** An id that nobody else gives, of a case or a photo: 128 random bits, hexadecimal. */
export function newId() {
  return hex(crypto.getRandomValues(new Uint8Array(16)));
}

function open() {
  return new Promise((resolve, reject) => {
    // Throws where storage is refused altogether (sandboxed frames); the promise then rejects as well.
    const request = indexedDB.open(DATABASE, VERSION);
    request.onupgradeneeded = ({ oldVersion }) => {
      const database = request.result;
      for (const name of STORES) database.createObjectStore(name, name === "heads" ? { keyPath: "id" } : undefined);
      if (oldVersion === 1) bringOver(database, request.transaction);
    };
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
    request.onblocked = () => reject(new DOMException("blocked", "InvalidStateError"));
  });
}

/** The one case of the first version, as a case of the book. */
function bringOver(database, transaction) {
  const old = transaction.objectStore(OLD_STORE);
  const [keys, values] = [old.getAllKeys(), old.getAll()];
  values.onsuccess = () => {
    const found = new Map(keys.result.map((key, i) => [key, values.result[i]]));
    const plan = found.get("plan");
    if (plan) {
      const id = newId();
      const { label = "", date = "" } = JSON.parse(plan.text).case ?? {};
      transaction.objectStore("heads").put({
        id, label, date, changedAt: plan.savedAt, exportedAt: null, isInFile: Boolean(plan.isInFile), isDemo: Boolean(plan.isDemo), isBlank: false,
        photoId: plan.photoId ?? null, agreedAt: null });
      transaction.objectStore("plans").put(plan.text, id);
      for (const [key, photo] of found) if (key !== "plan") transaction.objectStore("photos").put(photo, photoKey(id, photo.id));
      transaction.objectStore("state").put(id, CURRENT);
    }
    database.deleteObjectStore(OLD_STORE);
  };
}

async function inTransaction(mode, work) {
  const database = await open();
  try {
    return await new Promise((resolve, reject) => {
      const transaction = database.transaction(STORES, mode);
      const [heads, plans, photos, thumbs, state] = STORES.map((name) => transaction.objectStore(name));
      let result;
      transaction.oncomplete = () => resolve(result?.());
      transaction.onerror = () => reject(transaction.error);
      transaction.onabort = () => reject(transaction.error ?? new DOMException("aborted", "AbortError"));
      // What throws in mid-work takes back what was done before it.
      const attempt = (act) => {
        try {
          return act();
        } catch (error) {
          transaction.abort();
          reject(error);
          return undefined;
        }
      };
      result = attempt(() => work({ heads, plans, photos, thumbs, state }, attempt));
    });
  } finally {
    database.close();
  }
}

function read({ heads, plans, photos }, id) {
  const [head, text, pictures] = [heads.get(id), plans.get(id), photos.getAll(photosOf(id))];
  return () => (head.result && text.result !== undefined ? { head: head.result, text: text.result, photos: pictures.result } : null);
}

/** The case in work, `{head, text, photos: [{id, bytes, type}]}`, or `null`. */
export async function loadCurrent() {
  const id = await inTransaction("readonly", ({ state }) => {
    const request = state.get(CURRENT);
    return () => request.result;
  });
  return id === undefined ? null : loadCase(id);
}

/** One case, or `null` where there is none of this id. */
export function loadCase(id) {
  return inTransaction("readonly", (stores) => read(stores, id));
}

/** The heads of all cases that somebody works on: neither the demo nor one with nothing in it. */
export async function listCases() {
  const heads = await inTransaction("readonly", ({ heads: store }) => {
    const request = store.getAll();
    return () => request.result;
  });
  return heads.filter(isKept);
}

/** Whether a head is of a case that somebody works on. */
export const isKept = (head) => !head.isDemo && !head.isBlank;

/** The thumbnails of these cases: bytes of JPEGs by id, without those that have none. */
export function loadThumbs(ids) {
  return inTransaction("readonly", ({ thumbs }) => {
    const requests = ids.map((id) => [id, thumbs.get(id)]);
    return () => new Map(requests.filter(([, request]) => request.result).map(([id, request]) => [id, request.result]));
  });
}

function removeFrom({ heads, plans, photos, thumbs }, id) {
  heads.delete(id);
  plans.delete(id);
  thumbs.delete(id);
  photos.delete(photosOf(id));
}

/** The one that was in work before is dropped where it is the demo or has nothing in it. */
function setCurrent(stores, id) {
  const before = stores.state.get(CURRENT);
  before.onsuccess = () => {
    if (before.result === undefined || before.result === id) return;
    const old = stores.heads.get(before.result);
    old.onsuccess = () => old.result && !isKept(old.result) && removeFrom(stores, before.result);
  };
  stores.state.put(id, CURRENT);
}

/** Makes a case the one in work. */
export function makeCurrent(id) {
  return inTransaction("readwrite", (stores) => setCurrent(stores, id));
}

/** Stores what changed of a case and makes it the one in work; reads the plan back. `before` is what the caller believes is stored: where
 *  something of it is gone, or another window wrote another plan, nothing is stored. Gives `same`, `less` or `other`. */
export async function storeCase({ head, text, newPhotos, gonePhotos, thumb, before }) {
  const found = await inTransaction("readwrite", (stores, attempt) => {
    const [plan, photoKeys] = [stores.plans.get(head.id), stores.photos.getAllKeys(photosOf(head.id))];
    let result = "same";
    // Requests are answered in their order: this is the later one.
    photoKeys.onsuccess = () => attempt(() => {
      const photoIds = photoKeys.result.map(([, id]) => id);
      if (before.planText !== null && plan.result === undefined) result = "less";
      else if (before.planText !== null && plan.result !== before.planText) result = "other";
      else if (before.photoIds.some((id) => !photoIds.includes(id))) result = "less";
      if (result !== "same") return;
      stores.heads.put(head);
      stores.plans.put(text, head.id);
      for (const photo of newPhotos) stores.photos.put(photo, photoKey(head.id, photo.id));
      for (const id of gonePhotos) stores.photos.delete(photoKey(head.id, id));
      if (thumb) stores.thumbs.put(thumb, head.id);
      setCurrent(stores, head.id);
    });
    return () => result;
  });
  if (found !== "same") return found;
  const stored = await inTransaction("readonly", ({ plans }) => {
    const request = plans.get(head.id);
    return () => request.result;
  });
  if (stored !== text) throw new DOMException("not read back", "DataError");
  return found;
}

/** Adds a whole case, or puts it in place of the one with its id, without making it the one in work. */
export function addCase({ head, text, photos, thumb }) {
  return inTransaction("readwrite", (stores) => {
    removeFrom(stores, head.id);
    stores.heads.put(head);
    stores.plans.put(text, head.id);
    for (const photo of photos) stores.photos.put(photo, photoKey(head.id, photo.id));
    if (thumb) stores.thumbs.put(thumb, head.id);
  });
}

/** Remembers that these cases are in a file since then. */
export function markExported(ids, at) {
  return inTransaction("readwrite", ({ heads }) => {
    for (const id of ids) {
      const request = heads.get(id);
      request.onsuccess = () => request.result && heads.put({ ...request.result, exportedAt: at, isInFile: true });
    }
  });
}

/** Forgets cases, all in one go. */
export function removeCases(ids) {
  return inTransaction("readwrite", (stores) => ids.forEach((id) => removeFrom(stores, id)));
}

/** Forgets everything on this device. */
export function removeAll() {
  return inTransaction("readwrite", (stores) => Object.values(stores).forEach((store) => store.clear()));
}

/** `{used, free}` in bytes, as far as the browser tells; `null` where it does not. */
export async function storageLeft() {
  const found = await navigator.storage?.estimate?.().catch(() => null);
  return found?.quota ? { used: found.usage ?? 0, free: Math.max(0, found.quota - (found.usage ?? 0)) } : null;
}
