// @ts-check
(() => {
  /** @param {string} id */
  const $ = (id) => /** @type {HTMLElement} */ (document.getElementById(id));
  /** An input, or what else can be out of use. @param {string} id */
  const input = (id) => /** @type {HTMLInputElement} */ ($(id));
  /** The charts of all pieces; the address says which is shown: page.html#2 is the second. */
  const given = JSON.parse($("data").textContent ?? "");
  /** @type {KnitChart[]} */
  const pieces = given.pieces || [given];
  const shown = Math.min(Math.max(Number(location.hash.slice(1)) || 1, 1), pieces.length);
  const chart = pieces[shown - 1];
  const count = chart.rounds.length;
  const key = "knit-along " + chart.place;
  const MOST_PIXELS = 9e6; // phones give a canvas no more than about 16 million
  /** @typedef {"contrast" | "larger" | "zoom" | "awake"} Choice */
  /** @type {Choice[]} */
  const CHOICES = ["contrast", "larger", "zoom", "awake"];
  const state = { round: 0, done: 0, contrast: false, larger: false, zoom: false, awake: true };

  // ---- what is kept ------------------------------------------------------------------------
  function load() {
    try {
      const kept = JSON.parse(localStorage.getItem(key) || "{}");
      if (Number.isInteger(kept.round) && kept.round >= 0 && kept.round <= count) state.round = kept.round;
      if (Number.isInteger(kept.done) && kept.done >= 0) state.done = kept.done;
      for (const name of CHOICES) {
        if (typeof kept[name] === "boolean") state[name] = kept[name];
      }
    } catch (error) { /* nothing kept, or not readable: start at the first round */ }
  }
  function save(own = true) { // a place changed here is told to the server that gave the page out
    if (own) window.dispatchEvent(new CustomEvent("knit-place", { detail: { ...state } }));
    try {
      localStorage.setItem(key, JSON.stringify(state));
    } catch (error) {
      $("awake-said").textContent = "This browser does not keep your place when the page is closed.";
    }
  }

  // ---- words -------------------------------------------------------------------------------
  /** @param {Run} run */
  const run = ([n, yarn]) => n + " " + chart.yarns[yarn].name;
  /** @param {Part} p */
  const part = (p) => (Array.isArray(p) ? run(p) : "(" + p.runs.filter(real).map(run).join(", ") + ") × " + p.times);
  /** @param {[yarn: number, stitches: number[]]} one */
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
  /** @param {number[]} order @param {number} yarn */
  function role(order, yarn) {
    if (order.length < 2) return "";
    if (yarn === order[0]) return ", under";
    return yarn === order[order.length - 1] ? ", over" : ", between";
  }

  // ---- drawing -----------------------------------------------------------------------------
  /** @param {number} yarn */
  function swatch(yarn) {
    const made = element("span", undefined, "swatch");
    const letter = element("span", chart.yarns[yarn].key);
    made.append(letter);
    made.setAttribute("aria-hidden", "true");
    made.style.backgroundColor = chart.yarns[yarn].colour;
    made.style.color = chart.yarns[yarn].ink;
    return made;
  }
  /** @param {Run} run */
  function runElement([n, yarn]) {
    const made = element("span", undefined, "run");
    made.append(swatch(yarn), element("b", n), element("span", chart.yarns[yarn].name));
    return made;
  }
  /** @param {number} place @param {Part[]} parts */
  function hooks(place, parts) {
    const squares = counted(parts);
    const backwards = comesBack();
    const own = (/** @type {number[]} */ stitches) => stitches.map((s) => squares[backwards ? squares.length - s : s - 1])
      .filter((square) => square.place === place && square.number).map((square) => nth(square.number));
    const all = squares.filter((square) => square.place === place && square.number).length;
    const these = Array.isArray(parts[place]) ? "" : " of these " + all;
    const shaped = told().shapes.map(([kind, stitches]) => ({ numbers: own(stitches), before: "", after: " as " + kind }));
    const caught = told().catches.map(([yarn, stitches]) =>
      ({ numbers: own(stitches), before: "catch " + chart.yarns[yarn].name + " in ", after: "" }));
    return [...shaped, ...caught].filter(({ numbers }) => numbers.length)
      .map(({ numbers, before, after }) => before + "the " + listed(numbers) + these + after).join("; ");
  }
  /** @param {Part} p @param {number} place @param {Part[]} parts */
  function partItem(p, place, parts) {
    if (!worked(p)) return null;
    const button = element("button");
    button.dataset.place = String(place);
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
      /** @type {HTMLElement} */ ($("parts").querySelector(`[data-place="${place}"]`)).focus();
    });
    const item = element("li");
    item.append(button);
    return item;
  }
  function showParts() {
    const items = state.round < count ? told().parts.map(partItem).filter((item) => item !== null) : [];
    $("parts").replaceChildren(...items);
  }
  /** @param {number} yarn @param {number[]} order */
  function yarnItem(yarn, order) {
    const item = element("li");
    item.append(swatch(yarn), document.createTextNode(chart.yarns[yarn].name + role(order, yarn)));
    return item;
  }
  /** @param {boolean} say whether to tell those who do not see the page */
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
    $("bar").setAttribute("aria-valuenow", String(state.round));
    input("goto").value = String(Math.min(state.round + 1, count));
    input("back").disabled = state.round === 0;
    input("next").disabled = finished;
    if (say) {
      $("said").textContent = finished ? "All done." : word + " " + (state.round + 1) + " of " + count + ". "
        + way() + ". " + told().parts.filter(worked).map(part).join(", ") + ". " + notes.join(". ");
    }
    draw();
  }

  // ---- the chart ---------------------------------------------------------------------------
  function draw() {
    const canvas = /** @type {HTMLCanvasElement} */ ($("chart"));
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
    const pen = penOf(canvas);
    pen.setTransform(1, 0, 0, 1, 0, 0);
    pen.drawImage(layer, 0, 0);
    pen.scale(scale, scale);
    mark(pen, across * side, tall, canvas);
  }
  /** @type {{ how: string, layer: HTMLCanvasElement | null }} */
  let painted = { how: "", layer: null };
  /**
   * What stays the same from round to round, painted once.
   * @param {number} wide
   * @param {number} high
   * @param {number} scale
   * @param {number} side
   */
  function still(wide, high, scale, side) {
    const how = [wide, high, scale, state.zoom].join(" ");
    const layer = painted.how === how && painted.layer || chartLayer(chart, wide, high, scale, side, state.zoom);
    painted = { how, layer };
    return layer;
  }
  /**
   * @param {CanvasRenderingContext2D} pen
   * @param {number} wide
   * @param {number} tall
   * @param {HTMLCanvasElement} canvas
   */
  function mark(pen, wide, tall, canvas) {
    const top = (count - 1 - state.round) * tall;
    if (state.round >= count) {
      canvas.setAttribute("aria-label", "Chart, all " + count + " " + chart.word + "s knitted");
      return;
    }
    paintRound(pen, top, wide, tall);
    canvas.setAttribute("aria-label", "Chart, " + chart.word + " " + (state.round + 1) + " of " + count + " marked");
    const box = $("scroll");
    box.scrollTop = Math.max(0, top - box.clientHeight * 0.6);
    box.scrollLeft = (chart.hand === "right") !== comesBack() ? box.scrollWidth : 0; // where the round starts
  }

  // ---- doing -------------------------------------------------------------------------------
  /** @param {number} round */
  function go(round) {
    state.round = Math.min(Math.max(round, 0), count);
    state.done = 0;
    save();
    show(true);
    if ($("now").getBoundingClientRect().top < 0) $("now").scrollIntoView();
  }
  /** @param {KeyboardEvent} event */
  function keyPressed(event) {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const on = /** @type {Element} */ (event.target);
    if (on instanceof HTMLInputElement || on instanceof HTMLSelectElement || (on instanceof HTMLButtonElement && [" ", "Enter"].includes(event.key))) return;
    const forth = ["ArrowRight", " ", "Enter", "PageDown"].includes(event.key);
    const back = ["ArrowLeft", "Backspace", "PageUp"].includes(event.key);
    if (on.id === "scroll" && event.key.startsWith("Page")) return;
    if (!forth && !back) return;
    event.preventDefault();
    go(state.round + (forth ? 1 : -1));
  }
  let from = /** @type {Touch | null} */ (null);
  /** @param {TouchEvent} event */
  function touched(event) { from = event.changedTouches[0]; }
  /** @param {TouchEvent} event */
  function lifted(event) {
    const to = event.changedTouches[0];
    if (!from) return;
    const x = to.clientX - from.clientX;
    const y = to.clientY - from.clientY;
    from = null;
    if (Math.abs(x) > 60 && Math.abs(x) > 2 * Math.abs(y)) go(state.round + (x < 0 ? 1 : -1));
  }
  /** @type {WakeLockSentinel | null} */
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
    for (const name of CHOICES) input(name).checked = state[name];
  }
  function start() {
    load();
    $("main").hidden = $("step").hidden = false;
    const used = (/** @type {number} */ yarn) => chart.rows.some((row) => row.includes(chart.yarns[yarn].key));
    $("key").replaceChildren(...[...chart.yarns.keys()].filter(used).map((yarn) => yarnItem(yarn, [])));
    $("next").addEventListener("click", () => go(state.round + 1));
    $("back").addEventListener("click", () => go(state.round - 1));
    $("goto").addEventListener("change", () => {
      const wanted = Math.round(Number(input("goto").value));
      go(Number.isFinite(wanted) ? Math.min(Math.max(wanted, 1), count) - 1 : state.round);
    });
    $("again").addEventListener("click", () => {
      if (window.confirm("Start again at " + chart.word + " 1?")) go(0);
    });
    for (const name of CHOICES) {
      $(name).addEventListener("change", () => {
        state[name] = input(name).checked;
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
    $("bar").setAttribute("aria-valuemax", String(count));
    input("goto").max = String(count);
    if (pieces.length > 1) {
      const choice = input("piece");
      choice.value = String(shown);
      choice.addEventListener("change", () => {
        location.hash = choice.value; // the page is read anew for it
      });
    }
    window.addEventListener("hashchange", () => location.reload());
    window.addEventListener("knit-go", (event) => { // whole numbers, from the server that gave this page out
      const { round, done } = /** @type {CustomEvent} */ (event).detail;
      Object.assign(state, { round: Math.min(round, count), done });
      save(false);
      show(true);
    });
    look();
    show(false);
    keepAwake();
  }
  start();
})();
