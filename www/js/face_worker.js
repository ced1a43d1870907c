// Looks at a photo beside the page, so that no input waits for it.
//
// In: `{rgba, width, height, pupils, mirrored}`: pixels of a picture, and `x, y, x, y` of the client's right and left pupil or nothing. Out:
// `{points, score, brows}` or `{problem}`, a code of the catalogue's `find.CODE`.

/** A function that doubles a packed number: whether the engine computes four numbers at once. */
const WIDE = Uint8Array.of(0, 97, 115, 109, 1, 0, 0, 0, 1, 5, 1, 96, 0, 1, 123, 3, 2, 1, 0, 10, 10, 1, 8, 0, 65, 0, 253, 15, 253, 98, 11);

const loaded = (async () => {
  const folder = WebAssembly.validate(WIDE) ? "../pkg/vision/wide" : "../pkg/vision";
  const [weights, core] = await Promise.all([
    fetch(new URL("../pkg/vision/face.tflite", import.meta.url)).then((response) => (response.ok ? response.arrayBuffer() : Promise.reject(new Error("no network")))),
    import(new URL(`${folder}/counterpoise_web_vision.js`, import.meta.url)).then(async (core) => {
      await core.default({ module_or_path: new URL(`${folder}/counterpoise_web_vision_bg.wasm`, import.meta.url) });
      return core;
    }),
  ]);
  return { weights: new Uint8Array(weights), core };
})();

addEventListener("message", async ({ data: { rgba, width, height, pupils, mirrored } }) => {
  let weights;
  let core;
  try {
    ({ weights, core } = await loaded);
  } catch {
    postMessage({ problem: "missing" });
    return;
  }
  try {
    postMessage(JSON.parse(core.findFace(weights, new Uint8Array(rgba), width, height, Float64Array.from(pupils), mirrored)));
  } catch (error) {
    // A text is the core's own word; anything else is a trap or no memory.
    postMessage({ problem: typeof error === "string" ? error : "failed" });
  }
});
