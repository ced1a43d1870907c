// Listens to fingers, pens, mice and Escape, asks the core's gesture reducer what they mean, and passes its commands on.
// One element gets every event and is never moved or replaced while a gesture runs.

/** Tablets of one maker report wrong ids in coalesced events; the events themselves are good. */
const IS_APPLE_TOUCH = /Mac|iPad|iPhone/.test(navigator.platform ?? "") && navigator.maxTouchPoints > 1;
/** A wheel that counts in lines or pages, in px. */
const WHEEL_PX = { 0: 1, 1: 16, 2: 400 };

/**
 * `context()` gives `{mode, selected, placing}` and `handles()` what can be hit, asked for only when something goes down;
 * `run(commands)` does what the reducer says.
 */
export function createPointer({ canvas, engine, context, handles, run, isEmbedded }) {
  let state = "";
  let isEditing = false;
  const down = new Set();

  const send = (events, withHandles = false) => {
    const given = withHandles ? { ...context(), handles: handles() } : context();
    try {
      const next = engine.gesture(state, events, given);
      state = next.state;
      isEditing = next.is_editing;
      if (next.commands.length) run(next.commands);
    } catch (error) {
      // The reducer's memory went with the instance; the plan did not.
      state = "";
      isEditing = false;
      down.clear();
      if (error?.code === undefined) throw error;
    }
  };

  const local = (event, type) => {
    const box = canvas.getBoundingClientRect();
    return {
      type,
      pointer_id: event.pointerId ?? 0,
      pointer_type: event.pointerType === "touch" || event.pointerType === "pen" ? event.pointerType : "mouse",
      x: event.clientX - box.left,
      y: event.clientY - box.top,
      buttons: event.buttons,
      t_ms: event.timeStamp,
      shift: event.shiftKey,
      ctrl: event.ctrlKey,
    };
  };

  canvas.addEventListener("pointerdown", (event) => {
    // Keeps the page from selecting, scrolling or starting a drag of its own; the focus is taken by hand.
    event.preventDefault();
    canvas.focus({ preventScroll: true });
    try {
      canvas.setPointerCapture(event.pointerId);
    } catch {
      // Events made by a script have no pointer to capture.
    }
    down.add(event.pointerId);
    send([local(event, "down")], true);
  });
  canvas.addEventListener("pointermove", (event) => {
    if (!down.has(event.pointerId)) return;
    const parts = !IS_APPLE_TOUCH && context().mode === "trace" ? event.getCoalescedEvents?.() ?? [] : [];
    send((parts.length ? parts : [event]).map((part) => local(part, "move")));
  });
  const ended = (type) => (event) => {
    if (!down.delete(event.pointerId)) return;
    send([local(event, type)]);
  };
  canvas.addEventListener("pointerup", ended("up"));
  canvas.addEventListener("pointercancel", ended("cancel"));

  canvas.addEventListener("wheel", (event) => {
    // The page around scrolls; a pinch of a trackpad comes with Ctrl.
    if (isEmbedded && !event.ctrlKey && !event.metaKey) return;
    event.preventDefault();
    const unit = WHEEL_PX[event.deltaMode] ?? 1;
    send([{ ...local(event, "wheel"), dx: event.deltaX * unit, dy: event.deltaY * unit }]);
  }, { passive: false });

  // Trackpad pinches of one engine come as gestures of their own.
  let gestureScale = 1;
  for (const type of ["gesturestart", "gesturechange", "gestureend"]) {
    canvas.addEventListener(type, (event) => {
      event.preventDefault();
      if (down.size) return;
      if (type === "gesturestart") gestureScale = 1;
      else {
        const box = canvas.getBoundingClientRect();
        run([{ do: "zoom", factor: event.scale / gestureScale, x: event.clientX - box.left, y: event.clientY - box.top }]);
        gestureScale = event.scale;
      }
    });
  }
  // Without these a long press brings up the browser's magnifier, and handwriting recognition swallows fast strokes.
  for (const type of ["touchstart", "touchmove"]) canvas.addEventListener(type, (event) => event.preventDefault(), { passive: false });
  canvas.addEventListener("contextmenu", (event) => event.preventDefault());

  const abort = () => {
    down.clear();
    send([{ type: "abort" }]);
  };
  addEventListener("keydown", (event) => {
    if (event.key !== "Escape" || !isEditing) return;
    event.preventDefault();
    event.stopPropagation();
    down.clear();
    send([{ type: "key", key: "Escape" }]);
  }, { capture: true });
  addEventListener("blur", abort);
  addEventListener("visibilitychange", () => document.visibilityState === "hidden" && abort());

  return {
    abort,
    get isEditing() {
      return isEditing;
    },
    leavePenMode: () => send([{ type: "leave_pen" }]),
    /** After a fresh instance: whatever was under way is over. */
    forget() {
      state = "";
      isEditing = false;
      down.clear();
    },
  };
}
