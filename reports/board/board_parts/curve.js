// The curve of a still run: panels over the hours of its log, with cuts, the band of the good runs and findings.
import { html, line, mark, number, svg, table, words } from "./draw.js";
import { plot } from "./plot.js";
import { inside, reach, scale, tickWords, ticks, unpacked, valueAt } from "./scale.js";

// Panels: title, and of each line its tag, name, dash and what its sensor is called.
const PANELS = [
  ["temperature [°C]", [
    ["pot_temperature_c", "pot", "", "pot temperature"], ["column_temperature_c", "column", "6,2", "column temperature"],
    ["vapour_temperature_c", "vapour", "2,2", "vapour temperature"]]],
  ["parrot [% vol]", [["parrot_strength_pct_vol", "read", "", "parrot strength"], ["strength_pct_vol", "at 20 °C", "6,2", "strength at 20 °C"]]],
  ["distillate [L/h]", [["distillate_flow_l_h", "flow", "", "distillate flow"]]],
  ["collected [L]", [["collected_volume_l", "collected", "", "collected volume"]]],
  ["pressure [kPa]", [["pressure_kpa", "pressure", "", "pressure"]]],
  ["steam [kg/h]", [["steam_kg_h", "steam", "", "steam"]]],
  ["reflux ratio", [["reflux_ratio", "reflux", "", "reflux ratio"]]],
  ["parrot [°C]", [["parrot_temperature_c", "parrot", "", "parrot temperature"]]],
];
const SENSORS = Object.fromEntries(PANELS.flatMap(([, lines]) => lines.map(([tag, , , name]) => [tag, name])));
const LEFT = 52;
const RIGHT = 74;
const HEAD = 30;
const PANEL = 104;
const FOOT = 34;
const STEPS = 120;  // places that the keys can reach

/** A packed curve as lines of hours and values. */
export function unpackedCurve(curve) {
  const lines = (packed) => Object.fromEntries(Object.entries(packed).map(([tag, [by, hours, ...values]]) => (
    [tag, [unpacked(hours, 1000), ...values.map((steps) => unpacked(steps, by))]])));
  return { ...curve, series: lines(curve.series), band: lines(curve.band), aside: lines(curve.aside) };
}

