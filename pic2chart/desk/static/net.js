// Talking to the desk's own server, and to nothing else.

import { notice } from "./dom.js";

export class Trouble extends Error {
  constructor(words, status) {
    super(words);
    this.status = status;
  }
}

async function answered(request) {
  let response;
  try {
    response = await request;
  } catch {
    throw new Trouble("The desk does not answer. All that was saved is safe: start it again and open the address it prints.", 0);
  }
  if (response.ok) return response;
  let words = `The desk answered ${response.status}.`;
  try {
    words = (await response.json()).error ?? words;
  } catch { /* not JSON: the number will do */ }
  throw new Trouble(words, response.status);
}

export async function get(path) {
  return (await answered(fetch(path))).json();
}

export async function post(path, data) {
  const request = fetch(path, {
    method: "POST",
    headers: { "content-type": "application/json" },
    body: JSON.stringify(data),
  });
  return (await answered(request)).json();
}

export async function upload(path, file) {
  const request = fetch(path, {
    method: "POST",
    headers: { "content-type": "application/octet-stream" },
    body: file,
  });
  return (await answered(request)).json();
}

/** A picture as an object URL, with the headers that came along. */
export async function image(path) {
  const response = await answered(fetch(path));
  return { url: URL.createObjectURL(await response.blob()), headers: response.headers };
}

/** Do something that may fail, and say so in one sentence. */
export async function attempt(work) {
  try {
    return await work();
  } catch (trouble) {
    if (!(trouble instanceof Trouble)) throw trouble;
    notice(trouble.message, { stay: true });
    return null;
  }
}
