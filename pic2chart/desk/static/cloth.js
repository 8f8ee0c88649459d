// @ts-check
// The chart on a canvas: one pixel a stitch in a buffer, drawn larger; lines, symbols and marks on top.
// Page order (top line = last round, stitch 1 at the right for a right-handed knitter) is settled here.

import { clamp } from "./dom.js";
import { paintFindings, paintHand, paintLines, paintMarks, paintRulers, paintSymbols, penOf, RULER } from "./ink.js";
/** @import { Chart, Overlay, Place, Point, Seen, Symbol } from "./shapes" */

const SYMBOLS_FROM = 13;
const MARKS_FROM = 9;
const CLOSEST = 64;

export class Cloth {
  /** @param {HTMLCanvasElement} canvas @param {Symbol[]} symbols of the yarns in the chart's order */
  constructor(canvas, symbols) {
    this.canvas = canvas;
    this.context = penOf(canvas);
    this.symbols = symbols;
    this.buffer = document.createElement("canvas");
    /** @type {Chart | null} */
    this.shown = null;
    /** @type {string[][]} */
    this.keys = [];
    /** @type {Map<string, number>} */
    this.colours = new Map();
    this.image = new ImageData(1, 1);
    this.pixels = new Uint32Array(this.image.data.buffer);
    this.stale = false;
    this.scale = 10;
    this.left = 0;
    this.top = 0;
    this.fitted = true;
    /** @type {Overlay} */
    this.overlay = { cursor: null, selection: null, preview: null, findings: [], chosen: null };
    this.pending = false;
    /** @type {Map<string, HTMLCanvasElement | null>} */
    this.tiles = new Map();
    new ResizeObserver(() => this.resize()).observe(canvas);
  }

  /** The chart shown, for what is done only while there is one. */
  get chart() {
    if (!this.shown) throw new Error("There is no chart yet.");
    return this.shown;
  }

  get rounds() { return this.chart.rows.length; }
  get stitches() { return this.chart.rows[0].length; }
  get height() { return this.scale * this.chart.aspect; }

  /**
   * Show a chart. The view stays where it is unless the chart's shape changed.
   * @param {Chart} chart
   */
  setChart(chart) {
    const reshaped = !this.shown || chart.rows.length !== this.rounds || chart.rows[0].length !== this.stitches || chart.hand !== this.chart.hand;
    this.shown = chart;
    this.tiles.clear();
    this.colours = new Map(chart.yarns.map(({ key, colour }) => [key, pixel(colour)]));
    this.colours.set(".", 0);
    this.keys = chart.rows.map((row) => Array.from(row));
    this.fill();
    if (reshaped || this.fitted) this.fit();
    this.draw();
  }

  fill() {
    this.buffer.width = this.stitches;
    this.buffer.height = this.rounds;
    const context = penOf(this.buffer);
    this.image = context.createImageData(this.stitches, this.rounds);
    this.pixels = new Uint32Array(this.image.data.buffer);
    for (let r = 1; r <= this.rounds; r += 1) {
      for (let s = 1; s <= this.stitches; s += 1) this.pixels[this.index(r, s)] = this.colours.get(this.keys[r - 1][s - 1]) ?? 0;
    }
    context.putImageData(this.image, 0, 0);
  }

  /**
   * Colour one stitch at once, before the desk has answered.
   * @param {number} round
   * @param {number} stitch
   * @param {string} key
   */
  put(round, stitch, key) {
    this.keys[round - 1][stitch - 1] = key;
    this.pixels[this.index(round, stitch)] = this.colours.get(key) ?? 0;
    this.stale = true;
    this.draw();
  }

  /** @param {number} round @param {number} stitch */
  key(round, stitch) { return this.keys[round - 1][stitch - 1]; }
  /** @param {number} round @param {number} stitch */
  isFixed(round, stitch) { return this.chart.fixed?.[round - 1][stitch - 1] === "#"; }
  /** @param {number} stitch */
  column(stitch) { return this.chart.hand === "right" ? this.stitches - stitch : stitch - 1; }
  /** @param {number} round @param {number} stitch */
  index(round, stitch) { return (this.rounds - round) * this.stitches + this.column(stitch); }

  /**
   * Left and top of a stitch's square on the canvas, CSS pixels.
   * @param {number} round
   * @param {number} stitch
   * @returns {Point}
   */
  corner(round, stitch) {
    return [this.left + this.column(stitch) * this.scale, this.top + (this.rounds - round) * this.height];
  }

  /**
   * The stitch under a point of the canvas, null outside the chart unless `held` to its edge.
   * @param {number} x
   * @param {number} y
   * @param {boolean} held
   * @returns {Place | null}
   */
  stitchAt(x, y, held = false) {
    let column = Math.floor((x - this.left) / this.scale);
    let row = Math.floor((y - this.top) / this.height);
    if (held) {
      column = clamp(column, 0, this.stitches - 1);
      row = clamp(row, 0, this.rounds - 1);
    }
    if (column < 0 || row < 0 || column >= this.stitches || row >= this.rounds) return null;
    return [this.rounds - row, this.chart.hand === "right" ? this.stitches - column : column + 1];
  }

  resize() {
    const ratio = window.devicePixelRatio || 1;
    const { clientWidth, clientHeight } = this.canvas;
    if (!clientWidth || !clientHeight) return;
    this.canvas.width = Math.round(clientWidth * ratio);
    this.canvas.height = Math.round(clientHeight * ratio);
    if (this.shown && this.fitted) this.fit();
    this.draw();
  }

