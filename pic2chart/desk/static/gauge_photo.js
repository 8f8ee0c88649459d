// @ts-check
// The gauge counted on a photo of a swatch: what lies beside it tells the size, a card, a coin or a ruler,
// or a length that is marked; what cannot be counted by itself is counted between marks.

import { ask, el, notice } from "./dom.js";
import { Handles } from "./handles.js";
import * as model from "./model.js";
import { upload } from "./net.js";
/** @import { Field } from "./shapes" */

/** @typedef {{ gauge: string, verdict: string, check: string, overlay: string }} Answer */

/** What tells the size: the option that says so, its words where they are not the field's label, and the
 * fields and points that go with it.
 * @type {[name: string, words: string | null, fields: string[], points: string[]][]}
 */
const SCALES = [
  ["", "A bank or library card", [], []],
  ["coin_mm", "A coin", ["coin_mm"], []],
  ["ruler", null, [], []],
  ["between", null, ["cm"], ["between"]],
  ["card", null, [], ["card"]],
];
/** For each option that takes points: what stands on them, and where they lie at first, as shares of the photo.
 * @type {Record<string, [sign: string, places: number[][]]>}
 */
const POINTS = {
  card: ["", [[0.1, 0.1], [0.4, 0.1], [0.4, 0.35], [0.1, 0.35]]],
  between: ["", [[0.2, 0.9], [0.8, 0.9]]],
  stitches_along: ["S", [[0.3, 0.45], [0.7, 0.45]]],
  rounds_along: ["R", [[0.5, 0.25], [0.5, 0.75]]],
};
const COUNTS = ["stitches_counted", "rounds_counted"];
const COUNTED = ["stitches_along", "rounds_along"];
const ORDER = ["first", "second", "third", "fourth"];

/**
 * Count the gauge on a photo; the gauge as the setting takes it, null when it is left.
 * @param {File} file
 */
export async function gaugeOnPhoto(file) {
  const counting = new Counting(file);
  const taken = await ask("Count your gauge on a photo", [counting.place], [["Take this gauge", true], ["Leave it", false]]);
  URL.revokeObjectURL(counting.image.src);
  if (taken && !counting.answer) notice("Nothing was counted, so your gauge stays as it is.");
  return taken ? counting.answer?.gauge ?? null : null;
}

/** @param {string} name @returns {Field} */
function fieldOf(name) {
  const found = model.desk.gauge.find((field) => field.name === name);
  if (!found) throw new Error(`The desk has no option ${name}.`);
  return found;
}

class Counting {
  /** @type {Answer | null} */
  answer = null;
  turn = 0;

  /** @param {File} file */
  constructor(file) {
    this.file = file;
    this.image = el("img", { alt: "The photo of the swatch", src: URL.createObjectURL(file), draggable: false, onload: () => this.arrange() });
    this.lines = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    this.lines.append(document.createElementNS("http://www.w3.org/2000/svg", "path"));
    this.lines.setAttribute("aria-hidden", "true");
    this.marks = el("div", { class: "photo-marks" }, this.image, this.lines);
    /** @type {Map<string, Handles>} */
    this.handles = new Map(Object.entries(POINTS).map(([name, [sign, places]]) => {
      const words = places.map((_, n) => /** @type {[string, string]} */ ([`${fieldOf(name).label}, ${ORDER[n]}`, sign]));
      return [name, new Handles(this.image, this.marks, words, () => this.draw())];
    }));
    /** @type {Map<string, HTMLInputElement>} */
    this.numbers = new Map(["coin_mm", "cm", ...COUNTS].map((name) => {
      const { low, high } = fieldOf(name);
      return [name, el("input", { type: "number", id: `gauge-${name}`, min: low, max: high, step: "any", required: true, "aria-describedby": `gauge-${name}-help` })];
    }));
    this.scale = el("select", { id: "gauge-scale", "aria-describedby": "gauge-scale-help", onchange: () => this.arrange() },
      SCALES.map(([name, words]) => el("option", { value: name }, words ?? fieldOf(name).label)));
    this.scaleHelp = el("p", { class: "help", id: "gauge-scale-help" });
    this.byHand = el("input", { type: "checkbox", id: "gauge-by-hand", onchange: () => this.arrange() });
    this.fields = el("div", {});
    this.counts = el("div", {});
    this.words = el("div", { "aria-live": "polite" });
    this.place = el("div", { class: "chart-reading gauge-photo" },
      el("p", { class: "help" }, "Lay the washed swatch flat, its right side up, and beside it, flat too, a thing whose size is known. Take the photo from straight above and give it whole."),
      el("div", { class: "field" }, el("label", { for: "gauge-scale" }, "Beside the swatch lies"), this.scale, this.scaleHelp),
      this.fields,
      el("div", { class: "field check" }, el("label", { for: "gauge-by-hand" }, this.byHand, "I count stitches and rounds myself, which works for any fabric")),
      this.counts, this.marks,
      el("div", { class: "row" }, el("button", { type: "button", onclick: () => this.count() }, "Count")),
      this.words);
    this.arrange();
  }

