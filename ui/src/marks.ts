/** The keys of marks on a sheet: labels come with the face. */
import type { Act } from "./bindings/Act";
import type { Face } from "./bindings/Face";
import { isEntry } from "./entry";
import type { Touch } from "./ipc";
import type { Item } from "./parts/Sheet.svelte";

export function markKeys(
  acts: readonly Act[],
  face: Face,
  onpress: (act: Act, touch: Touch) => void,
): Item[] {
  return acts.map((act) => ({
    id: act,
    label: face.sheet.find((key) => key.act === act)?.label ?? "",
    leads: isEntry(act),
    press: (touch: Touch) => { onpress(act, touch); },
  }));
}
