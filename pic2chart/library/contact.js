// @ts-check
"use strict";
/**
 * One size of a motif, and a motif with its first size, as `indexing.py` writes them; `text` is what
 * its words are sought in.
 * @typedef {{ stitches: number, rounds: number, cm: [wide: number, high: number], repeat: string,
 *   unit: number, repeatWords: string, float: number, catches: number, isolated: number,
 *   difficulty: number, grade: string, parts: Record<string, number>, files: string[], png: string }} Size
 * @typedef {Size & { n: number, name: string, title: string, path: string, gauge: string, worked: string,
 *   yarns: [name: string, colour: string][], contrast: number | null, likeness: number | null,
 *   errors: number, said: string[], tags: string[], rights: Record<string, string>, proposed: string,
 *   state: string, why: string, alike: [n: number, title: string, how: string][], sizes?: Size[],
 *   text: string }} Motif
 */
/** @param {string} id */
const $ = (id) => /** @type {HTMLElement} */ (document.getElementById(id));
/** @type {Motif[]} */
const motifs = JSON.parse($("motifs").textContent ?? "");
const grid = $("grid");
const asked = /** @type {HTMLFormElement} */ ($("asked"));
const detail = /** @type {HTMLDialogElement} */ ($("detail"));
/** '1 stitch', '2 stitches'. @param {number} count @param {string} word */
const many = (count, word) => `${count.toLocaleString("en")} ${word}${count === 1 ? "" : word.endsWith("ch") ? "es" : "s"}`;
const byNumber = new Map(motifs.map((motif) => [motif.n, motif]));
/** @type {{ library: string, volume: number, volumes: string[] }} */
const about = JSON.parse($("about").textContent ?? "");
const NARROWEST = 172, TALL = 312, GAP = 14, PICTURE = 196;
const collator = new Intl.Collator(undefined, { numeric: true, sensitivity: "base" });
/**
 * Without capitals and accents, so that 'mowe' finds 'Möwe'; letters that only look like a plain one too.
 * @param {string} text
 */
function plain(text) {
  const bare = text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();
  return bare.replace(/[øłđı]/g, (letter) => "oldi"["øłđı".indexOf(letter)]).replace(/ß/g, "ss").replace(/æ/g, "ae").replace(/œ/g, "oe");
}
for (const motif of motifs) {
  const words = [motif.n, motif.title, motif.path, motif.name, ...motif.yarns.map((yarn) => yarn[0]), ...motif.tags, ...Object.values(motif.rights)];
  motif.text = plain(words.join(" "));
}

/* What is decided about motifs on this page, until it is saved as a file for the command. */
const STATES = ["new", "approved", "held", "withdrawn"];
const KEPT = `pic2chart decisions ${about.library}`;
/** @type {Map<number, string>} */
const decided = new Map();
try {
  for (const [n, state] of JSON.parse(localStorage.getItem(KEPT) ?? "[]")) if (byNumber.get(n) && STATES.includes(state)) decided.set(n, state);
} catch { /* pages from a disk may have no store: then they are kept until the page is left */ }

/** @param {Motif} motif */
const stateOf = (motif) => decided.get(motif.n) ?? motif.state;

/** @param {Motif[]} chosen @param {string} state */
function decide(chosen, state) {
  for (const motif of chosen) if (state === motif.state) decided.delete(motif.n); else decided.set(motif.n, state);
  try { localStorage.setItem(KEPT, JSON.stringify([...decided])); } catch { /* see above */ }
  for (const card of pool) card.motif = null;
  ask(true);
}

/** @param {string} name @param {string} type @param {string} content */
function save(name, type, content) {
  const link = make("a", { href: URL.createObjectURL(new Blob([content], { type })), download: name });
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 1000);
}

/**
 * Text only ever goes in as text.
 * @template {keyof HTMLElementTagNameMap} Tag
 * @param {Tag} tag
 * @param {object} properties
 * @param {(Node | string)[]} children
 * @returns {HTMLElementTagNameMap[Tag]}
 */
function make(tag, properties = {}, ...children) {
  const element = Object.assign(document.createElement(tag), properties);
  element.append(...children);
  return element;
}

/**
 * Stitches of whole pixels where they can be, so that every stitch is equally wide.
 * @param {Motif} motif
 * @param {number} wide
 * @param {number} high
 * @returns {[width: number, height: number, crisp: boolean]}
 */
