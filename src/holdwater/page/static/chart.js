"use strict";
/* The storage chart: water from below, rain from the top, dry days in a strip underneath. */
const Chart = (() => {
  const SVG = "http://www.w3.org/2000/svg";
  const RAIN_PART = 0.3, STRIP = 14, DAY = 86400000;
  const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
  const number = (value, digits = 0) => value.toLocaleString("en-US", { maximumFractionDigits: digits });

  function make(name, attributes, parent, text) {
    const node = document.createElementNS(SVG, name);
    for (const key in attributes) node.setAttribute(key, attributes[key]);
    if (text !== undefined) node.textContent = text;
    if (parent) parent.append(node);
    return node;
  }

  function steps(top, most) {
    if (!(top > 0)) return [0];
    const rough = top / most, power = 10 ** Math.floor(Math.log10(rough));
    const step = [1, 2, 5, 10].map((lead) => lead * power).find((each) => each >= rough);
    const found = [];
    for (let i = 0; i * step <= top * 1.0001; i++) found.push(i * step);
    return found;
  }

  /* Places of the marks of time: years, or months in a short window. */
  function times(first, days, most) {
    const start = Date.parse(first + "T00:00:00Z"), begin = new Date(start), found = [];
    const at = (year, month) => (Date.UTC(year, month, 1) - start) / DAY;
    const years = days / 365.25;
    if (years > 2.5) {
      const every = [1, 2, 5, 10, 20, 50, 100].find((each) => years / each <= most) || 200;
      for (let year = begin.getUTCFullYear(); at(year, 0) < days; year++) {
        if (year % every === 0 && at(year, 0) >= 0) found.push([at(year, 0), String(year)]);
      }
    } else {
      const every = [1, 2, 3, 6].find((each) => (years * 12) / each <= most) || 12;
      for (let i = 0, m = begin.getUTCMonth(); i < 40; i++, m++) {
        const year = begin.getUTCFullYear() + Math.floor(m / 12), month = m % 12, place = at(year, month);
        if (place >= days) break;
        if (place < 0 || month % every) continue;
        const named = month === 0 || !found.length;
        found.push([place, MONTHS[month] + (named ? " " + year : "")]);
      }
    }
    return found;
  }

  function bars(runs, x, top, height, least) {
    return runs.map(([a, b]) => {
      const wide = Math.max(x(b) - x(a), least), left = (x(a) + x(b) - wide) / 2;
      return `M${left.toFixed(1)} ${top}h${wide.toFixed(1)}v${height}h${(-wide).toFixed(1)}z`;
    }).join("");
  }

  function draw(holder, data, label) {
    const width = Math.max(holder.clientWidth, 240), height = Math.max(holder.clientHeight, 160);
    const left = 58, right = 50, bottom = 24 + STRIP, top = 8;
    const floor = height - bottom, inner = floor - top, ceiling = top + inner * RAIN_PART;
    const full = data.full || 1;
    const x = (day) => left + (day / data.days) * (width - left - right);
    const y = (level) => floor - (level / full) * (floor - ceiling);
    const svg = make("svg", { viewBox: `0 0 ${width} ${height}`, role: "img", "aria-label": label });
    const digits = full < 20 ? 1 : 0;

    for (const level of steps(full, 5)) {
      make("line", { class: "grid", x1: left, x2: width - right, y1: y(level), y2: y(level) }, svg);
      make("text", { x: left - 6, y: y(level) + 4, "text-anchor": "end" }, svg, number(level, digits));
    }
    make("text", { x: 4, y: ceiling - 12 }, svg, `[${data.unit}]`);

    const columns = data.low.map((low, i) => [x(Math.min((i + 0.5) * data.width, data.days)), low, data.high[i]]);
    const point = (place, level) => `${place.toFixed(1)} ${y(level).toFixed(1)}`;
    if (columns.length) {
      const lows = columns.map(([place, low]) => point(place, low));
      const highs = columns.map(([place, , high]) => point(place, high));
      const ends = [x(0), x(data.days)];
      make("path", { class: "water", d: `M${ends[0]} ${floor}L${point(ends[0], data.high[0])}L${highs.join("L")}L${point(ends[1], data.high.at(-1))}L${ends[1]} ${floor}z` }, svg);
      if (data.width > 1) {
        make("path", { class: "band", d: `M${highs.join("L")}L${lows.reverse().join("L")}z` }, svg);
      }
      make("path", { class: "line", d: `M${highs.join("L")}` }, svg);
    }

    const most = Math.max(...data.rain.map((bar) => bar[2]), 0) || 1;
    const hang = (inner * RAIN_PART - 6) / most;
    const gap = data.rain_every === "month" ? 0.15 : 0;
    make("path", { class: "rain", d: data.rain.map(([a, b, depth]) => {
      const inset = gap * (b - a), wide = Math.max(x(b - inset) - x(a + inset), 0.6);
      return `M${x(a + inset).toFixed(1)} ${top}h${wide.toFixed(1)}v${(depth * hang).toFixed(1)}h${(-wide).toFixed(1)}z`;
    }).join("") }, svg);
    make("line", { class: "axis", x1: left, x2: width - right, y1: top, y2: top }, svg);
    make("text", { x: width - right + 5, y: top + 4 }, svg, "0");
    make("text", { x: width - right + 5, y: top + most * hang - 2 }, svg, `${number(most, most < 10 ? 1 : 0)} ${data.rain_unit}`);

    make("line", { class: "full", x1: left, x2: width - right, y1: y(full), y2: y(full) }, svg);
    make("text", { x: width - right + 5, y: y(full) + 11 }, svg, "full");
    if (data.reserve > 0) {
      make("line", { class: "reserve", x1: left, x2: width - right, y1: y(data.reserve), y2: y(data.reserve) }, svg);
      make("text", { class: "of-reserve", x: width - right + 5, y: Math.min(y(data.reserve) + 4, floor - 2) }, svg, "reserve");
    }
    make("line", { class: "axis", x1: left, x2: width - right, y1: floor, y2: floor }, svg);
    make("path", { class: "covered", d: bars(data.covered, x, floor + 8, STRIP - 8, 1.6) }, svg);
    make("path", { class: "unserved", d: bars(data.unserved, x, floor + 2, STRIP - 2, 1.6) }, svg);
    for (const [day, name] of times(data.first, data.days, Math.floor((width - left - right) / 62))) {
      make("line", { class: "axis", x1: x(day), x2: x(day), y1: floor + STRIP, y2: floor + STRIP + 4 }, svg);
      make("text", { x: x(day), y: height - 6, "text-anchor": x(day) < left + 12 ? "start" : "middle" }, svg, name);
    }
    holder.replaceChildren(svg);
  }

  return { draw };
})();
