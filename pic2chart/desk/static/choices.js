// @ts-check
// The settings' form, made of the same data as the flags of the commands.

import { ask, clamp, el, hideNotice, notice } from "./dom.js";
import { gaugeOnPhoto } from "./gauge_photo.js";
import { attempt, get } from "./net.js";
import * as model from "./model.js";
import { tryOut } from "./thing.js";
import { yarnPanel } from "./yarns.js";
/** @import { Field, Group, Look, View, Why } from "./shapes" */

/** @type {Record<string, [low: number, high: number]>} */
const SLIDERS = { stitches: [16, 200], float_limit: [1, 12], min_delta_L: [0, 60] };
const OPEN = ["Size and gauge", "Yarns"];
/** What the measures of a thing decide. */
const OF_THE_CHART = new Set(["stitches", "rounds", "flat"]);
/**
 * Shows a setting's value in its field, but not where one is typing, unless `anyway`.
 * @typedef {(value: any, view: View, anyway?: boolean) => void} Control
 */
/** @type {Map<string, Control>} */
const controls = new Map();
/** @type {HTMLDetailsElement[]} */
const groups = [];

/** @param {HTMLElement} place */
export function setUpChoices(place) {
  const wide = matchMedia("(min-width: 1080px)").matches;
  place.append(reshapedNote(), ...model.desk.form.map((group) => groupOf(group, wide)));
  model.onProject(refresh);
}

/** @param {Group} group @param {boolean} wide */
function groupOf({ title, fields }, wide) {
  const inner = title === "Yarns" ? [yarnPanel()] : fields.flatMap((field) => [fieldOf(field), ...sideBySide(field.name)]);
  const group = el("details", { open: wide && OPEN.includes(title), class: "group" }, el("summary", {}, title), el("div", { class: "fields" }, inner));
  groups.push(group);
  return group;
}

/** Settings whose choices can be seen beside each other: where they come from, and what is said.
 * @type {Record<string, { from: string, words: string, question: string }>}
 */
const PICKED_BY_EYE = {
  look: { from: "looks", words: "See all looks side by side", question: "Which look?" },
};

/** The picture in all choices of a setting beside each other, to be picked from by eye. @param {string} name */
function sideBySide(name) {
  if (!PICKED_BY_EYE[name]) return [];
  const { from, words, question } = PICKED_BY_EYE[name];
  const button = el("button", { type: "button", class: "small", onclick: async () => {
    button.disabled = true;
    button.classList.add("working");
    /** @type {Look[] | null} */
    const looks = await attempt(() => get(`/api/projects/${model.opened().id}/${from}`));
    button.disabled = false;
    button.classList.remove("working");
    if (!looks) return;
    const cards = looks.map((look) => /** @type {[HTMLElement, string]} */ ([lookCard(look), look.name]));
    const chosen = await ask(question, [], [...cards, ["Leave it", null]]);
    if (chosen) set(name, chosen);
  } }, words);
  const field = el("div", { class: "field" }, button);
  model.onProject((view) => { field.hidden = !view.follows; });
  return [field];
}

/** @param {Look} look */
function lookCard({ name, description, words, front }) {
  return el("span", { class: "look" }, el("img", { alt: "", src: front }), el("strong", {}, name), el("small", {}, description), words.map((line) => el("small", {}, line)));
}

async function makeAnew() {
  await model.changeSettings({ stitches: model.opened().settings.stitches }, true);
  hideNotice();
}

function reshapedNote() {
  const anew = el("button", { type: "button", onclick: () => attempt(makeAnew) }, "Make it from the picture again");
  const note = el("div", { class: "note", id: "reshaped", hidden: true },
    el("p", {}, "You reshaped this chart by hand, so it no longer lies on its picture. Rules, gauge and yarns can still be changed."), anew);
  model.onProject((view) => {
    note.hidden = view.follows || !view.picture;
  });
  return note;
}

/** @type {Map<string, { node: HTMLElement, fromPicture: boolean }>} */
const homes = new Map();
/**
 * A field; those that need the picture rest while the chart does not lie on one.
 * @param {Field} field
 */
