// @ts-check
// What one can take away: sheets to print and teach from, and the chart's own files.

import { el } from "./dom.js";
import { attempt, save } from "./net.js";
import * as model from "./model.js";
import { knitLink } from "./network.js";
/** @import { Field } from "./shapes" */

/** @type {[title: string, files: [ending: string, words: string, kind: string][]][]} */
const FILES = [
  ["To print", [
    [".pdf", "The chart, with its words", "PDF"],
    [".svg", "The chart on one sheet", "SVG"],
    ["-strands.pdf", "How the yarns run, to teach", "PDF"],
    ["-words.txt", "The chart in words", "text"]]],
  ["To knit from and to look at", [
    ["-knit-along.html", "Knit along on a phone or tablet", "a page of its own"],
    ["-front.png", "The front of the fabric", "PNG"],
    ["-back.png", "The back of the fabric", "PNG"]]],
  ["To go on with", [
    [".pic2chart", "The whole project: picture, marks, every step", "opens on any desk"],
    [".chart.json", "The chart's file", "opens here again"],
    [".png", "One pixel a stitch", "PNG"],
    [".csv", "Table of keys", "CSV, for spreadsheets"],
    [".zip", "Everything, in one archive", "all of these"]]],
];
/** @type {Map<string, string>} */
const asked = new Map();

/** The menu's content: files to take, and how sheets look. */
export function takeMenu() {
  const files = FILES.map(([title, some], at) => el("section", {}, el("h3", {}, title), at === 1 ? knitLink(() => model.opened().id) : null, some.map(fileOf)));
  const options = el("details", {}, el("summary", {}, "How the sheets look"), el("div", { class: "fields" }, model.desk.sheets.map(optionOf)));
  return [...files, options];
}

/** @param {[ending: string, words: string, kind: string]} file */
function fileOf([ending, words, kind]) {
  const button = el("button", { type: "button", class: "file", onclick: async () => {
    button.disabled = true;
    button.classList.add("working");
    await attempt(() => save(address(ending)));
    button.disabled = false;
    button.classList.remove("working");
  } }, el("span", {}, words), el("small", {}, kind));
  return button;
}

/** @param {string} ending */
function address(ending) {
  const query = new URLSearchParams({ ending, ...Object.fromEntries(asked) });
  return `/api/projects/${model.opened().id}/file?${query}`;
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
