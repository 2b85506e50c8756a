// The page: which part is shown, the paper's colour, printing.
import { filteredTable } from "./lists.js";
import { html } from "./draw.js";
import { redrawAll } from "./plot.js";
import { ages, shelf } from "./shelf.js";
import { batchPage, runPage } from "./details.js";
import { pointTable, sharedSpan, spanControls, spark, trendChart } from "./trends.js";

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

const span = sharedSpan(data.charts);
spanControls(document.getElementById("span"), span);
const chooser = document.getElementById("span").elements.measure;
chooser.addEventListener("change", () => go(`measure/${chooser.value}`));
data.charts.forEach((chart, n) => trendChart(document.querySelector(`#chart-${n} .plot-place`), chart, data, span, go));
document.querySelectorAll(".spark").forEach((cell) => cell.append(spark(data.charts[cell.dataset.chart])));
document.querySelectorAll("details.points").forEach((details) => details.addEventListener("toggle", () => {
  if (details.open && !details.querySelector("table")) details.append(pointTable(data.charts[details.dataset.chart], data));
}));

/** Shows one part of the page and puts the focus on what was asked for. */
function show(moved) {
  const [name, ...rest] = location.hash.slice(1).split("/");
  const what = rest.join("/");  // names in addresses are of safe characters only
  const page = { chart: "measure", flag: "flags" }[name] ?? name;
  const part = parts.find((item) => item.id === page) ?? parts[0];
  parts.forEach((item) => { item.hidden = item !== part; });
  document.querySelectorAll(".parts a").forEach((item) => {
    const here = { batch: "batches", run: "runs", measure: "trends" }[part.id] ?? part.id;
    if (item.getAttribute("href") === `#${here}`) item.setAttribute("aria-current", "page");
    else item.removeAttribute("aria-current");
  });
  const title = part.querySelector("h2");
  let target = title;
  if (name === "batch" || name === "run") {
    const record = data[name === "batch" ? "batches" : "runs"].find((item) => item.slug === what);
    const host = part.querySelector(".filled");
    if (record) title.textContent = (name === "batch" ? batchPage : runPage)(host, record, data);
    else host.replaceChildren(html("p", { class: "note" }, `The board has no ${name} of this name; it may lie before the time shown.`));
  } else if (name === "batches" && what) {
    lists["batch-table"].ask({ standing: what });
  } else if (name === "flag") {
    lists["flag-table"].ask({});
    target = document.getElementById(what) ?? title;
  } else if (page === "measure") {
    const chart = data.charts.findIndex((item) => item.slug === what);
    const measure = data.measures.find((item) => item.code === what || item.charts.includes(chart)) ?? data.measures[0];
    if (measure) {
      document.querySelectorAll(".measure").forEach((item) => { item.hidden = item.dataset.measure !== measure.code; });
      chooser.value = measure.code;
      title.textContent = measure.name;
      if (measure.charts.indexOf(chart) > 0) target = document.getElementById(`chart-${chart}-title`);
    }
  }
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
