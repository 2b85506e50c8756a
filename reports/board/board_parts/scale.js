// Numbers, times and spans: pure functions, no page.

export const DAY = 1440;  // minutes

/** Where a value lies between two places. */
export function scale(least, most, start, end) {
  const room = most > least ? most - least : 1;
  return (value) => start + ((value - least) / room) * (end - start);
}

/** Round values from least to most, about so many. */
export function ticks(least, most, about) {
  if (!(most > least)) return [least];
  const rough = (most - least) / about;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = power * [1, 2, 2.5, 5, 10].find((factor) => factor * power >= rough * 0.999);
  const first = Math.ceil(least / step - 1e-9);
  const last = Math.floor(most / step + 1e-9);
  return Array.from({ length: Math.max(last - first + 1, 0) }, (_, n) => (first + n) * step);
}

/** A tick as text, with as many decimals as the step between ticks needs. */
export function tickWords(value, all) {
  const step = all.length > 1 ? all[1] - all[0] : Math.max(Math.abs(value), 1);
  let decimals = 0;
  while (decimals < 8 && Math.abs(Number(step.toFixed(decimals)) - step) > 1e-9 * step) decimals += 1;
  return signed((value + 0).toFixed(decimals));
}

/** A number with a proper minus sign; nothing below zero where it rounds to zero. */
export function signed(text) {
  return /^-0(\.0*)?$/.test(text) ? text.slice(1) : text.replace("-", "−");
}

/** Minutes of the house's clock as a date, or as date and time. */
export function day(minute) {
  return new Date(minute * 60000).toISOString().slice(0, 10);
}
export function moment(minute) {
  return new Date(minute * 60000).toISOString().slice(0, 16).replace("T", " ");
}

/** First minute of the month that lies `more` months after the month of this minute. */
export function monthStart(minute, more = 0) {
  const at = new Date(minute * 60000);
  return Date.UTC(at.getUTCFullYear(), at.getUTCMonth() + more, 1) / 60000;
}

/** First minutes of all months from the one that holds `from` to the one that holds `to`. */
export function months(from, to) {
  const starts = [];
  for (let at = monthStart(from); at <= to; at = monthStart(at, 1)) starts.push(at);
  return starts;
}

/** Ticks of a time axis: years, months or days, no more than `most`, each with its words. */
export function timeTicks(from, to, most) {
  const starts = months(from, to).filter((at) => at >= from);
  if (starts.length > 2) {
    const step = [1, 2, 3, 6, 12, 24, 60, 120].find((n) => starts.length / n <= most) ?? 240;
    const chosen = starts.filter((at) => {
      const date = new Date(at * 60000);
      return (date.getUTCFullYear() * 12 + date.getUTCMonth()) % step === 0;
    });
    return chosen.map((at) => ({ at, words: step >= 12 ? day(at).slice(0, 4) : day(at).slice(0, 7) }));
  }
  const days = (to - from) / DAY;
  const step = [1, 2, 5, 7, 14].find((n) => days / n <= most) ?? 28;
  const chosen = [];
  for (let at = Math.ceil(from / DAY) * DAY; at <= to; at += step * DAY) chosen.push({ at, words: day(at) });
  return chosen;
}

/** A span moved inside another, no shorter than `least`. */
export function inside([from, to], [first, last], least) {
  const length = Math.min(Math.max(to - from, least), last - first);
  const middle = (from + to) / 2;
  const start = Math.min(Math.max(to - from < least ? middle - length / 2 : from, first), last - length);
  return [start, start + length];
}

/** A span made shorter or longer by a factor, one place of it staying where it is. */
export function zoomed([from, to], factor, around = (from + to) / 2) {
  return [around - (around - from) * factor, around + (to - around) * factor];
}

/** Least and most of the numbers, with a little room on both sides. */
export function reach(values, room = 0.06) {
  const known = values.filter((value) => Number.isFinite(value));
  if (!known.length) return [0, 1];
  const least = known.reduce((a, b) => Math.min(a, b));
  const most = known.reduce((a, b) => Math.max(a, b));
  const margin = (most - least) * room || Math.abs(most) * 0.01 || 0.5;
  return [least - margin, most + margin];
}

/** Place of the number nearest to `wanted`; -1 in an empty list. */
export function nearest(numbers, wanted) {
  let best = -1;
  numbers.forEach((number, n) => {
    if (best < 0 || Math.abs(number - wanted) < Math.abs(numbers[best] - wanted)) best = n;
  });
  return best;
}

/** Numbers from the steps between them, divided by `by`; a step of null is no number. */
export function unpacked(steps, by) {
  let sum = 0;
  return steps.map((step) => (step === null ? NaN : (sum += step) / by));
}

/** The value of a line of points at a place between them; NaN outside. */
export function valueAt(places, values, wanted) {
  const after = places.findIndex((place) => place >= wanted);
  if (after < 0 || (after === 0 && places[0] > wanted)) return NaN;
  if (after === 0 || places[after] === wanted) return values[after];
  const part = (wanted - places[after - 1]) / (places[after] - places[after - 1]);
  return values[after - 1] + part * (values[after] - values[after - 1]);
}

/** Places down a page, in order, moved no more than they must to lie so far apart, none below `most`. */
export function spread(places, apart, most) {
  const moved = places.map((place) => place);
  for (let n = 1; n < moved.length; n += 1) moved[n] = Math.max(moved[n], moved[n - 1] + apart);
  for (let n = moved.length - 1, floor = most; n >= 0; n -= 1) floor = (moved[n] = Math.min(moved[n], floor)) - apart;
  return moved;
}
