// @ts-check
// The photo with its subject, the frame and the spots: what is drawn on it by drag and by keys.

import { clamp, el, tell } from "./dom.js";
import { setPhoto } from "./compare.js";
import { framesPanel, miniChart, turns } from "./frames.js";
import { degrees, leanSlider, turnedPlace } from "./lean.js";
import { attempt, image } from "./net.js";
import * as model from "./model.js";
import { brushing, forgetMask, setUpMarks, showBrushes, showMarks, stroke, take } from "./marks.js";
import { setUpPick } from "./pick.js";
import { meanwhile } from "./preview.js";
import { setPictureSize } from "./slide.js";
import { addSpot, clearSpots, drawSpot, setUpSpots, showSpots } from "./spots.js";
import { tryOut } from "./thing.js";
/** @import { Numbers4, Point, View } from "./shapes" */

const KINDS = {
  subject: { word: "Subject", none: "", help: "" },
  crop: { word: "Frame", none: "Follow the subject", help: "The part of the picture that is knitted; left alone, it follows the subject. Drag on the picture to draw it." },
  focus: { word: "Eyes", none: "No spots", help: "Mark what matters most, such as the eyes: click on it, or drag from its middle outwards." },
};
/** @typedef {keyof typeof KINDS} Kind */
/** @type {["crop", "subject"]} */
const BOXES = ["crop", "subject"];
/** @typedef {"crop" | "subject"} BoxKind */
const kinds = () => /** @type {Kind[]} */ (Object.keys(KINDS));
const STEP = 0.01;
const LEAST = 0.04;
const PAUSE = 450;
const ROOMY = "roomy";

/** @type {Point} */
let size = [1, 1];
/** @type {string | null} */
let shownPicture = null;
/** @type {Kind} */
let kind = "subject";
/**
 * @type {{ place: HTMLElement, img: HTMLImageElement, boxes: Record<BoxKind, HTMLElement>, frame: HTMLElement,
 *   modes: HTMLButtonElement[], whole: HTMLButtonElement, clear: HTMLButtonElement, add: HTMLButtonElement, help: HTMLElement }}
 */
let parts;
let timer = 0;

/** @param {HTMLElement} place */
export function setUpPicture(place) {
  const img = el("img", { alt: "The picture this chart is made from", draggable: false });
  const boxes = { crop: boxFor("crop"), subject: boxFor("subject") };
  const frame = el("div", { class: "photo" }, img, boxes.crop, boxes.subject);
  const modes = kinds().map((name) =>
    el("button", { type: "button", "aria-pressed": "false", onclick: () => choose(name) }, KINDS[name].word));
  const clear = el("button", { type: "button", class: "plain small", onclick: () => kind === "focus" ? clearSpots() : save(kind, null) });
  const whole = el("button", { type: "button", class: "plain small", onclick: () => save("crop", [0, 0, 1, 1]) }, "Whole picture");
  const add = el("button", { type: "button", class: "plain small", onclick: addSpot }, "Add a spot");
  const help = el("p", { class: "quiet small" });
  const other = el("input", { type: "file", accept: "image/*,.heic,.heif,.tif,.tiff", id: "other-picture", class: "unseen", onchange: () => {
    const [file] = other.files ?? [];
    if (file) attempt(() => meanwhile(file, document.querySelector("#stage .frame"), () => model.otherPicture(file)));
    other.value = "";
  } });
  const pick = el("span", { class: "choose" }, other, el("label", { class: "button plain small", for: "other-picture" }, "Another picture"));
  const bar = el("div", { class: "row bar" }, el("div", { class: "pair", role: "group", "aria-label": "What to draw on the picture" }, modes), whole, clear, add);
  parts = { place, img, boxes, frame, modes, whole, clear, add, help };
  setUpSpots(frame);
  const marks = setUpMarks(frame, () => choose("subject"));
  const tools = el("div", { class: "picture-tools" }, bar, marks.bar, help, turns(), leanSlider(() => size), framesPanel());
  place.append(el("div", { class: "sight" }, frame, miniChart()), el("div", { class: "row" }, sizeButton(), pick), marks.line, tools);
  setUpPick(frame, img, () => { if (!frame.offsetParent) document.querySelector("#jump [data-part=picture]")?.dispatchEvent(new MouseEvent("click")); });
  frame.addEventListener("pointerdown", grab);
  model.onProject((view) => attempt(() => showPicture(view)));
}

