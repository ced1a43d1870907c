//! Times the page in Chromium for `cargo xtask bench`, which serves it together with the timed work as wasm under
//! `/bench/`. Prints one line of JSON: microseconds of the core, milliseconds of script for each move of a slider.

use counterpoise_tests::browser::{Browser, Engine, Failure, Outcome, Window, run, shots_dir};
use counterpoise_tests::pictures;
use serde_json::{Value, json};

/// How many moves of the slider are timed, a batch at a time, so that none outlasts the driver's patience.
const BATCHES: u32 = 10;
const MOVES: u32 = 20;
/// How much slower the processor is made for the slider: a tablet of some years ago.
const SLOWER: u32 = 4;
/// How often the page is opened anew.
const STARTS: usize = 5;

fn main() {
    run(Engine::Chromium, Window::Standing, "bench", bench);
}

async fn bench(browser: &Browser) -> Outcome {
    browser.ready().await?;
    let plan = browser.plan_text().await?;
    let core = browser.value_later(CORE, vec![json!(plan)]).await?;
    browser.step("shape").await?;
    browser.devtools("Emulation.setCPUThrottlingRate", json!({ "rate": SLOWER })).await?;
    // Script up to the frame that shows the move, and up to the numbers behind it.
    let mut moves: [Vec<f64>; 2] = Default::default();
    for _ in 0..BATCHES {
        let batch = browser.value_later(SLIDER, vec![json!(MOVES)]).await?;
        for (until, times) in moves.iter_mut().enumerate() {
            times.extend(batch.as_array().into_iter().flatten().filter_map(|times| times[until].as_f64()));
        }
    }
    browser.step("points").await?;
    browser.devtools("Emulation.setCPUThrottlingRate", json!({ "rate": 1 })).await?;
    let mut assist = browser.value_later(ASSIST, vec![json!(false)]).await?;
    browser.devtools("Emulation.setCPUThrottlingRate", json!({ "rate": SLOWER })).await?;
    let slow = browser.value_later(ASSIST, vec![json!(true)]).await?;
    if let Some(assist) = assist.as_object_mut() {
        assist.insert("slow_hair_ms".to_owned(), slow["hair_ms"].clone());
        assist.insert("whole_ms".to_owned(), slow["whole_ms"].clone());
    }
    let starts = starts(browser).await?;
    let memory = memory(browser).await?;
    let spread = moves.map(|mut times| {
        times.sort_by(f64::total_cmp);
        let at = |share: f64| times.get((times.len() as f64 * share) as usize).copied();
        json!({ "median": at(0.5), "p95": at(0.95), "moves": times.len() })
    });
    println!(
        "{}",
        json!({ "core": core, "assist": assist, "starts_ms": starts, "memory": memory, "slider_ms": spread[0], "slider_numbers_ms": spread[1] })
    );
    Ok(())
}

/// From an empty cache to a page that is ready, as the page's own clock tells.
async fn starts(browser: &Browser) -> Result<Value, Failure> {
    let script = "new MutationObserver(() => { if (document.documentElement?.dataset.ready) window.readyAt ??= performance.now() }) \
        .observe(document, { subtree: true, childList: true, attributes: true })";
    browser.before_page(script).await?;
    browser.devtools("Network.enable", json!({})).await?;
    browser.devtools("Network.setCacheDisabled", json!({ "cacheDisabled": true })).await?;
    browser.devtools("Emulation.setCPUThrottlingRate", json!({ "rate": SLOWER })).await?;
    let mut times = Vec::new();
    for _ in 0..STARTS {
        browser.open_anew("").await?;
        browser.ready().await?;
        times.extend(browser.value("return window.readyAt").await?.as_f64());
    }
    browser.devtools("Emulation.setCPUThrottlingRate", json!({ "rate": 1 })).await?;
    browser.devtools("Network.setCacheDisabled", json!({ "cacheDisabled": false })).await?;
    times.sort_by(f64::total_cmp);
    Ok(json!({ "median": times.get(times.len() / 2) }))
}

