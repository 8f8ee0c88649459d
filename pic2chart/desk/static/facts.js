// What the chart comes to: likeness, size, contrast, amounts, floats, and how to hold the yarns.

import { clamp, el, many, swatch } from "./dom.js";
import { attempt, get } from "./net.js";
import * as model from "./model.js";

const PAUSE = 350;
const VERDICTS = { strong: "reads well", reads: "reads", soft: "soft", spoiled: "spoiled", alike: "too close" };
const buying = { times: 1, ball: 50, swatch_grams: "", swatch_cm2: 100 };
const RANGES = { times: [1, 1000], ball: [1, 5000], swatch_grams: [0.5, 5000], swatch_cm2: [20, 100000] };
const closed = new Set(["Take care", "How to hold the yarns"]);
const DEFAULTS = { ...buying };
let place = null;
let measured = null;
let timer = 0;

export function setUpFacts(parent) {
  place = el("div", { class: "facts" });
  parent.append(place);
  model.onProject((view, why) => {
    if (why === "open") measured = null;
    draw(view);
    clearTimeout(timer);
    timer = setTimeout(measure, why === "draft" ? 4 * PAUSE : measured ? PAUSE : 0);
  });
}

/** Contrast and amounts are asked for a moment later, so that painting never waits for them. */
async function measure() {
  const view = model.project;
  if (!view || view.draft) return;
  const query = new URLSearchParams(Object.entries(buying).filter(([, value]) => value !== ""));
  await attempt(async () => {
    measured = await get(`/api/projects/${view.id}/facts?${query}`);
  });
  if (model.project?.id === view.id) draw(model.project);
}

function draw(view) {
  const focused = document.activeElement?.id;
  place.replaceChildren(...[
    likenessOf(view),
    section("Size", sizeOf(view.report)),
    measured ? section("Contrast", pairsOf(view)) : null,
    measured ? section("Amounts", amountsOf()) : null,
    section("Floats and ends", floatsOf(view.report)),
    section("How to hold the yarns", el("ul", {}, view.report.strands.map((words) => el("li", {}, words)))),
    section("Take care", careOf()),
  ].filter(Boolean));
  if (focused && place.querySelector(`#${CSS.escape(focused)}`)) document.getElementById(focused).focus();
}

function section(title, ...inner) {
  return el("details", { open: !closed.has(title), class: "group", ontoggle: (event) => {
    if (event.target.open) closed.delete(title);
    else closed.add(title);
  } }, el("summary", {}, title), ...inner);
}

function table(pairs) {
  return el("dl", { class: "table" }, pairs.filter(([, value]) => value !== null && value !== undefined)
    .map(([name, value]) => el("div", {}, el("dt", {}, name), el("dd", {}, value))));
}

/** Known when the chart was made; after changes by hand it is measured again. */
function likenessOf({ made, follows }) {
  const told = made.likeness?.chart ? made.likeness : follows && made.likeness ? measured?.likeness : null;
  if (!told) return null;
  const { chart, ceiling, words } = told;
  const value = (scores) => Math.round(100 * (scores.subject ?? scores.whole).ssim);
  const bar = el("div", { class: "likeness", role: "img", "aria-label": `Likeness ${value(chart)} of 100; ${value(ceiling)} without rules` }, el("i", { class: "most" }), el("i", { class: "now" }));
  bar.children[0].style.width = `${value(ceiling)}%`;
  bar.children[1].style.width = `${value(chart)}%`;
  const gap = typeof made.gap === "number" ? el("p", { class: "help" }, `Proved: no chart under these rules is closer by more than ${(100 * made.gap).toFixed(1)} %.`) : null;
  return section("Likeness", el("p", { class: "slim" }, words), bar, gap);
}

function sizeOf(report) {
  return table([
    ["Stitches", `${report.stitches} across, ${report.rounds} ${report.worked === "round" ? "rounds" : "rows"}`],
    ["Measures", `${report.width_cm.toFixed(1)} × ${report.height_cm.toFixed(1)} cm`],
    ["In all", many(report.live, "stitch")],
    ...report.yarns.map((yarn) => [`of ${yarn.name}`, `${yarn.stitches} (${Math.round(yarn.share * 100)} %)`]),
  ]);
}

function pairsOf({ chart, report }) {
  const yarn = (name) => chart.yarns.find((one) => one.name === name);
  const shared = (a, b) => report.pairs.find(({ first, second }) => (first === a && second === b) || (first === b && second === a))?.rounds ?? 0;
  const known = measured.pairs.filter(({ first, second }) => yarn(first) && yarn(second));
  return el("ul", { class: "pairs" }, known.map((pair) => {
    const names = [pair.first, pair.second];
    const together = shared(...names);
    return el("li", {},
      el("span", { class: "against" }, names.map((name) => swatch(yarn(name).colour, name)), names.map((name) => swatch(yarn(name).grey, `${name}, its value`))),
      el("span", {}, el("strong", {}, VERDICTS[pair.verdict]), `: ${names.join(" and ")}`,
        el("small", {}, `${pair.reason} ${together ? `Together in ${many(together, "round")}.` : "They never meet in a round."} Single stitches read to about ${pair.reads_to_m.single} m (a margin from memory).`)));
  }));
}

function amountsOf() {
  const { amounts } = measured;
  const number = (name, words) => el("label", { class: "inline apart" }, words, el("input", { id: `buy-${name}`, type: "number", min: RANGES[name][0], max: RANGES[name][1], step: name === "times" ? 1 : 0.5, placeholder: "–", value: buying[name], onchange: (event) => {
    const value = Number(event.target.value);
    buying[name] = value ? clamp(name === "times" ? Math.round(value) : value, ...RANGES[name]) : DEFAULTS[name];
    measure();
  } }));
  const stock = ({ short_g: short, stock_g: held, balls }) => short ? `${many(balls, "ball")}, ${short.toFixed(0)} g short` : held ? "there is enough on the shelf" : many(balls, "ball");
  return el("div", {},
    table(amounts.yarns.map((yarn) => [yarn.name, el("span", {}, `${yarn.metres.toFixed(0)} m, ${yarn.grams.toFixed(0)} g`, el("small", {}, stock(yarn)))])),
    number("times", "Pieces"), number("ball", "Grams a ball"), number("swatch_grams", "A swatch weighs, grams"), number("swatch_cm2", "and covers, square cm"),
    amounts.remarks.map((words) => el("p", { class: "help" }, words)));
}

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
