// The photo with its frame and the box round the subject: by drag, by keys, or by typing numbers.

import { clamp, el, tell } from "./dom.js";
import { attempt, image } from "./net.js";
import * as model from "./model.js";
import { addSpot, clearSpots, drawSpot, setUpSpots, showSpots } from "./spots.js";

const KINDS = {
  crop: { word: "Frame", none: "Whole picture", help: "The part of the picture that is knitted." },
  subject: { word: "Subject", none: "No subject", help: "What lies outside becomes plain or a pattern." },
  focus: { word: "Spots", none: "No spots", help: "Spots that matter most, such as the eyes, from the middle outwards." },
};
const BOXES = ["crop", "subject"];
const STEP = 0.01;
const LEAST = 0.04;
const PAUSE = 450;

let size = [1, 1];
let shownPicture = null;
let kind = "crop";
let parts = null;
let timer = 0;

export function setUpPicture(place) {
  const img = el("img", { alt: "The picture this chart is made from", draggable: false });
  const boxes = Object.fromEntries(BOXES.map((name) => [name, boxFor(name)]));
  const frame = el("div", { class: "photo" }, img, boxes.crop, boxes.subject);
  const modes = Object.entries(KINDS).map(([name, { word }]) =>
    el("button", { type: "button", "aria-pressed": "false", onclick: () => choose(name) }, word));
  const clear = el("button", { type: "button", class: "plain small", onclick: () => kind === "focus" ? clearSpots() : save(kind, null) });
  const add = el("button", { type: "button", class: "plain small", onclick: addSpot }, "Add a spot");
  const help = el("p", { class: "quiet small" });
  const other = el("input", { type: "file", accept: "image/*,.heic,.heif,.tif,.tiff", id: "other-picture", class: "unseen", onchange: () => {
    if (other.files[0]) attempt(() => model.otherPicture(other.files[0]));
    other.value = "";
  } });
  const pick = el("span", { class: "choose" }, other, el("label", { class: "button plain small", for: "other-picture" }, "Another picture"));
  const bar = el("div", { class: "row" }, el("div", { class: "pair", role: "group", "aria-label": "What to draw on the picture" }, modes), clear, add, pick);
  parts = { place, img, boxes, frame, modes, clear, add, help };
  setUpSpots(frame);
  place.append(el("div", { class: "sight" }, frame, miniChart()), bar, help);
  frame.addEventListener("pointerdown", grab);
  choose("crop");
  model.onProject((view) => attempt(() => showPicture(view)));
}

function boxFor(name) {
  const corners = ["nw", "ne", "sw", "se"].map((corner) => el("i", { "data-corner": corner }));
  return el("div", {
    class: `box ${name}`, tabindex: "0", role: "application", "data-box": name,
    "aria-label": `${KINDS[name].word}: arrow keys move it, Shift and arrow keys change its size`,
    onkeydown: (event) => press(event, name), onfocus: () => choose(name),
  }, corners);
}

async function showPicture(view) {
  parts.place.hidden = !view.picture;
  if (!view.picture) return;
  const name = `${view.id}/${view.picture}`;
  if (name !== shownPicture) {
    shownPicture = name;
    const { url, headers } = await image(`/api/projects/${view.id}/picture`);
    if (parts.img.src) URL.revokeObjectURL(parts.img.src);
    parts.img.src = url;
    size = headers.get("x-picture-size").split(",").map(Number);
  }
  place();
}

function choose(name) {
  kind = name;
  parts.modes.forEach((button, index) => button.setAttribute("aria-pressed", String(Object.keys(KINDS)[index] === name)));
  parts.clear.textContent = KINDS[name].none;
  parts.add.hidden = name !== "focus";
  parts.help.textContent = `${KINDS[name].help} Drag on the picture to draw it.`;
  for (const [other, box] of Object.entries(parts.boxes)) box.classList.toggle("chosen", other === name);
  if (model.project) parts.clear.hidden = !model.project.settings[name]?.length;
}

/** The box as fractions of the picture [left, top, width, height]; the whole when none is set. */
function fractions(name) {
  const text = model.project?.settings[name];
  if (!text) return [0, 0, 1, 1];
  const [x, y, w, h] = text.split(",").map(Number);
  return [x / size[0], y / size[1], w / size[0], h / size[1]];
}

function place() {
  for (const name of BOXES) put(name, fractions(name), Boolean(model.project.settings[name]));
  showSpots(size);
  parts.clear.hidden = !model.project.settings[kind]?.length;
}

