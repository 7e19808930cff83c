/** The sets of colours in a circle, one step a touch. */
const ROUND = ["day", "glare", "night", "auto"] as const;

/**
 * What the next touch chooses, after what is chosen and what is shown: never what is shown already, or the touch
 * would be seen to do nothing. What the light asks for is known only once it is asked.
 */
export function nextColours(chosen: string, shown: string): string {
  const at = ROUND.findIndex((one) => one === chosen);
  const [next, after] = [1, 2].map((step) => ROUND[(at + step) % ROUND.length] ?? "auto");
  return (next === shown ? after : next) ?? "auto";
}
