/** The keys that say how the screen looks: its colours, how it lies, and, in a run, that it is covered. */
import type { Labels } from "./bindings/Labels";
import { frame } from "./frame.svelte";
import * as ipc from "./ipc";
import type { Item } from "./parts/Sheet.svelte";
import { store } from "./store.svelte";

/** Always in the same order; `done` puts the sheet away. */
export function lookKeys(labels: Labels, isRun: boolean, done: () => void): Item[] {
  const colours = labels.themes.map(({ theme, label }) => ({
    id: theme,
    label,
    on: theme === labels.theme,
    press: () => {
      store.settle("theme", theme);
      done();
    },
  }));
  const turn = { id: "turn", label: labels.turn, press: () => { frame.turn(); done(); } };
  const cover = { id: "cover", label: labels.cover, press: () => { store.ask(ipc.cover(true)); done(); } };
  return isRun ? [...colours, turn, cover] : [...colours, turn];
}
