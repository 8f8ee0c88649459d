// @ts-check
// Beside the photo: frames to choose from as little charts, turning and mirroring, the chart in small.

import { el } from "./dom.js";
import { penOf } from "./ink.js";
import { attempt, get } from "./net.js";
import * as model from "./model.js";
import * as thing from "./thing.js";
/** @import { Look } from "./shapes" */

/** @type {Record<string, string>} */
const FRAME_NAMES = { whole: "The whole photo", close: "Close", head: "Head and shoulders" };

/** Frames proposed for the picture, each as the chart it would give; asked for when it is unfolded. */
export function framesPanel() {
  const list = el("div", { class: "offers" });
  const fold = el("details", { class: "fold", id: "frames", ontoggle: () => { if (fold.open) fill(); } }, el("summary", {}, "How near? Frames to choose from"), list);
  let shown = "";
  const fill = async () => {
    const { id, picture, settings, chart } = model.opened();
    const wanted = JSON.stringify([id, picture, settings.subject, settings.keep, settings.leave, settings.turn, chart.yarns, settings.look]);
    if (wanted === shown) return;
    shown = wanted;
    list.classList.add("working");
    /** @type {Look[] | null} */
    const offers = await attempt(() => get(`/api/projects/${id}/frames`));
    list.classList.remove("working");
    list.replaceChildren(...(offers ?? []).map((offer) => el("button", { type: "button", class: "offer", onclick: () => attempt(() => model.changeSettings({ frame: offer.name }, !model.opened().follows)) },
      el("img", { alt: "", src: offer.front }), el("strong", {}, FRAME_NAMES[offer.name]), offer.words.map((line) => el("small", {}, line)))));
    if (!offers) shown = "";
  };
  model.onProject((_, why) => { if (why !== "draft" && fold.open && fold.offsetParent) fill(); });
  return fold;
}

export function turns() {
  const button = (/** @type {string} */ way, /** @type {string} */ word) => el("button", { type: "button", class: "small", onclick: () => attempt(() => model.act("turn", { way })) }, word);
  return el("div", { class: "row turns", role: "group", "aria-label": "Turn the photo" }, button("left", "↺ Turn left"), button("right", "↻ Turn right"), button("mirror", "⇋ Mirror"));
}

/** The whole chart in small beside its picture, where a narrow window shows one part at a time. */
export function miniChart() {
  const canvas = el("canvas", { class: "mini", "aria-hidden": "true" });
  const draw = () => {
    if (!model.project || !canvas.offsetParent) return;
    const { rows, yarns, aspect, hand } = thing.inHand().chart;
    const [rounds, stitches] = [rows.length, rows[0].length];
    const colours = new Map(yarns.map(({ key, colour }) => [key, colour]));
    canvas.width = stitches;
    canvas.height = rounds;
    canvas.style.aspectRatio = `${stitches} / ${rounds * aspect}`;
    const context = penOf(canvas);
    rows.forEach((row, r) => Array.from(row).forEach((key, s) => {
      context.fillStyle = colours.get(key) ?? "transparent";
      context.fillRect(hand === "right" ? stitches - 1 - s : s, rounds - 1 - r, 1, 1);
    }));
  };
  model.onProject(draw);
  thing.onThing(draw);
  new ResizeObserver(draw).observe(canvas);
  return canvas;
}
