// @ts-check
// The keys on the chart: everything a pointer can do there, the keyboard can.

import { ask, clamp, el, notice, tell } from "./dom.js";
import { floatPicture } from "./explain.js";
import { carry, put, remove } from "./selection.js";
/** @import { Hand } from "./hand.js" */
/** @import { Box, Place, Point, Stroke } from "./shapes" */

/** The tools of the hand: name, word, key, and what it does. */
export const TOOLS = [
  ["look", "Look", "O", "The wheel or two fingers bring it closer; then drag to move it."],
  ["paint", "Paint", "P", "Paint stitches; what you paint is kept when the chart is mended or made again."],
  ["line", "Line", "L", "Draw a straight line from here to there."],
  ["box", "Box", "B", "Fill a box from corner to corner."],
  ["fill", "Fill", "F", "Recolour a whole patch; in the round it runs on past the last stitch."],
  ["select", "Select", "S", "Drag over stitches, then copy, move, mirror, repeat, insert or delete."],
  ["keep", "Keep", "K", "Mark stitches that mending must not change, or let them go."],
  ["slide", "Move photo", "M", "Drag the photo under the stitches; the wheel, two fingers, plus and minus scale it."],
];

/** @type {Record<string, [up: number, right: number]>} */
const WAYS = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowUp: [1, 0], ArrowDown: [-1, 0] };
/** @type {Record<string, number>} */
const CLOSER = { "+": 1.3, "=": 1.3, "-": 1 / 1.3 };

/** @param {Hand} hand @param {KeyboardEvent} event */
export function press(hand, event) {
  const { key } = event;
  const target = /** @type {Element} */ (event.target);
  if (target.matches("input, select") || (target.matches("button") && [" ", "Enter"].includes(key))) return;
  const does = event.ctrlKey || event.metaKey ? carried(hand, event.key.toLowerCase()) : meant(hand, event);
  if (!does) return;
  event.preventDefault();
  does();
}

/**
 * Taking the selection up and putting it down, as in other programs.
 * @param {Hand} hand
 * @param {string} key
 * @returns {(() => unknown) | null}
 */
function carried(hand, key) {
  const { selection, placing, cursor } = hand;
  if (selection && key === "c") return () => carry(hand, selection, false);
  if (selection && key === "x") return () => carry(hand, selection, true);
  if (placing && cursor && key === "v") return () => put(hand, placing, cursor);
  return null;
}

/**
 * What a key means; null when it means nothing here.
 * @param {Hand} hand
 * @param {KeyboardEvent} event
 * @returns {(() => unknown) | null}
 */
function meant(hand, event) {
  const { cloth, cursor, selection } = hand;
  const key = event.key.toUpperCase();
  if (WAYS[event.key]) return () => step(hand, WAYS[event.key], event);
  if (event.key === " " || event.key === "Enter") return () => use(hand);
  if (event.key === "Escape") return () => leave(hand);
  if (CLOSER[event.key]) return () => cloth.zoom(CLOSER[event.key], ...middle(hand));
  if (event.key === "Home") return () => cloth.fit();
  if (event.key === "Delete") return selection && (() => askWhatToDelete(hand, selection));
  if (key === "N") return () => hand.heard(null, "next");
  if (key === "T") return cursor && (() => hand.takeYarn(cloth.key(...cursor)));
  if (key === ".") return () => hand.takeYarn(".");
  const tool = TOOLS.find(([, , letter]) => letter === key);
  if (tool) return event.altKey ? null : () => hand.take(tool[0]);
  const yarn = /^[0-9]$/.test(key) && cloth.chart.yarns[(Number(key) + 9) % 10];
  return yarn ? () => hand.takeYarn(yarn.key) : null;
}

/**
 * Let go of what is selected or half done; when nothing is, go back to looking.
 * @param {Hand} hand
 */
function leave(hand) {
  const idle = !hand.selection && !hand.anchor && !hand.placing && !hand.stroke;
  if (idle && hand.tool !== "look") hand.take("look");
  else hand.drop();
}

/**
 * @param {Hand} hand
 * @param {Box} box
 */
async function askWhatToDelete(hand, box) {
  const chosen = await ask("Delete", "The rounds or the columns that are selected, over the whole chart?", [["Rounds", "round"], ["Columns", "stitch"], ["Leave it", null]]);
  if (chosen) remove(hand, box, chosen);
  hand.cloth.canvas.focus({ preventScroll: true });
}

