// In a frame of another page a finger on the stage first scrolls that page; a tap wakes the stage, and touching anything else puts it to rest again.

import { button } from "./controls.js";
import { text } from "./messages.js";

export function restUntilTapped(stageRoot) {
  const root = document.documentElement;
  const wake = button(text("embed.wake"), { id: "embed-wake", kind: "embed-wake", on: () => set("awake") });
  const set = (state) => {
    root.dataset.embedded = state;
    wake.hidden = state === "awake";
  };
  stageRoot.append(wake);
  set("resting");
  // The page around took the focus.
  addEventListener("blur", () => set("resting"));
}
