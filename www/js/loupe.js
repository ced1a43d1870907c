// The loupe: what lies under the finger, enlarged, in the upper corner away from the hand.

const SIZE = 148;
const INSET = 10;
/** How many times larger than on the stage. */
const FACTOR = 3;
const HAIR = 15;
const GAP = 5;

/** `draw(context, matrix, size)` draws the stage's picture through another view. */
export function createLoupe(root, { draw, magnified }) {
  const canvas = document.createElement("canvas");
  canvas.className = "loupe";
  canvas.setAttribute("aria-hidden", "true");
  canvas.hidden = true;
  Object.assign(canvas.style, {
    position: "absolute", top: `${INSET}px`, width: `${SIZE}px`, height: `${SIZE}px`, inset: "auto",
    borderRadius: "50%", pointerEvents: "none", zIndex: "5", touchAction: "none",
    boxShadow: "0 0 0 2px #ffffffe6, 0 0 0 3px #10141a99, 0 6px 20px #00000059",
  });
  canvas.style.top = `${INSET}px`;
  root.append(canvas);
  const context = canvas.getContext("2d");

  const crosshair = () => {
    const middle = SIZE / 2;
    const path = new Path2D();
    for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
      path.moveTo(middle + GAP * dx, middle + GAP * dy);
      path.lineTo(middle + (GAP + HAIR) * dx, middle + (GAP + HAIR) * dy);
    }
    for (const [lineWidth, strokeStyle] of [[6, "#10141a66"], [4, "#ffffff"], [2, "#10141a"]]) {
      Object.assign(context, { lineWidth, strokeStyle });
      context.stroke(path);
    }
  };

  return {
    /** Shows what lies around a place of the stage. */
    show({ x, y, stageWidth, density, ground }) {
      const pixels = Math.round(SIZE * density);
      if (canvas.width !== pixels) {
        canvas.width = pixels;
        canvas.height = pixels;
      }
      const isLeft = x > stageWidth / 2;
      canvas.style.left = isLeft ? `${INSET}px` : "auto";
      canvas.style.right = isLeft ? "auto" : `${INSET}px`;
      canvas.hidden = false;
      const ratio = pixels / SIZE;
      context.setTransform(ratio, 0, 0, ratio, 0, 0);
      context.fillStyle = ground;
      context.fillRect(0, 0, SIZE, SIZE);
      draw(context, magnified(x, y, FACTOR, SIZE), SIZE, ratio);
      context.setTransform(ratio, 0, 0, ratio, 0, 0);
      crosshair();
    },
    hide() {
      // Asked at every frame.
      if (!canvas.hidden) canvas.hidden = true;
    },
  };
}
