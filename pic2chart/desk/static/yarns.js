// @ts-check
// The yarns: colour beside its value in grey, by hand, from the picture, or from the shelf.

import { el, many, swatch } from "./dom.js";
import { attempt } from "./net.js";
import * as model from "./model.js";
import { pickColour } from "./pick.js";
import { LISTS, openList, ownYarnsButton } from "./shelf.js";
import { editStitches, tryOut } from "./thing.js";
/** @import { ListedYarn, View, Yarn } from "./shapes" */

const MOST = 12;
/** @type {HTMLElement} */
let list;
/** @type {HTMLElement} */
let shelfBox;

export function yarnPanel() {
  list = el("ul", { class: "yarns" });
  const add = el("button", { type: "button", class: "small", onclick: addYarn }, "Add a yarn");
  const count = el("select", { id: "from-picture", onchange: () => {
    if (count.value) attempt(() => model.changeSettings({ yarn: [], shelf: null, yarns: Number(count.value) }));
    count.value = "";
  } }, el("option", { value: "" }, "choose …"), [2, 3, 4, 5, 6].map((n) => el("option", { value: n }, `${n} yarns`)));
  const fromPicture = el("div", { class: "field" }, el("label", { for: "from-picture" }, "Take colours from the picture"), count);
  shelfBox = el("div", { class: "shelf" });
  model.onProject((view) => {
    add.disabled = view.chart.yarns.length >= MOST;
    const same = list.children.length === view.chart.yarns.length;
    if (!same || !list.querySelector("input:focus")) {
      list.replaceChildren(...view.chart.yarns.map((yarn) => rowOf(yarn)));
    }
    count.disabled = !view.follows;
    fromPicture.hidden = !view.picture;
    showShelf(view);
  });
  const own = ownYarnsButton(() => model.project && showShelf(model.project));
  return el("div", {}, list, el("div", { class: "row" }, add, own),
    fromPicture, shelfBox,
    el("p", { class: "help" }, "Beside each colour stands how light it is, in grey: yarns of like grey merge, whatever their hue."));
}

/** @param {Yarn} yarn */
function rowOf(yarn) {
  const colour = el("input", { type: "color", value: yarn.colour, "aria-label": `Colour of ${yarn.name}` });
  const name = el("input", { type: "text", value: yarn.name, maxlength: 60, "aria-label": `Name of yarn ${yarn.key}` });
  const value = swatch(yarn.grey, "how light it is, in grey");
  const drop = el("button", { type: "button", class: "small dropper-button", title: "Take this yarn's colour from the photo", "aria-label": `Take the colour of ${yarn.name} from the photo`, hidden: !model.opened().picture, onclick: async () => {
    const picked = await pickColour();
    if (picked) {
      colour.value = picked;
      save(having({ colour: picked }));
    }
  } }, dropperSign());
  const offered = yarn.word !== yarn.name && !/\d$/.test(yarn.name) ? el("button", { type: "button", class: "plain small offered", onclick: () => {
    name.value = yarn.word;
    save(having({ name: yarn.word }));
  } }, `call it “${yarn.word}”`) : null;
  const away = el("button", { type: "button", class: "plain small", "aria-label": `Take ${yarn.name} away`, hidden: model.opened().chart.yarns.length <= 2, onclick: () => save((yarns) => listed(yarns.filter(({ key }) => key !== yarn.key))) }, "Remove");
  /** @param {Partial<Yarn>} changes @returns {Change} */
  const having = (changes) => (yarns) => listed(yarns.map((one) => one.key === yarn.key ? { ...one, ...changes } : one));
  colour.addEventListener("input", () => {
    if (model.opened().follows) tryOut(asSettings(having({ colour: colour.value })(model.opened().chart.yarns)));
  });
  colour.addEventListener("change", () => save(having({ colour: colour.value })));
  name.addEventListener("change", () => save(having({ name: name.value.trim() || yarn.name })));
  return el("li", {}, colour, drop, value, el("span", { class: "name" }, name, offered), away);
}

