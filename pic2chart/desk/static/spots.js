// @ts-check
// Spots on the picture that matter most, such as the eyes: drawn from the middle outwards, moved by keys.

import { clamp, el } from "./dom.js";
import { attempt } from "./net.js";
import * as model from "./model.js";
/** @import { Point, Spot } from "./shapes" */

const STEP = 0.01;
const USUAL = 0.06;
const LEAST = 0.015;
const PAUSE = 450;
/** @type {HTMLElement} */
let frame;
/** @type {Point} */
let size = [1, 1];
/** @type {{ node: HTMLElement, spot: Spot }[]} */
let marks = [];
let timer = 0;

/** @param {HTMLElement} photo */
export function setUpSpots(photo) {
  frame = photo;
}

/**
 * Show the project's spots.
 * @param {Point} pixels the picture's true width and height
 */
export function showSpots(pixels) {
  size = pixels;
  const held = marks.findIndex(({ node }) => node === document.activeElement);
  for (const { node } of marks) node.remove();
  /** @type {string[]} */
  const texts = model.opened().settings.focus ?? [];
  marks = texts.map(markOf);
  frame.append(...marks.map(({ node }) => node));
  marks[held]?.node.focus({ preventScroll: true });
}

/** @param {string} text @param {number} index */
function markOf(text, index) {
  const [x, y, r] = text.split(",").map(Number);
  const node = el("div", { class: "spot", tabindex: "0", role: "application", "aria-label": `Spot ${index + 1}: arrow keys move it, plus and minus change its size, Delete takes it away`, onkeydown: (event) => press(event, index) });
  /** @type {Spot} */
  const spot = [x / size[0], y / size[1], r / size[0]];
  put(node, spot);
  return { node, spot };
}

/**
 * @param {HTMLElement} node
 * @param {Spot} spot
 */
function put(node, [x, y, r]) {
  const high = (r * size[0]) / size[1];
  Object.assign(node.style, { left: `${(x - r) * 100}%`, top: `${(y - high) * 100}%`, width: `${r * 200}%`, height: `${high * 200}%` });
}

/** @param {Spot} spot */
const textOf = ([x, y, r]) => `${Math.round(x * size[0])},${Math.round(y * size[1])},${Math.max(1, Math.round(r * size[0]))}`;

/** @param {Spot[]} spots */
function save(spots) {
  return attempt(() => model.changeSettings({ focus: spots.map(textOf) }, !model.opened().follows));
}

export const clearSpots = () => save([]);

/** A spot in the middle of the frame, for those who draw with the keys. */
export function addSpot() {
  save([...marks.map((mark) => mark.spot), [0.5, 0.5, USUAL]]).then(() => marks.at(-1)?.node.focus());
}

/**
 * Draw a new spot from its middle; gives what to do while it grows and at its end.
 * @param {Point} from
 */
export function drawSpot(from) {
  const mark = el("div", { class: "spot" });
  frame.append(mark);
  /** @type {Spot} */
  let spot = [...from, USUAL];
  put(mark, spot);
  return {
    move(/** @type {Point} */ [x, y]) {
      const away = Math.hypot(x - from[0], ((y - from[1]) * size[1]) / size[0]);
      spot = [...from, clamp(away, LEAST, 0.5)];
      if (away < LEAST) spot = [...from, USUAL];
      put(mark, spot);
    },
    stop(/** @type {boolean} */ kept) {
      mark.remove();
      if (kept) save([...marks.map((one) => one.spot), spot]);
    },
  };
}

/** @param {KeyboardEvent} event @param {number} index */
function press(event, index) {
  const mark = marks[index];
  const [x, y, r] = mark.spot;
  /** @type {Record<string, Point>} */
  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  /** @type {Record<string, number>} */
  const grows = { "+": 1.15, "=": 1.15, "-": 1 / 1.15 };
  const [way, grow] = [ways[event.key], grows[event.key]];
  if (event.key === "Delete" || event.key === "Backspace") {
    event.preventDefault();
    save(marks.filter((_, i) => i !== index).map((one) => one.spot));
    return;
  }
  if (!way && !grow) return;
  event.preventDefault();
  const step = way ?? [0, 0];
  mark.spot = [clamp(x + step[0] * STEP, 0, 1), clamp(y + step[1] * STEP, 0, 1), clamp(r * (grow ?? 1), LEAST, 0.5)];
  put(mark.node, mark.spot);
  clearTimeout(timer);
  timer = setTimeout(() => save(marks.map((one) => one.spot)), PAUSE);
}