function sizeOf(motif, wide, high) {
  const ratio = motif.cm[1] / motif.cm[0], fine = devicePixelRatio;
  let width = Math.min(wide, high / ratio);
  const each = Math.floor(width * fine / motif.stitches);
  if (each > 0) width = each * motif.stitches / fine;
  return [width, Math.round(width * ratio * fine) / fine, each > 0];
}

/** @param {HTMLImageElement} image @param {Motif} motif @param {number} wide @param {number} high */
function draw(image, motif, wide, high = wide) {
  const [width, height, crisp] = sizeOf(motif, wide, high);
  image.width = width;
  image.height = height;
  image.className = crisp ? "crisp" : "";
  image.src = "data:image/png;base64," + motif.png;
}

/** @param {Motif["yarns"][number]} yarn */
function dot(yarn) {
  const round = make("i", { title: yarn[0] });
  round.style.background = yarn[1];
  return round;
}

/* The cards: only those in view exist; each is filled anew when it comes to show another motif. */
/** @type {Card[]} */
const pool = [];
let view = motifs, columns = 1, width = NARROWEST, focused = -1, waiting = false;
/** @type {Motif | null} */
let shown = null;

/** @typedef {ReturnType<typeof newCard>} Card */

function newCard() {
  const image = make("img", { alt: "", decoding: "async" });
  const number = make("span", { className: "number" }), title = make("span");
  const size = make("span", { className: "line" }), repeat = make("span", { className: "line" });
  const yarns = make("span", { className: "yarns" });
  const name = make("span", { className: "name" }, number, title);
  const button = make("button", { className: "card", type: "button" },
    make("span", { className: "shown" }, image), make("span", { className: "facts" }, name, size, repeat, yarns));
  const item = make("li", {}, button);
  const card = { item, button, image, number, title, size, repeat, yarns, at: -1, motif: /** @type {Motif | null} */ (null), width: 0 };
  button.addEventListener("click", () => { if (card.motif) open(card.motif); });
  button.addEventListener("focus", () => { focused = card.at; });
  grid.append(item);
  return card;
}

/** @param {Card} card @param {number} at */
function fill(card, at) {
  const motif = view[at];
  card.at = at;
  const x = (at % columns) * (width + GAP), y = Math.floor(at / columns) * (TALL + GAP);
  card.item.style.transform = `translate(${x}px, ${y}px)`;
  card.item.ariaPosInSet = String(at + 1);
  card.item.ariaSetSize = String(view.length);
  card.item.hidden = false;
  if (card.motif === motif && card.width === width) return;
  Object.assign(card, { motif, width });
  card.item.style.width = width + "px";
  card.item.style.height = TALL + "px";
  draw(card.image, motif, width - 10, PICTURE);
  card.number.textContent = String(motif.n);
  card.title.textContent = motif.title;
  const more = motif.sizes ? ` · ${motif.sizes.length + 1} sizes` : "";
  card.size.textContent = `${motif.stitches} × ${motif.rounds}${more} · ${motif.grade} ${motif.difficulty.toFixed(1)}`;
  card.repeat.textContent = motif.repeatWords;
  const state = stateOf(motif), other = motif.errors ? "error" : motif.proposed && state === "new" ? "hold?" : motif.alike.length ? "nearly the same" : "";
  const mark = state === "new" ? other : state;
  card.yarns.replaceChildren(...motif.yarns.map(dot), make("b", { textContent: mark }));
}

function show() {
  waiting = false;
  const top = grid.getBoundingClientRect().top, row = TALL + GAP;
  const first = Math.max(0, Math.floor(-top / row) - 2) * columns;
  const last = Math.min(view.length, (Math.ceil((innerHeight - top) / row) + 2) * columns);
  const wanted = new Set();
  for (let at = first; at < last; at++) wanted.add(at);
  const free = [];
  for (const card of pool) {
    if (wanted.has(card.at) && card.motif === view[card.at]) { fill(card, card.at); wanted.delete(card.at); }
    else free.push(card);
  }
  for (const at of wanted) {
    const card = free.pop() ?? pool[pool.push(newCard()) - 1];
    fill(card, at);
  }
  for (const card of free) { card.item.hidden = true; card.at = -1; }
  inOrder();
}

