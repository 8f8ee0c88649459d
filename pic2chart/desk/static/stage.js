// @ts-check
// The middle of the desk: the thing as knitted, its charts or its fabric; tools, yarns, the selection's own.

import { el, swatch } from "./dom.js";
import * as model from "./model.js";
import { Cloth } from "./cloth.js";
import { compareButtons, setUpCompare } from "./compare.js";
import { setUpFabric, showFabric, taughtField } from "./fabric.js";
import { Hand } from "./hand.js";
import { press, sign, TOOLS } from "./keys.js";
import { onAway } from "./net.js";
import { nextFinding, showFindings } from "./says.js";
import { placingWords, selectionTools, showSelection } from "./selection.js";
import { canSlide, slideOn } from "./slide.js";
import * as thing from "./thing.js";
import { Worn } from "./worn.js";
import { WornHand } from "./worn_hand.js";
/** @import { Finding, Found, Place, View, Why } from "./shapes" */

const PAINTING = ["paint", "line", "box", "fill"];
const ON_WORN = ["look", "paint", "slide"];
const VIEWS = [["front", "As knitted"], ["chart", "Chart"], ["back", "Inside"], ["strands", "Yarn paths"], ["pattern", "In words"]];
/** @type {Cloth} */
let cloth;
/** @type {Hand} */
let hand;
/** @type {Worn} */
let worn;
/** @type {WornHand} */
let wornHand;
/** @type {ReturnType<typeof partsOf> & { frame: HTMLElement, teach: HTMLElement, hands: HTMLElement, under: HTMLElement }} */
let parts;
let view = "chart";

/** @param {HTMLElement} place */
export function setUpStage(place) {
  const canvas = el("canvas", { id: "cloth", tabindex: "0", role: "application", "aria-label": "The chart, stitch by stitch", "aria-describedby": "where" });
  const whole = el("canvas", { id: "worn", tabindex: "0", role: "application", "aria-label": "The thing as it will be knitted: arrow keys move the mark, Space paints", "aria-describedby": "where", hidden: true });
  cloth = new Cloth(canvas, model.desk.symbols);
  hand = new Hand(cloth, heard);
  worn = new Worn(whole);
  wornHand = new WornHand(worn, hand, refresh);
  const made = partsOf(canvas, whole);
  const hands = el("div", { class: "hands" }, made.palette, made.keep, made.both);
  const teach = el("div", { class: "teach row", hidden: true }, taughtField());
  const frame = el("div", { class: "frame", role: "group", "aria-label": "What is made, or its fabric" }, canvas, whole, ...setUpFabric(), el("p", { class: "anew", "aria-hidden": "true" }, "Knitting it anew …"));
  const under = el("div", { class: "under" }, made.where, made.legend, compareButtons(), made.zoom);
  place.append(el("div", { class: "seen" }, made.tabs, made.sides, made.pieces), el("div", { class: "seen" }, made.tools, hands), made.selected, teach, made.refused, frame, under);
  parts = { ...made, frame, teach, hands, under };
  slideOn(hand, cloth);
  slideOn(hand, worn);
  setUpCompare(frame, cloth, worn, () => view);
  sayWhenOld(frame);
  place.addEventListener("keydown", (event) => {
    const target = /** @type {Element} */ (event.target);
    if (target.matches("input, select") || (target.matches("button") && [" ", "Enter"].includes(event.key))) return;
    if (onWorn()) {
      if (wornHand.press(event)) event.preventDefault();
    } else if (view === "chart" && cloth.shown) press(hand, event);
  });
  model.onProject(show);
  thing.onThing(showThing);
  thing.onPiece(() => {
    hand.drop();
    hand.cursor = null;
    cloth.fitted = true;
    showPiece();
  });
  hand.take("look");
  look("chart");
}

/** What is shown is of before the last change: say so, for a stroke on the photo takes a while to be knitted. @param {HTMLElement} frame */
function sayWhenOld(frame) {
  let [saving, away, looking] = [false, false, false];
  const say = () => frame.setAttribute("aria-busy", String((saving && !away) || looking));
  model.onBusy((now) => { saving = now; say(); });
  onAway((now) => { away = now; say(); });
  thing.onLooking((now) => { looking = now; say(); });
}

/** The thing as knitted is in sight, not a picture of a chart's fabric. */
const onWorn = () => view === "front" && Boolean(thing.thing);

