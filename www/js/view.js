// The view: from photo px or face mm to CSS px of the stage. The only geometry of the page.
//
// With a photo the view hangs on the photo (base "image", y down), so that nothing jumps while landmarks move; without one
// it hangs on the face (base "face", mm, y up). `mirror` turns the view only; the plan knows nothing of it.

/** Most device px of a canvas: tablets fail silently beyond 16.7 million. */
export const CANVAS_PX = 16_000_000;
/** More device px per CSS px than this cost time and show nothing. */
const MOST_DPR = 2;
/** Around what is fitted, part of the stage on each side. */
const MARGIN = 0.04;
/** Largest scale: CSS px per photo px, and per mm. */
const MOST_SCALE = { image: 24, face: 160 };
/** The whole can be shrunk to this part of the fitted size. */
const LEAST_OF_FIT = 0.4;

const SIGN = { right: -1, left: 1 };

const invert = ([a, b, c, d, e, f]) => {
  const det = a * d - b * c;
  return [d / det, -b / det, -c / det, a / det, (c * f - d * e) / det, (b * e - a * f) / det];
};
const at = ([a, b, c, d, e, f], x, y) => ({ x: a * x + c * y + e, y: b * x + d * y + f });

export function createView() {
  let base = "face";
  let width = 0;
  let height = 0;
  let scale = 1;
  let fitted = 1;
  let centre = { x: 0, y: 15 };
  let mirror = false;
  let limits = null;
  let imageFromFace = null;

  const up = () => (base === "face" ? -1 : 1);
  const matrix = () => {
    const a = mirror ? -scale : scale;
    const d = up() * scale;
    return [a, 0, 0, d, width / 2 - a * centre.x, height / 2 - d * centre.y];
  };
  const clamp = (value, low, high) => Math.min(Math.max(value, low), Math.max(low, high));
  const settle = () => {
    scale = clamp(scale, fitted * LEAST_OF_FIT, MOST_SCALE[base]);
    if (!limits) return;
    // The middle of the stage never leaves the picture, so that it cannot be lost.
    centre = { x: clamp(centre.x, limits[0], limits[2]), y: clamp(centre.y, limits[1], limits[3]) };
  };
  const screenFromFace = (x, y) => {
    if (base === "face") return at(matrix(), x, y);
    if (!imageFromFace) return null;
    const { x: px, y: py } = at(imageFromFace, x, y);
    return at(matrix(), px, py);
  };

  return {
    get base() {
      return base;
    },
    get width() {
      return width;
    },
    get height() {
      return height;
    },
    get scale() {
      return scale;
    },
    get mirror() {
      return mirror;
    },
    get hasFrame() {
      return base === "face" || imageFromFace !== null;
    },
    matrix,

    /** Device px per CSS px for a stage of this size. */
    density(ratio) {
      const most = Math.sqrt(CANVAS_PX / Math.max(1, width * height));
      return Math.min(ratio, MOST_DPR, most);
    },

    /** A new size; the middle stays in the middle. */
    resize(nextWidth, nextHeight) {
      width = nextWidth;
      height = nextHeight;
      settle();
    },

    /** What the view hangs on; `within` is what there is to see, `[x0, y0, x1, y1]` in that base. */
    setBase(next, within) {
      base = next;
      limits = within;
      imageFromFace = null;
    },

    setMirror(isOn) {
      mirror = isOn;
    },

    /** The frame of the last drawing, or `null`. */
    setFrame(next) {
      imageFromFace = next ?? null;
    },

    /** Shows all of a box of the base. */
    fit([x0, y0, x1, y1]) {
      if (!(width > 0 && height > 0 && x1 > x0 && y1 > y0)) return;
      const room = 1 - 2 * MARGIN;
      scale = Math.min((width * room) / (x1 - x0), (height * room) / (y1 - y0));
      centre = { x: (x0 + x1) / 2, y: (y0 + y1) / 2 };
      fitted = scale;
      if (limits) fitted = Math.min(fitted, (width * room) / (limits[2] - limits[0]), (height * room) / (limits[3] - limits[1]));
      settle();
    },

    /** Scales about a place of the stage. */
    zoom(factor, x, y) {
      const before = at(invert(matrix()), x, y);
      scale *= factor;
      settle();
      const after = at(matrix(), before.x, before.y);
      this.pan(x - after.x, y - after.y);
    },

    /** Shifts the picture by CSS px. */
    pan(dx, dy) {
      centre = { x: centre.x - (mirror ? -dx : dx) / scale, y: centre.y - (up() * dy) / scale };
      settle();
    },

    /** The same view scaled so that this place of the stage comes to the middle of a small drawing. */
    magnified(x, y, factor, size) {
      const [a, b, c, d, e, f] = matrix();
      return [a * factor, b * factor, c * factor, d * factor, (e - x) * factor + size / 2, (f - y) * factor + size / 2];
    },

    screenFromBase: (x, y) => at(matrix(), x, y),
    baseFromScreen: (x, y) => at(invert(matrix()), x, y),
    screenFromFace,
    /** From a side's `(out, up)` in mm; `null` without a frame. */
    screenFromSide: (side, out, upMm) => screenFromFace(SIGN[side] * out, upMm),
    /** To a side's `(out, up)` in mm; `null` without a frame. */
    sideFromScreen(side, x, y) {
      let point = at(invert(matrix()), x, y);
      if (base === "image") {
        if (!imageFromFace) return null;
        point = at(invert(imageFromFace), point.x, point.y);
      }
      return { out: SIGN[side] * point.x, up: point.y };
    },
  };
}
