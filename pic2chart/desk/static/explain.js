// @ts-check
// What a float and a catch are, with a picture, where they are first spoken of.

import { el } from "./dom.js";

const SVG = "http://www.w3.org/2000/svg";
const [WIDE, HIGH, STITCH] = [260, 74, 20];
const DARK = new Set([0, 1, 10, 11]);
/** Behind which stitch the float is caught. */
const CAUGHT = 6;

/**
 * @param {string} name
 * @param {Record<string, string | number>} attributes
 * @param {string} [words]
 */
function shape(name, attributes, words) {
  const node = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) node.setAttribute(key, String(value));
  if (words) node.textContent = words;
  return node;
}

/** A row of stitches, and below it the inside: one yarn runs behind the other's stitches. */
function row() {
  const svg = shape("svg", { viewBox: `0 0 ${WIDE} ${HIGH}`, class: "explains", role: "img", "aria-label": "A row of stitches from the front, and the float that runs behind them" });
  for (let i = 0; i < 12; i += 1) {
    const x = 10 + i * STITCH;
    svg.append(shape("path", { d: `M${x + 1} 8l${STITCH / 2 - 1} 16 ${STITCH / 2 - 1}-16`, class: DARK.has(i) ? "yarn dark" : "yarn light" }));
  }
  const [from, to, at] = [10 + 2 * STITCH, 10 + 10 * STITCH, 10 + (CAUGHT + 0.5) * STITCH];
  svg.append(shape("path", { d: `M${from} 34C${from + 24} 50 ${at - 26} 48 ${at - 5} 36m10 0C${at + 26} 48 ${to - 24} 50 ${to} 34`, class: "float" }));
  svg.append(shape("path", { d: `M${at - 6} 40l12-8`, class: "catch" }));
  svg.append(shape("text", { x: from + 6, y: 62 }, "float"), shape("text", { x: at - 14, y: 62 }, "catch"));
  return svg;
}

export function floatPicture() {
  return el("figure", { class: "explained" }, row(), el("figcaption", { class: "help" },
    "A float is the yarn that waits: it runs behind stitches of the other yarn. Where it would run far, it is caught: the working yarn is laid over it once, behind a stitch, so that no finger can pull it. On the chart a catch is a small bar."));
}