  get chosen() {
    return SCALES.find(([name]) => name === this.scale.value) ?? SCALES[0];
  }

  /** The options that take points, as things are chosen. */
  get pointed() {
    return [...this.chosen[3], ...(this.byHand.checked ? COUNTED : [])];
  }

  /** Show the fields and the points that what is chosen needs; points stay where they were dragged. */
  arrange() {
    const [name, , fields] = this.chosen;
    this.scaleHelp.textContent = name && name !== "coin_mm" ? fieldOf(name).help : name ? "All of it in view, its edge free." : "85.6 × 54 mm, all of it in view on a ground of another colour.";
    this.fields.replaceChildren(...fields.map((field) => this.numberOf(field)));
    this.counts.replaceChildren(...(this.byHand.checked ? COUNTS.map((field) => this.numberOf(field)) : []));
    const [wide, high] = [this.image.naturalWidth, this.image.naturalHeight];
    for (const [option, handles] of this.handles) {
      if (!this.pointed.includes(option)) handles.hide();
      else handles.show(handles.points.length ? handles.points : wide ? POINTS[option][1].map(([x, y]) => [x * wide, y * high]) : []);
    }
    this.draw();
  }

  /** @param {string} name */
  numberOf(name) {
    const { label, help, unit } = fieldOf(name);
    const input = /** @type {HTMLInputElement} */ (this.numbers.get(name));
    return el("div", { class: "field" }, el("label", { for: input.id }, label), el("span", { class: "unit" }, input, el("span", {}, unit)), el("p", { class: "help", id: `${input.id}-help`, hidden: !help }, help));
  }

  /** The lines between points that belong together. */
  draw() {
    this.lines.setAttribute("viewBox", `0 0 ${this.image.naturalWidth} ${this.image.naturalHeight}`);
    const paths = this.pointed.map((name) => `M${(this.handles.get(name)?.points ?? []).map((point) => point.join(" ")).join("L")}${name === "card" ? "Z" : ""}`);
    this.lines.firstElementChild?.setAttribute("d", paths.filter((path) => path.length > 2).join(""));
  }

  /** What the desk is asked, null where a number is missing, which its field says. */
  asked() {
    const [name, , fields] = this.chosen;
    const query = new URLSearchParams(name === "ruler" ? { ruler: "true" } : {});
    for (const field of [...fields, ...(this.byHand.checked ? COUNTS : [])]) {
      const input = /** @type {HTMLInputElement} */ (this.numbers.get(field));
      if (!input.reportValidity()) return null;
      query.set(field, input.value);
    }
    for (const option of this.pointed) query.set(option, this.handles.get(option)?.text ?? "");
    return query;
  }

  async count() {
    const query = this.asked();
    if (!query) return;
    const turn = ++this.turn;
    this.answer = null;
    this.words.replaceChildren(el("p", { class: "working" }, "Counting …"));
    let why = "";
    /** @type {Answer | null} */
    let answer = null;
    try {
      answer = await upload(`/api/reading/gauge?${query}`, this.file);
    } catch (trouble) {
      why = trouble instanceof Error ? trouble.message : String(trouble);
    }
    if (turn !== this.turn) return; // something newer is being counted
    this.answer = answer;
    if (!answer) this.words.replaceChildren(el("p", { class: "trouble" }, why));
    else this.words.replaceChildren(el("p", {}, el("strong", {}, `${answer.verdict}.`), ` ${answer.check}`), el("img", { class: "counted", alt: "The swatch with what was counted drawn on it", src: answer.overlay }));
  }
}
