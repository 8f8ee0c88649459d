// @ts-check
// The middle of the desk: chart or fabric, tools, yarns to paint with, the selection's own tools.

import { clamp, el, swatch } from "./dom.js";
import { attempt, image } from "./net.js";
import * as model from "./model.js";
import { Cloth } from "./cloth.js";
import { Hand } from "./hand.js";
import { setUpGarment, showGarment } from "./garment.js";
import { press, sign, TOOLS } from "./keys.js";
import { nextFinding, showFindings } from "./says.js";
import { placingWords, selectionTools, showSelection } from "./selection.js";
/** @import { Finding, Found, Place, View, Why } from "./shapes" */

const PAINTING = ["paint", "line", "box", "fill"];
const VIEWS = [["chart", "Chart"], ["front", "Front"], ["back", "Back"], ["strands", "Strands"], ["garment", "Garment"]];
/** @type {Cloth} */
let cloth;
/** @type {Hand} */
let hand;
/** @type {ReturnType<typeof partsOf> & { frame: HTMLElement, teach: HTMLElement, hands: HTMLElement, under: HTMLElement, garment: HTMLElement }} */
let parts;
let view = "chart";
let pictured = "";

/** @param {HTMLElement} place */
export function setUpStage(place) {
  const canvas = el("canvas", { id: "cloth", tabindex: "0", role: "application", "aria-label": "The chart, stitch by stitch", "aria-describedby": "where" });
  cloth = new Cloth(canvas, model.desk.symbols);
  hand = new Hand(cloth, heard);
  const made = partsOf(canvas);
  const hands = el("div", { class: "hands" }, made.palette, made.keep);
  const teach = el("div", { class: "teach row", hidden: true }, el("label", { for: "taught" }, "How the yarns run in round"), made.taught, el("small", {}, "All of it is under “Print and save”."));
  const frame = el("div", { class: "frame", role: "group", "aria-label": "The chart or its fabric" }, canvas, made.picture, made.drawing);
  const under = el("div", { class: "under" }, made.where, made.legend, made.zoom);
  place.append(made.tabs, made.tools, hands, made.selected, teach, frame, under);
  parts = { ...made, frame, teach, hands, under, garment: setUpGarment(place) };
  place.addEventListener("keydown", (event) => {
    if (view === "chart" && cloth.shown) press(hand, event);
  });
  model.onProject(show);
  hand.take("look");
  look("chart");
}

/** @param {HTMLCanvasElement} canvas */
function partsOf(canvas) {
  return {
    canvas,
    picture: el("img", { class: "fabric", alt: "", hidden: true }),
    drawing: el("p", { class: "drawing quiet working", hidden: true }, "Drawing …"),
    tabs: group("What to see", VIEWS, (name) => look(name)),
    tools: group("Tools", TOOLS.map(([name, word, key, does]) => [name, word, `${does} (${key})`]), (name) => hand.take(name)),
    zoom: el("div", { class: "pair zoom", role: "group", "aria-label": "Closer or further" },
      el("button", { type: "button", "aria-label": "Further away", onclick: () => cloth.zoom(1 / 1.4) }, "−"),
      el("button", { type: "button", "aria-label": "The whole chart", onclick: () => cloth.fit() }, "Whole"),
      el("button", { type: "button", "aria-label": "Closer", onclick: () => cloth.zoom(1.4) }, "+")),
    palette: el("div", { class: "palette", role: "group", "aria-label": "Yarn to paint with" }),
    keep: el("label", { class: "inline" }, el("input", { type: "checkbox", checked: true, onchange: (event) => { hand.keep = event.target.checked; } }), "Keep what I paint"),
    selected: el("div", { class: "selected", role: "group", "aria-label": "With the selection", hidden: true }, selectionTools(hand)),
    taught: el("input", { type: "number", id: "taught", min: 1, step: 1, placeholder: "telling", onchange: fabric }),
    where: el("p", { id: "where", class: "where" }),
    legend: el("p", { class: "legend quiet" }),
  };
}

/**
 * @param {string} label
 * @param {string[][]} names name, word and title of each
 * @param {(name: string) => void} choose
 */
function group(label, names, choose) {
  return el("div", { class: "pair", role: "group", "aria-label": label }, names.map(([name, word, title]) =>
    el("button", { type: "button", "data-name": name, "aria-pressed": "false", title, onclick: () => choose(name) }, word)));
}

/** @param {HTMLElement} node @param {string} name */
function mark(node, name) {
  for (const button of node.querySelectorAll("button")) button.setAttribute("aria-pressed", String(button.dataset.name === name));
}

/** @param {View} project @param {Why} why */
function show(project, why) {
  if (why === "open") {
    hand.drop();
    hand.cursor = null;
    cloth.fitted = true;
  }
  hand.showChart(project.chart);
  if (hand.yarn !== "." && !project.chart.yarns.some(({ key }) => key === hand.yarn)) hand.yarn = "A";
  cloth.overlay.findings = project.findings;
  cloth.overlay.chosen = null;
  const inside = hand.selection?.every(([r, s]) => r <= cloth.rounds && s <= cloth.stitches);
  if (hand.selection && !inside) hand.drop();
  parts.palette.replaceChildren(...project.chart.yarns.map(colourButton), noStitchButton());
  parts.legend.replaceChildren(...legendOf(project));
  refresh();
  if (why !== "draft") fabric();
}