function fieldOf(field) {
  const node = inputsOf(field);
  homes.set(field.name, { node, fromPicture: field.from_picture });
  return node;
}

/** @param {Field} field */
function inputsOf(field) {
  if (field.name === "gauge") return gaugeField(field);
  if (field.kind === "bool") return boolField(field);
  if (field.choices.length || field.name === "background") return choiceField(field);
  if (SLIDERS[field.name]) return sliderField(field);
  return plainField(field);
}

/** @param {Field} field @param {string} id @param {HTMLElement[]} inputs */
function labelled(field, id, ...inputs) {
  return el("div", { class: "field" }, el("label", { for: id }, field.label), ...inputs, helpOf(field, id));
}

/** @param {Field} field @param {string} id */
function helpOf(field, id) {
  return el("p", { class: "help", id: `${id}-help`, hidden: !field.help }, field.help);
}

/** @param {string} name @param {unknown} value */
async function set(name, value) {
  const { settings } = model.opened();
  const anew = name === "frame" && settings.crop; // a frame that is drawn gives way to one that is chosen
  if (!anew && JSON.stringify(value) === JSON.stringify(settings[name])) return;
  const done = await attempt(() => model.changeSettings({ [name]: value }));
  if (!done && model.project) controls.get(name)?.(model.project.settings[name], model.project, true);
}

/**
 * The number typed, or the nearest there may be, which is said.
 * @param {HTMLInputElement} input
 * @param {{ label: string, low: number | null, high: number | null, kind?: string }} field
 */
function within(input, { label, low, high, kind }) {
  const asked = Number(input.value);
  const value = clamp(kind === "int" ? Math.round(asked) : asked, low ?? -Infinity, high ?? Infinity);
  if (value !== asked) notice(`“${label}” goes from ${low} to ${high}${kind === "int" ? ", in whole numbers" : ""}; ${value} is taken.`);
  input.value = String(value);
  return value;
}

/** @param {Field} field */
function sliderField(field) {
  const id = `set-${field.name}`;
  const [low, high] = SLIDERS[field.name];
  const range = el("input", { type: "range", id, min: low, max: high, step: 1, "aria-describedby": `${id}-help` });
  const number = el("input", { type: "number", min: field.low, max: field.high, step: 1, "aria-label": `${field.label}, as a number` });
  range.addEventListener("input", () => {
    number.value = range.value;
    tryOut({ [field.name]: Number(range.value) });
  });
  range.addEventListener("change", () => {
    model.dropDrafts();
    attempt(() => model.changeSettings({ [field.name]: Number(range.value) }));
  });
  number.addEventListener("change", () => {
    if (!number.value) number.value = model.opened().settings[field.name];
    else set(field.name, within(number, field));
  });
  controls.set(field.name, (value, view, anyway) => {
    if (anyway || document.activeElement !== range) range.value = value;
    if (anyway || document.activeElement !== number) number.value = value;
  });
  return labelled(field, id, el("span", { class: "slide" }, range, number));
}

/** @param {Field} field */
function plainField(field) {
  const id = `set-${field.name}`;
  const numeric = field.kind !== "str";
  const input = el("input", {
    id, type: numeric ? "number" : "text", min: field.low, max: field.high, step: field.kind === "int" ? 1 : numeric ? 0.1 : undefined,
    placeholder: field.optional ? "–" : "", "aria-describedby": `${id}-help`,
  });
  input.addEventListener("change", () => {
    const text = input.value.trim();
    if (!text && !field.optional) input.value = model.opened().settings[field.name];
    else set(field.name, !text ? null : numeric ? within(input, field) : text);
  });
  controls.set(field.name, (value, view, anyway) => {
    if (anyway || document.activeElement !== input) input.value = value ?? "";
    if (field.name === "rounds") input.placeholder = String(view.chart.rows.length);
  });
  return labelled(field, id, el("span", { class: "unit" }, input, field.unit ? el("span", {}, field.unit) : null));
}

