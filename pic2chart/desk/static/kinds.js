// @ts-check
// The things there are, each with its picture: what one chooses from, on the first page and at work.

import { el } from "./dom.js";
import * as model from "./model.js";
/** @import { Kind } from "./shapes" */

const SVG = "http://www.w3.org/2000/svg";
/**
 * A drawing on 96 × 96: the shape, then the lines of its pattern, its ribbing or seams.
 * @type {Record<string, [shape: string, lines: string]>}
 */
const DRAWINGS = {
  chart: ["M14 14h68v68H14z", "M14 31h68M14 48h68M14 65h68M31 14v68M48 14v68M65 14v68"],
  mitten: ["M34 88V60L22 50c-7-6-1-15 7-10l8 6V24C37 10 48 5 55 8s17 12 17 26v54z", "M34 74h38M40 88V75M47 88V75M54 88V75M61 88V75M68 88V75M42 56l6-8 6 8 6-8 6 8M42 42l6-8 6 8 6-8 6 8"],
  hat: ["M14 74C14 36 28 18 48 18s34 18 34 56v10H14z", "M14 70h68M22 84V71M31 84V71M40 84V71M48 84V71M57 84V71M66 84V71M75 84V71M20 58l7-9 7 9 7-9 7 9 7-9 7 9 7-9 7 9M34 36l7-9 7 9 7-9 7 9"],
  band: ["M8 36c0-6 80-6 80 0v26c0 7-80 7-80 0z", "M8 42c10 6 70 6 80 0M8 57c10 6 70 6 80 0M16 54l8-7 8 8 8-7 8 8 8-7 8 7 8-8 8 6"],
  yoke: ["M34 14c8 6 20 6 28 0l16 8 14 36-14 6-8-18v42H26V46l-8 18-14-6 14-36z", "M24 34c14 12 34 12 48 0M28 26c12 9 28 9 40 0M30 44l6-5 6 6 6-5 6 5 6-6 6 5M26 80h44"],
  panel: ["M18 10h60v72H18z", "M24 10v72M72 10v72M34 60l7-10 7 10 7-10 7 10M34 40l7-10 7 10 7-10 7 10M22 86v-4M32 86v-4M42 86v-4M54 86v-4M64 86v-4M74 86v-4"],
  sock: ["M34 8h26v44l22 16c10 8 2 20-8 20H52C36 88 34 74 34 64z", "M34 20h26M40 20V8M47 20V8M54 20V8M36 60c10-4 16 2 18 10M38 34l5-7 5 7 5-7 5 7M72 66c-6 4-8 12-6 20"],
  cowl: ["M10 30c0-10 76-10 76 0v40c0 11-76 11-76 0z", "M10 30c0 10 76 10 76 0M14 56l8-7 9 8 8-7 9 8 8-7 9 7 8-8 8 5M10 66c8 7 68 7 76 0"],
  cushion: ["M12 14c24 6 48 6 72 0-6 22-6 44 0 68-24-6-48-6-72 0 6-24 6-46 0-68z", "M32 60l8-12 8 12 8-12 8 12M32 42l8-12 8 12 8-12 8 12"],
  bag: ["M16 34h64l-6 52H22z", "M32 34c0-30 32-30 32 0M28 66l8-12 8 12 8-12 8 12 8-12"],
  jumper: ["M34 12c8 6 20 6 28 0l16 8 14 38-14 6-8-18v42H26V46l-8 18-14-6 14-38z", "M38 34h20v24H38zM38 46h20M48 34v24M26 80h44"],
  scarf: ["M28 8h40v80H28z", "M28 16h40M28 80h40M34 56l7-10 7 10 7-10 7 10M34 36l7-10 7 10 7-10 7 10M32 88v5M40 88v5M48 88v5M56 88v5M64 88v5"],
};
const WOOL = ["M48 16a32 32 0 1 0 .1 0z", "M22 40c14-18 38-22 54-6M20 54c14-20 42-26 58-4M26 68c12-18 36-24 48-6"];
/** @type {Record<string, string>} */
const WORDS = {
  chart: "A chart", mitten: "Mittens", hat: "A hat", band: "A headband or cuff", yoke: "A jumper's yoke", panel: "A panel", sock: "Socks",
  cowl: "A cowl", cushion: "A cushion", bag: "A bag", jumper: "A jumper", scarf: "A scarf",
};

/** @param {string} name of a kind, 'chart' for the chart alone */
export function drawing(name) {
  const [shape, lines] = DRAWINGS[name] ?? WOOL;
  const svg = document.createElementNS(SVG, "svg");
  svg.setAttribute("viewBox", "0 0 96 96");
  svg.setAttribute("class", "drawing-of");
  svg.setAttribute("aria-hidden", "true");
  for (const [kind, path] of [["shape", shape], ["lines", lines]]) {
    const line = document.createElementNS(SVG, "path");
    line.setAttribute("d", path);
    line.setAttribute("class", kind);
    svg.append(line);
  }
  return svg;
}

/** @param {string} name */
export const called = (name) => WORDS[name] ?? name.charAt(0).toUpperCase() + name.slice(1);

/** @param {string} name @returns {Kind | null} */
export const kindOf = (name) => model.desk.garments.find((kind) => kind.name === name) ?? null;

/**
 * Pictures to choose from: the chart alone, and every kind there is.
 * @param {string} chosen
 * @param {(name: string) => void} heard
 */
export function kindCards(chosen, heard) {
  const names = ["chart", ...[...model.desk.garments].sort((a, b) => Number(b.name === "mitten") - Number(a.name === "mitten") || Number(b.first) - Number(a.first)).map(({ name }) => name)];
  const cards = names.map((name) => el("button", { type: "button", class: "kind", "data-kind": name, "aria-pressed": String(name === chosen), onclick: () => {
    for (const card of cards) card.setAttribute("aria-pressed", String(card.dataset.kind === name));
    heard(name);
  } }, drawing(name), el("span", {}, called(name))));
  return el("div", { class: "kinds", role: "group", "aria-label": "What to make" }, cards);
}
