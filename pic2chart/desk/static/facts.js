// @ts-check
// What the chart comes to: likeness, size, contrast, amounts, floats, and how to hold the yarns.

import { clamp, el, many, swatch } from "./dom.js";
import { attempt, get } from "./net.js";
import * as model from "./model.js";
import { floatPicture } from "./explain.js";
import * as thing from "./thing.js";
/** @import { Amount, Children, Facts, InHand, Report, ThingView, View } from "./shapes" */

const PAUSE = 350;
const VERDICTS = { strong: "reads well", reads: "reads", soft: "soft", spoiled: "spoiled", alike: "too close" };
/** @typedef {"times" | "ball" | "swatch_grams" | "swatch_cm2"} Bought */
/** @type {Record<Bought, number | "">} */
const buying = { times: 1, ball: 50, swatch_grams: "", swatch_cm2: 100 };
/** @type {Record<Bought, [low: number, high: number]>} */
const RANGES = { times: [1, 1000], ball: [1, 5000], swatch_grams: [0.5, 5000], swatch_cm2: [20, 100000] };
const FLOATS = "Floats and catches";
const closed = new Set(["Take care", "How to hold the yarns", "Contrast", FLOATS]);
const DEFAULTS = { ...buying };
/** @type {HTMLElement} */
let place;
/** @type {Facts | null} */
let measured = null;
let timer = 0;

/** @param {HTMLElement} parent */
export function setUpFacts(parent) {
  place = el("div", { class: "facts" });
  parent.append(place);
  model.onProject((view, why) => {
    if (why === "open") measured = null;
    if (!view.thing) refresh(why);
  });
  thing.onThing(refresh);
}

/** @param {string} why */
function refresh(why) {
  if (model.project) draw(model.project);
  clearTimeout(timer);
  timer = setTimeout(measure, why === "draft" ? 4 * PAUSE : measured ? PAUSE : 0);
}

/** Contrast and amounts are asked for a moment later, so that painting never waits for them. */
async function measure() {
  const view = model.project;
  if (!view || view.draft) return;
  const query = new URLSearchParams(Object.entries(buying).filter(([, value]) => value !== "").map(([name, value]) => [name, String(value)]));
  await attempt(async () => {
    measured = await get(`/api/projects/${view.id}/${thing.thing ? "thing/" : ""}facts?${query}`);
  });
  if (model.project?.id === view.id) draw(model.project);
}

/** @param {View} view */
function draw(view) {
  const focused = document.activeElement?.id;
  const { thing: made } = thing;
  const now = thing.inHand();
  const parts = [
    made ? null : likenessOf(view),
    made ? section("Measures", measuresOf(made)) : section("Size", sizeOf(now.report)),
    measured ? section("Contrast", pairsOf(now, measured)) : null,
    measured ? section("Yarn needed", amountsOf(measured)) : null,
    section(FLOATS, floatsOf(now.report), floatPicture()),
    section("How to hold the yarns", el("ul", {}, now.report.strands.map((words) => el("li", {}, words)))),
    section("Take care", careOf()),
  ];
  place.replaceChildren(...parts.filter((part) => part !== null));
  if (focused && place.querySelector(`#${CSS.escape(focused)}`)) document.getElementById(focused)?.focus();
}

/** @param {string} title @param {Children} inner */
function section(title, ...inner) {
  return el("details", { open: !closed.has(title), class: "group", ontoggle: (event) => {
    if (event.target.open) closed.delete(title);
    else closed.add(title);
  } }, el("summary", {}, title), ...inner);
}

/** @param {[name: string, value: string | number | Node | null | undefined][]} pairs */
function table(pairs) {
  return el("dl", { class: "table" }, pairs.filter(([, value]) => value !== null && value !== undefined)
    .map(([name, value]) => el("div", {}, el("dt", {}, name), el("dd", {}, value))));
}

/**
 * Known when the chart was made; after changes by hand it is measured again.
 * @param {View} view
 */
function likenessOf({ made, follows }) {
  const told = made.likeness?.chart ? made.likeness : follows && made.likeness ? measured?.likeness : null;
  if (!told?.chart) return null;
  const { chart, ceiling, words } = told;
  const value = (/** @type {typeof ceiling} */ scores) => Math.round(100 * (scores.subject ?? scores.whole).ssim);
  const [most, now] = [el("i", { class: "most" }), el("i", { class: "now" })];
  most.style.width = `${value(ceiling)}%`;
  now.style.width = `${value(chart)}%`;
  const bar = el("div", { class: "likeness", role: "img", "aria-label": `Likeness ${value(chart)} of 100; ${value(ceiling)} without rules` }, most, now);
  const gap = typeof made.gap === "number" ? el("p", { class: "help" }, `Proved: no chart under these rules is closer by more than ${(100 * made.gap).toFixed(1)}%.`) : null;
  return section("Likeness", el("p", { class: "slim" }, words), bar, gap);
}

