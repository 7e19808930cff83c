/**
 * How the screen lies in the window. In a run it stays as it was at the start, since a phone that
 * lies flat has no up; a key turns it by a quarter.
 */
import { isSplit, isWide } from "./grid";
import { store } from "./store.svelte";

type Quarter = 0 | 90 | 180 | 270;

function quarter(angle: number): Quarter {
  return ((((Math.round(angle / 90) * 90) % 360) + 360) % 360) as Quarter;
}

class Frame {
  /** By the crew's key. */
  #turned = $state(0);
  /** By the system, of the document against the glass. */
  #angle = $state(0);
  #frozen = $state<number | null>(null);
  width = $state(window.innerWidth);
  height = $state(window.innerHeight);
  /** The letters are there: what was measured before was measured in others. */
  lettered = $state(false);

  constructor() {
    this.#look();
    window.addEventListener("resize", () => {
      this.#look();
    });
    // Asked for by name: before anything is drawn in them the document's fonts are all ready.
    const { fontFamily } = getComputedStyle(document.body);
    void document.fonts.load(["600", "1em", fontFamily].join(" ")).finally(() => {
      this.lettered = true;
    });
  }

  #look(): void {
    this.width = window.innerWidth;
    this.height = window.innerHeight;
    this.#angle = (screen as { orientation?: { angle: number } }).orientation?.angle ?? 0;
  }

  /** Holds the screen where it is while a run is live. */
  hold(live: boolean): void {
    if (live) {
      this.#frozen ??= this.#angle;
    } else {
      this.#frozen = null;
    }
  }

  turn(): void {
    this.#turned += 90;
    store.touched = performance.now();
  }

  /** Clockwise, degrees. */
  get rotation(): Quarter {
    const kept = this.#frozen === null ? 0 : this.#frozen - this.#angle;
    return quarter(this.#turned + kept);
  }

  get isSide(): boolean {
    return this.rotation % 180 !== 0;
  }

  /** The keys stand beside the figure. */
  get isWide(): boolean {
    return isWide(this.size.width, this.size.height);
  }

  /** The app has but a part of the glass: figure and answer stay, the rest as far as it finds room. */
  get isSplit(): boolean {
    return isSplit(this.size.width, this.size.height);
  }

  /** The screen's own width and height. */
  get size(): { width: number; height: number } {
    return this.isSide
      ? { width: this.height, height: this.width }
      : { width: this.width, height: this.height };
  }
}

export const frame = new Frame();
