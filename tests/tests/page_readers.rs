//! What the page's own scripts read, on what chance makes of good examples: the address' fragment, links, photo files, files of cases, a course
//! server's memory, typed numbers. (What the core reads is fuzzed natively: `cargo xtask fuzz`.)

use counterpoise_tests::browser::{Browser, Outcome};
use counterpoise_tests::in_both_engines;
use serde_json::json;

in_both_engines!(scripts_read_what_chance_makes_without_a_stumble);

/// How often each reader of texts, and of files, is tried.
const TEXTS: u32 = 20_000;
const FILES: u32 = 1_500;
/// Where chance begins; another seed is another run.
const SEED: u32 = 20_261_129;

/// Gives `{counts, wrong}`: how often each reader took and refused, and what broke a law.
const TRIALS: &str = r##"
const [texts, files, seed, done] = arguments;
(async () => {
  const [fragment, link, photo, caseFile, server, numbers, steps, messages] = await Promise.all(
    ["fragment", "share_link", "photo", "case_file", "course_server", "numbers", "steps", "messages"].map((name) => import(`/js/${name}.js`)));
  // Mulberry32, public domain, from memory.
  let state = seed;
  const uniform = () => {
    state = (state + 0x6d2b79f5) | 0;
    let t = Math.imul(state ^ (state >>> 15), 1 | state);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
  const below = (n) => Math.floor(uniform() * n);
  const one = (list) => list[below(list.length)];
  const WORDS = ["null", "-1", "1e309", "NaN", "\"\"", "[]", "{}", "[null]", "{\"v\":1}", "true", "__proto__", "constructor", "%00", "%ff", "%", "&", "=", ",", ".", "٣", "−",
    "\u202e", "\ud800", "𝟗", "0x10", "999999999999999999999", "https://", "javascript:", "null,null", "#", "\n", "\0", "case", "mode", "host"];
  const mutated = (text) => {
    let next = text;
    for (let i = 1 + below(4); i > 0; i -= 1) {
      const [at, length] = [below(next.length + 1), below(6)];
      next = one([
        () => next.slice(0, at) + one(WORDS) + next.slice(at + length),
        () => next.slice(0, at) + String.fromCharCode(below(0x250)) + next.slice(at + 1),
        () => next.slice(0, at) + next.slice(at + length),
        () => next.slice(0, at),
        () => next + next.slice(at),
        // A value of JSON for another.
        () => { let left = below(24); return next.replace(/"[^"]*"|-?\d+(\.\d+)?|null|true|false/g, (value) => (left-- === 0 ? one(WORDS) : value)); },
        () => { let left = below(3); return next.replace(/\{[^{}]*\}|\[[^[\]]*\]/g, (value) => (left-- === 0 ? one(WORDS) : value)); },
      ])();
    }
    return next;
  };
  const mutatedBytes = (bytes) => {
    let next = Uint8Array.from(bytes);
    for (let i = 1 + below(6); i > 0; i -= 1) {
      const at = below(next.length);
      if (below(8) === 0) next = next.slice(0, at);
      else if (below(3) === 0) next = Uint8Array.from([...next.slice(0, at), ...Array.from({ length: below(9) }, () => below(256)), ...next.slice(at)]);
      else if (next.length) next[below(2) ? at : below(Math.min(next.length, 64))] = one([0, 255, 0x7f, 0x80, below(256)]);
    }
    return next;
  };
  const counts = {};
  const wrong = [];
  const count = (what, outcome) => {
    counts[what] ??= {};
    counts[what][outcome] = (counts[what][outcome] ?? 0) + 1;
  };
  const broke = (what, input, how) => wrong.length < 20 && wrong.push([what, String(input).slice(0, 300), String(how).slice(0, 300)]);
  const law = (what, input, holds) => holds || broke(what, input, "a law");

  const fragments = ["#case=low-brow&mode=exercise&controls=shape,balance", "#host=https://course.example,null&language=de", "#controls=none", "#case=a&case=b", ""];
  const modes = Object.keys(fragment.KIND_OF_MODE);
  for (let i = 0; i < texts; i += 1) {
    const input = mutated(one(fragments));
    try {
      const { id, mode, controls, language, hosts, unknown } = fragment.readFragment(input);
      law("fragment", input, (id === null || /^[A-Za-z0-9][A-Za-z0-9-]{0,63}$/.test(id)) && (mode === null || modes.includes(mode))
        && (controls === null || controls.every((step) => steps.STEPS.includes(step))) && (language === null || Object.hasOwn(messages.LANGUAGES, language))
        && hosts.every((host) => host === "null" || /^https?:\/\/[^/?#]+$/.test(host)));
      count("fragment", unknown.length ? "refused" : "taken");
    } catch (error) { broke("fragment", input, error); }
  }

  for (let i = 0; i < texts; i += 1) {
    const input = mutated(one(["12.5", "-3,25", "+7", "٩٫٥", "۹٫۳", "  4 ", "\u200f5\u200e"]));
    try {
      const found = numbers.parseNumber(input);
      law("number", input, found === null || Number.isFinite(found));
      count("number", found === null ? "refused" : "taken");
    } catch (error) { broke("number", input, error); }
  }

  const items = [{ lesson: "a" }, { exercise: "b" }, { exercise: "c" }];
  const STATUS = ["passed", "completed", "failed", "incomplete"];
  const memories = [JSON.stringify({ v: 1, at: 1, scores: [40, 100], work: { id: "b", text: "{\"landmarks\":{}}" } }), "", "null", JSON.stringify({ v: 1, at: null, scores: [null, 12.5], work: null })];
  for (let i = 0; i < texts; i += 1) {
    const input = mutated(one(memories));
    const told = new Map();
    const api = {
      LMSInitialize: () => "true", LMSCommit: () => "true", LMSFinish: () => "true",
      LMSGetValue: (name) => (name === "cmi.suspend_data" ? input : name === "cmi.core.lesson_status" ? one(["", "incomplete", input]) : ""),
      LMSSetValue: (name, value) => { told.set(name, value); return one(["true", "true", "false"]); },
    };
    try {
      const keeper = server.serverKeeper(api, { pass: one([null, 60]), items, refused: () => {} });
      const scores = ["b", "c", "none"].map((id) => keeper.score(id));
      law("course", input, scores.every((score) => score === null || (score >= 0 && score <= 100)));
      const place = keeper.place();
      law("course", input, place === null || (Number.isInteger(place) && place >= 0 && place < items.length));
      const work = keeper.work("b");
      law("course", input, work === null || typeof work === "string");
      keeper.keepWork("c", input.repeat(1 + below(40)));
      keeper.keepScore("c", below(101));
      const kept = told.get("cmi.suspend_data") ?? "{}";
      law("course", input, kept.length <= 4096 && typeof JSON.parse(kept) === "object" && STATUS.includes(told.get("cmi.core.lesson_status")));
      const raw = told.get("cmi.core.score.raw") ?? "0";
      law("course", input, Number(raw) >= 0 && Number(raw) <= 100);
      count("course", scores.some((score) => score !== null) ? "taken" : "refused");
    } catch (error) { broke("course", input, error); }
  }

  const plan = counterpoise.planJson();
  const good = await link.linkOf(plan);
  if ((await link.planIn(good)) !== plan) broke("link", good, "does not come back");
  for (let i = 0; i < files; i += 1) {
    const input = below(3) ? `#plan=${mutated(good.slice(6))}` : mutated(good);
    try {
      law("link", input, typeof (await link.planIn(input)) === "string");
      count("link", "taken");
    } catch (error) {
      if (["newer", "long", "cut"].includes(error)) count("link", "refused");
      else broke("link", input, error);
    }
  }

  const bytesOf = async (parts) => new Uint8Array(await new Blob(parts).arrayBuffer());
  const cases = [{ head: { id: "a1", changedAt: "2026-11-01T10:00:00.000Z", photoId: "p" }, text: plan.slice(0, 400), photos: [{ id: "p", type: "image/jpeg", bytes: new Uint8Array([1, 2, 3]).buffer }] }];
  const book = await bytesOf(await caseFile.writeCases(cases, { at: new Date(0) }));
  const decoded = new TextDecoder().decode(book);
  for (let i = 0; i < files; i += 1) {
    const input = below(2) ? mutatedBytes(book) : new TextEncoder().encode(mutated(decoded));
    try {
      const { cases: found } = await caseFile.readCases(input);
      law("cases", new TextDecoder().decode(input), found.every(({ id, text, photos, missing }) => typeof id === "string" && typeof text === "string"
        && photos.every(({ bytes }) => bytes instanceof ArrayBuffer) && Number.isInteger(missing)));
      count("cases", "taken");
    } catch (error) {
      if (error instanceof caseFile.CaseFileError && messages.hasText(`case_file.${error.code}`)) count("cases", "refused");
      else broke("cases", new TextDecoder().decode(input), error.stack ?? error);
    }
  }

  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [240, 220];
  const context = canvas.getContext("2d");
  context.fillStyle = "#c96";
  context.fillRect(20, 30, 150, 90);
  const pictures = await Promise.all(["image/jpeg", "image/png", "image/webp"].map(async (type) =>
    new Uint8Array(await (await new Promise((give) => canvas.toBlob(give, type))).arrayBuffer())));
  for (let i = 0; i < files / 5; i += 1) {
    const input = mutatedBytes(one(pictures));
    try {
      const { bitmap, width, height, bytes } = await photo.readPhoto(new File([input], "x", { type: one(["", "image/jpeg", "text/plain"]) }));
      law("photo", input.slice(0, 40), width >= 1 && height >= 1 && width * height <= photo.CANVAS_PX);
      await bytes;
      bitmap.close();
      count("photo", "taken");
    } catch (error) {
      if (error instanceof photo.PhotoError && messages.hasText(`photo.${error.code}`)) count("photo", "refused");
      else broke("photo", input.slice(0, 40), error.stack ?? error);
    }
  }
  done({ counts, wrong });
})().catch((error) => done({ counts: {}, wrong: [["all", "", String(error.stack ?? error)]] }));
"##;

async fn scripts_read_what_chance_makes_without_a_stumble(browser: &Browser) -> Outcome {
    browser.ready().await?;
    let found = browser.value_later(TRIALS, vec![json!(TEXTS), json!(FILES), json!(SEED)]).await?;
    println!("{:?}: {}", browser.engine, found["counts"]);
    assert_eq!(found["wrong"], json!([]), "{:#}", found["wrong"]);
    // Chance makes both: what is taken and what is refused.
    for reader in ["fragment", "number", "course", "link", "cases", "photo"] {
        for outcome in ["taken", "refused"] {
            let count = found["counts"][reader][outcome].as_u64().unwrap_or(0);
            assert!(count > 10, "{reader}: {count} {outcome}");
        }
    }
    Ok(())
}