/** At work on the picture it has most of the window, and the thing lies live beside it. */
function sizeButton() {
  const button = el("button", { type: "button", class: "sizes main", onclick: () => show(!document.body.classList.contains(ROOMY)) });
  const show = (/** @type {boolean} */ roomy) => {
    document.body.classList.toggle(ROOMY, roomy);
    button.textContent = roomy ? "Done with the photo" : "Work on the photo";
    button.setAttribute("aria-expanded", String(roomy));
  };
  show(false);
  model.onProject((_, why) => { if (why === "open") show(false); });
  return button;
}

/** @param {BoxKind} name */
function boxFor(name) {
  const corners = ["nw", "ne", "sw", "se"].map((corner) => el("i", { "data-corner": corner }));
  return el("div", {
    class: `box ${name}`, tabindex: "0", role: "application", "data-box": name,
    "aria-label": `${KINDS[name].word}: arrow keys move it, Shift and arrow keys change its size`,
    onkeydown: (event) => press(event, name), onfocus: () => name === "subject" ? take("box") : choose(name),
  }, corners);
}

/** @param {View} view */
async function showPicture(view) {
  parts.place.hidden = !view.picture;
  if (!view.picture) return setPhoto(null);
  const name = `${view.id}/${view.picture}`;
  if (name !== shownPicture) {
    shownPicture = name;
    forgetMask();
    const { url, headers } = await image(`/api/projects/${view.id}/picture`);
    if (parts.img.src) URL.revokeObjectURL(parts.img.src);
    parts.img.src = url;
    const [wide, high] = (headers.get("x-picture-size") ?? "1,1").split(",").map(Number);
    size = [wide, high];
    parts.frame.style.setProperty("--shape", String(wide / high));
    setPictureSize(size);
    setPhoto({ src: url, size });
  }
  place();
}

/** @param {Kind} name */
function choose(name) {
  kind = name;
  parts.modes.forEach((button, index) => button.setAttribute("aria-pressed", String(kinds()[index] === name)));
  parts.clear.textContent = KINDS[name].none;
  parts.add.hidden = name !== "focus";
  parts.help.hidden = name === "subject";
  parts.help.textContent = KINDS[name].help;
  const box = name === "subject" && brushing() ? "" : name;
  for (const [other, node] of Object.entries(parts.boxes)) node.classList.toggle("chosen", other === box);
  parts.frame.classList.toggle("brushed", name === "subject" && brushing());
  showBrushes(name === "subject");
  offerClear();
}

/** The subject has its own words for taking away what was drawn. */
function offerClear() {
  parts.clear.hidden = kind === "subject" || !model.project?.settings[kind]?.length;
  parts.whole.hidden = kind !== "crop" || model.project?.settings.crop === textOf([0, 0, 1, 1]);
}

/**
 * The box as fractions of the picture [left, top, width, height]; the whole when none is set.
 * @param {BoxKind} name
 * @returns {Numbers4}
 */
function fractions(name) {
  const text = model.project?.settings[name];
  if (!isSet(name)) return [0, 0, 1, 1];
  const [x, y, w, h] = text.split(",").map(Number);
  return [x / size[0], y / size[1], w / size[0], h / size[1]];
}

/** Whether a box is drawn: a subject may also be found, or everything kept. @param {BoxKind} name */
const isSet = (name) => /^[\d, ]+$/.test(model.project?.settings[name] ?? "");

function place() {
  for (const name of BOXES) put(name, fractions(name), isSet(name));
  showSpots(size);
  showMarks(model.opened(), size);
  offerClear();
}

/** @param {BoxKind} name @param {Numbers4} box @param {boolean} set */
function put(name, [x, y, w, h], set) {
  const box = parts.boxes[name];
  box.classList.toggle("unset", !set);
  Object.assign(box.style, { left: `${x * 100}%`, top: `${y * 100}%`, width: `${w * 100}%`, height: `${h * 100}%` });
  const lean = name === "crop" ? degrees() : 0; // the frame lies on the turned picture, and the photo is shown as it is
  Object.assign(box.style, { transform: lean ? `rotate(${-lean}deg)` : "", transformOrigin: `${((0.5 - x) / w) * 100}% ${((0.5 - y) / h) * 100}%` });
}

/** @param {Numbers4} box */
function textOf([x, y, w, h]) {
  const left = Math.round(x * size[0]);
  const top = Math.round(y * size[1]);
  const wide = clamp(Math.round(w * size[0]), 1, size[0] - left);
  const high = clamp(Math.round(h * size[1]), 1, size[1] - top);
  return `${left},${top},${wide},${high}`;
}

/** @param {BoxKind} name @param {Numbers4 | null} box */
function save(name, box) {
  const text = box && textOf(box);
  if (text === model.opened().settings[name]) return;
  tell(text ? `${KINDS[name].word} set` : KINDS[name].none);
  attempt(() => model.changeSettings({ [name]: text }, mayStartAnew()));
}

