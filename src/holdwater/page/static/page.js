"use strict";
/* The page: reads the dials, asks the engine, shows what it says. Text of the scenario is only ever set as text. */
(() => {
  const $ = (id) => document.getElementById(id);
  const token = new URLSearchParams(location.search).get("token");
  if (token) history.replaceState(null, "", location.pathname);

  const state = { variant: null, holding: null, values: {}, last: null, busy: false, again: false, serial: 0 };

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
  function asked() {
    const holding = state.holding, values = {};
    for (const dial of holding.dials) {
      if (state.values[dial.path] !== dial.value) values[dial.path] = state.values[dial.path];
    }
    const chosen = document.querySelector("input[name=rule]:checked");
    const body = { variant: state.variant, values, rule: chosen ? chosen.value : holding.rule };
    if (changedPeriod() && $("first").validity.valid && $("last").validity.valid) Object.assign(body, { first: $("first").value, last: $("last").value });
    const drought = holding.droughts[Number($("window").value)];
    if ($("window").value !== "" && drought) body.window = around(drought);
    return body;
  }

  const changedPeriod = () => $("first").value !== state.filePeriod[0] || $("last").value !== state.filePeriod[1];

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
  function fault(faults) {
    const box = $("fault"), list = faults instanceof Error ? [String(faults)] : faults;
    document.body.classList.toggle("stale", Boolean(list));
    box.hidden = !list;
    box.replaceChildren(...(list || []).slice(0, 6).map((text) => paragraph(text)));
  }

  function paragraph(text) {
    const node = document.createElement("p");
    node.dir = "auto";
    node.textContent = text;
    return node;
  }

  let speaking = 0;
  function show(answer) {
    state.last = answer;
    state.serial += 1;
    $("verdict").textContent = answer.verdict;
    for (const [name, { text }] of Object.entries(answer.numbers)) {
      $(name).textContent = text;
      const was = state.holding.numbers[name].text;
      $("was-" + name).textContent = was === text ? "" : "before: " + was;
    }
    $("caption").textContent = answer.caption;
    const curve = answer.curve;
    $("rain-key").textContent = `rain by ${curve.rain_every}, from the top`;
    for (const name of ["covered", "unserved"]) {
      document.querySelector(".if-" + name).hidden = curve[name].length === 0;
    }
    document.querySelector(".if-reserve").hidden = !(curve.reserve > 0);
    Chart.draw($("chart"), curve, "Storage day by day. " + answer.caption);
    years(answer.years);
    clearTimeout(speaking);
    speaking = setTimeout(() => { $("said").textContent = answer.verdict; }, 700);
    document.body.dataset.answers = state.serial;
  }

  function years(rows) {
    const body = document.querySelector("#years tbody");
    if (body.rows.length !== rows.length) {
      body.replaceChildren(...rows.map(() => {
        const row = document.createElement("tr"), head = document.createElement("th");
        head.scope = "row";
        row.append(head, document.createElement("td"), document.createElement("td"));
        return row;
      }));
    }
    rows.forEach((cells, i) => {
      cells.forEach((cell, k) => { body.rows[i].cells[k].textContent = cell; });
      body.rows[i].classList.toggle("dry", cells[2] > 0);
    });
  }

  /* ------------------------------------------------------------------ the dials */
  function build() {
    const groups = new Map();
    for (const dial of state.holding.dials) {
      if (!groups.has(dial.group)) {
        const set = document.createElement("fieldset"), legend = document.createElement("legend");
        legend.textContent = dial.group;
        set.append(legend);
        groups.set(dial.group, set);
      }
      groups.get(dial.group).append(control(dial, `dial-${state.holding.dials.indexOf(dial)}`));
    }
    $("dial-groups").replaceChildren(...groups.values());
  }

  function control(dial, id) {
    const box = document.createElement("div"), label = document.createElement("label");
    const slider = document.createElement("input"), field = document.createElement("input");
    box.className = "dial";
    label.id = id + "-label";
    label.htmlFor = id;
    label.dir = "auto";
    label.textContent = dial.label + (dial.unit ? ` [${dial.unit}]` : "");
    Object.assign(slider, { type: "range", min: dial.low, max: dial.high, step: dial.step, id: id + "-slider" });
    slider.setAttribute("aria-labelledby", label.id);
    Object.assign(field, { type: "number", id, min: 0, step: "any", inputMode: "decimal", required: true });
    const put = (value, from) => {
      state.values[dial.path] = value;
      if (from !== slider) slider.value = value;
      if (from !== field) field.value = value;
      slider.setAttribute("aria-valuetext", `${value.toLocaleString("en-US")} ${dial.unit}`.trim());
      box.classList.toggle("turned", value !== dial.value);
    };
    slider.addEventListener("input", () => { put(Number(slider.value), slider); ask(); });
    field.addEventListener("input", () => {
      if (field.value === "" || !Number.isFinite(field.valueAsNumber) || field.valueAsNumber < 0) return;
      put(field.valueAsNumber, field);
      ask();
    });
    field.addEventListener("change", () => { if (!field.validity.valid) { put(state.values[dial.path], null); } });
    put(state.values[dial.path] ?? dial.value, null);
    box.append(label, slider, field);
    return box;
  }

  function options(select, entries, value) {
    select.replaceChildren(...entries.map(([key, text]) => {
      const option = document.createElement("option");
      option.value = key;
      option.textContent = text.length > 90 ? text.slice(0, 87) + "..." : text;
      return option;
    }));
    select.value = value;
  }

  /* ------------------------------------------------------------------ opening */
  async function open(path, body, keep) {
    try {
      const holding = await (await post(path, body)).json();
      state.holding = holding;
      state.variant = holding.variant;
      if (!keep) {
        state.values = Object.fromEntries(holding.dials.map((dial) => [dial.path, dial.value]));
        state.filePeriod = holding.period;
        $("first").value = holding.period[0];
        $("last").value = holding.period[1];
        document.querySelector(`input[name=rule][value=${holding.rule}]`).checked = true;
      }
      describe(holding);
      build();
      await ask();
    } catch (faults) {
      fault(faults);
    }
  }

  function describe(holding) {
    document.title = holding.title + " - holdwater";
    $("title").textContent = holding.title;
    $("file").textContent = holding.file;
    $("weather").textContent = holding.weather;
    $("start-row").hidden = holding.variants.length === 0;
    options($("start"), [["", "the scenario itself"], ...holding.variants.map((name, i) => [String(i), "variant: " + name])],
      holding.variant === null ? "" : String(holding.variants.indexOf(holding.variant)));
    options($("window"), [["", "the whole run"], ...holding.droughts.map((drought, i) => [String(i), drought.name])], "");
    $("reach").textContent = `The weather reaches from ${holding.reach[0]} to ${holding.reach[1]}.`;
    for (const id of ["first", "last"]) [$(id).min, $(id).max] = holding.reach;
    for (const part of document.querySelectorAll(".backup")) part.hidden = !holding.backup;
    $("warnings").replaceChildren(...holding.warnings.map((text) => {
      const item = document.createElement("li");
      item.dir = "auto";
      item.textContent = text;
      return item;
    }));
  }

  async function period() {
    const first = $("first"), last = $("last");
    if (!first.value || !last.value || !first.validity.valid || !last.validity.valid) return;
    await open("/opening", { variant: state.variant, first: first.value, last: last.value }, true);
  }

  async function keep(work, doing) {
    $("kept").textContent = doing;
    for (const id of ["save", "plan"]) $(id).disabled = true;
    try {
      $("kept").textContent = await work();
    } catch (faults) {
      $("kept").textContent = faults instanceof Error ? String(faults) : faults.join(" ");
    } finally {
      for (const id of ["save", "plan"]) $(id).disabled = false;
    }
  }

  $("window").addEventListener("change", ask);
  $("rule").addEventListener("change", ask);
  $("first").addEventListener("change", period);
  $("last").addEventListener("change", period);
  $("start").addEventListener("change", () => {
    const name = $("start").value === "" ? null : state.holding.variants[Number($("start").value)];
    open("/opening", { variant: name }, false);
  });
  $("reset").addEventListener("click", () => open("/opening", { variant: state.variant }, false));
  $("dials").addEventListener("submit", (event) => {
    event.preventDefault();
    keep(async () => {
      const saved = await (await post("/save", { ...asked(), name: $("name").value })).json();
      state.holding.variants.push(saved.saved);
      $("name").value = "";
      return `Saved as variant "${saved.saved}" in ${saved.file}. Reload the page to start from it.`;
    }, "Saving.");
  });
  $("plan").addEventListener("click", () => keep(async () => {
    const blob = await (await post("/plan", asked())).blob(), link = document.createElement("a");
    link.href = URL.createObjectURL(blob);
    link.download = "plan.html";
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 60000);
    return "The plan is downloaded: plan.html.";
  }, "Writing the plan; it takes some seconds."));

  new ResizeObserver(() => {
    if (state.last) Chart.draw($("chart"), state.last.curve, "Storage day by day. " + state.last.caption);
  }).observe($("chart"));
  open("/afresh", {}, false);
})();
