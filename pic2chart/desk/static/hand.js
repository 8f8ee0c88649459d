// @ts-check
// What the hand does on the chart: tools under a pointer, a finger or the keys.

import { attempt } from "./net.js";
import * as model from "./model.js";
import * as thing from "./thing.js";
import { boxOf, placingBox, placingPreview, put } from "./selection.js";
/** @import { Cloth } from "./cloth.js" */
/** @import { Box, Chart, Edit, Found, Place, Point, Stroke } from "./shapes" */

/**
 * The stitches on a straight line between two.
 * @param {Place} from
 * @param {Place} to
 * @returns {Place[]}
 */
function lineOf([r0, s0], [r1, s1]) {
  const steps = Math.max(Math.abs(r1 - r0), Math.abs(s1 - s0), 1);
  return Array.from({ length: steps + 1 }, (_, i) => [Math.round(r0 + ((r1 - r0) * i) / steps), Math.round(s0 + ((s1 - s0) * i) / steps)]);
}

export class Hand {
  /**
   * @param {Cloth} cloth
   * @param {(found?: Found | null, wish?: string) => void} heard is told of all that is done, with findings or a wish if any
   */
  constructor(cloth, heard) {
    this.cloth = cloth;
    this.heard = heard;
    this.tool = "look";
    this.yarn = "A";
    this.keep = true;
    /** @type {Place | null} */
    this.cursor = null;
    /** @type {Box | null} */
    this.selection = null;
    /** @type {Place | null} */
    this.anchor = null;
    /** @type {Stroke | null} */
    this.stroke = null;
    /** @type {Map<number, Point>} */
    this.fingers = new Map();
    /** @type {{ move: boolean, box: Box } | null} */
    this.placing = null;
    /** @type {Set<{ painted: Place[], yarn: string, on: string }>} */
    this.unsaved = new Set();
    const { canvas } = cloth;
    canvas.addEventListener("pointerdown", (event) => this.down(event));
    canvas.addEventListener("pointermove", (event) => this.move(event));
    canvas.addEventListener("pointerup", (event) => this.up(event));
    canvas.addEventListener("pointercancel", (event) => this.cancel(event));
    canvas.addEventListener("wheel", (event) => this.wheel(event), { passive: false });
    canvas.addEventListener("blur", () => this.leave());
    canvas.addEventListener("focus", () => this.show());
    canvas.addEventListener("contextmenu", (event) => event.preventDefault());
  }

  /** @param {string} tool */
  take(tool) {
    this.drop();
    this.tool = tool;
    this.cloth.canvas.dataset.tool = tool;
    this.heard();
  }

  /** @param {string} key */
  takeYarn(key) {
    this.yarn = key;
    if (["look", "select", "keep"].includes(this.tool)) this.tool = "paint";
    this.cloth.canvas.dataset.tool = this.tool;
    this.heard();
  }

  /** Let go of whatever is selected or half done. */
  drop() {
    this.takeBack();
    this.stroke = this.anchor = this.placing = null;
    this.select(null);
    this.show();
  }

  /** A stroke under way that came to nothing: its stitches and what was said of them go again. */
  takeBack() {
    if (!this.stroke?.cells) return;
    this.stroke = null;
    model.dropDrafts();
    const now = thing.inHand();
    this.showChart(now.chart);
    this.heard(now);
  }

  /** @param {Box | null} box */
  select(box) {
    this.selection = box;
    this.heard();
  }

  show() {
    const { overlay } = this.cloth;
    overlay.cursor = this.cursor;
    overlay.selection = this.placing ? placingBox(this, this.placing) : this.selection;
    overlay.preview = this.placing ? placingPreview(this, this.placing) : this.anchor && ["line", "box"].includes(this.tool) && this.cursor ? this.previewTo(this.anchor, this.cursor) : null;
    this.cloth.draw();
  }

  // Pointers