/** @param {Hand} hand @returns {Point} */
function middle({ cursor, cloth }) {
  return cursor ? cloth.corner(...cursor) : [cloth.canvas.clientWidth / 2, cloth.canvas.clientHeight / 2];
}

/** @param {Hand} hand @param {[up: number, right: number]} way @param {KeyboardEvent} event */
function step(hand, [up, right], event) {
  const far = event.altKey ? 10 : 1;
  const { rounds, stitches, chart, canvas } = hand.cloth;
  canvas.focus({ preventScroll: true });
  /** @type {Place} */
  const from = hand.cursor ?? [Math.ceil(rounds / 2), Math.ceil(stitches / 2)];
  const along = chart.hand === "right" ? -right : right;
  /** @type {Place} */
  const to = hand.cursor ? [clamp(from[0] + up * far, 1, rounds), clamp(from[1] + along * far, 1, stitches)] : from;
  if (event.shiftKey) {
    if (hand.tool !== "select") hand.take("select");
    hand.select([hand.selection?.[0] ?? from, to]);
  }
  hand.cursor = to;
  hand.cloth.reveal(...to);
  hand.heard();
  hand.show();
  tell(hand.words());
}

/**
 * The tool where the mark is, as a click would use it.
 * @param {Hand} hand
 */
function use(hand) {
  if (!hand.cursor) return notice("Move the mark with the arrow keys first.");
  if (hand.placing) return put(hand, hand.placing, hand.cursor);
  if (hand.tool === "fill") return hand.fill(hand.cursor);
  if (hand.tool === "line" || hand.tool === "box") {
    if (hand.anchor) return hand.finishShape(hand.cursor);
    hand.anchor = hand.cursor;
    return tell("From here; move to where it ends and press Enter.");
  }
  if (hand.tool === "paint" || hand.tool === "keep") {
    /** @type {Stroke} */
    const stroke = { kind: hand.tool };
    hand.stroke = stroke;
    hand.brush([hand.cursor], !hand.cloth.isFixed(...hand.cursor));
    hand.stroke = null;
    return hand.finish(stroke);
  }
  return tell(hand.words());
}

const SIGNS = [
  ["catch", "a catch: the other yarn is caught behind this stitch, so that its float stays short"],
  ["kept", "kept: mending and making again leave this stitch alone"],
  ["wrong", "a place that cannot be knitted as asked; a heavier frame is the one you chose from the list"],
];
const KEYS = [
  ["Arrow keys", "move the mark over the chart; with Alt ten at a time"],
  ["Space or Enter", "use the tool where the mark is; twice for a line or a box, from and to"],
  ["O P L B F S K M", "look, paint, line, box, fill, select, keep, move the photo"],
  ["1 to 9, 0", "take a yarn; a full stop takes no stitch"],
  ["T", "take the yarn under the mark"],
  ["Shift and arrows", "select"],
  ["Ctrl C, X, V", "copy or move what is selected, and put it down at the mark"],
  ["Delete", "delete the rounds or columns that are selected"],
  ["+ and −, Home", "closer, further, the whole chart"],
  ["N", "go to the next finding"],
  ["V, W held down", "see the photo; see it as it was before the last change"],
  ["Escape", "let go of what is selected or half done, then of the tool"],
  ["Ctrl Z, Ctrl Y", "undo, redo"],
];
const HANDS = [
  ["Wheel, two fingers", "closer and further; with the right mouse button, the chart moves whatever the tool"],
  ["A finding", "leads to its place"],
];

/** @param {string} kind */
export function sign(kind) {
  return el("i", { class: `mark-${kind}`, "aria-hidden": "true" });
}

export function showHelp() {
  const list = (/** @type {(string | HTMLElement)[][]} */ rows) => el("dl", { class: "keys" }, rows.flatMap(([name, words]) => [el("dt", {}, name), el("dd", {}, words)]));
  ask("Signs and keys", [
    list(SIGNS.map(([kind, words]) => [sign(kind), words])),
    floatPicture(),
    list(HANDS),
    el("h3", {}, "Keys, while the chart or its tools are in focus"),
    list(KEYS)], [["Close", null]]);
}
