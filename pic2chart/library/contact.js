
"use strict";
const motifs = JSON.parse(document.getElementById("motifs").textContent);
const grid = document.getElementById("grid");
const asked = document.getElementById("asked");
const detail = document.getElementById("detail");
const byName = new Map(motifs.map((motif) => [motif.name, motif]));
const NARROWEST = 172, TALL = 312, GAP = 14, PICTURE = 196;
const collator = new Intl.Collator(undefined, { numeric: true, sensitivity: "base" });
for (const motif of motifs) {
  const yarns = motif.yarns.map((yarn) => yarn[0]).join(" ");
  motif.text = [motif.n, motif.title, motif.path, motif.name, yarns, ...motif.tags].join(" ").toLowerCase();
}

/* Making elements: text only ever goes in as text. */
function make(tag, properties = {}, ...children) {
  const element = Object.assign(document.createElement(tag), properties);
  element.append(...children);
  return element;
}

/* Stitches of whole pixels where they can be, so that every stitch is equally wide. */
function sizeOf(motif, wide, high) {
  const ratio = motif.cm[1] / motif.cm[0], fine = devicePixelRatio;
  let width = Math.min(wide, high / ratio);
  const each = Math.floor(width * fine / motif.stitches);
  if (each > 0) width = each * motif.stitches / fine;
  return [width, Math.round(width * ratio * fine) / fine, each > 0];
}

function draw(image, motif, wide, high = wide) {
  const [width, height, crisp] = sizeOf(motif, wide, high);
  image.width = width;
  image.height = height;
  image.className = crisp ? "crisp" : "";
  image.src = "data:image/png;base64," + motif.png;
}

function dot(yarn) {
  const round = make("i", { title: yarn[0] });
  round.style.background = yarn[1];
  return round;
}

/* The cards: only those in view exist; each is filled anew when it comes to show another motif. */
const pool = [];
let view = motifs, columns = 1, width = NARROWEST, focused = -1, waiting = false, shown = null;

function newCard() {
  const image = make("img", { alt: "", decoding: "async" });
  const number = make("span", { className: "number" }), title = make("span");
  const size = make("span", { className: "line" }), repeat = make("span", { className: "line" });
  const yarns = make("span", { className: "yarns" });
  const name = make("span", { className: "name" }, number, title);
  const button = make("button", { className: "card", type: "button" },
    make("span", { className: "shown" }, image), make("span", { className: "facts" }, name, size, repeat, yarns));
  const item = make("li", {}, button);
  const card = { item, button, image, number, title, size, repeat, yarns, at: -1, motif: null, width: 0 };
  button.addEventListener("click", () => open(card.motif));
  button.addEventListener("focus", () => { focused = card.at; });
  grid.append(item);
  return card;
}

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
  card.number.textContent = motif.n;
  card.title.textContent = motif.title;
  card.size.textContent = `${motif.stitches} × ${motif.rounds} · ${motif.grade} ${motif.difficulty.toFixed(1)}`;
  card.repeat.textContent = motif.repeatWords;
  const mark = motif.errors ? "error" : motif.alike.length ? "nearly the same" : "";
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

/* Sorting and filtering. */
function fits(motif, wish) {
  return wish.words.every((word) => motif.text.includes(word))
    && (!wish.round || wish.round % motif.unit === 0)
    && (!wish.from || motif.stitches >= wish.from) && (!wish.to || motif.stitches <= wish.to)
    && (!wish.repeat || (wish.repeat === "some" ? motif.repeat !== "once" : motif.repeat === wish.repeat))
    && (!wish.grade || motif.grade === wish.grade)
    && (!wish.yarn || motif.yarns.some((yarn) => yarn[0] === wish.yarn))
    && (!wish.only || (wish.only === "alike" ? motif.alike.length > 0 : motif.errors > 0));
}

function ordered(list, by) {
  const down = by.startsWith("-"), key = by.replace("-", "");
  const order = (a, b) => {
    const [x, y] = [a[key], b[key]];
    if (x === null || y === null) return (x === null) - (y === null);
    const step = typeof x === "string" ? collator.compare(x, y) : x - y;
    return down ? -step : step;
  };
  return [...list].sort((a, b) => order(a, b) || a.n - b.n);
}

function ask(keep = false) {
  const form = Object.fromEntries(new FormData(asked));
  const wish = { ...form, words: form.words.toLowerCase().split(/\s+/).filter(Boolean) };
  for (const name of ["round", "from", "to"]) wish[name] = Number(form[name]);
  view = ordered(motifs.filter((motif) => fits(motif, wish)), form.sort);
  document.getElementById("count").textContent = view.length === motifs.length
    ? `${motifs.length.toLocaleString("en")} motifs` : `${view.length.toLocaleString("en")} of ${motifs.length.toLocaleString("en")} motifs`;
  const set = ["round", "from", "to", "repeat", "grade", "yarn", "only"].filter((name) => form[name]).length;
  document.getElementById("more").textContent = set ? `Filters (${set})` : "Filters";
  const empty = document.getElementById("empty");
  empty.hidden = view.length > 0;
  if (!motifs.length) empty.textContent = "There are no motifs: no file of the folder could be used.";
  if (!keep) scrollTo(0, 0);
  layOut();
}

