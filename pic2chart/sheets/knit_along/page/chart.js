// @ts-check
"use strict";
/**
 * Paints the whole chart on a canvas; a square is `side` wide. Letters stand on it when it is `large`.
 * @param {CanvasRenderingContext2D} pen
 * @param {KnitChart} chart
 * @param {number} side
 * @param {boolean} large
 */
function paintChart(pen, chart, side, large) {
  const across = chart.rows[0].length;
  const count = chart.rounds.length;
  const tall = side * chart.aspect;
  const left = (/** @type {number} */ s) => (chart.hand === "right" ? across - 1 - s : s) * side;
  function grid() {
    const fine = { every: side < 6 ? 0 : 1, width: 0.6, colour: "#8c8c8c" };
    for (const { every, width, colour } of [fine, { every: 10, width: 1.2, colour: "#55595f" }]) {
      if (!every) continue;
      pen.lineWidth = width;
      pen.strokeStyle = colour;
      pen.beginPath();
      for (let s = 0; s <= across; s += every) {
        const x = chart.hand === "right" ? (across - s) * side : s * side;
        pen.moveTo(x, 0);
        pen.lineTo(x, count * tall);
      }
      for (let r = 0; r <= count; r += every) {
        pen.moveTo(0, (count - r) * tall);
        pen.lineTo(across * side, (count - r) * tall);
      }
      pen.stroke();
    }
  }
  function catches() {
    chart.rounds.forEach((place, r) => chart.spoken[place].catches.forEach(([yarn, stitches]) => {
      pen.fillStyle = chart.yarns[yarn].colour;
      pen.strokeStyle = chart.yarns[yarn].ink;
      pen.lineWidth = 0.07 * side;
      for (const s of stitches) {
        const [x, y] = [left(s - 1) + 0.14 * side, (count - r - 0.28) * tall];
        pen.fillRect(x, y, 0.72 * side, 0.2 * tall);
        pen.strokeRect(x, y, 0.72 * side, 0.2 * tall);
      }
    }));
  }
  function letters() {
    const inks = new Map(chart.yarns.map((yarn) => [yarn.key, yarn.ink]));
    pen.font = "bold " + 0.5 * Math.min(side, tall) + "px system-ui, sans-serif";
    pen.textAlign = "center";
    chart.rows.forEach((row, r) => [...row].forEach((letter, s) => {
      const ink = inks.get(letter);
      if (!ink) return;
      pen.fillStyle = ink;
      pen.fillText(letter, left(s) + side / 2, (count - r - 0.4) * tall);
    }));
  }
  function squares() {
    const colours = new Map(chart.yarns.map((yarn) => [yarn.key, yarn.colour]));
    chart.rows.forEach((row, r) => [...row].forEach((letter, s) => {
      pen.fillStyle = colours.get(letter) || "#dedede";
      pen.fillRect(left(s), (count - 1 - r) * tall, side + 0.3, tall + 0.3);
    }));
  }
  squares();
  grid();
  if (side >= 6) catches();
  if (large) letters();
}
/**
 * What draws on a canvas; every browser that runs this page has it.
 * @param {HTMLCanvasElement} canvas
 */
function penOf(canvas) {
  const pen = canvas.getContext("2d");
  if (!pen) throw new Error("This browser draws on no canvas.");
  return pen;
}
/**
 * The chart on a canvas of its own, `wide` by `high` and each of that `scale` pixels.
 * @param {KnitChart} chart
 * @param {number} wide
 * @param {number} high
 * @param {number} scale
 * @param {number} side
 * @param {boolean} large
 */
function chartLayer(chart, wide, high, scale, side, large) {
  const layer = document.createElement("canvas");
  layer.width = Math.round(wide * scale);
  layer.height = Math.round(high * scale);
  const pen = penOf(layer);
  pen.scale(scale, scale);
  paintChart(pen, chart, side, large);
  return layer;
}
/**
 * Frames the round whose upper edge is at `top`, and pales those not knitted yet.
 * @param {CanvasRenderingContext2D} pen
 * @param {number} top
 * @param {number} wide
 * @param {number} tall
 */
function paintRound(pen, top, wide, tall) {
  pen.fillStyle = "rgba(255,255,255,0.55)";
  pen.fillRect(0, 0, wide, top - 1);
  for (const { colour, width } of [{ colour: "#ffffff", width: 5 }, { colour: "#b00020", width: 2.5 }]) {
    pen.strokeStyle = colour;
    pen.lineWidth = width;
    pen.strokeRect(1.5, top - 2, wide - 3, tall + 4);
  }
}
