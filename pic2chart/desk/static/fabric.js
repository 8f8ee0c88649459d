// @ts-check
// What is looked at and not painted: the fabric's two sides, how the yarns run, the pattern in words.

import { clamp, el } from "./dom.js";
import { attempt, get, image } from "./net.js";
import * as model from "./model.js";
import * as thing from "./thing.js";
/** @import { Section } from "./shapes" */

const picture = el("img", { class: "fabric", alt: "", hidden: true });
const drawing = el("p", { class: "drawing quiet", hidden: true }, "Drawing …");
const pattern = el("div", { class: "pattern", hidden: true });
const taught = el("input", { type: "number", id: "taught", min: 1, step: 1, placeholder: "any", onchange: () => showFabric(view) });
let view = "chart";
let pictured = "";

/** What lies in the frame beside the canvases. */
export function setUpFabric() {
  thing.onThing(() => tellPattern(thing.thing?.pattern ?? []));
  return [picture, drawing, pattern];
}

/** @param {Section[]} sections */
function tellPattern(sections) {
  pattern.replaceChildren(...sections.map(({ heading, lines }) =>
    el("section", {}, el("h3", {}, heading), el("ul", {}, lines.map((line) => el("li", {}, line))))));
}

/** A chart's own words; those of a thing come with it. */
async function tellChart() {
  const { id, revision } = model.opened();
  const words = await attempt(() => get(`/api/projects/${id}/words?at=${revision}`));
  if (words && model.project?.id === id && model.project.revision === revision) tellPattern(words);
}

/** Which round is shown, for those who teach. */
export function taughtField() {
  return [el("label", { for: "taught" }, "How the yarns run in round"), taught, el("small", {}, "All of it is under “Print and save”.")];
}

/**
 * Show what this view has that must be fetched; fetched only while it is looked at.
 * @param {string} name of the view
 * @returns {unknown}
 */
export function showFabric(name) {
  view = name;
  pattern.hidden = name !== "pattern";
  if (name === "pattern" && model.project && !model.project.thing) tellChart();
  if (name === "front" && model.project?.thing && !thing.thing && !thing.refused) { // it is being made
    drawing.textContent = "Knitting it …";
    picture.hidden = true;
    drawing.hidden = false;
    return null;
  }
  const fetched = Boolean(model.project) && (["back", "strands"].includes(name) || (name === "front" && !thing.thing));
  if (!fetched) {
    picture.hidden = drawing.hidden = true;
    return null;
  }
  const { title } = thing.inHand().chart;
  const what = name === "strands" ? "how the yarns run" : `the ${name} of the fabric`;
  picture.alt = name === "strands" ? `How the yarns run in a round: ${title}` : `The ${name} of the fabric: ${title}`;
  const wanted = address();
  if (wanted === pictured) return seen(true);
  drawing.textContent = `Drawing ${what} …`;
  seen(pictured.includes(`/${name}?`));
  picture.classList.add("working");
  return attempt(async () => {
    const { url } = await image(wanted);
    if (wanted !== address()) return URL.revokeObjectURL(url);
    if (picture.src) URL.revokeObjectURL(picture.src);
    picture.src = url;
    pictured = wanted;
    return seen(true);
  }).finally(() => picture.classList.remove("working"));
}

function address() {
  const { id, revision } = model.opened();
  const query = new URLSearchParams({ at: String(revision) });
  if (view === "strands" && taught.value) query.set("round", String(clamp(Math.round(Number(taught.value)), 1, thing.inHand().chart.rows.length)));
  if (!thing.thing) return `/api/projects/${id}/see/${view}?${query}`;
  query.set("piece", thing.piece);
  return `/api/projects/${id}/thing/picture/${view}?${query}`;
}

/** Show the fabric, or that it is being drawn. @param {boolean} drawn */
function seen(drawn) {
  picture.hidden = !drawn;
  drawing.hidden = drawn;
}
