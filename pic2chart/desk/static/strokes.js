// @ts-check
// A stroke of the brush as a few round marks, and how it changes those already there. Nothing but numbers.

import { clamp } from "./dom.js";
/** @import { Mark, Point, Side } from "./shapes" */

/** The desk takes no more marks than these, of both kinds together. */
export const MOST = 64;
const MOST_OF_A_STROKE = 14;
/** Between the middles of a stroke's marks, as a share of their radius. */
const APART = 1.1;
/** A mark that sticks out no further than this share of another one's radius says nothing new. */
const SLACK = 0.25;
/** What is left of a mark under a stroke of the other kind goes when it is smaller than this share. */
const CRUMB = 0.3;

/** @param {Mark | Point} a @param {Mark | Point} b */
const away = ([ax, ay], [bx, by]) => Math.hypot(ax - bx, ay - by);

/**
 * Evenly spread places along a path, its ends among them; one for a path that hardly moves.
 * @param {Point[]} path in pixels of the picture
 * @param {number} radius of the brush, in the same
 * @returns {Point[]}
 */
export function along(path, radius) {
  const lengths = path.slice(1).map((point, i) => away(point, path[i]));
  const whole = lengths.reduce((sum, length) => sum + length, 0);
  const steps = Math.min(Math.round(whole / (APART * radius)), MOST_OF_A_STROKE - 1);
  if (steps < 1) return [path[path.length - 1]];
  return Array.from({ length: steps + 1 }, (_, step) => place(path, lengths, (whole * step) / steps));
}

/** @param {Point[]} path @param {number[]} lengths @param {number} far @returns {Point} */
function place(path, lengths, far) {
  for (let i = 0; i < lengths.length; i += 1) {
    if (far <= lengths[i] && lengths[i] > 0) {
      const share = far / lengths[i];
      const [[x, y], [toX, toY]] = [path[i], path[i + 1]];
      return [x + (toX - x) * share, y + (toY - y) * share];
    }
    far -= lengths[i];
  }
  return path[path.length - 1];
}

/**
 * The marks with a stroke painted over them: what it covers is gone, what it contradicts gives way.
 * @param {Mark[]} marks
 * @param {Point[]} path
 * @param {number} radius
 * @param {Side} side
 */
export function painted(marks, path, radius, side) {
  const stroke = along(path, radius).map(([x, y]) => /** @type {Mark} */ ([x, y, radius, side]));
  const others = marks.filter((mark) => mark[3] !== side).flatMap((mark) => givingWay(mark, stroke));
  const same = marks.filter((mark) => mark[3] === side && !stroke.some((over) => covers(over, mark)));
  const fresh = stroke.filter((mark) => !same.some((over) => covers(over, mark)));
  return fewer([...others, ...same, ...fresh]);
}

/** @param {Mark} over @param {Mark} mark */
const covers = (over, mark) => away(over, mark) + mark[2] <= over[2] * (1 + SLACK);

/** @param {Mark} mark @param {Mark[]} stroke @returns {Mark[]} */
function givingWay(mark, stroke) {
  const [x, y, radius, side] = mark;
  const left = Math.min(radius, ...stroke.map((over) => away(over, mark) - over[2]));
  return left >= radius * CRUMB && left >= 1 ? [[x, y, left, side]] : [];
}

/**
 * The marks without those that the eraser touched.
 * @param {Mark[]} marks
 * @param {Point[]} path
 * @param {number} radius
 */
export function erased(marks, path, radius) {
  const touched = along(path, radius / 2);
  return marks.filter((mark) => touched.every((point) => away(point, mark) > Math.max(radius, mark[2])));
}

/**
 * At most MOST marks: of the two of a kind that lie nearest for their size, the smaller goes.
 * @param {Mark[]} marks
 */
export function fewer(marks) {
  const left = [...marks];
  while (left.length > MOST) {
    let [least, drop] = [Infinity, 0];
    left.forEach((a, i) => left.slice(0, i).forEach((b, j) => {
      const near = a[3] === b[3] ? away(a, b) / (a[2] + b[2]) : Infinity;
      if (near < least) [least, drop] = [near, a[2] < b[2] ? i : j];
    }));
    left.splice(drop, 1);
  }
  return left;
}

/**
 * The marks as the settings write them, within a picture of that size.
 * @param {Mark[]} marks
 * @param {Point} size
 */
export function asSettings(marks, [wide, high]) {
  const textOf = (/** @type {Mark} */ [x, y, radius]) =>
    [clamp(Math.round(x), 0, wide - 1), clamp(Math.round(y), 0, high - 1), Math.max(1, Math.round(radius))].join(",");
  const texts = (/** @type {Side} */ side) => marks.filter((mark) => mark[3] === side).map(textOf);
  return { keep: texts("keep"), leave: texts("leave") };
}

/**
 * @param {{ keep?: string[], leave?: string[] }} settings
 * @returns {Mark[]}
 */
export function fromSettings(settings) {
  return /** @type {Side[]} */ (["leave", "keep"]).flatMap((side) => (settings[side] ?? []).map((text) => {
    const [x, y, radius] = text.split(",").map(Number);
    return /** @type {Mark} */ ([x, y, radius, side]);
  }));
}
