// @ts-check
// What is drawn over the squares: symbols, lines, marks, findings, the hand, the numbers at the edges.

/** @import { Cloth } from "./cloth.js" */
/** @import { Finding, Place, Seen, Symbol } from "./shapes" */

const LINES_FROM = 6;
export const RULER = 26;

/** @param {Cloth} cloth @param {Seen} seen */
export function paintSymbols(cloth, seen) {
  cloth.squares(seen, (round, stitch, x, y) => {
    const tile = tileOf(cloth, cloth.key(round, stitch));
    if (tile) cloth.context.drawImage(tile, x, y, cloth.scale, cloth.height);
  });
}

/**
 * A yarn's symbol drawn once at this size.
 * @param {Cloth} cloth
 * @param {string} key
 */
function tileOf(cloth, key) {
  const name = `${key}${cloth.scale}`;
  const kept = cloth.tiles.get(name);
  if (kept !== undefined) return kept;
  if (cloth.tiles.size > 60) cloth.tiles.clear();
  const index = cloth.chart.yarns.findIndex((yarn) => yarn.key === key);
  const symbol = cloth.symbols[index];
  const tile = symbol?.lines.length ? drawnSymbol(symbol, cloth.chart.yarns[index].ink, cloth.scale, cloth.height) : null;
  cloth.tiles.set(name, tile);
  return tile;
}

/** @param {Cloth} cloth @param {Seen} seen */
export function paintLines(cloth, { x0, x1, y0, y1 }) {
  const c = cloth.context;
  const fine = cloth.scale >= LINES_FROM;
  const line = (/** @type {number} */ x, /** @type {number} */ y, /** @type {number} */ w, /** @type {number} */ h, /** @type {boolean} */ heavy) => {
    c.fillStyle = heavy ? "rgba(20,24,28,0.62)" : "rgba(128,128,128,0.42)";
    c.fillRect(x, y, w, h);
  };
  const right = Math.min(cloth.left + cloth.stitches * cloth.scale, cloth.canvas.clientWidth);
  const bottom = Math.min(cloth.top + cloth.rounds * cloth.height, cloth.canvas.clientHeight);
  const [from, over] = [Math.max(0, cloth.left), Math.max(0, cloth.top)];
  if (cloth.scale < 2.2) return;
  for (let column = x0; column <= x1 + 1; column += 1) {
    const heavy = (cloth.chart.hand === "right" ? cloth.stitches - column : column) % 10 === 0;
    if (fine || heavy) line(Math.round(cloth.left + column * cloth.scale) - (heavy ? 0.5 : 0), over, heavy ? 1.2 : 1, bottom - over, heavy);
  }
  for (let row = y0; row <= y1 + 1; row += 1) {
    const heavy = (cloth.rounds - row) % 10 === 0;
    if (fine || heavy) line(from, Math.round(cloth.top + row * cloth.height) - (heavy ? 0.5 : 0), right - from, heavy ? 1.2 : 1, heavy);
  }
}

/**
 * Catches: a bar in the caught yarn's colour below the middle. Kept stitches: a corner cut off.
 * @param {Cloth} cloth
 * @param {Seen} seen
 */
