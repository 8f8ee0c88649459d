// What the hand does on the chart: tools under a pointer, a finger or the keys.

import { clamp, notice, tell } from "./dom.js";
import { attempt } from "./net.js";
import * as model from "./model.js";
import { boxOf, corners, lineOf } from "./geometry.js";

export const TOOLS = [
  ["look", "Look", "V", "Drag to move the chart, turn the wheel to come closer."],
  ["paint", "Paint", "P", "Paint stitches; what you paint is kept when the chart is mended or made again."],
  ["line", "Line", "L", "Draw a straight line from here to there."],
  ["box", "Box", "B", "Fill a box from corner to corner."],
  ["fill", "Fill", "F", "Recolour a whole patch; in the round it runs on across the join."],
  ["select", "Select", "S", "Draw a box to copy, move, mirror, repeat, insert or delete."],
  ["keep", "Keep", "K", "Mark stitches that mending must not change, or let them go."],
];

export class Hand {
  constructor(cloth, heard) {
    this.cloth = cloth;
    this.heard = heard;
    this.tool = "look";
    this.yarn = "A";
    this.keep = true;
    this.cursor = null;
    this.selection = null;
    this.anchor = null;
    this.stroke = null;
    this.fingers = new Map();
    this.placing = null;
    const { canvas } = cloth;
    for (const [kind, does] of Object.entries({ pointerdown: "down", pointermove: "move", pointerup: "up", pointercancel: "cancel", wheel: "wheel", keydown: "press", blur: "leave", focus: "enter" })) {
      canvas.addEventListener(kind, (event) => this[does](event), { passive: false });
    }
    canvas.addEventListener("contextmenu", (event) => event.preventDefault());
  }

  take(tool) {
    this.drop();
    this.tool = tool;
    this.cloth.canvas.dataset.tool = tool;
    this.heard();
  }

  takeYarn(key) {
    this.yarn = key;
    if (["look", "select", "keep"].includes(this.tool)) this.tool = "paint";
    this.cloth.canvas.dataset.tool = this.tool;
    this.heard();
  }

  /** Let go of whatever is selected or half done. */
  drop() {
    if (this.stroke?.cells) this.cloth.setChart(model.project.chart);
    this.stroke = this.anchor = this.placing = null;
    this.select(null);
    this.show();
  }

  select(box) {
    this.selection = box;
    this.heard();
  }

  show() {
    const { overlay } = this.cloth;
    overlay.cursor = this.cursor;
    overlay.selection = this.placing ? this.placingBox() : this.selection;
    overlay.preview = this.anchor && ["line", "box"].includes(this.tool) && this.cursor ? this.previewTo(this.cursor) : null;
    this.cloth.draw();
  }

  // Pointers

  point(event) {
    const area = this.cloth.canvas.getBoundingClientRect();
    return [event.clientX - area.left, event.clientY - area.top];
  }

  down(event) {
    if (!this.cloth.chart) return;
    this.cloth.canvas.focus({ preventScroll: true });
    const point = this.point(event);
    this.fingers.set(event.pointerId, point);
    this.cloth.canvas.setPointerCapture(event.pointerId);
    if (this.fingers.size === 2) {
      if (this.stroke?.cells) this.cloth.setChart(model.project.chart);
      this.stroke = { kind: "pinch" };
      return;
    }
    if (this.fingers.size > 2) return;
    const place = this.cloth.stitchAt(...point);
    if (this.tool === "look" || event.button === 1 || event.button === 2) this.stroke = { kind: "pan" };
    else if (this.placing && place) this.put(place);
    else if (place) this.begin(place);
    this.cursor = place ?? this.cursor;
    this.show();
  }

  begin(place) {
    if (this.tool === "fill") return this.fill(place);
    this.stroke = { kind: this.tool, from: place };
    if (this.tool === "paint") this.brush([place]);
    if (this.tool === "keep") this.brush([place], !this.cloth.isFixed(...place));
    if (this.tool === "select") this.select([place, place]);
    if (this.tool === "line" || this.tool === "box") this.anchor = place;
    return null;
  }

  move(event) {
    if (!this.cloth.chart) return;
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
    if (stroke?.kind === "select") this.select([stroke.from, place]);
    this.heard();
    return this.show();
  }

  pinch(id, last, point) {
    const other = [...this.fingers].find(([key]) => key !== id)?.[1];
    if (!other) return;
    const before = Math.hypot(last[0] - other[0], last[1] - other[1]);
    const after = Math.hypot(point[0] - other[0], point[1] - other[1]);
    this.cloth.zoom(after / Math.max(before, 1), (point[0] + other[0]) / 2, (point[1] + other[1]) / 2);
    this.cloth.pan((point[0] - last[0]) / 2, (point[1] - last[1]) / 2);
  }

  up(event) {
    this.fingers.delete(event.pointerId);
    const stroke = this.stroke;
    if (!stroke || (stroke.kind === "pinch" && this.fingers.size)) return;
    this.stroke = null;
    if (stroke.cells) this.finish(stroke);
    if (stroke.kind === "line" || stroke.kind === "box") this.finishShape(this.cursor);
    this.show();
  }

  cancel(event) {
    this.fingers.delete(event.pointerId);
    this.drop();
  }

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

  enter() {
    this.show();
  }

  // Strokes

