// Cases as one file: plans, photos and records, plain or sealed by a password.
//
// A first line of JSON says what the file is; then comes the body: a line of JSON that lists the cases, and the bytes of their photos, one
// after the other. Sealed, the body is cut into pieces of the same length, each encrypted with AES-256-GCM (NIST SP 800-38D). The key is
// made of the password by PBKDF2 with SHA-256 (RFC 8018). The nonce of a piece is that of the file and the piece's number; the
// first line and whether a piece is the last go in as further data, so that nothing can be cut off, moved or relabelled.

import { fromBase64, toBase64 } from "./base64.js";
import { hex } from "./hex.js";

export const FORMAT = "counterpoise-cases";
export const VERSION = 1;
/** What files are called. */
export const ENDING = ".counterpoise-cases";
/** Rounds of PBKDF2 (OWASP Password Storage Cheat Sheet for PBKDF2-HMAC-SHA256, from memory); fewer are not written and not read. */
export const ITERATIONS = 600_000;
/** More rounds than anybody writes: a file that asks for them only wants to keep the tablet busy. */
const MOST_ITERATIONS = 20_000_000;
/** Bytes of a piece. */
const CHUNK = 1 << 20;
const MOST_CHUNK = 1 << 26;
const TAG = 16;
const SALT = 16;
const NONCE = 8;
/** The first line is short; what is longer is none. */
const HEAD_BYTES = 1024;
/** Largest file that is read, bytes: it is held in memory twice. */
export const FILE_BYTES = 1 << 30;
/** Most cases of a file. */
const CASES = 20_000;

/** A file that cannot be used; `code` is the catalogue's `case_file.CODE`. */
export class CaseFileError extends Error {
  constructor(code, values = {}) {
    super(code);
    this.code = code;
    this.values = values;
  }
}

const encoder = new TextEncoder();
const decoder = new TextDecoder("utf-8", { fatal: true });
const line = (value) => encoder.encode(`${JSON.stringify(value)}\n`);

/** True where this page may encrypt: only in a secure context. */
export const canSeal = () => Boolean(globalThis.crypto?.subtle);

async function sumOf(bytes) {
  return canSeal() ? hex(await crypto.subtle.digest("SHA-256", bytes)) : "";
}

async function keyOf(password, salt, iterations) {
  const secret = await crypto.subtle.importKey("raw", encoder.encode(password.normalize("NFC")), "PBKDF2", false, ["deriveKey"]);
  return crypto.subtle.deriveKey({ name: "PBKDF2", hash: "SHA-256", salt, iterations }, secret, { name: "AES-GCM", length: 256 }, false, ["encrypt", "decrypt"]);
}

function pieceParameters(head, nonce, index, isLast) {
  const iv = new Uint8Array(NONCE + 4);
  iv.set(nonce);
  new DataView(iv.buffer).setUint32(NONCE, index);
  const additionalData = new Uint8Array(head.length + 1);
  additionalData.set(head);
  additionalData[head.length] = isLast ? 1 : 0;
  return { name: "AES-GCM", iv, additionalData };
}

/** Parts cut anew into pieces of this length; the last is shorter, and empty where there is nothing. */
function* pieces(parts, length) {
  let piece = new Uint8Array(length);
  let filled = 0;
  for (const part of parts) {
    for (let at = 0; at < part.length;) {
      if (filled === length) {
        yield { piece, isLast: false };
        piece = new Uint8Array(length);
        filled = 0;
      }
      const taken = Math.min(length - filled, part.length - at);
      piece.set(part.subarray(at, at + taken), filled);
      filled += taken;
      at += taken;
    }
  }
  yield { piece: piece.subarray(0, filled), isLast: true };
}

/** Parts of a body, sealed: the parts of the file. `given` fixes what is otherwise drawn at random, for tests. */
export async function sealed(parts, password, given = {}) {
  const salt = given.salt ?? crypto.getRandomValues(new Uint8Array(SALT));
  const nonce = given.nonce ?? crypto.getRandomValues(new Uint8Array(NONCE));
  const chunk = given.chunk ?? CHUNK;
  const iterations = given.iterations ?? ITERATIONS;
  const head = line({ format: FORMAT, version: VERSION, sealed: { cipher: "AES-256-GCM", key: "PBKDF2-HMAC-SHA-256", iterations, salt: toBase64(salt), nonce: toBase64(nonce), chunk } });
  const key = await keyOf(password, salt, iterations);
  const out = [head];
  let index = 0;
  for (const { piece, isLast } of pieces(parts, chunk)) {
    out.push(new Uint8Array(await crypto.subtle.encrypt(pieceParameters(head, nonce, index, isLast), key, piece)));
    index += 1;
  }
  return out;
}

