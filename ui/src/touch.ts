/**
 * Joins the keys to the touch filter. One filter serves them all: hands do not stay on one key, and what
 * touches the glass beside them tells of a hand or of water as well.
 */
import { due } from "./due";
import * as ipc from "./ipc";
import { HELD_MS, type Hand, type Ignored, NO_HAND, press, REPEAT_MS, type Verdict } from "./press";
import { store } from "./store.svelte";

const REPORT_AFTER_MS = 1_000;

let hand: Hand = NO_HAND;
const keys = new Map<number, { node: HTMLElement; onpress: (touch: ipc.Touch) => void }>();
/** A covered screen has a filter of its own; its touches are counted here. */
type Why = Ignored | "covered";
const ignored = new Map<Why, number>();
const nodes = new WeakSet<Element>();
const disturbed = new Set<() => void>();
/** Fingers on the glass that were taken for a hand or water when they came down. */
const passedOver = new Set<number>();

/** Makes a button a key: `onpress` is called with each press that counts. */
export function key(node: HTMLElement, onpress: (touch: ipc.Touch) => void) {
  let current = onpress;

  const ondown = (event: PointerEvent): void => {
    if (event.button > 0) {
      return;
    }
    event.preventDefault();
    node.setPointerCapture(event.pointerId);
    node.dataset["pressed"] = "";
    keys.set(event.pointerId, { node, onpress: current });
    decide({
      kind: "down",
      id: event.pointerId,
      at: event.timeStamp,
      x: event.clientX,
      y: event.clientY,
      width: window.innerWidth,
      height: window.innerHeight,
      first: isFirst(event),
      changed: node.dataset["changed"] === undefined ? undefined : Number(node.dataset["changed"]),
      atLift: node.dataset["atLift"] !== undefined,
    });
    const { pointerId, timeStamp } = event;
    due(timeStamp + HELD_MS, () => {
      decide({ kind: "held", id: pointerId, at: timeStamp + HELD_MS });
    });
  };
  const onup = (event: PointerEvent): void => {
    decide({ kind: "up", id: event.pointerId, at: event.timeStamp });
    release(event.pointerId);
  };
  const oncancel = (event: PointerEvent): void => {
    decide({ kind: "cancel", id: event.pointerId, at: event.timeStamp });
    release(event.pointerId);
  };
  // A keyboard and a screen reader click without a finger; a finger's click has a count.
  const onclick = (event: MouseEvent): void => {
    if (event.detail !== 0) {
      return;
    }
    // Pressed twice, the second one was meant for the key that the first one took away.
    if (event.timeStamp - Number(node.dataset["handed"] ?? -Infinity) < REPEAT_MS) {
      count("repeat", 1);
    } else {
      taken(current, { down: event.timeStamp, taken: event.timeStamp });
    }
  };

  // Enter that is held goes on clicking, also what the focus has come to meanwhile.
  const onkeydown = (event: KeyboardEvent): void => {
    if (event.repeat && event.key === "Enter") {
      event.preventDefault();
    }
  };

  nodes.add(node);
  node.addEventListener("pointerdown", ondown);
  node.addEventListener("pointerup", onup);
  node.addEventListener("pointercancel", oncancel);
  node.addEventListener("click", onclick);
  node.addEventListener("keydown", onkeydown);
  return {
    update(next: (touch: ipc.Touch) => void): void {
      current = next;
    },
    destroy(): void {
      node.removeEventListener("pointerdown", ondown);
      node.removeEventListener("pointerup", onup);
      node.removeEventListener("pointercancel", oncancel);
      node.removeEventListener("click", onclick);
      node.removeEventListener("keydown", onkeydown);
    },
  };
}

/**
 * Hears what the keys do not: a finger that comes down beside them, and one that lifts after its key is
 * gone from the page.
 */
export function watchGlass(): void {
  document.addEventListener(
    "pointerdown",
    (event) => {
      const key = event.target instanceof Element ? event.target.closest("button") : null;
      if (event.button > 0 || (key !== null && nodes.has(key))) {
        return;
      }
      decide({
        kind: "down",
        id: event.pointerId,
        at: event.timeStamp,
        x: event.clientX,
        y: event.clientY,
        width: window.innerWidth,
        height: window.innerHeight,
        first: isFirst(event),
        elsewhere: true,
      });
    },
    { capture: true },
  );
  for (const [name, kind] of [["pointerup", "up"], ["pointercancel", "cancel"]] as const) {
    document.addEventListener(name, (event) => {
      decide({ kind, id: event.pointerId, at: event.timeStamp });
      release(event.pointerId);
    });
  }
}

/** Tells each time that a hand or water was on the glass: what is held then is not meant. */
export function ondisturbed(tell: () => void): () => void {
  disturbed.add(tell);
  return () => {
    disturbed.delete(tell);
  };
}

/** Whether the finger was taken for a hand or water as it came down: nothing begins by it. */
export function wasIgnored(id: number): boolean {
  return passedOver.has(id);
}

/** No other finger touches the glass, as the system knows it. */
export function isFirst(event: PointerEvent): boolean {
  return event.pointerType === "touch" && event.isPrimary;
}

/** Counts touches that are ignored; the count goes into the record. */
export function count(why: Why, n: number): void {
  if (ignored.size === 0) {
    setTimeout(report, REPORT_AFTER_MS);
  }
  ignored.set(why, (ignored.get(why) ?? 0) + n);
}

function decide(finger: Parameters<typeof press>[1]): void {
  const [next, verdict] = press(hand, finger);
  hand = next;
  if (finger.kind === "down") {
    passedOver.delete(finger.id);
  }
  follow(verdict);
}

function follow(verdict: Verdict): void {
  switch (verdict.kind) {
    case "none":
      return;
    case "taken": {
      const pressed = keys.get(verdict.id);
      if (pressed !== undefined) {
        taken(pressed.onpress, verdict);
      }
      return;
    }
    case "ignored":
      if (verdict.why === "changed" || verdict.why === "held") {
        store.passed = performance.now();
      }
      for (const id of verdict.ids) {
        passedOver.add(id);
        delete keys.get(id)?.node.dataset["pressed"];
      }
      if (verdict.why === "wet" || verdict.why === "burst") {
        for (const tell of disturbed) tell();
      }
      count(verdict.why, verdict.ids.length);
  }
}

function taken(onpress: (touch: ipc.Touch) => void, touch: ipc.Touch): void {
  store.touched = performance.now();
  onpress({ down: touch.down, taken: touch.taken });
}

function report(): void {
  for (const [why, n] of ignored) {
    store.ask(ipc.touchesIgnored(n, why));
  }
  ignored.clear();
}

function release(id: number): void {
  delete keys.get(id)?.node.dataset["pressed"];
  keys.delete(id);
  passedOver.delete(id);
}
