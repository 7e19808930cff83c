import { SvelteMap } from "svelte/reactivity";

/** What was typed into the care record, by record and row: for as long as the page stands. */
const all = new SvelteMap<string, SvelteMap<string, string>>();

/** The rows of a record that were typed, and what stood there then. */
export function typed(id: string): SvelteMap<string, string> {
  const known = all.get(id);
  if (known !== undefined) return known;
  const none = new SvelteMap<string, string>();
  all.set(id, none);
  return none;
}