/** @param {View["chart"]["yarns"][number]} yarn @param {number} index */
function colourButton({ key, name, colour }, index) {
  const hint = index < 10 ? ` (${(index + 1) % 10})` : "";
  return el("button", { type: "button", "data-name": key, "aria-pressed": "false", title: name + hint, onclick: () => hand.takeYarn(key) }, swatch(colour), el("span", {}, name));
}

/** Some charts are not all stitches: a crown's wedges, a thumb's gap. */
function noStitchButton() {
  return el("button", { type: "button", "data-name": ".", "aria-pressed": "false", title: "No stitch here (.)", onclick: () => hand.takeYarn(".") }, el("span", { class: "swatch none" }), el("span", {}, "no stitch"));
}

/**
 * What the signs on this chart mean, those that are on it.
 * @param {View} view
 */
function legendOf({ chart, counts }) {
  const signs = [
    { kind: "catch", words: "catch", there: chart.catches.length },
    { kind: "kept", words: "kept", there: chart.fixed },
    { kind: "wrong", words: "not knittable", there: counts.error },
  ];
  return signs.filter(({ there }) => there).map(({ kind, words }) => el("span", {}, sign(kind), words));
}

/**
 * The hand did something: findings of a stroke under way, or a wish, or just another place.
 * @param {Found | null} [found]
 * @param {string} [wish]
 */
function heard(found, wish) {
  if (found) {
    cloth.overlay.findings = found.findings;
    showFindings(found);
    cloth.draw();
  }
  if (wish === "next") nextFinding();
  if (parts) refresh();
}

function refresh() {
  mark(parts.tools, hand.tool);
  mark(parts.palette, ["look", "keep"].includes(hand.tool) ? "" : hand.yarn);
  parts.keep.hidden = !PAINTING.includes(hand.tool);
  const tool = TOOLS.find(([name]) => name === hand.tool);
  parts.where.textContent = hand.placing ? placingWords() : hand.words() || (tool?.[3] ?? "");
  showSelected();
}

function showSelected() {
  parts.selected.hidden = view !== "chart" || hand.tool !== "select";
  showSelection(parts.selected, hand);
}

/**
 * Go to a finding on the chart.
 * @param {Finding} finding
 */
export function jumpTo(finding) {
  look("chart");
  cloth.overlay.chosen = finding;
  if (!finding.round) return cloth.draw();
  const stitch = finding.stitch ?? Math.ceil(cloth.stitches / 2);
  cloth.reveal(finding.round, stitch, true);
  hand.cursor = [finding.round, stitch];
  hand.show();
  cloth.canvas.focus({ preventScroll: true });
  return refresh();
}

/** @param {string} name */
function look(name) {
  view = name;
  mark(parts.tabs, name);
  const charted = name === "chart";
  parts.canvas.hidden = !charted;
  parts.tools.hidden = parts.hands.hidden = parts.under.hidden = !charted;
  showSelected();
  parts.picture.hidden = parts.drawing.hidden = true;
  parts.teach.hidden = name !== "strands";
  parts.frame.classList.toggle("page", name === "strands");
  parts.frame.tabIndex = name === "strands" ? 0 : -1; // it scrolls then, by keys too
  parts.frame.hidden = name === "garment";
  parts.garment.hidden = name !== "garment";
  if (!charted) fabric();
}

function wantedNow() {
  const round = view === "strands" && parts.taught.value ? `&round=${clamp(Math.round(Number(parts.taught.value)), 1, cloth.rounds)}` : "";
  return `/api/projects/${model.project?.id}/see/${view}?at=${model.project?.revision}${round}`;
}

/**
 * The fabric's picture, fetched only while it is looked at.
 * @returns {unknown}
 */
function fabric() {
  if (view === "chart" || !model.project) return;
  if (view === "garment") {
    showGarment();
    return;
  }
  const { chart } = model.project;
  const wanted = wantedNow();
  parts.picture.alt = view === "strands" ? `How the yarns run in a round: ${chart.title}` : `The ${view} of the fabric: ${chart.title}`;
  if (wanted === pictured) return seen(true);
  parts.drawing.textContent = `Drawing ${view === "strands" ? "how the yarns run" : `the ${view} of the fabric`} …`;
  seen(pictured.includes(`/${view}?`));
  parts.picture.classList.add("working");
  return attempt(async () => {
    const { url } = await image(wanted);
    if (wanted !== wantedNow()) return URL.revokeObjectURL(url);
    if (parts.picture.src) URL.revokeObjectURL(parts.picture.src);
    parts.picture.src = url;
    pictured = wanted;
    return seen(true);
  }).finally(() => parts.picture.classList.remove("working"));
}

/**
 * Show the fabric, or that it is being drawn.
 * @param {boolean} drawn
 */
function seen(drawn) {
  parts.picture.hidden = !drawn;
  parts.drawing.hidden = drawn;
}