/** A dropper, drawn. */
function dropperSign() {
  const svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
  svg.setAttribute("viewBox", "0 0 24 24");
  svg.setAttribute("class", "icon");
  svg.setAttribute("aria-hidden", "true");
  const path = document.createElementNS("http://www.w3.org/2000/svg", "path");
  path.setAttribute("d", "M4 20l1-4 9-9 3 3-9 9zM13 6l5 5M15 8l3-4a2 2 0 0 1 3 3l-4 3");
  svg.append(path);
  return svg;
}

/** @param {Yarn[]} yarns @returns {ListedYarn[]} */
const listed = (yarns) => yarns.map(({ key, name, colour }) => ({ was: key ?? null, name, colour }));
/** @param {ListedYarn[]} yarns */
const asSettings = (yarns) => ({ yarn: yarns.map(({ name, colour }) => `${name}=${colour}`), shelf: null, yarns: null });

/** @typedef {(yarns: Yarn[]) => ListedYarn[]} Change what shall become of the yarns */

/**
 * A chart on its picture is made again for other yarns; one reshaped by hand keeps its stitches. While
 * an earlier change is still being made this one waits, and is then made to the yarns that came of it.
 * @param {Change} change
 */
function save(change) {
  model.dropDrafts();
  const yarns = () => change(model.opened().chart.yarns);
  attempt(() => model.opened().follows ? model.changeInTurn(() => asSettings(yarns())) : editStitches({ kind: "yarns", yarns: yarns() }, ""));
}

function addYarn() {
  save((yarns) => {
    const names = new Set(yarns.map(({ name }) => name.toLowerCase()));
    let number = yarns.length + 1;
    while (names.has(`yarn ${number}`)) number += 1;
    return [...listed(yarns), { was: null, name: `yarn ${number}`, colour: between(yarns) }];
  });
}

/**
 * A grey in the widest gap between the values there are.
 * @param {Yarn[]} yarns
 */
function between(yarns) {
  const values = [0, ...yarns.map(({ L }) => L), 100].sort((a, b) => a - b);
  const gaps = values.slice(1).map((value, index) => [value - values[index], (value + values[index]) / 2]);
  const middle = gaps.sort((a, b) => b[0] - a[0])[0][1];
  const byte = Math.round(middle * 2.4).toString(16).padStart(2, "0");
  return `#${byte}${byte}${byte}`;
}

/** @param {View} view */
function showShelf(view) {
  const { shelf } = model.desk;
  const shown = () => showShelf(model.opened());
  const file = el("input", { type: "file", accept: LISTS, class: "unseen", id: "shelf-file", onchange: () => {
    const [chosen] = file.files ?? [];
    if (chosen) attempt(() => openList(chosen, shown).then(shown));
    file.value = "";
  } });
  const words = shelf.length ? "Open another list of yarns" : "Open a list of yarns";
  const put = el("span", { class: "choose" }, file, el("label", { class: "button small", for: "shelf-file" }, words));
  if (!shelf.length) {
    shelfBox.replaceChildren(put, el("p", { class: "help" }, "A list is a table with the columns name and colour: a workbook (xlsx, ods), or saved as text (CSV)."));
    return;
  }
  const best = el("select", { id: "from-shelf", disabled: !view.follows, onchange: () => {
    if (best.value) attempt(() => model.changeSettings({ yarn: [], shelf: "the shelf", yarns: Number(best.value) }));
    best.value = "";
  } }, el("option", { value: "" }, "choose …"), [2, 3, 4, 5, 6].filter((n) => n <= shelf.length).map((n) => el("option", { value: n }, `the best ${n}`)));
  const one = el("select", { id: "one-of-shelf", onchange: () => {
    const yarn = shelf[Number(one.value)];
    if (yarn) save((yarns) => [...listed(yarns), { was: null, name: yarn.name, colour: yarn.colour }]);
    one.value = "";
  } }, el("option", { value: "" }, "choose …"), shelf.map((yarn, index) => el("option", { value: index }, yarn.name)));
  shelfBox.replaceChildren(
    el("div", { class: "field" }, el("label", { for: "from-shelf" }, `Choose from the ${many(shelf.length, "yarn")} you have`), best),
    el("div", { class: "field" }, el("label", { for: "one-of-shelf" }, "Add one of the yarns you have"), one), put);
}
