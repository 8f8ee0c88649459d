// The middle of the desk: chart or fabric, tools, yarns to paint with, the selection's own tools.

import { ask, el, swatch } from "./dom.js";
import { attempt, image } from "./net.js";
import * as model from "./model.js";
import { Cloth } from "./cloth.js";
import { corners } from "./geometry.js";
import { Hand, TOOLS } from "./hand.js";
import { setUpGarment, showGarment } from "./garment.js";
import { nextFinding, showFindings } from "./says.js";

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
    tabs: group("What to see", VIEWS, (name) => look(name)),
    tools: group("Tools", TOOLS.map(([name, word]) => [name, word]), (name) => hand.take(name)),
    zoom: el("div", { class: "pair", role: "group", "aria-label": "Closer or further" },
      el("button", { type: "button", "aria-label": "Further away", onclick: () => cloth.zoom(1 / 1.4) }, "−"),
      el("button", { type: "button", "aria-label": "The whole chart", onclick: () => cloth.fit() }, "Whole"),
      el("button", { type: "button", "aria-label": "Closer", onclick: () => cloth.zoom(1.4) }, "+")),
    palette: el("div", { class: "palette", role: "group", "aria-label": "Yarn to paint with" }),
    keep: el("label", { class: "inline" }, el("input", { type: "checkbox", checked: true, onchange: (event) => { hand.keep = event.target.checked; } }), "Keep what I paint"),
    selected: el("div", { class: "selected", role: "group", "aria-label": "With the selection", hidden: true }, selectionTools()),
    where: el("p", { id: "where", class: "where" }),
  };
  place.append(
    el("div", { class: "row bar" }, parts.tabs, parts.zoom),
    el("div", { class: "row bar hands" }, parts.tools, parts.palette, parts.keep),
    parts.selected,
    el("div", { class: "frame" }, canvas, picture), parts.where);
  parts.frame = place.querySelector(".frame");
  parts.garment = setUpGarment(place);
  parts.hands = place.querySelector(".hands");
  model.onProject(show);
  hand.take("look");
  look("chart");
}

function group(label, names, choose) {
  return el("div", { class: "pair", role: "group", "aria-label": label }, names.map(([name, word]) =>
    el("button", { type: "button", "data-name": name, "aria-pressed": "false", onclick: () => choose(name) }, word)));
}

function press(node, name) {
  for (const button of node.children) button.setAttribute("aria-pressed", String(button.dataset.name === name));
}

function show(project, why) {
  if (why === "open") {
    hand.drop();
    hand.cursor = null;
    cloth.fitted = true;
  }
  if (!hand.stroke?.cells) cloth.setChart(project.chart);
  if (!project.chart.yarns.some(({ key }) => key === hand.yarn)) hand.yarn = "A";
  cloth.overlay.findings = project.findings;
  cloth.overlay.chosen = null;
  const inside = hand.selection?.every(([r, s]) => r <= cloth.rounds && s <= cloth.stitches);
  if (hand.selection && !inside) hand.drop();
  parts.palette.replaceChildren(...project.chart.yarns.map(colourButton));
  refresh();
  if (why !== "draft") fabric();
}

function colourButton({ key, name, colour }, index) {
  const hint = index < 10 ? ` (${(index + 1) % 10})` : "";
  return el("button", { type: "button", "data-name": key, "aria-pressed": "false", title: name + hint, onclick: () => hand.takeYarn(key) }, swatch(colour), el("span", {}, name));
}

/** The hand did something: findings of a stroke under way, or a wish, or just another place. */
function heard(found, wish) {
  if (found) {
    cloth.overlay.findings = found.findings;
    showFindings(found);
    cloth.draw();
  }
  if (wish === "next") nextFinding();
  if (wish === "delete") remove("round");
  if (parts) refresh();
}

function refresh() {
  press(parts.tools, hand.tool);
  press(parts.palette, hand.tool === "look" || hand.tool === "select" || hand.tool === "keep" ? "" : hand.yarn);
  parts.keep.hidden = !["paint", "line", "box", "fill"].includes(hand.tool);
  const tool = TOOLS.find(([name]) => name === hand.tool);
  parts.where.textContent = hand.placing ? "Choose where its lower right corner goes." : hand.words() || tool[3];
  showSelected();
}

