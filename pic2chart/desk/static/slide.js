// @ts-check
// Moving the picture under the stitches: drag it, scale it by wheel or two fingers, and see at once.

import { clamp, tell } from "./dom.js";
import { attempt } from "./net.js";
import * as model from "./model.js";
import * as thing from "./thing.js";
/** @import { Cloth } from "./cloth.js" */
/** @import { Hand } from "./hand.js" */
/** @import { Numbers4, Point } from "./shapes" */
/** @import { Worn } from "./worn.js" */

const PAUSE = 450;
const STEP = 0.03;
const LEAST = 12;
/** @type {Point} */
let size = [1, 1];
/** The part of the picture that lies under the stitches while it is moved. @type {Numbers4 | null} */
let now = null;
/** @type {Map<number, Point>} */
const fingers = new Map();
let timer = 0;

/** The picture's true width and height. @param {Point} pixels */
export function setPictureSize(pixels) {
  size = pixels;
}

/** Whether there is a picture that can be moved. */
export const canSlide = () => Boolean(model.project?.window && model.project.follows);

/**
 * Take the gestures of a canvas while the tool is taken.
 * @param {Hand} hand
 * @param {Cloth | Worn} sheet
 */
export function slideOn(hand, sheet) {
  const { canvas } = sheet;
  const mine = (/** @type {Event} */ event) => {
    if (hand.tool !== "slide" || !canSlide()) return false;
    event.preventDefault();
    event.stopImmediatePropagation();
    return true;
  };
  const per = () => (now ?? windowNow())[2] / Math.max(40, "stitches" in sheet ? sheet.stitches * sheet.scale : (sheet.whole[2] / Math.max(1, sheet.laid.length)) * sheet.scale);
  canvas.addEventListener("pointerdown", (event) => {
    if (!mine(event)) return;
    canvas.focus({ preventScroll: true });
    canvas.setPointerCapture(event.pointerId);
    fingers.set(event.pointerId, [event.clientX, event.clientY]);
  }, { capture: true });
  canvas.addEventListener("pointermove", (event) => {
    if (!mine(event)) return;
    const last = fingers.get(event.pointerId);
    if (!last) return;
    /** @type {Point} */
    const point = [event.clientX, event.clientY];
    const other = [...fingers].find(([id]) => id !== event.pointerId)?.[1];
    fingers.set(event.pointerId, point);
    const share = fingers.size || 1;
    moveBy(((last[0] - point[0]) * per()) / share, ((last[1] - point[1]) * per()) / share);
    if (other) scaleBy(Math.hypot(last[0] - other[0], last[1] - other[1]) / Math.max(1, Math.hypot(point[0] - other[0], point[1] - other[1])));
  }, { capture: true });
  for (const kind of /** @type {const} */ (["pointerup", "pointercancel"])) {
    canvas.addEventListener(kind, (event) => {
      if (!mine(event)) return;
      fingers.delete(event.pointerId);
      if (!fingers.size) save();
    }, { capture: true });
  }
  canvas.addEventListener("wheel", (event) => {
    if (!mine(event)) return;
    scaleBy(Math.exp(event.deltaY * 0.0012));
    later();
  }, { capture: true, passive: false });
  canvas.addEventListener("keydown", (event) => {
    /** @type {Record<string, Point>} */
    const ways = { ArrowLeft: [1, 0], ArrowRight: [-1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    /** @type {Record<string, number>} */
    const grows = { "+": 1 / 1.1, "=": 1 / 1.1, "-": 1.1 };
    const [way, grow] = [ways[event.key], grows[event.key]];
    if ((!way && !grow) || !mine(event)) return;
    const [, , w, h] = now ?? windowNow();
    if (way) moveBy(way[0] * STEP * w, way[1] * STEP * h);
    else scaleBy(grow);
    later();
  }, { capture: true });
}

/** @returns {Numbers4} */
const windowNow = () => model.project?.window ?? [0, 0, ...size];

/** @param {number} dx in pixels of the picture @param {number} dy */
function moveBy(dx, dy) {
  const [x, y, w, h] = now ?? windowNow();
  set([clamp(x + dx, 0, size[0] - w), clamp(y + dy, 0, size[1] - h), w, h]);
}

/** Show more (over 1) or less of the picture, round its middle. @param {number} factor */
function scaleBy(factor) {
  const [x, y, w, h] = now ?? windowNow();
  const times = clamp(factor, LEAST / Math.min(w, h), Math.min(size[0] / w, size[1] / h));
  const [wide, high] = [w * times, h * times];
  set([clamp(x + (w - wide) / 2, 0, size[0] - wide), clamp(y + (h - high) / 2, 0, size[1] - high), wide, high]);
}

/** @param {Numbers4} window */
function set(window) {
  now = window;
  thing.tryOut({ crop: text(window) });
}

/** @param {Numbers4} window */
function text([x, y, w, h]) {
  const [left, top] = [Math.round(x), Math.round(y)];
  return [left, top, clamp(Math.round(w), 1, size[0] - left), clamp(Math.round(h), 1, size[1] - top)].join(",");
}

function later() {
  clearTimeout(timer);
  timer = setTimeout(save, PAUSE);
}

function save() {
  if (!now) return;
  const crop = text(now);
  now = null;
  model.dropDrafts();
  tell("The picture was moved");
  attempt(() => model.changeSettings({ crop }));
}
