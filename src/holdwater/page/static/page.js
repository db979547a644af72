"use strict";
/* The page: reads the dials, asks the engine, shows what it says. Text of the scenario is only ever set as text. */
(() => {
  const $ = (id) => document.getElementById(id);
  const token = new URLSearchParams(location.search).get("token");
  if (token) history.replaceState(null, "", location.pathname);

  const state = {
    variant: null, holding: null, values: {}, prices: {}, puts: {}, filePeriod: ["", ""],
    last: null, busy: false, again: false, serial: 0, settled: null, past: [],
  };

  async function post(path, body) {
    const headers = { "content-type": "application/json" };
    if (token) headers["x-holdwater-token"] = token;
    let response;
    try {
      response = await fetch(path, { method: "POST", headers, body: JSON.stringify(body), credentials: "same-origin" });
    } catch {
      throw ["holdwater does not answer: is it still running? Start it again and open its new address"];
    }
    if (response.ok) return response;
    const text = await response.text();
    let faults = [text.trim()];
    try { faults = JSON.parse(text).faults; } catch { /* told as it stands */ }
    throw faults;
  }

  /* ------------------------------------------------------------------ what is asked */
  const rule = () => document.querySelector("input[name=rule]:checked")?.value ?? state.holding.rule;
  const period = () => [$("first").value, $("last").value];
  const changedPeriod = () => period().join() !== state.filePeriod.join();
  const periodIsWhole = () => $("first").validity.valid && $("last").validity.valid && !period().includes("");

  function asked() {
    const holding = state.holding, values = {};
    for (const dial of holding.dials) {
      if (state.values[dial.path] !== dial.value) values[dial.path] = state.values[dial.path];
    }
    const body = { variant: state.variant, values, prices: state.prices, rule: rule() };
    if (changedPeriod() && periodIsWhole()) Object.assign(body, { first: $("first").value, last: $("last").value });
    const drought = holding.droughts[Number($("window").value)];
    if ($("window").value !== "" && drought) body.window = around(drought);
    return body;
  }

  function around(drought) {
    const shift = (day, days) => new Date(Date.parse(day) + days * 86400000).toISOString().slice(0, 10);
    return [shift(drought.from, -drought.around), shift(drought.to, drought.around)];
  }

  /* One question at a time; what is turned meanwhile is asked next, and only the latest of it. */
  async function ask() {
    if (!state.holding) return;
    if (state.busy) { state.again = true; return; }
    state.busy = true;
    try {
      do {
        state.again = false;
        try {
          show(await (await post("/answer", asked())).json());
          fault(null);
        } catch (faults) {
          fault(faults);
        }
      } while (state.again);
    } finally {
      state.busy = false;
    }
  }

  /* ------------------------------------------------------------------ what is shown */
  const told = (faults) => (faults instanceof Error ? [String(faults)] : faults);

  function fault(faults) {
    const box = $("fault"), list = faults && told(faults);
    document.body.classList.toggle("stale", Boolean(list));
    box.hidden = !list;
    box.replaceChildren(...(list || []).slice(0, 6).map((text) => Controls.make("p", { dir: "auto", textContent: text })));
  }

  let speaking = 0;
  function show(answer) {
    state.last = answer;
    state.serial += 1;
    $("verdict").textContent = answer.verdict;
    for (const [name, { text, note }] of Object.entries(answer.numbers)) {
      const was = state.holding.numbers[name];
      $(name).textContent = text;
      $("was-" + name).textContent = note || (was.text === text || name === "price" ? "" : "was " + (was.brief ?? was.text));
    }
    $("caption").textContent = answer.caption;
    const curve = answer.curve;
    $("rain-key").textContent = `rain by ${curve.rain_every}, from the top`;
    for (const name of ["covered", "unserved"]) {
      document.querySelector(".if-" + name).hidden = curve[name].length === 0;
    }
    document.querySelector(".if-reserve").hidden = !(curve.reserve > 0);
    draw();
    years(answer.years);
    const n = answer.changes.length;
    $("changed-head").textContent = n ? `Changed against the scenario: ${n} ${n === 1 ? "thing" : "things"}` : "Nothing is changed";
    Controls.changes($("changes"), answer.changes, back);
    $("counted").textContent = answer.counted;
    Controls.list($("doubts"), answer.warnings);
    $("command").textContent = answer.command;
    edited(answer.edited);
    clearTimeout(speaking);
    speaking = setTimeout(() => { $("said").textContent = answer.verdict; }, 700);
    document.body.dataset.answers = state.serial;
  }

  function draw() {
    if (state.last) Chart.draw($("chart"), state.last.curve, "Storage day by day. " + state.last.caption);
  }

  function years(rows) {
    const body = document.querySelector("#years tbody");
    if (body.rows.length !== rows.length) {
      body.replaceChildren(...rows.map(() => {
        const head = Controls.make("th", { scope: "row" });
        return Controls.make("tr", {}, head, Controls.make("td"), Controls.make("td"));
      }));
    }
    rows.forEach((cells, i) => {
      cells.forEach((cell, k) => { body.rows[i].cells[k].textContent = cell; });
      body.rows[i].classList.toggle("dry", cells[2] > 0);
    });
  }

  function edited(so) {
    const text = so ? `${state.holding.file} was changed on the disk since this page read it.` : "";
    if ($("edited").firstElementChild.textContent !== text) $("edited").firstElementChild.textContent = text;
    $("edited").hidden = !so;
  }

  /* ------------------------------------------------------------------ turning, and turning back */
  const snapshot = () => ({ values: { ...state.values }, rule: rule(), period: period() });

  /* What stood before the last turn is kept, so that it can be undone. */
  function settle() {
    const now = snapshot();
    if (JSON.stringify(now) === JSON.stringify(state.settled)) return;
    if (state.settled) state.past.push(state.settled);
    state.settled = now;
    $("undo").disabled = state.past.length === 0;
  }

  async function restore(wanted) {
    for (const [path, value] of Object.entries(wanted.values)) put(path, value);
    check(wanted.rule);
    if (period().join() === wanted.period.join()) return ask();
    [$("first").value, $("last").value] = wanted.period;
    return newPeriod();
  }

  function put(path, value) {
    state.values[path] = value;
    state.puts[path]?.(value);
  }

  const check = (name) => { document.querySelector(`input[name=rule][value=${name}]`).checked = true; };

  function back(path) {
    const dial = state.holding.dials.find((each) => each.path === path);
    if (path === "variant") return reset();
    $("changed-head").focus();
    const wanted = snapshot();
    if (dial) wanted.values[path] = dial.value;
    if (path === "run.rule") wanted.rule = state.holding.rule;
    if (path === "run.days") wanted.period = state.filePeriod;
    return restore(wanted).then(settle);
  }

  function reset() {
    $("changed-head").focus();
    return open("/opening", { variant: null }, false);
  }

  /* ------------------------------------------------------------------ opening */
  async function open(path, body, keep) {
    try {
      const holding = await (await post(path, body)).json();
      state.holding = keep ? { ...holding, rule: state.holding.rule } : holding;
      state.variant = holding.variant;
      if (!keep) {
        state.values = Object.fromEntries(holding.dials.map((dial) => [dial.path, dial.value]));
        state.filePeriod = holding.period;
        [$("first").value, $("last").value] = holding.period;
        check(holding.rule);
        const turn = (dial, value) => { state.values[dial] = value; ask(); };
        state.puts = Controls.dials($("dial-groups"), holding.dials, state.values, turn);
        Controls.prices($("price-fields"), holding.prices, state.prices, priced);
        [state.past, state.settled] = [[], snapshot()];
        $("undo").disabled = true;
      }
      describe(holding);
      await ask();
    } catch (faults) {
      if (!state.holding) [$("title").textContent, $("verdict").textContent] = ["This holding cannot be shown", ""];
      fault(faults);
    }
  }

  function priced(path, price) {
    if (price === null) delete state.prices[path];
    else state.prices[path] = price;
    ask();
  }

  function describe(holding) {
    document.title = holding.title + " - holdwater";
    $("title").textContent = holding.title;
    $("file").textContent = holding.file;
    $("weather").textContent = holding.weather;
    starts(holding.variants);
    Controls.options($("window"), [["", "the whole run"], ...holding.droughts.map((drought, i) => [String(i), drought.name])], "");
    $("reach").textContent = `The weather reaches from ${holding.reach[0]} to ${holding.reach[1]}.`;
    for (const id of ["first", "last"]) [$(id).min, $(id).max] = holding.reach;
    $("of-beds").hidden = !holding.beds;
    Controls.list($("warnings"), holding.warnings);
  }

  function starts(variants) {
    state.holding.variants = variants;
    $("start-row").hidden = variants.length === 0;
    const named = variants.map((name, i) => [String(i), "variant: " + name]);
    Controls.options($("start"), [["", "the scenario itself"], ...named], state.variant === null ? "" : String(variants.indexOf(state.variant)));
  }

  async function newPeriod() {
    if (!periodIsWhole()) return;
    const body = { variant: state.variant };
    if (changedPeriod()) Object.assign(body, { first: $("first").value, last: $("last").value });
    await open("/opening", body, true);
  }

  /* ------------------------------------------------------------------ keeping */
  async function keep(work, doing) {
    $("kept").textContent = doing;
    for (const id of ["save", "plan"]) $(id).disabled = true;
    try {
      $("kept").textContent = await work();
    } catch (faults) {
      $("kept").textContent = told(faults).join(" ");
    } finally {
      for (const id of ["save", "plan"]) $(id).disabled = false;
    }
  }

  const save = () => keep(async () => {
    const saved = await (await post("/save", { ...asked(), name: $("name").value })).json();
    $("name").value = "";
    starts(saved.variants);
    edited(saved.edited);
    const price = saved.cost === null ? "" : `, cost ${saved.cost.toLocaleString("en-US")}`;
    return `Saved as variant "${saved.saved}" at the end of ${saved.file}${price}. In a terminal: ${saved.command}`;
  }, "Saving.");

  const plan = () => keep(async () => {
    const blob = await (await post("/plan", asked())).blob();
    const link = Controls.make("a", { href: URL.createObjectURL(blob), download: "plan.html" });
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    return "The plan is downloaded: plan.html.";
  }, "Writing the plan; it takes some seconds.");

  $("window").addEventListener("change", ask);
  $("rule").addEventListener("change", () => { ask(); settle(); });
  for (const id of ["first", "last"]) $(id).addEventListener("change", () => { newPeriod().then(settle); });
  $("dial-groups").addEventListener("change", settle);
  $("start").addEventListener("change", () => {
    open("/opening", { variant: $("start").value === "" ? null : state.holding.variants[Number($("start").value)] }, false);
  });
  $("undo").addEventListener("click", () => {
    const before = state.past.pop();
    if (!before) return;
    state.settled = before;
    $("undo").disabled = state.past.length === 0;
    if ($("undo").disabled) $("reset").focus();
    restore(before);
  });
  $("reset").addEventListener("click", () => open("/opening", { variant: null }, false));
  $("reread").addEventListener("click", () => { $("reset").focus(); open("/afresh", {}, false); });
  $("dials").addEventListener("submit", (event) => event.preventDefault());
  $("name").addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); save(); } });
  $("save").addEventListener("click", save);
  $("plan").addEventListener("click", plan);

  if (matchMedia("(max-width: 60rem)").matches) document.querySelector("#changed details").open = false;
  new ResizeObserver(draw).observe($("chart"));
  open("/afresh", {}, false);
})();
