// The trend charts: run by run with limits, or month by month; all of them show the same time.
import { html, line, link, mark, number, plural, svg, table, words } from "./draw.js";
import { plot } from "./plot.js";
import { DAY, day, inside, months, monthStart, reach, scale, spread, tickWords, ticks, timeTicks, zoomed } from "./scale.js";

const LEFT = 52;
const TOP = 14;
const RUN_HEIGHT = 236;
const FOOT = 26;
const LEAST = 3 * DAY;

/** Minute of a month written 2031-03. */
const minuteOf = (month) => Date.UTC(Number(month.slice(0, 4)), Number(month.slice(5)) - 1, 1) / 60000;

/** The time that all charts show, and who wants to know of it. */
export function sharedSpan(charts) {
  const runs = charts.flatMap((chart) => chart.at);
  const all = charts.flatMap((chart) => chart.months.map(([month]) => minuteOf(month)));
  const ends = (moments, fallback) => (moments.length
    ? [monthStart(moments.reduce((a, b) => Math.min(a, b))), monthStart(moments.reduce((a, b) => Math.max(a, b)), 1)]
    : fallback);
  const wholes = { run: ends(runs, [0, DAY]) };
  wholes.month = ends(all, wholes.run);
  const span = {
    by: "run",
    whole: () => wholes[span.by],
    now: wholes.run,
    listeners: [],
    set(wanted) {
      span.now = inside(wanted, span.whole(), LEAST);
      span.listeners.forEach((listener) => listener());
    },
    show(by) {
      const all = span.now[0] <= span.whole()[0] && span.now[1] >= span.whole()[1];
      span.by = by;
      span.set(all ? span.whole() : span.now);
    },
  };
  return span;
}

/** The controls of the time shown. */
export function spanControls(form, span) {
  const { from, to, nearer, farther, earlier, later, whole } = form.elements;
  const said = form.querySelector("output");
  function update() {
    const starts = months(span.whole()[0], span.whole()[1] - 1);
    const shown = (at) => day(at).slice(0, 7);
    from.replaceChildren(...starts.map((at) => html("option", { value: at }, shown(at))));
    to.replaceChildren(...starts.map((at) => html("option", { value: monthStart(at, 1) }, shown(at))));
    from.value = String(monthStart(span.now[0]));
    to.value = String(monthStart(span.now[1] - 1, 1));
    said.textContent = `${day(span.now[0])} to ${day(span.now[1] - 1)}`;
  }
  from.addEventListener("change", () => span.set([Number(from.value), Math.max(Number(to.value), monthStart(Number(from.value), 1))]));
  to.addEventListener("change", () => span.set([Math.min(Number(from.value), monthStart(Number(to.value), -1)), Number(to.value)]));
  nearer.addEventListener("click", () => span.set(zoomed(span.now, 0.5)));
  farther.addEventListener("click", () => span.set(zoomed(span.now, 2)));
  const shift = (part) => span.now.map((at) => at + part * (span.now[1] - span.now[0]));
  earlier.addEventListener("click", () => span.set(shift(-0.5)));
  later.addEventListener("click", () => span.set(shift(0.5)));
  whole.addEventListener("click", () => span.set(span.whole()));
  form.querySelectorAll('input[name="by"]').forEach((radio) => radio.addEventListener("change", () => span.show(radio.value)));
  form.addEventListener("submit", (event) => event.preventDefault());
  span.listeners.push(update);
  update();
}

/** What a signal says, in words. */
const said = (data, signal) => signal.split(" ").filter(Boolean).map((name) => data.rules[name] ?? name).join("; ");

