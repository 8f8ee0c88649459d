// @ts-check
// What one can take away: sheets to print and teach from, and the chart's own files.

import { el } from "./dom.js";
import { attempt, post, save } from "./net.js";
import * as model from "./model.js";
import { knitLink } from "./network.js";
import * as thing from "./thing.js";
/** @import { Field, ThingView } from "./shapes" */

const PROJECT = ".pic2chart";
/** @typedef {[ending: string, words: string, kind: string]} File */
/** @type {[title: string, files: File[]][]} */
const FILES = [
  ["To print", [
    [".pdf", "The chart, with its words", "PDF"],
    [".svg", "The chart on one sheet", "SVG"],
    ["-strands.pdf", "How the yarns run, to teach", "PDF"],
    ["-words.txt", "The chart in words", "text"]]],
  ["To knit from and to look at", [
    ["-knit-along.html", "Knit along on a phone or tablet", "a page of its own"],
    ["-front.png", "The front of the fabric", "picture"],
    ["-back.png", "The inside of the fabric", "picture"]]],
  ["To go on with", [
    [PROJECT, "The whole project: picture, marks, every step", "opens on any desk"],
    [".chart.json", "The chart's file", "opens here again"],
    [".png", "One pixel for each stitch", "picture"],
    [".csv", "The stitches as a table", "for spreadsheets"],
    [".zip", "Everything, in one archive", "all of these"]]],
];
/** @type {File[]} */
const WHOLE = [
  [".pdf", "The whole pattern: pictures, words and charts", "one PDF"],
  ["-knit-along.html", "Knit along on a phone or tablet", "a page"],
  [".zip", "Everything, in one archive", "all files"],
  [PROJECT, "The whole project: picture, marks, every step", "opens on any desk"],
];
/** @type {File[]} */
const OF_A_PIECE = [
  [".pdf", "Its chart alone", "PDF"],
  ["-strands.pdf", "How the yarns run, to teach", "PDF"],
  [".chart.json", "Its chart's file", "opens here again"],
];
/** @type {Map<string, string>} */
const asked = new Map();

/** @param {HTMLElement} place */
export function setUpTake(place) {
  const files = el("div", {});
  const options = el("details", {}, el("summary", {}, "How the sheets look"), el("div", { class: "fields" }, model.desk.sheets.map(optionOf)));
  place.replaceChildren(files, options);
  model.onProject((view) => { if (!view.thing) files.replaceChildren(...FILES.map(([title, some], at) => el("section", {}, el("h3", {}, title), at === 1 ? knitLink(() => model.opened().id) : null, some.map((file) => fileOf(file))))); });
  thing.onThing(() => { if (thing.thing) files.replaceChildren(...filesOf(thing.thing)); });
}

/** The thing as a whole, then each piece behind a fold. @param {ThingView} made */
function filesOf({ title, pieces }) {
  return [
    el("section", {}, el("h3", {}, title), WHOLE.map((file) => fileOf(file))),
    ...pieces.map(({ name, label }) => el("details", { class: "of-piece" }, el("summary", {}, label), knitLink(() => model.opened().id, name),
      OF_A_PIECE.map((file) => fileOf(file, name)),
      el("button", { type: "button", class: "file", onclick: () => attempt(async () => model.show(await post(`/api/projects/${model.opened().id}/thing/open`, { piece: name }), "open")) },
        el("span", {}, "Open it as a chart of its own"), el("small", {}, "here")))),
  ];
}

/** @param {File} file @param {string} piece */
function fileOf([ending, words, kind], piece = "") {
  const button = el("button", { type: "button", class: "file", onclick: async () => {
    button.disabled = true;
    button.classList.add("working");
    await attempt(() => save(address(ending, piece)));
    button.disabled = false;
    button.classList.remove("working");
  } }, el("span", {}, words), el("small", {}, kind));
  return button;
}

/** @param {string} ending @param {string} piece */
function address(ending, piece) {
  const query = new URLSearchParams({ ending, ...Object.fromEntries(asked), ...(piece ? { piece } : {}) });
  return `/api/projects/${model.opened().id}/${thing.thing && ending !== PROJECT ? "thing/" : ""}file?${query}`;
}

/** @param {Field} field */
function optionOf(field) {
  const id = `sheet-${field.name}`;
  const set = (/** @type {string} */ value) => {
    if (value === "" || value === String(field.default)) asked.delete(field.name);
    else asked.set(field.name, value);
  };
  const now = asked.get(field.name) ?? String(field.default ?? "");
  if (field.kind === "bool") {
    return el("div", { class: "field check" }, el("label", { for: id }, el("input", { type: "checkbox", id, checked: now === "true", onchange: (event) => set(String(event.target.checked)) }), field.label));
  }
  const choices = field.name === "heavy" ? [["10", "10 squares"], ["5", "5 squares"]] : field.choices.map(({ value, label }) => [value, label]);
  const input = choices.length
    ? el("select", { id, onchange: (event) => set(event.target.value) }, choices.map(([value, label]) => el("option", { value, selected: value === now }, label)))
    : el("input", { id, type: "text", maxlength: 100, value: now, onchange: (event) => set(event.target.value.trim()) });
  return el("div", { class: "field" }, el("label", { for: id }, field.label), input);
}
