// @ts-check
// What can be done with a box of selected stitches.

import { ask, el, input, tell } from "./dom.js";
import { attempt } from "./net.js";
import * as thing from "./thing.js";
/** @import { Hand } from "./hand.js" */
/** @import { Box, Edit, Place, Preview } from "./shapes" */

/**
 * Lowest and highest corner of a box given by any two.
 * @param {Box} box
 * @returns {Box}
 */
function corners([a, b]) {
  return [[Math.min(a[0], b[0]), Math.min(a[1], b[1])], [Math.max(a[0], b[0]), Math.max(a[1], b[1])]];
}

/** @param {Place} a @param {Place} b @returns {Place[]} */
export function boxOf(a, b) {
  const [low, high] = corners([a, b]);
  /** @type {Place[]} */
  const places = [];
  for (let r = low[0]; r <= high[0]; r += 1) for (let s = low[1]; s <= high[1]; s += 1) places.push([r, s]);
  return places;
}

/**
 * The selection's tools; they stand there as long as one selects, so that nothing moves under the hand.
 * @param {Hand} hand
 */
export function selectionTools(hand) {
  const button = (/** @type {string} */ word, /** @type {string} */ title, /** @type {(box: Box) => void} */ does) => el("button", { type: "button", class: "small", title, onclick: () => hand.selection && does(hand.selection) }, word);
  const edit = (/** @type {string} */ word, /** @type {string} */ title, /** @type {(box: Box) => Edit} */ of) => button(word, title, (box) => attempt(() => thing.editStitches(of(box))));
  const together = (/** @type {string} */ words, /** @type {HTMLElement[]} */ ...buttons) => el("span", { class: "together", role: "group", "aria-label": words }, el("span", { "aria-hidden": "true" }, words), buttons);
  return [
    el("span", { class: "extent" }),
    button("Copy to …", "Put the same stitches in another place", (box) => carry(hand, box, false)),
    button("Move to …", "Put these stitches in another place; what they leave takes the round's main yarn", (box) => carry(hand, box, true)),
    button("Repeat …", "Lay the same stitches side by side and upwards", (box) => repeat(box)),
    edit("Mirror", "Turn left and right round", (box) => ({ kind: "mirror", box, axis: "left-right" })),
    edit("Upside down", "Turn top and bottom round", (box) => ({ kind: "mirror", box, axis: "upside-down" })),
    edit("Fill", "All of it in the yarn taken", (box) => ({ kind: "paint", yarn: hand.yarn, box, keep: hand.keep })),
    edit("Keep", "Mending and making again leave these alone", (box) => ({ kind: "fix", box, on: true })),
    edit("Let go", "Mending and making again may change these", (box) => ({ kind: "fix", box, on: false })),
    together("Rounds", edit("insert", "As many more below, each like the lowest selected", (box) => ({ kind: "insert", what: "round", ...place(box, 0) })),
      button("delete", "Take the selected rounds out of the chart", (box) => remove(hand, box, "round"))),
    together("Columns", edit("insert", "As many more before them, each like the first selected", (box) => ({ kind: "insert", what: "stitch", ...place(box, 1) })),
      button("delete", "Take the selected columns out of the chart", (box) => remove(hand, box, "stitch"))),
  ];
}

/** @param {HTMLElement} bar @param {Hand} hand */
export function showSelection(bar, hand) {
  const box = hand.placing ? null : hand.selection;
  for (const button of bar.querySelectorAll("button")) button.disabled = !box;
  for (const some of bar.querySelectorAll(".together")) /** @type {HTMLElement} */ (some).hidden = Boolean(thing.pieceNow());
  const [low, high] = box ? corners(box) : [[1, 1], [0, 0]];
  const extent = bar.querySelector(".extent");
  if (extent) extent.textContent = box ? `${high[1] - low[1] + 1} × ${high[0] - low[0] + 1}` : "None yet";
}

/** @param {Box} box @param {0 | 1} axis */
function place(box, axis) {
  const [low, high] = corners(box);
  return { at: low[axis], count: high[axis] - low[axis] + 1 };
}

/** @param {Hand} hand @param {Box} box @param {string} what round or stitch */
export function remove(hand, box, what) {
  attempt(() => thing.editStitches({ kind: "delete", what, ...place(box, what === "round" ? 0 : 1) }));
  hand.drop();
}

/** @param {Box} box */
async function repeat(box) {
  const count = (/** @type {string} */ id, /** @type {string} */ words) => el("div", { class: "field" }, el("label", { for: id }, words), el("input", { id, type: "number", min: 0, max: 1000, value: 0 }));
  const body = [el("p", {}, "How many times in all? 0 goes on to the chart's edge."), count("times-across", `Across, to the ${thing.inHand().chart.hand === "right" ? "left" : "right"}`), count("times-up", "Upwards")];
  if (!(await ask("Repeat the selection", body, [["Repeat", true], ["Leave it", false]]))) return;
  const number = (/** @type {string} */ id) => Math.max(0, Math.round(Number(input(id).value)) || 0);
  attempt(() => thing.editStitches({ kind: "repeat", box, across: number("times-across"), up: number("times-up") }));
}

/**
 * Take the selection up to put a copy, or itself, somewhere else.
 * @param {Hand} hand
 * @param {Box} box
 * @param {boolean} move
 */
export function carry(hand, box, move) {
  hand.placing = { move, box };
  hand.cursor = corners(box)[0];
  tell(placingWords());
  hand.cloth.canvas.focus({ preventScroll: true });
  hand.heard();
  hand.show();
}

export function placingWords() {
  return `Choose where its lower ${thing.inHand().chart.hand === "right" ? "right" : "left"} corner goes: click there, or press Enter. Escape leaves it.`;
}

/**
 * @typedef {{ move: boolean, box: Box }} Placing
 * @param {Hand} hand
 * @param {Placing} placing
 * @returns {Box}
 */
export function placingBox({ cursor, cloth }, placing) {
  if (!cursor) return placing.box;
  const [low, high] = corners(placing.box);
  return [cursor, [Math.min(cloth.rounds, cursor[0] + high[0] - low[0]), Math.min(cloth.stitches, cursor[1] + high[1] - low[1])]];
}

/**
 * The stitches that are carried, where they would go, in their colours; round the join they go on.
 * @param {Hand} hand
 * @param {Placing} placing
 * @returns {Preview | null}
 */
export function placingPreview({ cursor, cloth }, placing) {
  if (!cursor) return null;
  const [low, high] = corners(placing.box);
  const colours = new Map(cloth.chart.yarns.map(({ key, colour }) => [key, colour]));
  const places = boxOf(low, high).map(([round, stitch]) => {
    const to = stitch - low[1] + cursor[1];
    const across = cloth.chart.worked === "round" ? ((to - 1) % cloth.stitches) + 1 : to;
    /** @type {Preview["places"][number]} */
    const there = [round - low[0] + cursor[0], across, colours.get(cloth.key(round, stitch))];
    return there;
  });
  return { places: places.filter(([round, stitch]) => round <= cloth.rounds && stitch <= cloth.stitches), colour: "transparent" };
}

/**
 * @param {Hand} hand
 * @param {Placing} placing
 * @param {Place} to
 */
export function put(hand, { box, move }, to) {
  hand.placing = null;
  attempt(() => thing.editStitches({ kind: "place", box, to, move }));
  hand.select(null);
}
