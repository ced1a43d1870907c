// The colour of her skin by the photo, for the preview of hair that is gone.

/** Where bare skin is looked for, mm out and up on both sides: above the brows, beside a ruler's usual place. */
const SPOTS_MM = [[26, 34], [40, 36]];
/** Half the side of the square that is averaged there, mm. */
const REACH_MM = 1.5;

/** As CSS. `picture` is the photo, shown `scale` times as large as the plan counts its px; `placeOf(side, out, up)` gives the plan's
 *  px of a place in mm, of which `perMm` make a millimetre. */
export function skinTone({ picture, scale, perMm, placeOf }) {
  const reach = REACH_MM * perMm * scale;
  const sample = document.createElement("canvas");
  [sample.width, sample.height] = [1, 1];
  const pen = sample.getContext("2d", { willReadFrequently: true });
  const found = ["right", "left"].flatMap((side) => SPOTS_MM.map(([out, up]) => {
    const { x, y } = placeOf(side, out, up);
    pen.drawImage(picture, x * scale - reach, y * scale - reach, 2 * reach, 2 * reach, 0, 0, 1, 1);
    return [...pen.getImageData(0, 0, 1, 1).data.subarray(0, 3)];
  }));
  // The middle one by lightness: a strand of hair or a shine on one spot does not count.
  found.sort((p, q) => p[0] + p[1] + p[2] - (q[0] + q[1] + q[2]));
  return `rgb(${found[found.length >> 1].join(" ")})`;
}
