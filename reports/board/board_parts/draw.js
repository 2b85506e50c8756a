// Elements of the page and of drawings. Text is always set as text, never read as markup.
import { signed } from "./scale.js";

const SVG = "http://www.w3.org/2000/svg";

function filled(element, attributes, parts) {
  for (const [name, value] of Object.entries(attributes ?? {})) {
    if (value === null || value === undefined || value === false) continue;
    if (name.startsWith("on")) element.addEventListener(name.slice(2), value);
    else element.setAttribute(name, value === true ? "" : value);
  }
  element.append(...parts.flat().filter((part) => part !== null && part !== undefined && part !== ""));
  return element;
}

export function html(tag, attributes, ...parts) {
  return filled(document.createElement(tag), attributes, parts);
}

export function svg(tag, attributes, ...parts) {
  return filled(document.createElementNS(SVG, tag), attributes, parts);
}

const round = (number) => Math.round(number * 100) / 100;

/** A line through places; one that is no number interrupts it. */
export function line(places, attributes) {
  let commands = "";
  let up = true;
  for (const [x, y] of places) {
    const known = Number.isFinite(x) && Number.isFinite(y);
    if (known) commands += `${up ? "M" : "L"}${round(x)},${round(y)}`;
    up = !known;
  }
  return svg("path", { d: commands, ...attributes });
}

const SHAPES = {
  dot: "M1,0A1,1,0,1,1,-1,0A1,1,0,1,1,1,0Z",
  square: "M-0.9,-0.9H0.9V0.9H-0.9Z",
  diamond: "M0,-1.3L1.3,0L0,1.3L-1.3,0Z",
  triangle: "M0,-1.2L1.2,0.95H-1.2Z",
};

export function mark(shape, x, y, size, hollow = false) {
  const look = hollow ? { class: "hollow", "stroke-width": round(1.2 / size) } : { class: "ink" };
  return svg("path", { d: SHAPES[shape], transform: `translate(${round(x)},${round(y)}) scale(${size})`, ...look });
}

export function words(x, y, text, anchor = "start", extra = {}) {
  return svg("text", { x: round(x), y: round(y), "text-anchor": anchor, ...extra }, text);
}

export function sign(standing) {
  const name = { clear: "clear", "to explain": "explain", stopped: "stopped" }[standing] ?? "unknown";
  return svg("svg", { class: "sign", viewBox: "0 0 34 34", "aria-hidden": "true" }, svg("use", { href: `#sign-${name}` }));
}

/** Severity -> the name of its mark, and of its rows in the list of flags. */
export const SEVERITY_MARKS = { "stops release": "stops", "needs explanation": "needs", "for information": "for" };

export function severityMark(severity) {
  const name = SEVERITY_MARKS[severity];
  return svg("svg", { class: "mark", viewBox: "0 0 12 12", "aria-hidden": "true" }, svg("use", { href: `#mark-${name}` }));
}

export function link(kind, record) {
  return html("a", { href: `#${kind}/${record.slug}` }, record.code);
}

/** A table from titles and rows of cells; a cell is text, a node or a list of them. */
export function table(caption, titles, rows, numeric = []) {
  const cell = (tag, content, n, more = {}) => html(tag, { class: numeric.includes(n) ? "n" : null, ...more }, content);
  return html("table", null,
    html("caption", null, caption),
    html("thead", null, html("tr", null, titles.map((title, n) => cell("th", title, n, { scope: "col" })))),
    html("tbody", null, rows.map((row) => html("tr", null, row.map((content, n) => (
      n ? cell("td", content, n) : cell("th", content, n, { scope: "row" })))))));
}

export function number(value, decimals) {
  return Number.isFinite(value) ? signed(value.toFixed(decimals)) : "–";
}

export function plural(count, one, many = `${one}s`) {
  return `${count || "no"} ${count === 1 ? one : many}`;
}
