"use strict";
// Paints the whole chart on a canvas; a square is `side` wide. Letters stand on it when it is `large`.
function paintChart(pen, chart, side, large) {
  const across = chart.rows[0].length;
  const count = chart.rounds.length;
  const tall = side * chart.aspect;
  const left = (s) => (chart.hand === "right" ? across - 1 - s : s) * side;
  function grid() {
    for (const [every, width, colour] of [[side < 6 ? 0 : 1, 0.6, "#8c8c8c"], [10, 1.2, "#55595f"]]) {
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
        const box = [left(s - 1) + 0.14 * side, (count - r - 0.28) * tall, 0.72 * side, 0.2 * tall];
        pen.fillRect(...box);
        pen.strokeRect(...box);
      }
    }));
  }
  function letters() {
    const inks = new Map(chart.yarns.map((yarn) => [yarn.key, yarn.ink]));
    pen.font = "bold " + 0.5 * Math.min(side, tall) + "px system-ui, sans-serif";
    pen.textAlign = "center";
    chart.rows.forEach((row, r) => [...row].forEach((letter, s) => {
      if (!inks.has(letter)) return;
      pen.fillStyle = inks.get(letter);
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