/** @param {Field} field */
function boolField(field) {
  const id = `set-${field.name}`;
  /** @type {HTMLInputElement} */
  const input = el("input", { type: "checkbox", id, "aria-describedby": `${id}-help`, onchange: () => set(field.name, input.checked) });
  controls.set(field.name, (value) => { input.checked = value; });
  return el("div", { class: "field check" }, el("label", { for: id }, input, field.label), helpOf(field, id));
}

/** @param {Field} field */
function choiceField(field) {
  const id = `set-${field.name}`;
  /** @type {HTMLSelectElement} */
  const select = el("select", { id, "aria-describedby": `${id}-help`, onchange: () => set(field.name, select.value || null) });
  const fill = (/** @type {Field["choices"]} */ choices) => {
    /** @type {Record<string, string>} */
    const unset = { filler: "none, one plain yarn", background: "the yarn that suits best" };
    const none = unset[field.name] ?? "as it comes";
    const options = choices.map(({ value, label }) => el("option", { value }, label));
    select.replaceChildren(...(field.optional ? [el("option", { value: "" }, none)] : []), ...options);
  };
  fill(field.choices);
  controls.set(field.name, (value, view) => {
    if (field.name === "background") fill(view.chart.yarns.map(({ name }) => ({ value: name, label: name })));
    select.value = value ?? "";
  });
  return labelled(field, id, select);
}

/** @param {Field} field */
function gaugeField(field) {
  const [across, up] = ["stitches", "rounds"].map((word) =>
    el("input", { type: "number", min: 3, max: 120, step: 0.5, id: `gauge-${word}`, "aria-describedby": "gauge-help", onchange: () => {
      const one = { label: field.label, low: 3, high: 120 };
      if (across.value && up.value) set("gauge", `${within(across, one)}x${within(up, one)}`);
      else controls.get("gauge")?.(model.opened().settings.gauge, model.opened(), true);
    } }));
  controls.set("gauge", (value, view, anyway) => {
    const numbers = String(value).split("x").map((part) => String(Number(part)));
    [across, up].forEach((input, index) => { if (anyway || document.activeElement !== input) input.value = numbers[index]; });
  });
  return el("fieldset", { class: "field" }, el("legend", {}, `${field.label} in 10 cm`), el("span", { class: "unit" },
    across, el("label", { for: "gauge-stitches" }, "stitches"), up, el("label", { for: "gauge-rounds" }, "rounds")),
    el("p", { class: "help", id: "gauge-help" }, field.help), photoOfSwatch());
}

/** What takes a photo of a swatch and counts the gauge on it. */
function photoOfSwatch() {
  const file = el("input", { type: "file", accept: "image/*,.heic,.heif", class: "unseen", id: "gauge-photo", onchange: async () => {
    const [photo] = file.files ?? [];
    file.value = "";
    const gauge = photo ? await gaugeOnPhoto(photo) : null;
    if (gauge) set("gauge", gauge);
  } });
  return el("span", { class: "choose" }, file, el("label", { class: "button small", for: "gauge-photo" }, "Count it on a photo of a swatch"));
}

/** @param {View} view @param {Why} why */
function refresh(view, why) {
  for (const [name, { node, fromPicture }] of homes) {
    node.hidden = (fromPicture && !view.picture) || (Boolean(view.thing) && OF_THE_CHART.has(name));
    for (const input of inputsIn(node)) input.disabled = fromPicture && !view.follows;
  }
  for (const group of groups) group.hidden = !group.querySelector(".yarns") && fieldsIn(group).every((field) => field.hidden);
  for (const [name, update] of controls) if (why !== "draft" || name !== "stitches") update(view.settings[name], view);
}

/**
 * @param {HTMLElement} node
 * @returns {NodeListOf<HTMLInputElement | HTMLSelectElement>}
 */
const inputsIn = (node) => node.querySelectorAll("input, select");

/**
 * @param {HTMLElement} group
 * @returns {HTMLElement[]}
 */
const fieldsIn = (group) => [...group.querySelectorAll(".field")].filter((field) => field instanceof HTMLElement);
