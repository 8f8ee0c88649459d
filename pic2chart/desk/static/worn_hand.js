// @ts-check
// What the hand does on the thing as knitted: paints stitches of whichever piece lies there, moves it about.

import { tell } from "./dom.js";
import { attempt } from "./net.js";
import * as thing from "./thing.js";
/** @import { Hand } from "./hand.js" */
/** @import { Place, Point } from "./shapes" */
/** @import { Worn } from "./worn.js" */

/** @type {Record<string, Point>} */
const WAYS = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
/** @type {Record<string, number>} */
const CLOSER = { "+": 1.3, "=": 1.3, "-": 1 / 1.3 };

export class WornHand {
  /**
   * @param {Worn} worn
   * @param {Hand} hand whose tool and yarn are used here too
   * @param {() => void} heard
   */
  constructor(worn, hand, heard) {
    this.worn = worn;
    this.hand = hand;
    this.heard = heard;
    /** Stitches of the stroke under way, by number. @type {Set<number> | null} */
    this.stroke = null;
    /** @type {Map<number, Point>} */
    this.fingers = new Map();
    const { canvas } = worn;
    canvas.addEventListener("pointerdown", (event) => this.down(event));
    canvas.addEventListener("pointermove", (event) => this.move(event));
    canvas.addEventListener("pointerup", (event) => this.up(event, true));
    canvas.addEventListener("pointercancel", (event) => this.up(event, false));
    canvas.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    canvas.addEventListener("contextmenu", (event) => event.preventDefault());
  }

  /** @param {MouseEvent} event @returns {Point} */
  point(event) {
    const area = this.worn.canvas.getBoundingClientRect();
    return [event.clientX - area.left, event.clientY - area.top];
  }

  /** @param {PointerEvent} event */
  down(event) {
    const point = this.point(event);
    this.worn.canvas.focus({ preventScroll: true });
    this.fingers.set(event.pointerId, point);
    this.worn.canvas.setPointerCapture(event.pointerId);
    if (this.fingers.size > 1) return this.drop();
    if (this.hand.tool !== "paint" || event.button > 0) return null;
    this.stroke = new Set();
    return this.on(point);
  }

  /** A stroke under way that came to nothing. */
  drop() {
    if (this.stroke?.size && thing.thing) this.worn.setThing(thing.thing);
    this.stroke = null;
  }

  /** @param {PointerEvent} event */
  move(event) {
    const point = this.point(event);
    const last = this.fingers.get(event.pointerId);
    if (!last) {
      this.worn.cursor = this.worn.stitchAt(...point);
      this.worn.draw();
      return this.heard();
    }
    this.fingers.set(event.pointerId, point);
    if (this.fingers.size === 2) return this.pinch(event.pointerId, last, point);
    if (!this.stroke) return this.worn.pan(point[0] - last[0], point[1] - last[1]);
    const steps = Math.max(1, Math.ceil(Math.hypot(point[0] - last[0], point[1] - last[1]) / 4));
    for (let i = 1; i <= steps; i += 1) this.on([last[0] + ((point[0] - last[0]) * i) / steps, last[1] + ((point[1] - last[1]) * i) / steps]);
    return null;
  }

  /** @param {number} id @param {Point} last @param {Point} point */
  pinch(id, last, point) {
    const other = [...this.fingers].find(([key]) => key !== id)?.[1];
    if (!other) return;
    const before = Math.hypot(last[0] - other[0], last[1] - other[1]);
    const after = Math.hypot(point[0] - other[0], point[1] - other[1]);
    this.worn.zoom(after / Math.max(before, 1), (point[0] + other[0]) / 2, (point[1] + other[1]) / 2);
    this.worn.pan((point[0] - last[0]) / 2, (point[1] - last[1]) / 2);
  }

  /** @param {PointerEvent} event @param {boolean} kept */
  up(event, kept) {
    this.fingers.delete(event.pointerId);
    if (kept) this.finish();
    else this.drop();
  }

  /** @param {WheelEvent} event */
  wheel(event) {
    event.preventDefault();
    this.worn.zoom(Math.exp(-event.deltaY * (event.ctrlKey ? 0.01 : 0.0016)), ...this.point(event));
  }

  /** @param {Point} point */
  on(point) {
    const number = this.worn.stitchAt(...point);
    if (number === null) return;
    this.worn.cursor = number;
    this.stroke?.add(number);
    this.worn.put(number, this.hand.yarn);
    this.heard();
  }

  /** Save what was painted, piece by piece. */
  finish() {
    const painted = this.stroke;
    this.stroke = null;
    if (!painted?.size || this.hand.yarn === ".") return;
    /** @type {Map<string, Place[]>} */
    const pieces = new Map();
    for (const number of painted) {
      const { piece, place } = this.worn.stitch(number);
      pieces.set(piece, [...(pieces.get(piece) ?? []), place]);
    }
    for (const [piece, stitches] of pieces) {
      attempt(() => thing.editStitches({ kind: "paint", yarn: this.hand.yarn, stitches, keep: true }, piece));
    }
  }

  /**
   * A key that means something here.
   * @param {KeyboardEvent} event
   * @returns {boolean}
   */
  press(event) {
    if (event.ctrlKey || event.metaKey) return false;
    const { worn, hand } = this;
    const key = event.key.toUpperCase();
    const yarns = thing.inHand().chart.yarns;
    const yarn = /^[0-9]$/.test(key) ? yarns[(Number(key) + 9) % 10] : undefined;
    if (WAYS[event.key]) this.step(WAYS[event.key], event.altKey ? 10 : 1);
    else if (event.key === " " || event.key === "Enter") this.paintHere();
    else if (CLOSER[event.key]) worn.zoom(CLOSER[event.key]);
    else if (event.key === "Home") worn.fit();
    else if (event.key === "Escape") hand.take("look");
    else if (key === "P") hand.take("paint");
    else if (key === "O") hand.take("look");
    else if (key === "M") hand.take("slide");
    else if (key === "T" && worn.cursor !== null) hand.takeYarn(worn.keys[worn.cursor]);
    else if (yarn) hand.takeYarn(yarn.key);
    else return false;
    return true;
  }

  /** @param {Point} way @param {number} far */
  step(way, far) {
    for (let i = 0; i < far; i += 1) this.worn.cursor = this.worn.beside(way) ?? this.worn.cursor;
    this.worn.draw();
    this.heard();
    tell(this.words());
  }

  paintHere() {
    if (this.worn.cursor === null) this.worn.cursor = this.worn.beside([1, 0]);
    else {
      if (this.hand.tool !== "paint") this.hand.take("paint");
      this.stroke = new Set([this.worn.cursor]);
      this.worn.put(this.worn.cursor, this.hand.yarn);
      this.finish();
    }
    this.worn.draw();
  }

  /** Where the mark is, in words. */
  words() {
    const { cursor } = this.worn;
    if (cursor === null) return "";
    const { piece, place: [round, stitch] } = this.worn.stitch(cursor);
    const one = thing.thing?.pieces.find(({ name }) => name === piece);
    const yarn = one?.chart.yarns.find(({ key }) => key === this.worn.keys[cursor]);
    return `${one?.label ?? piece}, round ${round}, stitch ${stitch}: ${yarn?.name ?? "no stitch"}`;
  }
}
