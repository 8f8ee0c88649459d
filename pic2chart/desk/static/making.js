// @ts-check
// What is made and for whom: the kind by its picture, the size from a list, the rest folded away.

import { el } from "./dom.js";
import * as model from "./model.js";
import { called, drawing, kindCards, kindOf } from "./kinds.js";
import * as thing from "./thing.js";
/** @import { Field, Kind, Settings } from "./shapes" */

const NARROW = "(max-width: 640px)";
/** @typedef {string | number | boolean | null} Value */
/** What was last asked of each kind, so that coming back to one finds it again. @type {Map<string, Settings>} */
const given = new Map();
/** @type {HTMLDetailsElement} */
let place;
/** Folds that are open. @type {Set<string>} */
const opened = new Set();

/** @param {HTMLElement} parent */
export function setUpMaking(parent) {
  place = el("details", { class: "group making", id: "making" });
  parent.append(place);
  model.onProject((view, why) => {
    if (why === "open") {
      given.clear();
      place.open = Boolean(view.thing) && matchMedia("(min-width: 1080px)").matches;
    }
    if (view.thing) given.set(view.thing.kind, view.thing.options);
    if (!place.contains(document.activeElement) || why !== "draft") draw();
  });
}

const kindNow = () => model.project?.thing?.kind ?? "chart";
const options = () => model.project?.thing?.options ?? {};

function draw() {
  const focused = document.activeElement instanceof HTMLElement && place.contains(document.activeElement) ? document.activeElement.id : "";
  const kind = kindOf(kindNow());
  const fold = el("details", { class: "fold", open: opened.has("kinds"), ontoggle: (event) => remember("kinds", event.target.open) },
    el("summary", {}, "Make something else of it"), kindCards(kindNow(), (name) => {
      opened.delete("kinds");
      thing.choose(name === "chart" ? null : name, given.get(name) ?? {});
    }));
  place.replaceChildren(
    el("summary", {}, drawing(kindNow()), el("span", {}, called(kindNow()), el("small", {}, kind ? sizeWords(kind) : "stitch by stitch, to be knitted into anything"))),
    el("div", { class: "fields" }, ...(kind ? thingFields(kind) : []), fold));
  if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
}

/** @param {Kind} kind */
function sizeWords(kind) {
  const now = options().size ?? kind.fields.find(({ name }) => name === "size")?.default;
  const own = kind.fields.some(({ name, rank }) => rank === "own" && options()[name] !== undefined && options()[name] !== null);
  return own ? "to your own measures" : kind.sizes.find(({ value }) => value === now)?.label ?? kind.description;
}

/** @param {string} name @param {boolean} open */
function remember(name, open) {
  if (open) opened.add(name);
  else opened.delete(name);
}

/** @param {Kind} kind */
function thingFields(kind) {
  const of = (/** @type {string} */ rank) => kind.fields.filter((field) => field.rank === rank && !(field.name === "size" && kind.sizes.length));
  const fold = (/** @type {string} */ name, /** @type {string} */ words, /** @type {Kind["fields"]} */ fields) => fields.length
    ? el("details", { class: "fold", open: opened.has(name), ontoggle: (event) => remember(name, event.target.open) }, el("summary", {}, words), el("div", { class: "fields" }, fields.map(fieldOf)))
    : null;
  return [
    kind.sizes.length ? sizeField(kind, options().size ?? null, (size) => set("size", size)) : null,
    ...of("first").map(fieldOf), fold("own", "My own measures", of("own")), fold("more", "Cuffs, edges and more", of("more")),
  ].filter((field) => field !== null);
}

/** @param {Kind} kind @param {string | null} chosen */
const sizeOf = (kind, chosen) => String(chosen ?? kind.fields.find(({ name }) => name === "size")?.default ?? "");

/**
 * The sizes to choose from, and what the one chosen measures.
 * @param {Kind} kind
 * @param {string | null} chosen
 * @param {(size: string) => void} heard
 * @param {string} id
 */
function sizeField(kind, chosen, heard, id = "making-size") {
  const now = sizeOf(kind, chosen);
  const help = el("p", { class: "help", id: `${id}-help` });
  const tell = (/** @type {string} */ size) => { help.textContent = kind.sizes.find(({ value }) => value === size)?.measures ?? ""; };
  tell(now);
  return el("div", { class: "field" }, el("label", { for: id }, "For whom"),
    el("select", { id, "aria-describedby": `${id}-help`, onchange: (event) => { tell(event.target.value); heard(event.target.value); } }, kind.sizes.map(({ value, label }) => el("option", { value, selected: value === now }, label))),
    help);
}

/**
 * All sizes side by side with the measures they stand for; a list to unfold where there is little room.
 * @param {Kind} kind
 * @param {string | null} chosen
 * @param {(size: string) => void} heard
 */
export function sizeList(kind, chosen, heard) {
  if (matchMedia(NARROW).matches) return sizeField(kind, chosen, heard, "whom-size");
  const now = sizeOf(kind, chosen);
  return el("fieldset", { class: "sizes-list" }, el("legend", {}, "For whom?"), el("div", { class: "sizes-of" }, kind.sizes.map(({ value, label, measures }) =>
    el("label", { class: "size-of" }, el("input", { type: "radio", name: "whom", value, checked: value === now, onchange: () => heard(value) }), el("span", {}, label, el("small", {}, measures.split(",")[0]))))));
}

/** @param {string} name @param {Value} value */
function set(name, value) {
  const kind = kindOf(kindNow());
  if (!kind) return;
  const usual = kind.fields.find((field) => field.name === name)?.default;
  const next = { ...options() };
  if (value === null || value === usual) delete next[name];
  else next[name] = value;
  thing.choose(kind.name, next).then((done) => { if (!done) draw(); });
}

/** @param {Field} field */
function fieldOf(field) {
  const id = `making-${field.name}`;
  const now = options()[field.name] ?? field.default;
  if (field.kind === "bool") {
    return el("div", { class: "field check" }, el("label", { for: id }, el("input", { type: "checkbox", id, checked: now, onchange: (event) => set(field.name, event.target.checked) }), field.label));
  }
  const help = `${id}-help`;
  const input = field.choices.length
    ? el("select", { id, "aria-describedby": help, onchange: (event) => set(field.name, event.target.value || null) },
      field.optional ? el("option", { value: "" }, "as it suits best") : null, field.choices.map(({ value, label }) => el("option", { value, selected: value === now }, label)))
    : el("input", {
      id, type: field.kind === "str" ? "text" : "number", min: field.low, max: field.high, step: field.kind === "float" ? 0.5 : 1, value: now ?? "", placeholder: "–", "aria-describedby": help,
      onchange: (event) => set(field.name, valueOf(field, event.target.value.trim())),
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
