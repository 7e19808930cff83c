/**
 * The touch filter against a second description of the same rules, over random touches; and through
 * Chromium's own touch input. The second description looks at a whole row of touches from outside, the
 * filter at one event after the other: they share no code and no constant.
 */
import { expect, type Page, test } from "@playwright/test";

import { ASLEEP, stir, type Stir } from "../../ui/src/cover.ts";
import { type Finger, NO_HAND, press } from "../../ui/src/press.ts";
import { open, seen, sent } from "./page.ts";
import { random } from "./random.ts";

const SEQUENCES = 10_000;
const SEED = 20_261_129;
const [WIDTH, HEIGHT] = [360, 640];

/** A touch as it happened: where its events stand in the row of all events. */
interface Told {
  id: number;
  at: number;
  x: number;
  y: number;
  elsewhere: boolean;
  changed: number | undefined;
  /** Its key counts at the lift. */
  atLift: boolean;
  /** Its place in the row, and the places and moments of what followed. */
  row: number;
  held?: { row: number; at: number };
  end?: { row: number; at: number; kind: "up" | "cancel" };
}

/** A row of touches: calm, quick, wet, or a hand, as they come. */
function sequence(next: () => number): { fingers: Finger[]; touches: Told[] } {
  const pick = <T>(...items: T[]): T => items[Math.floor(next() * items.length)] as T;
  const between = (low: number, high: number): number => Math.round(low + next() * (high - low));
  const events: { at: number; order: number; finger: Finger; touch: number; what: "down" | "held" | "up" | "cancel" }[] = [];
  const count = between(1, 12);
  const pace = pick(40, 200, 600, 1_500);
  let at = 0;
  const touches: Told[] = [];
  // The thumb comes back to a few places; drops fall anywhere, some on the edge.
  const places = [0, 1, 2].map(() => [between(10, 350), between(10, 630)] as const);
  for (let n = 0; n < count; n += 1) {
    at += between(0, pace);
    const [x, y] = next() < 0.6 ? pick(...places) : [between(0, WIDTH), between(0, HEIGHT)];
    const dx = next() < 0.3 ? between(-60, 60) : 0;
    const lasts = pick(between(1, 69), between(70, 400), between(401, 799), between(800, 2_000), 69, 70, 799, 800, 1_499, 1_500);
    const elsewhere = next() < 0.15;
    const changed = next() < 0.15 ? at - between(0, 800) : undefined;
    const atLift = next() < 0.3;
    const touch: Told = { id: n, at, x: x + dx, y, elsewhere, changed, atLift, row: -1 };
    const known = { kind: "down", id: n, at, x: x + dx, y, width: WIDTH, height: HEIGHT } as const;
    events.push({
      at,
      order: 0,
      touch: n,
      what: "down",
      finger: { ...known, ...(elsewhere ? { elsewhere } : {}), ...(changed === undefined ? {} : { changed }), ...(atLift ? { atLift } : {}) },
    });
    // The page's own timer; on a busy phone it comes late, and also for a finger that is gone.
    const late = next() < 0.2 ? between(0, 300) : 0;
    events.push({ at: at + 800 + late, order: 1, touch: n, what: "held", finger: { kind: "held", id: n, at: at + 800 } });
    const kind = next() < 0.08 ? "cancel" : "up";
    events.push({ at: at + lasts, order: 2, touch: n, what: kind, finger: { kind, id: n, at: at + lasts } });
    touches.push(touch);
  }
  events.sort((a, b) => a.at - b.at || a.order - b.order || a.touch - b.touch);
  events.forEach(({ touch, what, finger }, row) => {
    const told = touches[touch] as Told;
    if (what === "down") told.row = row;
    else if (what === "held") told.held = { row, at: finger.at };
    else told.end = { row, at: finger.at, kind: what };
  });
  return { fingers: events.map(({ finger }) => finger), touches };
}