export function paintMarks(cloth, { x0, x1, y0, y1 }) {
  const c = cloth.context;
  const [w, h] = [cloth.scale, cloth.height];
  const colours = new Map(cloth.chart.yarns.map(({ key, colour }) => [key, colour]));
  for (const [round, stitch, yarn] of cloth.chart.catches) {
    const [column, row] = [cloth.column(stitch), cloth.rounds - round];
    if (column < x0 || column > x1 || row < y0 || row > y1 || cloth.key(round, stitch) === yarn) continue;
    const [x, y] = cloth.corner(round, stitch);
    c.fillStyle = colours.get(yarn) ?? "transparent";
    c.fillRect(x + w * 0.2, y + h * 0.72, w * 0.6, Math.max(1.5, h * 0.13));
  }
  if (!cloth.chart.fixed) return;
  cloth.squares({ x0, x1, y0, y1 }, (round, stitch, x, y) => {
    if (!cloth.isFixed(round, stitch)) return;
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

/**
 * Errors in a red frame, the one chosen in a heavy one; from afar only the chosen one.
 * @param {Cloth} cloth
 */
export function paintFindings(cloth) {
  const { findings, chosen } = cloth.overlay;
  if (cloth.scale >= LINES_FROM) {
    for (const finding of findings) if (finding.stitch && finding.level === "error") frame(cloth, finding, 2);
  }
  if (chosen?.round) frame(cloth, chosen, 3);
}

/** @param {Cloth} cloth @param {Finding} finding @param {number} width */
function frame(cloth, { round, stitch, length, level }, width) {
  if (!round) return;
  const [first, count] = stitch ? [stitch, Math.max(1, length ?? 1)] : [1, cloth.stitches];
  const whole = first + count - 1;
  const spans = whole > cloth.stitches ? [[first, cloth.stitches], [1, whole - cloth.stitches]] : [[first, whole]];
  for (const [a, b] of spans) outline(cloth, [round, a], [round, Math.min(b, cloth.stitches)], width, [], level === "error" ? "#b3261e" : "#14181c");
}

/**
 * @param {Cloth} cloth
 * @param {Place} a
 * @param {Place} b
 * @param {number} width
 * @param {number[]} dash
 * @param {string} colour
 */
function outline(cloth, a, b, width, dash, colour) {
  const [ax, ay] = cloth.corner(...a);
  const [bx, by] = cloth.corner(...b);
  /** @type {[number, number, number, number]} */
  const box = [Math.min(ax, bx), Math.min(ay, by), Math.abs(ax - bx) + cloth.scale, Math.abs(ay - by) + cloth.height];
  const c = cloth.context;
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

/** @param {Cloth} cloth */
export function paintHand(cloth) {
  const { cursor, selection, preview } = cloth.overlay;
  if (preview) {
    const c = cloth.context;
    for (const [round, stitch, colour] of preview.places) {
      const [x, y] = cloth.corner(round, stitch);
      c.fillStyle = colour ?? preview.colour;
      c.fillRect(x, y, cloth.scale, cloth.height);
    }
  }
  if (selection) outline(cloth, selection[0], selection[1], 2, [6, 4], "#14181c");
  if (cursor) outline(cloth, cursor, cursor, 2, [], "#14181c");
}

/** @param {Cloth} cloth @param {Seen} seen */
export function paintRulers(cloth, { x0, x1, y0, y1 }) {
  const c = cloth.context;
  const [wide, high] = [cloth.canvas.clientWidth, cloth.canvas.clientHeight];
  const style = getComputedStyle(cloth.canvas);
  const x = Math.min(wide - RULER, cloth.left + cloth.stitches * cloth.scale + 2);
  const y = Math.min(high - RULER, cloth.top + cloth.rounds * cloth.height + 2);
  c.fillStyle = style.backgroundColor;
  c.fillRect(x - 1, 0, wide, high);
  c.fillRect(0, y - 1, wide, high);
  c.fillStyle = style.color;
  c.font = `11px ${style.fontFamily}`;
  const step = (/** @type {number} */ size, /** @type {number} */ room) => [1, 2, 5, 10, 20, 50, 100].find((n) => n * size >= room) ?? 200;
  const told = (/** @type {number} */ number, /** @type {number} */ size, /** @type {number} */ room) => number === 1 || (number % step(size, room) === 0 && (number - 1) * size >= 16);
  const across = cloth.stitches > 99 ? 32 : 22;
  c.textBaseline = "middle";
  c.textAlign = "left";
  for (let row = y0; row <= y1; row += 1) {
    const round = cloth.rounds - row;
    const at = cloth.top + (row + 0.5) * cloth.height;
    if (told(round, cloth.height, 22) && at < y) c.fillText(String(round), x + 3, at);
  }
  c.textAlign = "center";
  c.textBaseline = "top";
  for (let column = x0; column <= x1; column += 1) {
    const stitch = cloth.chart.hand === "right" ? cloth.stitches - column : column + 1;
    const at = cloth.left + (column + 0.5) * cloth.scale;
    if (told(stitch, cloth.scale, across) && at < x) c.fillText(String(stitch), at, y + 4);
  }
}

/** @param {Symbol} symbol @param {string} ink @param {number} wide @param {number} high */
function drawnSymbol({ lines, filled }, ink, wide, high) {
  const ratio = window.devicePixelRatio || 1;
  const tile = document.createElement("canvas");
  tile.width = Math.ceil(wide * ratio);
  tile.height = Math.ceil(high * ratio);
  const c = penOf(tile);
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

/**
 * What draws on a canvas; every browser that runs this page has it.
 * @param {HTMLCanvasElement} canvas
 */
export function penOf(canvas) {
  const pen = canvas.getContext("2d");
  if (!pen) throw new Error("This browser draws on no canvas.");
  return pen;
}
