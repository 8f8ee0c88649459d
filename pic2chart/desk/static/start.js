// The first page: drop a picture, open a chart, go on with a project.

import { ask, el, many, notice } from "./dom.js";
import { attempt, get, post } from "./net.js";
import * as model from "./model.js";

const CHART_FILE = /\.(json|csv|tsv|txt)$/i;

export function showStart(place) {
  const photo = chooser("picture", "image/*,.heic,.heif,.tif,.tiff", "Choose a picture");
  const chart = chooser("chart", ".json,.csv,.tsv,.txt,.png", "Open a chart");
  const drop = el("div", { class: "drop", id: "drop" },
    el("p", { class: "big" }, "Drop a picture here"),
    el("p", {}, "A pet, a bird, a boat: anything with light and dark. You see a chart that can be knitted at once, and change whatever you like afterwards."),
    el("div", { class: "row middle" }, photo, chart),
    el("p", { class: "quiet" }, "A chart is a .chart.json file, a PNG of one pixel a stitch or a CSV of keys. Nothing leaves this machine."));
  dropOn(drop);
  place.replaceChildren(
    el("h1", {}, "What shall it be?"), drop,
    ...(model.desk.ready ? [] : [el("p", { class: "quiet", id: "warming" }, "The solver is being prepared for this machine; that is done once and takes about a minute. You can choose a picture meanwhile.")]),
    ...cards());
}

function chooser(kind, accept, words) {
  const input = el("input", { type: "file", accept, class: "unseen", id: `choose-${kind}`, onchange: () => {
    if (input.files[0]) begin(input.files[0], kind);
    input.value = "";
  } });
  return el("span", { class: "choose" }, input, el("label", { class: kind === "picture" ? "button main" : "button", for: `choose-${kind}` }, words));
}

function dropOn(node) {
  for (const kind of ["dragover", "dragenter"]) {
    node.addEventListener(kind, (event) => { event.preventDefault(); node.classList.add("over"); });
  }
  node.addEventListener("dragleave", () => node.classList.remove("over"));
  node.addEventListener("drop", (event) => {
    event.preventDefault();
    node.classList.remove("over");
    const file = event.dataTransfer.files[0];
    if (file) begin(file, CHART_FILE.test(file.name) ? "chart" : "picture");
    else notice("That was not a file. Save the picture first, then drop the file.");
  });
}

/** A file dropped anywhere else starts a project too; the browser never leaves the page for it. */
export function catchDrops() {
  window.addEventListener("dragover", (event) => event.preventDefault());
  window.addEventListener("drop", (event) => {
    if (event.defaultPrevented) return;
    event.preventDefault();
    const file = event.dataTransfer.files[0];
    if (file) begin(file, CHART_FILE.test(file.name) ? "chart" : "picture");
  });
}

async function begin(file, kind) {
  const drop = document.getElementById("drop");
  drop?.classList.add("working");
  drop?.setAttribute("aria-busy", "true");
  await attempt(() => model.start(file, kind));
  drop?.classList.remove("working");
  drop?.removeAttribute("aria-busy");
}

function cards() {
  const { projects } = model.desk;
  if (!projects.length) return [];
  return [el("h2", {}, "Go on with"), el("ul", { class: "cards" }, projects.map(card))];
}

function card(project) {
  const { id, title } = project;
  const picture = el("img", { alt: "", src: `/api/projects/${id}/see/small?at=${project.changed}`, class: "tiny" });
  const words = project.trouble
    ? el("p", { class: "trouble" }, project.trouble)
    : el("p", { class: "quiet" }, `${project.stitches} × ${project.rounds}, ${project.yarns.join(", ")}`);
  return el("li", {},
    el("a", { href: `#p-${id}`, class: "card" }, picture, el("span", {}, el("strong", {}, title), words)),
    el("button", { type: "button", class: "plain small", "aria-label": `Put ${title} aside`, onclick: () => putAside(id, title) }, "Put aside"));
}

async function putAside(id, title) {
  const sure = await ask(`Put “${title}” aside?`, "It leaves this list. Its files stay on this machine, in the folder “removed” beside the other projects.",
    [["Put aside", true], ["Leave it here", false]]);
  if (!sure) return;
  await attempt(async () => {
    const { revision } = await get(`/api/projects/${id}`);
    Object.assign(model.desk, await post(`/api/projects/${id}/remove`, { revision }));
    showStart(document.getElementById("start"));
  });
}
