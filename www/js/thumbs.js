// Small pictures of cases: the brows and what is around them.

/** px. */
const WIDTH = 192;
const HEIGHT = 112;
/** What is shown of a face, in distances between the pupils: so wide, and its middle so far above them. */
const ACROSS = 2.1;
const ABOVE = 0.22;
const QUALITY = 0.8;

const eyesOf = (landmarks) => ["right", "left"].map((side) => landmarks[`pupil.${side}`] ?? landmarks[`inner_corner.${side}`]);

/** The part of a picture that a thumbnail shows, px: around the brows where the eyes were placed, else its middle. */
function part({ width, height }, landmarks) {
  const ratio = HEIGHT / WIDTH;
  const [one, other] = eyesOf(landmarks);
  if (one && other) {
    const apart = Math.hypot(one.x_px - other.x_px, one.y_px - other.y_px);
    const across = ACROSS * apart;
    return [(one.x_px + other.x_px - across) / 2, (one.y_px + other.y_px - across * ratio) / 2 - ABOVE * apart, across, across * ratio];
  }
  const across = Math.min(width, height / ratio);
  return [(width - across) / 2, (height - across * ratio) / 2, across, across * ratio];
}

/** Says whether a thumbnail is another one. */
export const thumbKey = (photoId, landmarks) => (photoId ? JSON.stringify([photoId, eyesOf(landmarks)]) : "");

/** The thumbnail as bytes of a JPEG; `undefined` where there is no picture. */
export async function makeThumb(bitmap, landmarks) {
  if (!bitmap?.width) return undefined;
  const canvas = document.createElement("canvas");
  canvas.width = WIDTH;
  canvas.height = HEIGHT;
  const context = canvas.getContext("2d");
  context.imageSmoothingQuality = "high";
  context.drawImage(bitmap, ...part(bitmap, landmarks), 0, 0, WIDTH, HEIGHT);
  const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg", QUALITY));
  return blob?.arrayBuffer();
}
