// A photo file becomes the working copy that all pixel numbers refer to. It never leaves the device.
//
// Engines apply the EXIF orientation while decoding, with every option of createImageBitmap: this file never turns a
// picture. What it stores was drawn afresh, so place, time and camera of the original are not in it.

/** Longest side of the working copy, px: below 0.1 mm per px on a face, and far below the canvas limit of tablets. */
export const WORKING_SIDE_PX = 3072;
/** Largest canvas that every tablet draws (iPadOS: 16,777,216 px). Above it a picture turns out blank, silently. */
export const CANVAS_PX = 16_777_216;
/** Largest photo that is decoded, px: decoding takes four bytes for each, beyond this tablets run out of memory. */
const LARGEST_PX = 64_000_000;
/** Largest file that is read, bytes. */
const LARGEST_BYTES = 80 * 1024 * 1024;
/** Smallest side that still shows a brow, px. */
const SMALLEST_SIDE_PX = 200;
/** How the working copy is stored. */
const WORKING_TYPE = "image/jpeg";
const JPEG_QUALITY = 0.92;

/** A photo that cannot be used; `code` is the catalogue's `photo.CODE`. */
export class PhotoError extends Error {
  constructor(code, values = {}) {
    super(code);
    this.name = "PhotoError";
    this.code = code;
    this.values = values;
  }
}

/** Decodes a file into a working copy: {bitmap, width, height, type, bytes}; `bytes` is the promise of an ArrayBuffer.
 *  Throws PhotoError. */
export async function readPhoto(file, { kept } = {}) {
  if (file.size === 0) throw new PhotoError("empty");
  if (file.size > LARGEST_BYTES) throw new PhotoError("file_too_large", { size: Math.round(file.size / 1048576), limit: LARGEST_BYTES / 1048576 });
  const bytes = new Uint8Array(await file.arrayBuffer());
  const head = inspect(bytes, file.type);
  if (head.kind === "unknown") throw new PhotoError("not_image");
  if (head.isCutOff) throw new PhotoError("cut_off");
  if (head.width * head.height > LARGEST_PX) {
    throw new PhotoError("too_many_pixels", { size: Math.round((head.width * head.height) / 1e6), limit: LARGEST_PX / 1e6 });
  }
  const blob = new Blob([bytes], { type: head.type });
  const address = URL.createObjectURL(blob);
  try {
    return await workingCopy(blob, address, head.kind, kept);
  } finally {
    URL.revokeObjectURL(address);
  }
}

/** The working copy again, from what was stored. */
export function restorePhoto({ bytes, type }) {
  return readPhoto(new Blob([bytes], { type }), { kept: Promise.resolve(bytes) });
}

async function workingCopy(blob, address, kind, kept) {
  const image = new Image();
  image.decoding = "async";
  const isLoaded = await new Promise((resolve) => {
    image.onload = () => resolve(true);
    image.onerror = () => resolve(false);
    image.src = address;
  });
  if (!isLoaded || !image.naturalWidth || !image.naturalHeight) throw new PhotoError(kind === "heic" ? "heic" : "undecodable");
  const { naturalWidth, naturalHeight } = image;
  if (naturalWidth * naturalHeight > LARGEST_PX) {
    throw new PhotoError("too_many_pixels", { size: Math.round((naturalWidth * naturalHeight) / 1e6), limit: LARGEST_PX / 1e6 });
  }
  if (Math.min(naturalWidth, naturalHeight) < SMALLEST_SIDE_PX) throw new PhotoError("too_small", { limit: SMALLEST_SIDE_PX });

  const { width, height } = workingSize(naturalWidth, naturalHeight);
  const canvas = document.createElement("canvas");
  canvas.width = width;
  canvas.height = height;
  try {
    const context = canvas.getContext("2d", { alpha: false });
    context.fillStyle = "#ffffff";
    context.fillRect(0, 0, width, height);
    context.imageSmoothingQuality = "high";
    const drawn = await decoded(blob, image, width, height);
    context.drawImage(drawn, 0, 0, width, height);
    drawn.close?.();
    if (isBlank(canvas)) throw new PhotoError("blank");
    // Encoding takes longer than all the rest: the photo is shown meanwhile.
    const bytes = kept ?? encode(canvas, WORKING_TYPE);
    const bitmap = await createImageBitmap(canvas);
    bytes.catch(() => {}).finally(() => release(canvas));
    return { bitmap, width, height, bytes, type: WORKING_TYPE };
  } catch (error) {
    release(canvas);
    if (error instanceof PhotoError) throw error;
    // Its size could be read and its pixels could not.
    throw new PhotoError(kind === "heic" ? "heic" : "no_memory");
  }
}

/** Tablets keep a canvas's memory until it has no size. */
function release(canvas) {
  canvas.width = 0;
  canvas.height = 0;
}

/** Resizing while decoding spares memory; where an engine cannot (SVG in WebKit), the loaded image is drawn. */
async function decoded(blob, image, width, height) {
  if (blob.type !== "image/svg+xml") {
    try {
      return await createImageBitmap(blob, { resizeWidth: width, resizeHeight: height, resizeQuality: "high" });
    } catch {
      // The image element below has decoded the same bytes already, or fails in its own way.
    }
  }
  await image.decode();
  return image;
}

