// The whole chart in small beside its picture, where a narrow window shows one part at a time.

import { el } from "./dom.js";
import * as model from "./model.js";

export function miniChart() {
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
