// Spots on the picture that matter most, such as the eyes: drawn from the middle outwards, moved by keys.

import { clamp, el } from "./dom.js";
import { attempt } from "./net.js";
import * as model from "./model.js";

const STEP = 0.01;
const USUAL = 0.06;
const LEAST = 0.015;
const PAUSE = 450;
let frame = null;
let size = [1, 1];
let marks = [];
let timer = 0;

export function setUpSpots(photo) {
  frame = photo;
}

/** Show the project's spots; `pixels` is the picture's true size. */
export function showSpots(pixels) {
  size = pixels;
  const held = marks.findIndex((mark) => mark === document.activeElement);
  for (const mark of marks) mark.remove();
  marks = (model.project.settings.focus ?? []).map((text, index) => markOf(text, index));
  frame.append(...marks);
  marks[held]?.focus({ preventScroll: true });
}

function markOf(text, index) {
  const [x, y, r] = text.split(",").map(Number);
  const mark = el("div", { class: "spot", tabindex: "0", role: "application", "aria-label": `Spot ${index + 1}: arrow keys move it, plus and minus change its size, Delete takes it away`, onkeydown: (event) => press(event, index) });
  put(mark, [x / size[0], y / size[1], r / size[0]]);
  return mark;
}

/** x and y as fractions of width and height, r of width. */
function put(mark, [x, y, r]) {
  const high = (r * size[0]) / size[1];
  Object.assign(mark.style, { left: `${(x - r) * 100}%`, top: `${(y - high) * 100}%`, width: `${r * 200}%`, height: `${high * 200}%` });
  mark.spot = [x, y, r];
}

const textOf = ([x, y, r]) => `${Math.round(x * size[0])},${Math.round(y * size[1])},${Math.max(1, Math.round(r * size[0]))}`;

function save(spots) {
  return attempt(() => model.changeSettings({ focus: spots.map(textOf) }, !model.project.follows));
}

export const clearSpots = () => save([]);

/** A spot in the middle of the frame, for those who draw with the keys. */
export function addSpot() {
  save([...marks.map((mark) => mark.spot), [0.5, 0.5, USUAL]]).then(() => marks.at(-1)?.focus());
}

/** Draw a new spot from its middle; gives what to do while it grows and at its end. */
export function drawSpot(from) {
  const mark = el("div", { class: "spot" });
  frame.append(mark);
  let spot = [...from, USUAL];
  put(mark, spot);
  return {
    move([x, y]) {
      const away = Math.hypot(x - from[0], ((y - from[1]) * size[1]) / size[0]);
      spot = [...from, clamp(away, LEAST, 0.5)];
      if (away < LEAST) spot = [...from, USUAL];
      put(mark, spot);
    },
    stop(kept) {
      mark.remove();
      if (kept) save([...marks.map((one) => one.spot), spot]);
    },
  };
}

function press(event, index) {
  const mark = marks[index];
  const [x, y, r] = mark.spot;
  const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
  const grow = { "+": 1.15, "=": 1.15, "-": 1 / 1.15 }[event.key];
  if (event.key === "Delete" || event.key === "Backspace") {
    event.preventDefault();
    save(marks.filter((_, i) => i !== index).map((one) => one.spot));
    return;
  }
  if (!way && !grow) return;
  event.preventDefault();
  const step = way ?? [0, 0];
  put(mark, [clamp(x + step[0] * STEP, 0, 1), clamp(y + step[1] * STEP, 0, 1), clamp(r * (grow ?? 1), LEAST, 0.5)]);
  clearTimeout(timer);
  timer = setTimeout(() => save(marks.map((one) => one.spot)), PAUSE);
}
