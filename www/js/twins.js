// Every handle on the canvas has a button in the page: for the keyboard, for screen readers, and for tests.

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
/** Shift takes steps this many times as long. */
const LONG_STEP = 10;
/** Names say where a handle is, and buttons lie over their handles. While handles move only the one that has the focus tells and
 *  follows at once; the others after this time without another move, ms. */
const QUIET_MS = 200;

/**
 * `name(handle)` gives the accessible name; `focused(id)`, `pressed(id)`, `stepped(id, dx, dy)` (right and up on the
 * screen), `settled(id)` and `dropped(id)` tell what the keyboard does: a held arrow key is many steps and one change.
 */
export function createTwins(root, { name, focused, pressed, stepped, settled, dropped }) {
  const buttons = new Map();
  const names = new Map();
  let present = [];
  let pressedId = null;
  let moving = null;
  let movedAt = 0;
  let waiting = 0;

  const tell = (handle) => {
    const label = name(handle);
    if (names.get(handle.id) === label) return;
    names.set(handle.id, label);
    buttons.get(handle.id).setAttribute("aria-label", label);
  };
  const tellAll = () => present.forEach(tell);

  const place = ({ id, x, y }) => {
    buttons.get(id).style.transform = `translate(${x.toFixed(1)}px, ${y.toFixed(1)}px)`;
  };
  /** The one with the focus is where its handle is at once; all others, which only a finger that explores finds, when it is quiet. */
  const placeAll = () => present.forEach(place);

  /** Handles move at every frame of a drag: one timer that looks whether it may act is cheaper than one set anew each time. */
  const whenQuiet = () => {
    const left = movedAt + QUIET_MS - performance.now();
    waiting = left > 0 ? setTimeout(whenQuiet, left) : 0;
    if (waiting) return;
    placeAll();
    tellAll();
  };

  const settle = () => {
    if (!moving) return;
    const id = moving;
    moving = null;
    settled(id);
  };

  const make = (id) => {
    const button = document.createElement("button");
    button.type = "button";
    button.dataset.id = id;
    button.className = "twin";
    button.setAttribute("aria-pressed", String(id === pressedId));
    button.addEventListener("focus", () => {
      const handle = present.find((each) => each.id === id);
      if (handle) place(handle);
      focused(id);
    });
    button.addEventListener("click", () => pressed(id));
    button.addEventListener("blur", settle);
    button.addEventListener("keydown", (event) => {
      if (event.key === "Escape" && moving) {
        moving = null;
        dropped(id);
        event.stopPropagation();
        event.preventDefault();
        return;
      }
      const arrow = ARROWS[event.key];
      if (!arrow || event.ctrlKey || event.altKey || event.metaKey) return;
      event.preventDefault();
      const long = event.shiftKey ? LONG_STEP : 1;
      moving = id;
      stepped(id, arrow[0] * long, arrow[1] * long);
    });
    button.addEventListener("keyup", (event) => {
      if (ARROWS[event.key]) settle();
    });
    return button;
  };

  return {
    /** As many buttons as handles, in their order, with the focus left where it is; `isMoving` while more is to come. */
    update(handles, isMoving) {
      const areSame = handles.length === present.length && handles.every(({ id }, i) => id === present[i].id);
      present = handles;
      if (!areSame) arrange(handles);
      const { activeElement } = document;
      const focus = handles.find(({ id }) => buttons.get(id) === activeElement);
      if (focus) place(focus);
      movedAt = performance.now();
      waiting ||= setTimeout(whenQuiet, QUIET_MS);
      if (!(areSame && isMoving)) tellAll();
      else if (focus) tell(focus);
    },
    /** Marks the selected one. */
    select(id) {
      if (id === pressedId) return;
      buttons.get(pressedId)?.setAttribute("aria-pressed", "false");
      buttons.get(id)?.setAttribute("aria-pressed", "true");
      pressedId = id;
    },
    focus: (id) => buttons.get(id)?.focus({ preventScroll: true }),
    has: (id) => buttons.has(id),
  };

  function arrange(handles) {
    const ids = new Set(handles.map((handle) => handle.id));
    for (const [id, button] of buttons) {
      if (ids.has(id)) continue;
      button.remove();
      buttons.delete(id);
      names.delete(id);
    }
    let before = null;
    for (const { id } of handles) {
      let button = buttons.get(id);
      if (!button) {
        button = make(id);
        buttons.set(id, button);
      }
      const wanted = before ? before.nextSibling : root.firstChild;
      if (button !== wanted) root.insertBefore(button, wanted);
      before = button;
    }
  }
}
