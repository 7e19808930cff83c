/**
 * A page that stands still while something is held: what it was counts by its own time, whichever of the two that
 * waited the page hears of first, the timer that ran out or the lift. Chromium tells the lift first; no standard says
 * so, and a lift may also be on its way from another process. Here the timers come first.
 */
import { type CDPSession, expect, type Page, test } from "@playwright/test";

import { open, seen, sent } from "./page.ts";

/** Longer than whatever is held. */
const STALL_MS = 1_900;

test.use({ viewport: { width: 390, height: 844 }, hasTouch: true });

interface Stalling {
  stall: (ms: number) => void;
}

test.beforeEach(async ({ page }) => {
  await page.addInitScript(() => {
    const { setTimeout: start, clearTimeout: stop } = window;
    const waiting = new Map<number, { due: number; call: () => void }>();
    const later = (call: () => void, ms = 0): number => {
      const id = start(() => {
        waiting.delete(id);
        call();
      }, ms);
      waiting.set(id, { due: performance.now() + ms, call });
      return id;
    };
    const never = (id?: number): void => {
      if (id !== undefined) waiting.delete(id);
      stop(id);
    };
    const stall = (ms: number): void => {
      start(() => {
        const until = performance.now() + ms;
        while (performance.now() < until);
        const due = [...waiting].filter(([, timer]) => timer.due <= until);
        for (const [id, { call }] of due.sort(([, a], [, b]) => a.due - b.due)) {
          if (!waiting.has(id)) continue;
          never(id);
          call();
        }
      }, 0);
    };
    Object.assign(window, { setTimeout: later, clearTimeout: never, stall });
  });
});

/** The page stands still from now on, and `meanwhile` happens `ms` later; gives when all has been told. */
async function stalled(page: Page, ms: number, meanwhile: () => Promise<unknown>): Promise<void> {
  await page.evaluate((long) => { (window as unknown as Stalling).stall(long); }, STALL_MS);
  await new Promise((over) => { setTimeout(over, ms); });
  await meanwhile();
  await page.evaluate(() => new Promise((told) => { setTimeout(told, 300); }));
}

/** A finger on a key, down or up so long after now by its own time. */
async function finger(page: Page, name: string): Promise<(isDown: boolean, at: number) => Promise<unknown>> {
  const browser: CDPSession = await page.context().newCDPSession(page);
  const box = await seen(page, name).boundingBox();
  const point = { x: (box?.x ?? 0) + (box?.width ?? 0) / 2, y: (box?.y ?? 0) + (box?.height ?? 0) / 2, id: 1 };
  const from = Date.now();
  return (isDown, at) =>
    browser.send("Input.dispatchTouchEvent", {
      type: isDown ? "touchStart" : "touchEnd",
      touchPoints: isDown ? [point] : [],
      timestamp: (from + at) / 1_000,
    });
}

/** A touch that lasts so long by its own time; the page stands still from just after its beginning. */
async function touched(page: Page, name: string, ms: number): Promise<void> {
  const touch = await finger(page, name);
  await touch(true, 0);
  // It is told of no sooner than the page stands still.
  await stalled(page, Math.max(ms, 150), () => touch(false, ms));
}

const commands = async (page: Page): Promise<string[]> => (await sent(page)).map(({ command }) => command);
const presses = async (page: Page): Promise<unknown[]> =>
  (await sent(page)).filter(({ command }) => command === "press").map(({ args }) => args["act"]);

test("a brush of 30 ms marks nothing", async ({ page }) => {
  await open(page, "hand_ratio");
  await touched(page, "Hands Off", 30);
  expect(await presses(page)).toEqual([]);
});

test("a press of 300 ms is dated as one", async ({ page }) => {
  await open(page, "hand_ratio");
  await touched(page, "Hands Off", 300);
  const { down, taken } = (await sent(page))[0]?.args as { down: number; taken: number };
  // Each of the two is sent in whole milliseconds.
  expect(Math.abs(taken - down - 300)).toBeLessThanOrEqual(1);
});

for (const [ms, ends] of [[300, false], [1_700, true]] as const) {
  test(`a touch of ${ms} ms ${ends ? "ends" : "does not end"} the run`, async ({ page }) => {
    await open(page, "hand_ratio");
    await seen(page, "Mark").press("Enter");
    await touched(page, "Hold to End", ms);
    await expect(seen(page, "No Arrest")).toHaveCount(ends ? 1 : 0);
    if (!ends) expect(await commands(page)).toEqual([]);
  });

  test(`a touch of ${ms} ms ${ends ? "wakes" : "does not wake"} a covered screen`, async ({ page }) => {
    await open(page, "hand_ratio", { covered: true });
    await touched(page, (await page.getByRole("button").textContent()) ?? "", ms);
    expect((await commands(page)).filter((one) => one === "cover")).toEqual(ends ? ["cover"] : []);
  });

  test(`a keyboard's key held for ${ms} ms ${ends ? "wakes" : "does not wake"} a covered screen`, async ({ page }) => {
    await open(page, "hand_ratio", { covered: true });
    await page.keyboard.down("Enter");
    await stalled(page, ms, () => page.keyboard.up("Enter"));
    expect((await commands(page)).filter((one) => one === "cover")).toEqual(ends ? ["cover"] : []);
  });
}

for (const [ms, act] of [[300, []], [1_000, ["shocked_hand"]]] as const) {
  test(`a press of ${ms} ms of the hardware key ${ms < 800 ? "frames" : "marks"} one of two answers`, async ({ page }) => {
    await open(page, "check");
    await page.keyboard.press("PageDown");
    await page.keyboard.down("PageDown");
    await stalled(page, ms, () => page.keyboard.up("PageDown"));
    expect(await presses(page)).toEqual(act);
    await expect(page.locator(".framed")).toHaveCount(ms < 800 ? 1 : 0);
  });
}
