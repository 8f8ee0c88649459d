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

const PAINTING = ["paint", "line", "box", "fill"];
const VIEWS = [["chart", "Chart"], ["front", "Front"], ["back", "Back"], ["strands", "Strands"], ["garment", "Garment"]];
let cloth = null;
let hand = null;
let parts = null;
let view = "chart";
let pictured = "";

export function setUpStage(place) {
  const canvas = el("canvas", { id: "cloth", tabindex: "0", role: "application", "aria-label": "The chart, stitch by stitch", "aria-describedby": "where" });
  cloth = new Cloth(canvas, model.desk.symbols);
  hand = new Hand(cloth, heard);
  const picture = el("img", { class: "fabric", alt: "", hidden: true });
  parts = {
    picture, canvas,
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
  place.append(
    parts.tabs, parts.tools,
    el("div", { class: "hands" }, parts.palette, parts.keep),
    parts.selected,
    el("div", { class: "teach row", hidden: true }, el("label", { for: "taught" }, "How the yarns run in round"), parts.taught, el("small", {}, "All of it is under “Print and save”.")),
    el("div", { class: "frame", role: "group", "aria-label": "The chart or its fabric" }, canvas, picture, parts.drawing),
    el("div", { class: "under" }, parts.where, parts.legend, parts.zoom));
  parts.frame = place.querySelector(".frame");
  parts.teach = place.querySelector(".teach");
  parts.garment = setUpGarment(place);
  parts.hands = place.querySelector(".hands");
  parts.under = place.querySelector(".under");
  place.addEventListener("keydown", (event) => {
    if (view === "chart" && cloth.chart) press(hand, event);
  });
  model.onProject(show);
  hand.take("look");
  look("chart");
}

function group(label, names, choose) {
  return el("div", { class: "pair", role: "group", "aria-label": label }, names.map(([name, word, title]) =>
    el("button", { type: "button", "data-name": name, "aria-pressed": "false", title, onclick: () => choose(name) }, word)));
}

function mark(node, name) {
  for (const button of node.children) button.setAttribute("aria-pressed", String(button.dataset.name === name));
}

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

function colourButton({ key, name, colour }, index) {
  const hint = index < 10 ? ` (${(index + 1) % 10})` : "";
  return el("button", { type: "button", "data-name": key, "aria-pressed": "false", title: name + hint, onclick: () => hand.takeYarn(key) }, swatch(colour), el("span", {}, name));
}

/** Some charts are not all stitches: a crown's wedges, a thumb's gap. */
function noStitchButton() {
  return el("button", { type: "button", "data-name": ".", "aria-pressed": "false", title: "No stitch here (.)", onclick: () => hand.takeYarn(".") }, el("span", { class: "swatch none" }), el("span", {}, "no stitch"));
}

/** What the signs on this chart mean, those that are on it. */
function legendOf({ chart, counts }) {
  return [["catch", "catch", chart.catches.length], ["kept", "kept", chart.fixed], ["wrong", "not knittable", counts.error]]
    .filter(([, , there]) => there).map(([kind, words]) => el("span", {}, sign(kind), words));
}

/** The hand did something: findings of a stroke under way, or a wish, or just another place. */
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
  parts.where.textContent = hand.placing ? placingWords() : hand.words() || tool[3];
  showSelected();
}

function showSelected() {
  parts.selected.hidden = view !== "chart" || hand.tool !== "select";
  showSelection(parts.selected, hand);
}

/** Go to a finding on the chart. */
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
  const round = view === "strands" && parts.taught.value ? `&round=${clamp(Math.round(parts.taught.value), 1, cloth.rounds)}` : "";
  return `/api/projects/${model.project?.id}/see/${view}?at=${model.project?.revision}${round}`;
}

/** The fabric's picture, fetched only while it is looked at. */
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

/** Show the fabric, or that it is being drawn. */
function seen(drawn) {
  parts.picture.hidden = !drawn;
  parts.drawing.hidden = drawn;
}
