// Looks for landmarks on a photo beside the page, so that no input waits for it.
//
// In: `{rgba, width, height, pupils, mirrored}`: pixels of a picture, and `x, y, x, y` of the client's right and left pupil or nothing. Out:
// `{points, score}` or `{problem}`, a code of the catalogue's `find.CODE`.

import init, * as core from "../pkg/vision/counterpoise_web_vision.js";

const loaded = (async () => {
  const [weights] = await Promise.all([
    fetch(new URL("../pkg/vision/face.tflite", import.meta.url)).then((response) => (response.ok ? response.arrayBuffer() : Promise.reject(new Error("no network")))),
    init({ module_or_path: new URL("../pkg/vision/counterpoise_web_vision_bg.wasm", import.meta.url) }),
  ]);
  return new Uint8Array(weights);
})();

addEventListener("message", async ({ data: { rgba, width, height, pupils, mirrored } }) => {
  let weights;
  try {
    weights = await loaded;
  } catch {
    postMessage({ problem: "missing" });
    return;
  }
  try {
    postMessage(JSON.parse(core.findPoints(weights, new Uint8Array(rgba), width, height, Float64Array.from(pupils), mirrored)));
  } catch (error) {
    // A text is the core's own word; anything else is a trap or no memory.
    postMessage({ problem: typeof error === "string" ? error : "failed" });
  }
});
