// @ts-check
// The thing as it will be knitted, every stitch in its place, one side at a time; it can be painted on.

import { clamp } from "./dom.js";
import { penOf } from "./ink.js";
import { inside, paintCursor, paintLayer } from "./worn_ink.js";
/** @import { Place, Point, SideView, ThingView } from "./shapes" */

const EDGE = 18;
const APART = 1.5;
const CLOSEST = 60;
/** A view of the side that is shown; `x` is where its own zero lies, cm. @typedef {{ view: SideView, x: number }} Laid */

export class Worn {
  /** @param {HTMLCanvasElement} canvas */
  constructor(canvas) {
    this.canvas = canvas;
    /** @type {ThingView | null} */
    this.thing = null;
    this.side = "";
    /** @type {Laid[]} */
    this.laid = [];
    /** The whole of the side that is shown, cm. @type {[number, number, number, number]} */
    this.whole = [0, 0, 1, 1];
    /** The keys of all stitches, piece after piece. @type {string[]} */
    this.keys = [];
    /** @type {Map<string, string>} */
    this.colours = new Map();
    this.scale = 10;
    this.left = 0;
    this.top = 0;
    this.fitted = true;
    /** The stitch under the mark, by its number. @type {number | null} */
    this.cursor = null;
    this.pending = false;
    new ResizeObserver(() => this.resize()).observe(canvas);
  }

  /** The sides there are, in order. */
  get sides() { return [...new Set(this.thing?.views.map(({ side }) => side))]; }

  /** @param {ThingView} thing */
  setThing(thing) {
    const other = this.thing?.kind !== thing.kind;
    this.thing = thing;
    this.keys = thing.pieces.flatMap(({ chart }) => chart.rows.flatMap((row) => Array.from(row)));
    this.colours = new Map(thing.pieces[0]?.chart.yarns.map(({ key, colour }) => [key, colour]));
    this.take(this.sides.includes(this.side) ? this.side : this.sides[0], other);
  }

  /** @param {string} side @param {boolean} fresh */
  take(side, fresh = side !== this.side) {
    this.side = side;
    this.laid = [];
    let [x, low, high] = [0, Infinity, -Infinity];
    for (const view of this.thing?.views ?? []) {
      if (view.side !== side) continue;
      const [l, b, r, t] = view.box.map((value) => value / 100);
      this.laid.push({ view, x: x - l });
      x += r - l + APART;
      [low, high] = [Math.min(low, b), Math.max(high, t)];
    }
    this.whole = [0, low, Math.max(x - APART, 1), high];
    if (fresh) this.cursor = null;
    if (fresh || this.fitted) this.fit();
    this.draw();
  }

  resize() {
    const ratio = window.devicePixelRatio || 1;
    const { clientWidth, clientHeight } = this.canvas;
    if (!clientWidth || !clientHeight) return;
    this.canvas.width = Math.round(clientWidth * ratio);
    this.canvas.height = Math.round(clientHeight * ratio);
    if (this.fitted) this.fit();
    this.draw();
  }

  fitScale() {
    const [, low, wide, high] = this.whole;
    return Math.max(0.5, Math.min((this.canvas.clientWidth - 2 * EDGE) / wide, (this.canvas.clientHeight - 2 * EDGE) / (high - low)));
  }

  fit() {
    const [, low, wide, high] = this.whole;
    this.scale = this.fitScale();
    this.left = (this.canvas.clientWidth - wide * this.scale) / 2;
    this.top = (this.canvas.clientHeight - (high - low) * this.scale) / 2;
    this.fitted = true;
    this.draw();
  }

  /** @param {number} factor @param {number} x @param {number} y */
  zoom(factor, x = this.canvas.clientWidth / 2, y = this.canvas.clientHeight / 2) {
    const least = this.fitScale();
    const scale = clamp(this.scale * factor, least, Math.max(least, CLOSEST * 4));
    this.left = x - (x - this.left) * (scale / this.scale);
    this.top = y - (y - this.top) * (scale / this.scale);
    this.scale = scale;
    this.fitted = scale <= least;
    if (this.fitted) this.fit();
    this.draw();
  }

