// The chart on a canvas: one pixel a stitch in a buffer, drawn larger; lines, symbols and marks on top.
// Page order (top line = last round, stitch 1 at the right for a right-handed knitter) is settled here.

import { clamp } from "./dom.js";

const LINES_FROM = 6;
const SYMBOLS_FROM = 13;
const MARKS_FROM = 9;
const CLOSEST = 64;
const RULER = 26;

export class Cloth {
  constructor(canvas, symbols) {
    this.canvas = canvas;
    this.context = canvas.getContext("2d");
    this.symbols = symbols;
    this.buffer = document.createElement("canvas");
    this.chart = null;
    this.scale = 10;
    this.left = 0;
    this.top = 0;
    this.fitted = true;
    this.overlay = { cursor: null, selection: null, preview: null, findings: [], chosen: null };
    this.pending = false;
    this.tiles = new Map();
    new ResizeObserver(() => this.resize()).observe(canvas);
  }

  get rounds() { return this.chart.rows.length; }
  get stitches() { return this.chart.rows[0].length; }
  get height() { return this.scale * this.chart.aspect; }

  /** Show a chart. The view stays where it is unless the chart's shape changed. */
  setChart(chart) {
    const reshaped = !this.chart || chart.rows.length !== this.rounds || chart.rows[0].length !== this.stitches || chart.hand !== this.chart.hand;
    this.chart = chart;
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
    const context = this.buffer.getContext("2d");
    this.image = context.createImageData(this.stitches, this.rounds);
    this.pixels = new Uint32Array(this.image.data.buffer);
    for (let r = 1; r <= this.rounds; r += 1) {
      for (let s = 1; s <= this.stitches; s += 1) this.pixels[this.index(r, s)] = this.colours.get(this.keys[r - 1][s - 1]);
    }
    context.putImageData(this.image, 0, 0);
  }

  /** Colour one stitch at once, before the desk has answered. */
  put(round, stitch, key) {
    this.keys[round - 1][stitch - 1] = key;
    this.pixels[this.index(round, stitch)] = this.colours.get(key);
    this.stale = true;
    this.draw();
  }

  key(round, stitch) { return this.keys[round - 1][stitch - 1]; }
  isFixed(round, stitch) { return this.chart.fixed?.[round - 1][stitch - 1] === "#"; }
  column(stitch) { return this.chart.hand === "right" ? this.stitches - stitch : stitch - 1; }
  index(round, stitch) { return (this.rounds - round) * this.stitches + this.column(stitch); }

  /** Left and top of a stitch's square on the canvas, CSS pixels. */
  corner(round, stitch) {
    return [this.left + this.column(stitch) * this.scale, this.top + (this.rounds - round) * this.height];
  }

  /** The stitch under a point of the canvas, null outside the chart unless `held` to its edge. */
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
    if (this.chart && this.fitted) this.fit();
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

  pan(dx, dy) {
    if (this.fitted) return this.draw();
    const wide = this.stitches * this.scale;
    const high = this.rounds * this.height;
    const spare = 60;
    this.left = clamp(this.left + dx, Math.min(spare, this.canvas.clientWidth - RULER - wide - spare), Math.max(spare, this.canvas.clientWidth - RULER - wide - spare));
    this.top = clamp(this.top + dy, Math.min(spare, this.canvas.clientHeight - RULER - high - spare), Math.max(spare, this.canvas.clientHeight - RULER - high - spare));
    return this.draw();
  }

