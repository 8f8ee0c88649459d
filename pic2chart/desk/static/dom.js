// @ts-check
// Small helpers for building the page. Text is always set as text, never as markup.

/** @import { Children, Properties } from "./shapes" */

/**
 * An element that the page is sure to have.
 * @param {string} id
 * @returns {HTMLElement}
 */
export function $(id) {
  const found = document.getElementById(id);
  if (!found) throw new Error(`The page has no #${id}.`);
  return found;
}

/** The input, or what else can be out of use, of that id. @param {string} id */
export const input = (id) => /** @type {HTMLInputElement} */ ($(id));

/**
 * An element with properties (on… are listeners, data and aria as attributes) and children.
 * @template {keyof HTMLElementTagNameMap} Tag
 * @param {Tag} tag
 * @param {Properties} properties
 * @param {Children} children
 * @returns {HTMLElementTagNameMap[Tag]}
 */
export function el(tag, properties = {}, ...children) {
  const node = document.createElement(tag);
  const own = /** @type {Record<string, unknown>} */ (/** @type {unknown} */ (node));
  for (const [name, value] of Object.entries(properties)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), /** @type {EventListener} */ (value));
    else if (name === "class") node.className = String(value);
    else if (name in node && !name.includes("-") && name !== "list" && name !== "form") own[name] = value;
    else node.setAttribute(name, value === true ? "" : String(value));
  }
  for (const child of children.flat()) {
    if (child !== null && child !== undefined && child !== false) node.append(child instanceof Node ? child : String(child));
  }
  return node;
}

/**
 * A swatch of a colour; the colour is set through the style object, which the policy allows.
 * @param {string} colour
 * @param {string} title
 */
export function swatch(colour, title = "") {
  const node = el("span", { class: "swatch", title });
  node.style.backgroundColor = colour;
  return node;
}

/**
 * Say something to those who do not see the page.
 * @param {string} words
 */
export function tell(words) {
  $("live").textContent = words;
}

let noticeTimer = 0;
/**
 * Say something to everyone, for a while or until the next; each sentence of a list on lines of its own.
 * @param {string | string[]} words
 * @param {{ stay?: boolean, button?: HTMLElement | null }} how
 */
export function notice(words, { stay = false, button = null } = {}) {
  const box = $("notice");
  clearTimeout(noticeTimer);
  const close = el("button", { type: "button", class: "plain", onclick: () => (box.hidden = true) }, "Close");
  box.replaceChildren(el("span", {}, [words].flat().map((one) => el("span", { class: "line" }, one))), ...(button ? [button] : []), close);
  noticeWithin();
  box.hidden = false;
  if (!stay) noticeTimer = setTimeout(() => (box.hidden = true), 9000);
}

/** What lies behind an open question can be neither read nor pressed, so the notice goes into it. */
function noticeWithin() {
  const dialog = /** @type {HTMLDialogElement} */ ($("ask"));
  if (dialog.open) dialog.prepend($("notice"));
  else $("top").after($("notice"));
}

export function hideNotice() {
  $("notice").hidden = true;
}

/**
 * Ask a question with a few answers; gives the value of the answer, null when it is left.
 * @template Answer
 * @param {string} title
 * @param {string | HTMLElement[]} words a sentence, or what the question shows
 * @param {[label: string | HTMLElement, value: Answer | null][]} answers
 * @returns {Promise<Answer | null>}
 */
export function ask(title, words, answers) {
  const dialog = /** @type {HTMLDialogElement} */ ($("ask"));
  return new Promise((resolve) => {
    let chosen = /** @type {Answer | null} */ (null);
    const buttons = answers.map(([label, value], index) =>
      el("button", { type: "button", class: index === 0 ? "main" : "", onclick: () => { chosen = value; dialog.close(); } }, label));
    const body = Array.isArray(words) ? words : [el("p", {}, words)];
    noticeWithin();
    dialog.replaceChildren(el("h2", { id: "ask-head" }, title), ...body, el("div", { class: "row end" }, buttons));
    dialog.addEventListener("close", () => {
      noticeWithin();
      resolve(chosen);
    }, { once: true });
    dialog.showModal();
    dialog.scrollTop = 0;
  });
}

/**
 * '1 stitch', '2 stitches'.
 * @param {number} count
 * @param {string} word
 */
export function many(count, word) {
  if (count === 1) return `1 ${word}`;
  return `${count} ${word}${word.endsWith("ch") ? "es" : "s"}`;
}

/**
 * A field above a long list that leaves only the rows in sight that hold the typed words.
 * @param {HTMLElement} list
 * @param {string} id
 * @param {string} label
 */
export function finder(list, id, label) {
  const count = el("span", { class: "quiet", role: "status" });
  const field = el("input", { id, type: "text", autocomplete: "off", oninput: () => {
    const words = field.value.toLowerCase().split(/\s+/);
    const rows = /** @type {HTMLElement[]} */ ([...list.children]);
    for (const row of rows) row.hidden = !words.every((word) => row.textContent?.toLowerCase().includes(word));
    count.textContent = field.value.trim() ? `${rows.filter((row) => !row.hidden).length} of ${rows.length}` : "";
  } });
  return el("div", { class: "row finder" }, el("label", { for: id }, label), field, count);
}

/** @param {number} value @param {number} low @param {number} high */
export const clamp = (value, low, high) => Math.min(high, Math.max(low, value));
