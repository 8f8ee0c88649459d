// @ts-check
// What is made of the project, if more than a chart: its pieces, and the one that is in hand.

import { attempt, post } from "./net.js";
import * as model from "./model.js";
/** @import { Edit, Finding, Found, InHand, PieceView, Settings, ThingView, View, Why } from "./shapes" */

/** The thing as it is, null for a chart. @type {ThingView | null} */
export let thing = null;
/** Why it cannot be made as things stand. */
export let refused = "";
/** The piece that is in hand, '' for the project's own chart. */
export let piece = "";
/** Whether what is painted on one hand is painted on the other one too. */
export let both = true;

/** @typedef {(why: Why) => void} ThingHeard */
/** @type {Set<ThingHeard>} */
const listeners = new Set();
/** @type {Set<() => void>} */
const takers = new Set();

/**
 * Call `heard(why)` whenever the thing shown changes, also from or to none.
 * @param {ThingHeard} heard
 */
export function onThing(heard) {
  listeners.add(heard);
}

/**
 * Call `heard()` when another piece is taken in hand.
 * @param {() => void} heard
 */
export function onPiece(heard) {
  takers.add(heard);
}

/** @type {Set<(looking: boolean) => void>} */
const lookers = new Set();
let asked = 0;

/**
 * Call `heard(true or false)` when the thing begins to be made anew, and when it is there.
 * @param {(looking: boolean) => void} heard
 */
export function onLooking(heard) {
  lookers.add(heard);
}

/** @param {number} by */
function looking(by) {
  asked += by;
  for (const heard of lookers) heard(asked > 0);
}

/** @param {Why} why */
function tellAll(why) {
  for (const heard of listeners) heard(why);
}

/** @param {boolean} wanted */
export function setBoth(wanted) {
  both = wanted;
}

/** What the tools work on. @returns {InHand} */
export function inHand() {
  return pieceNow() ?? model.opened();
}

/** @returns {PieceView | null} */
export const pieceNow = () => thing?.pieces.find(({ name }) => name === piece) ?? null;

/** @param {string} name of a piece, '' for the project's own chart */
export function takePiece(name) {
  if (name === piece) return;
  piece = name;
  for (const heard of takers) heard();
}

/** Follow the project: what is made of it is asked for again whenever it changes. */
export function followProject() {
  model.onProject((view, why) => {
    if (why === "open") forget();
    if (why === "draft") return;
    if (!view.thing) {
      const had = thing || refused || why === "open";
      forget();
      if (had) tellAll(why);
    } else if (view.pieces && thing) {
      thing = { ...thing, pieces: view.pieces, painted: view.thing.painted };
      tellAll(why);
    } else see(view, why);
  });
}

function forget() {
  thing = null;
  refused = "";
  takePiece("");
}

/** @param {View} view @param {Why} why */
async function see(view, why) {
  looking(1);
  const answer = await attempt(() => post(`/api/projects/${view.id}/thing/see`, {})).finally(() => looking(-1));
  if (!answer || model.project?.id !== view.id || model.project.revision !== view.revision) return;
  accept(answer, why);
}

/** @param {ThingView & { refused?: string }} answer @param {Why} why */
function accept(answer, why) {
  refused = answer.refused ?? "";
  thing = refused ? null : answer;
  const names = thing?.pieces.map(({ name }) => name) ?? [];
  if (!names.includes(piece)) takePiece(names[0] ?? "");
  tellAll(why);
}

/**
 * Show what other settings would give, without keeping them.
 * @param {Settings} settings
 */
export function tryOut(settings) {
  if (model.project?.thing) model.draft("thing/see", { settings }, (answer) => answer.refused || accept(answer, "draft"));
  else model.draft("settings", { settings }, (view) => model.show(view, "draft"));
}

/**
 * Another kind of thing, or other options of it; what was asked for stays unless it can be made.
 * @param {string | null} kind
 * @param {Settings} options
 */
export const choose = (kind, options = {}) => attempt(() => model.makeThing({ kind, options }));

/**
 * @param {Edit} edit
 * @param {string} on the piece, '' for the project's own chart
 */
export const editStitches = (edit, on = piece) => on && thing
  ? model.act("thing/edit", { piece: on, edit, both: both && !["fix"].includes(edit.kind) })
  : model.act("edit", { edit });

/**
 * What the checks would say of a change still under way.
 * @param {Edit} edit
 * @param {(found: Found) => void} heard
 */
export const lookAt = (edit, heard) => piece && thing
  ? model.draft("thing/edit", { piece, edit }, heard)
  : model.draft("edit", { edit }, heard);

/** Mend what can be mended: the chart, or every piece that needs it. */
export async function tryMend() {
  if (!thing) return model.act("mend");
  const needy = thing.pieces.filter(({ mendable }) => mendable).map(({ name }) => name);
  for (const name of needy) await model.act("thing/mend", { piece: name });
  return null;
}

/**
 * All that the checks say: of the chart, or of every piece; `fresh` stands for the piece in hand.
 * @param {Found | null} fresh
 * @returns {Found}
 */
export function found(fresh = null) {
  if (!thing) return fresh ?? model.opened();
  const parts = thing.pieces.map((one) => ({ name: one.name, ...(fresh && one.name === piece ? fresh : one) }));
  const counts = { error: 0, warning: 0, note: 0 };
  /** @type {Finding[]} */
  const findings = [];
  for (const part of parts) {
    for (const level of /** @type {const} */ (["error", "warning", "note"])) counts[level] += part.counts[level];
    findings.push(...part.findings.map((finding) => ({ ...finding, piece: part.name })));
  }
  const order = ["error", "warning", "note"];
  findings.sort((a, b) => order.indexOf(a.level) - order.indexOf(b.level));
  return { findings, counts, mendable: parts.some(({ mendable }) => mendable) };
}
