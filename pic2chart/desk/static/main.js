// Opening the page: who is there, what is open, and the bar at the top.

import { $, ask, el, hideNotice } from "./dom.js";
import { attempt } from "./net.js";
import * as model from "./model.js";
import { catchDrops, showStart } from "./start.js";
import { setUpPicture } from "./picture.js";
import { setUpChoices } from "./choices.js";
import { setUpStage } from "./stage.js";
import { setUpSays } from "./says.js";
import { takeMenu } from "./take.js";

async function route() {
  const id = location.hash.match(/^#p-([0-9a-f]{12})$/)?.[1];
  if (id && model.project?.id === id) return;
  if (!id) return goHome();
  await attempt(async () => {
    await model.open(id);
    hideNotice();
  });
  if (!model.project) goHome();
}

async function goHome() {
  model.close();
  $("work").hidden = $("jump").hidden = $("project-bar").hidden = true;
  $("start").hidden = false;
  document.title = "pic2chart desk";
  await attempt(() => model.loadDesk());
  showStart($("start"));
}

function showProject(view, why) {
  $("start").hidden = true;
  $("work").hidden = $("jump").hidden = $("project-bar").hidden = false;
  document.title = `${view.chart.title} – pic2chart desk`;
  if (document.activeElement !== $("title")) $("title").value = view.chart.title;
  $("work-head").textContent = view.chart.title;
  button("undo", "Undo", view.undo);
  button("redo", "Redo", view.redo);
  if (why === "open") location.hash = `p-${view.id}`;
  if (why !== "draft") $("files").replaceChildren(...takeMenu(view));
}

function button(id, word, what) {
  $(id).disabled = !what;
  $(id).title = what ? `${word}: ${what}` : `Nothing to ${word.toLowerCase()}`;
  $(id).setAttribute("aria-label", what ? `${word}: ${what}` : word);
}

function setUpBar() {
  $("home").addEventListener("click", () => { location.hash = ""; });
  $("undo").addEventListener("click", () => attempt(model.undo));
  $("redo").addEventListener("click", () => attempt(model.redo));
  $("title").addEventListener("change", () => attempt(() => model.changeSettings({ title: $("title").value.trim() || null })));
  $("keys").addEventListener("click", showKeys);
  model.onBusy((busy) => {
    $("saved").textContent = busy ? "Saving …" : "Saved";
    $("saved").classList.toggle("busy", busy);
  });
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || !model.project || event.target.matches("input, textarea, select")) return;
    const key = event.key.toLowerCase();
    if (key === "z" && !event.shiftKey && model.project.undo) attempt(model.undo);
    else if ((key === "y" || (key === "z" && event.shiftKey)) && model.project.redo) attempt(model.redo);
    else return;
    event.preventDefault();
  });
  for (const link of document.querySelectorAll("#jump a, .skip")) link.addEventListener("click", jump);
  document.addEventListener("click", (event) => {
    for (const menu of document.querySelectorAll("details.menu[open]")) if (!menu.contains(event.target)) menu.open = false;
  });
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    for (const menu of document.querySelectorAll("details.menu[open]")) {
      menu.open = false;
      menu.querySelector("summary").focus();
    }
  });
}

/** Go to a part of the page; the address keeps naming the project. */
function jump(event) {
  event.preventDefault();
  const part = document.querySelector(event.currentTarget.hash);
  part.tabIndex = -1;
  part.scrollIntoView({ block: "start" });
  part.focus({ preventScroll: true });
}

const KEYS = [
  ["Arrow keys", "move the mark over the chart; with Alt ten at a time"],
  ["Space or Enter", "use the tool where the mark is; twice for a line or a box, from and to"],
  ["Shift and arrows", "select"],
  ["1 to 9, 0", "take a yarn"],
  ["V P L B F S K", "look, paint, line, box, fill, select, keep"],
  ["I", "take the yarn under the mark"],
  ["+ and −, Home", "closer, further, the whole chart"],
  ["N", "go to the next finding"],
  ["Escape", "let go of what is selected or half done"],
  ["Ctrl Z, Ctrl Y", "undo, redo"],
];

function showKeys() {
  const list = el("dl", { class: "keys" }, KEYS.flatMap(([keys, words]) => [el("dt", {}, keys), el("dd", {}, words)]));
  ask("Keys", [el("p", {}, "They work while the chart is in focus."), list], [["Close", null]]);
}

async function boot() {
  if (location.search) history.replaceState(null, "", location.pathname + location.hash);
  await attempt(() => model.loadDesk());
  setUpBar();
  catchDrops();
  setUpPicture($("photo"));
  setUpChoices($("choices"));
  setUpStage($("stage"));
  setUpSays($("verdict"));
  model.onProject(showProject);
  window.addEventListener("hashchange", route);
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") attempt(model.catchUp);
  });
  window.addEventListener("focus", () => attempt(model.catchUp));
  await route();
}

boot();
