// Elements and shapes, made with their attributes: the content policy allows no style in them.

// A drawing is for the eye; sliders and buttons lie over it.
export const UNHEARD = { "aria-hidden": "true", focusable: "false" };

export function set(node, attributes) {
  for (const [name, value] of Object.entries(attributes)) node.setAttribute(name, value);
  return node;
}

const SVG = "http://www.w3.org/2000/svg";

export function draw(parent, name, attributes) {
  return parent.appendChild(set(document.createElementNS(SVG, name), attributes));
}

export function add(parent, name, attributes = {}) {
  const node = name === "svg" ? document.createElementNS(SVG, name) : document.createElement(name);
  return parent.appendChild(set(node, attributes));
}
