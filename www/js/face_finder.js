// Asks what is guessed of the face on a photo. The worker is made when it is first wanted, and anew after it has failed.

import { isCarried, startWorker } from "./assets.js";

/** Longest side of the picture that is looked at, px: what the guesses were measured with, and small enough for any tablet. */
const SIDE_PX = 1400;
/** A worker that says nothing for so long will not, ms. */
const WAIT_MS = 60_000;

let worker = null;
/** What was found on the photo that was looked at last: `{bitmap, mirrored, found}`. */
let last = null;

/** The pixels of a picture, made smaller, and by how much. */
export function pixelsOf(bitmap) {
  const scale = Math.min(1, SIDE_PX / Math.max(bitmap.width, bitmap.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(bitmap.width * scale);
  canvas.height = Math.round(bitmap.height * scale);
  const context = canvas.getContext("2d", { willReadFrequently: true });
  context.imageSmoothingQuality = "high";
  context.drawImage(bitmap, 0, 0, canvas.width, canvas.height);
  const { data, width, height } = context.getImageData(0, 0, canvas.width, canvas.height);
  canvas.width = 0;
  canvas.height = 0;
  return { data, width, height, scale: width / bitmap.width };
}

/** An answer in px of the photo, where it is in px of a smaller picture: every number and list whose name ends in `_px`. */
function enlarged(value, by) {
  const times = (px) => (Array.isArray(px) ? px.map(times) : px * by);
  if (Array.isArray(value)) return value.map((each) => enlarged(each, by));
  if (value === null || typeof value !== "object") return value;
  return Object.fromEntries(Object.entries(value).map(([name, each]) => [name, name.endsWith("_px") ? times(each) : enlarged(each, by)]));
}

/** What was found on this photo already, or `null`. */
export function alreadyFound(bitmap, mirrored) {
  return last?.bitmap === bitmap && last.mirrored === mirrored ? last.found : null;
}

/** `{points: [{id, x_px, y_px, sd_px, is_seed}], brows: {right, left}}` in px of the photo, or `{problem}`. `pupils` are known places of them, px, or
 *  none. */
export function findFace(bitmap, { mirrored, pupils = [] }) {
  return new Promise((resolve) => {
    // One file carries no face network: it would be five times as large.
    if (!isCarried("js/face_worker.js")) {
      resolve({ problem: "missing" });
      return;
    }
    let picture;
    try {
      picture = pixelsOf(bitmap);
    } catch {
      resolve({ problem: "failed" });
      return;
    }
    const { data, width, height, scale } = picture;
    worker ??= startWorker("js/face_worker.js", []);
    const end = (answer) => {
      clearTimeout(timer);
      worker?.removeEventListener("message", told);
      worker?.removeEventListener("error", failed);
      if (answer.problem === "missing" || answer.problem === "failed") {
        worker?.terminate();
        worker = null;
      }
      if (answer.points) last = { bitmap, mirrored, found: answer };
      resolve(answer);
    };
    const told = ({ data: answer }) => end(enlarged(answer, 1 / scale));
    const failed = () => end({ problem: "failed" });
    const timer = setTimeout(failed, WAIT_MS);
    worker.addEventListener("message", told);
    worker.addEventListener("error", failed);
    worker.postMessage({ rgba: data.buffer, width, height, pupils: pupils.map((px) => px * scale), mirrored }, [data.buffer]);
  });
}
