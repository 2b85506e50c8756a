// A drawing along one axis that can be walked by keys, zoomed by dragging, and whose points can be opened.
// To a screen reader it is a slider: its value is the point reached, in words.
import { html, svg } from "./draw.js";
import { inside, nearest, zoomed } from "./scale.js";

const drawn = new Set();  // what draws each plot of the page anew

/** Draws all plots that are seen, at once: paper has another width than the window. */
export function redrawAll() {
  drawn.forEach((redraw) => redraw());
}

/** Draws what cannot be walked at the width of its place, and again whenever that changes. */
export function redrawn(host, draw) {
  const redraw = () => {
    const width = Math.round(host.clientWidth);
    if (width) draw(width);
  };
  new ResizeObserver(redraw).observe(host);
  drawn.add(redraw);
}

const DRAG = 6;  // points that a pointer moves before it zooms

/**
 * @param host    element that the drawing goes into
 * @param label   what it shows, in words
 * @param model   { help (id of the words that tell the keys), span(), whole(), least, zoom(span), draw(svg, width) -> { x, points }, open(point) }
 *                points: { at, x, y, words, parts }, in order; x turns a place of the axis into one of the drawing,
 *                x.back the other way
 */
export function plot(host, label, model) {
  const sheet = svg("svg", { "aria-hidden": "true", focusable: "false" });
  const frame = html("div", {
    class: "plot", role: "slider", tabindex: "0", "aria-label": label, "aria-describedby": model.help ?? "plot-help",
    "aria-orientation": "horizontal", "aria-valuemin": "0",
  }, sheet);
  const readout = html("p", { class: "readout" });
  host.append(frame, readout);
  let now = { points: [] };
  let chosen = null;  // place on the axis of the point reached
  let pressed = null;

  const cursor = svg("g", { class: "cursor" });
  const box = svg("rect", { class: "drag", y: "0", height: "100%" });

  function redraw() {
    const width = Math.round(host.clientWidth);
    if (!width) return;
    sheet.replaceChildren();
    now = model.draw(sheet, width);
    sheet.append(cursor, box);
    box.setAttribute("width", "0");
    point();
  }

  const reached = () => (chosen === null ? -1 : nearest(now.points.map((item) => item.at), chosen));

  function point() {
    const { points } = now;
    const n = reached();
    const item = points[n];
    frame.setAttribute("aria-valuemax", String(Math.max(points.length - 1, 0)));
    frame.setAttribute("aria-valuenow", String(Math.max(n, 0)));
    frame.setAttribute("aria-valuetext", item ? item.words : `${points.length} points; none chosen`);
    readout.replaceChildren(...(item ? item.parts() : []));
    cursor.replaceChildren(...(item ? [
      svg("path", { d: `M${item.x},${now.top}V${now.bottom}` }),
      ...item.ys.map((y) => svg("circle", { cx: item.x, cy: y, r: 5 })),
    ] : []));
  }

  function choose(n) {
    const item = now.points[Math.min(Math.max(n, 0), now.points.length - 1)];
    chosen = item ? item.at : null;
    point();
  }

  function zoom(span) {
    model.zoom(inside(span, model.whole(), model.least));
  }

  frame.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    const n = reached();
    const around = now.points[n]?.at;
    const [from, to] = model.span();
    const shift = (to - from) / 4;
    const moves = {
      ArrowRight: () => (event.shiftKey ? zoom([from + shift, to + shift]) : choose(n + 1)),
      ArrowLeft: () => (event.shiftKey ? zoom([from - shift, to - shift]) : choose(n < 0 ? now.points.length - 1 : n - 1)),
      ArrowUp: () => choose(n + 1),
      ArrowDown: () => choose(n < 0 ? now.points.length - 1 : n - 1),
      PageDown: () => choose(n - 10),
      PageUp: () => choose(n + 10),
      Home: () => choose(0),
      End: () => choose(now.points.length - 1),
      "+": () => zoom(zoomed([from, to], 0.5, around)),
      "-": () => zoom(zoomed([from, to], 2, around)),
      0: () => zoom(model.whole()),
      Escape: () => { chosen = null; point(); },
      Enter: () => now.points[n] && model.open?.(now.points[n]),
    };
    const move = moves[event.key === "=" ? "+" : event.key];
    if (!move) return;
    event.preventDefault();
    move();
  });

  const place = (event) => {
    const box = sheet.getBoundingClientRect();
    return [event.clientX - box.left, event.clientY - box.top];
  };
  const under = (x) => nearest(now.points.map((item) => item.x), x);

  frame.addEventListener("pointerdown", (event) => {
    if (event.button) return;
    const [x] = place(event);
    pressed = { x, moved: false, before: reached() };
    frame.setPointerCapture(event.pointerId);
  });
  frame.addEventListener("pointermove", (event) => {
    const [x] = place(event);
    if (!pressed) {
      if (event.pointerType === "mouse") choose(under(x));
      return;
    }
    pressed.moved ||= Math.abs(x - pressed.x) > DRAG;
    if (!pressed.moved) return;
    box.setAttribute("x", Math.min(x, pressed.x));
    box.setAttribute("width", Math.abs(x - pressed.x));
  });
  frame.addEventListener("pointerup", (event) => {
    if (!pressed) return;
    const [x] = place(event);
    const { x: from, moved, before } = pressed;
    pressed = null;
    box.setAttribute("width", "0");
    if (moved) {
      zoom([from, x].map(now.back).sort((a, b) => a - b));
      return;
    }
    const n = under(x);
    choose(n);
    // A finger chooses first and opens with its second tap; a mouse has chosen by being there.
    if (now.points[n] && (event.pointerType === "mouse" || n === before)) model.open?.(now.points[n]);
  });
  frame.addEventListener("pointercancel", () => { pressed = null; box.setAttribute("width", "0"); });
  frame.addEventListener("dblclick", () => zoom(model.whole()));

  new ResizeObserver(redraw).observe(host);
  drawn.add(redraw);
  return { redraw, frame };
}
