// @ts-check
"use strict";
/**
 * @typedef {[n: number, title: string, words: string, stitches: number, rounds: number, unit: number,
 *   difficulty: number, float: number, yarns: [key: string, name: string, colour: string][], files: string[]]} Row
 * @typedef {{ row: Row, text: string }} Found
 */
/** @type {Found[]} */
const all = [];
/** @type {Set<number>} */
const chosen = new Set();
/** @type {Found[]} */
let found = [];
let shown = 0;
const STEP = 120;
/** @param {string} id */
const $ = (id) => /** @type {HTMLElement} */ (document.getElementById(id));

/** Without capitals and accents. @param {string} text */
function plain(text) {
  const bare = text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();
  return bare.replace(/[øłđı]/g, (letter) => "oldi"["øłđı".indexOf(letter)]).replace(/ß/g, "ss").replace(/æ/g, "ae").replace(/œ/g, "oe");
}

/** Each file of what is searched calls this. @param {Row[]} rows */
function take(rows) {
  for (const row of rows) all.push({ row, text: plain(`${row[0]} ${row[1]} ${row[2]}`) });
}

/**
 * @template {keyof HTMLElementTagNameMap} Tag
 * @param {Tag} tag @param {object} properties @param {(Node | string)[]} children
 * @returns {HTMLElementTagNameMap[Tag]}
 */
function make(tag, properties = {}, ...children) {
  const element = Object.assign(document.createElement(tag), properties);
  element.append(...children);
  return element;
}

function ask() {
  const form = new FormData(/** @type {HTMLFormElement} */ ($("asked")));
  const get = (/** @type {string} */ name) => String(form.get(name) ?? "");
  const words = plain(get("words")).split(/\s+/).filter(Boolean);
  const [round, from, to, hard] = ["round", "from", "to", "hard"].map((name) => Number(get(name)));
  found = all.filter(({ row, text }) => words.every((word) => text.includes(word))
    && (!round || round % row[5] === 0) && (!from || row[3] >= from) && (!to || row[3] <= to) && (!hard || row[6] <= hard));
  $("count").textContent = `${found.length.toLocaleString("en")} of ${all.length.toLocaleString("en")} motifs.`;
  $("found").replaceChildren();
  shown = 0;
  show();
}

function show() {
  for (const { row } of found.slice(shown, shown + STEP)) {
    const box = make("input", { type: "checkbox", checked: chosen.has(row[0]), ariaLabel: `Choose ${row[0]} ${row[1]}` });
    box.addEventListener("change", () => { if (box.checked) chosen.add(row[0]); else chosen.delete(row[0]); tell(); });
    const image = make("img", { src: `thumbnails/${row[0]}.png`, alt: "", loading: "lazy" });
    $("found").append(make("li", {}, make("a", { href: `motifs/${row[0]}.html` }, image, `${row[0]} ${row[1]}`), make("small", {}, `${row[3]} × ${row[4]}`), make("label", {}, box, "choose")));
  }
  shown = Math.min(found.length, shown + STEP);
  $("more").hidden = shown >= found.length;
  tell();
}

function tell() {
  $("chosen").textContent = `${chosen.size.toLocaleString("en")} chosen.`;
  for (const id of ["table", "charts", "print"]) /** @type {HTMLButtonElement} */ ($(id)).disabled = !chosen.size;
}

const picked = () => all.filter(({ row }) => chosen.has(row[0])).map(({ row }) => row);

/** @param {string} name @param {BlobPart[]} parts @param {string} type */
function save(name, parts, type) {
  const link = make("a", { href: URL.createObjectURL(new Blob(parts, { type })), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}

/** @param {string | number} value */
function cell(value) {
  const text = String(value), safe = /^[=+\-@\t\r]/.test(text) && typeof value === "string" ? "'" + text : text;
  return /[",\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

function table() {
  const rows = [["number", "title", "stitches", "rounds", "repeat", "difficulty", "longest float", "yarns"],
    ...picked().map((r) => [r[0], r[1], r[3], r[4], r[5], r[6], r[7], r[8].map((yarn) => yarn[1]).join("; ")])];
  save("motifs.csv", ["\ufeff", rows.map((row) => row.map(cell).join(",") + "\r\n").join("")], "text/csv");
}

/* Each chart file as a download of its own: a page from a disk may not read other files itself. */
async function charts() {
  for (const row of picked()) {
    const file = row[9].find((name) => name.endsWith(".chart.json"));
    if (!file) continue;
    make("a", { href: `files/${row[0]}/${encodeURIComponent(file)}`, download: file }).click();
    await new Promise((done) => setTimeout(done, 150));
  }
}

async function print() {
  const pages = picked().map((row) => make("section", {}, make("h2", { textContent: `${row[0]} ${row[1]}` }),
    make("img", { src: `thumbnails/${row[0]}.png`, alt: "" }), make("p", { textContent: `${row[3]} × ${row[4]} · ${row[8].map((yarn) => yarn[1]).join(", ")}` })));
  $("printed").replaceChildren(...pages);
  await Promise.all([...$("printed").querySelectorAll("img")].map((image) => image.decode().catch(() => null)));
  document.body.className = "chosen";
  window.print();
  document.body.className = "";
}

function begin() {
  $("asked").addEventListener("input", ask);
  $("asked").addEventListener("submit", (event) => event.preventDefault());
  $("more").addEventListener("click", show);
  $("all").addEventListener("click", () => { for (const { row } of found) chosen.add(row[0]); ask(); });
  $("none").addEventListener("click", () => { chosen.clear(); ask(); });
  $("table").addEventListener("click", table);
  $("charts").addEventListener("click", charts);
  $("print").addEventListener("click", print);
  ask();
}
