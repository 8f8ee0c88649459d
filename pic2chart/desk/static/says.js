// @ts-check
// What the checks say, in a knitter's words: one click leads to the place.

import { $, el, many, notice, tell } from "./dom.js";
import { attempt } from "./net.js";
import * as model from "./model.js";
import { setUpFacts } from "./facts.js";
/** @import { Counts, Finding, Found, Level, View } from "./shapes" */

/** @type {Record<Level, [sign: string, means: string]>} */
const SIGNS = { error: ["!", "cannot be knitted as asked"], warning: ["▲", "will trouble you"], note: ["i", "worth knowing"] };
const FEW = 3;
/** @type {Record<"head" | "remarks" | "list", HTMLElement>} */
let parts;
/** @type {(finding: Finding) => void} */
let goTo;
/** @type {Finding[]} */
let shown = [];
let chosen = -1;
/** @type {Set<string>} */
const opened = new Set();

/**
 * `jumpTo` is given the finding that was chosen.
 * @param {HTMLElement} place
 * @param {(finding: Finding) => void} jumpTo
 */
export function setUpSays(place, jumpTo) {
  goTo = jumpTo;
  parts = { head: el("div", { class: "head" }), remarks: el("div"), list: el("div", { class: "findings" }) };
  place.append(parts.head, parts.remarks, parts.list);
  setUpFacts(place);
  model.onProject((view, why, action) => {
    if (why === "open") {
      opened.clear();
      told = "";
    }
    showFindings(view);
    if (why !== "draft") announce(view, action);
    if (why === "change" && !place.offsetParent) remind(view.report.remarks);
    remembered = view.report.remarks;
    parts.remarks.replaceChildren(...view.report.remarks.map((words) => el("p", { class: "note" }, words)));
  });
}

/** @type {string[]} */
let remembered = [];
/**
 * What a change brought along is said aloud where the list of it is not in sight.
 * @param {string[]} remarks
 */
function remind(remarks) {
  const fresh = remarks.filter((words) => !remembered.includes(words));
  if (fresh.length) notice(fresh[0]);
}

/** @type {Record<string, string>} */
const BACK = { undo: "Undone", redo: "Done again" };
let told = "";
/**
 * Tell those who do not see the page what was done, and the verdict when it became another one.
 * @param {View} view
 * @param {string} action
 */
function announce(view, action) {
  const verdict = verdictOf(view.counts);
  const words = [action && (BACK[action] ?? view.undo), verdict !== told && verdict].filter(Boolean);
  if (words.length) tell(words.join(". "));
  told = verdict;
}

/** @param {Counts} counts */
const verdictOf = (counts) => counts.error ? `${many(counts.error, "place")} cannot be knitted as asked` : "It can be knitted";

/** @param {Found} found */
export function showFindings({ findings, counts, mendable }) {
  chosen = -1;
  shown = findings;
  const knittable = counts.error === 0;
  const words = verdictOf(counts);
  $("tally").textContent = knittable ? "✓ can be knitted" : `! ${many(counts.error, "place")}`;
  const also = /** @type {Level[]} */ (["warning", "note"]).filter((level) => counts[level]).map((level) => many(counts[level], level)).join(", ");
  const mend = el("button", { type: "button", class: knittable ? "" : "main", id: "mend", onclick: () => attempt(model.tryMend) }, "Mend");
  parts.head.replaceChildren(
    el("p", { class: knittable ? "good" : "bad" }, el("span", { class: "sign", "aria-hidden": "true" }, knittable ? "✓" : "!"), el("strong", {}, words), also ? el("span", {}, `and ${also}`) : ""),
    mendable ? el("div", { class: "row nowrap" }, mend, el("small", {}, "Changes as few stitches as it can; what you keep stays.")) : "");
  parts.list.replaceChildren(...groups(findings).map(groupOf));
  const hidden = counts.error + counts.warning + counts.note - findings.length;
  if (hidden > 0) parts.list.append(el("p", { class: "quiet" }, `and ${hidden} more like these`));
}

/**
 * Findings of one rule and level together, in the order they came.
 * @param {Finding[]} findings
 */
function groups(findings) {
  /** @type {Map<string, [Finding, number][]>} */
  const found = new Map();
  findings.forEach((finding, index) => {
    const name = `${finding.level} ${finding.rule}`;
    const members = found.get(name);
    if (members) members.push([finding, index]);
    else found.set(name, [[finding, index]]);
  });
  return [...found];
}

/** @param {[name: string, members: [Finding, number][]]} group */
function groupOf([name, members]) {
  const list = el("ul", {}, members.slice(0, opened.has(name) ? members.length : FEW).map(itemOf));
  const rest = members.length - FEW;
  if (rest <= 0) return list;
  const open = opened.has(name);
  const toggle = el("button", { type: "button", class: "plain small", "aria-expanded": String(open), onclick: () => {
    if (open) opened.delete(name);
    else opened.add(name);
    showFindings({ ...model.opened(), findings: shown });
    /** @type {HTMLElement | null} */ (parts.list.querySelector(`[data-group="${name}"]`))?.focus();
  }, "data-group": name }, open ? "Show fewer" : `and ${rest} more like this`);
  return el("div", { class: "alike" }, list, toggle);
}

/** @param {[Finding, number]} member */
function itemOf([finding, index]) {
  const [sign, means] = SIGNS[finding.level];
  return el("li", { class: finding.level },
    el("button", { type: "button", class: "finding", "data-rule": finding.rule, "data-index": index, onclick: () => chooseFinding(index) },
      el("span", { class: "sign", title: means, role: "img", "aria-label": finding.level }, sign),
      el("span", {}, el("span", {}, finding.message), el("small", {}, finding.mend))));
}

/** @param {number} index */
function chooseFinding(index) {
  chosen = index;
  for (const button of parts.list.querySelectorAll("button.finding")) {
    button.parentElement?.classList.toggle("chosen", Number(button.getAttribute("data-index")) === index);
  }
  goTo(shown[index]);
  tell(`${shown[index].message} ${shown[index].mend}`);
}

export function nextFinding() {
  if (shown.length) chooseFinding((chosen + 1) % shown.length);
}
