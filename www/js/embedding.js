// How a page that shows this one in a frame may talk to it: `{counterpoise: 1, type, id, payload}`, each way (`schema/embedding.schema.json`).
//
// Heard are messages of the page around this one alone, and of that only where the address names its origin (`host`). Answers go to that origin. What
// crosses are plans without name and photo, numbers and marks; no pixel ever does.

import { KIND_OF_MODE } from "./fragment.js";
import { text } from "./messages.js";

const PROTOCOL = 1;
const NO_ORIGIN = "null";
/** Largest plan that is taken, characters. */
const MOST_PLAN = 1_000_000;
/** Longest id of a message, characters. */
const MOST_ID = 100;
/** More messages than this are no conversation, per second. */
const MOST_PER_SECOND = 40;
/** A height that differs by less is the same, px: what the scroll bar of the page around takes of the width, which comes and goes with the height. */
const SAME_PX = 16;
/** Quiet time before followers hear of a change, ms. */
const QUIET_MS = 150;

/** The height that the page likes to have at a width, px: beside each other above 860 px, else the panel below the stage. Of the width alone, so that a
 *  frame that grows never makes it grow again. */
const wantedHeight = (width) => Math.round(width > 860 ? Math.min(Math.max(0.66 * width, 600), 860) : 0.85 * width + 560);

const isFlag = (value) => value === undefined || typeof value === "boolean";
const isWord = (value) => value === undefined || (typeof value === "string" && value.length <= MOST_ID);
/** What a message of each type may carry, by name. */
const PAYLOADS = {
  load: { plan: (value) => value === undefined || typeof value === "string", case: isWord, mode: (value) => value === undefined || (typeof value === "string" && Object.hasOwn(KIND_OF_MODE, value)) },
  state: {},
  report: { follow: isFlag },
  result: { follow: isFlag },
  height: { follow: isFlag },
};

/** What is wrong with a message, or `null`. */
function faultOf(data) {
  const isPlain = (value) => value !== null && typeof value === "object" && !Array.isArray(value);
  if (!isPlain(data)) return "shape";
  if (!Object.keys(data).every((key) => ["counterpoise", "type", "id", "payload"].includes(key))) return "shape";
  if (data.counterpoise !== PROTOCOL) return "version";
  if (typeof data.type !== "string" || !Object.hasOwn(PAYLOADS, data.type) || !isWord(data.id)) return "shape";
  const fields = PAYLOADS[data.type];
  const payload = data.payload ?? {};
  if (!isPlain(payload) || !Object.keys(payload).every((key) => Object.hasOwn(fields, key) && fields[key](payload[key]))) return "shape";
  if ((payload.plan?.length ?? 0) > MOST_PLAN) return "size";
  if (data.type === "load" && (payload.plan === undefined) === (payload.case === undefined)) return "shape";
  return null;
}

/** Listens. `hosts` are origins; `acts`: `{state, report, result, load(payload)}`, the last with a promise of `null` or of why not. */
export function createEmbedding({ hosts, ready, acts }) {
  const counts = { taken: 0, stranger: 0, shape: 0, version: 0, size: 0, rate: 0 };
  /** The origin that follows each kind of message, with the id of its question. */
  const followers = new Map();
  let second = 0;
  let inSecond = 0;
  let timer = 0;
  let lastHeight = 0;

  const post = (origin, type, id, payload) =>
    window.parent.postMessage({ counterpoise: PROTOCOL, type, ...(id === undefined ? {} : { id }), payload }, origin === NO_ORIGIN ? "*" : origin);
  const heightNow = () => ({ px: wantedHeight(window.innerWidth) });
  const answers = { state: acts.state, report: acts.report, result: () => ({ result: acts.result() }), height: heightNow };
  const tell = (type) => {
    const follower = followers.get(type);
    if (follower) post(follower.origin, type, follower.id, answers[type]());
  };

  async function answer({ type, id, payload = {} }, origin) {
    if (type === "load") {
      const why = await acts.load(payload);
      if (why) post(origin, "refused", id, { code: "load", why });
      else post(origin, "state", id, acts.state());
      return;
    }
    if (payload.follow) followers.set(type, { origin, id });
    if (payload.follow === false) followers.delete(type);
    if (type === "height") lastHeight = heightNow().px;
    post(origin, type, id, answers[type]());
  }

  addEventListener("message", (event) => {
    if (event.source !== window.parent || !hosts.includes(event.origin)) {
      counts.stranger += 1;
      return;
    }
    const now = Math.floor(performance.now() / 1000);
    inSecond = now === second ? inSecond + 1 : 1;
    second = now;
    const fault = inSecond > MOST_PER_SECOND ? "rate" : faultOf(event.data);
    if (fault) {
      counts[fault] += 1;
      // Who sends too many messages gets no answer to each.
      if (fault !== "rate") post(event.origin, "refused", isWord(event.data?.id) ? event.data?.id : undefined, { code: fault, why: text(`embed.${fault}`) });
      return;
    }
    counts.taken += 1;
    answer(event.data, event.origin);
  });

  new ResizeObserver(() => requestAnimationFrame(() => {
    const { px } = heightNow();
    if (Math.abs(px - lastHeight) <= SAME_PX) return;
    lastHeight = px;
    tell("height");
  })).observe(document.documentElement);

  for (const origin of hosts) post(origin, "ready", undefined, ready);

  return {
    counts: () => ({ ...counts }),
    changed() {
      if (!followers.has("report")) return;
      clearTimeout(timer);
      timer = setTimeout(() => tell("report"), QUIET_MS);
    },
    marked: () => tell("result"),
  };
}
