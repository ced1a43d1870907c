// Where a part of the panel scrolls: by itself, or in a small window with the whole page below the stage (css/small.css).

const scrollsItself = (node) => getComputedStyle(node).overflowY !== "visible";

/** What scrolls when this part of the panel does. */
export const scrollerOf = (node) => (scrollsItself(node) ? node : document.scrollingElement);

/** Where the part's beginning lies when the whole page scrolls: below the stage, CSS px from the window's top. */
const pageBegin = () => parseFloat(getComputedStyle(document.scrollingElement).scrollPaddingTop);

/** Whether this part was scrolled beyond its beginning. */
export const isScrolledInto = (part) => (scrollsItself(part) ? part.scrollTop > 0 : part.getBoundingClientRect().top < pageBegin());

/** Puts `child` at the top of what is seen of `part`, or else the part's beginning; where the whole page scrolls, what leads to it: `lead`. */
export function showFrom(part, child = part, lead = child) {
  if (scrollsItself(part)) {
    part.scrollTop = child === part ? 0 : child.offsetTop - part.offsetTop;
    return;
  }
  const page = document.scrollingElement;
  page.scrollTop += lead.getBoundingClientRect().top - pageBegin();
}