/** The selection's tools stand there as long as one selects, so that nothing moves under the hand. */
function selectionTools() {
  const button = (word, does) => el("button", { type: "button", class: "small", onclick: () => does(hand.selection) }, word);
  const place = (box, axis) => { const [low, high] = corners(box); return { at: low[axis], count: high[axis] - low[axis] + 1 }; };
  return [
    el("span", { class: "extent" }),
    button("Copy to …", () => hand.carry(false)),
    button("Move to …", () => hand.carry(true)),
    button("Mirror", (box) => hand.ask({ kind: "mirror", box, axis: "left-right" })),
    button("Upside down", (box) => hand.ask({ kind: "mirror", box, axis: "upside-down" })),
    button("Repeat …", repeat),
    button("Fill", (box) => hand.ask({ kind: "paint", yarn: hand.yarn, box, keep: hand.keep })),
    button("Keep", (box) => hand.ask({ kind: "fix", box, on: true })),
    button("Let go", (box) => hand.ask({ kind: "fix", box, on: false })),
    button("Insert rounds", (box) => hand.ask({ kind: "insert", what: "round", ...place(box, 0) })),
    button("Insert columns", (box) => hand.ask({ kind: "insert", what: "stitch", ...place(box, 1) })),
    button("Delete rounds", () => remove("round")),
    button("Delete columns", () => remove("stitch")),
  ];
}

function showSelected() {
  parts.selected.hidden = view !== "chart" || hand.tool !== "select";
  const box = hand.placing ? null : hand.selection;
  for (const button of parts.selected.querySelectorAll("button")) button.disabled = !box;
  const [low, high] = box ? corners(box) : [[1, 1], [0, 0]];
  parts.selected.firstChild.textContent = box ? `${high[1] - low[1] + 1} × ${high[0] - low[0] + 1}` : "None yet";
}

async function repeat(box) {
  const count = (id, words) => el("div", { class: "field" }, el("label", { for: id }, words), el("input", { id, type: "number", min: 0, max: 1000, value: 0 }));
  const body = [el("p", {}, "How many times in all? 0 goes on to the chart's edge."), count("times-across", "Across, to the left"), count("times-up", "Upwards")];
  if (!(await ask("Repeat the selection", body, [["Repeat", true], ["Leave it", false]]))) return;
  const number = (id) => Math.round(Number(document.getElementById(id).value)) || 0;
  hand.ask({ kind: "repeat", box, across: number("times-across"), up: number("times-up") });
}

function remove(what) {
  const [low, high] = corners(hand.selection);
  const axis = what === "round" ? 0 : 1;
  hand.ask({ kind: "delete", what, at: low[axis], count: high[axis] - low[axis] + 1 });
  hand.drop();
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
  if (window.innerWidth < 1080) document.getElementById("chart").scrollIntoView({ block: "start" });
  cloth.canvas.focus({ preventScroll: true });
  return refresh();
}

function look(name) {
  view = name;
  press(parts.tabs, name);
  const charted = name === "chart";
  parts.canvas.hidden = !charted;
  parts.hands.hidden = parts.zoom.hidden = parts.where.hidden = !charted;
  showSelected();
  parts.picture.hidden = charted;
  parts.frame.hidden = name === "garment";
  parts.garment.hidden = name !== "garment";
  if (!charted) fabric();
}

/** The fabric's picture, fetched only while it is looked at. */
function fabric() {
  if (view === "chart" || !model.project) return;
  if (view === "garment") {
    showGarment();
    return;
  }
  const { id, revision, chart } = model.project;
  const wanted = `/api/projects/${id}/see/${view}?at=${revision}`;
  parts.picture.alt = view === "strands" ? `How the yarns run in two rounds: ${chart.title}` : `The ${view} of the fabric: ${chart.title}`;
  if (wanted === pictured && parts.picture.src) return;
  pictured = wanted;
  parts.picture.classList.add("working");
  attempt(async () => {
    const { url } = await image(wanted);
    if (parts.picture.src) URL.revokeObjectURL(parts.picture.src);
    parts.picture.src = url;
  }).finally(() => parts.picture.classList.remove("working"));
}