  /** Add stitches to the stroke, show them, and ask what the checks say of it so far. */
  brush(places, on) {
    this.stroke.cells ??= new Map();
    this.stroke.on = on;
    for (const place of places) {
      this.stroke.cells.set(place.join(), place);
      if (this.tool === "paint") this.cloth.put(...place, this.yarn);
    }
    if (this.tool === "paint") model.draft("edit", { edit: this.strokeEdit(this.stroke) }, (found) => this.heard(found));
  }

  strokeEdit({ cells, on }) {
    const stitches = [...cells.values()];
    return this.tool === "keep" ? { kind: "fix", stitches, on } : { kind: "paint", yarn: this.yarn, stitches, keep: this.keep };
  }

  finish(stroke) {
    model.dropDrafts();
    attempt(() => model.editStitches(this.strokeEdit(stroke)));
  }

  previewTo(place) {
    const places = this.tool === "line" ? lineOf(this.anchor, place) : boxOf(this.anchor, place);
    return { places, colour: this.cloth.chart.yarns.find(({ key }) => key === this.yarn)?.colour ?? "transparent" };
  }

  finishShape(place) {
    const { places } = this.previewTo(place);
    this.anchor = null;
    for (const one of places) this.cloth.put(...one, this.yarn);
    attempt(() => model.editStitches({ kind: "paint", yarn: this.yarn, stitches: places, keep: this.keep }));
  }

  fill(place) {
    attempt(() => model.editStitches({ kind: "fill", yarn: this.yarn, at: place, keep: this.keep }));
  }

  // The selection

  /** Take the selection up to put a copy, or itself, somewhere else. */
  carry(move) {
    this.placing = { move, box: this.selection };
    this.cursor = corners(this.selection)[0];
    tell("Choose where its lower right corner goes, then press Enter or click.");
    this.cloth.canvas.focus({ preventScroll: true });
    this.heard();
    this.show();
  }

  placingBox() {
    if (!this.cursor) return this.placing.box;
    const [low, high] = corners(this.placing.box);
    const { rounds, stitches } = this.cloth;
    return [this.cursor, [Math.min(rounds, this.cursor[0] + high[0] - low[0]), Math.min(stitches, this.cursor[1] + high[1] - low[1])]];
  }

  put(place) {
    const { box, move } = this.placing;
    this.placing = null;
    attempt(() => model.editStitches({ kind: "place", box, to: place, move }));
    this.select(null);
  }

  ask(edit) {
    attempt(() => model.editStitches(edit));
  }

  // Keys

  press(event) {
    if (event.ctrlKey || event.metaKey || !this.cloth.chart) return;
    const way = { ArrowLeft: [0, -1], ArrowRight: [0, 1], ArrowUp: [1, 0], ArrowDown: [-1, 0] }[event.key];
    const tool = TOOLS.find(([, , letter]) => letter === event.key.toUpperCase());
    const digit = /^[0-9]$/.test(event.key) ? (Number(event.key) + 9) % 10 : -1;
    if (way) this.step(way, event);
    else if (event.key === " " || event.key === "Enter") this.use();
    else if (event.key === "Escape") this.drop();
    else if (event.key === "+" || event.key === "=") this.cloth.zoom(1.3, ...this.middle());
    else if (event.key === "-") this.cloth.zoom(1 / 1.3, ...this.middle());
    else if (event.key === "Home") this.cloth.fit();
    else if (event.key === "Delete" && this.selection) this.heard(null, "delete");
    else if (event.key.toLowerCase() === "n") this.heard(null, "next");
    else if (event.key.toLowerCase() === "i" && this.cursor) this.takeYarn(this.cloth.key(...this.cursor));
    else if (tool && !event.altKey) this.take(tool[0]);
    else if (digit >= 0 && this.cloth.chart.yarns[digit]) this.takeYarn(this.cloth.chart.yarns[digit].key);
    else return;
    event.preventDefault();
  }

  middle() {
    return this.cursor ? this.cloth.corner(...this.cursor) : [this.cloth.canvas.clientWidth / 2, this.cloth.canvas.clientHeight / 2];
  }

  step([up, right], event) {
    const far = event.altKey ? 10 : 1;
    const { rounds, stitches, chart } = this.cloth;
    const from = this.cursor ?? [Math.ceil(rounds / 2), Math.ceil(stitches / 2)];
    const along = chart.hand === "right" ? -right : right;
    const to = this.cursor ? [clamp(from[0] + up * far, 1, rounds), clamp(from[1] + along * far, 1, stitches)] : from;
    if (event.shiftKey) {
      if (this.tool !== "select") this.take("select");
      this.select([this.selection?.[0] ?? from, to]);
    }
    this.cursor = to;
    this.cloth.reveal(...to);
    this.heard();
    this.show();
    tell(this.words());
  }

  /** The tool where the mark is, as a click would use it. */
  use() {
    if (!this.cursor) return notice("Move the mark with the arrow keys first.");
    if (this.placing) return this.put(this.cursor);
    if (this.tool === "fill") return this.fill(this.cursor);
    if (this.tool === "line" || this.tool === "box") {
      if (this.anchor) return this.finishShape(this.cursor);
      this.anchor = this.cursor;
      return tell("From here; move to where it ends and press Enter.");
    }
    if (this.tool === "paint" || this.tool === "keep") {
      const stroke = { kind: this.tool };
      this.stroke = stroke;
      this.brush([this.cursor], !this.cloth.isFixed(...this.cursor));
      this.stroke = null;
      return this.finish(stroke);
    }
    return tell(this.words());
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
