// @ts-check
// The subject on the picture: shown by its outline, painted in and out with brushes.

import { clamp, el, tell } from "./dom.js";
import { attempt } from "./net.js";
import * as model from "./model.js";
import { asSettings, erased, fromSettings, painted } from "./strokes.js";
/** @import { Mark, Point, Settings, Side, SubjectShown, View } from "./shapes" */

/** @typedef {Side | "erase" | "box"} Brush */
/** @type {Record<Brush, [word: string, help: string]>} */
const BRUSHES = {
  keep: ["Paint in", "Stroke over what belongs to the subject; a short stroke says enough."],
  leave: ["Paint out", "Stroke over what does not belong to the subject."],
  erase: ["Eraser", "Touch marks to take them away."],
  box: ["Box", "Drag a box round the subject; what lies outside it never belongs to it."],
};
/** @type {Record<SubjectShown["how"], string>} */
const HOW = {
  found: "The subject was found by itself. Paint what belongs to it, paint out what does not, or keep everything.",
  marked: "The subject is found with your marks. Paint on where it is still wrong.",
  box: "The subject is looked for in your box. Paint what belongs to it, paint out what does not.",
  file: "The subject is what your mask shows.",
  opacity: "What is solid in the picture is its subject. Paint what belongs to it, paint out what does not.",
  unsure: "No one subject stands out here, so everything is kept. Paint what belongs to the subject, or draw a box round it.",
  none: "This looks like a drawing, so everything is kept. Paint what belongs to the subject, if part of it shall be left out.",
};
const ALL_KEPT = "Everything in the picture is kept. Paint what belongs to the subject, or have it found again.";
const STEP = 0.02;
const FINE = 0.005;
const SMALLEST = 1;
const LARGEST = 20;

/** @type {Brush} */
let brush = "keep";
/** Per cent of the picture's width. */
let breadth = 4;
/** @type {Point} */
let at = [0.5, 0.5];
/** @type {Point} */
let size = [1, 1];
/** The marks as painted, which the desk may not have heard of yet. @type {Mark[]} */
let marks = [];
/** Strokes under way or being saved: until they are done the desk knows less than this page. */
let unsaved = 0;
/** What the picture shows and what was asked for last, so that nothing is asked for twice. */
let [shown, asked] = ["", ""];
/**
 * @type {{ frame: HTMLElement, tint: HTMLImageElement, dabs: HTMLElement, ring: HTMLElement, line: HTMLElement, bar: HTMLElement,
 *   brushes: HTMLButtonElement[], help: HTMLElement, breadth: HTMLInputElement, all: HTMLButtonElement, again: HTMLButtonElement }}
 */
let parts;
/** @type {() => void} */
let chosen;

/**
 * Give the line that says how the subject was found, and the brushes; `heard` is told of another brush.
 * @param {HTMLElement} frame
 * @param {() => void} heard
 */
export function setUpMarks(frame, heard) {
  chosen = heard;
  const tint = el("img", { class: "tint", alt: "", draggable: false, hidden: true });
  const dabs = el("div", { class: "dabs" });
  const ring = el("div", { class: "ring", tabindex: "0", role: "application", "aria-label": "Brush: arrow keys move it, plus and minus change its size, Space paints, Delete takes marks away", onkeydown: press });
  const names = /** @type {Brush[]} */ (Object.keys(BRUSHES));
  const brushes = names.map((name) => el("button", { type: "button", "data-brush": name, "aria-pressed": "false", onclick: () => take(name) }, BRUSHES[name][0]));
  const slider = el("input", { type: "range", min: SMALLEST, max: LARGEST, step: 1, value: breadth, id: "brush-size" });
  slider.addEventListener("input", () => grow(Number(slider.value) / breadth));
  const all = el("button", { type: "button", class: "small", onclick: keepAll }, "Keep everything");
  const again = el("button", { type: "button", class: "small", onclick: findAgain }, "Find it again");
  const line = el("p", { class: "found" });
  const help = el("p", { class: "help" });
  const bar = el("div", { class: "brushes" },
    el("div", { class: "row" }, el("div", { class: "pair", role: "group", "aria-label": "Brushes" }, brushes),
      el("label", { class: "breadth", for: "brush-size" }, el("span", {}, "Size"), slider)),
    help, el("div", { class: "row" }, all, again));
  frame.querySelector("img")?.after(tint, dabs, ring);
  frame.addEventListener("pointermove", (event) => { if (!event.buttons) hover(event); });
  parts = { frame, tint, dabs, ring, line, bar, brushes, help, breadth: slider, all, again };
  take("keep");
  return { line, bar };
}

/** Whether a stroke on the picture is one of a brush, and not a box. */
export const brushing = () => brush !== "box";

/** @param {Brush} name */
export function take(name) {
  brush = name;
  for (const button of parts.brushes) button.setAttribute("aria-pressed", String(button.dataset.brush === name));
  parts.help.textContent = BRUSHES[name][1];
  parts.ring.dataset.brush = name;
  chosen();
}

/**
 * The brushes are at hand, or put away.
 * @param {boolean} on
 */
export function showBrushes(on) {
  parts.bar.hidden = parts.dabs.hidden = !on;
  parts.ring.hidden = !on || !brushing();
  parts.breadth.disabled = !brushing();
}

/** @param {PointerEvent} event */
function hover(event) {
  const area = parts.frame.getBoundingClientRect();
  moveRing([(event.clientX - area.left) / area.width, (event.clientY - area.top) / area.height]);
}