/** What becomes of each touch, from the rules at the head of `press.spec.ts`. */
function expected(touches: readonly Told[]): string[] {
  const byDown = [...touches].sort((a, b) => a.row - b.row);
  const isOnGlass = (t: Told, row: number): boolean => t.row <= row && (t.end?.row ?? Infinity) > row;
  // Water and hands are seen from the touches' beginnings alone.
  const noise: ("wet" | "burst" | null)[] = [];
  byDown.forEach((t, n) => {
    const within = byDown.slice(0, n + 1).filter((o) => t.at - o.at < 1_000).length;
    const before = byDown[n - 1];
    const stillWet = noise[n - 1] === "wet" && before !== undefined && t.at - before.at < 600;
    const fingers = byDown.filter((o) => isOnGlass(o, t.row)).length;
    noise.push(within >= 6 || stillWet ? "wet" : fingers >= 3 ? "burst" : null);
  });
  const decided: { touch: Told; row: number; takenAt: number }[] = [];
  return byDown
    .map((t, n): string => {
      if (noise[n] !== null) return `${t.id} ${noise[n] as string}`;
      if (t.elsewhere) return `${t.id} nothing`;
      if (t.x < 7 || t.y < 7 || t.x > WIDTH - 7 || t.y > HEIGHT - 7) return `${t.id} edge`;
      const last = decided.filter(({ row }) => row < t.row).sort((a, b) => b.row - a.row)[0];
      // The thumb left the place when it lifted, whenever its press had counted.
      const left = last?.touch.end !== undefined && last.touch.end.row < t.row ? last.touch.end.at : last?.takenAt;
      if (last !== undefined && left !== undefined && t.at - left < 600) {
        const [dx, dy] = [t.x - last.touch.x, t.y - last.touch.y];
        if (dx * dx + dy * dy < 56 * 56) return `${t.id} repeat`;
      }
      if (t.changed !== undefined && t.at - t.changed < 400) return `${t.id} changed`;
      // The first thing that decides it: noise that began later, 800 ms on the glass, the lift.
      const ends: { row: number; so: () => string }[] = byDown.flatMap((o, m) =>
        m > n && noise[m] !== null ? [{ row: o.row, so: () => `${t.id} ${noise[m] as string}` }] : [],
      );
      const take = (row: number, at: number): string => {
        const takenAt = t.atLift ? at : Math.min(at, t.at + 800);
        decided.push({ touch: t, row, takenAt });
        return t.atLift && at - t.at >= 1_500 ? `${t.id} held` : `${t.id} taken ${takenAt}`;
      };
      const { held, end } = t;
      if (held !== undefined && held.at - t.at >= 800 && !t.atLift) {
        ends.push({ row: held.row, so: () => take(held.row, held.at) });
      }
      if (end?.kind === "cancel") ends.push({ row: end.row, so: () => `${t.id} burst` });
      if (end?.kind === "up") {
        ends.push({ row: end.row, so: () => (end.at - t.at < 70 ? `${t.id} short` : take(end.row, end.at)) });
      }
      ends.sort((a, b) => a.row - b.row);
      return ends[0]?.so() ?? `${t.id} nothing`;
    })
    .sort();
}

function found(fingers: readonly Finger[], touches: readonly Told[]): string[] {
  const said = new Map<number, string[]>(touches.map(({ id }) => [id, []]));
  let hand = NO_HAND;
  for (const finger of fingers) {
    const [next, verdict] = press(hand, finger);
    hand = next;
    if (verdict.kind === "taken") said.get(verdict.id)?.push(`taken ${verdict.taken}`);
    if (verdict.kind === "ignored") for (const id of verdict.ids) said.get(id)?.push(verdict.why);
  }
  return [...said].map(([id, all]) => `${id} ${all.join(" and ") || "nothing"}`).sort();
}

test(`${SEQUENCES} random rows of touches: the filter and the rules say the same`, () => {
  const next = random(SEED);
  const seen = new Map<string, number>();
  for (let n = 0; n < SEQUENCES; n += 1) {
    const { fingers, touches } = sequence(next);
    const wanted = expected(touches);
    const is = found(fingers, touches);
    // Asked only of what differs: ten thousand questions take longer than ten thousand answers.
    if (is.join() !== wanted.join()) {
      expect(is, `row ${n} of seed ${SEED}: ${JSON.stringify(fingers)}`).toEqual(wanted);
    }
    for (const line of wanted) {
      const word = line.split(" ")[1] ?? "";
      seen.set(word, (seen.get(word) ?? 0) + 1);
    }
  }
  const told = [...seen].map(([word, n]) => `${word} ${n}`).sort();
  console.log(`seed ${SEED}: ${told.join(", ")}`);
  for (const word of ["taken", "short", "repeat", "edge", "burst", "changed", "wet", "held", "nothing"]) {
    expect(seen.get(word) ?? 0, word).toBeGreaterThan(100);
  }
});

