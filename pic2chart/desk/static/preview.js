// @ts-check
// While the chart of a new photo is worked out: the photo in squares of a stitch's shape, drawn here by
// the page alone, which says plainly that it is no chart. Nothing is kept of it and nothing can be taken.

import { clamp, el, tell } from "./dom.js";
import { penOf } from "./ink.js";
import * as model from "./model.js";
/** @import { Yarn } from "./shapes" */

const LATER = 500;
const SAYS = "Being worked out. This is only your picture in stitches, not yet a chart that can be knitted.";
const SIDES = 1000;
/** Shares of the squares that may be darker than the darkest yarn, or lighter than the lightest. */
const ENDS = 0.05;

/**
 * Do the work on a photo; if it is not done in a moment, show the photo in stitches until it is.
 * @template Result
 * @param {File} file
 * @param {Element | null} place where it is shown
 * @param {() => Promise<Result>} work
 */
export async function meanwhile(file, place, work) {
  let done = false;
  /** @type {HTMLElement | null} */
  let shown = null;
  const timer = setTimeout(async () => {
    const made = await inStitches(file).catch(() => null); // no kind of picture that this browser shows
    if (done || !made) return;
    shown = el("figure", { class: "preview" }, el("figcaption", {}, SAYS), made);
    place?.append(shown);
    shown.scrollIntoView({ block: "nearest" });
    tell(SAYS);
  }, LATER);
  try {
    return await work();
  } finally {
    done = true;
    clearTimeout(timer);
    /** @type {HTMLElement | null} */ (shown)?.remove();
  }
}

/**
 * One pixel a stitch: in the yarns there are, else in the picture's own colours.
 * @param {File} file
 */
async function inStitches(file) {
  const { stitches, aspect, yarns } = wished();
  const picture = await createImageBitmap(file, { resizeWidth: 4 * stitches, resizeQuality: "medium" });
  const rounds = clamp(Math.round((picture.height * stitches) / picture.width / aspect), 1, SIDES);
  const canvas = el("canvas", { width: stitches, height: rounds, role: "img", "aria-label": "Your picture in stitches" });
  const pen = penOf(canvas);
  pen.imageSmoothingQuality = "high";
  pen.drawImage(picture, 0, 0, stitches, rounds);
  picture.close();
  if (yarns.length) {
    const image = pen.getImageData(0, 0, stitches, rounds);
    dye(image.data, yarns);
    pen.putImageData(image, 0, 0);
  }
  const sheet = el("div", {}, canvas);
  sheet.style.setProperty("--shape", String(stitches / (rounds * aspect)));
  return sheet;
}

/** Size, shape and yarns of the chart to come: those of the open project, or what a new one begins with. */
function wished() {
  const { project, desk } = model;
  if (project) return { stitches: Number(project.settings.stitches), aspect: project.chart.aspect, yarns: project.chart.yarns };
  const usual = (/** @type {string} */ name) => String(desk.form.flatMap(({ fields }) => fields).find((field) => field.name === name)?.default);
  const [across, up] = usual("gauge").split("x").map(Number);
  return { stitches: Number(usual("stitches")), aspect: across / up, yarns: [] };
}

/**
 * Each square in the yarn nearest to it in lightness, from the picture's own dark to its own light.
 * @param {Uint8ClampedArray} pixels
 * @param {Yarn[]} yarns
 */
function dye(pixels, yarns) {
  const light = Array.from({ length: pixels.length / 4 }, (_, n) => 0.3 * pixels[4 * n] + 0.59 * pixels[4 * n + 1] + 0.11 * pixels[4 * n + 2]);
  const sorted = [...light].sort((a, b) => a - b);
  const [low, high] = [ENDS, 1 - ENDS].map((share) => sorted[Math.floor(share * (sorted.length - 1))]);
  const values = yarns.map(({ L }) => L);
  const [dark, wide] = [Math.min(...values), Math.max(...values) - Math.min(...values)];
  light.forEach((one, n) => {
    const wanted = dark + (wide * (one - low)) / Math.max(high - low, 1);
    const nearest = yarns.reduce((best, yarn) => (Math.abs(yarn.L - wanted) < Math.abs(best.L - wanted) ? yarn : best));
    const value = parseInt(nearest.colour.slice(1), 16);
    pixels.set([value >> 16, (value >> 8) & 255, value & 255, 255], 4 * n);
  });
}
