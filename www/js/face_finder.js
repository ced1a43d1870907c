// Asks for landmarks on a photo. The worker is made when it is first wanted, and anew after it has failed.

/** Longest side of the picture that is looked at, px: what the points were measured with, and small enough for any tablet. */
const SIDE_PX = 1400;
/** A worker that says nothing for so long will not, ms. */
const WAIT_MS = 60_000;

let worker = null;

/** The pixels of a picture, made smaller, and by how much. */
function pixelsOf(bitmap) {
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

/** `{points: [{id, x_px, y_px, sd_px, is_seed}]}` in px of the photo, or `{problem}`. `pupils` are known places of them, px, or none. */
export function findPoints(bitmap, { mirrored, pupils = [] }) {
  return new Promise((resolve) => {
    let picture;
    try {
      picture = pixelsOf(bitmap);
    } catch {
      resolve({ problem: "failed" });
      return;
    }
    const { data, width, height, scale } = picture;
    worker ??= new Worker(new URL("./face_worker.js", import.meta.url), { type: "module" });
    const end = (answer) => {
      clearTimeout(timer);
      worker?.removeEventListener("message", told);
      worker?.removeEventListener("error", failed);
      if (answer.problem === "missing" || answer.problem === "failed") {
        worker?.terminate();
        worker = null;
      }
      resolve(answer);
    };
    const told = ({ data: answer }) => end(answer.points
      ? { ...answer, points: answer.points.map((point) => ({ ...point, x_px: point.x_px / scale, y_px: point.y_px / scale, sd_px: point.sd_px / scale })) }
      : answer);
    const failed = () => end({ problem: "failed" });
    const timer = setTimeout(failed, WAIT_MS);
    worker.addEventListener("message", told);
    worker.addEventListener("error", failed);
    worker.postMessage({ rgba: data.buffer, width, height, pupils: pupils.map((px) => px * scale), mirrored }, [data.buffer]);
  });
}
