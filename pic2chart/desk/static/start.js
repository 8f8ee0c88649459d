// @ts-check
// The first page: what to make and for whom, the photo for it, and the projects there are.

import { $, ask, el, finder, hideNotice, input as inputOf, notice, tell } from "./dom.js";
import { attempt, get, image, post } from "./net.js";
import { called, kindCards, kindOf } from "./kinds.js";
import { sizeList } from "./making.js";
import * as model from "./model.js";
import { photoButton } from "./network.js";
import { meanwhile } from "./preview.js";
import { readChart } from "./read_chart.js";
import { ownYarnsButton } from "./shelf.js";
/** @import { Card } from "./shapes" */

const CHART_FILE = /\.(json|csv|tsv|txt|svg|pdf|xlsx|ods)$/i;
const PROJECT_FILE = /\.pic2chart$/i;
const CHART_SIDE = 320;
/** Projects from which on a field helps to find one. */
const LONG = 12;
const LAST = "desk-last-kind";
const PREPARING = "The solver is being prepared for this machine; that is done once and takes some seconds. You can choose a picture meanwhile.";

/** What was chosen on this page: a kind of thing or 'chart', and the size it is wanted in. @type {{ kind: string, size: string | null }} */
const wanted = { kind: localStorage.getItem(LAST) ?? "chart", size: null };

/** @param {HTMLElement} place */
export function showStart(place) {
  if (wanted.kind !== "chart" && !kindOf(wanted.kind)) wanted.kind = "chart";
  const photo = chooser("picture", "image/*,.heic,.heif,.tif,.tiff", "Choose a photo");
  const chart = chooser("chart", ".json,.csv,.tsv,.txt,.png,.svg,.pdf,.pic2chart", "Open a chart or project");
  const read = chooser("chart-photo", "image/*,.heic,.heif,.tif,.tiff", "Read a photo of a chart");
  const fabric = chooser("fabric-photo", "image/*,.heic,.heif,.tif,.tiff", "Read a photo of knitting");
  const blank = el("button", { type: "button", class: "button", onclick: startBlank }, "Start empty");
  const whom = el("div", { class: "whom" });
  const cards = kindCards(wanted.kind, (name) => {
    Object.assign(wanted, { kind: name, size: null });
    localStorage.setItem(LAST, name);
    showWhom(whom);
  });
  showWhom(whom);
  const drop = el("div", { class: "drop", id: "drop" },
    el("p", { class: "big" }, "Drop a photo here"),
    el("p", {}, "A pet, a bird, a boat: anything with light and dark."),
    el("div", { class: "row middle" }, photo, photoButton((file) => begin(file, "picture"))),
    el("p", { class: "quiet" }, "Nothing leaves this machine."));
  dropOn(drop);
  const { projects } = model.desk;
  place.replaceChildren(
    el("h1", {}, "What would you like to make?"), cards,
    el("div", { class: "begin" }, whom, drop),
    el("details", { class: "fold other" }, el("summary", {}, "Other ways to begin"), el("div", { class: "row" }, chart, read, fabric, blank, ownYarnsButton(() => {}, { id: "own-yarns-first", kind: "button" })),
      el("p", { class: "help" }, "A chart is a file saved here before (also a sheet of it, SVG or PDF), a table, or a picture with one pixel for each stitch; a project is the file that a desk saves whole.")),
    ...(projects.length ? cardsOf(projects) : []));
  if (!model.desk.ready) prepare(drop);
}

/** For whom it is; a chart is for everyone. @param {HTMLElement} whom */
function showWhom(whom) {
  const kind = kindOf(wanted.kind);
  whom.hidden = !kind?.sizes.length;
  whom.replaceChildren(...(kind?.sizes.length ? [sizeList(kind, wanted.size, (size) => { wanted.size = size; }),
    el("p", { class: "help" }, "Your own measures can be given later.")] : []));
}

/**
 * Where the solver takes long to be ready, say so until it is.
 * @param {HTMLElement} drop
 */
