// The page: which part is shown, the paper's colour, printing.
import { filteredTable } from "./lists.js";
import { html } from "./draw.js";
import { redrawAll } from "./plot.js";
import { ages, shelf } from "./shelf.js";
import { batchPage, runPage } from "./details.js";
import { pointTable, sharedSpan, spanControls, spark, trendChart } from "./trends.js";
import { stock } from "./warehouse.js";

const data = JSON.parse(document.getElementById("data").textContent);
const root = document.documentElement;
const parts = [...document.querySelectorAll(".part")];
const house = document.title;
const go = (address) => { location.hash = `#${address}`; };

root.classList.add("alive");
const lists = Object.fromEntries([...document.querySelectorAll("form[data-for]")].map((form) => [form.dataset.for, filteredTable(form)]));
shelf(document.getElementById("shelf"), data);
ages(document.getElementById("ages"), data, (asked) => {
  lists["flag-table"].ask(asked);
  document.getElementById("flag-table").scrollIntoView();
});

stock(data.warehouse);

const span = sharedSpan(data.charts);
spanControls(document.getElementById("span"), span);
const chooser = document.getElementById("span").elements.measure;
chooser.addEventListener("change", () => go(`measure/${chooser.value}`));
data.charts.forEach((chart, n) => trendChart(document.querySelector(`#chart-${n} .plot-place`), chart, data, span, go));
document.querySelectorAll(".spark").forEach((cell) => cell.append(spark(data.charts[cell.dataset.chart])));
document.querySelectorAll("details.points").forEach((details) => details.addEventListener("toggle", () => {
  if (details.open && !details.querySelector("table")) details.append(pointTable(data.charts[details.dataset.chart], data));
}));

const heading = (id) => document.querySelector(`#${id} h2`);

function openRecord(kind, records, page, slug) {
  const record = records.find((item) => item.slug === slug);
  if (!record) return null;
  heading(kind).textContent = page(document.querySelector(`#${kind} .filled`), record, data);
  return heading(kind);
}

function openMeasure(measure, chart) {
  if (!measure) return null;
  document.querySelectorAll(".measure").forEach((item) => { item.hidden = item.dataset.measure !== measure.code; });
  chooser.value = measure.code;
  heading("measure").textContent = measure.name;
  return measure.charts.indexOf(chart) > 0 ? document.getElementById(`chart-${chart}-title`) : heading("measure");
}

// What an address with a name in it opens: the heading or row that gets the focus, or nothing where there is no such thing.
const named = new Map(Object.entries({
  batch: (slug) => openRecord("batch", data.batches, batchPage, slug),
  run: (slug) => openRecord("run", data.runs, runPage, slug),
  batches(standing) {
    if (![...document.forms.batches.elements.standing.options].some((item) => item.value === standing)) return null;
    lists["batch-table"].ask({ standing });
    return heading("batches");
  },
  flag(flag) {
    if (!data.flags.some((item) => item.flag === flag)) return null;
    lists["flag-table"].ask({});
    return document.getElementById(flag);
  },
  cask(slug) {
    lists["cask-table"]?.ask({});
    return document.getElementById(`cask-${slug}`);
  },
  chart(slug) {
    const chart = data.charts.findIndex((item) => item.slug === slug);
    return openMeasure(data.measures.find((item) => item.charts.includes(chart)), chart);
  },
  measure: (code) => openMeasure(data.measures.find((item) => item.code === code), -1),
}));
const whole = ["in-hand", "batches", "flags", "warehouse", "trends", "runs"];
const nearest = new Map(Object.entries({ batch: "batches", batches: "batches", cask: data.warehouse ? "warehouse" : "in-hand", flag: "flags", chart: "trends", measure: "trends", run: "runs" }));
const unknown = document.getElementById("unknown");

/** Shows one part of the page and puts the focus on what was asked for; says so where the page does not know it. */
function show(moved) {
  const [name, ...rest] = location.hash.slice(1).split("/");
  const what = rest.join("/");  // names in addresses are of safe characters only
  const home = !name || name === "main" ? "in-hand" : name;
  const asked = what ? named.get(name)?.(what) : whole.includes(home) && heading(home);
  const target = asked || heading(nearest.get(name) ?? "in-hand");
  unknown.hidden = Boolean(asked);
  unknown.textContent = asked ? "" : `The board has no ${nearest.has(name) && what ? `${name} "${what}"` : `address "${location.hash}"`}: a link to it is wrong, or it lies before the time shown. The nearest that it has stands below.`;
  const part = target.closest(".part");
  parts.forEach((item) => { item.hidden = item !== part; });
  document.querySelectorAll(".parts a").forEach((item) => {
    if (item.getAttribute("href") === `#${nearest.get(part.id) ?? part.id}`) item.setAttribute("aria-current", "page");
    else item.removeAttribute("aria-current");
  });
  const title = part.querySelector("h2");
  document.title = `${title.textContent} · ${house}`;
  if (!moved) return;
  target.focus({ preventScroll: true });
  if (target === title) window.scrollTo(0, 0);
  else target.scrollIntoView({ block: target.tagName === "TR" ? "center" : "start" });
}

window.addEventListener("hashchange", () => show(true));
document.querySelector(".skip").addEventListener("click", (event) => {
  event.preventDefault();
  document.getElementById("main").focus();
});

/** The paper: light, dark or as the system has it; remembered where the browser lets a page remember. */
function paper(wanted) {
  if (wanted) root.dataset.paper = wanted;
  else delete root.dataset.paper;
  try { localStorage.setItem("paper", wanted); } catch { /* a page from a file may not be allowed to */ }
}
const papers = [...document.querySelectorAll('input[name="light"]')];
papers.forEach((radio) => radio.addEventListener("change", () => paper(radio.value)));
try {
  const kept = papers.find((radio) => radio.value === localStorage.getItem("paper"));
  if (kept?.value) { kept.checked = true; paper(kept.value); }
} catch { /* as above */ }

document.getElementById("print-view").addEventListener("click", () => window.print());
document.getElementById("print-all").addEventListener("click", () => {
  root.classList.add("everything");
  window.print();
});
// Charts are drawn at the width of the paper, so that their words keep their size.
window.addEventListener("beforeprint", () => {
  root.classList.add("printing");
  redrawAll();
});
window.addEventListener("afterprint", () => {
  root.classList.remove("everything", "printing");
  redrawAll();
});

show(location.hash.length > 1);
