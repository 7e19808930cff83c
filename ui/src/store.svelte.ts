/** What the page knows: the last screen, the fixed words, and where the run clock stands. */
import type { Labels } from "./bindings/Labels";
import type { News } from "./bindings/News";
import type { Pulse } from "./bindings/Pulse";
import type { Screen } from "./bindings/Screen";
import type { SettingWord } from "./bindings/SettingWord";
import { heard, lead, NO_OFFSET, type Offset } from "./clock";
import * as ipc from "./ipc";

/** The page's clock is told this often, so that a touch can be dated. */
const CLOCK_EVERY_MS = 2_000;

class Store {
  screen = $state.raw<Screen | null>(null);
  /** The next sounds. */
  pulses = $state.raw<Pulse[]>([]);
  labels = $state.raw<Labels | null>(null);
  /** Why there is nothing to show. */
  fault = $state.raw<string | null>(null);
  /**
   * Why the last request did not get through, until one does or it is put away. Before and after a
   * run it is said in a line; in a run, where no line finds room, by the last press.
   */
  refused = $state.raw<string | null>(null);
  /** When a press was last taken, on the page's clock. */
  touched = $state(-Infinity);
  /** When a mark was last asked for, on the page's clock: a line of the record answers it. */
  marked = $state(-Infinity);
  /** When a press was last passed over, its key just become another or held too long, on the page's clock. */
  passed = $state(-Infinity);
  /** When the last screen came, on the page's clock. */
  arrived = $state(0);

  /** Page time less run time: changes where a message tells better. */
  lead = $state(0);
  #offset: Offset = NO_OFFSET;

  /** Joins the page to the app. */
  async connect(): Promise<void> {
    try {
      this.labels = await ipc.subscribe((news) => {
        this.#hear(news);
      });
      this.relabel(this.labels);
      this.#tell();
      setInterval(() => {
        this.#tell();
      }, CLOCK_EVERY_MS);
    } catch (error) {
      this.fault = ipc.words(error);
    }
  }

  #hear(news: News): void {
    if (news.kind === "refused") {
      this.refused = news.text;
      return;
    }
    const now = performance.now();
    // Before a run no clock runs: its messages all say 0, and the first of a run that begins within seconds would
    // pass for a slow one of theirs.
    const idle = news.kind === "screen" && news.face.card === "before";
    // Another record has a clock of its own, also where no start card lies between.
    if (news.kind === "screen" && news.record?.id !== this.screen?.record?.id) this.#offset = NO_OFFSET;
    this.#offset = idle ? NO_OFFSET : heard(this.#offset, news.now, now);
    this.lead = idle ? now - news.now : lead(this.#offset);
    this.pulses = news.pulses;
    if (news.kind === "screen") {
      this.arrived = now;
      this.screen = news;
      document.documentElement.dataset["theme"] = news.theme;
    }
  }

  /** Takes other fixed words: another class, protocol or language was chosen. */
  relabel(labels: Labels): void {
    this.labels = labels;
    document.documentElement.lang = labels.lang;
  }

  /** Sets something. */
  settle(setting: SettingWord, value: string): void {
    this.take(ipc.choose(setting, value));
  }

  /** Takes the words that a request answers with. */
  take(request: Promise<Labels>): void {
    this.ask(
      request.then((labels) => {
        this.relabel(labels);
      }),
    );
  }

  /** Lets a request go; says so if it did not get through. */
  ask(request: Promise<void>): void {
    request.then(
      () => {
        this.refused = null;
      },
      (error: unknown) => {
        this.refused = ipc.words(error);
      },
    );
  }

  /** Lets a mark go. */
  mark(request: Promise<void>): void {
    this.marked = performance.now();
    this.ask(request);
  }

  /** The page's clock goes by itself: that it got through takes nothing back. */
  #tell(): void {
    ipc.pageClock().catch((error: unknown) => {
      this.refused ??= ipc.words(error);
    });
  }

  /** Page time of a moment on the run clock. */
  onPage(run: number): number {
    return run + this.lead;
  }
}

export const store = new Store();