/** Size of the working copy of a photo of this size, px. */
export function workingSize(width, height) {
  const scale = Math.min(1, WORKING_SIDE_PX / Math.max(width, height), Math.sqrt(CANVAS_PX / (width * height)));
  return { width: Math.max(1, Math.round(width * scale)), height: Math.max(1, Math.round(height * scale)) };
}

/** True where the picture has one colour all over: what a tablet draws when it ran out of memory. */
function isBlank(canvas) {
  const across = 12;
  const sample = document.createElement("canvas");
  sample.width = across;
  sample.height = across;
  const context = sample.getContext("2d", { willReadFrequently: true });
  context.drawImage(canvas, 0, 0, across, across);
  const { data } = context.getImageData(0, 0, across, across);
  for (let i = 4; i < data.length; i += 4) {
    if (Math.abs(data[i] - data[0]) + Math.abs(data[i + 1] - data[1]) + Math.abs(data[i + 2] - data[2]) > 6) return false;
  }
  return true;
}

function encode(canvas, type) {
  return new Promise((resolve, reject) => {
    canvas.toBlob((blob) => (blob ? blob.arrayBuffer().then(resolve, reject) : reject(new PhotoError("no_memory"))), type, JPEG_QUALITY);
  });
}

/** What a file is by its first bytes, how many pixels it says it has, and whether its end is missing. */
export function inspect(bytes, type = "") {
  const at = (offset, letters) => [...letters].every((letter, i) => bytes[offset + i] === letter.charCodeAt(0));
  const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  const size = { width: 0, height: 0, isCutOff: false };
  if (bytes.length > 3 && bytes[0] === 0xff && bytes[1] === 0xd8 && bytes[2] === 0xff) return { kind: "jpeg", type: "image/jpeg", ...inspectJpeg(bytes, view) };
  if (bytes[0] === 0x89 && at(1, "PNG")) {
    if (bytes.length < 33) return { kind: "png", type: "image/png", ...size, isCutOff: true };
    const tail = String.fromCharCode(...bytes.subarray(Math.max(0, bytes.length - 64)));
    return { kind: "png", type: "image/png", width: view.getUint32(16), height: view.getUint32(20), isCutOff: !tail.includes("IEND") };
  }
  if (at(0, "RIFF") && at(8, "WEBP")) return { kind: "webp", type: "image/webp", ...size, isCutOff: bytes.length < 12 || view.getUint32(4, true) + 8 > bytes.length + 1 };
  if (at(4, "ftyp")) {
    const brand = String.fromCharCode(...bytes.subarray(8, 12));
    return brand.startsWith("avi") ? { kind: "avif", type: "image/avif", ...size } : { kind: /^(hei|hev|mif|msf)/.test(brand) ? "heic" : "unknown", type: "image/heic", ...size };
  }
  if (at(0, "GIF8")) return { kind: "gif", type: "image/gif", ...size };
  if (at(0, "BM")) return { kind: "bmp", type: "image/bmp", ...size };
  const start = new TextDecoder("utf-8", { fatal: false }).decode(bytes.subarray(0, 512)).trimStart();
  if (start.startsWith("<svg") || (start.startsWith("<") && (type === "image/svg+xml" || start.includes("<svg")) && !/<html/i.test(start))) {
    const end = new TextDecoder().decode(bytes.subarray(Math.max(0, bytes.length - 64)));
    return { kind: "svg", type: "image/svg+xml", ...size, isCutOff: !end.includes("</svg>") };
  }
  return { kind: "unknown", type: "", ...size };
}

/** Walks the segments of a JPEG (ITU-T T.81, annex B): size from the frame header, end from the EOI marker. */
function inspectJpeg(bytes, view) {
  let [width, height] = [0, 0];
  let offset = 2;
  while (offset + 4 <= bytes.length) {
    if (bytes[offset] !== 0xff) {
      // Entropy-coded data: in it 0xFF is followed by 0x00 or a restart marker, never by another marker.
      offset = bytes.indexOf(0xff, offset);
      if (offset < 0) break;
    }
    const marker = bytes[offset + 1];
    if (marker === 0xd9) return { width, height, isCutOff: false };
    if (marker === 0xff) { offset += 1; continue; }
    if (marker === 0x00 || marker === 0x01 || (marker >= 0xd0 && marker <= 0xd8)) { offset += 2; continue; }
    const length = view.getUint16(offset + 2);
    const isFrame = marker >= 0xc0 && marker <= 0xcf && marker !== 0xc4 && marker !== 0xc8 && marker !== 0xcc;
    if (isFrame && offset + 9 <= bytes.length) [height, width] = [view.getUint16(offset + 5), view.getUint16(offset + 7)];
    offset += 2 + Math.max(2, length);
  }
  return { width, height, isCutOff: !(bytes[bytes.length - 2] === 0xff && bytes[bytes.length - 1] === 0xd9) };
}
