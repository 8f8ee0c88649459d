// What the checks and measures say, in a knitter's words.

import { el, many, swatch } from "./dom.js";
import { attempt } from "./net.js";
import * as model from "./model.js";
import { jumpTo } from "./stage.js";

const LEVELS = { error: ["!", "cannot be knitted as asked"], warning: ["▲", "will trouble you"], note: ["i", "worth knowing"] };
let parts = null;
let shown = [];
let chosen = -1;

export function setUpSays(place) {
  parts = {
    head: el("div", { class: "head" }),
    list: el("ol", { class: "findings" }),
    more: el("div", { class: "facts" }),
  };
  place.append(parts.head, parts.list, parts.more);
  model.onProject((view) => {
    chosen = -1;
    showFindings(view);
    showFacts(view);
  });
}

export function showFindings({ findings, counts }) {
  shown = findings;
  const knittable = counts.error === 0;
  const words = knittable ? "It can be knitted" : `${many(counts.error, "place")} cannot be knitted as asked`;
  const mend = el("button", { type: "button", class: "main", id: "mend", onclick: () => attempt(model.tryMend) }, "Mend");
  const also = ["warning", "note"].filter((level) => counts[level]).map((level) => many(counts[level], level)).join(", ");
  parts.head.replaceChildren(
    el("p", { class: knittable ? "good" : "bad" }, el("span", { class: "sign", "aria-hidden": "true" }, knittable ? "✓" : "!"), el("strong", {}, words)),
    also ? el("p", { class: "quiet" }, `and ${also}`) : "",
    findings.length ? el("div", { class: "row" }, mend, el("small", { class: "quiet" }, "changes as few stitches as can be; kept ones stay")) : "");
  parts.list.replaceChildren(...findings.slice(0, 60).map(itemOf));
  const hidden = counts.error + counts.warning + counts.note - Math.min(findings.length, 60);
  if (hidden > 0) parts.list.append(el("li", { class: "quiet" }, `and ${hidden} more like these`));
}

function itemOf(finding, index) {
  const [sign, means] = LEVELS[finding.level];
  return el("li", { class: finding.level },
    el("button", { type: "button", class: "finding", "data-rule": finding.rule, onclick: () => chooseFinding(index) },
      el("span", { class: "sign", title: means, role: "img", "aria-label": finding.level }, sign),
      el("span", {}, el("span", {}, finding.message), el("small", {}, finding.mend))));
}

export function chooseFinding(index) {
  chosen = index;
  [...parts.list.children].forEach((item, i) => item.classList.toggle("chosen", i === index));
  jumpTo(shown[index]);
}

export function nextFinding() {
  const count = Math.min(shown.length, 60);
  if (count) chooseFinding((chosen + 1) % count);
}

function showFacts(view) {
  const { report, chart } = view;
  parts.more.replaceChildren(...[
    ...report.remarks.map((words) => el("p", { class: "note" }, words)),
    section("Size", sizeOf(report, chart)),
    section("Contrast", pairsOf(view)),
    section("Floats and ends", floatsOf(report)),
    section("Holding the yarns", el("ul", {}, report.strands.map((words) => el("li", {}, words)))),
    section("Take care", careOf()),
  ]);
}

function section(title, ...inner) {
  return el("details", { open: title !== "Take care" && title !== "Holding the yarns", class: "group" }, el("summary", {}, title), ...inner);
}

function facts(pairs) {
  return el("dl", { class: "table" }, pairs.filter(([, value]) => value !== null && value !== undefined)
    .map(([name, value]) => el("div", {}, el("dt", {}, name), el("dd", {}, value))));
}

function sizeOf(report) {
  const rows = report.worked === "round" ? "rounds" : "rows";
  return facts([
    ["Stitches", `${report.stitches} across, ${report.rounds} ${rows}`],
    ["Measures", `${report.width_cm.toFixed(1)} × ${report.height_cm.toFixed(1)} cm`],
    ["In all", many(report.live, "stitch")],
    ...report.yarns.map((yarn) => [`of ${yarn.name}`, `${yarn.stitches} (${Math.round(yarn.share * 100)} %)`]),
  ]);
}

function pairsOf({ chart, report }) {
  if (!report.pairs.length) return el("p", { class: "quiet" }, "No two yarns meet in a round.");
  const yarn = (name) => chart.yarns.find((one) => one.name === name);
  return el("ul", { class: "pairs" }, report.pairs.map((pair) => el("li", {},
    el("span", { class: "against" }, [pair.first, pair.second].map((name) => swatch(yarn(name).colour, name)), [pair.first, pair.second].map((name) => swatch(yarn(name).grey, `${name}, its value`))),
    el("span", {}, `${pair.first} and ${pair.second}`, el("small", {}, `${pair.delta_L.toFixed(0)} apart in value, ${pair.contrast.toFixed(1)} to 1, together in ${many(pair.rounds, "round")}`)))));
}

function floatsOf(report) {
  return facts([
    ["Longest float", many(report.longest_float, "stitch")],
    ["Longest uncaught", `${many(report.longest_uncaught, "stitch")} (limit ${report.float_limit})`],
    ["Catches", report.catches],
    ["Stitches the rules moved", report.moved],
    ["Single stitches", report.isolated],
    ["Ends to weave in", report.ends],
  ]);
}

function careOf() {
  return el("ul", {}, [
    "Long floats inside mittens, socks and children's things catch fingers and toes: catch every 3 to 4 stitches, or line the piece.",
    "No cords or mitten strings for small children, and no small parts that come off.",
    "A steek is cut only after it is reinforced, and never in yarn that ravels.",
    "Knit and wash a swatch first; sizes follow from your gauge. Look at the yarns together in daylight before you buy.",
    "Rest your hands; pain is a reason to stop.",
  ].map((words) => el("li", {}, words)));
}
