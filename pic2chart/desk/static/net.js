// @ts-check
// Talking to the desk's own server, and to nothing else; and what happens while it does not answer.

import { hideNotice, notice, tell } from "./dom.js";

const KEY = "desk-key";
const AGAIN = 1500;

export class Trouble extends Error {
  /** @param {string} words @param {number} status of the answer, 0 when none came */
  constructor(words, status) {
    super(words);
    this.status = status;
  }

  /** The desk is away, or was started anew and waits for its new address to be opened. */
  get away() { return this.status === 0 || this.status === 401; }
}

/** Keep the key of this start, which the printed address brings, out of sight; all windows share it. */
export function takeKey() {
  const key = new URLSearchParams(location.search).get("key");
  if (key) localStorage.setItem(KEY, key);
  if (location.search) history.replaceState(null, "", location.pathname + location.hash);
}

/** @param {string} key that this device was given */
export const keepKey = (key) => localStorage.setItem(KEY, key);

/** @param {string} path @param {RequestInit & { headers?: Record<string, string> }} how */
async function answered(path, how = {}) {
  let response;
  try {
    response = await fetch(path, { ...how, headers: { ...how.headers, "x-desk-key": localStorage.getItem(KEY) ?? "" } });
  } catch {
    throw new Trouble("The desk does not answer. What you do meanwhile waits here: start the desk again, and this page goes on by itself.", 0);
  }
  if (response.ok) return response;
  let words = `The desk answered ${response.status}.`;
  try {
    words = (await response.json()).error ?? words;
  } catch { /* not JSON: the number will do */ }
  if (response.status === 401 && location.protocol !== "https:") words = "This page does not have the desk's key. Open the address the desk printed when it was started, in this browser; then this page goes on by itself.";
  throw new Trouble(words, response.status);
}

/** @param {string} path */
export async function get(path) {
  return (await answered(path)).json();
}

/** @param {string} path */
export async function text(path) {
  return (await answered(path)).text();
}

/** @param {string} path @param {object} data */
export async function post(path, data) {
  return (await answered(path, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(data) })).json();
}

/** @param {string} path @param {Blob} file */
export async function upload(path, file) {
  return (await answered(path, { method: "POST", headers: { "content-type": "application/octet-stream" }, body: file })).json();
}

/**
 * A picture as an object URL, with the headers that came along.
 * @param {string} path
 */
export async function image(path) {
  const response = await answered(path);
  return { url: URL.createObjectURL(await response.blob()), headers: response.headers };
}

/**
 * Fetch a file and hand it to the browser to save, under the desk's name for it.
 * @param {string} path
 */
export async function save(path) {
  const { url, headers } = await image(path);
  const link = document.createElement("a");
  link.href = url;
  link.download = headers.get("content-disposition")?.match(/filename="(.+)"/)?.[1] ?? "chart";
  link.click();
  setTimeout(() => URL.revokeObjectURL(url), 60_000);
}

/** @type {Promise<void> | null} */
let back = null;
/** @type {Set<(away: boolean) => void>} */
const listeners = new Set();
/**
 * Call `heard(true)` when the desk stops answering, `heard(false)` when it answers again.
 * @param {(away: boolean) => void} heard
 */
export function onAway(heard) {
  listeners.add(heard);
}

/**
 * Say that the desk is away, and wait until it answers again.
 * @param {Trouble} trouble
 */
export function untilBack(trouble) {
  notice(trouble.message, { stay: true });
  back ??= waited(trouble.message).finally(() => { back = null; });
  return back;
}

/** @param {string} words */
async function waited(words) {
  for (const heard of listeners) heard(true);
  for (let said = words; ;) {
    await new Promise((resolve) => setTimeout(resolve, AGAIN));
    try {
      await get("/api/alive");
      break;
    } catch (trouble) {
      if (!(trouble instanceof Trouble)) throw trouble;
      if (trouble.message !== said) notice(trouble.message, { stay: true });
      said = trouble.message;
    }
  }
  hideNotice();
  tell("The desk answers again.");
  for (const heard of listeners) heard(false);
}

/**
 * Do something as often as the desk is away meanwhile; what is done is done once.
 * @template Result
 * @param {() => Promise<Result>} work
 */
export async function patient(work) {
  for (;;) {
    try {
      return await work();
    } catch (trouble) {
      if (!(trouble instanceof Trouble && trouble.away)) throw trouble;
      await untilBack(trouble);
    }
  }
}

/**
 * Do something that may fail, and say so in one sentence.
 * @template Result
 * @param {() => Result} work
 * @returns {Promise<Awaited<Result> | null>}
 */
export async function attempt(work) {
  try {
    return await work();
  } catch (trouble) {
    if (!(trouble instanceof Trouble)) throw trouble;
    if (trouble.away) untilBack(trouble);
    else notice(trouble.message, { stay: true });
    return null;
  }
}
