// Small helpers for building the page. Text is always set as text, never as markup.

export const $ = (id) => document.getElementById(id);

/** An element with properties (on… are listeners, data and aria as attributes) and children. */
export function el(tag, properties = {}, ...children) {
  const node = document.createElement(tag);
  for (const [name, value] of Object.entries(properties)) {
    if (value === undefined || value === null || value === false) continue;
    if (name.startsWith("on")) node.addEventListener(name.slice(2), value);
    else if (name === "class") node.className = value;
    else if (name in node && !name.includes("-") && name !== "list" && name !== "form") node[name] = value;
    else node.setAttribute(name, value === true ? "" : value);
  }
  node.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== false));
  return node;
}

/** A swatch of a colour; the colour is set through the style object, which the policy allows. */
export function swatch(colour, title = "") {
  const node = el("span", { class: "swatch", title });
  node.style.backgroundColor = colour;
  return node;
}

/** Say something to those who do not see the page. */
export function tell(words) {
  $("live").textContent = words;
}

let noticeTimer = 0;
/** Say something to everyone, for a while or until the next. */
export function notice(words, { stay = false, button = null } = {}) {
  const box = $("notice");
  clearTimeout(noticeTimer);
  const close = el("button", { type: "button", class: "plain", onclick: () => (box.hidden = true) }, "Close");
  box.replaceChildren(el("span", {}, words), ...(button ? [button] : []), close);
  box.hidden = false;
  if (!stay) noticeTimer = setTimeout(() => (box.hidden = true), 9000);
}

export function hideNotice() {
  $("notice").hidden = true;
}

/** Ask a question with a few answers; gives the value of the answer, null when it is left. */
export function ask(title, words, answers) {
  const dialog = $("ask");
  return new Promise((resolve) => {
    let chosen = null;
    const buttons = answers.map(([label, value], index) =>
      el("button", { type: "button", class: index === 0 ? "main" : "", onclick: () => { chosen = value; dialog.close(); } }, label));
    const body = Array.isArray(words) ? words : [el("p", {}, words)];
    dialog.replaceChildren(el("h2", { id: "ask-head" }, title), ...body, el("div", { class: "row end" }, buttons));
    dialog.addEventListener("close", () => resolve(chosen), { once: true });
    dialog.showModal();
    dialog.scrollTop = 0;
  });
}

/** '1 stitch', '2 stitches'. */
export function many(count, word) {
  if (count === 1) return `1 ${word}`;
  return `${count} ${word}${word.endsWith("ch") ? "es" : "s"}`;
}

export const clamp = (value, low, high) => Math.min(high, Math.max(low, value));
