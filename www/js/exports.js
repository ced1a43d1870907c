// The drawing as a file: SVG from the core, PNG by drawing that SVG.

import { hasText, text, textsOfNumbers, textsStartingWith } from "./messages.js";
import { CANVAS_PX } from "./photo.js";

/** Long side of an exported PNG, px. */
const PNG_SIDE_PX = 2400;

/** The drawing as SVG text; `photo` ({bytes, type}) is laid under it where given. */
export function drawingSvg(engine, planText, { shade, layers, photo }) {
  const off = Object.entries(layers).filter(([, isOn]) => isOn === false).map(([kind]) => kind);
  const kinds = engine.describe().kinds.filter((kind) => !off.includes(kind));
  return engine.svg(planText, {
    theme: shade,
    layers: off.length ? kinds : null,
    photo_href: photo ? dataAddress(photo) : null,
    texts: labelTexts(),
  });
}

/** The texts beside the lines by the keys that the core names: the short form where there is one. */
function labelTexts() {
  const full = [...Object.entries(textsStartingWith("measure.")), ...Object.entries(textsStartingWith("kind."))];
  const labels = full.map(([key, words]) => [key, hasText(`label.${key}`) ? text(`label.${key}`) : words]);
  return { ...Object.fromEntries(labels), ...textsOfNumbers() };
}

function dataAddress({ bytes, type }) {
  const view = new Uint8Array(bytes);
  const parts = [];
  // String.fromCharCode takes its bytes as arguments, and engines limit how many.
  const chunk = 0x8000;
  for (let start = 0; start < view.length; start += chunk) parts.push(String.fromCharCode(...view.subarray(start, start + chunk)));
  return `data:${type};base64,${btoa(parts.join(""))}`;
}

/** The drawing as PNG bytes. */
export async function drawingPng(svg) {
  const image = new Image();
  const address = URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" }));
  try {
    image.src = address;
    await image.decode();
    const { naturalWidth, naturalHeight } = image;
    const scale = Math.min(PNG_SIDE_PX / Math.max(naturalWidth, naturalHeight), Math.sqrt(CANVAS_PX / (naturalWidth * naturalHeight)));
    const canvas = document.createElement("canvas");
    canvas.width = Math.round(naturalWidth * scale);
    canvas.height = Math.round(naturalHeight * scale);
    const context = canvas.getContext("2d");
    context.drawImage(image, 0, 0, canvas.width, canvas.height);
    // WebKit may decode a picture inside an SVG only after it was first drawn.
    await new Promise((resolve) => setTimeout(resolve, 120));
    context.drawImage(image, 0, 0, canvas.width, canvas.height);
    const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/png"));
    canvas.width = 0;
    canvas.height = 0;
    if (!blob) throw new DOMException("no picture", "EncodingError");
    return blob;
  } finally {
    URL.revokeObjectURL(address);
  }
}
