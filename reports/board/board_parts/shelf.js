// Two pictures of what is in hand: batches by month and state, flags by severity and age.
import { SEVERITY_MARKS, html, plural, severityMark, sign } from "./draw.js";

const STATES = ["waiting", "held", "released", "rejected"];
const SEVERITIES = Object.keys(SEVERITY_MARKS);

/** Every month from the first to the last, written 2031-03. */
export function monthsBetween(first, last) {
  const all = [];
  for (let [year, month] = first.split("-").map(Number); ; [year, month] = month === 12 ? [year + 1, 1] : [year, month + 1]) {
    all.push(`${year}-${String(month).padStart(2, "0")}`);
    if (all[all.length - 1] >= last) return all;
  }
}

/** Batches as signs, one column a month and one row a state. */
export function shelf(host, data, go) {
  const bottled = data.batches.map((batch) => batch.bottled.slice(0, 7)).filter((month) => /^\d/.test(month)).sort();
  if (!bottled.length) return;
  const months = monthsBetween(bottled[0], bottled[bottled.length - 1]);
  const place = (batch) => html("a", {
    href: `#batch/${batch.slug}`, "aria-label": `${batch.code}, ${batch.product}, bottled ${batch.bottled}, ${batch.headline}`, title: `${batch.code}, ${batch.headline}`,
  }, sign(batch.standing));
  const row = (state) => html("tr", null, html("th", { scope: "row" }, state), months.map((month) => html("td", null,
    data.batches.filter((batch) => batch.state === state && batch.bottled.startsWith(month)).map(place))));
  const shown = STATES.filter((state) => data.batches.some((batch) => batch.state === state));
  const head = html("tr", null, html("td"), months.map((month, n) => html("th", { scope: "col" },
    n === 0 || month.endsWith("-01") ? month : html("span", null, html("span", { class: "unseen" }, month.slice(0, 5)), month.slice(5)))));
  host.prepend(html("div", { class: "scroll" }, html("table", { class: "shelf" }, html("caption", { class: "unseen" }, "Batches by month of bottling and state"),
    html("thead", null, head), html("tbody", null, shown.map(row)))));
}

/** Flags as marks, one row a severity and one column an age; a cell chooses its flags in the list below. */
export function ages(host, data, choose) {
  // Where one check raised all flags, their age in the book tells nothing; the day of the record does.
  const first = data.flags.length > 1 && data.flags.every((flag) => flag.raised === data.flags[0].raised) ? 1 : 0;
  const from = html("fieldset", { class: "choice" }, html("legend", null, "Age since"),
    ["first flagged", "the day of the record"].map((words, n) => html("label", null,
      html("input", { type: "radio", name: "age-from", value: n, checked: n === first, onchange: () => fill(n) }), html("span", null, words))));
  const grid = html("table", { class: "ages" });
  host.append(from, grid, html("p", { class: "note" }, "One mark a flag: filled while open, hollow once explained, hollow and barred once accepted. Activate a cell to list its flags."));

  function cell(severity, age, n) {
    const flags = data.flags.filter((flag) => flag.severity === severity && flag.age[n] === age);
    if (!flags.length) return html("td", null, html("span", { class: "none" }, "–"));
    const open = flags.filter((flag) => flag.state === "open").length;
    const label = `${plural(flags.length, "flag")}, ${severity}, ${data.ages[age] ?? "age not known"}; ${open} open`;
    const asked = { severity: SEVERITY_MARKS[severity], [n ? "recorded" : "raised"]: String(age) };
    return html("td", null, html("button", { type: "button", "aria-label": label, onclick: () => choose(asked) },
      html("b", null, String(flags.length)),
      html("span", { class: "tally", "aria-hidden": "true" }, flags.slice(0, 24).map((flag) => html("i", { class: flag.state }, severityMark(severity))))));
  }

  function fill(n) {
    const unknown = data.flags.some((flag) => flag.age[n] === null);
    const columns = [...data.ages.keys(), ...(unknown ? [null] : [])];
    grid.replaceChildren(
      html("caption", null, `Flags by severity and age, counted to the check of ${data.checked.slice(0, 10)}`),
      html("thead", null, html("tr", null, html("td"), columns.map((age) => html("th", { scope: "col" }, data.ages[age] ?? "not known")))),
      html("tbody", null, SEVERITIES.map((severity) => html("tr", null, html("th", { scope: "row" }, severity), columns.map((age) => cell(severity, age, n))))));
  }
  fill(first);
}
