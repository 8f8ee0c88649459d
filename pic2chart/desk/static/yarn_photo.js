// @ts-check
// A yarn's colour from a photo beside white paper: press on the yarn, and on the paper if it is not found.

import { el } from "./dom.js";
import { attempt, upload } from "./net.js";

const SIDE = 0.08;
/** Differences of colour (ΔE2000): one that can just be seen, from memory; and one from which on a colour is a guess. */
const [SEEN, MOST_OFF] = [2, 15];
/** @typedef {[x: number, y: number, w: number, h: number]} Box in pixels of the upright photo */
/** @typedef {{ colour: string, within: number | null, box: Box, white: Box | null, remarks: string[] }} Answer */

/**
 * What takes a photo and measures it.
 * @param {(colour: string) => void} found given the colour, #rrggbb
 */
export function measuring(found) {
  const file = el("input", { type: "file", accept: "image/*,.heic,.heif", class: "unseen", id: "own-photo", onchange: () => {
    const [photo] = file.files ?? [];
    file.value = "";
    if (photo) new Photo(photo, shown, found).measure();
  } });
  const shown = el("div", { class: "yarn-photo", "aria-live": "polite" });
  return el("div", { class: "field" }, el("span", { class: "choose" }, file, el("label", { class: "button", for: "own-photo" }, "Photograph it with white paper")), shown);
}

class Photo {
  /** @type {Box | null} */
  yarn = null;
  /** @type {Box | null} */
  white = null;
  pressesPaper = false;
  asLit = false;

  /** @param {File} file @param {HTMLElement} place @param {(colour: string) => void} found */
  constructor(file, place, found) {
    this.file = file;
    this.place = place;
    this.found = found;
    this.image = el("img", { alt: "The photo: press on the yarn", src: URL.createObjectURL(file) });
    this.image.addEventListener("click", (event) => this.pressed(event));
    this.marks = el("div", { class: "photo-marks" }, this.image);
    this.words = el("div", {});
  }

  /** @param {MouseEvent} event */
  pressed(event) {
    const { left, top, width, height } = this.image.getBoundingClientRect();
    const [wide, high] = [this.image.naturalWidth, this.image.naturalHeight];
    const side = Math.max(4, Math.round(SIDE * Math.min(wide, high)));
    const at = (/** @type {number} */ share, /** @type {number} */ whole) => Math.min(Math.max(0, Math.round(share * whole - side / 2)), whole - side);
    /** @type {Box} */
    const box = [at((event.clientX - left) / width, wide), at((event.clientY - top) / height, high), side, side];
    if (this.pressesPaper) this.white = box;
    else this.yarn = box;
    this.measure();
  }

  async measure() {
    const query = new URLSearchParams();
    if (this.yarn) query.set("yarn", this.yarn.join(","));
    if (this.white) query.set("white", this.white.join(","));
    if (this.asLit) query.set("as_lit", "true");
    this.words.replaceChildren(el("p", { class: "working" }, "Measuring …"));
    this.place.replaceChildren(this.marks, this.tools(), this.words);
    /** @type {Answer | null} */
    const answer = await attempt(() => upload(`/api/yarns/photo?${query}`, this.file));
    if (!answer) return this.words.replaceChildren(el("p", { class: "trouble" }, "This did not give a colour; the notice says why. Press on the yarn, or on the paper."));
    this.found(answer.colour);
    this.frame("of-yarn", answer.box);
    this.frame("of-paper", answer.white);
    const within = answer.within === null ? "as the light there is" : `right to within ${answer.within} 19 times in 20, where a difference of ${SEEN} can just be seen`;
    const unsure = (answer.within ?? 0) > MOST_OFF ? el("p", { class: "trouble" }, "That is little more than a guess. Take the photo in even daylight, with the yarn and the white paper side by side and large.") : "";
    const paper = answer.white ? "the dashed frame was taken for the white paper" : "the light was left as it is";
    this.words.replaceChildren(el("p", {}, `Measured: ${answer.colour}, ${within}.`), unsure,
      el("p", { class: "quiet" }, `The plain frame was measured, ${paper}. Press where it should be instead.`), ...answer.remarks.map((line) => el("p", { class: "quiet" }, line)));
  }

  /** What a press on the photo means, and whether the light is corrected. */
  tools() {
    const choice = (/** @type {boolean} */ paper, /** @type {string} */ words) => el("label", {}, el("input", { type: "radio", name: "press", checked: this.pressesPaper === paper, onchange: () => { this.pressesPaper = paper; } }), words);
    const lit = el("input", { type: "checkbox", checked: this.asLit, onchange: () => { this.asLit = lit.checked; this.measure(); } });
    return el("div", { class: "row" }, choice(false, "Press on the yarn"), choice(true, "Press on the white paper"), el("label", {}, lit, "Leave the light as it is"));
  }

  /**
   * Show a box on the photo.
   * @param {string} kind @param {Box | null} box
   */
  frame(kind, box) {
    this.marks.querySelector(`.${kind}`)?.remove();
    const [wide, high] = [this.image.naturalWidth, this.image.naturalHeight];
    if (!box || !wide) return; // no browser shows every photo that can be measured
    const mark = el("span", { class: `photo-mark ${kind}` });
    Object.assign(mark.style, { left: `${100 * box[0] / wide}%`, top: `${100 * box[1] / high}%`, width: `${100 * box[2] / wide}%`, height: `${100 * box[3] / high}%` });
    this.marks.append(mark);
  }
}