  /** @param {MouseEvent} event @returns {Point} */
  point(event) {
    const area = this.cloth.canvas.getBoundingClientRect();
    return [event.clientX - area.left, event.clientY - area.top];
  }

  /** @param {PointerEvent} event */
  down(event) {
    if (!this.cloth.shown) return;
    this.cloth.canvas.focus({ preventScroll: true });
    const point = this.point(event);
    this.fingers.set(event.pointerId, point);
    this.cloth.canvas.setPointerCapture(event.pointerId);
    if (this.fingers.size === 2) {
      this.takeBack();
      this.anchor = null;
      this.stroke = { kind: "pinch" };
      return;
    }
    if (this.fingers.size > 2) return;
    const place = this.cloth.stitchAt(...point);
    if (this.tool === "look" || event.button === 1 || event.button === 2) this.stroke = { kind: "pan" };
    else if (this.placing && place) put(this, this.placing, place);
    else if (place) this.begin(place);
    this.cursor = place ?? this.cursor;
    this.show();
  }

  /** @param {Place} place */
  begin(place) {
    if (this.tool === "fill") return this.fill(place);
    this.stroke = { kind: this.tool, from: place };
    if (this.tool === "paint") this.brush([place]);
    if (this.tool === "keep") this.brush([place], !this.cloth.isFixed(...place));
    if (this.tool === "select") this.select([place, place]);
    if (this.tool === "line" || this.tool === "box") this.anchor = place;
    return null;
  }

  /** @param {PointerEvent} event */
  move(event) {
    if (!this.cloth.shown) return;
    const last = this.fingers.get(event.pointerId);
    const point = this.point(event);
    if (last) this.fingers.set(event.pointerId, point);
    const stroke = this.stroke;
    if (stroke?.kind === "pinch" && last) return this.pinch(event.pointerId, last, point);
    if (stroke?.kind === "pan" && last) return this.cloth.pan(point[0] - last[0], point[1] - last[1]);
    const place = this.cloth.stitchAt(...point, Boolean(stroke));
    if (!place) return null;
    const from = this.cursor ?? place;
    const moved = from[0] !== place[0] || from[1] !== place[1];
    this.cursor = place;
    if (moved && (stroke?.kind === "paint" || stroke?.kind === "keep")) this.brush(lineOf(from, place), stroke.on);
    if (stroke?.kind === "select" && stroke.from) this.select([stroke.from, place]);
    this.heard();
    return this.show();
  }

  /** @param {number} id @param {Point} last @param {Point} point */
  pinch(id, last, point) {
    const other = [...this.fingers].find(([key]) => key !== id)?.[1];
    if (!other) return;
    const before = Math.hypot(last[0] - other[0], last[1] - other[1]);
    const after = Math.hypot(point[0] - other[0], point[1] - other[1]);
    this.cloth.zoom(after / Math.max(before, 1), (point[0] + other[0]) / 2, (point[1] + other[1]) / 2);
    this.cloth.pan((point[0] - last[0]) / 2, (point[1] - last[1]) / 2);
  }

  /** @param {PointerEvent} event */
  up(event) {
    this.fingers.delete(event.pointerId);
    const stroke = this.stroke;
    if (!stroke || (stroke.kind === "pinch" && this.fingers.size)) return;
    this.stroke = null;
    if (stroke.cells) this.finish(stroke);
    if ((stroke.kind === "line" || stroke.kind === "box") && this.cursor) this.finishShape(this.cursor);
    this.show();
  }

  /** @param {PointerEvent} event */
  cancel(event) {
    this.fingers.delete(event.pointerId);
    this.drop();
  }

  /** @param {WheelEvent} event */
  wheel(event) {
    event.preventDefault();
    if (event.shiftKey) return this.cloth.pan(-event.deltaY, 0);
    if (!event.ctrlKey && event.deltaX) return this.cloth.pan(-event.deltaX, -event.deltaY);
    return this.cloth.zoom(Math.exp(-event.deltaY * (event.ctrlKey ? 0.01 : 0.0016)), ...this.point(event));
  }

