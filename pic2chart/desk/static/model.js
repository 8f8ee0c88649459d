// @ts-check
// What is known of the desk and the open project, and the one queue through which it is changed.
// What is made of the project, if more than a chart, is looked after in thing.js.

import { ask, el, hideNotice, notice } from "./dom.js";
import { attempt, get, patient, post, Trouble, untilBack, upload } from "./net.js";
/** @import { Desk, Heard, Settings, View, Why } from "./shapes" */

/** @type {Desk} */
export const desk = { form: [], cautions: [], findings: {}, sheets: [], gauge: [], garments: [], symbols: [], projects: [], shelf: [], ready: false };
/** @type {View | null} */
export let project = null;

/** The project shown, for what is done only while there is one. */
export function opened() {
  if (!project) throw new Error("No project is open.");
  return project;
}

const LONG = 2000;
/** @type {Set<Heard>} */
const listeners = new Set();
/** @type {Promise<unknown>} */
let tail = Promise.resolve();
let waiting = 0;
let epoch = 0;

/**
 * Call `heard(project, why, action)` whenever the project shown changes; why is 'open', 'change' or 'draft'.
 * @param {Heard} heard
 */
export function onProject(heard) {
  listeners.add(heard);
}

/** @type {Set<(busy: boolean) => void>} */
const busyListeners = new Set();
/**
 * Call `heard(true or false)` when saving begins and ends.
 * @param {(busy: boolean) => void} heard
 */
export function onBusy(heard) {
  busyListeners.add(heard);
}

window.addEventListener("beforeunload", (event) => {
  if (waiting) event.preventDefault();
});

/** @param {number} by */
function busy(by) {
  waiting += by;
  for (const heard of busyListeners) heard(waiting > 0);
}

/** @param {View} view @param {Why} why @param {string} action */
export function show(view, why, action = "") {
  if (why !== "draft") epoch += 1;
  project = view;
  for (const heard of listeners) heard(view, why, action);
}

export async function loadDesk() {
  Object.assign(desk, await get("/api/desk"));
  return desk;
}

/** @param {string} id */
export async function open(id) {
  show(await get(`/api/projects/${id}`), "open");
}

/**
 * Start from a picture or a chart's file, and make the thing that is wanted of it at once.
 * @param {File} file
 * @param {string} kind
 * @param {{ kind: string, options: Settings } | null} thing
 */
export async function start(file, kind, thing = null) {
  const name = encodeURIComponent(file.name.slice(-200));
  const view = await upload(`/api/projects?kind=${kind}&name=${name}`, file);
  let refused = null;
  let made = view;
  if (thing) {
    const body = { ...thing, revision: view.revision, mark: crypto.randomUUID() };
    made = await post(`/api/projects/${view.id}/thing`, body).catch((trouble) => { refused = trouble; return view; });
  }
  show(made, "open");
  if (refused) throw refused;
  return project;
}

/** @param {number} stitches @param {number} rounds */
export async function startBlank(stitches, rounds) {
  show(await post("/api/projects/blank", { stitches, rounds }), "open");
}

export function close() {
  project = null;
  epoch += 1;
}

/**
 * Change the project: one change after another, each on top of the last. Gives the view or null.
 * @param {string} action
 * @param {object | (() => object)} body a function is asked when its turn comes, and sees what went before
 * @returns {Promise<View | null>}
 */
export function act(action, body = {}) {
  const { id } = opened();
  busy(1);
  const patience = action === "settings" ? offerToStop(id) : () => null;
  const done = tail.then(() => send(id, action, body)).finally(() => { patience(); busy(-1); });
  tail = done.catch(() => null);
  return done;
}

/**
 * Say when making a chart takes long, and let it be stopped; gives what to do when it is over.
 * @param {string} id
 */
function offerToStop(id) {
  let said = false;
  const stop = () => attempt(() => post(`/api/projects/${id}/stop`, {}));
  const timer = setTimeout(() => {
    said = true;
    notice("Making this chart takes a while.", { stay: true, button: el("button", { type: "button", onclick: stop }, "Stop") });
  }, LONG);
  return () => {
    clearTimeout(timer);
    if (said) hideNotice();
  };
}

/**
 * Sent until the desk answers; its mark keeps a change whose answer was lost from being done twice.
 * @param {string} id
 * @param {string} action
 * @param {object | (() => object)} body
 * @returns {Promise<View | null>}
 */
