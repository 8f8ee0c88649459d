// @ts-check
// Opening the page: who is there, what is open, and the bar at the top.

import { $, hideNotice, input } from "./dom.js";
import { showHelp } from "./keys.js";
import { attempt, onAway, patient, takeKey } from "./net.js";
import * as model from "./model.js";
import { letIn, setUpNetwork } from "./network.js";
import { catchDrops, showStart } from "./start.js";
import { setUpPicture } from "./picture.js";
import { setUpChoices } from "./choices.js";
import { jumpTo, setUpStage } from "./stage.js";
import { setUpMaking } from "./making.js";
import { setUpSays } from "./says.js";
import { followProject } from "./thing.js";
import { setUpTake } from "./take.js";
/** @import { View, Why } from "./shapes" */

/** @returns {NodeListOf<HTMLDetailsElement>} */
const openMenus = () => document.querySelectorAll("details.menu[open]");

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

/** @param {View} view @param {Why} why */
function showProject(view, why) {
  $("start").hidden = true;
  $("work").hidden = $("jump").hidden = $("project-bar").hidden = false;
  document.title = `${view.chart.title} – pic2chart desk`;
  if (document.activeElement !== $("title")) input("title").value = view.chart.title;
  $("work-head").textContent = view.chart.title;
  button("undo", "Undo", view.undo);
  button("redo", "Redo", view.redo);
  if (why === "open") {
    location.hash = `p-${view.id}`;
    showPart("chart");
  }
}

/** @param {string} id @param {string} word @param {string | null} what it would bring back */
function button(id, word, what) {
  input(id).disabled = !what;
  $(id).title = what ? `${word}: ${what}` : `Nothing to ${word.toLowerCase()}`;
  $(id).setAttribute("aria-label", what ? `${word}: ${what}` : word);
}

function setUpBar() {
  $("home").addEventListener("click", () => { location.hash = ""; });
  $("undo").addEventListener("click", () => attempt(model.undo));
  $("redo").addEventListener("click", () => attempt(model.redo));
  $("title").addEventListener("change", () => attempt(() => model.changeSettings({ title: input("title").value.trim() || null })));
  $("keys").setAttribute("aria-label", "Help");
  $("keys").addEventListener("click", showHelp);
  let [busy, away] = [false, false];
  const say = () => {
    $("saved").textContent = !busy ? "Saved" : away ? "Waits to be saved" : "Saving …";
    $("saved").classList.toggle("away", busy && away);
  };
  model.onBusy((now) => { busy = now; say(); });
  onAway((now) => {
    away = now;
    say();
    if (!away) attempt(model.catchUp);
  });
  document.addEventListener("keydown", (event) => {
    if (!(event.ctrlKey || event.metaKey) || !model.project || /** @type {Element} */ (event.target).matches("input, textarea, select")) return;
    const key = event.key.toLowerCase();
    if (key === "z" && !event.shiftKey && model.project.undo) attempt(model.undo);
    else if ((key === "y" || (key === "z" && event.shiftKey)) && model.project.redo) attempt(model.redo);
    else return;
    event.preventDefault();
  });
  document.addEventListener("click", (event) => {
    for (const menu of openMenus()) if (!menu.contains(/** @type {Node} */ (event.target))) menu.open = false;
  });
  document.addEventListener("keydown", (event) => {
    if (event.key !== "Escape") return;
    for (const menu of openMenus()) {
      menu.open = false;
      menu.querySelector("summary")?.focus();
    }
  });
}

// The parts of the desk: a wide window shows all three, a narrow one those that fit, and this says which.

/** @returns {NodeListOf<HTMLButtonElement>} */
const jumpButtons = () => document.querySelectorAll("#jump button");

function setUpParts() {
  for (const button of jumpButtons()) button.addEventListener("click", () => showPart(button.dataset.part ?? "chart"));
  document.querySelector(".skip")?.addEventListener("click", (event) => {
    event.preventDefault(); // the address keeps naming the project
    showPart("chart");
    $("chart").focus();
  });
  showPart("chart");
}

/** @param {string} name */
function showPart(name) {
  $("work").dataset.part = name;
  for (const button of jumpButtons()) button.setAttribute("aria-pressed", String(button.dataset.part === name));
}

async function boot() {
  takeKey();
  await letIn();
  setUpNetwork();
  await patient(() => model.loadDesk());
  setUpBar();
  setUpParts();
  catchDrops();
  followProject();
  setUpTake($("files"));
  setUpMaking($("what"));
  setUpPicture($("photo"));
  setUpChoices($("choices"));
  setUpStage($("stage"));
  setUpSays($("verdict"), (finding) => {
    showPart("chart");
    jumpTo(finding);
  });
  model.onProject(showProject);
  window.addEventListener("hashchange", route);
  document.addEventListener("visibilitychange", () => {
    if (document.visibilityState === "visible") attempt(model.catchUp);
  });
  window.addEventListener("focus", () => attempt(model.catchUp));
  await route();
}

boot();
