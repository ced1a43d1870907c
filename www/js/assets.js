// The page's own files: texts, pictures, WebAssembly and workers, by their path below the page. Beside the page, as served; or in it, where all of it is
// one file: then `counterpoiseFiles` holds them (`crates/xtask/src/single.rs`).

import { fromBase64 } from "./base64.js";
import { el } from "./dom.js";

/** What the one file carries: deflated bytes in base64, by path. */
const carried = () => globalThis.counterpoiseFiles ?? null;

/** Whether the whole page is one file. */
export const isOneFile = () => carried() !== null;

/** Where a file lies. */
export const addressOf = (path) => new URL(`../${path}`, import.meta.url).href;

async function fetched(path) {
  const response = await fetch(addressOf(path));
  if (!response.ok) throw new Error(`${path}: ${response.status}`);
  return response;
}

/** True where this file can be had without asking: whole pages can do with less than one file carries. */
export const isCarried = (path) => carried() === null || Object.hasOwn(carried(), path);

async function inside(path) {
  if (!isCarried(path)) throw new Error(`${path}: not in this file`);
  const deflated = new Blob([fromBase64(carried()[path])]).stream();
  return new Response(deflated.pipeThrough(new DecompressionStream("deflate-raw"))).arrayBuffer();
}

/** The text of a file that only a page in one file may have; `null` where there is none. */
export async function readCarried(path) {
  return carried() !== null && isCarried(path) ? new TextDecoder().decode(await inside(path)) : null;
}

/** The text of a file. */
export async function readText(path) {
  if (carried() === null) return (await fetched(path)).text();
  return new TextDecoder().decode(await inside(path));
}

/** The bytes of a file, with the type that browsers know pictures by. */
export async function readBlob(path, type) {
  if (carried() === null) return (await fetched(path)).blob();
  return new Blob([await inside(path)], { type });
}

/** A WebAssembly module for its bindings: an address, so that it is compiled while it arrives, or (a promise of) bytes. */
export function wasm(path) {
  return carried() === null ? new URL(addressOf(path)) : inside(path);
}

/** Style sheets that were asked for, by path. */
const styles = new Map();

/** Brings a style sheet that the page does not begin with; one that is lost leaves its part plain. */
export function needStyle(path) {
  if (carried() !== null) return Promise.resolve();
  if (!styles.has(path)) {
    styles.set(path, new Promise((resolve) => {
      document.head.append(el("link", { rel: "stylesheet", href: path, on: { load: resolve, error: resolve } }));
    }));
  }
  return styles.get(path);
}

let policy = null;

/** The one way in which an address becomes code that runs (Trusted Types, where the browser has them): a file of this page, or its own text. */
export function trusted(address) {
  policy ??= globalThis.trustedTypes?.createPolicy("counterpoise", {
    createScriptURL(asked) {
      const { protocol, origin } = new URL(asked, location.href);
      if (protocol !== "blob:" && origin !== location.origin) throw new TypeError(`${asked}: not a script of this page`);
      return asked;
    },
  });
  return policy ? policy.createScriptURL(address) : address;
}

/** A worker, which finds these files of the page by the same means. Throws where there can be none. */
export function startWorker(path, files) {
  if (carried() === null) return new Worker(trusted(addressOf(path)), { type: "module" });
  const handed = Object.fromEntries(files.map((file) => [file, carried()[file]]));
  const source = `self.counterpoiseEntry = ${JSON.stringify(path)}; self.counterpoiseFiles = ${JSON.stringify(handed)};\n${globalThis.counterpoiseScript}`;
  const address = URL.createObjectURL(new Blob([source], { type: "text/javascript" }));
  return new Worker(trusted(address));
}
