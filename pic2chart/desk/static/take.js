// The files one can take away, as links; the browser saves them where it saves everything.

import { el } from "./dom.js";

const FILES = [
  [".zip", "Everything, in one archive", "all files below"],
  [".svg", "The chart to knit from", "SVG, for screen and print"],
  ["-front.png", "The fabric's front", "PNG"],
  [".chart.json", "The chart's file", "for every other command"],
  [".png", "One pixel a stitch", "PNG"],
  [".csv", "Table of keys", "CSV, for spreadsheets"],
];

export function fileLinks(view) {
  return FILES.map(([ending, words, kind]) =>
    el("a", { href: `/api/projects/${view.id}/file?ending=${encodeURIComponent(ending)}`, download: "" },
      el("span", {}, words), el("small", {}, kind)));
}