/** @param {Report} report */
function sizeOf(report) {
  return table([
    ["Stitches", `${report.stitches} across, ${report.rounds} ${report.worked === "round" ? "rounds" : "rows"}`],
    ["Measures", `${report.width_cm.toFixed(1)} × ${report.height_cm.toFixed(1)} cm`],
    ["In all", many(report.live, "stitch")],
    ...report.yarns.map((yarn) => /** @type {[string, string]} */ ([`of ${yarn.name}`, `${yarn.stitches} (${Math.round(yarn.share * 100)}%)`])),
  ]);
}

/** What each side of the thing measures. @param {ThingView} made */
function measuresOf({ views }) {
  return table(views.filter(({ side }, i) => views.findIndex((other) => other.side === side) === i).map(({ caption, side, facts }) =>
    /** @type {[string, Node]} */ ([side === caption ? caption : side, el("span", {}, facts.map((words) => el("small", {}, words)))])));
}

/**
 * @param {InHand} now
 * @param {Facts} facts
 */
function pairsOf({ chart, report }, facts) {
  const yarns = new Map(chart.yarns.map((one) => [one.name, one]));
  const shared = (/** @type {string} */ a, /** @type {string} */ b) => report.pairs.find(({ first, second }) => (first === a && second === b) || (first === b && second === a))?.rounds ?? 0;
  return el("ul", { class: "pairs" }, facts.pairs.map((pair) => {
    const [first, second] = [yarns.get(pair.first), yarns.get(pair.second)];
    if (!first || !second) return null;
    const names = [pair.first, pair.second];
    const together = shared(pair.first, pair.second);
    return el("li", {},
      el("span", { class: "against" }, [first, second].map(({ colour, name }) => swatch(colour, name)), [first, second].map(({ grey, name }) => swatch(grey, `${name}, in grey`))),
      el("span", {}, el("strong", {}, VERDICTS[pair.verdict]), `: ${names.join(" and ")}`,
        el("small", {}, `${pair.reason} ${together ? `Together in ${many(together, "round")}.` : "They never meet in a round."} Single stitches read to about ${pair.reads_to_m.single} m (a margin from memory).`)));
  }));
}

/** @param {Facts} facts */
function amountsOf({ amounts }) {
  const number = (/** @type {Bought} */ name, /** @type {string} */ words) => el("label", { class: "inline apart" }, words, el("input", { id: `buy-${name}`, type: "number", min: RANGES[name][0], max: RANGES[name][1], step: name === "times" ? 1 : 0.5, placeholder: "–", value: buying[name], onchange: (event) => {
    const value = Number(event.target.value);
    buying[name] = value ? clamp(name === "times" ? Math.round(value) : value, ...RANGES[name]) : DEFAULTS[name];
    measure();
  } }));
  const stock = (/** @type {Amount} */ { short_g: short, stock_g: held, balls }) => short ? `${many(balls, "ball")}, ${short.toFixed(0)} g short` : held ? "you have enough" : many(balls, "ball");
  return el("div", {},
    table(amounts.yarns.map((yarn) => /** @type {[string, Node]} */ ([yarn.name, el("span", {}, `${yarn.metres.toFixed(0)} m, ${yarn.grams < 0.5 ? "under 1" : yarn.grams.toFixed(0)} g`, el("small", {}, stock(yarn)))]))),
    number("times", "How many to knit"), number("ball", "Grams a ball"), number("swatch_grams", "A swatch weighs, grams"), number("swatch_cm2", "and covers, square cm"),
    amounts.remarks.map((words) => el("p", { class: "help" }, words)));
}

/** @param {Report} report */
function floatsOf(report) {
  return table([
    ["Longest float", many(report.longest_float, "stitch")],
    ["Longest uncaught", `${many(report.longest_uncaught, "stitch")} (limit ${report.float_limit})`],
    ["Catches", report.catches],
    ["Stitches the rules moved", report.moved],
    ["Single stitches", report.isolated],
    ["Ends to weave in", report.ends],
  ]);
}

function careOf() {
  return el("ul", {}, model.desk.cautions.map((words) => el("li", {}, words)));
}
