(() => {
  const chart = JSON.parse(document.getElementById("data").textContent);
  const $ = (id) => document.getElementById(id);
  const count = chart.rounds.length;
  const key = "knit-along " + chart.place;
  const NONE = 255;
  const MOST_PIXELS = 9e6; // phones give a canvas no more than about 16 million
  const state = { round: 0, done: 0, contrast: false, larger: false, zoom: false, awake: true };

  // ---- what is kept ------------------------------------------------------------------------
  function load() {
    try {
      const kept = JSON.parse(localStorage.getItem(key) || "{}");
      if (Number.isInteger(kept.round) && kept.round >= 0 && kept.round <= count) state.round = kept.round;
      if (Number.isInteger(kept.done) && kept.done >= 0) state.done = kept.done;
      for (const name of ["contrast", "larger", "zoom", "awake"]) {
        if (typeof kept[name] === "boolean") state[name] = kept[name];
      }
    } catch (error) { /* nothing kept, or not readable: start at the first round */ }
  }
  function save() {
    try {
      localStorage.setItem(key, JSON.stringify(state));
    } catch (error) {
      $("awake-said").textContent = "This browser does not keep your place when the page is closed.";
    }
  }

  // ---- words -------------------------------------------------------------------------------
  const capital = (text) => text[0].toUpperCase() + text.slice(1);
  const run = ([n, yarn]) => n + " " + chart.yarns[yarn].name;
  const real = ([, yarn]) => yarn !== NONE; // squares without a stitch are nothing to knit
  const worked = (p) => !Array.isArray(p) || real(p);
  const part = (p) => (Array.isArray(p) ? run(p) : "(" + p.runs.filter(real).map(run).join(", ") + ") × " + p.times);
  const listed = (numbers) => numbers.length === 1 ? String(numbers[0])
    : numbers.slice(0, -1).join(", ") + " and " + numbers[numbers.length - 1];
  const caught = ([yarn, stitches]) => "Catch " + chart.yarns[yarn].name + " behind stitch"
    + (stitches.length === 1 ? " " : "es ") + listed(stitches);
  const told = () => chart.spoken[chart.rounds[state.round]];
  const comesBack = () => chart.back.includes(state.round); // worked from its last square to its first
  function way() {
    const right = (chart.hand === "right") !== comesBack();
    const way = "from " + (right ? "right to left" : "left to right");
    if (chart.wrong.includes(state.round)) return "Wrong side: purl, " + way;
    return (chart.flat ? "Right side: knit, " : "Knit, ") + way;
  }
  function role(order, yarn) {
    if (order.length < 2) return "";
    if (yarn === order[0]) return ", under";
    return yarn === order[order.length - 1] ? ", over" : ", between";
  }

  // ---- drawing -----------------------------------------------------------------------------
  function element(name, text, className) {
    const made = document.createElement(name);
    if (text !== undefined) made.textContent = text;
    if (className) made.className = className;
    return made;
  }
  function swatch(yarn) {
    const made = element("span", undefined, "swatch");
    const letter = element("span", chart.yarns[yarn].key);
    made.append(letter);
    made.setAttribute("aria-hidden", "true");
    made.style.backgroundColor = chart.yarns[yarn].colour;
    made.style.color = chart.yarns[yarn].ink;
    return made;
  }
  function runElement([n, yarn]) {
    const made = element("span", undefined, "run");
    made.append(swatch(yarn), element("b", n), element("span", chart.yarns[yarn].name));
    return made;
  }
  const nth = (n) => n + (["th", "st", "nd", "rd"][n % 100 > 10 && n % 100 < 14 ? 0 : n % 10] || "th");
  const runsOf = (p) => (Array.isArray(p) ? [p] : Array(p.times).fill(p.runs).flat());
  // For every square of the round, in the order it is worked: which part it is in, and the how manieth
  // stitch of that part it is (0 where there is no stitch).
  function counted(parts) {
    return parts.flatMap((p, place) => {
      let knitted = 0;
      return runsOf(p).flatMap(([n, yarn]) => Array.from({ length: n }, () =>
        ({ place, number: yarn === NONE ? 0 : (knitted += 1) })));
    });
  }
  function hooks(place, parts) {
    const squares = counted(parts);
    const backwards = comesBack();
    const own = (stitches) => stitches.map((s) => squares[backwards ? squares.length - s : s - 1])
      .filter((square) => square.place === place && square.number).map((square) => nth(square.number));
    const all = squares.filter((square) => square.place === place && square.number).length;
    const these = Array.isArray(parts[place]) ? "" : " of these " + all;
    const shaped = told().shapes.map(([kind, stitches]) => [own(stitches), (which) => which + these + " as " + kind]);
    const caught = told().catches.map(([yarn, stitches]) =>
      [own(stitches), (which) => "catch " + chart.yarns[yarn].name + " in " + which + these]);
    return [...shaped, ...caught].filter(([numbers]) => numbers.length)
      .map(([numbers, say]) => say("the " + listed(numbers))).join("; ");
  }
  function partItem(p, place, parts) {
    if (!worked(p)) return null;
    const button = element("button");
    button.dataset.place = place;
    const hook = hooks(place, parts);
    button.type = "button";
    button.setAttribute("aria-pressed", String(place < state.done));
    button.setAttribute("aria-label", part(p) + (hook ? ", " + hook : ""));
    button.append(...(Array.isArray(p) ? [p] : p.runs.filter(real)).map(runElement));
    if (!Array.isArray(p)) button.append(element("span", "× " + p.times, "times"));
    if (hook) button.append(element("span", hook, "hook"));
    button.addEventListener("click", () => {
      state.done = state.done === place + 1 ? place : place + 1;
      save();
      showParts();
      $("parts").querySelector(`[data-place="${place}"]`).focus();
    });
    const item = element("li");
    item.append(button);
    return item;
  }
  function showParts() {
    const items = state.round < count ? told().parts.map(partItem).filter(Boolean) : [];
    $("parts").replaceChildren(...items);
  }
  function yarnItem(yarn, order) {
    const item = element("li");
    item.append(swatch(yarn), document.createTextNode(chart.yarns[yarn].name + role(order, yarn)));
    return item;
  }
  function show(say) {
    const finished = state.round >= count;
    const word = capital(chart.word);
    const title = $("round");
    title.replaceChildren(finished ? "All done" : word + " " + (state.round + 1),
      element("small", " of " + count));
    $("way").textContent = finished ? "Every " + chart.word + " of the chart is knitted." : way();
    const order = finished ? [] : chart.orders[state.round];
    $("yarns").replaceChildren(...order.map((yarn) => yarnItem(yarn, order)));
    showParts();
    const catches = finished ? [] : told().catches;
    const notes = finished || !told().shaped ? [] : ["Shaping: " + told().shaped];
    notes.push(...catches.map(caught), ...(chart.changes[state.round] || []));
    $("catches").replaceChildren(...notes.map((note) => element("li", note)));
    for (const list of ["yarns", "parts", "catches"]) $(list).hidden = !$(list).children.length;
    $("bar-part").style.width = (100 * state.round / count) + "%";
    $("bar").setAttribute("aria-valuenow", state.round);
    $("goto").value = Math.min(state.round + 1, count);
    $("back").disabled = state.round === 0;
    $("next").disabled = finished;
    if (say) {
      $("said").textContent = finished ? "All done." : word + " " + (state.round + 1) + " of " + count + ". "
        + way() + ". " + told().parts.filter(worked).map(part).join(", ") + ". " + notes.join(". ");
    }
    draw();
  }

  // ---- the chart ---------------------------------------------------------------------------
  function draw() {
    const canvas = $("chart");
    const across = chart.rows[0].length;
    const room = Math.max(200, $("scroll").clientWidth);
    const side = Math.max(room / across, state.zoom ? 18 : 3);
    const tall = side * chart.aspect;
    const scale = Math.min(window.devicePixelRatio || 1, Math.sqrt(MOST_PIXELS / (across * side * count * tall)));
    const layer = still(across * side, count * tall, scale, side);
    canvas.style.width = across * side + "px";
    canvas.style.height = count * tall + "px";
    if (canvas.width !== layer.width || canvas.height !== layer.height) {
      canvas.width = layer.width;
      canvas.height = layer.height;
    }
    const pen = canvas.getContext("2d");
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.drawImage(layer, 0, 0);
    pen.scale(scale, scale);
    mark(pen, across * side, tall, canvas);
  }
  let painted = { how: "", layer: null };
  function still(wide, high, scale, side) { // what stays the same from round to round, painted once
    const how = [wide, high, scale, state.zoom].join(" ");
    if (painted.how !== how) {
      const layer = document.createElement("canvas");
      layer.width = Math.round(wide * scale);
      layer.height = Math.round(high * scale);
      const pen = layer.getContext("2d");
      pen.scale(scale, scale);
      paintChart(pen, chart, side, state.zoom);
      painted = { how, layer };
    }
    return painted.layer;
  }
  function mark(pen, wide, tall, canvas) {
    const top = (count - 1 - state.round) * tall;
    if (state.round >= count) {
      canvas.setAttribute("aria-label", "Chart, all " + count + " " + chart.word + "s knitted");
      return;
    }
    pen.fillStyle = "rgba(255,255,255,0.55)";
    pen.fillRect(0, 0, wide, top - 1);
    for (const [colour, width] of [["#ffffff", 5], ["#b00020", 2.5]]) {
      pen.strokeStyle = colour;
      pen.lineWidth = width;
      pen.strokeRect(1.5, top - 2, wide - 3, tall + 4);
    }
    canvas.setAttribute("aria-label", "Chart, " + chart.word + " " + (state.round + 1) + " of " + count + " marked");
    const box = $("scroll");
    box.scrollTop = Math.max(0, top - box.clientHeight * 0.6);
    box.scrollLeft = (chart.hand === "right") !== comesBack() ? box.scrollWidth : 0; // where the round starts
  }

  // ---- doing -------------------------------------------------------------------------------
  function go(round) {
    state.round = Math.min(Math.max(round, 0), count);
    state.done = 0;
    save();
    show(true);
    if ($("now").getBoundingClientRect().top < 0) $("now").scrollIntoView();
  }
  function keyPressed(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const on = event.target;
    if (on instanceof HTMLInputElement || (on instanceof HTMLButtonElement && [" ", "Enter"].includes(event.key))) return;
    const forth = ["ArrowRight", " ", "Enter", "PageDown"].includes(event.key);
    const back = ["ArrowLeft", "Backspace", "PageUp"].includes(event.key);
    if (on.id === "scroll" && event.key.startsWith("Page")) return;
    if (!forth && !back) return;
    event.preventDefault();
    go(state.round + (forth ? 1 : -1));
  }
  let from = null;
  function touched(event) { from = event.changedTouches[0]; }
  function lifted(event) {
    const to = event.changedTouches[0];
    if (!from) return;
    const x = to.clientX - from.clientX;
    const y = to.clientY - from.clientY;
    from = null;
    if (Math.abs(x) > 60 && Math.abs(x) > 2 * Math.abs(y)) go(state.round + (x < 0 ? 1 : -1));
  }
  let lock = null;
  async function keepAwake() {
    $("awake-said").textContent = "";
    if (lock) await lock.release().catch(() => {});
    lock = null;
    if (!state.awake || document.visibilityState !== "visible") return;
    if (!("wakeLock" in navigator)) {
      $("awake-said").textContent = "(this browser cannot)";
      return;
    }
    try {
      lock = await navigator.wakeLock.request("screen");
    } catch (error) {
      $("awake-said").textContent = "(the device does not allow it now)";
    }
  }
  function look() {
    document.documentElement.classList.toggle("contrast", state.contrast);
    document.documentElement.classList.toggle("larger", state.larger);
    for (const name of ["contrast", "larger", "zoom", "awake"]) $(name).checked = state[name];
  }
  function start() {
    load();
    $("main").hidden = $("step").hidden = false;
    const used = (yarn) => chart.rows.some((row) => row.includes(chart.yarns[yarn].key));
    $("key").replaceChildren(...[...chart.yarns.keys()].filter(used).map((yarn) => yarnItem(yarn, [])));
    $("next").addEventListener("click", () => go(state.round + 1));
    $("back").addEventListener("click", () => go(state.round - 1));
    $("goto").addEventListener("change", (event) => {
      const wanted = Math.round(Number(event.target.value));
      go(Number.isFinite(wanted) ? Math.min(Math.max(wanted, 1), count) - 1 : state.round);
    });
    $("again").addEventListener("click", () => {
      if (window.confirm("Start again at " + chart.word + " 1?")) go(0);
    });
    for (const name of ["contrast", "larger", "zoom", "awake"]) {
      $(name).addEventListener("change", (event) => {
        state[name] = event.target.checked;
        save();
        look();
        show(false);
        if (name === "awake") keepAwake();
      });
    }
    document.addEventListener("keydown", keyPressed);
    $("now").addEventListener("touchstart", touched, { passive: true });
    $("now").addEventListener("touchend", lifted, { passive: true });
    document.addEventListener("visibilitychange", keepAwake);
    window.addEventListener("resize", draw);
    look();
    show(false);
    keepAwake();
  }
  start();
})();