/** The cards stand in the document as they do on the page, so that Tab goes forwards; one that has the
 * focus stays where it is, and the others are put round it. */
function inOrder() {
  const place = (/** @type {Card} */ card) => card.at < 0 ? Infinity : card.at;
  const cards = [...pool].sort((a, b) => place(a) - place(b) || 0);
  const here = cards.findIndex((card) => card.item.contains(document.activeElement));
  if (here < 0) {
    if (cards.some((card, i) => i > 0 && !(cards[i - 1].item.compareDocumentPosition(card.item) & Node.DOCUMENT_POSITION_FOLLOWING))) grid.append(...cards.map((card) => card.item));
    return;
  }
  let next = cards[here].item;
  for (const { item } of cards.slice(0, here).reverse()) { if (item.nextElementSibling !== next) next.before(item); next = item; }
  next = cards[here].item;
  for (const { item } of cards.slice(here + 1)) { if (next.nextElementSibling !== item) next.after(item); next = item; }
}

function soon() {
  if (!waiting) { waiting = true; requestAnimationFrame(show); }
}

function layOut() {
  columns = Math.max(1, Math.floor((grid.clientWidth + GAP) / (NARROWEST + GAP)));
  width = Math.floor((grid.clientWidth + GAP) / columns) - GAP;
  grid.style.height = Math.ceil(view.length / columns) * (TALL + GAP) + "px";
  show();
}

/**
 * Sorting and filtering: what is asked of a motif; empty or 0 asks nothing.
 * @typedef {{ words: string[], round: number, from: number, to: number, repeat: string, grade: string, yarn: string, state: string, only: string }} Wish
 */
/** @param {Motif} motif @param {Wish} wish */
function fits(motif, wish) {
  return wish.words.every((word) => motif.text.includes(word))
    && [motif, ...motif.sizes ?? []].some((size) => (!wish.round || wish.round % size.unit === 0)
      && (!wish.from || size.stitches >= wish.from) && (!wish.to || size.stitches <= wish.to)
      && (!wish.repeat || (wish.repeat === "some" ? size.repeat !== "once" : size.repeat === wish.repeat))
      && (!wish.grade || size.grade === wish.grade))
    && (!wish.state || stateOf(motif) === wish.state)
    && (!wish.yarn || motif.yarns.some((yarn) => yarn[0] === wish.yarn))
    && (!wish.only || (wish.only === "alike" ? motif.alike.length > 0 : wish.only === "proposed" ? motif.proposed !== "" : wish.only === "decided" ? decided.has(motif.n) : motif.errors > 0));
}

/** @param {Motif[]} list @param {string} by a motif's property, with '-' before it from the most to the least */
function ordered(list, by) {
  const down = by.startsWith("-"), key = /** @type {"n"} */ (by.replace("-", ""));
  const order = (/** @type {Motif} */ a, /** @type {Motif} */ b) => {
    /** @type {(string | number | null)[]} */
    const [x, y] = [a[key], b[key]];
    if (x === null || y === null) return Number(x === null) - Number(y === null);
    const step = typeof x === "string" ? collator.compare(x, String(y)) : x - Number(y);
    return down ? -step : step;
  };
  return [...list].sort((a, b) => order(a, b) || a.n - b.n);
}

function ask(keep = false) {
  /** @type {Record<string, string>} */
  const form = Object.fromEntries([...new FormData(asked)].map(([name, value]) => [name, String(value)]));
  const { repeat, grade, yarn, state, only } = form;
  const words = plain(form.words).split(/\s+/).filter(Boolean);
  const wish = { words, round: Number(form.round), from: Number(form.from), to: Number(form.to), repeat, grade, yarn, state, only };
  view = ordered(motifs.filter((motif) => fits(motif, wish)), form.sort);
  $("count").textContent = view.length === motifs.length
    ? many(motifs.length, "motif") : `${view.length.toLocaleString("en")} of ${many(motifs.length, "motif")}`;
  const set = ["round", "from", "to", "repeat", "grade", "yarn", "state", "only"].filter((name) => form[name]).length;
  $("more").textContent = set ? `Filters (${set})` : "Filters";
  $("all").textContent = `${view.length.toLocaleString("en")} shown`;
  $("unsaved").textContent = decided.size ? `${decided.size.toLocaleString("en")} decided, not saved yet` : "";
  /** @type {HTMLButtonElement} */ ($("save")).disabled = !decided.size;
  const empty = $("empty");
  empty.hidden = view.length > 0;
  if (!motifs.length) empty.textContent = "There are no motifs: no file of the folder could be used.";
  if (!keep) scrollTo(0, 0);
  layOut();
}

