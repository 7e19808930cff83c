/**
 * The touch filter, as a pure function: what counts as a press of a key.
 *
 * Touches from 70 ms count, dated to the finger's going down; a long one counts at 800 ms while it
 * is still held, since wet gloves press long. A key may count at the lift alone, as Undo does: then a
 * long touch counts as it lifts, and one held for 1.5 s not at all. Ignored are as well: shorter ones, a second touch of the same
 * place within 600 ms of the lift of the finger that pressed it (a thumb bounces as it lifts, however
 * long its press has counted by then), touches within 7 px of the screen's edge, three or more fingers at once, a
 * touch of a key whose words the clock changed less than 400 ms before (the thumb was on its way to
 * what stood there), and what drops of water do: six touches within a second, wherever they are, and
 * all that follows until the glass has rested. Touches beside the keys are told as well: they are no
 * presses, and show a hand or water all the same.
 * Times are milliseconds on the page's clock, places are CSS pixels.
 */

/** Shortest touch that counts. */
export const SHORTEST_MS = 70;
/** A touch still held counts after this. */
export const HELD_MS = 800;
/**
 * A key that counts at the lift does not if it was held so long: Undo stands where the key that ends a run stands
 * behind Mark, and that one is held for as long (`Hold.svelte`). What it takes back would never be missed.
 */
export const TOO_LONG_MS = 1_500;
/** A second touch of the same place counts only so long after the lift of the first. */
export const REPEAT_MS = 600;
/** How near the edge nothing reacts. */
export const EDGE_PX = 7;
/** Two touches nearer than this are of the same place, whatever has been drawn there since. */
export const SAME_PLACE_PX = 56;
/** So many fingers at once are a hand, not a press. */
export const BURST = 3;
/** So many touches within so long are drops: nobody marks so quickly. Common practice, no source. */
export const WET = 6;
export const WET_WITHIN_MS = 1_000;
/** Then the glass is not believed until nothing has touched it for so long. Common practice, no source. */
export const DRY_MS = 600;

/** Words that the clock changed are read, and meant, only after this. No source; a reaction takes 200 ms. */
export const READ_MS = 400;

/** Why a touch did not count. */
export type Ignored = "short" | "repeat" | "edge" | "burst" | "changed" | "wet" | "held";

/** What happens to a finger. */
export type Finger =
  | {
      kind: "down";
      id: number;
      at: number;
      x: number;
      y: number;
      width: number;
      height: number;
      /** When the clock put other words under the finger, if it did. */
      changed?: number | undefined;
      /** There is no key. */
      elsewhere?: boolean;
      /** The key counts at the lift, and not if it was held too long. */
      atLift?: boolean;
      /** The system says that no other finger touches: one that is still counted has left without a word. */
      first?: boolean;
    }
  | { kind: "up" | "held" | "cancel"; id: number; at: number };

/** What follows from it. */
export type Verdict =
  | { kind: "none" }
  | { kind: "taken"; id: number; down: number; taken: number }
  | { kind: "ignored"; ids: readonly number[]; why: Ignored };

interface Open {
  readonly id: number;
  readonly down: number;
  readonly x: number;
  readonly y: number;
  readonly atLift: boolean;
}

/** The last press, or what was held too long for one: a thumb bounces as it lifts from either. */
interface Last {
  /** When its finger lifted; until it does, when it counted. */
  readonly at: number;
  readonly x: number;
  readonly y: number;
  /** The finger that made it, as long as it has not lifted. */
  readonly by: number | null;
}

/** Fingers on the glass that are not decided yet, all fingers on the glass, the last press. */
export interface Hand {
  readonly open: readonly Open[];
  readonly touching: readonly number[];
  readonly last: Last | null;
  /** When fingers came down within the last second. */
  readonly downs: readonly number[];
  /** When one came down last on a glass that is not believed. */
  readonly wet: number | null;
}

/** No finger, no press yet. */
export const NO_HAND: Hand = { open: [], touching: [], last: null, downs: [], wet: null };

const NONE: Verdict = { kind: "none" };

/** Decides what a finger's event means. Gives the hand after it. */
export function press(hand: Hand, finger: Finger): [Hand, Verdict] {
  switch (finger.kind) {
    case "down":
      return down(hand, finger);
    case "held":
      return settle(hand, finger.id, finger.at, HELD_MS);
    case "up":
      return lifted(settle(hand, finger.id, finger.at, SHORTEST_MS), finger);
    case "cancel": {
      const was = hand.open.some((open) => open.id === finger.id);
      const verdict: Verdict = was ? { kind: "ignored", ids: [finger.id], why: "burst" } : NONE;
      return lifted([without(hand, [finger.id]), verdict], finger);
    }
  }
}