/** What wakes a covered screen, looked at from outside: one finger, alone and still for 1.5 s, not at the edge. */
test(`${SEQUENCES} random rows of touches on a covered screen: only a rest of 1.5 s wakes it`, () => {
  const next = random(SEED + 1);
  let woken = 0;
  let afterLost = 0;
  for (let n = 0; n < SEQUENCES; n += 1) {
    const between = (low: number, high: number): number => Math.round(low + next() * (high - low));
    const rows: { at: number; one: Stir; touch: number }[] = [];
    const touches = Array.from({ length: between(1, 4) }, (_, id) => {
      const at = between(0, 3_000);
      const lasts = next() < 0.5 ? between(1_400, 2_500) : between(10, 1_600);
      const [x, y] = next() < 0.85 ? [between(7, 353), between(7, 633)] : [between(0, 6), between(0, HEIGHT)];
      const moved = next() < 0.25 ? { at: at + between(1, lasts), by: between(0, 60) } : null;
      // The glass felt it go, the page was never told.
      const isLost = next() < 0.2;
      if (moved !== null) rows.push({ at: moved.at, touch: id, one: { kind: "move", id, x: x + moved.by, y } });
      rows.push({ at: at + 1_500, touch: id, one: { kind: "held", id, at: at + 1_500 } });
      if (!isLost) rows.push({ at: at + lasts, touch: id, one: next() < 0.1 ? { kind: "cancel", id } : { kind: "up", id, at: at + lasts } });
      return { id, at, end: at + lasts, isLost, x, y, moved };
    });
    for (const { id, at, x, y } of touches) {
      const first = touches.every((o) => o.id === id || o.at > at || o.end <= at);
      rows.push({ at, touch: id, one: { kind: "down", id, at, x, y, width: WIDTH, height: HEIGHT, first } });
    }
    rows.sort((a, b) => a.at - b.at || (a.one.kind === "held" ? 1 : 0) - (b.one.kind === "held" ? 1 : 0));
    let sleep = ASLEEP;
    const wakers: number[] = [];
    for (const { one } of rows) {
      const [after, stirred] = stir(sleep, one);
      sleep = after;
      if (stirred === "woken") wakers.push(one.id);
    }
    const wanted = touches.filter((t) => {
      const alone = touches.every((o) => o === t || o.end <= t.at || o.at > t.at + 1_500);
      const still = t.moved === null || t.moved.at > t.at + 1_500 || t.moved.by <= 24;
      // The system tells a lift and the timer's moment in one millisecond in either order: left out.
      const stays = t.isLost || t.end > t.at + 1_500;
      return alone && still && stays && t.x >= 7 && t.y >= 7 && t.x <= 353 && t.y <= 633;
    });
    const isTie = touches.some((t) =>
      touches.some((o) => o !== t && (o.at === t.at || o.at === t.end || o.at === t.at + 1_500)) ||
      t.end === t.at + 1_500 || (t.moved?.at ?? -1) === t.at + 1_500 || (t.moved?.at ?? -1) === t.end,
    );
    if (isTie) continue;
    const asked = wanted.map(({ id }) => id).sort();
    if (wakers.sort().join() !== asked.join()) {
      expect(wakers, `row ${n}: ${JSON.stringify(rows.map(({ one }) => one))}`).toEqual(asked);
    }
    woken += wakers.length;
    afterLost += touches.filter((t) => wakers.includes(t.id) && touches.some((o) => o.isLost && o.end <= t.at)).length;
  }
  expect(woken).toBeGreaterThan(500);
  expect(afterLost).toBeGreaterThan(100);
});

