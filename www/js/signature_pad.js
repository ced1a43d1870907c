// A field to sign in with finger, pen or mouse. What is drawn is kept as strokes, in thousandths of the field's height.

import { button } from "./controls.js";
import { el, svg } from "./dom.js";
import { text } from "./messages.js";

/** Width of the line, thousandths of the field's height. */
const LINE = 16;
/** A mark for who cannot draw here, made with witnesses: two crossing strokes in the middle. */
const CROSS = (middle) => [[[middle - 250, 250], [middle + 250, 750]], [[middle + 250, 250], [middle - 250, 750]]];

/** Strokes as a drawing of this shape, `width` in thousandths of its height. */
export function signatureDrawing(strokes, label) {
  const width = Math.max(1000, ...strokes.flat().map(([x]) => x + LINE));
  const line = (stroke) => svg("polyline", { points: (stroke.length === 1 ? [...stroke, stroke[0]] : stroke).map((at) => at.join(",")).join(" ") });
  return svg("svg", { viewBox: `0 0 ${width} 1000`, class: "signature", role: "img", "aria-label": label }, ...strokes.map(line));
}

/** `{node, strokes(), clear()}`; `changed()` is told when a stroke ends or all are taken away. */
export function createSignaturePad(changed) {
  const canvas = el("canvas", { id: "signature", class: "signature-field", tabindex: 0, role: "img", "aria-label": text("agree.signature") });
  let strokes = [];
  let drawn = null;
  let pointer = null;

  const place = (event, box) => {
    const scale = 1000 / box.height;
    return [(event.clientX - box.left) * scale, (event.clientY - box.top) * scale];
  };

  function paint() {
    const { width, height } = canvas.getBoundingClientRect();
    if (!width) return;
    const ratio = devicePixelRatio || 1;
    canvas.width = Math.round(width * ratio);
    canvas.height = Math.round(height * ratio);
    const context = canvas.getContext("2d");
    const scale = canvas.height / 1000;
    context.scale(scale, scale);
    Object.assign(context, { lineWidth: LINE, lineCap: "round", lineJoin: "round", strokeStyle: getComputedStyle(canvas).color });
    context.beginPath();
    for (const [first, ...rest] of strokes) {
      context.moveTo(...first);
      for (const at of rest.length ? rest : [first]) context.lineTo(...at);
    }
    context.stroke();
  }

  canvas.addEventListener("pointerdown", (event) => {
    if (pointer !== null || event.button > 0) return;
    event.preventDefault();
    canvas.focus({ preventScroll: true });
    pointer = event.pointerId;
    canvas.setPointerCapture(pointer);
    drawn = [place(event, canvas.getBoundingClientRect())];
    strokes.push(drawn);
    paint();
  });
  canvas.addEventListener("pointermove", (event) => {
    if (event.pointerId !== pointer) return;
    const box = canvas.getBoundingClientRect();
    drawn.push(place(event, box));
    paint();
  });
  const end = (event) => {
    if (event.pointerId !== pointer) return;
    pointer = null;
    drawn = null;
    changed();
  };
  canvas.addEventListener("pointerup", end);
  canvas.addEventListener("pointercancel", end);
  new ResizeObserver(paint).observe(canvas);

  const set = (next) => {
    strokes = next;
    paint();
    changed();
  };
  const clear = button(text("agree.clear"), { id: "signature-clear", iconName: "undo", on: () => set([]) });
  const cross = button(text("agree.cross"), {
    id: "signature-cross", iconName: "close",
    on: () => {
      const { width, height } = canvas.getBoundingClientRect();
      set(CROSS((500 * width) / height));
    },
  });
  return {
    node: el("div", { class: "signing" }, canvas, el("div", { class: "pair" }, clear, cross), el("p", { class: "hint", text: text("agree.cross_hint") })),
    strokes: () => strokes,
    clear: () => set([]),
    paint,
  };
}
