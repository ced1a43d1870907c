// Plays what the core wrote down for the canvas (`crates/web/src/marks.rs` has the same table).

const [BEGIN, MOVE, LINES, CURVE, CLOSE, CIRCLE, FILL, STROKE, CLIP, UNCLIP, FONT, TEXT] = Array(12).keys();

/** The pen as it is before a line was drawn: nothing is what is wanted. */
const UNKNOWN = Object.freeze({ ink: NaN, alpha: NaN, width: NaN, isRound: NaN });

const isSame = (a, b) => {
  let i = 0;
  while (i < a.length && a[i] === b[i]) i += 1;
  return i === a.length && i === b.length;
};

/** Whether two drawings would come out the same. */
export const looksSame = (a, b) => isSame(a.marks, b.marks) && isSame(a.inks, b.inks) && isSame(a.words, b.words);

/** Draws marks over what is on the canvas; `inks` are colours by their number, `words` the texts in their order. */
export function play(context, { marks, inks, words }) {
  let i = 0;
  let word = 0;
  let halo = 0;
  let hasDash = false;
  // As it was set last: most of a line's pen is the last one's, and setting that again takes time.
  let pen = UNKNOWN;
  context.lineJoin = "round";
  context.textAlign = "center";
  context.textBaseline = "middle";
  while (i < marks.length) {
    switch (marks[i++]) {
      case BEGIN:
        context.beginPath();
        break;
      case MOVE:
        context.moveTo(marks[i++], marks[i++]);
        break;
      case LINES:
        for (let n = marks[i++]; n > 0; n -= 1) context.lineTo(marks[i++], marks[i++]);
        break;
      case CURVE:
        context.bezierCurveTo(marks[i++], marks[i++], marks[i++], marks[i++], marks[i++], marks[i++]);
        break;
      case CLOSE:
        context.closePath();
        break;
      case CIRCLE: {
        const [x, y, radius] = [marks[i++], marks[i++], marks[i++]];
        context.moveTo(x + radius, y);
        context.arc(x, y, radius, 0, 2 * Math.PI);
        break;
      }
      case FILL:
        context.fillStyle = inks[marks[i++]];
        context.globalAlpha = marks[i++];
        pen = UNKNOWN;
        context.fill(marks[i++] ? "evenodd" : "nonzero");
        break;
      case STROKE: {
        const next = { ink: marks[i++], alpha: marks[i++], width: marks[i++], isRound: marks[i++] };
        if (next.ink !== pen.ink) context.strokeStyle = inks[next.ink];
        if (next.alpha !== pen.alpha) context.globalAlpha = next.alpha;
        if (next.width !== pen.width) context.lineWidth = next.width;
        if (next.isRound !== pen.isRound) context.lineCap = next.isRound ? "round" : "butt";
        pen = next;
        const dashes = [];
        for (let n = marks[i++]; n > 0; n -= 1) dashes.push(marks[i++]);
        if (dashes.length || hasDash) context.setLineDash(dashes);
        hasDash = dashes.length > 0;
        context.stroke();
        break;
      }
      case CLIP:
        if (hasDash) context.setLineDash([]);
        hasDash = false;
        context.save();
        context.clip("evenodd");
        break;
      case UNCLIP:
        context.restore();
        pen = UNKNOWN;
        hasDash = false;
        break;
      case FONT:
        // Not saved and restored with the rest: the same font as last time is no work at all.
        context.font = `${marks[i++]}px system-ui, sans-serif`;
        halo = marks[i++];
        break;
      case TEXT: {
        const [ink, x, y] = [inks[marks[i++]], marks[i++], marks[i++]];
        pen = UNKNOWN;
        context.globalAlpha = 1;
        context.lineWidth = halo;
        context.strokeStyle = inks[5];
        context.strokeText(words[word], x, y);
        context.fillStyle = ink;
        context.fillText(words[word], x, y);
        word += 1;
        break;
      }
    }
  }
  context.globalAlpha = 1;
  context.lineCap = "butt";
  if (hasDash) context.setLineDash([]);
}
