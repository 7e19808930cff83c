/** Where the keyboard is: a key that goes from the screen takes it along, unless another is given it. */
import { tick } from "svelte";

/** What had it when the first of several sheets opened. */
let opener: HTMLElement | null = null;

export function isLost(): boolean {
  return document.activeElement === null || document.activeElement === document.body;
}

/** Whether a key of the card has it. */
export function isOnCard(): boolean {
  const on = document.activeElement;
  return on instanceof HTMLButtonElement && on.closest("main") !== null;
}

/** A sheet opens, maybe in place of another: the keys of that one are gone when both are put away. */
export function sheetOpens(): void {
  const at = document.activeElement;
  if (at instanceof HTMLElement && !isLost() && at.closest("[role=dialog]") === null) {
    opener ??= at;
  }
}

/** A sheet is put away: when none stands in its place, the keyboard is again where it was before the first. */
export function sheetCloses(): void {
  void tick().then(() => {
    if (document.querySelector("[role=dialog]") !== null) return;
    const back = opener;
    opener = null;
    if (back === null || !isLost()) return;
    if (back.isConnected) back.focus({ preventScroll: true });
    else toAnswer();
  });
}

/** Gives it to the card's answer. What is pressed there at once was meant for what stood there before: `touch.ts`. */
export function toAnswer(): void {
  const answer = document.querySelector<HTMLElement>("main button.main");
  if (answer === null) return;
  answer.dataset["handed"] = String(performance.now());
  answer.focus({ preventScroll: true });
}
