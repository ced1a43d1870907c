// The photos of the poses, by the key that the plan names them with. One is decoded at a time: a tablet has no room for all.

import { restorePhoto } from "./photo.js";

/** `changed()` is told when a photo that was asked for is there to be drawn. */
export function createPosePhotos(changed) {
  let photos = new Map();

  /** Lets go of every picture but this one; its file stays. */
  function keepOnly(key) {
    for (const [other, photo] of photos) {
      if (other === key || !photo.bitmap) continue;
      photo.bitmap.close?.();
      photo.bitmap = null;
    }
  }

  async function decode(key, photo) {
    photo.isDecoding = true;
    try {
      const { bitmap } = await restorePhoto({ bytes: await photo.bytes, type: photo.type });
      photo.bitmap = bitmap;
      keepOnly(key);
      changed();
    } catch {
      // The panel asks for it again, as if it were not there; what is stored stays, for a day with more memory.
      photo.isBroken = true;
      changed();
    } finally {
      photo.isDecoding = false;
    }
  }

  return {
    add(key, { bitmap, bytes, type }) {
      photos.set(key, { bitmap, bytes, type, isDecoding: false });
      keepOnly(key);
    },
    has: (key) => photos.has(key) && !photos.get(key).isBroken,
    /** The picture, or `null` while it is not decoded or not there. */
    bitmap(key) {
      const photo = photos.get(key);
      if (photo && !photo.bitmap && !photo.isDecoding && !photo.isBroken) decode(key, photo);
      return photo?.bitmap ?? null;
    },
    /** What is to be stored of these: `[{id, bytes, type}]`, `bytes` being promises. */
    files: (keys) => keys.filter((key) => photos.has(key)).map((key) => ({ id: key, bytes: photos.get(key).bytes, type: photos.get(key).type })),
    /** All of them, to be put back later by `replace`. */
    all: () => photos,
    replace(others) {
      keepOnly(null);
      photos = others;
    },
  };
}

/** Those that were stored, `[{id, bytes, type}]`, as they are kept here. */
export function storedPosePhotos(stored) {
  return new Map(stored.map(({ id, bytes, type }) => [id, { bitmap: null, bytes: Promise.resolve(bytes), type, isDecoding: false }]));
}

/** Names the photo of the touch-up where poses are named. */
export const TOUCH_UP = "touch_up";

/** What a plan says of the photo of a pose, or of the touch-up; `null` without one. */
export function photoOfPose(plan, id) {
  return (id === TOUCH_UP ? plan?.touch_up?.photo : plan?.poses?.[id]?.photo) ?? null;
}

/** The keys of all photos beside its own that a plan names. */
export function posePhotoKeys(plan) {
  return [...Object.keys(plan?.poses ?? {}), TOUCH_UP].map((id) => photoOfPose(plan, id)?.key).filter(Boolean);
}
