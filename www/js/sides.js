// The client's two sides, always her own right and left.

import { isRightToLeft } from "./messages.js";

export const SIDES = ["right", "left"];

/** The sides in the order in which they are laid out beside each other: her right where an ordinary photo shows it, at the left of the
 *  screen, whichever way the page is read. A column or a button under the other brow would be taken for that brow's. */
export const sidesAsSeen = () => (isRightToLeft() ? SIDES.toReversed() : SIDES);