async function prepare(drop) {
  const words = el("p", { class: "quiet", id: "warming", role: "status" });
  drop.append(words);
  for (let seconds = 0; drop.isConnected && !model.desk.ready; seconds += 2) {
    await new Promise((resolve) => setTimeout(resolve, 2000));
    if (seconds >= 6) words.textContent = PREPARING;
    Object.assign(model.desk, await attempt(() => get("/api/alive")));
  }
  words.remove();
}

/** @param {string} kind @param {string} accept @param {string} words */
function chooser(kind, accept, words) {
  const input = el("input", { type: "file", accept, class: "unseen", id: `choose-${kind}`, onchange: () => {
    const [file] = input.files ?? [];
    if (file) begin(file, PROJECT_FILE.test(file.name) ? "project" : kind);
    input.value = "";
  } });
  return el("span", { class: "choose" }, input, el("label", { class: kind === "picture" ? "button main" : "button", for: `choose-${kind}` }, words));
}

/** An empty chart, for those who draw every stitch themselves. */
async function startBlank() {
  const side = (/** @type {string} */ id, /** @type {string} */ words) => el("div", { class: "field" }, el("label", { for: id }, words), el("input", { id, type: "number", min: 4, max: 1000, value: 60 }));
  const sure = await ask("An empty chart", [side("blank-stitches", "Stitches across"), side("blank-rounds", "Rounds up")], [["Start", true], ["Leave it", false]]);
  const number = (/** @type {string} */ id) => Math.round(Number(inputOf(id).value));
  if (sure) attempt(() => model.startBlank(number("blank-stitches"), number("blank-rounds")));
}

/** @param {HTMLElement} node */
function dropOn(node) {
  for (const kind of ["dragover", "dragenter"]) {
    node.addEventListener(kind, (event) => { event.preventDefault(); node.classList.add("over"); });
  }
  node.addEventListener("dragleave", () => node.classList.remove("over"));
  node.addEventListener("drop", (event) => {
    event.preventDefault();
    node.classList.remove("over");
    if (event.dataTransfer?.files.length) beginFirst(event.dataTransfer);
    else notice("That was not a file. Save the picture first, then drop the file.");
  });
}

/** A file dropped anywhere else starts a project too; the browser never leaves the page for it. */
export function catchDrops() {
  window.addEventListener("dragover", (event) => event.preventDefault());
  window.addEventListener("drop", (event) => {
    if (event.defaultPrevented) return;
    event.preventDefault();
    if (event.dataTransfer?.files.length) beginFirst(event.dataTransfer);
  });
  window.addEventListener("paste", (event) => {
    const file = event.clipboardData?.files[0];
    if (file && !/** @type {Element} */ (event.target).matches("input, textarea")) beginEither(file);
  });
}

const WHOLE_FOLDER = "For a whole folder of pictures there is the command: pic2chart library FOLDER --out motifs";

/**
 * The first of what was dropped; that a folder and further files are not taken is said.
 * @param {DataTransfer} dropped
 */
async function beginFirst(dropped) {
  const [file, ...more] = dropped.files;
  if (dropped.items[0]?.webkitGetAsEntry()?.isDirectory) return notice(["That is a folder; here one picture is made at a time.", WHOLE_FOLDER], { stay: true });
  await beginEither(file);
  if (more.length) notice([`“${file.name}” was taken, and ${more.length === 1 ? "the other file" : `the other ${more.length} files`} not: here one picture is made at a time.`, WHOLE_FOLDER], { stay: true });
}

/**
 * A file that came without saying what it is: a tiny PNG may be either.
 * @param {File} file
 */
async function beginEither(file) {
  if (PROJECT_FILE.test(file.name)) return begin(file, "project");
  if (CHART_FILE.test(file.name)) return begin(file, "chart");
  if (!(await isTiny(file))) return begin(file, "picture");
  const kind = await ask("Is it a chart?", `“${file.name}” is so small that every pixel could be a stitch.`,
    [["A chart, one pixel a stitch", "chart"], ["A picture", "picture"], ["Leave it", null]]);
  return kind && begin(file, kind);
}

