// What can be done with a box of selected stitches.

import { ask, el, tell } from "./dom.js";
import { attempt } from "./net.js";
import * as model from "./model.js";

/** Lowest and highest corner of a box given by any two. */
function corners([a, b]) {
  return [[Math.min(a[0], b[0]), Math.min(a[1], b[1])], [Math.max(a[0], b[0]), Math.max(a[1], b[1])]];
}

export function boxOf(a, b) {
  const [low, high] = corners([a, b]);
  const places = [];
  for (let r = low[0]; r <= high[0]; r += 1) for (let s = low[1]; s <= high[1]; s += 1) places.push([r, s]);
  return places;
}

/** The selection's tools; they stand there as long as one selects, so that nothing moves under the hand. */
export function selectionTools(hand) {
  const button = (word, title, does) => el("button", { type: "button", class: "small", title, onclick: () => does(hand.selection) }, word);
  const edit = (word, title, of) => button(word, title, (box) => attempt(() => model.editStitches(of(box))));
  const together = (words, ...buttons) => el("span", { class: "together", role: "group", "aria-label": words }, el("span", { "aria-hidden": "true" }, words), buttons);
  return [
    el("span", { class: "extent" }),
    button("Copy to …", "Put the same stitches in another place", () => carry(hand, false)),
    button("Move to …", "Put these stitches in another place; what they leave takes the round's main yarn", () => carry(hand, true)),
    button("Repeat …", "Lay the same stitches side by side and upwards", (box) => repeat(box)),
    edit("Mirror", "Turn left and right round", (box) => ({ kind: "mirror", box, axis: "left-right" })),
    edit("Upside down", "Turn top and bottom round", (box) => ({ kind: "mirror", box, axis: "upside-down" })),
    edit("Fill", "All of it in the yarn taken", (box) => ({ kind: "paint", yarn: hand.yarn, box, keep: hand.keep })),
    edit("Keep", "Mending and making again leave these alone", (box) => ({ kind: "fix", box, on: true })),
    edit("Let go", "Mending and making again may change these", (box) => ({ kind: "fix", box, on: false })),
    together("Rounds", edit("insert", "As many more below, each like the lowest selected", (box) => ({ kind: "insert", what: "round", ...place(box, 0) })),
      button("delete", "Take the selected rounds out of the chart", () => remove(hand, "round"))),
    together("Columns", edit("insert", "As many more before them, each like the first selected", (box) => ({ kind: "insert", what: "stitch", ...place(box, 1) })),
      button("delete", "Take the selected columns out of the chart", () => remove(hand, "stitch"))),
  ];
}

export function showSelection(bar, hand) {
  const box = hand.placing ? null : hand.selection;
  for (const button of bar.querySelectorAll("button")) button.disabled = !box;
  const [low, high] = box ? corners(box) : [[1, 1], [0, 0]];
  bar.firstChild.textContent = box ? `${high[1] - low[1] + 1} × ${high[0] - low[0] + 1}` : "None yet";
}

function place(box, axis) {
  const [low, high] = corners(box);
  return { at: low[axis], count: high[axis] - low[axis] + 1 };
}

export function remove(hand, what) {
  attempt(() => model.editStitches({ kind: "delete", what, ...place(hand.selection, what === "round" ? 0 : 1) }));
  hand.drop();
}

async function repeat(box) {
  const count = (id, words) => el("div", { class: "field" }, el("label", { for: id }, words), el("input", { id, type: "number", min: 0, max: 1000, value: 0 }));
  const body = [el("p", {}, "How many times in all? 0 goes on to the chart's edge."), count("times-across", `Across, to the ${model.project.chart.hand === "right" ? "left" : "right"}`), count("times-up", "Upwards")];
  if (!(await ask("Repeat the selection", body, [["Repeat", true], ["Leave it", false]]))) return;
  const number = (id) => Math.max(0, Math.round(Number(document.getElementById(id).value)) || 0);
  attempt(() => model.editStitches({ kind: "repeat", box, across: number("times-across"), up: number("times-up") }));
}

/** Take the selection up to put a copy, or itself, somewhere else. */
export function carry(hand, move) {
  hand.placing = { move, box: hand.selection };
  hand.cursor = corners(hand.selection)[0];
  tell(placingWords());
  hand.cloth.canvas.focus({ preventScroll: true });
  hand.heard();
  hand.show();
}

export function placingWords() {
  return `Choose where its lower ${model.project.chart.hand === "right" ? "right" : "left"} corner goes: click there, or press Enter. Escape leaves it.`;
}

export function placingBox({ cursor, placing, cloth }) {
  if (!cursor) return placing.box;
  const [low, high] = corners(placing.box);
  return [cursor, [Math.min(cloth.rounds, cursor[0] + high[0] - low[0]), Math.min(cloth.stitches, cursor[1] + high[1] - low[1])]];
}

/** The stitches that are carried, where they would go, in their colours; round the join they go on. */
export function placingPreview({ cursor, placing, cloth }) {
  if (!cursor) return null;
  const [low, high] = corners(placing.box);
  const colours = new Map(cloth.chart.yarns.map(({ key, colour }) => [key, colour]));
  const places = boxOf(low, high).map(([round, stitch]) => {
    const to = stitch - low[1] + cursor[1];
    const across = cloth.chart.worked === "round" ? ((to - 1) % cloth.stitches) + 1 : to;
    return [round - low[0] + cursor[0], across, colours.get(cloth.key(round, stitch))];
  });
  return { places: places.filter(([round, stitch]) => round <= cloth.rounds && stitch <= cloth.stitches), colour: "transparent" };
}

export function put(hand, to) {
  const { box, move } = hand.placing;
  hand.placing = null;
  attempt(() => model.editStitches({ kind: "place", box, to, move }));
  hand.select(null);
}
