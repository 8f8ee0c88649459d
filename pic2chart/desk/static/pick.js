// @ts-check
// Taking a yarn's colour from the photo: a point on it, by pointer or by keys.

import { clamp, el, tell } from "./dom.js";
import { penOf } from "./ink.js";
/** @import { Point } from "./shapes" */

const STEP = 0.01;
/** Half the side of the square whose mean is taken, as a share of the photo's width. */
const REACH = 0.006;
/** @type {HTMLElement} */
let frame;
/** @type {HTMLImageElement} */
let img;
/** @type {HTMLElement} */
let drop;
/** @type {Point} */
let at = [0.5, 0.5];
/** @type {((colour: string | null) => void) | null} */
let answer = null;
/** @type {ImageData | null} */
let pixels = null;

/** @param {HTMLElement} photo @param {HTMLImageElement} shown @param {() => void} reveal brings the photo into sight */
export function setUpPick(photo, shown, reveal) {
  [frame, img, show] = [photo, shown, reveal];
  drop = el("div", { class: "dropper", tabindex: "0", role: "application", hidden: true, "aria-label": "Take a colour: arrow keys move the ring, Enter takes the colour, Escape leaves it", onkeydown: press });
  frame.append(drop);
  frame.addEventListener("pointermove", (event) => { if (answer) move(place(event)); });
  frame.addEventListener("pointerdown", (event) => {
    if (!answer) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    move(place(event));
    done(colourAt(at));
  }, { capture: true });
}

/** @type {() => void} */
let show;

/** A colour from the photo, null when it is left. @returns {Promise<string | null>} */
export function pickColour() {
  done(null);
  show();
  const canvas = document.createElement("canvas");
  [canvas.width, canvas.height] = [img.naturalWidth, img.naturalHeight];
  penOf(canvas).drawImage(img, 0, 0);
  pixels = penOf(canvas).getImageData(0, 0, canvas.width, canvas.height);
  frame.classList.add("picking");
  drop.hidden = false;
  move(at);
  drop.focus({ preventScroll: true });
  tell("Choose a place on the photo.");
  return new Promise((resolve) => { answer = resolve; });
}

/** @param {PointerEvent} event @returns {Point} */
function place(event) {
  const area = frame.getBoundingClientRect();
  return [(event.clientX - area.left) / area.width, (event.clientY - area.top) / area.height];
}

/** @param {Point} to */
function move(to) {
  at = [clamp(to[0], 0, 1), clamp(to[1], 0, 1)];
  Object.assign(drop.style, { left: `${at[0] * 100}%`, top: `${at[1] * 100}%`, backgroundColor: colourAt(at) });
}

/** The mean colour round a place. @param {Point} point */
function colourAt([x, y]) {
  if (!pixels) return "#808080";
  const { width, height, data } = pixels;
  const reach = Math.max(1, Math.round(REACH * width));
  const [cx, cy] = [Math.round(x * (width - 1)), Math.round(y * (height - 1))];
  const sum = [0, 0, 0];
  let count = 0;
  for (let py = Math.max(0, cy - reach); py <= Math.min(height - 1, cy + reach); py += 1) {
    for (let px = Math.max(0, cx - reach); px <= Math.min(width - 1, cx + reach); px += 1) {
      for (let i = 0; i < 3; i += 1) sum[i] += data[4 * (py * width + px) + i];
      count += 1;
    }
  }
  return `#${sum.map((value) => Math.round(value / count).toString(16).padStart(2, "0")).join("")}`;
}

/** @param {string | null} colour */
function done(colour) {
  const heard = answer;
  answer = null;
  pixels = null;
  frame?.classList.remove("picking");
  if (drop) drop.hidden = true;
  heard?.(colour);
}

/** @param {KeyboardEvent} event */
function press(event) {
  /** @type {Record<string, Point>} */
  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  const way = ways[event.key];
  if (way) move([at[0] + way[0] * STEP, at[1] + way[1] * STEP]);
  else if (event.key === "Enter" || event.key === " ") done(colourAt(at));
  else if (event.key === "Escape") done(null);
  else return;
  event.preventDefault();
}