export function trendChart(host, chart, data, span, go) {
  const label = `${chart.title}, ${chart.unit}: ${plural(chart.at.length, chart.of, chart.points)}`;
  const drawing = plot(host, label, {
    span: () => span.now,
    whole: span.whole,
    least: LEAST,
    zoom: span.set,
    draw: (sheet, width) => (span.by === "run" ? byRun(sheet, width) : byMonth(sheet, width)),
    open: (point) => (point.run ? go(`run/${point.run.slug}`) : point.month && narrow(point.month)),
  });
  span.listeners.push(drawing.redraw);

  function narrow(month) {
    document.querySelector('#span input[value="run"]').click();
    span.set([minuteOf(month), monthStart(minuteOf(month), 1)]);
  }

  function axes(sheet, width, height, [least, most], right) {
    sheet.setAttribute("viewBox", `0 0 ${width} ${height}`);
    sheet.setAttribute("height", height);
    const [from, to] = span.now;
    const x = scale(from, to, LEFT, width - right);
    const y = scale(least, most, height - FOOT, TOP);
    const marks = ticks(least, most, 5);
    for (const value of marks) {
      sheet.append(
        svg("path", { class: "grid", d: `M${LEFT},${y(value)}H${width - right}` }),
        words(LEFT - 6, y(value) + 4, tickWords(value, marks), "end", { class: "soft" }));
    }
    const floor = height - FOOT;
    sheet.append(svg("path", { class: "axis", d: `M${LEFT},${floor}H${width - right}` }));
    for (const { at, words: text } of timeTicks(from, to, Math.max(Math.floor((width - LEFT - right) / 78), 2))) {
      sheet.append(svg("path", { class: "axis", d: `M${x(at)},${floor}v4` }), words(x(at) + 2, floor + 16, text, "start", { class: "soft tick" }));
    }
    return { x, y, floor, back: (place) => from + ((place - LEFT) / (width - right - LEFT)) * (to - from) };
  }

  function changed(sheet, x, y, width, right) {
    for (const finding of data.findings.filter((item) => item.chart === chart.key)) {
      const [low, high] = finding.between;
      const clip = (at) => Math.min(Math.max(x(at), LEFT), width - right);
      const until = finding.until ?? span.whole()[1];
      if (until < span.now[0] || low > span.now[1]) continue;
      sheet.append(
        svg("path", { class: "since", d: `M${clip(finding.since)},6H${clip(until)}` }),
        svg("path", { class: "unsure", d: `M${clip(low)},3V9M${clip(low)},6H${clip(high)}M${clip(high)},3V9` }));
    }
  }

  function byRun(sheet, width) {
    const right = width > 600 ? 96 : 12;
    const shown = chart.at.map((_, n) => n).filter((n) => chart.at[n] >= span.now[0] && chart.at[n] <= span.now[1]);
    const { limits } = chart;
    const around = limits ? [limits.lower, limits.centre, limits.upper] : [];
    const bounds = reach([...shown.map((n) => chart.value[n]), ...around.filter((value) => value !== null)]);
    const { x, y, floor, back } = axes(sheet, width, RUN_HEIGHT, bounds, right);
    if (limits) {
      const named = [[limits.upper, "upper limit"], [limits.centre, "mean"], [limits.lower, "lower limit"]].filter(([value]) => value !== null);
      const places = spread(named.map(([value]) => y(value) + 4), 13, floor);
      named.forEach(([value, name], n) => {
        sheet.append(svg("path", { class: name === "mean" ? "centre" : "limit", d: `M${LEFT},${y(value)}H${width - right}` }));
        if (right > 12) sheet.append(words(width - right + 6, places[n], `${name} ${number(value, chart.decimals)}`));
      });
    }
    changed(sheet, x, y, width, right);
    sheet.append(line(shown.map((n) => [x(chart.at[n]), y(chart.value[n])]), { class: "thread" }));
    const points = shown.map((n) => {
      const run = data.runs[chart.run[n]];
      const batch = data.batches[chart.batch[n]] ?? data.batches[run?.batches[0]];
      const signal = chart.signal[n];
      const [px, py] = [x(chart.at[n]), y(chart.value[n])];
      sheet.append(signal
        ? signal.split(" ").includes("beyond") ? mark("diamond", px, py, 4.2) : mark("triangle", px, py, 3.8)
        : mark("dot", px, py, 2.6, limits && chart.base[n] === "1"));
      const name = run?.code ?? chart.name[n];
      const tail = signal ? `; ${said(data, signal)}` : chart.base[n] === "1" ? "; in the baseline" : "";
      return {
        at: chart.at[n], x: px, ys: [py], run,
        words: `${name}, ${day(chart.at[n])}, ${chart.words[n]}${tail}`,
        parts: () => [
          run ? link("run", run) : name, ` · ${day(chart.at[n])} · ${chart.words[n]}${tail}`,
          ...(batch ? [" · batch ", link("batch", batch)] : []),
          ...(batch?.dossier ? [" · ", html("a", { href: encodeURI(batch.dossier) }, "dossier")] : []),
        ],
      };
    });
    if (!points.length) sheet.append(words(LEFT + 10, TOP + 20, `No ${chart.of} in this time.`, "start", { class: "soft" }));
    return { points, back, top: TOP, bottom: floor };
  }

  function byMonth(sheet, width) {
    const right = 12;
    const valueOf = Object.fromEntries(chart.months.map(([name, value]) => [minuteOf(name), value]));
    const shown = chart.months.filter(([month]) => minuteOf(month) >= monthStart(span.now[0]) && minuteOf(month) < span.now[1]);
    const starts = months(span.now[0], span.now[1] - 1);
    const yearBefore = starts.map((at) => valueOf[monthStart(at, -12)] ?? NaN);
    const values = shown.filter(([, value]) => value !== null).flatMap(([, value, u]) => [value - (u ?? 0), value + (u ?? 0)]);
    const { x, y, floor, back } = axes(sheet, width, RUN_HEIGHT, reach([...values, ...yearBefore]), right);
    const middle = ([month]) => x(minuteOf(month) + 15 * DAY);
    const known = shown.filter(([, value]) => value !== null);
    if (chart.limits) sheet.append(svg("path", { class: "centre", d: `M${LEFT},${y(chart.limits.centre)}H${width - right}` }));
    sheet.append(line(starts.map((at, n) => [x(at + 15 * DAY), y(yearBefore[n])]), { class: "before" }));
    starts.forEach((at, n) => Number.isFinite(yearBefore[n]) && sheet.append(mark("dot", x(at + 15 * DAY), y(yearBefore[n]), 2, true)));
    if (yearBefore.some(Number.isFinite)) sheet.append(words(width - right, TOP - 4, "small circles: a year before", "end", { class: "soft" }));
    sheet.append(line(starts.map((at) => {
      const month = known.find(([name]) => minuteOf(name) === at);
      return month ? [middle(month), y(month[1])] : [NaN, NaN];
    }), { class: "thread" }));
    const points = known.map((month) => {
      const [name, value, u, runs, leftOut, text] = month;
      const at = middle(month);
      if (u) sheet.append(svg("path", { class: "bar", d: `M${at},${y(value - u)}V${y(value + u)}` }));
      sheet.append(mark("square", at, y(value), 3.6, runs < 3));
      if (width / shown.length > 26) sheet.append(words(at, floor - 5, String(runs), "middle", { class: "soft" }));
      const tail = `${plural(runs, chart.of, chart.points)}${leftOut ? `, ${leftOut} left out` : ""}`;
      return { at: minuteOf(name) + 15 * DAY, x: at, ys: [y(value)], month: name, words: `${name}, ${text}, ${tail}`, parts: () => [`${name} · ${text} · ${tail}`] };
    });
    return { points, back, top: TOP, bottom: floor };
  }
}

