// A plan as a link: without photo, name and notes, in the part of the address that is never sent anywhere.
//
// `#plan=1.TEXT`: a version, then the plan's JSON text, deflated (RFC 1951) and in base64url (RFC 4648, section 5) without padding.

import { fromBase64, toBase64 } from "./base64.js";
import { button } from "./controls.js";
import { openDialog } from "./dialogs.js";
import { el, setText } from "./dom.js";
import { PLAN } from "./fragment.js";
import { text } from "./messages.js";

const VERSION = "1";
/** A link's plan has no more text than this, characters and bytes: a little deflated text may hold a great deal. */
const MOST_LINK = 200_000;
const MOST_PLAN = 1_000_000;
/** Longer links are cut by some programs that pass them on, characters. */
const LONG_LINK = 8_000;

const streamed = (bytes, stream) => new Blob([bytes]).stream().pipeThrough(stream);

/** All bytes of a stream; throws where they are more than `most`. */
async function read(stream, most) {
  const reader = stream.getReader();
  const parts = [];
  let length = 0;
  for (let part = await reader.read(); !part.done; part = await reader.read()) {
    length += part.value.length;
    if (length > most) {
      await reader.cancel();
      throw new RangeError("too long");
    }
    parts.push(part.value);
  }
  return new Blob(parts).arrayBuffer();
}

const toBase64Url = (bytes) => toBase64(new Uint8Array(bytes)).replace(/\+/g, "-").replace(/\//g, "_").replace(/=+$/, "");
const fromBase64Url = (letters) => fromBase64(letters.replace(/-/g, "+").replace(/_/g, "/"));

/** The fragment of a plan's text that may be passed on. */
export async function linkOf(planText) {
  const deflated = await read(streamed(new TextEncoder().encode(planText), new CompressionStream("deflate-raw")), MOST_PLAN);
  return `${PLAN}${VERSION}.${toBase64Url(deflated)}`;
}

/** The plan's text in a fragment. Throws a key of the catalogue's `share.KEY`: `newer`, `long` or `cut`. */
export async function planIn(fragment) {
  const [version, letters, ...more] = fragment.slice(PLAN.length).split(".");
  if (/^[1-9]\d{0,3}$/.test(version) && Number(version) > Number(VERSION)) throw "newer";
  if (fragment.length > MOST_LINK) throw "long";
  if (version !== VERSION || !letters || more.length > 0) throw "cut";
  try {
    const bytes = await read(streamed(fromBase64Url(letters), new DecompressionStream("deflate-raw")), MOST_PLAN);
    return new TextDecoder("utf-8", { fatal: true }).decode(bytes);
  } catch (error) {
    throw error instanceof RangeError ? "long" : "cut";
  }
}

/** Shows the link of a plan that may be passed on, to be copied or handed to another program. */
export async function showLink(planText) {
  const address = new URL(location.href);
  address.hash = (await linkOf(planText)).slice(1);
  const link = address.href;
  const field = el("textarea", { id: "share-link", readonly: "", rows: 4, spellcheck: "false", "aria-label": text("share.link"), on: { focus: () => field.select() } });
  field.value = link;
  const said = el("p", { class: "hint strong", id: "share-said", role: "status" });
  const copy = button(text("share.copy"), {
    id: "share-copy", kind: "button primary", iconName: "ok",
    async on() {
      try {
        await navigator.clipboard.writeText(link);
        setText(said, text("share.copied"));
      } catch {
        // Where the page may not write to the clipboard, a person still can.
        field.focus();
        field.select();
        setText(said, text("share.copy_yourself"));
      }
    },
  });
  const pass = navigator.share && button(text("share.pass_on"), { id: "share-pass", on: () => navigator.share({ url: link }).catch(() => {}) });
  await openDialog(text("share.title"), () => [
    el("p", { text: text("share.what") }),
    el("p", { class: "hint", text: text("share.whose") }),
    field,
    link.length > LONG_LINK ? el("p", { class: "hint strong", text: text("share.is_long", { count: link.length }) }) : null,
    el("div", { class: "answers" }, copy, pass || null),
    said,
  ].filter(Boolean));
}
