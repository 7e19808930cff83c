/** Which sound of the score is heard now: the light and the count follow it. */
import type { Pulse } from "./bindings/Pulse";

/** So long the light stands after a sound began. */
const LIT_MS = 160;
/**
 * So much earlier the page is changed than the sound is heard: it is drawn with the next frame, 0 to 17 ms later, and that
 * has to be composed. Measured in the desktop's window (`tests/it/light.rs`) the light came 1 to 25 ms after its sound without
 * it on a slow machine, and with 12 ms 20 to 0 ms before it on a quicker one: this lies between.
 */
const DRAWN_MS = 7;

class Sounding {
  /** The latest sound. */
  latest = $state.raw<Pulse | null>(null);
  /** It has only just begun. */
  isLit = $state(false);

  /**
   * Follows a list of sounds until the answer is called; `lead` is page time less run time. One timer
   * and no animation, which would be drawn sixty times a second.
   */
  follow(pulses: readonly Pulse[], lead: number): () => void {
    let timer: ReturnType<typeof setTimeout>;
    const step = (): void => {
      const now = performance.now() - lead + DRAWN_MS;
      const next = pulses.findIndex(({ at }) => at > now);
      // A list that begins later goes on from the sound before it, if that is of the same run.
      const before = this.latest !== null && this.latest.at <= now ? this.latest : undefined;
      const begun = next === 0 ? before : pulses.at(next === -1 ? -1 : next - 1);
      this.latest = begun ?? null;
      const dark = this.latest === null ? now : this.latest.at + LIT_MS;
      this.isLit = now < dark;
      const wake = this.isLit ? dark : pulses[next]?.at;
      if (wake !== undefined) {
        timer = setTimeout(step, Math.ceil(wake - now));
      }
    };
    step();
    return () => {
      clearTimeout(timer);
    };
  }
}

export const sounding = new Sounding();
