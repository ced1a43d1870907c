// The page's own files: texts, pictures, WebAssembly and workers, by their path below the page. Beside the page, as served; or in it, where all of it is
// one file: then `counterpoiseFiles` holds them (`crates/xtask/src/single.rs`).

import { fromBase64 } from "./base64.js";

/** What the one file carries: `{PATH: {text} | {base64}}`, and the text of its script. */
const carried = () => globalThis.counterpoiseFiles ?? null;

/** Where a file lies. */
export const addressOf = (path) => new URL(`../${path}`, import.meta.url).href;

async function fetched(path) {
  const response = await fetch(addressOf(path));
  if (!response.ok) throw new Error(`${path}: ${response.status}`);
  return response;
}

/** True where this file can be had without asking: whole pages can do with less than one file carries. */
export const isCarried = (path) => carried() === null || Object.hasOwn(carried(), path);

function inside(path) {
  if (!isCarried(path)) throw new Error(`${path}: not in this file`);
  return carried()[path];
}

/** The text of a file. */
export async function readText(path) {
  if (carried() === null) return (await fetched(path)).text();
  return inside(path).text;
}

/** The bytes of a file, with the type that browsers know pictures by. */
export async function readBlob(path, type) {
  if (carried() === null) return (await fetched(path)).blob();
  const { text, base64 } = inside(path);
  return new Blob([text ?? fromBase64(base64)], { type });
}

/** A WebAssembly module for its bindings: an address, so that it is compiled while it arrives, or bytes. */
export function wasm(path) {
  return carried() === null ? new URL(addressOf(path)) : fromBase64(inside(path).base64);
}

/** A worker, which finds these files of the page by the same means. Throws where there can be none. */
export function startWorker(path, files) {
  if (carried() === null) return new Worker(addressOf(path), { type: "module" });
  const handed = Object.fromEntries(files.map((file) => [file, inside(file)]));
  const source = `self.counterpoiseEntry = ${JSON.stringify(path)}; self.counterpoiseFiles = ${JSON.stringify(handed)};\n${globalThis.counterpoiseScript}`;
  const address = URL.createObjectURL(new Blob([source], { type: "text/javascript" }));
  return new Worker(address);
}
