// @ts-check
// The picture turned by some degrees under the stitches: the slider, and places on it before and after.

import { clamp, el, tell } from "./dom.js";
import { attempt } from "./net.js";
import * as model from "./model.js";
import { tryOut } from "./thing.js";
/** @import { Numbers4, Point } from "./shapes" */

const MOST = 45;
const STEP = 0.5;
const PAUSE = 450;
let timer = 0;

/** Degrees clockwise that the picture is turned by. */
export const degrees = () => Number(model.project?.settings.turn ?? 0);

/**
 * Where a place of the picture lies once it is turned about its middle.
 * @param {Point} place @param {Point} size of the picture, in the place's unit @param {number} by degrees clockwise
 * @returns {Point}
 */
export function turnedPlace([x, y], [wide, high], by) {
  const angle = (by * Math.PI) / 180;
  const [dx, dy] = [x - wide / 2, y - high / 2];
  return [wide / 2 + dx * Math.cos(angle) - dy * Math.sin(angle), high / 2 + dx * Math.sin(angle) + dy * Math.cos(angle)];
}

/**
 * The frame that shows the same of the picture after a further turn, as the settings' text.
 * @param {Point} size @param {number} by degrees clockwise
 */
function frameAfter(size, by) {
  const text = model.project?.settings.crop;
  if (!text) return null;
  const [x, y, w, h] = /** @type {Numbers4} */ (text.split(",").map(Number));
  const [cx, cy] = turnedPlace([x + w / 2, y + h / 2], size, by);
  return [clamp(Math.round(cx - w / 2), 0, size[0] - w), clamp(Math.round(cy - h / 2), 0, size[1] - h), w, h].join(",");
}

/** A slider that turns the picture while it is moved. @param {() => Point} sizeNow the picture's true width and height */
export function leanSlider(sizeNow) {
  const slider = el("input", { type: "range", id: "lean", min: -MOST, max: MOST, step: STEP, value: 0 });
  const shown = el("output", { for: "lean" });
  const level = el("button", { type: "button", class: "plain small", onclick: () => save(0) }, "Level");
  const say = () => {
    shown.textContent = `${slider.value}°`;
    slider.setAttribute("aria-valuetext", `${Math.abs(Number(slider.value))} degrees ${Number(slider.value) < 0 ? "against the clock" : "clockwise"}`);
    level.hidden = Number(slider.value) === 0;
  };
  /** @param {number} turn */
  const asked = (turn) => {
    const crop = frameAfter(sizeNow(), turn - degrees());
    return crop ? { turn, crop } : { turn };
  };
  /** @param {number} turn */
  const save = (turn) => {
    model.dropDrafts();
    if (turn === degrees()) return;
    tell("The photo was turned");
    attempt(() => model.changeSettings(asked(turn), !model.opened().follows));
  };
  slider.addEventListener("input", () => { say(); tryOut(asked(Number(slider.value))); });
  slider.addEventListener("change", () => { // which each press of a key is as well
    clearTimeout(timer);
    timer = setTimeout(() => save(Number(slider.value)), PAUSE);
  });
  model.onProject((_, why) => {
    if (why === "draft") return;
    slider.value = String(degrees());
    say();
  });
  say();
  return el("div", { class: "row lean" }, el("label", { for: "lean" }, "Tilt"), slider, shown, level);
}
