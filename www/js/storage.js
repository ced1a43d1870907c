// The work on this device: one record with the plan, one with the photo, one for each photo of a pose, in IndexedDB. Always ArrayBuffer and plain
// JSON, never Blob: private WebKit sessions refuse Blobs. This is a cache of the work; the plan file is its safe copy.

const DATABASE = "counterpoise";
const STORE = "work";
const VERSION = 1;
/** The records of poses' photos; the end of the range is the last sign that there is. */
const poseKey = (id) => `pose:${id}`;
const ALL_POSES = ["pose:", "pose:\uffff"];

function open() {
  return new Promise((resolve, reject) => {
    // Throws where storage is refused altogether (sandboxed frames); the promise then rejects as well.
    const request = indexedDB.open(DATABASE, VERSION);
    request.onupgradeneeded = () => request.result.createObjectStore(STORE);
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
    request.onblocked = () => reject(new DOMException("blocked", "InvalidStateError"));
  });
}

async function inTransaction(mode, work) {
  const database = await open();
  try {
    return await new Promise((resolve, reject) => {
      const transaction = database.transaction(STORE, mode);
      const result = work(transaction.objectStore(STORE));
      transaction.oncomplete = () => resolve(result());
      transaction.onerror = () => reject(transaction.error);
      transaction.onabort = () => reject(transaction.error ?? new DOMException("aborted", "AbortError"));
    });
  } finally {
    database.close();
  }
}

/** What was stored: {plan: {text, photoId, isDemo, savedAt} | undefined, photo: {id, bytes, type} | undefined,
 *  posePhotos: [{id, bytes, type}]}. */
export function loadWork() {
  return inTransaction("readonly", (store) => {
    const plan = store.get("plan");
    const photo = store.get("photo");
    const posePhotos = store.getAll(IDBKeyRange.bound(...ALL_POSES));
    return () => ({ plan: plan.result, photo: photo.result, posePhotos: posePhotos.result });
  });
}

/** Stores the plan and, where given, the photo (`null` forgets it), with new photos of poses and without those that are gone:
 *  all of it or nothing. Then reads the plan back. */
export async function storeWork(plan, photo, newPoses, gonePoses) {
  await inTransaction("readwrite", (store) => {
    store.put(plan, "plan");
    if (photo === null) store.delete("photo");
    else if (photo !== undefined) store.put(photo, "photo");
    for (const pose of newPoses) store.put(pose, poseKey(pose.id));
    for (const id of gonePoses) store.delete(poseKey(id));
    return () => undefined;
  });
  const stored = await inTransaction("readonly", (store) => {
    const request = store.get("plan");
    return () => request.result;
  });
  if (stored?.text !== plan.text) throw new DOMException("not read back", "DataError");
}

/** Forgets everything on this device. */
export function forgetWork() {
  return inTransaction("readwrite", (store) => {
    store.clear();
    return () => undefined;
  });
}
