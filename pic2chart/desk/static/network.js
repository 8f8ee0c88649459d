// @ts-check
// The home network: letting a device in, on the desk's own screen; and being let in, on the device.

import { $, ask, el, input, many } from "./dom.js";
import { attempt, get, keepKey, post, Trouble } from "./net.js";

const CODE = /^#pair=([0-9A-Za-z-]{8,12})$/;
/** @typedef {{ id: string, name: string, since_ms: number, seen_ms: number }} Device */
/** @typedef {{ on: boolean, address: string, fingerprint: string, devices: Device[] }} Network */

// On a device of the network.

/** On the network, wait until this device is let in; on the desk's own machine nothing happens. */
export async function letIn() {
  if (location.protocol !== "https:") return;
  let code = location.hash.match(CODE)?.[1] ?? "";
  if (code) history.replaceState(null, "", location.pathname);
  for (let words = ""; code || !(await known()); ) {
    if (!code) code = await typed(words);
    try {
      keepKey((await post("/api/pair", { code, name: calledHere() })).key);
      words = "";
    } catch (trouble) {
      if (!(trouble instanceof Trouble)) throw trouble;
      words = trouble.message;
    }
    code = "";
  }
  $("start").replaceChildren();
}

async function known() {
  try {
    await get("/api/alive");
  } catch (trouble) {
    if (trouble instanceof Trouble && trouble.status === 401) return false;
    if (!(trouble instanceof Trouble)) throw trouble;
  }
  return true;
}

/**
 * Ask for the code; gives what was typed.
 * @param {string} words what was wrong with the last one
 * @returns {Promise<string>}
 */
function typed(words) {
  return new Promise((resolve) => {
    const code = el("input", { id: "pair-code", type: "text", maxlength: 12, autocomplete: "off", autocapitalize: "characters", spellcheck: false, required: true, "aria-describedby": "pair-help" });
    const form = el("form", { class: "drop", id: "pair" },
      el("h1", {}, "Let this device in"),
      el("p", { id: "pair-help" }, "On the desk's own screen press “On the phone”, then “Let a device in”, and type the code that stands there."),
      words ? el("p", { class: "trouble", role: "alert" }, words) : null,
      el("div", { class: "field" }, el("label", { for: "pair-code" }, "Code"), code),
      el("div", { class: "row middle" }, el("button", { type: "submit", class: "main" }, "Let me in")));
    form.addEventListener("submit", (event) => {
      event.preventDefault();
      resolve(code.value.trim());
    });
    $("start").hidden = false;
    $("start").replaceChildren(form);
    code.focus();
  });
}

/** What a person would call this device. */
function calledHere() {
  const agent = navigator.userAgent;
  for (const [sign, name] of [["iPhone", "iPhone"], ["iPad", "iPad"], ["Android", "Android device"], ["Macintosh", "Mac"], ["Windows", "Windows computer"]]) if (agent.includes(sign)) return name;
  return "another device";
}

// On the desk's own machine.

/** The button that opens all this, where the desk is open on the network. */
export async function setUpNetwork() {
  if (location.protocol === "https:") return;
  /** @type {Network | null} */
  const network = await attempt(() => get("/api/network"));
  if (!network?.on) return;
  $("keys").before(el("button", { type: "button", id: "phone", class: "plain", onclick: showNetwork }, "On the phone"));
}

async function showNetwork() {
  /** @type {Network | null} */
  const network = await attempt(() => get("/api/network"));
  if (!network) return;
  const code = el("div", { id: "new-code" });
  const wanted = el("button", { type: "button", class: "main", onclick: () => attempt(async () => showCode(code, await post("/api/network/code", {}))) }, "Let a device in");
  const body = [
    el("p", {}, `Your phone or tablet opens the same desk at ${network.address}, as long as it is in the same home network.`),
    el("div", { class: "row" }, wanted), code,
    el("details", {}, el("summary", {}, "The phone warns about the certificate"),
      el("p", {}, "That is right, once: the desk made its certificate itself, on this machine, and no company vouches for it. Before you go on, look at the certificate on the phone (press the warning's details, or the sign beside the address). Its SHA-256 fingerprint must be this one; otherwise somebody stands between, so do not go on."),
      el("p", { class: "fingerprint", id: "fingerprint" }, network.fingerprint.match(/.{1,24}/g)?.join(" ") ?? "")),
    devices(network.devices),
  ];
  await ask("On the phone", body, [["Close", null]]);
}

/**
 * @param {HTMLElement} place
 * @param {{ code: string, square: string, seconds: number }} made
 */
function showCode(place, { code, square, seconds }) {
  const picture = el("img", { alt: "The desk's address with the code, to be read by the phone's camera", class: "square", src: `data:image/svg+xml;utf8,${encodeURIComponent(square)}` });
  const left = el("p", { class: "quiet", role: "status" });
  const end = Date.now() + 1000 * seconds;
  const tick = () => {
    const rest = Math.ceil((end - Date.now()) / 60_000);
    left.textContent = rest > 0 ? `Good for one device, and for ${many(rest, "minute")}.` : "This code is over.";
    if (rest > 0 && place.isConnected) setTimeout(tick, 5000);
  };
  place.replaceChildren(picture,
    el("p", {}, "Point the phone's camera at the square, or open the address there and type ", el("b", { class: "code", id: "code" }, code), "."), left);
  tick();
}

/** @param {Device[]} known @returns {HTMLElement} */
function devices(known) {
  const list = el("section", { id: "devices" }, el("h3", {}, "Devices that are let in"));
  if (!known.length) list.append(el("p", { class: "quiet" }, "None yet."));
  else list.append(el("ul", {}, known.map((device) => {
    const seen = new Date(device.seen_ms).toLocaleString(undefined, { dateStyle: "medium", timeStyle: "short" });
    const away = el("button", { type: "button", class: "small", "aria-label": `Withdraw ${device.name}`, onclick: () => attempt(async () => list.replaceWith(devices((await post("/api/network/withdraw", { id: device.id })).devices))) }, "Withdraw");
    return el("li", { class: "row" }, el("span", {}, device.name, " ", el("small", {}, `seen ${seen}`)), away);
  })));
  return list;
}

// What a phone is good for.

/**
 * A button that takes a photo, where there is a camera at hand; nothing on a machine with a mouse.
 * @param {(file: File) => void} taken
 */
export function photoButton(taken) {
  if (!matchMedia("(pointer: coarse)").matches) return null;
  const camera = el("input", { type: "file", accept: "image/*", capture: "environment", class: "unseen", id: "take-photo", onchange: () => {
    const [file] = input("take-photo").files ?? [];
    if (file) taken(file);
    input("take-photo").value = "";
  } });
  return el("span", { class: "choose" }, camera, el("label", { class: "button", for: "take-photo" }, "Take a photo"));
}

/**
 * A link to the project's knit-along page, which keeps its place on every device that shows it.
 * @param {() => string} project its number
 * @param {string} piece of what is made of it, '' for its chart
 */
export function knitLink(project, piece = "") {
  const link = el("a", { class: "button file", id: piece ? null : "knit-along", target: "_blank", rel: "noopener" },
    el("span", {}, "Knit along here"), el("small", {}, "keeps its place on every device"));
  link.addEventListener("click", () => { link.href = `/knit#${project()}${piece && `/${piece}`}`; });
  link.addEventListener("focus", () => { link.href = `/knit#${project()}${piece && `/${piece}`}`; });
  return link;
}
