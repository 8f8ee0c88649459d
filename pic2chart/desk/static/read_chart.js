// @ts-check
// A photo of a chart on squared paper: its corners or the part that holds it dragged on the photo, its
// uncertain squares settled one after the other, and then it is a project like any other. A photo of
// stranded knitting is read likewise; it has no corners to drag.

import { ask, el } from "./dom.js";
import { Handles, onPhoto } from "./handles.js";
import * as model from "./model.js";
import { attempt, upload } from "./net.js";

/** @typedef {{ round: number, stitch: number, yarn: string, other: string, box: number[] }} Uncertain */
/** @typedef {{ key: string, name: string, colour: string }} ReadYarn */
/** @typedef {{ chart: string, title: string, size: number[], yarns: ReadYarn[], whole: boolean, remark: string, warnings: string[], corners: number[][], uncertain: Uncertain[] }} Answer */

const SHOWN = 150;

/**
 * Read a photo and, when it is done, open it as a project.
 * @param {File} file
 * @param {boolean} fabric whether it shows knitting, and not a chart on paper
 */
export async function readChart(file, fabric) {
  const reading = new ChartReading(file, fabric);
  const asked = ask(fabric ? "Read a photo of knitting" : "Read a photo of a chart", [reading.place], [["Open this chart", true], ["Leave it", false]]);
  reading.read({});
  const done = await asked;
  const chart = reading.changedChart();
  if (done && chart) await attempt(() => model.start(new File([chart], `${reading.answer?.title ?? "chart"}.chart.json`), "chart"));
}

class ChartReading {
  /** @type {Answer | null} */
  answer = null;
  /** Keys given to squares by hand, by 'round,stitch'. @type {Map<string, string>} */
  settled = new Map();
  at = 0;
  turn = 0;
  /** Corners or part given on the photo. @type {{ corners?: string, region?: string }} */
  where = {};

  /** @param {File} file @param {boolean} fabric */
  constructor(file, fabric) {
    this.file = file;
    this.fabric = fabric;
    this.image = el("img", { alt: fabric ? "The photo of the knitting" : "The photo of the chart", src: URL.createObjectURL(file), draggable: false });
    this.marks = el("div", { class: "photo-marks" }, this.image);
    this.image.addEventListener("pointerdown", (event) => this.region(event));
    this.corners = new Handles(this.image, this.marks, ["Top left", "Top right", "Bottom right", "Bottom left"].map((words) => [`${words} corner`, ""]),
      () => {}, () => this.read({ corners: this.corners.text }));
    this.words = el("div", { "aria-live": "polite" });
    this.warnings = el("div", {});
    this.squares = el("div", { class: "uncertain", role: "group", "aria-label": "Uncertain squares" });
    const count = (/** @type {string} */ id, /** @type {string} */ words) => el("div", { class: "field" }, el("label", { for: id }, words), el("input", { id, type: "number", min: 1, max: 1000 }));
    this.place = el("div", { class: "chart-reading" },
      el("p", { class: "help" }, fabric
        ? "Knitting laid flat, its right side up, is read stitch by stitch. Drag a box round a part of the pattern on the photo to read that part alone."
        : "Drag the corners where they are wrong, or drag a box round the chart on the photo. Numbers that you know can be given."),
      this.marks,
      el("div", { class: "row" }, ...(fabric ? [] : [count("read-stitches", "Stitches across"), count("read-rounds", "Rounds up")]), count("read-yarns", "Yarns"),
        el("button", { type: "button", onclick: () => this.read(this.where) }, "Read again")),
      this.words, this.squares, this.warnings);
  }

  /** @param {{ corners?: string, region?: string }} where */
  async read(where) {
    const turn = ++this.turn;
    this.where = where;
    const query = new URLSearchParams({ name: this.file.name.slice(-200), ...where });
    if (this.fabric) query.set("fabric", "true");
    for (const name of ["stitches", "rounds", "yarns"]) {
      const field = /** @type {HTMLInputElement | null} */ (this.place.querySelector(`#read-${name}`));
      if (field?.value) query.set(name, field.value);
    }
    this.words.replaceChildren(el("p", { class: "working" }, "Reading …"));
    this.mayOpen(false);
    this.squares.replaceChildren();
    this.warnings.replaceChildren();
    /** @type {Answer | null} */
    let answer = null;
    let why = "";
    try {
      answer = await upload(`/api/reading?${query}`, this.file);
    } catch (trouble) {
      why = trouble instanceof Error ? trouble.message : String(trouble);
    }
    if (turn !== this.turn) return; // something newer is being read
    this.mayOpen(Boolean(answer ?? this.answer));
    if (!answer) {
      this.words.replaceChildren(el("p", { class: "trouble" }, why));
      if (!this.answer) this.showCorners(this.wholePhoto());
      return;
    }
    this.answer = answer;
    this.settled.clear();
    this.at = 0;
    this.words.replaceChildren(el("p", {}, answer.remark));
    this.warnings.replaceChildren(...answer.warnings.map((line) => el("p", { class: "trouble" }, line)));
    this.showCorners(answer.corners);
    this.showSquare();
  }

