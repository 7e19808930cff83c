/**
 * When what is held counts.
 *
 * A page that stood still finds two things waiting at once: timers that ran out, and fingers that lifted meanwhile; in
 * which order it is told of them nobody promises. A timer that comes late therefore decides nothing yet: what waited
 * comes first, and speaks for itself by its own time.
 */

/** A timer that comes so late says that the page stood still; so long it then waits for what waited. No source. */
export const LATE_MS = 50;

/** The page's clock and timers. */
export interface Clock {
  now: () => number;
  /** Calls after so many ms; what it gives calls that off. */
  after: (ms: number, call: () => void) => () => void;
}

const PAGE: Clock = {
  now: () => performance.now(),
  after: (ms, call) => {
    const timer = setTimeout(call, ms);
    return () => { clearTimeout(timer); };
  },
};

/** Calls `decide` at `at`, once what came down and lifted before has been told. What it gives calls that off. */
export function due(at: number, decide: () => void, clock: Clock = PAGE): () => void {
  // What began while the page stood still is told of late too: then its end may wait right behind it.
  const from = Math.max(at, clock.now() + LATE_MS);
  let off = clock.after(from - clock.now(), () => {
    if (clock.now() - from > LATE_MS) off = clock.after(LATE_MS, decide);
    else decide();
  });
  return () => { off(); };
}