/** A line without axes: the last months of a measure. */
export function spark(chart) {
  const recent = chart.months.map((month) => month[1]).filter((value) => value !== null).slice(-13);
  const width = 110;
  const height = 26;
  const [least, most] = reach(recent, 0.15);
  const x = scale(0, Math.max(recent.length - 1, 1), 4, width - 4);
  const y = scale(least, most, height - 3, 3);
  const last = recent.length - 1;
  return svg("svg", { viewBox: `0 0 ${width} ${height}`, width, height, "aria-hidden": "true" },
    line(recent.map((value, n) => [x(n), y(value)]), { class: "thread strong" }),
    last >= 0 ? mark("dot", x(last), y(recent[last]), 2.4) : null);
}

/** The table of a chart's points, made when it is asked for. */
export function pointTable(chart, data) {
  const rows = chart.at.map((at, n) => {
    const run = data.runs[chart.run[n]];
    const batch = data.batches[chart.batch[n]] ?? data.batches[run?.batches[0]];
    const says = chart.signal[n] ? said(data, chart.signal[n]) : chart.base[n] === "1" ? "baseline" : "";
    return [run ? link("run", run) : chart.name[n], day(at), chart.words[n], batch ? link("batch", batch) : "–", says];
  });
  return table(`${chart.title} [${chart.unit}], in order of time`, [chart.of, "ended", "figure", "batch", "says"], rows, [2]);
}