  /** @param {number} dx @param {number} dy */
  pan(dx, dy) {
    if (this.fitted) return;
    const [, low, wide, high] = this.whole;
    const spare = 60;
    this.left = clamp(this.left + dx, Math.min(spare, this.canvas.clientWidth - wide * this.scale - spare), spare);
    this.top = clamp(this.top + dy, Math.min(spare, this.canvas.clientHeight - (high - low) * this.scale - spare), spare);
    this.draw();
  }

  /** @param {number} number @returns {{ piece: string, place: Place }} */
  stitch(number) {
    let first = 0;
    for (const { name, chart } of this.thing?.pieces ?? []) {
      const [rounds, across] = [chart.rows.length, chart.rows[0].length];
      if (number < first + rounds * across) return { piece: name, place: [Math.floor((number - first) / across) + 1, ((number - first) % across) + 1] };
      first += rounds * across;
    }
    throw new Error(`There is no stitch ${number}.`);
  }

  /**
   * A point of a view in CSS pixels of the canvas.
   * @param {Laid} laid
   * @param {number} x in hundredths of a centimetre
   * @param {number} y
   * @returns {Point}
   */
  at({ x: from }, x, y) {
    return [this.left + (from + x / 100) * this.scale, this.top + (this.whole[3] - y / 100) * this.scale];
  }

  /**
   * The number of the stitch under a point of the canvas; what lies on top counts.
   * @param {number} x
   * @param {number} y
   * @returns {number | null}
   */
  stitchAt(x, y) {
    for (const laid of this.laid) {
      const px = ((x - this.left) / this.scale - laid.x) * 100;
      const py = (this.whole[3] - (y - this.top) / this.scale) * 100;
      for (const layer of [...laid.view.layers].reverse()) {
        for (let i = 0; i < layer.stitches.length; i += 1) if (inside(layer.cells, 8 * i, px, py)) return layer.stitches[i];
      }
    }
    return null;
  }

  /**
   * The nearest stitch of this side in a direction, none at its edge.
   * @param {Point} way right and up
   * @returns {number | null}
   */
  beside([right, up]) {
    const middles = this.middles();
    const from = middles.find(({ number }) => number === this.cursor) ?? null;
    if (!from) return middles[Math.floor(middles.length / 2)]?.number ?? null;
    let [best, least] = [/** @type {number | null} */ (null), Infinity];
    for (const { number, x, y } of middles) {
      const along = (x - from.x) * right + (from.y - y) * up;
      const off = Math.abs((x - from.x) * up) + Math.abs((y - from.y) * right);
      if (along > 0.5 && along + 3 * off < least && off < 2 * along) [best, least] = [number, along + 3 * off];
    }
    return best;
  }

  /** The middles of all stitches of this side, in pixels of the canvas. */
  middles() {
    return this.laid.flatMap((laid) => laid.view.layers.flatMap(({ cells, stitches }) => stitches.map((number, i) => {
      const [x, y] = this.at(laid, (cells[8 * i] + cells[8 * i + 4]) / 2, (cells[8 * i + 1] + cells[8 * i + 5]) / 2);
      return { number, x, y };
    })));
  }

  /** @param {number} number @param {string} key */
  put(number, key) {
    this.keys[number] = key;
    this.draw();
  }

  draw() {
    if (this.pending) return;
    this.pending = true;
    requestAnimationFrame(() => {
      this.pending = false;
      if (this.thing && this.canvas.clientWidth) this.paint();
    });
  }

  paint() {
    const ratio = this.canvas.width / this.canvas.clientWidth || 1;
    const c = penOf(this.canvas);
    c.setTransform(ratio, 0, 0, ratio, 0, 0);
    c.clearRect(0, 0, this.canvas.clientWidth, this.canvas.clientHeight);
    c.lineJoin = "round";
    for (const laid of this.laid) for (const layer of laid.view.layers) paintLayer(this, c, laid, layer);
    if (this.cursor !== null) paintCursor(this, c, this.cursor);
  }
}
