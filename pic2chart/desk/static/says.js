// @ts-check
// What the checks say, in a knitter's words: each kind once, and one click from there to its places.

import { $, el, many, notice, tell } from "./dom.js";
import { attempt } from "./net.js";
import * as model from "./model.js";
import { setUpFacts } from "./facts.js";
import * as thing from "./thing.js";
/** @import { Counts, Finding, Found, Level, View } from "./shapes" */

/** @type {Record<Level, [sign: string, means: string]>} */
const SIGNS = { error: ["!", "cannot be knitted as asked"], warning: ["▲", "will trouble you"], note: ["i", "worth knowing"] };
const MANY = 60;
const LEVELS = /** @type {Level[]} */ (["error", "warning", "note"]);
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
    if (why !== "draft") announce(view, action);
    if (!view.thing) heard(view, why, view.report.remarks);
  });
  thing.onThing((why) => {
    if (thing.thing) heard(thing.found(), why, thing.thing.remarks);
    else if (thing.refused) heard(model.opened(), why, [thing.refused]);
  });
}

/** @param {Found} found @param {string} why @param {string[]} remarks */
function heard(found, why, remarks) {
  showFindings(found);
  if (why === "change" && !parts.list.offsetParent) remind(remarks);
  remembered = remarks;
  parts.remarks.replaceChildren(...remarks.map((words) => el("p", { class: "note" }, words)));
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
  const mend = el("button", { type: "button", class: knittable ? "" : "main", id: "mend", onclick: () => attempt(thing.tryMend) }, "Mend");
  parts.head.replaceChildren(
    el("p", { class: knittable ? "good" : "bad" }, el("span", { class: "sign", "aria-hidden": "true" }, knittable ? "✓" : "!"), el("strong", {}, words)),
    mendable ? el("div", { class: "row nowrap" }, mend, el("small", {}, "Changes as few stitches as it can; what you painted stays.")) : "");
  parts.list.replaceChildren(...kinds(findings).map(kindOf));
}

/**
 * Findings of one rule and level together, the gravest and the most frequent first.
 * @param {Finding[]} findings
 */
function kinds(findings) {
  /** @type {Map<string, [Finding, number][]>} */
  const found = new Map();
  findings.forEach((finding, index) => {
    const name = `${finding.level} ${finding.rule}`;
    found.set(name, [...(found.get(name) ?? []), [finding, index]]);
  });
  return [...found].sort(([, a], [, b]) => LEVELS.indexOf(a[0][0].level) - LEVELS.indexOf(b[0][0].level) || b.length - a.length);
}

/** @param {[name: string, members: [Finding, number][]]} kind */
function kindOf([name, members]) {
  const [{ rule, level }] = members[0];
  if (members.length === 1) return el("ul", {}, members.map(itemOf));
  const [sign, means] = SIGNS[level];
  const [words, know] = model.desk.findings[rule] ?? ["{place}", ""];
  const counted = words.replace(/\{(\w+)\}/, (_, thing) => many(members.length, thing));
  const list = el("ul", {});
  const fill = () => list.replaceChildren(...members.slice(0, MANY).map(itemOf));
  const fold = el("details", { class: `kind-of ${level}`, "data-group": name, open: opened.has(name), ontoggle: (event) => {
    if (event.target.open) {
      opened.add(name);
      fill();
    } else opened.delete(name);
  } }, el("summary", {}, el("span", { class: "sign", title: means, role: "img", "aria-label": level }, sign),
    el("span", {}, el("span", {}, counted), know ? el("small", {}, know) : null), el("b", { class: "show" }, "show")), list);
  if (fold.open) fill();
  return fold;
}

/** @param {[Finding, number]} member */
function itemOf([finding, index]) {
  const [sign, means] = SIGNS[finding.level];
  const where = pieceOf(finding);
  return el("li", { class: finding.level },
    el("button", { type: "button", class: "finding", "data-rule": finding.rule, "data-index": index, onclick: () => chooseFinding(index) },
      el("span", { class: "sign", title: means, role: "img", "aria-label": finding.level }, sign),
      el("span", {}, where ? el("b", {}, `${where}: `) : null, el("span", {}, finding.message), el("small", {}, finding.mend))));
}

/** The piece that it is about, where there are several. @param {Finding} finding */
function pieceOf({ piece }) {
  const pieces = thing.thing?.pieces ?? [];
  return pieces.length > 1 ? pieces.find(({ name }) => name === piece)?.label ?? "" : "";
}

/** @param {number} index */
function chooseFinding(index) {
  chosen = index;
  for (const button of parts.list.querySelectorAll("button.finding")) {
    button.parentElement?.classList.toggle("chosen", Number(button.getAttribute("data-index")) === index);
  }
  goTo(shown[index]);
  tell([pieceOf(shown[index]), shown[index].message, shown[index].mend].filter(Boolean).join(" "));
}

export function nextFinding() {
  if (shown.length) chooseFinding((chosen + 1) % shown.length);
}