  fitScale() {
    const wide = (this.canvas.clientWidth - RULER - 12) / this.stitches;
    const high = (this.canvas.clientHeight - RULER - 12) / (this.rounds * this.chart.aspect);
    return clamp(Math.min(wide, high), 0.3, 40);
  }

  fit() {
    this.scale = this.fitScale();
    this.left = (this.canvas.clientWidth - RULER - this.stitches * this.scale) / 2;
    this.top = (this.canvas.clientHeight - RULER - this.rounds * this.height) / 2;
    this.fitted = true;
    this.draw();
  }

  /** @param {number} factor @param {number} x @param {number} y */
  zoom(factor, x = this.canvas.clientWidth / 2, y = this.canvas.clientHeight / 2) {
    const lowest = Math.min(this.fitScale(), CLOSEST);
    const scale = clamp(this.scale * factor, lowest, CLOSEST);
    const by = scale / this.scale;
    this.left = x - (x - this.left) * by;
    this.top = y - (y - this.top) * by;
    this.scale = scale;
    this.fitted = scale <= lowest;
    if (this.fitted) this.fit();
    this.pan(0, 0);
  }

  /** @param {number} dx @param {number} dy */
  pan(dx, dy) {
    if (this.fitted) return this.draw();
    const wide = this.stitches * this.scale;
    const high = this.rounds * this.height;
    const spare = 60;
    this.left = clamp(this.left + dx, Math.min(spare, this.canvas.clientWidth - RULER - wide - spare), Math.max(spare, this.canvas.clientWidth - RULER - wide - spare));
    this.top = clamp(this.top + dy, Math.min(spare, this.canvas.clientHeight - RULER - high - spare), Math.max(spare, this.canvas.clientHeight - RULER - high - spare));
    return this.draw();
  }

  /**
   * Bring a stitch into view, and close enough to be told from its neighbours.
   * @param {number} round
   * @param {number} stitch
   * @param {boolean} closer
   */
  reveal(round, stitch, closer = false) {
    if (closer && this.scale < SYMBOLS_FROM) {
      const [x, y] = this.corner(round, stitch);
      this.zoom((SYMBOLS_FROM + 3) / this.scale, x, y);
    }
    const [x, y] = this.corner(round, stitch);
    const edge = 40;
    const right = this.canvas.clientWidth - RULER - edge;
    const bottom = this.canvas.clientHeight - RULER - edge;
    const middle = closer && (x < edge || x > right || y < edge || y > bottom);
    const dx = middle ? right / 2 - x : Math.max(0, edge - x) + Math.min(0, right - x);
    const dy = middle ? bottom / 2 - y : Math.max(0, edge - y) + Math.min(0, bottom - y);
    if (!this.fitted) this.pan(dx, dy);
    this.draw();
  }

  draw() {
    if (this.pending) return;
    this.pending = true;
    requestAnimationFrame(() => {
      this.pending = false;
      if (this.shown) this.paint();
    });
  }

  paint() {
    if (this.stale) {
      penOf(this.buffer).putImageData(this.image, 0, 0);
      this.stale = false;
    }
    this.canvas.classList.toggle("whole", this.fitted);
    const ratio = this.canvas.width / this.canvas.clientWidth || 1;
    const c = this.context;
    c.setTransform(ratio, 0, 0, ratio, 0, 0);
    c.clearRect(0, 0, this.canvas.clientWidth, this.canvas.clientHeight);
    c.imageSmoothingEnabled = false;
    c.drawImage(this.buffer, this.left, this.top, this.stitches * this.scale, this.rounds * this.height);
    const seen = this.seen();
    if (this.scale >= SYMBOLS_FROM) paintSymbols(this, seen);
    paintLines(this, seen);
    if (this.scale >= MARKS_FROM) paintMarks(this, seen);
    paintFindings(this);
    paintHand(this);
    paintRulers(this, seen);
  }

  /**
   * First and last column and row in view.
   * @returns {Seen}
   */
  seen() {
    const wide = this.canvas.clientWidth;
    const high = this.canvas.clientHeight;
    return {
      x0: clamp(Math.floor(-this.left / this.scale), 0, this.stitches - 1),
      x1: clamp(Math.floor((wide - this.left) / this.scale), 0, this.stitches - 1),
      y0: clamp(Math.floor(-this.top / this.height), 0, this.rounds - 1),
      y1: clamp(Math.floor((high - this.top) / this.height), 0, this.rounds - 1),
    };
  }

  /**
   * Call `each(round, stitch, x, y)` for every square in view.
   * @param {Seen} seen
   * @param {(round: number, stitch: number, x: number, y: number) => void} each
   */
  squares({ x0, x1, y0, y1 }, each) {
    for (let row = y0; row <= y1; row += 1) {
      for (let column = x0; column <= x1; column += 1) {
        const stitch = this.chart.hand === "right" ? this.stitches - column : column + 1;
        each(this.rounds - row, stitch, this.left + column * this.scale, this.top + row * this.height);
      }
    }
  }
}

/**
 * '#rrggbb' as the number of an opaque pixel (little-endian, as all machines a browser runs on).
 * @param {string} colour
 */
function pixel(colour) {
  const value = parseInt(colour.slice(1), 16);
  return (0xff000000 | ((value & 255) << 16) | (value & 0xff00) | (value >> 16)) >>> 0;
}