/** The frame means the picture: a chart that was reshaped by hand is made from it again. */
const mayStartAnew = () => !model.opened().follows;

/** @param {PointerEvent} event */
function grab(event) {
  if (event.button > 0 || !model.project) return null;
  event.preventDefault();
  const on = (/** @type {Point} */ place) => kind === "crop" ? leaned(place) : place;
  const start = on(at(event));
  if (kind === "focus") return follow(event, drawSpot(start));
  if (kind === "subject" && brushing()) return follow(event, stroke(start));
  const name = kind;
  const before = fractions(name);
  const set = isSet(name);
  const target = /** @type {HTMLElement} */ (event.target);
  const corner = target.dataset.corner;
  const inside = set && target.dataset.box === name;
  let now = before;
  parts.boxes[name].focus({ preventScroll: true });
  const move = (/** @type {Point} */ to) => {
    const next = on(to);
    now = corner && set ? stretched(before, corner, next) : inside ? moved(before, start, next) : between(start, next);
    put(name, now, true);
    if (name === "crop" && now[2] > LEAST && now[3] > LEAST) tryOut({ crop: textOf(now) });
  };
  const stop = (/** @type {boolean} */ kept) => {
    model.dropDrafts();
    if (kept && now !== before && now[2] > LEAST && now[3] > LEAST) save(name, now);
    else place();
  };
  return follow(event, { move, stop });
}

/**
 * Follow a pointer: `move` is given where it is, `stop` whether it was let go or taken away.
 * @param {PointerEvent} event
 * @param {{ move: (to: Point) => void, stop: (kept: boolean) => void }} does
 */
function follow(event, { move, stop }) {
  const moved = (/** @type {PointerEvent} */ next) => move(at(next));
  const ended = (/** @type {PointerEvent} */ last) => {
    parts.frame.removeEventListener("pointermove", moved);
    parts.frame.removeEventListener("pointerup", ended);
    parts.frame.removeEventListener("pointercancel", ended);
    stop(last.type === "pointerup");
  };
  parts.frame.setPointerCapture(event.pointerId);
  parts.frame.addEventListener("pointermove", moved);
  parts.frame.addEventListener("pointerup", ended);
  parts.frame.addEventListener("pointercancel", ended);
}

/** @param {PointerEvent} event @returns {Point} */
function at(event) {
  const area = parts.frame.getBoundingClientRect();
  return [clamp((event.clientX - area.left) / area.width, 0, 1), clamp((event.clientY - area.top) / area.height, 0, 1)];
}

/** A place of the photo, as shares, on the turned picture. @param {Point} place @returns {Point} */
function leaned([x, y]) {
  const [px, py] = turnedPlace([x * size[0], y * size[1]], size, degrees());
  return [clamp(px / size[0], 0, 1), clamp(py / size[1], 0, 1)];
}

/** @param {Point} a @param {Point} b @returns {Numbers4} */
function between(a, b) {
  return [Math.min(a[0], b[0]), Math.min(a[1], b[1]), Math.abs(a[0] - b[0]), Math.abs(a[1] - b[1])];
}

/** @param {Numbers4} box @param {Point} from @param {Point} to @returns {Numbers4} */
function moved([x, y, w, h], from, to) {
  return [clamp(x + to[0] - from[0], 0, 1 - w), clamp(y + to[1] - from[1], 0, 1 - h), w, h];
}

/** @param {Numbers4} box @param {string} corner @param {Point} to @returns {Numbers4} */
function stretched([x, y, w, h], corner, to) {
  /** @type {Point} */
  const opposite = [corner.includes("w") ? x + w : x, corner.includes("n") ? y + h : y];
  return between(opposite, to);
}

/** @param {KeyboardEvent} event @param {BoxKind} name */
function press(event, name) {
  /** @type {Record<string, Point>} */
  const ways = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  const way = ways[event.key];
  if (!way) return;
  event.preventDefault();
  const box = parts.boxes[name];
  const [x, y, w, h] = /** @type {const} */ (["left", "top", "width", "height"]).map((side) => parseFloat(box.style[side]) / 100);
  const [dx, dy] = way.map((step) => step * STEP);
  /** @type {Numbers4} */
  const now = event.shiftKey
    ? [x, y, clamp(w + dx, LEAST, 1 - x), clamp(h + dy, LEAST, 1 - y)]
    : [clamp(x + dx, 0, 1 - w), clamp(y + dy, 0, 1 - h), w, h];
  put(name, now, true);
  clearTimeout(timer);
  timer = setTimeout(() => save(name, now), PAUSE);
}
