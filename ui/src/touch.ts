/** Joins the keys to the touch filter. One filter serves them all: hands do not stay on one key. */
import * as ipc from "./ipc";
import { HELD_MS, type Hand, type Ignored, NO_HAND, press, type Verdict } from "./press";
import { store } from "./store.svelte";

const REPORT_AFTER_MS = 1_000;

let hand: Hand = NO_HAND;
const keys = new Map<number, { node: HTMLElement; onpress: (touch: ipc.Touch) => void }>();
const ignored = new Map<Ignored, number>();

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
      changed: node.dataset["changed"] === undefined ? undefined : Number(node.dataset["changed"]),
    });
    const { pointerId, timeStamp } = event;
    setTimeout(() => {
      decide({ kind: "held", id: pointerId, at: timeStamp + HELD_MS });
    }, Math.max(0, HELD_MS - (performance.now() - timeStamp)));
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
    if (event.detail === 0) {
      taken(current, { down: event.timeStamp, taken: event.timeStamp });
    }
  };

  node.addEventListener("pointerdown", ondown);
  node.addEventListener("pointerup", onup);
  node.addEventListener("pointercancel", oncancel);
  node.addEventListener("click", onclick);
  return {
    update(next: (touch: ipc.Touch) => void): void {
      current = next;
    },
    destroy(): void {
      node.removeEventListener("pointerdown", ondown);
      node.removeEventListener("pointerup", onup);
      node.removeEventListener("pointercancel", oncancel);
      node.removeEventListener("click", onclick);
    },
  };
}

/** A key may be gone from the page before its finger is: then the document hears it lift. */
export function watchLifts(): void {
  for (const [name, kind] of [["pointerup", "up"], ["pointercancel", "cancel"]] as const) {
    document.addEventListener(name, (event) => {
      if (keys.has(event.pointerId)) {
        decide({ kind, id: event.pointerId, at: event.timeStamp });
        release(event.pointerId);
      }
    });
  }
}

function decide(finger: Parameters<typeof press>[1]): void {
  const [next, verdict] = press(hand, finger);
  hand = next;
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
      if (verdict.why === "changed") {
        store.passed = performance.now();
      }
      for (const id of verdict.ids) {
        delete keys.get(id)?.node.dataset["pressed"];
      }
      if (ignored.size === 0) {
        setTimeout(report, REPORT_AFTER_MS);
      }
      ignored.set(verdict.why, (ignored.get(verdict.why) ?? 0) + verdict.ids.length);
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
}
