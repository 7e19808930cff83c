/**
 * Hands-free: one hardware key answers, another marks a bare time. A key held long answers the right
 * one of two. The keys are those of a keyboard, a presenter or a button that passes for one.
 */
import type { Key } from "./bindings/Key";
import * as ipc from "./ipc";
import { HELD_MS } from "./press";
import { store } from "./store.svelte";

const ANSWER = "PageDown";
const FLAG = "PageUp";

/** Listens while a run is shown. `main` gives the answers; none while a sheet lies over them. */
export function hardware(main: () => readonly Key[]): () => void {
  let down: number | null = null;
  let timer: ReturnType<typeof setTimeout> | undefined;

  const send = (act: Key["act"] | undefined, from: number, taken: number): void => {
    if (act !== undefined) {
      store.touched = performance.now();
      store.ask(ipc.pressAct(act, { down: from, taken }));
    }
  };
  const answer = (held: boolean, taken: number): void => {
    if (down === null) {
      return;
    }
    const [first, second] = main();
    const from = down;
    down = null;
    clearTimeout(timer);
    send((held ? (second ?? first) : first)?.act, from, taken);
  };
  const ondown = (event: KeyboardEvent): void => {
    if (event.repeat || (event.key !== ANSWER && event.key !== FLAG)) {
      return;
    }
    event.preventDefault();
    if (event.key === FLAG) {
      send("flag", event.timeStamp, event.timeStamp);
      return;
    }
    down = event.timeStamp;
    timer = setTimeout(() => {
      answer(true, event.timeStamp + HELD_MS);
    }, HELD_MS);
  };
  const onup = (event: KeyboardEvent): void => {
    if (event.key === ANSWER) {
      answer(false, event.timeStamp);
    }
  };
  window.addEventListener("keydown", ondown);
  window.addEventListener("keyup", onup);
  return () => {
    clearTimeout(timer);
    window.removeEventListener("keydown", ondown);
    window.removeEventListener("keyup", onup);
  };
}