/// What a long visit holds on to: memory after many photos and edits less that after a few, MB, and nodes of the document.
async fn memory(browser: &Browser) -> Result<Value, Failure> {
    let script = "for (const name of ['instantiate', 'instantiateStreaming']) { const make = WebAssembly[name]; \
        WebAssembly[name] = async (...given) => { const made = await make.apply(WebAssembly, given); \
        const { memory } = (made.instance ?? made).exports; if (memory) (window.memories ??= []).push(memory); return made; } }";
    browser.before_page(script).await?;
    browser.open_anew("").await?;
    browser.ready().await?;
    let photo = shots_dir()?.join("memory.png");
    std::fs::write(&photo, pictures::png(2000, 1500, true))?;
    let mut held = Vec::new();
    for (photos, edits) in [(3, 20), (20, 200)] {
        for _ in 0..photos {
            browser.click("#more").await?;
            browser.click("#new-case").await?;
            browser.open_photo(&photo, 2000, 1500).await?;
        }
        // Edits of the demo, in which all of a plan is computed.
        browser.click("#more").await?;
        browser.click("#demo-case").await?;
        browser.step("shape").await?;
        for edit in 0..edits {
            let way = if edit % 2 == 0 { "1" } else { "-1" };
            browser
                .value_with(
                    "document.querySelector(`#panel-shape [data-step=\"${arguments[0]}\"][data-param=arch_y]`).click()",
                    vec![json!(way)],
                )
                .await?;
            browser.settle().await?;
        }
        browser.devtools("HeapProfiler.collectGarbage", json!({})).await?;
        held.push(
            browser
                .value(
                    "return [performance.memory.usedJSHeapSize, window.memories.reduce((sum, { buffer }) => sum + buffer.byteLength, 0), \
                     document.getElementsByTagName('*').length]",
                )
                .await?,
        );
    }
    let grown = |index: usize| {
        held[1][index].as_f64().zip(held[0][index].as_f64()).map(|(after, before)| after - before)
    };
    Ok(
        json!({ "heap_mb": grown(0).map(|bytes| bytes / 1e6), "wasm_mb": grown(1).map(|bytes| bytes / 1e6), "nodes": grown(2) }),
    )
}

/// Median over nine rounds after a warm-up, as natively; and the same report through the page's own boundary.
const CORE: &str = r"
const [plan, done] = arguments;
(async () => {
  const work = await import('/bench/bench_wasm.js');
  await work.default();
  const { loadEngine } = await import('/js/engine.js');
  const engine = await loadEngine();
  const median = (times, act) => {
    const rounds = [];
    act(times);
    for (let round = 0; round < 9; round += 1) {
      const start = performance.now();
      act(times);
      rounds.push(((performance.now() - start) * 1000) / times);
    }
    return rounds.sort((a, b) => a - b)[4];
  };
  // The core remembers the last plans it was asked for; one more than those makes it work each time.
  const plans = [1, 2, 3].map((label) => engine.apply(plan, { do: 'set_case', case: { ...JSON.parse(plan).case, label: String(label) } }));
  // Every complete pair of real brows, where the data is there.
  const curves = async (work) => {
    const reply = await fetch('/bench-data/real-brows/outlines.json');
    if (!reply.ok) return {};
    const { outlines } = await reply.json();
    const flat = (id, side) => outlines.find((brow) => brow.id === id && brow.side === side)?.outline_mm.flat();
    const pairs = outlines
      .filter((brow) => brow.side === 'client_right' && flat(brow.id, 'client_left'))
      .map((brow) => [brow.outline_mm.flat(), flat(brow.id, 'client_left')]);
    const timed = (limits) => {
      const times = pairs.map(([right, left]) => {
        const start = performance.now();
        work.curves(right, left, limits);
        return performance.now() - start;
      }).sort((a, b) => a - b);
      return { median: times[times.length >> 1], worst: times.at(-1), pairs: times.length };
    };
    timed([15]);
    return { curve_ms: timed([15]), family_ms: timed([10, 15, 25, 40]) };
  };
  const fixture = async (name) => (await fetch(`/bench-fixtures/${name}`)).text();
  const common = new work.Common(await fixture('shapes.json'), await fixture('fit-scipy.json'), await fixture('balance-slsqp.json'));
  done({
    areas_us: median(5, (times) => common.areas(times)) / common.pairs(),
    areas_mm2: common.areas(1),
    common_fit_us: median(2, (times) => common.fit(times)),
    balance_us: median(1, (times) => common.balance(times)),
    balance: [...common.balance(1)],
    frame_us: median(50, (times) => work.frames(plan, times)),
    posed_us: median(50, (times) => work.posed_frames(plan, times)),
    ...await curves(work),
    drag_us: median(50, (times) => work.drags(plan, times)),
    fit_us: median(4, (times) => work.fits(plan, times)) / 2,
    boundary_us: median(50, (times) => { for (let i = 0; i < times; i += 1) engine.report(plans[i % plans.length]); }),
  });
})().catch((error) => done({ error: String(error) }));
";

