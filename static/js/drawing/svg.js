// Paints a drawing as SVG. Colours are attributes, so that it looks alike in a page, a file and
// a test; the still of portal/review/drawing.py is the same picture.

import { HIGH, painted } from "./shapes.js";
import { draw, set } from "../player/drawing.js";

const [CHALK, CASING] = ["#fff6dc", "#14262b"];
const [CLOTH, CLOTH_EDGE, FIGURE] = ["#fffdf7", "#3a4648", "#1a2326"];
const LETTER_CASING = 0.08;
const SVG = "http://www.w3.org/2000/svg";
const FAMILY = "Literata, 'Literata stand-in', Georgia, serif";
const ROUND = { "stroke-linecap": "round", "stroke-linejoin": "round" };

const list = (points) => points.map(([x, y]) => `${near(x)},${near(y)}`).join(" ");
const near = (number) => Math.round(number * 100) / 100;

/** An <svg> to be filled, as wide as the frame is. */
export function makeCanvas(aspect) {
  const node = document.createElementNS(SVG, "svg");
  return set(node, {
    class: "chalk", viewBox: `0 0 ${HIGH * aspect} ${HIGH}`, preserveAspectRatio: "none",
    "aria-hidden": "true", focusable: "false",
  });
}

/** The shapes as groups, in their order; what was in `parent` goes. */
export function paint(parent, shapes, aspect) {
  parent.replaceChildren();
  return shapes.map((shape) => paintShape(parent, painted(shape, aspect)));
}

function paintShape(parent, { lines, head, casing, letters, scrap, figure }) {
  const group = draw(parent, "g", {});
  const all = (width, paint) => {
    for (const line of lines) {
      draw(group, "polyline", {
        points: list(line.points), fill: "none", stroke: paint, "stroke-width": near(line.width + 2 * width), ...ROUND,
      });
    }
    const edge = width ? { stroke: paint, "stroke-width": near(2 * width), "stroke-linejoin": "round" } : {};
    if (head) draw(group, "polygon", { points: list(head), fill: paint, ...edge });
  };
  if (lines.length) {
    all(casing, CASING);
    all(0, CHALK);
  }
  if (letters) write(group, letters, { fill: CHALK, stroke: CASING, "stroke-width": near(2 * LETTER_CASING * letters.size), "stroke-linejoin": "round", "paint-order": "stroke" });
  if (scrap) draw(group, "polygon", { points: list(scrap), fill: CLOTH, stroke: CLOTH_EDGE, "stroke-width": 3, "stroke-linejoin": "round" });
  if (figure) write(group, figure, { fill: FIGURE });
  return group;
}

function write(group, { words, at: [x, y], size }, paint) {
  const text = draw(group, "text", {
    x: near(x), y: near(y), "font-family": FAMILY, "font-size": near(size), "font-weight": 600,
    "xml:space": "preserve", ...paint,
  });
  text.textContent = words;
}

/** A small picture of a drawing, without its frame, at the end of `parent`. */
export function hangDrawing(parent, drawing) {
  if (!drawing) return;
  const canvas = parent.appendChild(makeCanvas(drawing.aspect));
  set(canvas, { class: "chalk small", preserveAspectRatio: "xMidYMid meet" });
  paint(canvas, drawing.shapes, drawing.aspect);
}
