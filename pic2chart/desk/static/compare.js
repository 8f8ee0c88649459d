// @ts-check
// Hold to compare: the photo, or the thing before its last change, as long as a button or a key is held.

import { el } from "./dom.js";
import { penOf } from "./ink.js";
import { degrees } from "./lean.js";
import * as model from "./model.js";
import * as thing from "./thing.js";
/** @import { Cloth } from "./cloth.js" */
/** @import { Chart, Numbers4, ThingView } from "./shapes" */
/** @import { Worn } from "./worn.js" */

/** @typedef {"photo" | "before"} Held */
/** @type {Record<string, Held>} */
const KEYS = { v: "photo", w: "before" };
const over = el("canvas", { class: "held", hidden: true, "aria-hidden": "true" });
/** @type {Cloth} */
let cloth;
/** @type {() => string} */
let viewNow;
/** The chart in hand before it changed last, and now. @type {[Chart | null, Chart | null]} */
let charts = [null, null];
let [piece, id] = ["", ""];
/** The thing before it changed last, and now. @type {[ThingView | null, ThingView | null]} */
let things = [null, null];
/** @type {Worn} */
let worn;
/** @type {{ src: string, size: [number, number] } | null} */
let photo = null;

/** The photo's address and its true size, once it is there. @param {{ src: string, size: [number, number] } | null} now */
export function setPhoto(now) {
  photo = now;
}

/** @param {HTMLElement} frame @param {Cloth} shown @param {Worn} knitted @param {() => string} view */
export function setUpCompare(frame, shown, knitted, view) {
  [cloth, worn, viewNow] = [shown, knitted, view];
  frame.append(over);
  model.onProject(remember);
  thing.onThing((why) => {
    remember();
    if (why !== "draft" && thing.thing !== things[1]) things = [why === "open" ? null : things[1], thing.thing];
  });
  thing.onPiece(remember);
  document.addEventListener("keydown", (event) => {
    const held = KEYS[event.key.toLowerCase()];
    const typing = /** @type {Element} */ (event.target).matches("input, textarea, select");
    if (held && !typing && !event.repeat && !event.ctrlKey && !event.metaKey && frame.offsetParent) hold(held);
  });
  document.addEventListener("keyup", (event) => { if (KEYS[event.key.toLowerCase()]) letGo(); });
  window.addEventListener("blur", letGo);
}

function remember() {
  if (!model.project) return;
  const now = thing.inHand().chart;
  const other = piece !== thing.piece || id !== model.project.id;
  [piece, id] = [thing.piece, model.project.id];
  if (other) charts = [null, now];
  else if (now.rows.join() !== charts[1]?.rows.join() || now.yarns.map(({ colour }) => colour).join() !== charts[1]?.yarns.map(({ colour }) => colour).join()) charts = [charts[1], now];
}

/** Two buttons to be held down. */
export function compareButtons() {
  const button = (/** @type {Held} */ what, /** @type {string} */ word, /** @type {string} */ title) => {
    const made = el("button", { type: "button", "data-held": what, title, onpointerdown: () => hold(what), onpointerup: letGo, onpointercancel: letGo, onpointerleave: letGo,
      onkeydown: (event) => { if ([" ", "Enter"].includes(event.key) && !event.repeat) { event.preventDefault(); hold(what); } }, onkeyup: letGo, onblur: letGo });
    made.textContent = word;
    return made;
  };
  return el("div", { class: "pair holds", role: "group", "aria-label": "Hold to compare" },
    button("photo", "Photo", "Hold to see the photo (V)"), button("before", "Before", "Hold to see it before the last change (W)"));
}

function letGo() {
  over.hidden = true;
  if (things[1] && worn.thing === things[0]) worn.setThing(things[1]);
}

const onWorn = () => viewNow() === "front" && Boolean(thing.thing);

/** @param {Held} what */
function hold(what) {
  const chart = charts[0];
  if (what === "before" && onWorn()) {
    if (things[0]) worn.setThing(things[0]);
    return;
  }
  if (what === "before" && !chart) return;
  if (what === "photo" && !photo) return;
  over.hidden = false;
  const ratio = window.devicePixelRatio || 1;
  const [wide, high] = [over.clientWidth, over.clientHeight];
  [over.width, over.height] = [Math.round(wide * ratio), Math.round(high * ratio)];
  const c = penOf(over);
  c.setTransform(ratio, 0, 0, ratio, 0, 0);
  if (what === "before" && chart) drawChart(c, chart, roomFor(chart.rows[0].length, chart.rows.length * chart.aspect, wide, high));
  else if (photo) drawPhoto(c, photo, wide, high);
}

/**
 * Where something of that shape lies: on the chart itself where that is in sight, else in the middle.
 * @param {number} across
 * @param {number} up
 * @param {number} wide
 * @param {number} high
 * @returns {Numbers4}
 */
function roomFor(across, up, wide, high) {
  if (viewNow() === "chart" && !thing.pieceNow()) return [cloth.left, cloth.top, cloth.stitches * cloth.scale, cloth.rounds * cloth.height];
  const scale = Math.min((wide - 20) / across, (high - 20) / up);
  return [(wide - across * scale) / 2, (high - up * scale) / 2, across * scale, up * scale];
}

/** @param {CanvasRenderingContext2D} c @param {Chart} chart @param {Numbers4} room */
function drawChart(c, { rows, yarns, hand }, [x, y, w, h]) {
  const colours = new Map(yarns.map(({ key, colour }) => [key, colour]));
  const [dx, dy] = [w / rows[0].length, h / rows.length];
  rows.forEach((row, r) => Array.from(row).forEach((key, s) => {
    c.fillStyle = colours.get(key) ?? "transparent";
    const column = hand === "right" ? row.length - 1 - s : s;
    c.fillRect(x + column * dx, y + (rows.length - 1 - r) * dy, dx + 0.5, dy + 0.5);
  }));
}

/** The part of the photo that is knitted. @param {CanvasRenderingContext2D} c @param {{ src: string, size: [number, number] }} shown @param {number} wide @param {number} high */
function drawPhoto(c, { src, size }, wide, high) {
  const image = new Image();
  image.onload = () => {
    const [x, y, w, h] = model.project?.window ?? [0, 0, ...size];
    const [left, top, across, down] = roomFor(w, h, wide, high);
    c.save();
    c.beginPath();
    c.rect(left, top, across, down);
    c.clip();
    c.translate(left + ((size[0] / 2 - x) * across) / w, top + ((size[1] / 2 - y) * down) / h);
    c.rotate((degrees() * Math.PI) / 180);
    c.drawImage(image, (-size[0] / 2) * (across / w), (-size[1] / 2) * (down / h), size[0] * (across / w), size[1] * (down / h));
    c.restore();
  };
  image.src = src;
}