/// Photo assist on a real face, enlarged to 12 megapixels as a camera gives it. It runs on the page's own thread here, since a worker's is not slowed
/// down; decoding of the photo is not part of it.
const ASSIST: &str = r"
const [slow, done] = arguments;
(async () => {
  const reply = await fetch('/bench-data/real-brows/photos/001_03.jpg');
  if (!reply.ok) throw new Error('no photo of the data');
  const small = await createImageBitmap(await reply.blob());
  const photo = await createImageBitmap(small, { resizeWidth: 3464, resizeHeight: 3464 });
  const weights = new Uint8Array(await (await fetch('/pkg/vision/face.tflite')).arrayBuffer());
  const work = await import('/bench-vision/bench_vision.js');
  await work.default();
  const core = await import('/pkg/vision/wide/counterpoise_web_vision.js');
  await core.default();
  const { pixelsOf } = await import('/js/face_finder.js');
  const median = (times) => times.sort((a, b) => a - b)[times.length >> 1];
  const spent = (times, act) => Array.from({ length: times }, () => {
    const start = performance.now();
    act();
    return performance.now() - start;
  });
  const whole = () => {
    const { data, width, height } = pixelsOf(photo);
    core.findFace(weights, new Uint8Array(data.buffer), width, height, new Float64Array(), false);
  };
  const { data, width, height } = pixelsOf(photo);
  const timed = new work.Timed(weights, new Uint8Array(data.buffer), width, height);
  timed.hair(2);
  done({
    network_ms: slow ? null : median(spent(20, () => timed.run())),
    hair_ms: median([...timed.hair(9)]),
    whole_ms: slow ? median(spent(7, whole)) : null,
  });
})().catch((error) => done({ error: String(error) }));
";

/// The time of the input's own handlers and of every animation frame that follows it.
const SLIDER: &str = r#"
const [moves, done] = arguments;
const range = document.querySelector('input[type=range][data-param="arch_y"]');
const frame = window.requestAnimationFrame.bind(window);
let drawing = 0;
window.requestAnimationFrame = (act) => frame((time) => {
  const start = performance.now();
  try { act(time); } finally { drawing += performance.now() - start; }
});
let counting = 0;
const timeout = window.setTimeout.bind(window);
window.setTimeout = (act, wait, ...given) => timeout(() => {
  const start = performance.now();
  try { act(...given); } finally { if (!wait) counting += performance.now() - start; }
}, wait);
const painted = () => new Promise((resolve) => frame(() => frame(resolve)));
(async () => {
  const middle = Number(range.value);
  const step = Number(range.step);
  const times = [];
  for (let move = 0; move < moves; move += 1) {
    drawing = 0;
    counting = 0;
    range.value = String(middle + step * ((move % 9) - 4));
    const start = performance.now();
    range.dispatchEvent(new Event('input', { bubbles: true }));
    const handling = performance.now() - start;
    await painted();
    times.push([handling + drawing, handling + drawing + counting]);
  }
  range.value = String(middle);
  range.dispatchEvent(new Event('input', { bubbles: true }));
  range.dispatchEvent(new Event('change', { bubbles: true }));
  window.requestAnimationFrame = frame;
  window.setTimeout = timeout;
  done(times);
})();
"#;
