// @ts-check
// How the thing is drawn as knitted: cells with the legs of their stitches, ribbing, outlines, the mark.

/** @import { Laid, Worn } from "./worn.js" */
/** @import { LayerView, Point } from "./shapes" */

const LEGS_FROM = 4.5;
/** The two legs of a stitch in its cell, from 0 to 1. @type {Point[]} */
const STITCH = [[0.05, 0.7], [0.29, 1.1], [0.5, 0.46], [0.71, 1.1], [0.95, 0.7], [0.5, 0.02]];


/** @param {Worn} worn @param {CanvasRenderingContext2D} c @param {Laid} laid @param {LayerView} layer */
export function paintLayer(worn, c, laid, { cells, stitches, outline, ribs, plain }) {
  for (const [polygon, colour] of plain) fill(c, path(worn, laid, polygon), colour);
  for (const [polygon, colour] of ribs) rib(worn, c, laid, polygon, colour);
  /** @type {Map<string, [ground: Path2D, legs: Path2D]>} */
  const paths = new Map();
  let fine = false;
  stitches.forEach((number, i) => {
    const key = worn.keys[number];
    if (!paths.has(key)) paths.set(key, [new Path2D(), new Path2D()]);
    const [ground, legs] = /** @type {[Path2D, Path2D]} */ (paths.get(key));
    const corners = [0, 2, 4, 6].map((k) => worn.at(laid, cells[8 * i + k], cells[8 * i + k + 1]));
    trace(ground, corners);
    fine = fine || Math.abs(corners[1][0] - corners[0][0]) + Math.abs(corners[1][1] - corners[0][1]) >= LEGS_FROM;
    if (fine) trace(legs, STITCH.map(([u, v]) => within(corners, u, v)));
  });
  for (const [key, [ground, legs]] of paths) {
    const colour = worn.colours.get(key) ?? "#808080";
    fill(c, ground, fine ? shade(colour, 0.84) : colour);
    c.lineWidth = 0.6;
    c.strokeStyle = fine ? shade(colour, 0.84) : colour; // closes the hairlines between cells
    c.stroke(ground);
    if (fine) fill(c, legs, colour);
  }
  if (outline.length) twice(c, path(worn, laid, outline), [[3, "rgba(255,255,255,.85)"], [1.2, "rgba(20,24,28,.75)"]]);
}

/**
 * A frame round the stitch of that number, wherever this side shows it.
 * @param {Worn} worn
 * @param {CanvasRenderingContext2D} c
 * @param {number} number
 */
export function paintCursor(worn, c, number) {
  for (const laid of worn.laid) {
    for (const { cells, stitches } of laid.view.layers) {
      const i = stitches.indexOf(number);
      if (i >= 0) twice(c, path(worn, laid, cells.slice(8 * i, 8 * i + 8)), [[4.5, "#fff"], [2, "#14181c"]]);
    }
  }
}

/** Ribbing: a block with upright furrows. @param {Worn} worn @param {CanvasRenderingContext2D} c @param {Laid} laid @param {number[]} polygon @param {string} colour */
function rib(worn, c, laid, polygon, colour) {
  const block = path(worn, laid, polygon);
  fill(c, block, colour);
  const [a, b, top, d] = [0, 2, 4, 6].map((k) => worn.at(laid, polygon[k], polygon[k + 1]));
  const count = Math.max(4, Math.round(Math.hypot(b[0] - a[0], b[1] - a[1]) / worn.scale / 0.7));
  c.lineWidth = Math.max(1, 0.16 * worn.scale);
  c.strokeStyle = shade(colour, 0.74);
  c.beginPath();
  for (let i = 1; i < count; i += 1) {
    c.moveTo(a[0] + ((b[0] - a[0]) * i) / count, a[1] + ((b[1] - a[1]) * i) / count);
    c.lineTo(d[0] + ((top[0] - d[0]) * i) / count, d[1] + ((top[1] - d[1]) * i) / count);
  }
  c.stroke();
  twice(c, block, [[2.5, "rgba(255,255,255,.85)"], [1.2, "rgba(20,24,28,.6)"]]);
}

/** @param {CanvasRenderingContext2D} c @param {Path2D} line @param {[width: number, colour: string][]} pens */
function twice(c, line, pens) {
  for (const [width, colour] of pens) {
    c.lineWidth = width;
    c.strokeStyle = colour;
    c.stroke(line);
  }
}

/** @param {Worn} worn @param {Laid} laid @param {number[]} polygon */
function path(worn, laid, polygon) {
  const line = new Path2D();
  trace(line, Array.from({ length: polygon.length / 2 }, (_, i) => worn.at(laid, polygon[2 * i], polygon[2 * i + 1])));
  return line;
}

/** @param {Path2D} path @param {Point[]} points */
function trace(path, points) {
  points.forEach(([x, y], i) => (i ? path.lineTo(x, y) : path.moveTo(x, y)));
  path.closePath();
}

/** A place in a slanted square. @param {Point[]} corners @param {number} u @param {number} v @returns {Point} */
function within([a, b, c, d], u, v) {
  const mixed = (/** @type {0 | 1} */ i) => (1 - v) * ((1 - u) * a[i] + u * b[i]) + v * ((1 - u) * d[i] + u * c[i]);
  return [mixed(0), mixed(1)];
}

/** @param {CanvasRenderingContext2D} c @param {Path2D} path @param {string} colour */
function fill(c, path, colour) {
  c.fillStyle = colour;
  c.fill(path);
}

/** @param {string} colour @param {number} share */
function shade(colour, share) {
  const value = parseInt(colour.slice(1), 16);
  const part = (/** @type {number} */ bits) => Math.round(((value >> bits) & 255) * share);
  return `rgb(${part(16)},${part(8)},${part(0)})`;
}

/** Whether a point lies in the cell that begins at `from`. @param {number[]} cells @param {number} from @param {number} x @param {number} y */
export function inside(cells, from, x, y) {
  let odd = false;
  for (let i = 0, j = 3; i < 4; j = i, i += 1) {
    const [ax, ay, bx, by] = [cells[from + 2 * i], cells[from + 2 * i + 1], cells[from + 2 * j], cells[from + 2 * j + 1]];
    if (ay > y !== by > y && x < ((bx - ax) * (y - ay)) / (by - ay) + ax) odd = !odd;
  }
  return odd;
}
