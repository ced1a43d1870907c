// Keeps the work on this device, and says plainly when it could not.

import { storeWork } from "./storage.js";

/** Quiet time after the last change before it is stored, ms. */
const QUIET_MS = 500;

/** Watches the store; `state()` gives {planText, photo, posePhotos, isDemo, isInFile}, `show(state, detail)` tells the person. */
export function createAutosave({ state, show }) {
  let timer = 0;
  let isWriting = false;
  let isDirty = false;
  let storedPhotoId;
  let storedPoseIds = [];
  let storedText = "";
  let storedInFile = false;

  async function write() {
    clearTimeout(timer);
    if (isWriting) {
      isDirty = true;
      return;
    }
    const { planText, photo, posePhotos, isDemo, isInFile } = state();
    const photoId = photo?.id ?? null;
    const poseIds = posePhotos.map(({ id }) => id);
    const newPoses = posePhotos.filter(({ id }) => !storedPoseIds.includes(id));
    const gonePoses = storedPoseIds.filter((id) => !poseIds.includes(id));
    if (planText === storedText && photoId === storedPhotoId && isInFile === storedInFile && newPoses.length + gonePoses.length === 0) return;
    isWriting = true;
    isDirty = false;
    try {
      const stored = photoId === storedPhotoId ? undefined : photo ? { id: photo.id, bytes: await photo.bytes, type: photo.type } : null;
      const poses = await Promise.all(newPoses.map(async ({ id, bytes, type }) => ({ id, bytes: await bytes, type })));
      await storeWork({ text: planText, photoId, isDemo, isInFile, savedAt: new Date().toISOString() }, stored, poses, gonePoses);
      storedPhotoId = photoId;
      storedPoseIds = poseIds;
      storedText = planText;
      storedInFile = isInFile;
      show("saved", new Date());
    } catch (error) {
      show("failed", error);
    } finally {
      isWriting = false;
      if (isDirty) later();
    }
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
    startFrom(text, photoId, isInFile = false, poseIds = []) {
      storedPoseIds = poseIds;
      storedText = text;
      storedInFile = isInFile;
      storedPhotoId = photoId;
    },
  };
}