  leave() {
    this.cursor = null;
    this.show();
  }

  // Strokes

  /**
   * Add stitches to the stroke, show them, and ask what the checks say of it so far.
   * @param {Place[]} places
   * @param {boolean} [on]
   */
  brush(places, on) {
    const stroke = this.stroke;
    if (!stroke) return;
    stroke.cells ??= new Map();
    stroke.on = on;
    for (const place of places) {
      stroke.cells.set(place.join(), place);
      if (this.tool === "paint") this.cloth.put(...place, this.yarn);
    }
    if (this.tool === "paint") thing.lookAt(this.strokeEdit(stroke), (found) => this.heard(found));
  }

  /** @param {Stroke} stroke @returns {Edit & { stitches: Place[] }} */
  strokeEdit({ cells, on }) {
    const stitches = [...(cells?.values() ?? [])];
    return this.tool === "keep" ? { kind: "fix", stitches, on } : { kind: "paint", yarn: this.yarn, stitches, keep: this.keep };
  }

  /** @param {Stroke} stroke */
  finish(stroke) {
    model.dropDrafts();
    const edit = this.strokeEdit(stroke);
    this.save(edit, edit.kind === "paint" ? edit.stitches : []);
  }

  /**
   * Save an edit; the stitches it paints stay in sight until the desk has them.
   * @param {Edit} edit
   * @param {Place[]} painted
   */
  async save(edit, painted) {
    const stroke = { painted, yarn: this.yarn, on: thing.piece };
    this.unsaved.add(stroke);
    await attempt(() => thing.editStitches(edit));
    this.unsaved.delete(stroke);
    if (!this.stroke && model.project) this.showChart(thing.inHand().chart);
  }

  /**
   * Show the project's chart, with what is painted but not saved on top.
   * @param {Chart} chart
   */
  showChart(chart) {
    if (this.stroke?.cells) return;
    this.cloth.setChart(chart);
    for (const { painted, yarn, on } of this.unsaved) {
      if (on === thing.piece) for (const [round, stitch] of painted) if (round <= this.cloth.rounds && stitch <= this.cloth.stitches) this.cloth.put(round, stitch, yarn);
    }
  }

  /**
   * @param {Place} from
   * @param {Place} to
   */
  previewTo(from, to) {
    const places = this.tool === "line" ? lineOf(from, to) : boxOf(from, to);
    return { places, colour: this.cloth.chart.yarns.find(({ key }) => key === this.yarn)?.colour ?? "transparent" };
  }

  /** @param {Place} place where it ends; it began at the anchor */
  finishShape(place) {
    if (!this.anchor) return;
    const { places } = this.previewTo(this.anchor, place);
    this.anchor = null;
    for (const one of places) this.cloth.put(...one, this.yarn);
    this.save({ kind: "paint", yarn: this.yarn, stitches: places, keep: this.keep }, places);
  }

  /** @param {Place} place */
  fill(place) {
    attempt(() => thing.editStitches({ kind: "fill", yarn: this.yarn, at: place, keep: this.keep }));
  }

  /** Where the mark is, in words. */
  words() {
    if (!this.cursor) return "";
    const [round, stitch] = this.cursor;
    const key = this.cloth.key(round, stitch);
    const yarn = this.cloth.chart.yarns.find((one) => one.key === key);
    const kept = this.cloth.isFixed(round, stitch) ? ", kept" : "";
    const caught = this.cloth.chart.catches.find(([r, s]) => r === round && s === stitch);
    const behind = caught ? `, ${this.cloth.chart.yarns.find((one) => one.key === caught[2])?.name} caught behind` : "";
    return `Round ${round}, stitch ${stitch}: ${yarn?.name ?? "no stitch"}${kept}${behind}`;
  }
}
