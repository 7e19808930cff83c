import { SvelteMap, SvelteSet } from "svelte/reactivity";

/** Which rows were typed into the care record, by record: for as long as the page stands. */
const all = new SvelteMap<string, SvelteSet<string>>();

/** The rows of a record that were typed. */
export function typed(id: string): SvelteSet<string> {
  const known = all.get(id);
  if (known !== undefined) return known;
  const none = new SvelteSet<string>();
  all.set(id, none);
  return none;
}
