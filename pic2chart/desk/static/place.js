// @ts-check
// Knitting along: becomes the page of the project that the address names, and keeps its place on every
// device that shows it.

import { get, post, text, Trouble } from "./net.js";

const AGAIN = 4000;
const [, project, piece = ""] = location.hash.match(/^#([0-9a-f]{12})(?:\/([a-z0-9-]{1,60}))?$/) ?? [];
const which = piece && `?piece=${piece}`;
const path = `/api/projects/${project}/place${which}`;
/** @typedef {{ round: number, done: number, turn: number }} Place */
/** @type {Place} */
let known = { round: 0, done: 0, turn: 0 };
/** @type {{ round: number, done: number } | null} */
let unsent = null;
let sending = false;

async function start() {
  if (!project) throw new Trouble("Open this page from a project on the desk.", 0);
  const page = await text(`/api/projects/${project}/knit${which}`);
  known = await get(path);
  document.open();
  document.write(page); // the desk's own page, under the policy that came with the bare one
  document.close();
  if (known.turn) show();
  window.addEventListener("knit-place", (event) => moved(/** @type {CustomEvent} */ (event).detail));
  document.addEventListener("visibilitychange", look);
  window.addEventListener("focus", look);
  setInterval(look, AGAIN);
}

function show() {
  window.dispatchEvent(new CustomEvent("knit-go", { detail: known }));
}

/** @param {{ round: number, done: number }} place */
function moved({ round, done }) {
  if (!unsent && round === known.round && done === known.done) return;
  unsent = { round, done };
  send();
}

/** Send the newest place; while the desk is away it waits here, and in the browser's own keeping. */
async function send() {
  if (sending) return;
  sending = true;
  while (unsent) {
    const place = unsent;
    try {
      known = await post(path, place);
      if (unsent === place) unsent = null;
    } catch (trouble) {
      if (!(trouble instanceof Trouble)) throw trouble;
      if (trouble.status && !trouble.away) unsent = null; // there is no such project any more
      break;
    }
  }
  sending = false;
}

/** Whether another device has gone on meanwhile. */
async function look() {
  if (document.visibilityState !== "visible") return;
  if (unsent) return send();
  try {
    const now = await get(path);
    if (unsent || now.turn === known.turn) return;
    known = now;
    show();
  } catch (trouble) {
    if (!(trouble instanceof Trouble)) throw trouble; // the page goes on by itself
  }
}

start().catch((trouble) => {
  const place = document.getElementById("lone");
  if (place) place.textContent = trouble instanceof Trouble ? trouble.message : "This page could not be made.";
});
