// @ts-check
// The yarns one has, kept on the desk: a list, a form with a photo, and sets of them that read.

import { ask, el, finder, hideNotice, input, many, notice, swatch } from "./dom.js";
import { attempt, get, post, save, upload } from "./net.js";
import * as model from "./model.js";
import { editStitches } from "./thing.js";
import { measuring } from "./yarn_photo.js";

/**
 * @typedef {{ name: string, colour: string, weight: string | null, m_per_100g: number | null, grams: number | null,
 *   price: number | null, lot: string | null, note: string | null, L: number, grey: string }} OwnYarn
 * @typedef {{ name: string, colour: string }} OfSet
 */

/** @type {OwnYarn[]} */
let yarns = [];
/** @type {string[]} */
let weights = [];
/** @type {HTMLElement} */
let place;
let changed = () => {};

/** What a list of yarns may be: a table as text, or a workbook. */
export const LISTS = ".csv,.tsv,.txt,.xlsx,.ods,text/csv";
/** Yarns from which on a field helps to find one. */
const LONG = 12;

/**
 * The button that opens one's yarns.
 * @param {() => void} heard called when the yarns of the desk's shelf changed
 * @param {{ id?: string, kind?: string }} how
 */
export function ownYarnsButton(heard, { id = "own-yarns", kind = "small" } = {}) {
  return el("button", { type: "button", class: kind, id, onclick: () => {
    changed = heard;
    open();
  } }, "Your yarns");
}

async function open() {
  if (!take(await attempt(() => get("/api/yarns")))) return;
  place = el("div", { id: "own" });
  showList();
  await ask("Your yarns", [place], [["Close", null]]);
}

/** @param {{ yarns: OwnYarn[], weights: string[], shelf?: typeof model.desk.shelf } | null} known */
function take(known) {
  if (!known) return false;
  ({ yarns, weights } = known);
  if (known.shelf) {
    model.desk.shelf = known.shelf;
    changed();
  }
  return true;
}

/** @param {string | null} at name of the yarn to lead to */
function showList(at = null) {
  const list = el("ul", { class: "yarns" }, yarns.map(rowOf));
  const doings = el("div", { class: "row" }, el("button", { type: "button", class: "main", onclick: () => showForm(null) }, "Add a yarn"), fileChooser(),
    yarns.length ? el("button", { type: "button", onclick: () => attempt(() => save("/api/yarns/file")) }, "Save as a file") : null);
  const sets = yarns.length > 1 ? setsPart() : "";
  if (!yarns.length) place.replaceChildren(el("p", { class: "quiet" }, "None yet. Add those you have: by their colour, by a photo beside white paper, or all at once from a table with the columns name and colour."), doings);
  else if (yarns.length <= LONG) place.replaceChildren(list, doings, sets);
  else place.replaceChildren(doings, sets, el("h3", {}, `All ${many(yarns.length, "yarn")}`), finder(list, "own-find", "Find"), list);
  const row = at === null ? null : list.children[yarns.findIndex(({ name }) => name === at)];
  row?.scrollIntoView({ block: "center" });
  row?.querySelector("button")?.focus();
}

/** @param {OwnYarn} yarn */
function rowOf(yarn) {
  const lot = yarn.lot === null ? "" : `lot ${yarn.lot}`;  // which the name of one of several lots tells
  const facts = [yarn.weight, yarn.m_per_100g === null ? null : `${yarn.m_per_100g} m in 100 g`, yarn.grams === null ? null : `${yarn.grams} g there`, yarn.name.endsWith(lot) ? null : lot];
  return el("li", {}, swatch(yarn.colour), swatch(yarn.grey, "how light it is"),
    el("span", { class: "name" }, el("strong", {}, yarn.name), el("small", {}, facts.filter(Boolean).join(", "))),
    el("button", { type: "button", class: "plain small", "aria-label": `Change ${yarn.name}`, onclick: () => showForm(yarn) }, "Change"),
    el("button", { type: "button", class: "plain small", "aria-label": `Take ${yarn.name} away`, onclick: () => remove(yarn.name) }, "Remove"));
}

/** @param {string} name */
async function remove(name) {
  const at = yarns.findIndex((yarn) => yarn.name === name);
  if (!(await change("/api/yarns/remove", { name }, () => yarns[Math.min(at, yarns.length - 1)]?.name ?? null))) return;
  notice(`${name} is no longer among your yarns.`, { stay: true, button: backButton("Put it back") });
}

/** @param {string} words */
const backButton = (words) => el("button", { type: "button", onclick: () => change("/api/yarns/back", {}, () => null) }, words);

/** @param {string} path @param {object} body @param {() => string | null} leading the yarn to lead to then */
async function change(path, body, leading) {
  const done = take(await attempt(() => post(path, body)));
  if (done) {
    hideNotice();
    showList(leading());
  }
  return done;
}

function fileChooser() {
  const file = el("input", { type: "file", accept: LISTS, class: "unseen", id: "own-file", onchange: () => {
    const [chosen] = input("own-file").files ?? [];
    input("own-file").value = "";
    if (chosen) put(chosen);
  } });
  return el("span", { class: "choose" }, file, el("label", { class: "button", for: "own-file" }, yarns.length ? "Open another list" : "Open a list"));
}

/**
 * A list in place of the yarns there are; what of it cannot be used is told.
 * @param {File} chosen
 * @param {() => void} heard called when they are put back
 */
