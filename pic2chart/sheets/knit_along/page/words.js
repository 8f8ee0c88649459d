// @ts-check
// The data of the page, and runs of stitches as they are counted and told.
/**
 * The page's data, as `knit_along.py` writes it. Stitches and rounds count from 1, yarns from 0.
 * @typedef {[count: number, yarn: number]} Run
 * @typedef {Run | { times: number, runs: Run[] }} Part
 * @typedef {{ parts: Part[], shaped: string, shapes: [kind: string, stitches: number[]][], catches: [yarn: number, stitches: number[]][] }} Spoken
 * @typedef {object} KnitChart
 * @property {string} place
 * @property {string} word
 * @property {boolean} flat
 * @property {"right" | "left"} hand
 * @property {number} aspect
 * @property {{ key: string, name: string, colour: string, ink: string }[]} yarns
 * @property {string[]} rows
 * @property {Spoken[]} spoken
 * @property {number[]} rounds
 * @property {number[]} back
 * @property {number[]} wrong
 * @property {number[][]} orders
 * @property {Record<string, string[]>} changes
 */
/** Stands for no yarn, where there is no stitch. */
const NONE = 255;
/** @param {string} text */
const capital = (text) => text[0].toUpperCase() + text.slice(1);
/** @param {Run} run */
const real = ([, yarn]) => yarn !== NONE; // squares without a stitch are nothing to knit
/** @param {Part} p */
const worked = (p) => !Array.isArray(p) || real(p);
/** @param {(string | number)[]} numbers */
const listed = (numbers) => numbers.length === 1 ? String(numbers[0])
  : numbers.slice(0, -1).join(", ") + " and " + numbers[numbers.length - 1];
/** @param {number} n */
const nth = (n) => n + (["th", "st", "nd", "rd"][n % 100 > 10 && n % 100 < 14 ? 0 : n % 10] || "th");
/** @param {Part} p @returns {Run[]} */
const runsOf = (p) => (Array.isArray(p) ? [p] : Array(p.times).fill(p.runs).flat());
/**
 * For every square of the round, in the order it is worked: which part it is in, and the how manieth
 * stitch of that part it is (0 where there is no stitch).
 * @param {Part[]} parts
 */
function counted(parts) {
  return parts.flatMap((p, place) => {
    let knitted = 0;
    return runsOf(p).flatMap(([n, yarn]) => Array.from({ length: n }, () =>
      ({ place, number: yarn === NONE ? 0 : (knitted += 1) })));
  });
}
/**
 * @template {keyof HTMLElementTagNameMap} Tag
 * @param {Tag} name
 * @param {string | number} [text]
 * @param {string} [className]
 * @returns {HTMLElementTagNameMap[Tag]}
 */
function element(name, text, className) {
  const made = document.createElement(name);
  if (text !== undefined) made.textContent = String(text);
  if (className) made.className = className;
  return made;
}