function put(name, [x, y, w, h], set) {
  const box = parts.boxes[name];
  box.classList.toggle("unset", !set);
  Object.assign(box.style, { left: `${x * 100}%`, top: `${y * 100}%`, width: `${w * 100}%`, height: `${h * 100}%` });
}

function textOf([x, y, w, h]) {
  const left = Math.round(x * size[0]);
  const top = Math.round(y * size[1]);
  const wide = clamp(Math.round(w * size[0]), 1, size[0] - left);
  const high = clamp(Math.round(h * size[1]), 1, size[1] - top);
  return `${left},${top},${wide},${high}`;
}

function save(name, box) {
  const text = box && (name === "subject" || box[2] < 0.999 || box[3] < 0.999) ? textOf(box) : null;
  if (text === model.project.settings[name]) return;
  tell(text ? `${KINDS[name].word} set` : KINDS[name].none);
  const asked = { [name]: text };
  if (name === "subject" && !text) Object.assign(asked, { filler: null, background: null });
  attempt(() => model.changeSettings(asked, mayStartAnew()));
}

/** The frame means the picture: a chart that was reshaped by hand is made from it again. */
const mayStartAnew = () => !model.project.follows;

function grab(event) {
  if (event.button > 0 || !model.project) return null;
  event.preventDefault();
  const start = at(event);
  if (kind === "focus") return follow(event, drawSpot(start));
  const before = fractions(kind);
  const set = Boolean(model.project.settings[kind]);
  const corner = event.target.dataset.corner;
  const inside = set && event.target.dataset.box === kind;
  let now = before;
  parts.boxes[kind].focus({ preventScroll: true });
  const move = (next) => {
    now = corner && set ? stretched(before, corner, next) : inside ? moved(before, start, next) : between(start, next);
    put(kind, now, true);
  };
  const stop = (kept) => {
    if (kept && now !== before && now[2] > LEAST && now[3] > LEAST) save(kind, now);
    else place();
  };
  return follow(event, { move, stop });
}

/** Follow a pointer: `move` is given where it is, `stop` whether it was let go or taken away. */
function follow(event, { move, stop }) {
  const moved = (next) => move(at(next));
  const ended = (last) => {
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

function at(event) {
  const area = parts.frame.getBoundingClientRect();
  return [clamp((event.clientX - area.left) / area.width, 0, 1), clamp((event.clientY - area.top) / area.height, 0, 1)];
}

function between(a, b) {
  return [Math.min(a[0], b[0]), Math.min(a[1], b[1]), Math.abs(a[0] - b[0]), Math.abs(a[1] - b[1])];
}

function moved([x, y, w, h], from, to) {
  return [clamp(x + to[0] - from[0], 0, 1 - w), clamp(y + to[1] - from[1], 0, 1 - h), w, h];
}

function stretched([x, y, w, h], corner, to) {
  const opposite = [corner.includes("w") ? x + w : x, corner.includes("n") ? y + h : y];
  return between(opposite, to);
}

function press(event, name) {
  const way = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
  if (!way) return;
  event.preventDefault();
  const box = parts.boxes[name];
  const [x, y, w, h] = ["left", "top", "width", "height"].map((side) => parseFloat(box.style[side]) / 100);
  const [dx, dy] = way.map((step) => step * STEP);
  const now = event.shiftKey
    ? [x, y, clamp(w + dx, LEAST, 1 - x), clamp(h + dy, LEAST, 1 - y)]
    : [clamp(x + dx, 0, 1 - w), clamp(y + dy, 0, 1 - h), w, h];
  put(name, now, true);
  clearTimeout(timer);
  timer = setTimeout(() => save(name, now), PAUSE);
}

/** The whole chart in small beside its picture, where a narrow window shows one part at a time. */
function miniChart() {
  const canvas = el("canvas", { class: "mini", "aria-hidden": "true" });
  const draw = () => {
    if (!model.project || !canvas.offsetParent) return;
    const { rows, yarns, aspect, hand } = model.project.chart;
    const [rounds, stitches] = [rows.length, rows[0].length];
    const colours = new Map(yarns.map(({ key, colour }) => [key, colour]));
    canvas.width = stitches;
    canvas.height = rounds;
    canvas.style.aspectRatio = `${stitches} / ${rounds * aspect}`;
    const context = canvas.getContext("2d");
    rows.forEach((row, r) => Array.from(row).forEach((key, s) => {
      context.fillStyle = colours.get(key) ?? "transparent";
      context.fillRect(hand === "right" ? stitches - 1 - s : s, rounds - 1 - r, 1, 1);
    }));
  };
  model.onProject(draw);
  new ResizeObserver(draw).observe(canvas);
  return canvas;
}