export async function openList(chosen, heard) {
  const before = (await get("/api/yarns")).yarns.length;
  const { shelf, remarks } = await upload(`/api/shelf?name=${encodeURIComponent(chosen.name.slice(-100))}`, chosen);
  const there = (await get("/api/yarns")).yarns.length;
  model.desk.shelf = shelf;
  const instead = before ? `, in place of ${many(before, "yarn")}` : "";
  const back = el("button", { type: "button", onclick: async () => {
    if (!take(await attempt(() => post("/api/yarns/back", {})))) return;
    hideNotice();
    heard();
  } }, "Put those back");
  notice([`${chosen.name}: ${there ? many(there, "yarn") : "no yarns"}${instead}.`, ...remarks], { stay: before > 0 || remarks.length > 0, button: before ? back : null });
  return true;
}

/** @param {File} chosen a table with the columns name and colour, in place of the yarns there are */
async function put(chosen) {
  if (!(await attempt(() => openList(chosen, showList)))) return;
  changed();
  if (take(await attempt(() => get("/api/yarns")))) showList();
}

// One yarn.

/** @param {OwnYarn | null} yarn that is changed; null for a new one */
function showForm(yarn) {
  const known = yarn?.weight && !weights.includes(yarn.weight) ? [yarn.weight, ...weights] : weights;
  const weight = el("select", { id: "own-weight" }, el("option", { value: "" }, "not known"), known.map((one) => el("option", { value: one, selected: one === yarn?.weight }, one)));
  const form = el("form", { id: "own-form" },
    measuring((colour) => { input("own-colour").value = colour; }),
    field("own-colour", "Colour", el("input", { id: "own-colour", type: "color", value: yarn?.colour ?? "#8a8577" })),
    field("own-name", "Name", el("input", { id: "own-name", type: "text", maxlength: 60, required: true, value: yarn?.name ?? "" })),
    field("own-weight", "Weight", weight),
    field("own-metres", "Metres in 100 g", amount("own-metres", yarn?.m_per_100g)),
    field("own-grams", "Grams you have", amount("own-grams", yarn?.grams)),
    field("own-lot", "Dye lot", el("input", { id: "own-lot", type: "text", maxlength: 60, value: yarn?.lot ?? "" })),
    el("div", { class: "row" }, el("button", { type: "submit", class: "main" }, "Keep it"), el("button", { type: "button", onclick: () => showList(yarn?.name) }, "Leave it")));
  form.addEventListener("submit", async (event) => {
    event.preventDefault();
    const words = (/** @type {string} */ id) => input(id).value.trim() || null;
    const number = (/** @type {string} */ id) => input(id).value === "" ? null : Number(input(id).value);
    const facts = { name: words("own-name") ?? "", colour: input("own-colour").value, weight: words("own-weight"), m_per_100g: number("own-metres"), grams: number("own-grams"), lot: words("own-lot") };
    const before = new Set(yarns.map(({ name }) => name));
    await change("/api/yarns", { was: yarn?.name ?? null, yarn: facts }, () => yarns.find(({ name }) => !before.has(name))?.name ?? yarn?.name ?? null);
  });
  place.replaceChildren(form);
  input("own-name").focus();
}

/** @param {string} id @param {string} words @param {HTMLElement} inner */
const field = (id, words, inner) => el("div", { class: "field" }, el("label", { for: id }, words), inner);
/** @param {string} id @param {number | null | undefined} value */
const amount = (id, value) => el("input", { id, type: "number", min: 0, max: 9999, step: "any", inputmode: "decimal", value: value ?? "" });

// Sets that read.

function setsPart() {
  const found = el("ul", { class: "sets", id: "own-sets" });
  const count = el("select", { id: "own-count", onchange: () => { look(found, Number(count.value)); } },
    [2, 3, 4, 5].filter((n) => n <= yarns.length).map((n) => el("option", { value: n }, many(n, "yarn"))));
  look(found, 2);
  return el("section", {}, el("h3", {}, "Sets that read"),
    el("p", { class: "quiet" }, "Yarns of yours that stand apart in light and dark, so that a motif shows in them."),
    field("own-count", "How many", count), found);
}

/** @param {HTMLElement} found @param {number} count */
async function look(found, count) {
  const gap = model.project?.settings.min_delta_L ?? null;
  const query = new URLSearchParams({ count: String(count), ...(gap === null ? {} : { gap: String(gap) }) });
  /** @type {{ sets: OfSet[][] } | null} */
  const answer = await attempt(() => get(`/api/yarns/sets?${query}`));
  if (!answer) return;
  if (!answer.sets.length) found.replaceChildren(el("li", { class: "quiet" }, `No ${count} of your yarns stand apart enough; fewer may, or one much lighter or darker.`));
  else found.replaceChildren(...answer.sets.map(setRow));
}

/** @param {OfSet[]} set */
function setRow(set) {
  const names = set.map(({ name }) => name).join(" + ");
  const use = model.project ? el("button", { type: "button", class: "small", "aria-label": `Knit in ${names}`, onclick: () => knitIn(set) }, "Knit in these") : null;
  return el("li", { class: "row" }, el("span", { class: "strip" }, set.map(({ colour, name }) => swatch(colour, name))), el("span", { class: "name" }, names), use);
}

/** @param {OfSet[]} set */
async function knitIn(set) {
  const { follows } = model.opened();
  const listed = set.map(({ name, colour }) => ({ was: null, name, colour }));
  const named = { yarn: set.map(({ name, colour }) => `${name}=${colour}`), shelf: null, yarns: null };
  const done = await attempt(() => follows ? model.changeSettings(named) : editStitches({ kind: "yarns", yarns: listed }, ""));
  if (done) notice(`The chart is in ${set.map(({ name }) => name).join(" + ")} now.`);
}
