// @ts-check
// The chart as something to wear: choose what, for whom, and see it, its pieces and how to knit it.

import { el, many } from "./dom.js";
import { attempt, post, save } from "./net.js";
import * as model from "./model.js";
/** @import { Field, Garment, Piece } from "./shapes" */

const PAUSE = 250;
/** @type {HTMLElement} */
let place;
/** @type {HTMLElement} */
let result;
let kind = "";
/** @typedef {string | number | boolean | null} Value */
/** @type {Map<string, Record<string, Value>>} */
const given = new Map();
let asked = "";
let timer = 0;
let outline = "";

/** @param {HTMLElement} parent */
export function setUpGarment(parent) {
  result = el("div", { class: "made" });
  place = el("div", { class: "garment", hidden: true });
  parent.append(place);
  return place;
}

const options = () => given.get(kind) ?? {};

/** Show the garment view; it is made anew only when something changed. */
export function showGarment() {
  const garments = model.desk.garments;
  if (!place.children.length) {
    kind = (garments.find(({ first }) => first) ?? garments[0]).name;
    const kinds = el("select", { id: "garment-kind", onchange: (event) => { kind = event.target.value; fill(); make(); } },
      garments.map(({ name, description }) => el("option", { value: name, selected: name === kind }, `${name}: ${description}`)));
    place.append(el("div", { class: "field" }, el("label", { for: "garment-kind" }, "Make a"), kinds), el("div", { class: "measures" }), result);
    fill();
  }
  make();
}

function fill() {
  const fields = model.desk.garments.find(({ name }) => name === kind)?.fields ?? [];
  place.querySelector(".measures")?.replaceChildren(...[...fields].sort((a, b) => rank(a) - rank(b)).map(fieldOf));
}

/**
 * Sizes first, then measures, then what is ticked.
 * @param {Field} field
 */
const rank = ({ kind: type }) => ["str", "float", "int", "bool"].indexOf(type);

/** @param {Field} field */
function fieldOf(field) {
  const id = `garment-${field.name}`;
  const now = options()[field.name] ?? field.default;
  const set = (/** @type {Value} */ value) => {
    const next = { ...options() };
    if (value === null || value === field.default) delete next[field.name];
    else next[field.name] = value;
    given.set(kind, next);
    clearTimeout(timer);
    timer = setTimeout(make, PAUSE);
  };
  const help = `${id}-help`;
  if (field.kind === "bool") {
    return el("div", { class: "field check" }, el("label", { for: id }, el("input", { type: "checkbox", id, checked: now, onchange: (event) => set(event.target.checked) }), field.label));
  }
  const input = field.choices.length
    ? el("select", { id, "aria-describedby": help, onchange: (event) => set(event.target.value || null) },
      field.optional ? el("option", { value: "" }, "–") : null, field.choices.map(({ value, label }) => el("option", { value, selected: value === now }, label)))
    : el("input", {
      id, type: field.kind === "str" ? "text" : "number", min: field.low, max: field.high, step: field.kind === "float" ? 0.5 : 1, value: now ?? "", placeholder: "–", "aria-describedby": help,
      onchange: (event) => set(valueOf(field, event.target.value.trim())),
    });
  return el("div", { class: "field" }, el("label", { for: id }, field.label),
    el("span", { class: "unit" }, input, field.unit && field.kind !== "str" ? el("span", {}, field.unit) : null), el("p", { class: "help", id: help }, field.help));
}

/** @param {Field} field @param {string} text @returns {Value} */
function valueOf(field, text) {
  if (!text) return null;
  if (field.kind === "str") return text;
  const number = Number(text);
  return field.kind === "int" ? Math.round(number) : number;
}

async function make() {
  const { id, revision } = model.opened();
  const wanted = JSON.stringify([id, revision, kind, options()]);
  if (wanted === asked) return;
  asked = wanted;
  result.classList.add("working");
  const made = await attempt(() => post(`/api/projects/${id}/garment`, { kind, options: options() }));
  if (wanted !== asked) return;
  result.classList.remove("working");
  if (made) draw(made, id);
  else asked = "";
}

/** @param {Garment} made @param {string} id */
function draw(made, id) {
  if (outline) URL.revokeObjectURL(outline);
  outline = URL.createObjectURL(new Blob([made.outline], { type: "image/svg+xml" }));
  const query = new URLSearchParams({ kind, options: JSON.stringify(options()) });
  result.replaceChildren(
    el("div", { class: "row" }, el("h3", {}, made.title), el("button", { type: "button", onclick: () => attempt(() => save(`/api/projects/${id}/garment/file?${query}`)) }, "Take it all, in one archive")),
    ...made.remarks.map((words) => el("p", { class: "note" }, words)),
    el("img", { class: "outline", alt: `The ${kind} with its measures`, src: outline }),
    el("ul", { class: "pieces" }, made.pieces.map((piece) => pieceOf(piece, id))),
    el("div", { class: "pattern" }, made.pattern.map(({ heading, lines }, index) =>
      el("details", { open: index < 1, class: "group" }, el("summary", {}, heading), el("ul", {}, lines.map((line) => el("li", {}, line)))))));
}

/** @param {Piece} piece @param {string} id */
function pieceOf({ name, size, counts, front }, id) {
  const words = counts.error ? `${many(counts.error, "place")} cannot be knitted as asked` : counts.warning ? many(counts.warning, "warning") : "It can be knitted";
  const open = el("button", { type: "button", class: "small", onclick: () => attempt(async () => model.show(await post(`/api/projects/${id}/garment/open`, { kind, options: options(), piece: name }), "open")) }, "Open this chart");
  return el("li", {}, el("img", { alt: `The ${name}, as it will look`, src: front }), el("strong", {}, name), el("small", {}, `${size[0]} × ${size[1]}. ${words}.`), open);
}
