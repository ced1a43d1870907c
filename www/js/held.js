// A button that works while it is held, by finger or by key.

/** `begin(node)` is called when it is pressed, `end(node)` when it is let go, however that happens. */
export function held(node, { begin, end }) {
  let isHeld = false;
  const start = (event) => {
    if (event.type === "keydown" && event.key !== "Enter" && event.key !== " ") return;
    event.preventDefault();
    if (isHeld) return;
    isHeld = true;
    begin(node);
  };
  const stop = () => {
    if (!isHeld) return;
    isHeld = false;
    end(node);
  };
  node.classList.add("held");
  node.addEventListener("pointerdown", (event) => {
    start(event);
    node.focus();
  });
  node.addEventListener("keydown", start);
  for (const type of ["pointerup", "pointercancel", "pointerleave", "keyup", "blur"]) node.addEventListener(type, stop);
  node.addEventListener("contextmenu", (event) => event.preventDefault());
  return node;
}