export function runCurve(host, run, packed) {
  const curve = unpackedCurve(packed);
  const panels = PANELS.map(([title, lines]) => [title, lines.filter(([tag]) => curve.series[tag])]).filter(([, lines]) => lines.length);
  const ends = Object.values(curve.series).flatMap(([hours]) => [hours[0], hours[hours.length - 1]]);
  const whole = [Math.min(0, ...ends), Math.max(...ends)];
  let span = whole;
  const said = html("output", { "aria-live": "polite" });
  const drawing = plot(host, `Curve of run ${run.code}, ${number(whole[1] - whole[0], 1)} hours`, {
    help: "curve-help",
    span: () => span,
    whole: () => whole,
    least: 0.25,
    zoom,
    draw,
  });
  host.append(html("p", { class: "zoom" },
    html("button", { type: "button", onclick: () => zoom(inside([span[0] + (span[1] - span[0]) / 4, span[1] - (span[1] - span[0]) / 4], whole, 0.25)), "aria-label": "Zoom in" }, "+"), " ",
    html("button", { type: "button", onclick: () => zoom(inside([span[0] - (span[1] - span[0]) / 2, span[1] + (span[1] - span[0]) / 2], whole, 0.25)), "aria-label": "Zoom out" }, "−"), " ",
    html("button", { type: "button", onclick: () => zoom(whole) }, "Whole run"), " ", said));
  host.append(html("details", { ontoggle: (event) => fill(event.target) }, html("summary", null, "Table of the log")));
  if (curve.findings.length) host.append(findings());

  function zoom(wanted) {
    span = wanted;
    said.textContent = `hours ${number(span[0], 2)} to ${number(span[1], 2)}`;
    drawing.redraw();
  }

  function draw(sheet, width) {
    const height = HEAD + panels.length * PANEL + FOOT;
    const right = width > 600 ? RIGHT : 58;
    sheet.setAttribute("viewBox", `0 0 ${width} ${height}`);
    sheet.setAttribute("height", height);
    const clip = `clip-${run.slug.replace(/[^\w-]/g, "_")}`;
    sheet.append(svg("clipPath", { id: clip }, svg("rect", { x: LEFT, y: 0, width: width - LEFT - right, height })));
    const x = scale(...span, LEFT, width - right);
    const floor = HEAD + panels.length * PANEL;
    const inner = svg("g", { "clip-path": `url(#${clip})` });
    const ys = panels.map(([title, lines], n) => panel(sheet, inner, title, lines, x, HEAD + n * PANEL + 8, HEAD + (n + 1) * PANEL - 10, width - right));
    cuts(sheet, x, floor, width - right);
    sheet.append(inner);
    hours(sheet, x, floor, width - right);
    const points = Array.from({ length: STEPS + 1 }, (_, n) => span[0] + (n / STEPS) * (span[1] - span[0])).map((at) => {
      const values = panels.flatMap(([, lines], n) => lines.map(([tag, name]) => {
        const value = valueAt(...curve.series[tag], at);
        return { text: `${name} ${number(value, tag === "pressure_kpa" || tag === "reflux_ratio" ? 2 : 1)} ${panels[n][0].match(/\[(.*)\]/)?.[1] ?? ""}`.trim(), y: ys[n](value), known: Number.isFinite(value) };
      })).filter((item) => item.known);
      const text = `${number(at, 2)} h: ${values.map((item) => item.text).join(", ")}`;
      return { at, x: x(at), ys: values.map((item) => item.y), words: text, parts: () => [text] };
    });
    return { points, back: (place) => span[0] + ((place - LEFT) / (width - right - LEFT)) * (span[1] - span[0]), top: HEAD, bottom: floor };
  }

  function panel(sheet, inner, title, lines, x, top, bottom, end) {
    const seen = (hours, values) => values.filter((_, n) => hours[n] >= span[0] && hours[n] <= span[1]);
    const bounds = reach(lines.flatMap(([tag]) => seen(...curve.series[tag])));
    const y = scale(...bounds, bottom, top);
    const marks = ticks(...bounds, 4);
    for (const value of marks) {
      sheet.append(svg("path", { class: "grid", d: `M${LEFT},${y(value)}H${end}` }), words(LEFT - 6, y(value) + 4, tickWords(value, marks), "end", { class: "soft" }));
    }
    sheet.append(words(LEFT, top - 2, title, "start", { class: "soft" }));
    const places = [];
    for (const [tag, name, dash] of lines) {
      const [hours, values] = curve.series[tag];
      const band = curve.band[tag] ?? (tag === "parrot_strength_pct_vol" && !curve.series.strength_pct_vol ? curve.band.strength_pct_vol : null);
      if (band) {
        const clamp = (value) => Math.min(Math.max(y(value), top), bottom);
        const [at, low, high] = band;
        const round = [...at.map((hour, n) => [x(hour), clamp(low[n])]), ...at.map((hour, n) => [x(hour), clamp(high[n])]).reverse()];
        inner.prepend(line(round, { class: "band" }));
      }
      inner.append(line(hours.map((hour, n) => [x(hour), y(values[n])]), { class: "trace", "stroke-dasharray": dash || null }));
      const [asideAt, asideValues] = curve.aside[tag] ?? [[], []];
      asideAt.forEach((hour, n) => {
        if (Number.isFinite(asideValues[n])) inner.append(mark("dot", x(hour), Math.min(Math.max(y(asideValues[n]), top), bottom), 2.4, true));
      });
      const last = hours.findLastIndex((hour) => hour <= span[1]);
      if (last >= 0) places.push([Math.min(Math.max(y(values[last]), top + 4), bottom), name]);
    }
    let lowest = -Infinity;
    for (const [at, name] of places.sort((a, b) => a[0] - b[0])) {
      lowest = Math.max(at + 4, lowest + 13);
      sheet.append(words(end + 5, lowest, name));
    }
    return y;
  }

  function cuts(sheet, x, floor, end) {
    let before = -Infinity;
    for (const [name, sheetAt, curveAt, u] of curve.cuts) {
      for (const [at, kind] of [[sheetAt, "sheet"], [curveAt, "curve"]]) {
        if (at === null || at < span[0] || at > span[1]) continue;
        if (kind === "curve" && u) sheet.append(svg("rect", { class: "unsure-cut", x: x(at - u), width: Math.max(x(at + u) - x(at - u), 1), y: HEAD, height: floor - HEAD }));
        sheet.append(svg("path", { class: `cut ${kind}`, d: `M${x(at)},${HEAD - 6}V${floor}` }));
      }
      const at = curveAt ?? sheetAt;
      if (at === null || at < span[0] || at > span[1]) continue;
      const place = Math.max(Math.min(x(at), end - 20), before + 60);
      sheet.append(words(place, HEAD - 10, name, "middle"));
      before = place;
    }
  }

  function hours(sheet, x, floor, end) {
    sheet.append(svg("path", { class: "axis", d: `M${LEFT},${floor}H${end}` }));
    const marks = ticks(...span, Math.max(Math.floor((end - LEFT) / 60), 3));
    for (const at of marks) sheet.append(svg("path", { class: "axis", d: `M${x(at)},${floor}v4` }), words(x(at), floor + 16, tickWords(at, marks), "middle", { class: "soft tick" }));
    sheet.append(words(end, floor + 30, "hours after the start of the log", "end", { class: "soft" }));
    for (const [kind, , from, to] of curve.findings) {
      const [start, stop] = [Math.max(x(from), LEFT), Math.min(x(to), end)];
      if (stop >= LEFT && start <= end) sheet.append(svg("path", { class: "finding", d: `M${start},${floor - 3}H${Math.max(stop, start + 3)}` }, svg("title", null, kind)));
    }
  }

  function findings() {
    return table("What the log itself shows", ["finding", "sensor", "from [h]", "to [h]", "in words"],
      curve.findings.map(([kind, tag, from, to, detail]) => [kind, SENSORS[tag] ?? "whole log", number(from, 2), number(to, 2), detail]), [2, 3]);
  }

  function fill(details) {
    if (!details.open || details.querySelector("table")) return;
    const tags = panels.flatMap(([title, lines]) => lines.map(([tag, name]) => [tag, `${name} ${title.match(/\[.*\]/)?.[0] ?? ""}`]));
    const places = Array.from({ length: 61 }, (_, n) => whole[0] + (n / 60) * (whole[1] - whole[0]));
    const rows = places.map((at) => [number(at, 2), ...tags.map(([tag]) => number(valueAt(...curve.series[tag], at), 1))]);
    details.append(html("div", { class: "scroll" }, table(`Log of run ${run.code}, read at 61 equal steps`, ["hours", ...tags.map(([, name]) => name)], rows, rows[0].map((_, n) => n))));
  }
}