/** Cases `[{head, text, photos: [{id, bytes, type}]}]` as the parts of a file; without photos where `withPhotos` is false. */
export async function writeCases(cases, { password = "", withPhotos = true, at = new Date() } = {}) {
  const blobs = [];
  const list = [];
  for (const { head, text, photos } of cases) {
    const listed = [];
    for (const { id, bytes, type } of withPhotos ? photos : []) {
      listed.push({ id, type, bytes: bytes.byteLength, sha256: await sumOf(bytes) });
      blobs.push(new Uint8Array(bytes));
    }
    list.push({ id: head.id, changed_at: head.changedAt, photo: head.photoId, plan: text, photos: listed });
  }
  const body = [line({ made_at: at.toISOString(), with_photos: withPhotos, cases: list }), ...blobs];
  return password ? sealed(body, password) : [line({ format: FORMAT, version: VERSION, sealed: null }), ...body];
}

function readHead(bytes) {
  const end = bytes.subarray(0, HEAD_BYTES).indexOf(10);
  let head;
  try {
    head = JSON.parse(decoder.decode(bytes.subarray(0, end)));
  } catch {
    throw new CaseFileError("not_cases");
  }
  if (end < 0 || head?.format !== FORMAT) throw new CaseFileError("not_cases");
  if (Number.isInteger(head.version) && head.version > VERSION) throw new CaseFileError("newer", { version: head.version, newest: VERSION });
  if (head.version !== VERSION) throw new CaseFileError("other_version");
  return { head, bytes: bytes.subarray(0, end + 1), body: bytes.subarray(end + 1) };
}

/** True where a file asks for a password. Throws CaseFileError. */
export const isSealed = (bytes) => readHead(bytes).head.sealed !== null;

async function opened(file, password) {
  const { cipher, key: kind, iterations, salt, nonce, chunk } = file.head.sealed ?? {};
  if (cipher !== "AES-256-GCM" || kind !== "PBKDF2-HMAC-SHA-256") throw new CaseFileError("other_version");
  const isSane = Number.isInteger(iterations) && iterations <= MOST_ITERATIONS && Number.isInteger(chunk) && chunk > 0 && chunk <= MOST_CHUNK && typeof salt === "string" && typeof nonce === "string";
  if (!isSane) throw new CaseFileError("damaged");
  if (iterations < ITERATIONS) throw new CaseFileError("weak", { iterations });
  if (!canSeal()) throw new CaseFileError("no_crypto");
  let [salted, nonced] = [null, null];
  try {
    [salted, nonced] = [fromBase64(salt), fromBase64(nonce)];
  } catch {
    throw new CaseFileError("damaged");
  }
  if (salted.length !== SALT || nonced.length !== NONCE) throw new CaseFileError("damaged");
  const key = await keyOf(password, salted, iterations);
  const step = chunk + TAG;
  const count = Math.max(1, Math.ceil(file.body.length / step));
  const out = new Uint8Array(Math.max(0, file.body.length - count * TAG));
  let filled = 0;
  for (let index = 0; index < count; index += 1) {
    const piece = file.body.subarray(index * step, (index + 1) * step);
    try {
      const plain = new Uint8Array(await crypto.subtle.decrypt(pieceParameters(file.bytes, nonced, index, index === count - 1), key, piece));
      out.set(plain, filled);
      filled += plain.length;
    } catch {
      // The first piece cannot tell a wrong password from a damaged file.
      throw new CaseFileError(index === 0 ? "password" : "damaged");
    }
  }
  return out.subarray(0, filled);
}

const isText = (value, most) => typeof value === "string" && value.length > 0 && value.length <= most;

/** What a file holds: `{cases: [{id, changedAt, photoId, text, photos: [{id, bytes, type}], missing}]}`; `missing` counts photos that the
 *  file names and has not whole. Nothing of it is trusted: each plan is still to be read by the core. Throws CaseFileError. */
export async function readCases(bytes, password = "") {
  const file = readHead(bytes);
  const body = file.head.sealed === null ? file.body : await opened(file, password);
  const end = body.indexOf(10);
  let list;
  try {
    list = JSON.parse(decoder.decode(body.subarray(0, end < 0 ? 0 : end)));
  } catch {
    throw new CaseFileError("damaged");
  }
  if (!Array.isArray(list?.cases) || list.cases.length > CASES) throw new CaseFileError("damaged");
  let at = end + 1;
  const cases = [];
  for (const one of list.cases) {
    if (!isText(one?.id, 64) || !isText(one.plan, FILE_BYTES) || !Array.isArray(one.photos)) throw new CaseFileError("damaged");
    const photos = [];
    let missing = 0;
    for (const listed of one.photos) {
      const { id, type, bytes: length, sha256 } = listed ?? {};
      if (!isText(id, 64) || !isText(type, 64) || !Number.isInteger(length) || length < 0) throw new CaseFileError("damaged");
      const part = body.subarray(at, at + length);
      at += length;
      const isWhole = part.length === length && (!sha256 || !canSeal() || (await sumOf(part)) === sha256);
      if (isWhole) photos.push({ id, type, bytes: part.slice().buffer });
      else missing += 1;
    }
    const changedAt = Number.isNaN(Date.parse(one.changed_at)) ? new Date(0).toISOString() : one.changed_at;
    cases.push({ id: one.id, changedAt, photoId: isText(one.photo, 64) ? one.photo : null, text: one.plan, photos, missing });
  }
  return { cases };
}
