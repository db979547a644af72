"use strict";
/* What can be turned: the dials, the prices, the list of what is changed. Text of the scenario is only ever set as text. */
const Controls = (() => {
  function make(name, properties, ...children) {
    const node = Object.assign(document.createElement(name), properties);
    node.append(...children);
    return node;
  }

  /* One dial: a slider and a number field that say the same. */
  function dial(about, id, value, turn) {
    const label = make("label", { id: id + "-label", htmlFor: id, dir: "auto" });
    label.textContent = about.label + (about.unit ? ` [${about.unit}]` : "");
    const slider = make("input", { type: "range", min: about.low, max: about.high, step: about.step, id: id + "-slider" });
    const field = make("input", { type: "number", id, min: about.least, max: about.most, step: "any", inputMode: "decimal", required: true });
    const box = make("div", { className: "dial" }, label, slider, field);
    box.dataset.path = about.path;
    slider.setAttribute("aria-labelledby", label.id);
    if (about.note) {
      box.append(make("p", { className: "note", id: id + "-note", textContent: about.note }));
      for (const input of [slider, field]) input.setAttribute("aria-describedby", id + "-note");
    }
    let now = value;
    const put = (wanted, from) => {
      now = wanted;
      if (from !== slider) slider.value = wanted;
      if (from !== field) field.value = wanted;
      slider.setAttribute("aria-valuetext", `${wanted.toLocaleString("en-US")} ${about.unit}`.trim());
      box.classList.toggle("turned", wanted !== about.value);
    };
    slider.addEventListener("input", () => { put(Number(slider.value), slider); turn(now); });
    field.addEventListener("input", () => {
      if (field.validity.valid && Number.isFinite(field.valueAsNumber)) { put(field.valueAsNumber, field); turn(now); }
    });
    field.addEventListener("change", () => { if (!field.validity.valid) put(now, null); });
    put(value, null);
    return { box, put: (wanted) => put(wanted, null) };
  }

  /* All dials under their headings; the finer ones folded away. */
  function dials(holder, abouts, values, turn) {
    const groups = new Map(), puts = {};
    abouts.forEach((about, i) => {
      if (!groups.has(about.group)) groups.set(about.group, { main: [], fine: [] });
      const built = dial(about, `dial-${i}`, values[about.path] ?? about.value, (value) => turn(about.path, value));
      puts[about.path] = built.put;
      groups.get(about.group)[about.fine ? "fine" : "main"].push(built.box);
    });
    const sets = [...groups].map(([name, { main, fine }]) => {
      const set = make("fieldset", {}, make("legend", { textContent: name }), ...main);
      if (!main.length) set.append(...fine);
      else if (fine.length) {
        const said = `${name}: ${fine.length} finer ${fine.length === 1 ? "dial" : "dials"}`;
        set.append(make("details", {}, make("summary", { textContent: said }), ...fine));
      }
      return set;
    });
    holder.replaceChildren(...sets);
    return puts;
  }

  /* A field for the price of one more unit of every size. */
  function prices(holder, abouts, own, priced) {
    holder.replaceChildren(...abouts.map((about, i) => {
      const id = `price-${i}`;
      const label = make("label", { htmlFor: id, dir: "auto", textContent: about.label });
      const field = make("input", { type: "number", id, min: 0, max: 1e9, step: "any", inputMode: "decimal" });
      field.placeholder = about.value === null ? "not given" : about.value.toLocaleString("en-US");
      field.value = own[about.path] ?? "";
      const note = make("p", { className: "note", id: id + "-note", dir: "auto", textContent: about.note });
      field.setAttribute("aria-describedby", `${id}-note prices-note`);
      field.addEventListener("input", () => {
        if (field.validity.valid) priced(about.path, field.value === "" ? null : field.valueAsNumber);
      });
      return make("div", { className: "dial price" }, label, note, field);
    }));
  }

  /* What differs from the scenario as it is, each with a way back. */
  function changes(holder, rows, back) {
    const said = JSON.stringify(rows);
    if (holder.dataset.said === said) return;
    holder.dataset.said = said;
    holder.replaceChildren(...rows.map((row) => {
      const button = make("button", { type: "button", textContent: "Put back" });
      button.setAttribute("aria-label", "Put back " + row.text);
      button.addEventListener("click", () => back(row.path));
      const text = make("span", { dir: "auto", textContent: row.text });
      const note = make("span", { className: "note", dir: "auto", textContent: row.note });
      return make("li", {}, make("div", {}, text, document.createElement("br"), note), button);
    }));
  }

  function list(holder, texts) {
    holder.replaceChildren(...texts.map((text) => make("li", { dir: "auto", textContent: text })));
    holder.hidden = texts.length === 0;
  }

  function options(select, entries, value) {
    select.replaceChildren(...entries.map(([key, text]) => {
      return make("option", { value: key, textContent: text.length > 90 ? text.slice(0, 87) + "..." : text });
    }));
    select.value = value;
  }

  return { make, dials, prices, changes, list, options };
})();
