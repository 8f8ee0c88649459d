// What one can take away: sheets to print and teach from, and the chart's own files.

import { el } from "./dom.js";
import * as model from "./model.js";

const FILES = [
  [".zip", "Everything, in one archive", "all of these"],
  [".pdf", "The chart to print, with its words", "PDF"],
  [".svg", "The chart on one sheet", "SVG"],
  ["-knit-along.html", "Knit along on a phone or tablet", "a page of its own"],
  ["-strands.pdf", "How the yarns run, to teach", "PDF"],
  ["-words.txt", "The chart in words", "text"],
  ["-front.png", "The front of the fabric", "PNG"],
  ["-back.png", "The back of the fabric", "PNG"],
  [".chart.json", "The chart's file", "for every other command"],
  [".png", "One pixel a stitch", "PNG"],
  [".csv", "Table of keys", "CSV, for spreadsheets"],
];
const asked = new Map();

/** The menu's content: links the browser saves as it saves everything, and how sheets look. */
export function takeMenu(view) {
  const links = el("div", { class: "links" });
  const fill = () => links.replaceChildren(...FILES.map(([ending, words, kind]) =>
    el("a", { href: address(view, ending), download: "" }, el("span", {}, words), el("small", {}, kind))));
  fill();
  const options = el("details", {}, el("summary", {}, "How the sheets look"), el("div", { class: "fields" }, model.desk.sheets.map((field) => optionOf(field, fill))));
  return [links, options];
}

function address(view, ending) {
  const query = new URLSearchParams({ ending, at: view.revision, ...Object.fromEntries(asked) });
  return `/api/projects/${view.id}/file?${query}`;
}

function optionOf(field, changed) {
  const id = `sheet-${field.name}`;
  const set = (value) => {
    if (value === "" || value === String(field.default)) asked.delete(field.name);
    else asked.set(field.name, value);
    changed();
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
