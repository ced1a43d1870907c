// What may wait until the picture is there.

/** A function that has `work` done once behind the next frame, however often it is called until then: the line or outline under the finger comes
 *  first. */
export function behindFrame(work) {
  let isAsked = false;
  return () => {
    if (isAsked) return;
    isAsked = true;
    requestAnimationFrame(() => setTimeout(() => {
      isAsked = false;
      work();
    }));
  };
}