/** @param {HTMLCanvasElement} canvas @param {HTMLCanvasElement} whole */
function partsOf(canvas, whole) {
  const zoom = (/** @type {number} */ factor) => (onWorn() ? worn : cloth).zoom(factor);
  return {
    canvas,
    whole,
    tabs: group("What to see", VIEWS, (name) => look(name)),
    sides: el("div", { class: "pair", role: "group", "aria-label": "Side", hidden: true }),
    pieces: el("div", { class: "pair", role: "group", "aria-label": "Piece", hidden: true }),
    tools: group("Tools", TOOLS.map(([name, word, key, does]) => [name, word, `${does} (${key})`]), (name) => hand.take(name)),
    zoom: el("div", { class: "pair zoom", role: "group", "aria-label": "Closer or further" },
      el("button", { type: "button", "aria-label": "Further away", onclick: () => zoom(1 / 1.4) }, "−"),
      el("button", { type: "button", "aria-label": "All of it", onclick: () => (onWorn() ? worn : cloth).fit() }, "All"),
      el("button", { type: "button", "aria-label": "Closer", onclick: () => zoom(1.4) }, "+")),
    palette: el("div", { class: "palette", role: "group", "aria-label": "Yarn to paint with" }),
    keep: el("label", { class: "inline" }, el("input", { type: "checkbox", checked: true, onchange: (event) => { hand.keep = event.target.checked; } }), "Keep what I paint"),
    both: el("label", { class: "inline", hidden: true }, el("input", { type: "checkbox", id: "both", checked: thing.both, onchange: (event) => thing.setBoth(event.target.checked) }), "On the other hand too, mirrored"),
    selected: el("div", { class: "selected", role: "group", "aria-label": "With the selection", hidden: true }, selectionTools(hand)),
    refused: el("p", { class: "note", id: "refused", hidden: true }),
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
  return el("div", { class: "pair", role: "group", "aria-label": label }, buttonsOf(names, choose));
}

/** @param {string[][]} names @param {(name: string) => void} choose */
function buttonsOf(names, choose) {
  return names.map(([name, word, title]) => el("button", { type: "button", "data-name": name, "aria-pressed": "false", title, onclick: () => choose(name) }, word));
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
    look(project.thing ? "front" : "chart");
  }
  if (!project.thing) showPiece(why);
  else refresh();
}

/** @param {Why} why */
function showThing(why) {
  const { thing: now } = thing;
  parts.refused.hidden = !thing.refused;
  parts.refused.textContent = thing.refused;
  if (now) {
    if (!wornHand.stroke) worn.setThing(now);
    parts.sides.replaceChildren(...buttonsOf(worn.sides.map((side) => [side, side]), (side) => { worn.take(side); mark(parts.sides, side); refresh(); }));
    mark(parts.sides, worn.side);
    parts.pieces.replaceChildren(...buttonsOf(now.pieces.map(({ name, label }) => [name, label]), (name) => thing.takePiece(name)));
  }
  if (!now && model.project?.thing && view === "pattern") view = "front";
  showPiece(why);
  look(view);
}

/** What is in hand: a piece, or the project's own chart. @param {Why} why */
function showPiece(why = "change") {
  if (!model.project) return;
  const now = thing.inHand();
  hand.showChart(now.chart);
  if (hand.yarn !== "." && !now.chart.yarns.some(({ key }) => key === hand.yarn)) hand.yarn = "A";
  cloth.overlay.findings = now.findings;
  cloth.overlay.chosen = null;
  const inside = hand.selection?.every(([r, s]) => r <= cloth.rounds && s <= cloth.stitches);
  if (hand.selection && !inside) hand.drop();
  mark(parts.pieces, thing.piece);
  parts.palette.replaceChildren(...now.chart.yarns.map(colourButton), ...(thing.pieceNow() ? [] : [noStitchButton()]));
  parts.legend.replaceChildren(...legendOf(now));
  refresh();
  if (why !== "draft") showFabric(view);
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
 * @param {{ chart: View["chart"], counts: View["counts"] }} now
 */
function legendOf({ chart, counts }) {
  const signs = [
    { kind: "catch", words: "catch", there: chart.catches.length },
    { kind: "kept", words: "painted", there: chart.fixed },
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
    showFindings(thing.found(found));
    cloth.draw();
  }
  if (wish === "next") nextFinding();
  if (parts) refresh();
}

function refresh() {
  const { tool } = hand;
  const painting = onWorn() ? ON_WORN.includes(tool) ? tool : "look" : tool;
  mark(parts.tools, painting);
  for (const button of parts.tools.querySelectorAll("button")) {
    const { name = "" } = button.dataset;
    button.hidden = (onWorn() && !ON_WORN.includes(name)) || (name === "slide" && !canSlide());
  }
  mark(parts.palette, ["look", "keep"].includes(painting) ? "" : hand.yarn);
  parts.whole.dataset.tool = painting;
  parts.keep.hidden = !PAINTING.includes(tool) || Boolean(thing.thing);
  parts.both.hidden = !PAINTING.includes(tool) || !thing.thing?.pieces.some(({ other }) => other);
  const words = onWorn() ? wornHand.words() : hand.placing ? placingWords() : hand.words();
  parts.where.textContent = words || (TOOLS.find(([name]) => name === painting)?.[3] ?? "");
  showSelected();
}

function showSelected() {
  parts.selected.hidden = view !== "chart" || hand.tool !== "select";
  showSelection(parts.selected, hand);
}

/**
 * Go to a finding on its chart.
 * @param {Finding} finding
 */
export function jumpTo(finding) {
  if (finding.piece) thing.takePiece(finding.piece);
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
  const [charted, made] = [name === "chart", Boolean(thing.thing)];
  parts.tabs.querySelectorAll("button").forEach((button) => { if (button.dataset.name === "pattern") button.hidden = !made && Boolean(model.project?.thing); });
  parts.canvas.hidden = !charted;
  parts.whole.hidden = !onWorn();
  parts.tools.hidden = parts.hands.hidden = parts.under.hidden = !charted && !onWorn();
  parts.legend.hidden = !charted;
  parts.sides.hidden = !onWorn() || worn.sides.length < 2;
  parts.pieces.hidden = !made || name === "front" || name === "pattern" || (thing.thing?.pieces.length ?? 0) < 2;
  parts.teach.hidden = name !== "strands";
  parts.frame.classList.toggle("page", name === "strands" || name === "pattern");
  parts.frame.tabIndex = name === "strands" || name === "pattern" ? 0 : -1; // it scrolls then, by keys too
  refresh();
  showFabric(name);
}