test.describe("through the browser's own touches", () => {
  test.use({ viewport: { width: 390, height: 844 }, hasTouch: true });

  interface Point {
    x: number;
    y: number;
    id: number;
  }
  type Touch = (type: "touchStart" | "touchMove" | "touchEnd", points: Point[]) => Promise<unknown>;

  async function fingers(page: Page): Promise<Touch> {
    const browser = await page.context().newCDPSession(page);
    return (type, touchPoints) => browser.send("Input.dispatchTouchEvent", { type, touchPoints } as never);
  }
  async function centre(page: Page, name: string, id: number): Promise<Point> {
    const box = await seen(page, name).boundingBox();
    return { x: (box?.x ?? 0) + (box?.width ?? 0) / 2, y: (box?.y ?? 0) + (box?.height ?? 0) / 2, id };
  }
  const ignored = async (page: Page): Promise<unknown[]> =>
    (await sent(page)).filter(({ command }) => command === "touches_ignored").map(({ args }) => [args["why"], args["n"]]);
  const marks = async (page: Page): Promise<unknown[]> =>
    (await sent(page)).filter(({ command }) => command === "press").map(({ args }) => args["act"]);

  test("a palm of three fingers marks nothing, one of them beside the keys, and is counted", async ({ page }) => {
    await open(page, "hand_ratio");
    const touch = await fingers(page);
    const [one, two] = [await centre(page, "Hands Off", 1), await centre(page, "Mark", 2)];
    const beside = { x: 387, y: 3, id: 3 };
    await touch("touchStart", [one]);
    await touch("touchStart", [one, two]);
    await touch("touchStart", [one, two, beside]);
    await page.waitForTimeout(120);
    await touch("touchEnd", []);
    await expect.poll(() => ignored(page)).toEqual([["burst", 3]]);
    expect(await marks(page)).toEqual([]);
    await expect(page.getByRole("dialog")).toHaveCount(0);
    // The next finger is a press again.
    await touch("touchStart", [one]);
    await page.waitForTimeout(100);
    await touch("touchEnd", []);
    await expect.poll(() => marks(page)).toEqual(["hands_off"]);
  });

  test("drops on a wet screen mark nothing more, are counted, and a dry one is believed", async ({ page }) => {
    await open(page, "device_ratio");
    const touch = await fingers(page);
    const keys = await Promise.all(["Mark", "Undo", "Paused", "Moving"].map((name, n) => centre(page, name, n)));
    // Where the words stand, beside every key.
    const drops = [{ x: 300, y: 330, id: 8 }, { x: 40, y: 340, id: 9 }, { x: 340, y: 325, id: 10 }, { x: 200, y: 335, id: 11 }, { x: 120, y: 328, id: 12 }];
    for (const drop of drops) {
      await touch("touchStart", [drop]);
      await touch("touchEnd", []);
    }
    for (const drop of keys) {
      await touch("touchStart", [drop]);
      await page.waitForTimeout(75);
      await touch("touchEnd", []);
    }
    await expect.poll(async () => (await ignored(page)).map((line) => (line as unknown[])[0])).toContain("wet");
    expect(await marks(page)).toEqual([]);
    await expect(page.getByRole("dialog")).toHaveCount(0);
    await page.waitForTimeout(650);
    const paused = await centre(page, "Paused", 1);
    await touch("touchStart", [paused]);
    await page.waitForTimeout(100);
    await touch("touchEnd", []);
    await expect.poll(() => marks(page)).toEqual(["paused"]);
  });

  test("Undo that is held as the key that ends a run is takes nothing back and says so; a long press counts", async ({ page }) => {
    await open(page, "hand_ratio");
    const touch = await fingers(page);
    const undo = await centre(page, "Undo", 1);
    const undone = async (): Promise<number> => (await sent(page)).filter(({ command }) => command === "undo").length;
    await touch("touchStart", [undo]);
    await page.waitForTimeout(2_000);
    await touch("touchEnd", []);
    await expect(page.locator(".receipt")).toHaveAttribute("data-step", "refused");
    await expect.poll(() => ignored(page)).toEqual([["held", 1]]);
    expect(await undone()).toBe(0);
    await page.waitForTimeout(700);
    await touch("touchStart", [undo]);
    await page.waitForTimeout(1_100);
    expect(await undone()).toBe(0);
    await touch("touchEnd", []);
    await expect.poll(undone).toBe(1);
  });

  test("the hold that ends a run is let go when a hand comes down beside it", async ({ page }) => {
    await open(page, "hand_ratio");
    await seen(page, "Mark").press("Enter");
    const touch = await fingers(page);
    const end = await centre(page, "Hold to End", 1);
    await touch("touchStart", [end]);
    await page.waitForTimeout(300);
    await touch("touchStart", [end, { x: 200, y: 100, id: 2 }]);
    await touch("touchStart", [end, { x: 200, y: 100, id: 2 }, { x: 100, y: 200, id: 3 }]);
    await page.waitForTimeout(1_500);
    await expect(seen(page, "No Arrest")).toHaveCount(0);
    await touch("touchEnd", []);
  });

  test("the hold that ends a run does not begin by the finger that shows a hand, or water", async ({ page }) => {
    await open(page, "hand_ratio");
    await seen(page, "Mark").press("Enter");
    const touch = await fingers(page);
    const end = await centre(page, "Hold to End", 3);
    const hand = [{ x: 200, y: 100, id: 1 }, { x: 100, y: 200, id: 2 }];
    const holding = page.locator(".holding");
    await touch("touchStart", [hand[0] as Point]);
    await touch("touchStart", hand);
    await touch("touchStart", [...hand, end]);
    await expect.poll(() => ignored(page)).toEqual([["burst", 3]]);
    await expect(holding).toHaveCount(0);
    await page.waitForTimeout(1_700);
    await expect(seen(page, "No Arrest")).toHaveCount(0);
    await touch("touchEnd", []);
    // Five drops, the sixth on the key.
    for (let n = 0; n < 5; n += 1) {
      await touch("touchStart", [{ x: 60 + 60 * n, y: 30, id: 10 + n }]);
      await touch("touchEnd", []);
    }
    await touch("touchStart", [{ ...end, id: 20 }]);
    await expect(holding).toHaveCount(0);
    await page.waitForTimeout(1_700);
    await expect(seen(page, "No Arrest")).toHaveCount(0);
    await touch("touchEnd", []);
    await expect.poll(() => ignored(page)).toContainEqual(["wet", 1]);
    // One finger alone holds.
    await touch("touchStart", [{ ...end, id: 30 }]);
    await expect(holding).toHaveCount(1);
    await expect(seen(page, "No Arrest")).toBeVisible();
    await touch("touchEnd", []);
  });

  /** Two fingers come down on what `selector` names, and the page is never told of their lifts. */
  const lose = (page: Page, selector: string): Promise<void> =>
    page.evaluate((on) => {
      // The browser has no such fingers: it would refuse to have them captured.
      const capture = Element.prototype.setPointerCapture;
      Element.prototype.setPointerCapture = () => undefined;
      for (const pointerId of [901, 902]) {
        const how = { pointerId, pointerType: "touch", isPrimary: false, button: 0, clientX: 200, clientY: 300, bubbles: true };
        document.querySelector(on)?.dispatchEvent(new PointerEvent("pointerdown", how));
      }
      Element.prototype.setPointerCapture = capture;
    }, selector);

  test("after two lifts that the page was never told a finger still wakes a covered screen", async ({ page }) => {
    await open(page, "hand_ratio", { covered: true });
    await lose(page, "button");
    await expect.poll(() => ignored(page)).toEqual([["covered", 1]]);
    const touch = await fingers(page);
    await touch("touchStart", [{ id: 1, x: 195, y: 600 }]);
    await page.waitForTimeout(1_700);
    await touch("touchEnd", []);
    expect((await sent(page)).filter(({ command }) => command === "cover").map(({ args }) => args["on"])).toEqual([false]);
  });

  test("after two lifts that the page was never told a finger still presses", async ({ page }) => {
    await open(page, "hand_ratio");
    await lose(page, "body");
    const touch = await fingers(page);
    await touch("touchStart", [await centre(page, "Hands Off", 1)]);
    await page.waitForTimeout(120);
    await touch("touchEnd", []);
    await expect.poll(() => marks(page)).toEqual(["hands_off"]);
  });

  test("a covered screen takes no touch but a long one, alone and still, and says how", async ({ page }) => {
    await open(page, "hand_ratio", { covered: true });
    const words = "Beat and prompts go on: to wake the screen, hold one finger still on it for two seconds.";
    await expect(page.getByRole("button")).toHaveText(words);
    const touch = await fingers(page);
    const at = (id: number, x = 195, y = 600): Point => ({ id, x, y });
    // Where Hands Off lies under it: as long as any press.
    await touch("touchStart", [at(1)]);
    await page.waitForTimeout(900);
    await touch("touchEnd", []);
    // Two at once, however long; one that drags; one on the edge.
    await touch("touchStart", [at(2)]);
    await touch("touchStart", [at(2), at(3, 100, 200)]);
    await page.waitForTimeout(1_700);
    await touch("touchEnd", []);
    await touch("touchStart", [at(4)]);
    await touch("touchMove", [at(4, 260, 600)]);
    await page.waitForTimeout(1_700);
    await touch("touchEnd", []);
    await touch("touchStart", [at(5, 3, 400)]);
    await page.waitForTimeout(1_700);
    await touch("touchEnd", []);
    expect(await marks(page)).toEqual([]);
    expect((await sent(page)).filter(({ command }) => command === "cover")).toEqual([]);
    await expect
      .poll(async () => (await ignored(page)).reduce<number>((n, line) => n + Number((line as unknown[])[1]), 0))
      .toBeGreaterThanOrEqual(4);
    expect(new Set((await ignored(page)).map((line) => (line as unknown[])[0]))).toEqual(new Set(["covered"]));
    await touch("touchStart", [at(6)]);
    await page.waitForTimeout(1_700);
    await touch("touchEnd", []);
    await expect
      .poll(async () => (await sent(page)).filter(({ command }) => command === "cover").map(({ args }) => args["on"]))
      .toEqual([false]);
  });
});
