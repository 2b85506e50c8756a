// The pages of one batch and of one run, made when they are opened.
import { html, link, number, plural, severityMark, sign, table } from "./draw.js";
import { runCurve } from "./curve.js";
import { moment } from "./scale.js";

const facts = (pairs) => html("dl", null, pairs.filter(([, words]) => words).flatMap(([name, words]) => [html("dt", null, name), html("dd", null, words)]));

function flagList(flags) {
  if (!flags.length) return html("p", { class: "note" }, "No flag.");
  return html("ul", { class: "lines tall" }, flags.map((flag) => html("li", null,
    html("a", { href: `#flag/${flag.flag}` }, severityMark(flag.severity), flag.message),
    html("small", null, `${flag.severity}; ${flag.state}${flag.by ? ` by ${flag.by} on ${flag.on}: ${flag.why}` : ""}; `, html("code", null, flag.flag)))));
}

const separated = (links) => links.flatMap((item, n) => (n ? [", ", item] : [item]));

export function batchPage(host, batch, data) {
  const flags = batch.flags.map((n) => data.flags[n]);
  const runs = data.runs.filter((run) => run.batches.some((n) => data.batches[n] === batch));
  const stages = [...new Set(runs.map((run) => run.stage))];
  const decided = batch.decided ? `${batch.state} on ${batch.decided} by ${batch.by}: ${batch.why}` : `${batch.state}, ${plural(batch.waits ?? 0, "day")} since bottling`;
  host.replaceChildren(
    html("p", { class: "verdict" }, sign(batch.standing), html("strong", null, batch.headline), ` ${batch.product}, bottled ${batch.bottled}`),
    facts([["decision", decided], ...batch.facts,
      ["dossier", batch.dossier ? html("a", { href: encodeURI(batch.dossier) }, "PDF") : html("code", null, `gaugebook dossier ${batch.code}`)]]),
    html("h3", null, "Flags before it"), flagList(flags),
    html("h3", null, "Runs behind it"),
    facts(stages.map((stage) => [stage, html("span", null, separated(runs.filter((run) => run.stage === stage).map((run) => link("run", run))))])),
    runs.length ? "" : html("p", { class: "note" }, "None of its runs lies in the time shown here; the dossier has its lineage."),
    ["released", "rejected"].includes(batch.state) ? "" : html("p", { class: "note" }, "Record the decision: ",
      html("code", null, `gaugebook decide ${batch.code} --${batch.standing === "stopped" ? "hold" : "release"} --by PERSON --reason "…"`), " (--release, --hold or --reject)."));
  return `Batch ${batch.code}`;
}

/** Every chart that the run is a point of, with its figure there. */
function figuresOf(run, data) {
  const rows = [];
  for (const chart of data.charts) {
    chart.run.forEach((n, place) => {
      if (data.runs[n] !== run) return;
      const { limits } = chart;
      const span = limits ? `${number(limits.lower ?? NaN, chart.decimals)} to ${number(limits.upper ?? NaN, chart.decimals)}` : "no limits";
      const says = chart.signal[place].split(" ").filter(Boolean).map((name) => data.rules[name] ?? name).join("; ");
      rows.push([html("a", { href: `#chart/${chart.slug}` }, chart.title), chart.words[place], span, says || (chart.base[place] === "1" ? "in the baseline" : limits ? "within" : "–")]);
    });
  }
  return rows.length ? table("The run on the charts", ["measure", "figure", "limits", "says"], rows, [1, 2]) : "";
}

const BANDS = {
  within: (runs) => `The run stays within the grey band of ${runs}.`,
  left: (runs) => `The run leaves the grey band of ${runs}.`,
  "no band yet": (runs) => `There is no band to compare it with yet: ${runs} so far.`,
};

/** What the figure of a curve shows, in words. */
function curveWords(curve) {
  const cuts = curve.cuts.filter(([, sheet, found]) => sheet !== null || found !== null).map(([name, sheet, found, u, by]) => {
    const bySheet = sheet === null ? "not on the run sheet" : `${number(sheet, 2)} h by the run sheet`;
    const byLog = found === null ? "not seen in the log" : `${number(found, 2)}${u ? ` ± ${number(u, 2)}` : ""} h by the log (${by})`;
    return `Cut ${name}: ${bySheet}, ${byLog}.`;
  });
  const band = BANDS[curve.standing]?.(plural(curve.good_runs, "good run")) ?? "";
  const clock = curve.clock ? `The log's clock was off by ${Math.abs(curve.clock)} minutes; the run sheet's times are moved by that.` : "";
  const aside = Object.keys(curve.aside).length ? "Small circles: values that are not believed." : "";
  return [band, clock, aside, ...cuts, cuts.length ? "Cuts are solid by the log, dashed by the run sheet." : ""].filter(Boolean).join(" ");
}

export function runPage(host, run, data) {
  const at = data.runs.filter((other) => other.stage === run.stage && other.equipment === run.equipment);
  const before = at[at.indexOf(run) - 1];
  const after = at[at.indexOf(run) + 1];
  const curve = data.curves[run.curve];
  const plotted = html("figure", { class: "curve" });
  host.replaceChildren(
    html("p", { class: "verdict" }, html("strong", null, run.stage), ` on ${run.equipment}${run.operator ? `, by ${run.operator}` : ""}`),
    facts([
      ["began", run.start === null ? "" : moment(run.start)], ["ended", run.end === null ? "still running" : `${moment(run.end)} (${run.hours})`],
      ["recipe", run.recipe], ...run.facts,
      ["went into", run.batches.length ? html("span", null, separated(run.batches.map((n) => link("batch", data.batches[n])))) : "no bottled batch of the time shown"],
      ["dossiers", run.batches.some((n) => data.batches[n].dossier) ? html("span", null, separated(run.batches.map((n) => data.batches[n]).filter((batch) => batch.dossier).map((batch) => html("a", { href: encodeURI(batch.dossier) }, batch.code)))) : ""],
      ["read from", run.place]]),
    html("p", { class: "steps" }, before ? html("a", { href: `#run/${before.slug}`, rel: "prev" }, `← ${before.code}`) : "", " ", after ? html("a", { href: `#run/${after.slug}`, rel: "next" }, `${after.code} →`) : ""),
    run.flags.length ? html("h3", null, "Flags on it") : "", run.flags.length ? flagList(run.flags.map((n) => data.flags[n])) : "",
    figuresOf(run, data),
    curve ? html("h3", null, "Curve") : "", curve ? plotted : "",
    run.curve === -1 ? html("p", { class: "note" }, "The page has no room for the curves of all runs, and this is one of the older ones: ", html("code", null, `gaugebook run ${run.code}`)) : "");
  if (curve) {
    runCurve(plotted, run, curve);
    plotted.prepend(html("figcaption", null, curveWords(curve)));
  }
  return `Run ${run.code}`;
}
