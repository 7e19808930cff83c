/**
 * What wakes a covered screen, as a pure function: one finger that comes down alone, away from the edge,
 * and rests in one place for 1.5 s. All else is cloth, water or a hand: it is counted and does nothing,
 * and as long as any of it is on the glass nothing wakes. Times are milliseconds on the page's clock,
 * places are CSS pixels.
 */
import { EDGE_PX, withFinger } from "./press";

/** So long a finger rests: as long as on the hold that ends a run. No source. */
export const WAKE_MS = 1_500;
/** A finger in a moving vehicle stays within so much; cloth drags. No source. */
export const STILL_PX = 24;

/** What happens on the glass. */
export type Stir =
  | {
      kind: "down";
      id: number;
      at: number;
      x: number;
      y: number;
      width: number;
      height: number;
      /** The system says that no other finger touches: one that is still counted has left without a word. */
      first: boolean;
    }
  | { kind: "move"; id: number; x: number; y: number }
  | { kind: "up" | "held"; id: number; at: number }
  | { kind: "cancel"; id: number };

/** The finger that may wake, and all that touch. */
export interface Sleep {
  readonly resting: { readonly id: number; readonly at: number; readonly x: number; readonly y: number } | null;
  readonly touching: readonly number[];
}

/** Nothing touches. */
export const ASLEEP: Sleep = { resting: null, touching: [] };

/** What follows: nothing yet, a touch that counts for nothing, the screen wakes. */
export type Stirred = "none" | "ignored" | "woken";

/** Decides what a touch of a covered screen means. Gives the sleep after it. */
export function stir(sleep: Sleep, one: Stir): [Sleep, Stirred] {
  switch (one.kind) {
    case "down": {
      const touching = withFinger(sleep.touching, one.id, one.first);
      const isAlone = touching.length === 1;
      const isInside =
        one.x >= EDGE_PX && one.y >= EDGE_PX && one.x <= one.width - EDGE_PX && one.y <= one.height - EDGE_PX;
      if (isAlone && isInside) {
        const { id, at, x, y } = one;
        return [{ resting: { id, at, x, y }, touching }, "none"];
      }
      return [{ resting: null, touching }, "ignored"];
    }
    case "move": {
      const { resting } = sleep;
      if (resting?.id !== one.id || Math.hypot(one.x - resting.x, one.y - resting.y) <= STILL_PX) {
        return [sleep, "none"];
      }
      return [{ ...sleep, resting: null }, "ignored"];
    }
    case "held":
      return rested(sleep, one);
    // A lift may be told before the moment at which its finger had rested long enough.
    case "up": {
      const [after, woken] = rested(sleep, one);
      const [gone, ignored] = lifted(after, one.id);
      return [gone, woken === "woken" ? woken : ignored];
    }
    case "cancel":
      return lifted(sleep, one.id);
  }
}

function rested(sleep: Sleep, { id, at }: { id: number; at: number }): [Sleep, Stirred] {
  const { resting } = sleep;
  const isLong = resting?.id === id && at - resting.at >= WAKE_MS;
  return isLong ? [{ ...sleep, resting: null }, "woken"] : [sleep, "none"];
}

function lifted(sleep: Sleep, id: number): [Sleep, Stirred] {
  const touching = sleep.touching.filter((other) => other !== id);
  const wasResting = sleep.resting?.id === id;
  return [{ resting: wasResting ? null : sleep.resting, touching }, wasResting ? "ignored" : "none"];
}
