// The stock in casks: LPA by age as bars, and month by month as a line. All that they show stands in the tables beside them.
import { html, line, mark, svg, words } from "./draw.js";
import { redrawn } from "./plot.js";
import { scale, tickWords, ticks } from "./scale.js";

const LEFT = 62;
const TOP = 12;
const HEIGHT = 230;
const FOOT = 40;

/** The axis of litres, from nothing to the most. */
function litres(sheet, width, most) {
  sheet.setAttribute("viewBox", `0 0 ${width} ${HEIGHT}`);
  sheet.setAttribute("height", HEIGHT);
  const y = scale(0, most * 1.06 || 1, HEIGHT - FOOT, TOP);
  const marks = ticks(0, most * 1.06 || 1, 4);
  for (const value of marks) {
    sheet.append(
      svg("path", { class: "grid", d: `M${LEFT},${y(value)}H${width - 8}` }),
      words(LEFT - 6, y(value) + 4, tickWords(value, marks), "end", { class: "soft" }));
  }
  return y;
}

/** The name of a class of ages where there is little room: its years alone. */
export function shortAge(name, room) {
  if (room >= 62) return name;
  return { "under 1 year": "<1", "age not shown": "?" }[name] ?? name.replace(" or more", "+").replace(/ years?/, "");
}

/** Of so many months in a row which are named, so that no two names touch. */
export function namedMonths(months, room) {
  const step = [1, 2, 3, 6, 12, 24, 60].find((n) => months.length / n <= room) ?? 120;
  return months.map((month) => (Number(month.slice(0, 4)) * 12 + Number(month.slice(5)) - 1) % step === 0);
}

function byAge(sheet, width, ages) {
  const y = litres(sheet, width, Math.max(...ages.map(([, , book, predicted, u, before]) => Math.max(book, predicted + u, before ?? 0))));
  const room = (width - 8 - LEFT) / ages.length;
  const wide = Math.min(room * 0.5, 52);
  ages.forEach(([name, casks, book, predicted, u, before], n) => {
    const x = LEFT + (n + 0.5) * room;
    sheet.append(
      svg("rect", { class: "amount", x: x - wide / 2, y: y(predicted), width: wide, height: y(0) - y(predicted) }),
      svg("path", { class: "axis", d: `M${x - wide / 2 - 3},${y(book)}h${wide + 6}` }),
      svg("path", { class: "bar", d: `M${x},${y(predicted - u)}V${y(predicted + u)}` }),
      words(x, HEIGHT - FOOT + 16, shortAge(name, room), "middle", { class: "soft" }),
      words(x, HEIGHT - FOOT + 32, room >= 62 ? `${casks} casks` : String(casks), "middle", { class: "soft" }));
    if (before !== null) sheet.append(mark("dot", Math.min(x + wide / 2 + 8, x + room / 2 - 3), y(before), 3, true));
  });
  sheet.append(svg("path", { class: "axis", d: `M${LEFT},${y(0)}H${width - 8}` }));
}

function byMonth(sheet, width, months) {
  const y = litres(sheet, width, Math.max(...months.map(([, , book, predicted, u]) => Math.max(book, predicted + u))));
  const x = scale(0, Math.max(months.length - 1, 1), LEFT + 10, width - 18);
  const bars = months.flatMap(([, , , predicted, u], n) => [[x(n), y(predicted - u)], [x(n), y(predicted + u)], [NaN, NaN]]);
  sheet.append(
    line(months.map(([, , book], n) => [x(n), y(book)]), { class: "limit" }),
    line(months.map(([, , , predicted], n) => [x(n), y(predicted)]), { class: "trace" }),
    line(bars, { class: "bar" }),
    svg("path", { class: "axis", d: `M${LEFT},${y(0)}H${width - 8}` }));
  const named = namedMonths(months.map(([month]) => month), Math.max(Math.floor((width - LEFT) / 70), 2));
  months.forEach(([month], n) => {
    if (named[n]) sheet.append(svg("path", { class: "axis", d: `M${x(n)},${y(0)}v4` }), words(x(n), HEIGHT - FOOT + 18, month, "middle", { class: "soft" }));
  });
}

/** Draws both; a house without casks has neither. */
export function stock(warehouse) {
  if (!warehouse) return;
  [["stock-ages", byAge, warehouse.ages], ["stock-months", byMonth, warehouse.months]].forEach(([id, draw, rows]) => {
    const host = document.getElementById(id);
    const label = host.querySelector("figcaption").textContent;
    const sheet = svg("svg", { role: "img", "aria-label": `${label} The table beside it says the same.` });
    host.prepend(html("div", { class: "amounts" }, sheet));
    redrawn(host, (width) => {
      sheet.replaceChildren();
      draw(sheet, width, rows);
    });
  });
}