/** @param {Point} to */
function moveRing(to) {
  at = [clamp(to[0], 0, 1), clamp(to[1], 0, 1)];
  put(parts.ring, [at[0] * size[0], at[1] * size[1], radius()]);
}

/** @param {number} times */
function grow(times) {
  breadth = clamp(breadth * times, SMALLEST, LARGEST);
  parts.breadth.value = String(Math.round(breadth));
  moveRing(at);
}

const radius = () => Math.max(1, (breadth / 100) * size[0]);

/** @param {HTMLElement} node @param {number[]} disc in pixels of the picture */
function put(node, [x, y, r]) {
  const share = (/** @type {number} */ length, /** @type {number} */ side) => `${(length / side) * 100}%`;
  Object.assign(node.style, { left: share(x - r, size[0]), top: share(y - r, size[1]), width: share(2 * r, size[0]), height: share(2 * r, size[1]) });
}

function showDabs() {
  const dabs = (/** @type {Side} */ wanted) => marks.filter(([, , , side]) => side === wanted).map((mark) => {
    const dab = el("i");
    put(dab, mark.slice(0, 3).map(Number));
    return dab;
  });
  parts.dabs.replaceChildren(el("span", { class: "keep" }, dabs("keep")), el("span", { class: "leave" }, dabs("leave")));
}

/**
 * Show the project's subject and marks, unless more was painted than it knows of.
 * @param {View} view
 * @param {Point} pixels the picture's true width and height
 */
export function showMarks(view, pixels) {
  size = pixels;
  if (unsaved) return;
  marks = fromSettings(view.settings);
  moveRing(at);
  showDabs();
  const { subject } = view.settings;
  parts.all.hidden = subject === "none";
  parts.again.hidden = subject === "auto" && !marks.length;
  lookFor({ subject, ...asSettings(marks, size) });
}

/**
 * Ask what these marks give, and show it on the picture.
 * @param {Settings} settings
 */
function lookFor(settings) {
  const { id, picture } = model.opened();
  const wanted = JSON.stringify([id, picture, settings]);
  if (wanted === shown && wanted === asked) return;
  asked = wanted;
  model.draft("subject", { settings }, (/** @type {SubjectShown} */ answer) => {
    shown = wanted;
    parts.tint.hidden = !answer.picture;
    if (answer.picture) parts.tint.src = answer.picture;
    parts.line.textContent = settings.subject === "none" ? ALL_KEPT : HOW[answer.how];
  });
}

/** Another picture: its subject is not known yet. */
export function forgetMask() {
  shown = "";
  parts.tint.hidden = true;
  parts.line.textContent = "";
}

/** A mark on what was all kept makes a subject of it. */
const subjectNow = () => model.opened().settings.subject.replace("none", "auto");

/**
 * A stroke from a place on the picture; gives what to do while it goes on and at its end.
 * @param {Point} from
 */
export function stroke(from) {
  const before = marks;
  /** @type {Point[]} */
  const path = [];
  const on = (/** @type {Point} */ to) => {
    moveRing(to);
    path.push([to[0] * size[0], to[1] * size[1]]);
    marks = brush === "erase" ? erased(before, path, radius()) : painted(before, path, radius(), brush === "leave" ? "leave" : "keep");
    showDabs();
    lookFor({ subject: subjectNow(), ...asSettings(marks, size) });
  };
  unsaved += 1;
  on(from);
  return {
    move: on,
    stop(/** @type {boolean} */ kept) {
      if (!kept) marks = before;
      const now = asSettings(marks, size);
      const changed = JSON.stringify(now) !== JSON.stringify(asSettings(before, size));
      return changed ? save({ subject: subjectNow(), ...now }) : done();
    },
  };
}

/** A stroke or a wish is over, whatever came of it: the desk's word counts again. */
function done() {
  unsaved -= 1;
  if (!unsaved && model.project?.picture) showMarks(model.project, size);
}

/** @param {Settings} settings */
const save = (settings) => attempt(() => model.changeSettings(settings, !model.opened().follows)).finally(done);

/** @param {Settings} settings */
function start(settings) {
  unsaved += 1;
  marks = [];
  showDabs();
  lookFor({ keep: [], leave: [], subject: settings.subject });
  return save({ keep: [], leave: [], ...settings });
}

/** Nothing is left out, so there is no ground to fill either. */
const keepAll = () => start({ subject: "none", background: null, filler: null });
const findAgain = () => start({ subject: "auto" });

/** @param {KeyboardEvent} event */
function press(event) {
  /** @type {Record<string, Point>} */
  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  /** @type {Record<string, number>} */
  const grows = { "+": 1.25, "=": 1.25, "-": 1 / 1.25 };
  const [way, step] = [ways[event.key], event.shiftKey ? FINE : STEP];
  if (way) moveRing([at[0] + way[0] * step, at[1] + way[1] * step]);
  else if (grows[event.key]) grow(grows[event.key]);
  else if (event.key === " " || event.key === "Enter") stroke(at).stop(true);
  else if (event.key === "Delete" || event.key === "Backspace") eraseHere();
  else return;
  event.preventDefault();
}

function eraseHere() {
  const now = brush;
  brush = "erase";
  const { length } = marks;
  stroke(at).stop(true);
  if (marks.length === length) tell("No mark lies here");
  brush = now;
}