/** Who touches once a finger has come down; `first` as the system says it: who is still counted has left without a word. */
export function withFinger(touching: readonly number[], id: number, first: boolean): readonly number[] {
  return first ? [id] : [...touching.filter((other) => other !== id), id];
}

function down(hand: Hand, finger: Finger & { kind: "down" }): [Hand, Verdict] {
  const touching = withFinger(hand.touching, finger.id, finger.first === true);
  const downs = [...hand.downs.filter((at) => finger.at - at < WET_WITHIN_MS), finger.at];
  const isStillWet = hand.wet !== null && finger.at - hand.wet < DRY_MS;
  const isWet = isStillWet || downs.length >= WET;
  // A finger that comes down has lifted before, told or not: its next lift is of another touch.
  const last = hand.last?.by === finger.id ? { ...hand.last, by: null } : hand.last;
  const next: Hand = { ...hand, touching, downs, last, wet: isWet ? finger.at : null };
  if (isWet || touching.length >= BURST) {
    const ids = [...hand.open.map((open) => open.id), finger.id];
    return [{ ...next, open: [] }, { kind: "ignored", ids, why: isWet ? "wet" : "burst" }];
  }
  if (finger.elsewhere === true) {
    return [next, NONE];
  }
  const nearEdge =
    finger.x < EDGE_PX ||
    finger.y < EDGE_PX ||
    finger.x > finger.width - EDGE_PX ||
    finger.y > finger.height - EDGE_PX;
  if (nearEdge) {
    return [next, { kind: "ignored", ids: [finger.id], why: "edge" }];
  }
  const again =
    last !== null &&
    finger.at - last.at < REPEAT_MS &&
    Math.hypot(finger.x - last.x, finger.y - last.y) < SAME_PLACE_PX;
  if (again) {
    return [next, { kind: "ignored", ids: [finger.id], why: "repeat" }];
  }
  if (finger.changed !== undefined && finger.at - finger.changed < READ_MS) {
    return [next, { kind: "ignored", ids: [finger.id], why: "changed" }];
  }
  const { id, at, x, y } = finger;
  const open = { id, down: at, x, y, atLift: finger.atLift === true };
  return [{ ...next, open: [...hand.open.filter((o) => o.id !== finger.id), open] }, NONE];
}

/** Decides an open touch at `at`: taken if it has lasted `least`, too short if its finger is up. */
function settle(hand: Hand, id: number, at: number, least: number): [Hand, Verdict] {
  const open = hand.open.find((candidate) => candidate.id === id);
  if (open === undefined || (least === HELD_MS && open.atLift)) {
    return [hand, NONE];
  }
  const lasted = at - open.down;
  if (lasted < least) {
    return least === HELD_MS
      ? [hand, NONE]
      : [without(hand, [id]), { kind: "ignored", ids: [id], why: "short" }];
  }
  const taken = open.atLift ? at : Math.min(at, open.down + HELD_MS);
  const last = { at: taken, x: open.x, y: open.y, by: id };
  const verdict: Verdict =
    open.atLift && lasted >= TOO_LONG_MS
      ? { kind: "ignored", ids: [id], why: "held" }
      : { kind: "taken", id, down: open.down, taken };
  return [{ ...without(hand, [id]), last }, verdict];
}

function lifted([hand, verdict]: [Hand, Verdict], { id, at }: Finger): [Hand, Verdict] {
  const last = hand.last?.by === id ? { ...hand.last, at, by: null } : hand.last;
  return [{ ...hand, last, touching: hand.touching.filter((other) => other !== id) }, verdict];
}

function without(hand: Hand, ids: readonly number[]): Hand {
  return { ...hand, open: hand.open.filter((open) => !ids.includes(open.id)) };
}

/** The keys that stand in a row, and when the clock put each there. */
export interface Row {
  readonly words: readonly string[];
  readonly changed: readonly (number | undefined)[];
}

/** No row yet. */
export const NO_ROW: Row = { words: [], changed: [] };

/** A change so soon after a press is what the press asked for. */
const OWN_MS = 1_000;

/** The row after `words` came to stand in it at `at`; the crew's last press was at `touched`. */
export function rowAfter(row: Row, words: readonly string[], at: number, touched: number): Row {
  const own = row.words.length === 0 || at - touched < OWN_MS;
  const changed = words.map((word, n) => {
    // A half that has become the whole, or the other way round, says what it said where it stood.
    if (word === row.words[n]) return row.changed[n];
    return own ? undefined : at;
  });
  return { words, changed };
}

/** When the clock last changed any key of a row. */
export function latest(row: Row): number | undefined {
  const times = row.changed.filter((at) => at !== undefined);
  return times.length === 0 ? undefined : Math.max(...times);
}
