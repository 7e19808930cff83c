/**
 * Hands-free: one hardware key answers, another marks a bare time. The keys are those of a keyboard, a
 * presenter or a button that passes for one.
 *
 * Where the card has one answer, a press of the answer key marks it. Where it has two, no press marks
 * what nobody looked at: a short one frames a half, the next one the other half, and only held does the
 * key mark what was framed when it went down. A frame that is left alone goes away.
 */
import type { Act } from "./bindings/Act";
import type { Key } from "./bindings/Key";
import { due } from "./due";
import * as ipc from "./ipc";
import { HELD_MS, READ_MS, REPEAT_MS } from "./press";
import { store } from "./store.svelte";

const ANSWER = "PageDown";
const FLAG = "PageUp";
/** So long a frame stands without a press: the look at the screen and the next press. No source. */
export const FRAMED_MS = 4_000;

/** What the card offers, and where its frame is drawn. */
export interface Answers {
  /** The answers; none while a sheet lies over them. */
  main: () => readonly Key[];
  frame: (act: Act | null) => void;
  /** When the clock last put other answers there, if no press did. */
  changed: () => number | undefined;
}

/** Listens while a run is shown. */
export function hardware({ main, frame, changed }: Answers): () => void {
  let down: { at: number; framed: Act | null; acts: readonly Act[] } | null = null;
  let framed: Act | null = null;
  /** When each key last made a mark; once it is let go, when that was: it bounces then, as a thumb does. */
  const marked = new Map<string, number>();
  /** The keys that are down since they made it. */
  const marking = new Set<string>();
  let letGo: (() => void) | undefined;
  let fading: ReturnType<typeof setTimeout> | undefined;

  const send = (act: Act, from: number, taken: number): void => {
    store.touched = performance.now();
    store.mark(ipc.pressAct(act, { down: from, taken }));
  };
  const makes = (key: string, at: number): void => {
    marked.set(key, at);
    marking.add(key);
  };
  const offered = (): readonly Act[] => main().map(({ act }) => act);
  const put = (act: Act | null): void => {
    clearTimeout(fading);
    framed = act;
    frame(act);
    if (act !== null) {
      fading = setTimeout(() => { put(null); }, FRAMED_MS);
    }
  };
  /** The answer key was down until then, or still is. */
  const answer = (until: number): void => {
    if (down === null) {
      return;
    }
    const { at, framed: was, acts } = down;
    const taken = Math.min(until, at + HELD_MS);
    const isHeld = taken === at + HELD_MS;
    down = null;
    letGo?.();
    const [first, second] = acts;
    // The answers turned into others under the finger: what it meant is not known.
    if (first === undefined || acts.join() !== offered().join()) {
      put(null);
      return;
    }
    if (second === undefined) {
      makes(ANSWER, taken);
      send(first, at, taken);
    } else if (!isHeld) {
      put(was === first ? second : first);
    } else if (was === first || was === second) {
      put(null);
      makes(ANSWER, taken);
      send(was, at, taken);
    } else {
      put(first);
    }
  };
  const ondown = (event: KeyboardEvent): void => {
    if (event.repeat || (event.key !== ANSWER && event.key !== FLAG)) {
      return;
    }
    event.preventDefault();
    // A key that goes down was let go before, told or not: its next way up is of another press.
    marking.delete(event.key);
    // A bounce of the button, or a second press that meant the first: as a place on the glass.
    if (event.timeStamp - (marked.get(event.key) ?? -Infinity) < REPEAT_MS) {
      return;
    }
    if (event.key === FLAG) {
      makes(FLAG, event.timeStamp);
      send("flag", event.timeStamp, event.timeStamp);
      return;
    }
    // The finger was on its way to what stood there: as on the glass.
    if (event.timeStamp - (changed() ?? -Infinity) < READ_MS) {
      store.passed = performance.now();
      return;
    }
    // The frame stays while the key is down: what was seen framed is what is marked.
    clearTimeout(fading);
    down = { at: event.timeStamp, framed, acts: offered() };
    letGo?.();
    letGo = due(event.timeStamp + HELD_MS, () => { answer(event.timeStamp + HELD_MS); });
  };
  const onup = (event: KeyboardEvent): void => {
    if (event.key === ANSWER) {
      answer(event.timeStamp);
    }
    if (marking.delete(event.key)) {
      marked.set(event.key, event.timeStamp);
    }
  };
  window.addEventListener("keydown", ondown);
  window.addEventListener("keyup", onup);
  return () => {
    letGo?.();
    clearTimeout(fading);
    frame(null);
    window.removeEventListener("keydown", ondown);
    window.removeEventListener("keyup", onup);
  };
}
