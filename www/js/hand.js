// The hand that works: the panel and the buttons on the stage stand on its side, so that it does not lie over the picture.

import { choice } from "./controls.js";
import { el } from "./dom.js";
import { text } from "./messages.js";
import { rememberSetting, setting } from "./settings.js";

const HANDS = ["left", "right"];

const chosen = () => (HANDS.includes(setting("hand", "right")) ? setting("hand", "right") : "right");

/** Lays the page out for the hand that was chosen on this device. */
export function layOutForHand() {
  document.documentElement.dataset.hand = chosen();
}

/** The choice. Left and right are the artist's own here, and stand where her hands are. */
export function handChoice() {
  const hands = choice(text("more.hand", {}), HANDS.map((hand) => ({ value: hand, id: `hand-${hand}`, label: text(`more.hand_${hand}`) })), (hand) => {
    rememberSetting("hand", hand);
    layOutForHand();
    hands.set(hand);
  });
  hands.set(chosen());
  return el("div", { class: "field hands" }, el("span", { text: text("more.hand", {}) }), hands.node);
}