/* One motif at large. */
/** @param {Motif} motif @param {string} file */
function link(motif, file) {
  const name = file.slice(file.lastIndexOf("/") + 1);
  const kind = [[".chart.json", "chart file"], ["-front.png", "fabric front"], [".svg", "chart to knit from"], [".png", "one pixel a stitch"]]
    .find(([ending]) => name === (file.split("/").at(-2) ?? motif.name) + ending);
  const place = file.split("/").at(-2) ?? motif.name;
  const words = kind ? kind[1] : name.replace(place, "").replace(/^[-.]/, "");
  return make("a", { href: file.split("/").map(encodeURIComponent).join("/"), textContent: words });
}

/** @param {Motif} motif */
function rows(motif) {
  /** @type {[name: string, value: Node | string | (Node | string)[]][]} */
  const facts = [["State", stateChoice(motif)], ["Size", `${many(motif.stitches, "stitch")} × ${many(motif.rounds, motif.worked === "round" ? "round" : "row")}`],
    ["", `${motif.cm[0].toFixed(1)} × ${motif.cm[1].toFixed(1)} cm at ${motif.gauge}`],
    ["Worked", motif.worked === "round" ? "in the round" : "flat"], ["Repeat", motif.repeatWords],
    ["Yarns", motif.yarns.map((yarn) => make("span", { className: "yarn" }, dot(yarn), yarn[0]))], ["Longest float", `${many(motif.float, "stitch")}, ${many(motif.catches, "catch")}`],
    ["Isolated", many(motif.isolated, "stitch")]];
  if (motif.contrast !== null) facts.push(["Contrast", `lightness differs by ${motif.contrast} L*`]);
  if (motif.likeness !== null) facts.push(["Likeness", motif.likeness.toFixed(2) + " of 1"]);
  const most = Object.entries(motif.parts).sort((a, b) => b[1] - a[1]).filter(([, part]) => part > 0);
  const list = make("ul", {}, ...most.map(([name, part]) => make("li", { textContent: `${part.toFixed(1)} for ${name}` })));
  const how = make("details", {}, make("summary", { textContent: `${motif.difficulty.toFixed(1)} of 10, ${motif.grade}` }), list, detail.dataset.formula ?? "");
  facts.push(["Difficulty", how], ["From", motif.path]);
  for (const [name, value] of Object.entries(motif.rights)) facts.push([name[0].toUpperCase() + name.slice(1), value]);
  if (motif.tags.length) facts.push(["Tags", motif.tags.join(", ")]);
  return facts.flatMap(([name, value]) => [make("dt", { textContent: name }), make("dd", {}, ...[value].flat())]);
}

/** @param {Motif} motif */
function stateChoice(motif) {
  const choice = make("select", { ariaLabel: "State" }, ...STATES.map((state) => make("option", { textContent: state, selected: state === stateOf(motif) })));
  choice.addEventListener("change", () => decide([motif], choice.value));
  const said = motif.proposed && stateOf(motif) === "new" ? `Better held: ${motif.proposed}` : motif.why;
  return said ? make("span", {}, choice, " ", said) : choice;
}

/** @param {string} words @param {() => void} act @param {object} properties */
function button(words, act, properties = {}) {
  const made = make("button", { type: "button", textContent: words, ...properties });
  made.addEventListener("click", act);
  return made;
}

/**
 * The one shown at large is left for the one before or after it among those that fit.
 * @param {number} step
 */
function turn(step) {
  const at = (shown ? view.indexOf(shown) : -1) + step;
  if (at < 0 || at >= view.length) return;
  open(view[at]);
  const onwards = step < 0 ? "button.previous" : "button.next";
  /** @type {HTMLElement | null} */ (detail.querySelector(`${onwards}:enabled`) ?? detail.querySelector("button.close"))?.focus();
}