/** @param {File} file */
async function isTiny(file) {
  if (!/\.png$/i.test(file.name)) return false;
  try {
    const { width, height } = await createImageBitmap(file);
    return Math.max(width, height) <= CHART_SIDE;
  } catch {
    return false; // the desk will say what is wrong with it
  }
}

/** @param {File} file @param {string} kind */
async function begin(file, kind) {
  if (kind === "chart-photo" || kind === "fabric-photo") return readChart(file, kind === "fabric-photo");
  const drop = document.getElementById("drop");
  const words = kind === "picture" ? `Knitting “${file.name}” …` : `Opening “${file.name}” …`;
  const busy = el("p", { class: "making working" }, words);
  tell(words);
  hideNotice();
  if (model.project) notice(words, { stay: true });
  else drop?.append(busy);
  drop?.setAttribute("aria-busy", "true");
  const thing = kind === "picture" && wanted.kind !== "chart" && !model.project ? { kind: wanted.kind, options: wanted.size ? { size: wanted.size } : {} } : null;
  const work = () => model.start(file, kind, thing);
  const place = model.project ? document.querySelector("#stage .frame") : drop;
  const started = await attempt(() => kind === "picture" ? meanwhile(file, place, work) : work());
  busy.remove();
  drop?.removeAttribute("aria-busy");
  if (started) hideNotice();
  if (started && kind === "picture") offerReading(file, started.id);
}

/**
 * Where the photo shows a chart on squared paper, offer to read it; else say nothing.
 * @param {File} file
 * @param {string} id of the project that was made of it
 */
async function offerReading(file, id) {
  const { chart } = await get(`/api/projects/${id}/glance`).catch(() => ({ chart: false }));
  if (!chart || model.project?.id !== id) return;
  const read = el("button", { type: "button", class: "button", onclick: () => { hideNotice(); readChart(file, false); } }, "Read the chart");
  notice("This looks like a photo of a chart. Its squares can be read, stitch by stitch.", { stay: true, button: read });
}

/** @param {Card[]} projects */
function cardsOf(projects) {
  const list = el("ul", { class: "cards" }, projects.map(card));
  return [el("h2", {}, "Go on with"), ...(projects.length > LONG ? [finder(list, "find-project", "Find")] : []), list];
}

/**
 * Do something once an element comes into sight: of hundreds of projects only those looked at are drawn.
 * @param {Element} node
 * @param {() => Promise<void>} work
 */
function inSight(node, work) {
  const watch = new IntersectionObserver((seen) => {
    if (!seen.some((one) => one.isIntersecting)) return;
    watch.disconnect();
    attempt(work);
  }, { rootMargin: "400px" });
  watch.observe(node);
}

/** @param {Card} project */
function card(project) {
  const { id, title } = project;
  const picture = el("img", { alt: "", class: "tiny" });
  if (!project.trouble) inSight(picture, async () => { picture.src = (await image(`/api/projects/${id}/see/small?at=${project.changed}`)).url; });
  const when = new Date(project.changed).toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
  const what = project.kind ? called(project.kind) : `${project.stitches} × ${project.rounds}`;
  const words = project.trouble
    ? el("p", { class: "trouble" }, project.trouble)
    : el("p", { class: "quiet" }, `${what}, ${project.yarns.join(", ")}`, el("br"), `changed ${when}`);
  return el("li", {},
    el("a", { href: `#p-${id}`, class: "card" }, picture, el("span", {}, el("strong", {}, title), words)),
    el("button", { type: "button", class: "plain small", "aria-label": `Put ${title} aside`, onclick: () => putAside(id, title) }, "Put aside"));
}

/** @param {string} id @param {string} title */
async function putAside(id, title) {
  const sure = await ask(`Put “${title}” aside?`, "It leaves this list. Its files stay on this machine, in the folder “removed” beside the other projects.",
    [["Put aside", true], ["Leave it here", false]]);
  if (!sure) return;
  await attempt(async () => {
    const { revision } = await get(`/api/projects/${id}`);
    Object.assign(model.desk, await post(`/api/projects/${id}/remove`, { revision }));
    showStart($("start"));
  });
}
