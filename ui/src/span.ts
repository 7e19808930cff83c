/** Which part of a run is drawn, and times of the day: pure functions. Times are whole milliseconds. */

export interface Span {
  readonly from: number;
  readonly to: number;
}

/** Less than this is not drawn: marks are good to about a second. */
export const SHORTEST_SPAN_MS = 60_000;

/** Keeps a part inside the whole: moved, never cut, unless it is longer. */
export function within({ from, to }: Span, whole: Span): Span {
  const length = Math.min(Math.max(to - from, 1), Math.max(whole.to - whole.from, 1));
  const begin = Math.min(Math.max(from, whole.from), whole.to - length);
  return { from: begin, to: begin + length };
}

/** Half as much, around a moment; a part twice as long where `by` is 2. */
export function zoomed(span: Span, whole: Span, at: number, by: number): Span {
  const length = Math.max(Math.round((span.to - span.from) * by), SHORTEST_SPAN_MS);
  const from = Math.round(at - length / 2);
  return within({ from, to: from + length }, whole);
}

/** The part before (-1) or after (1), half of which was seen already. */
export function moved(span: Span, whole: Span, way: -1 | 1): Span {
  const by = Math.round((span.to - span.from) / 2) * way;
  return within({ from: span.from + by, to: span.to + by }, whole);
}

/** Minutes and seconds. */
export function minutes(ms: number): string {
  const s = Math.round(Math.max(0, ms) / 1000);
  return `${Math.floor(s / 60)}:${String(s % 60).padStart(2, "0")}`;
}

const DAY_S = 86_400;

/** Seconds of a day as HH:MM:SS; beyond midnight they begin anew. */
export function ofDay(seconds: number): string {
  const s = ((Math.round(seconds) % DAY_S) + DAY_S) % DAY_S;
  const two = (n: number): string => String(n).padStart(2, "0");
  return `${two(Math.floor(s / 3600))}:${two(Math.floor(s / 60) % 60)}:${two(s % 60)}`;
}

/** A step of a time. */
export const UNITS = [1, 60, 3600] as const;

/** What was so at a moment: the last that began by then. */
export function soAt<T extends { readonly from: number }>(moments: readonly T[], at: number): T | undefined {
  const begun = moments.filter((moment) => moment.from <= at);
  return begun.at(-1);
}