  /** Bring a stitch into view, and close enough to be told from its neighbours. */
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
      if (this.chart) this.paint();
    });
  }

  paint() {
    if (this.stale) {
      this.buffer.getContext("2d").putImageData(this.image, 0, 0);
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
    if (this.scale >= SYMBOLS_FROM) this.paintSymbols(seen);
    this.paintLines(seen);
    if (this.scale >= MARKS_FROM) this.paintMarks(seen);
    this.paintFindings();
    this.paintHand();
    this.paintRulers(seen);
  }

  /** First and last column and row in view. */
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

  /** Call `each(round, stitch, x, y)` for every square in view. */
  squares({ x0, x1, y0, y1 }, each) {
    for (let row = y0; row <= y1; row += 1) {
      for (let column = x0; column <= x1; column += 1) {
        const stitch = this.chart.hand === "right" ? this.stitches - column : column + 1;
        each(this.rounds - row, stitch, this.left + column * this.scale, this.top + row * this.height);
      }
    }
  }

  paintSymbols(seen) {
    this.squares(seen, (round, stitch, x, y) => {
      const tile = this.tile(this.key(round, stitch));
      if (tile) this.context.drawImage(tile, x, y, this.scale, this.height);
    });
  }

  /** A yarn's symbol drawn once at this size. */
  tile(key) {
    const name = `${key}${this.scale}`;
    if (this.tiles.has(name)) return this.tiles.get(name);
    if (this.tiles.size > 60) this.tiles.clear();
    const index = this.chart.yarns.findIndex((yarn) => yarn.key === key);
    const symbol = this.symbols[index];
    const tile = symbol?.lines.length ? drawnSymbol(symbol, this.chart.yarns[index].ink, this.scale, this.height) : null;
    this.tiles.set(name, tile);
    return tile;
  }

  paintLines({ x0, x1, y0, y1 }) {
    const c = this.context;
    const fine = this.scale >= LINES_FROM;
    const line = (x, y, w, h, heavy) => {
      c.fillStyle = heavy ? "rgba(20,24,28,0.62)" : "rgba(128,128,128,0.42)";
      c.fillRect(x, y, w, h);
    };
    const right = Math.min(this.left + this.stitches * this.scale, this.canvas.clientWidth);
    const bottom = Math.min(this.top + this.rounds * this.height, this.canvas.clientHeight);
    const [from, over] = [Math.max(0, this.left), Math.max(0, this.top)];
    if (this.scale < 2.2) return;
    for (let column = x0; column <= x1 + 1; column += 1) {
      const heavy = (this.chart.hand === "right" ? this.stitches - column : column) % 10 === 0;
      if (fine || heavy) line(Math.round(this.left + column * this.scale) - (heavy ? 0.5 : 0), over, heavy ? 1.2 : 1, bottom - over, heavy);
    }
    for (let row = y0; row <= y1 + 1; row += 1) {
      const heavy = (this.rounds - row) % 10 === 0;
      if (fine || heavy) line(from, Math.round(this.top + row * this.height) - (heavy ? 0.5 : 0), right - from, heavy ? 1.2 : 1, heavy);
    }
  }

  /** Catches: a bar in the caught yarn's colour below the middle. Kept stitches: a corner cut off. */
  paintMarks({ x0, x1, y0, y1 }) {
    const c = this.context;
    const [w, h] = [this.scale, this.height];
    const colours = new Map(this.chart.yarns.map(({ key, colour }) => [key, colour]));
    for (const [round, stitch, yarn] of this.chart.catches) {
      const [column, row] = [this.column(stitch), this.rounds - round];
      if (column < x0 || column > x1 || row < y0 || row > y1 || this.key(round, stitch) === yarn) continue;
      const [x, y] = this.corner(round, stitch);
      c.fillStyle = colours.get(yarn);
      c.fillRect(x + w * 0.2, y + h * 0.72, w * 0.6, Math.max(1.5, h * 0.13));
    }
    if (!this.chart.fixed) return;
    this.squares({ x0, x1, y0, y1 }, (round, stitch, x, y) => {
      if (!this.isFixed(round, stitch)) return;
      c.beginPath();
      c.moveTo(x + 0.5, y + 0.5);
      c.lineTo(x + w * 0.36, y + 0.5);
      c.lineTo(x + 0.5, y + h * 0.36);
      c.closePath();
      c.fillStyle = "#fff";
      c.strokeStyle = "#14181c";
      c.lineWidth = 1;
      c.fill();
      c.stroke();
    });
  }

  /** Errors in a solid frame, the one chosen in a heavy one; from afar only the chosen one. */
  paintFindings() {
    const { findings, chosen } = this.overlay;
    if (this.scale >= LINES_FROM) {
      for (const finding of findings) if (finding.stitch && finding.level === "error") this.frame(finding, 2, []);
    }
    if (chosen?.round) this.frame(chosen, 3, [], true);
  }

  frame({ round, stitch, length }, width, dash, heavy = false) {
    const [first, count] = stitch ? [stitch, Math.max(1, length ?? 1)] : [1, this.stitches];
    const whole = first + count - 1;
    const spans = whole > this.stitches ? [[first, this.stitches], [1, whole - this.stitches]] : [[first, whole]];
    for (const [a, b] of spans) this.outline([round, a], [round, Math.min(b, this.stitches)], width, dash, heavy ? "#b3261e" : "rgba(179,38,30,0.85)");
  }

  outline(a, b, width, dash, colour) {
    const [ax, ay] = this.corner(...a);
    const [bx, by] = this.corner(...b);
    const box = [Math.min(ax, bx), Math.min(ay, by), Math.abs(ax - bx) + this.scale, Math.abs(ay - by) + this.height];
    const c = this.context;
    c.setLineDash([]);
    c.lineWidth = width + 2;
    c.strokeStyle = "rgba(255,255,255,0.95)";
    c.strokeRect(...box);
    c.setLineDash(dash);
    c.lineWidth = width;
    c.strokeStyle = colour;
    c.strokeRect(...box);
    c.setLineDash([]);
  }

  paintHand() {
    const { cursor, selection, preview } = this.overlay;
    if (preview) {
      const c = this.context;
      for (const [round, stitch] of preview.places) {
        const [x, y] = this.corner(round, stitch);
        c.fillStyle = preview.colour;
        c.fillRect(x, y, this.scale, this.height);
      }
    }
    if (selection) this.outline(selection[0], selection[1], 2, [6, 4], "#14181c");
    if (cursor) this.outline(cursor, cursor, 2, [], "#14181c");
  }

  paintRulers({ x0, x1, y0, y1 }) {
    const c = this.context;
    const [wide, high] = [this.canvas.clientWidth, this.canvas.clientHeight];
    const style = getComputedStyle(this.canvas);
    const x = Math.min(wide - RULER, this.left + this.stitches * this.scale + 2);
    const y = Math.min(high - RULER, this.top + this.rounds * this.height + 2);
    c.fillStyle = style.backgroundColor;
    c.fillRect(x - 1, 0, wide, high);
    c.fillRect(0, y - 1, wide, high);
    c.fillStyle = style.color;
    c.font = `11px ${style.fontFamily}`;
    const step = (size) => [1, 2, 5, 10, 20, 50, 100].find((n) => n * size >= 22) ?? 200;
    const told = (number, size) => number === 1 || (number % step(size) === 0 && (number - 1) * size >= 16);
    c.textBaseline = "middle";
    c.textAlign = "left";
    for (let row = y0; row <= y1; row += 1) {
      const round = this.rounds - row;
      const at = this.top + (row + 0.5) * this.height;
      if (told(round, this.height) && at < y) c.fillText(round, x + 3, at);
    }
    c.textAlign = "center";
    c.textBaseline = "top";
    for (let column = x0; column <= x1; column += 1) {
      const stitch = this.chart.hand === "right" ? this.stitches - column : column + 1;
      const at = this.left + (column + 0.5) * this.scale;
      if (told(stitch, this.scale) && at < x) c.fillText(stitch, at, y + 4);
    }
  }
}

/** '#rrggbb' as the number of an opaque pixel (little-endian, as all machines a browser runs on). */
function pixel(colour) {
  const value = parseInt(colour.slice(1), 16);
  return (0xff000000 | ((value & 255) << 16) | (value & 0xff00) | (value >> 16)) >>> 0;
}

function drawnSymbol({ lines, filled }, ink, wide, high) {
  const ratio = window.devicePixelRatio || 1;
  const tile = document.createElement("canvas");
  tile.width = Math.ceil(wide * ratio);
  tile.height = Math.ceil(high * ratio);
  const c = tile.getContext("2d");
  const size = 0.24 * Math.min(tile.width, tile.height);
  c.translate(tile.width / 2, tile.height / 2);
  c.fillStyle = c.strokeStyle = ink;
  c.lineWidth = size * 0.54;
  for (const line of lines) {
    c.beginPath();
    line.forEach(([x, y], index) => (index ? c.lineTo(x * size, y * size) : c.moveTo(x * size, y * size)));
    if (filled) c.fill();
    else c.stroke();
  }
  return tile;
}
