// Every handle on the canvas has a button in the page: for the keyboard, for screen readers, and for tests.

const ARROWS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
/** Shift takes steps this many times as long. */
const LONG_STEP = 10;

/**
 * `name(handle)` gives the accessible name; `focused(id)`, `pressed(id)`, `stepped(id, dx, dy)` (right and up on the
 * screen), `settled(id)` and `dropped(id)` tell what the keyboard does: a held arrow key is many steps and one change.
 */
export function createTwins(root, { name, focused, pressed, stepped, settled, dropped }) {
  const buttons = new Map();
  let moving = null;

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
    button.addEventListener("focus", () => focused(id));
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
    /** As many buttons as handles, in their order, with the focus left where it is. */
    update(handles) {
      const present = new Set(handles.map((handle) => handle.id));
      for (const [id, button] of buttons) {
        if (present.has(id)) continue;
        button.remove();
        buttons.delete(id);
      }
      let before = null;
      for (const handle of handles) {
        let button = buttons.get(handle.id);
        if (!button) {
          button = make(handle.id);
          buttons.set(handle.id, button);
        }
        const wanted = before ? before.nextSibling : root.firstChild;
        if (button !== wanted) root.insertBefore(button, wanted);
        before = button;
        const label = name(handle);
        if (button.getAttribute("aria-label") !== label) button.setAttribute("aria-label", label);
      }
    },
    /** Marks the selected one. */
    select(id) {
      for (const [each, button] of buttons) {
        const value = String(each === id);
        if (button.getAttribute("aria-pressed") !== value) button.setAttribute("aria-pressed", value);
      }
    },
    focus: (id) => buttons.get(id)?.focus({ preventScroll: true }),
    has: (id) => buttons.has(id),
  };
}
