/**
 * Where the run clock stands on the page's clock.
 *
 * Every message carries the run time at which it was sent; it arrives a little later. The quickest
 * of the last 32 tells best, so a slow message moves nothing.
 */

const WINDOW = 32;
/** A leap of this size is another run clock, not a slow message. */
const LEAP_MS = 5_000;

export interface Offset {
  /** Page time less run time of each of the last messages, oldest first. */
  readonly seen: readonly number[];
}

export const NO_OFFSET: Offset = { seen: [] };

/** Takes a message in: run time when sent, page time when it arrived. */
export function heard(offset: Offset, sent: number, arrived: number): Offset {
  const found = arrived - sent;
  const known = offset.seen.length > 0 ? Math.min(...offset.seen) : found;
  const seen = Math.abs(found - known) > LEAP_MS ? [] : offset.seen;
  return { seen: [...seen, found].slice(-WINDOW) };
}

/** Page time less run time. */
export function lead({ seen }: Offset): number {
  return seen.length > 0 ? Math.min(...seen) : 0;
}

/** Hours, minutes and seconds of a length of time; seconds rounded down, never below zero. */
export function readout(ms: number): string {
  const whole = Math.max(0, Math.floor(ms / 1000));
  const two = (n: number): string => String(n).padStart(2, "0");
  const [h, m, s] = [Math.floor(whole / 3600), Math.floor(whole / 60) % 60, whole % 60];
  return h > 0 ? `${String(h)}:${two(m)}:${two(s)}` : `${String(m)}:${two(s)}`;
}