/** @param {Motif} motif */
function open(motif) {
  shown = motif;
  const at = view.indexOf(motif), narrow = innerWidth <= 640;
  const image = make("img", { alt: `Chart of ${motif.title}` });
  draw(image, motif, narrow ? innerWidth - 34 : 510, Math.max(240, innerHeight * (narrow ? .6 : .72)));
  const right = make("div", {}, make("dl", {}, ...rows(motif)));
  if (motif.said.length) right.append(make("ul", { className: "said" }, ...motif.said.map((textContent) => make("li", { textContent }))));
  for (const size of [motif, ...motif.sizes ?? []]) {
    const before = motif.sizes ? [`${size.stitches} × ${size.rounds}: `] : [];
    right.append(make("p", {}, ...before, ...size.files.flatMap((file, i) => (i ? [" · ", link(motif, file)] : [link(motif, file)]))));
  }
  if (motif.alike.length) right.append(make("p", {}, "Nearly the same: ", ...motif.alike.flatMap(([n, title, how], i) => {
    const other = byNumber.get(n);
    const words = `${n} ${title} (${how})`;
    const to = other ? button(words, () => open(other)) : make("span", { textContent: `${words}, on another page` });
    return i ? [" ", to] : [to];
  })));
  detail.replaceChildren(
    make("div", { className: "top" },
      make("h2", { id: "detail-title" }, make("span", { className: "number", textContent: motif.n }), motif.title),
      button("Previous", () => turn(-1), { className: "previous", disabled: at <= 0 }),
      button("Next", () => turn(1), { className: "next", disabled: at < 0 || at === view.length - 1 }),
      button("Close", () => detail.close(), { className: "close", autofocus: true })),
    make("div", { className: "two" }, make("figure", {}, image), right));
  if (!detail.open) detail.showModal();
  detail.scrollTop = 0;
}
detail.addEventListener("keydown", (event) => {
  if (event.key === "ArrowRight") turn(1);
  if (event.key === "ArrowLeft") turn(-1);
});
detail.addEventListener("click", (event) => { if (event.target === detail) detail.close(); });

/* Arrow keys go from card to card. */
grid.addEventListener("keydown", (event) => {
  /** @type {Record<string, number>} */
  const steps = { ArrowRight: 1, ArrowLeft: -1, ArrowDown: columns, ArrowUp: -columns, Home: -Infinity, End: Infinity };
  const step = steps[event.key];
  if (!step || focused < 0) return;
  event.preventDefault();
  const to = Math.min(view.length - 1, Math.max(0, focused + step));
  const top = grid.getBoundingClientRect().top + scrollY + Math.floor(to / columns) * (TALL + GAP);
  const header = document.querySelector("header");
  const head = header && getComputedStyle(header).position === "sticky" ? header.offsetHeight + GAP : GAP;
  if (top - head < scrollY) scrollTo(0, top - head);
  else if (top + TALL + GAP > scrollY + innerHeight) scrollTo(0, top + TALL + GAP - innerHeight);
  show();
  pool.find((card) => card.at === to)?.button.focus({ preventScroll: true });
});

const names = [...new Set(motifs.flatMap((motif) => motif.yarns.map((yarn) => yarn[0])))].sort(collator.compare);
/** @type {HTMLElement} */ (asked.elements.namedItem("yarn")).append(...names.slice(0, 400).map((name) => make("option", { textContent: name, value: name })));
const decideAll = /** @type {HTMLSelectElement} */ ($("decide"));
decideAll.addEventListener("change", () => {
  if (decideAll.value) decide(view, decideAll.value);
  decideAll.value = "";
});
$("save").addEventListener("click", () => save("decisions.csv", "text/csv", "number,state\r\n" + [...decided].sort((a, b) => a[0] - b[0]).map(([n, state]) => `${n},${state}\r\n`).join("")));
for (const [i, page] of about.volumes.entries()) {
  if (about.volumes.length > 1) $("volumes").append(i === about.volume ? make("b", { textContent: String(i + 1) }) : make("a", { href: page, textContent: String(i + 1) }), " ");
}
const more = $("more");
more.addEventListener("click", () => {
  more.ariaExpanded = more.ariaExpanded === "true" ? "false" : "true";
  layOut();
});
asked.addEventListener("input", () => ask());
asked.addEventListener("submit", (event) => event.preventDefault());
asked.addEventListener("reset", () => setTimeout(() => ask()));
addEventListener("scroll", soon, { passive: true });
addEventListener("resize", () => layOut());
ask(true);