/* One motif at large. */
function link(motif, file) {
  const name = file.split("/").pop();
  const kind = [[".chart.json", "chart file"], ["-front.png", "fabric front"], [".svg", "chart to knit from"], [".png", "one pixel a stitch"]]
    .find(([ending]) => name === motif.name + ending);
  const words = kind ? kind[1] : name.replace(motif.name, "").replace(/^[-.]/, "");
  return make("a", { href: file.split("/").map(encodeURIComponent).join("/"), textContent: words });
}

function rows(motif) {
  const facts = [["Size", `${motif.stitches} stitches × ${motif.rounds} ${motif.worked === "round" ? "rounds" : "rows"}`],
    ["", `${motif.cm[0].toFixed(1)} × ${motif.cm[1].toFixed(1)} cm at ${motif.gauge}`],
    ["Worked", motif.worked === "round" ? "in the round" : "flat"], ["Repeat", motif.repeatWords],
    ["Yarns", motif.yarns.map((yarn) => make("span", { className: "yarn" }, dot(yarn), yarn[0]))], ["Longest float", `${motif.float} stitches, ${motif.catches} catches`],
    ["Isolated", `${motif.isolated} stitches`]];
  if (motif.contrast !== null) facts.push(["Contrast", `lightness differs by ${motif.contrast} L*`]);
  if (motif.likeness !== null) facts.push(["Likeness", motif.likeness.toFixed(2) + " of 1"]);
  const how = make("details", {}, make("summary", { textContent: `${motif.difficulty.toFixed(1)} of 10, ${motif.grade}` }), detail.dataset.formula);
  facts.push(["Difficulty", how], ["From", motif.path]);
  if (motif.tags.length) facts.push(["Tags", motif.tags.join(", ")]);
  return facts.flatMap(([name, value]) => [make("dt", { textContent: name }), make("dd", {}, ...[value].flat())]);
}

function button(words, act, properties = {}) {
  const made = make("button", { type: "button", textContent: words, ...properties });
  made.addEventListener("click", act);
  return made;
}

/* The one shown at large is left for the one before or after it among those that fit. */
function turn(step) {
  const at = view.indexOf(shown) + step;
  if (at < 0 || at >= view.length) return;
  open(view[at]);
  const onwards = detail.querySelector(step < 0 ? ".previous" : ".next");
  (onwards.disabled ? detail.querySelector(".close") : onwards).focus();
}

function open(motif) {
  shown = motif;
  const at = view.indexOf(motif), narrow = innerWidth <= 640;
  const image = make("img", { alt: `Chart of ${motif.title}` });
  draw(image, motif, narrow ? innerWidth - 34 : 510, Math.max(240, innerHeight * (narrow ? .6 : .72)));
  const right = make("div", {}, make("dl", {}, ...rows(motif)));
  if (motif.said.length) right.append(make("ul", { className: "said" }, ...motif.said.map((textContent) => make("li", { textContent }))));
  right.append(make("p", {}, ...motif.files.flatMap((file, i) => (i ? [" · ", link(motif, file)] : [link(motif, file)]))));
  if (motif.alike.length) right.append(make("p", {}, "Nearly the same: ", ...motif.alike.flatMap(([name, how], i) => {
    const other = byName.get(name);
    const to = button(`${other.n} ${other.title} (${how})`, () => open(other));
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
  const step = { ArrowRight: 1, ArrowLeft: -1 }[event.key];
  if (step) turn(step);
});
detail.addEventListener("click", (event) => { if (event.target === detail) detail.close(); });

/* Arrow keys go from card to card. */
grid.addEventListener("keydown", (event) => {
  const step = { ArrowRight: 1, ArrowLeft: -1, ArrowDown: columns, ArrowUp: -columns, Home: -Infinity, End: Infinity }[event.key];
  if (!step || focused < 0) return;
  event.preventDefault();
  const to = Math.min(view.length - 1, Math.max(0, focused + step));
  const top = grid.getBoundingClientRect().top + scrollY + Math.floor(to / columns) * (TALL + GAP);
  const head = getComputedStyle(document.querySelector("header")).position === "sticky" ? document.querySelector("header").offsetHeight + GAP : GAP;
  if (top - head < scrollY) scrollTo(0, top - head);
  else if (top + TALL + GAP > scrollY + innerHeight) scrollTo(0, top + TALL + GAP - innerHeight);
  show();
  pool.find((card) => card.at === to)?.button.focus({ preventScroll: true });
});

const names = [...new Set(motifs.flatMap((motif) => motif.yarns.map((yarn) => yarn[0])))].sort(collator.compare);
asked.elements.yarn.append(...names.slice(0, 400).map((name) => make("option", { textContent: name, value: name })));
const more = document.getElementById("more");
more.addEventListener("click", () => {
  more.ariaExpanded = more.ariaExpanded === "true" ? "false" : "true";
  layOut();
});
asked.addEventListener("input", () => ask());
asked.addEventListener("submit", (event) => event.preventDefault());
asked.addEventListener("reset", () => setTimeout(ask));
addEventListener("scroll", soon, { passive: true });
addEventListener("resize", () => layOut());
ask(true);
