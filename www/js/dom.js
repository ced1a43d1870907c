// Small helpers for making elements. Text always goes in as text, never as markup.

/** A new element. `props`: class, text, data (dataset), on (listeners), anything else an attribute or, where it is
 *  boolean, a property. */
export function el(tag, props = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(props)) {
    if (value === undefined || value === null) continue;
    if (name === "class") node.className = value;
    else if (name === "text") node.textContent = value;
    else if (name === "data") Object.assign(node.dataset, value);
    else if (name === "on") for (const [type, listener] of Object.entries(value)) node.addEventListener(type, listener);
    else if (typeof value === "boolean") node[name] = value;
    else node.setAttribute(name, value);
  }
  node.append(...children.filter((child) => child !== null && child !== undefined));
  return node;
}

const SVG = "http://www.w3.org/2000/svg";

/** A new element of a drawing. */
export function svg(name, attributes = {}, ...children) {
  const made = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) made.setAttribute(key, value);
  made.append(...children);
  return made;
}

/** An icon of the sprite in index.html; decoration only. */
export function icon(name) {
  return svg("svg", { class: "icon", "aria-hidden": "true" }, svg("use", { href: `#i-${name}` }));
}

const texts = new WeakMap();

/** Changes a node's text only where it differs from the last text given here: the live numbers are written at every
 *  frame, and reading them back costs as much as writing. */
export function setText(node, text) {
  if (texts.get(node) === text) return;
  texts.set(node, text);
  const { firstChild } = node;
  // A text that is there already is changed in place: half the work of a new one.
  if (firstChild?.nodeType === Node.TEXT_NODE && firstChild === node.lastChild) firstChild.data = text;
  else node.textContent = text;
}

/** Changes an attribute only where it differs. */
export function setAttribute(node, name, value) {
  if (node.getAttribute(name) !== String(value)) node.setAttribute(name, value);
}

/** Puts children in place of the present ones. */
export function replace(node, ...children) {
  node.replaceChildren(...children.filter((child) => child !== null && child !== undefined));
}

/** The same for children nobody listens to: one that is there already, and looks the same, stays and is not laid out anew. */
export function replaceChanged(node, ...children) {
  const wanted = children.filter((child) => child !== null && child !== undefined);
  const present = [...node.children];
  wanted.forEach((child, i) => {
    if (!present[i]) node.append(child);
    else if (!present[i].isEqualNode(child)) present[i].replaceWith(child);
  });
  for (const child of present.slice(wanted.length)) child.remove();
}

let count = 0;

/** An id no other element has. */
export function newId(prefix) {
  count += 1;
  return `${prefix}-${count}`;
}