  /** There is nothing to open while a photo is being read, or when nothing was read of it. @param {boolean} may */
  mayOpen(may) {
    const open = /** @type {HTMLButtonElement | null | undefined} */ (this.place.closest("dialog")?.querySelector("button.main"));
    if (open) open.disabled = !may;
  }

  /** Corners a little within the photo, for where none were found. */
  wholePhoto() {
    const [w, h] = [this.image.naturalWidth, this.image.naturalHeight];
    return [[0.1, 0.1], [0.9, 0.1], [0.9, 0.9], [0.1, 0.9]].map(([x, y]) => [x * w, y * h]);
  }

  /** @param {number[][]} corners */
  showCorners(corners) {
    if (!this.fabric) this.corners.show(corners);
  }

  /** A box drawn on the photo: only what lies in it is read. @param {PointerEvent} begun */
  region(begun) {
    const from = onPhoto(this.image, begun);
    const box = el("span", { class: "photo-mark" });
    this.marks.append(box);
    this.image.setPointerCapture(begun.pointerId);
    let [x, y, w, h] = [0, 0, 0, 0];
    const drawn = (/** @type {PointerEvent} */ event) => {
      const to = onPhoto(this.image, event);
      [x, y] = [Math.max(0, Math.min(from[0], to[0])), Math.max(0, Math.min(from[1], to[1]))];
      w = Math.min(Math.abs(to[0] - from[0]), this.image.naturalWidth - x);
      h = Math.min(Math.abs(to[1] - from[1]), this.image.naturalHeight - y);
      const [wide, high] = [this.image.naturalWidth / 100, this.image.naturalHeight / 100];
      Object.assign(box.style, { left: `${x / wide}%`, top: `${y / high}%`, width: `${w / wide}%`, height: `${h / high}%` });
    };
    this.image.addEventListener("pointermove", drawn);
    this.image.addEventListener("pointerup", () => {
      this.image.removeEventListener("pointermove", drawn);
      box.remove();
      if (Math.min(w, h) > 20) this.read({ region: [x, y, w, h].map(Math.floor).join(",") });
    }, { once: true });
  }

  /** The uncertain square whose turn it is, enlarged, and the yarns that it may be. */
  showSquare() {
    const { uncertain = [], yarns = [] } = this.answer ?? {};
    const square = uncertain[this.at];
    if (!square) {
      const words = uncertain.length ? "All uncertain squares are settled." : "No square is uncertain.";
      this.squares.replaceChildren(el("p", { class: "quiet" }, words));
      return;
    }
    const canvas = el("canvas", { width: SHOWN, height: SHOWN, role: "img", "aria-label": "The square and those round it on the photo" });
    const [x, y, w, h] = square.box;
    const side = 3 * Math.max(w, h);
    const pen = canvas.getContext("2d");
    pen?.drawImage(this.image, x + w / 2 - side / 2, y + h / 2 - side / 2, side, side, 0, 0, SHOWN, SHOWN);
    if (pen) { pen.strokeStyle = "#e0007a"; pen.lineWidth = 3; pen.strokeRect(SHOWN / 2 - w / side * SHOWN / 2, SHOWN / 2 - h / side * SHOWN / 2, w / side * SHOWN, h / side * SHOWN); }
    const likely = [square.yarn, square.other];
    const order = [...yarns].sort((a, b) => (likely.indexOf(a.key) + 9) % 9 - (likely.indexOf(b.key) + 9) % 9);
    this.squares.replaceChildren(
      el("p", {}, `Square ${this.at + 1} of ${uncertain.length}: round ${square.round}, stitch ${square.stitch}. Which yarn is it?`),
      el("div", { class: "row" }, canvas, ...order.map((yarn) => {
        const patch = el("span", { class: "swatch" });
        patch.style.background = yarn.colour;
        return el("button", { type: "button", onclick: () => this.settle(square, yarn.key) }, patch, ` ${yarn.name}`);
      })));
  }

  /** @param {Uncertain} square @param {string} key */
  settle(square, key) {
    this.settled.set(`${square.round},${square.stitch}`, key);
    this.at += 1;
    this.showSquare();
    this.squares.querySelector("button")?.focus();
  }

  /** The chart file with the squares that were settled; null where nothing was read. */
  changedChart() {
    if (!this.answer) return null;
    const data = JSON.parse(this.answer.chart);
    for (const [place, key] of this.settled) {
      const [round, stitch] = place.split(",").map(Number);
      const row = data.rounds[round - 1];
      data.rounds[round - 1] = row.slice(0, stitch - 1) + key + row.slice(stitch);
    }
    return JSON.stringify(data);
  }
}