async function send(id, action, body) {
  if (project?.id !== id) return null;
  const path = `/api/projects/${id}/${action}`;
  const asked = { ...(typeof body === "function" ? body() : body), revision: project.revision, mark: crypto.randomUUID() };
  try {
    return accept(await patient(() => post(path, asked)), action);
  } catch (trouble) {
    if (!(trouble instanceof Trouble && trouble.status === 409)) {
      const now = project?.id === id ? await current(id) : null;
      if (now) show(now, "change");
      throw trouble;
    }
    return settle(id, action, body);
  }
}

/** @param {View} view @param {string} action */
function accept(view, action = "") {
  if (project?.id === view.id) show(view, "change", action);
  return view;
}

/**
 * Another window changed the project: nothing is overwritten without being asked.
 * @param {string} id
 * @param {string} action
 * @param {object | (() => object)} body
 * @returns {Promise<View | null>}
 */
async function settle(id, action, body) {
  const theirs = /** @type {View} */ (await patient(() => get(`/api/projects/${id}`)));
  const answer = await ask(
    "Changed in another window",
    "This chart was changed in another window since you last saw it here. Your last change is not made yet.",
    [["Make my change on top of it", "mine"], ["Leave my change", "theirs"]],
  );
  if (project?.id === id) show(theirs, "change");
  return answer === "mine" ? send(id, action, body) : theirs;
}

/** @param {string} id @returns {Promise<View | null>} */
async function current(id) {
  try {
    return await get(`/api/projects/${id}`);
  } catch {
    return project;
  }
}

/**
 * A kind of question: the one being asked is followed by the newest that came meanwhile.
 * @typedef {{ running: boolean, next: { body: object, heard: (answer: any) => void, id: string } | null }} Lane
 */
/** @type {Map<string, Lane>} */
const drafts = new Map();
/**
 * Work something out without keeping it: the newest question of a kind is asked, older ones fall away.
 * @param {string} action
 * @param {object} body
 * @param {(answer: any) => void} heard is given what the desk answers: a view or findings
 */
export function draft(action, body, heard) {
  const lane = drafts.get(action) ?? /** @type {Lane} */ ({ running: false, next: null });
  drafts.set(action, lane);
  lane.next = { body, heard, id: opened().id };
  if (!lane.running) run(action, lane);
}

/** @param {string} action @param {Lane} lane */
async function run(action, lane) {
  lane.running = true;
  while (lane.next) {
    const { body, heard, id } = lane.next;
    const asked = epoch;
    lane.next = null;
    try {
      const answer = await post(`/api/projects/${id}/${action}`, { ...body, draft: true, revision: project?.revision });
      if (asked === epoch && project?.id === id) heard(answer);
    } catch (trouble) {
      if (!(trouble instanceof Trouble)) throw trouble;
      if (trouble.away) untilBack(trouble);
      else if (trouble.status !== 409 && (trouble.status !== 422 || asked === epoch)) notice(trouble.message);
    }
  }
  lane.running = false;
}

export function dropDrafts() {
  epoch += 1;
  for (const lane of drafts.values()) lane.next = null;
}

/** @param {Settings} settings @param {boolean} anew from the picture, whatever was done by hand */
export const changeSettings = (settings, anew = false) => act("settings", { settings, anew });
/** @param {() => Settings} settings what they shall be, of the chart as it is when their turn comes */
export const changeInTurn = (settings) => act("settings", () => ({ settings: settings(), anew: false }));
/** @param {object} thing its kind and options; no kind for the chart itself */
export const makeThing = (thing) => act("thing", thing);
export const undo = () => act("undo");
export const redo = () => act("redo");

/**
 * Another picture for the open project.
 * @param {File} file
 */
export async function otherPicture(file) {
  const { id, revision } = opened();
  const name = encodeURIComponent(file.name.slice(-200));
  busy(1);
  try {
    accept(await upload(`/api/projects/${id}/picture?revision=${revision}&title=${name}`, file));
  } finally {
    busy(-1);
  }
}

/** When one comes back to this window, show what another one did meanwhile. */
export async function catchUp() {
  if (!project || waiting) return;
  const view = await get(`/api/projects/${project.id}`);
  if (project && view.id === project.id && view.revision !== project.revision) {
    show(view, "change");
    notice("Brought up to date: this chart was changed in another window.");
  }
}
