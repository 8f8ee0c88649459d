// @ts-check
// Points on a photo that are dragged, or moved by the arrow keys.

import { clamp, el } from "./dom.js";

const STEP = 4;

/**
 * Where a pointer is on a photo, in its pixels.
 * @param {HTMLImageElement} image @param {PointerEvent} event
 * @returns {[x: number, y: number]}
 */
export function onPhoto(image, event) {
  const { left, top, width, height } = image.getBoundingClientRect();
  return [(event.clientX - left) / width * image.naturalWidth, (event.clientY - top) / height * image.naturalHeight];
}

export class Handles {
  /** Where they are, in pixels of the photo. @type {number[][]} */
  points = [];

  /**
   * @param {HTMLImageElement} image the photo
   * @param {HTMLElement} marks what holds the photo, and the points where they are shown
   * @param {[words: string, sign: string][]} names what each point is, and what stands on it
   * @param {() => void} moved called while one is moved
   * @param {() => void} letGo called when it is let go
   */
  constructor(image, marks, names, moved = () => {}, letGo = () => {}) {
    this.image = image;
    this.marks = marks;
    this.moved = moved;
    this.letGo = letGo;
    this.nodes = names.map(([words, sign], n) => this.node(words, sign, n));
  }

  /** Show them where they are given, each a place on the photo; nowhere where the browser shows no photo. @param {number[][]} points */
  show(points) {
    this.points = points.map(([x, y]) => [x, y]);
    this.hide();
    if (!this.image.naturalWidth || !points.length) return;
    this.marks.append(...this.nodes);
    this.nodes.forEach((_, n) => this.put(n));
  }

  hide() {
    for (const node of this.nodes) node.remove();
  }

  /** As the options take points: x,y,x,y. */
  get text() {
    return this.points.flat().map((v) => v.toFixed(1)).join(",");
  }

  /** @param {number} n */
  put(n) {
    const [x, y] = this.points[n];
    Object.assign(this.nodes[n].style, { left: `${100 * x / this.image.naturalWidth}%`, top: `${100 * y / this.image.naturalHeight}%` });
  }

  /** @param {number} n @param {number} x @param {number} y */
  move(n, x, y) {
    this.points[n] = [clamp(x, 0, this.image.naturalWidth), clamp(y, 0, this.image.naturalHeight)];
    this.put(n);
    this.moved();
  }

  /** @param {string} words @param {string} sign @param {number} n */
  node(words, sign, n) {
    const node = el("button", { type: "button", class: "corner", "aria-label": `${words}; move it with the arrow keys` }, sign);
    node.addEventListener("pointerdown", (event) => { node.setPointerCapture(event.pointerId); event.preventDefault(); });
    node.addEventListener("pointermove", (event) => { if (node.hasPointerCapture(event.pointerId)) this.move(n, ...onPhoto(this.image, event)); });
    node.addEventListener("pointerup", () => this.letGo());
    node.addEventListener("keydown", (event) => {
      const way = { ArrowLeft: [-STEP, 0], ArrowRight: [STEP, 0], ArrowUp: [0, -STEP], ArrowDown: [0, STEP] }[event.key];
      if (!way) return;
      const [x, y] = this.points[n];
      this.move(n, x + way[0], y + way[1]);
      event.preventDefault();
    });
    node.addEventListener("keyup", (event) => { if (event.key.startsWith("Arrow")) this.letGo(); });
    return node;
  }
}
