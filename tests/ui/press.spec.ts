/** The touch filter in virtual time: fingers in, verdicts out. No browser takes part. */
import { expect, test } from "@playwright/test";

import { type Clock, due } from "../../ui/src/due.ts";
import { type Finger, NO_HAND, NO_ROW, press, rowAfter, type Verdict } from "../../ui/src/press.ts";

const SCREEN = { width: 360, height: 640 };

function down(id: number, at: number, x = 180, y = 400): Finger {
  return { kind: "down", id, at, x, y, ...SCREEN };
}

function lift(kind: "up" | "held" | "cancel", id: number, at: number): Finger {
  return { kind, id, at };
}

/** What a row of events brought, without those that decided nothing. */
function play(...fingers: Finger[]): Verdict[] {
  let hand = NO_HAND;
  const verdicts: Verdict[] = [];
  for (const finger of fingers) {
    const [next, verdict] = press(hand, finger);
    hand = next;
    if (verdict.kind !== "none") {
      verdicts.push(verdict);
    }
  }
  return verdicts;
}

const taken = (id: number, from: number, at: number): Verdict => ({
  kind: "taken",
  id,
  down: from,
  taken: at,
});
const ignored = (
  why: "short" | "repeat" | "edge" | "burst" | "changed" | "wet" | "held",
  ...ids: number[]
): Verdict => ({
  kind: "ignored",
  ids,
  why,
});

// The rules: a touch counts from 70 ms on; one held for 800 ms counts then, dated to its beginning; one of the same
// place within 600 ms of the lift of the last press is none; nothing counts within 1 mm (7 px) of the edge. The 70 ms are
// from data on intended touches; 600 and 800 ms are decisions, no source.

test("a touch counts from 70 ms on, at the lift, dated to its beginning", () => {
  expect(play(down(1, 1000), lift("up", 1, 1070))).toEqual([taken(1, 1000, 1070)]);
  expect(play(down(1, 1000), lift("up", 1, 1069))).toEqual([ignored("short", 1)]);
});

test("a long touch counts at 800 ms, while it is held, and once", () => {
  expect(play(down(1, 1000), lift("held", 1, 1800), lift("up", 1, 5000))).toEqual([
    taken(1, 1000, 1800),
  ]);
});

test("the moment at 800 ms decides nothing about a touch that was lifted", () => {
  expect(play(down(1, 1000), lift("up", 1, 1100), lift("held", 1, 1800))).toEqual([
    taken(1, 1000, 1100),
  ]);
});

test("a long touch whose moment came late is not dated later than 800 ms", () => {
  expect(play(down(1, 1000), lift("up", 1, 2500))).toEqual([taken(1, 1000, 1800)]);
});

// Undo takes the place at which the key that ends a run stands behind Mark, and that one is held for 1.5 s: a decision,
// no source.
test("a key that counts at the lift takes a long press, and none of 1.5 s", () => {
  const atLift = (at: number): Finger => ({ ...down(1, at), atLift: true }) as Finger;
  const held = (lasts: number): Verdict[] => {
    const long = lasts > 800 ? [lift("held", 1, 1800)] : [];
    return play(atLift(1000), ...long, lift("up", 1, 1000 + lasts));
  };
  expect(held(70)).toEqual([taken(1, 1000, 1070)]);
  expect(held(900)).toEqual([taken(1, 1000, 1900)]);
  expect(held(1_499)).toEqual([taken(1, 1000, 2499)]);
  expect(held(1_500)).toEqual([ignored("held", 1)]);
  expect(held(2_000)).toEqual([ignored("held", 1)]);
  expect(play(atLift(1000), lift("up", 1, 1069))).toEqual([ignored("short", 1)]);
  // While it is held nothing has been decided.
  expect(play(atLift(1000), lift("held", 1, 1800))).toEqual([]);
  // The thumb that bounces as it lifts takes back nothing either.
  const bounce = [down(2, 3060), lift("up", 2, 3160)];
  expect(play(atLift(1000), lift("up", 1, 3000), ...bounce)).toEqual([ignored("held", 1), ignored("repeat", 2)]);
});

/**
 * A page in virtual time that stands still once: what should be told or called meanwhile waits until it is over, and
 * then timers come before fingers, which is the worst order. Each finger has its moment at 800 ms, as in the page.
 */
function standing(still: { from: number; to: number }, ...fingers: Finger[]): Verdict[] {
  let now = 0;
  let timers: { at: number; call: () => void }[] = [];
  const clock: Clock = {
    now: () => now,
    after: (ms, call) => {
      const timer = { at: now + ms, call };
      timers.push(timer);
      return () => { timers = timers.filter((one) => one !== timer); };
    },
  };
  const told = (at: number): number => (at >= still.from && at < still.to ? still.to : at);
  let hand = NO_HAND;
  const verdicts: Verdict[] = [];
  const follow = (finger: Finger): void => {
    const [next, verdict] = press(hand, finger);
    hand = next;
    if (verdict.kind !== "none") verdicts.push(verdict);
    if (finger.kind === "down") {
      const at = finger.at + 800;
      due(at, () => { follow({ kind: "held", id: finger.id, at }); }, clock);
    }
  };
  const waiting = [...fingers];
  for (;;) {
    const [timer] = timers.sort((a, b) => a.at - b.at);
    const [finger] = waiting;
    if (timer !== undefined && (finger === undefined || told(timer.at) <= told(finger.at))) {
      now = Math.max(now, told(timer.at));
      timers = timers.filter((one) => one !== timer);
      timer.call();
    } else if (finger !== undefined) {
      now = Math.max(now, told(finger.at));
      waiting.shift();
      follow(finger);
    } else {
      return verdicts;
    }
  }
}

test("a moment at 800 ms that comes late, before the lift that waited, decides nothing", () => {
  const still = { from: 1010, to: 2500 };
  expect(standing(still, down(1, 1000), lift("up", 1, 1030))).toEqual([ignored("short", 1)]);
  expect(standing(still, down(1, 1000), lift("up", 1, 1300))).toEqual([taken(1, 1000, 1300)]);
  expect(standing(still, down(1, 1000), lift("up", 1, 1900))).toEqual([taken(1, 1000, 1800)]);
  // It came down while the page stood still, and its moment was over when the page was told of it.
  expect(standing({ from: 900, to: 1800 }, down(1, 1000), lift("up", 1, 1030))).toEqual([ignored("short", 1)]);
  expect(standing({ from: 900, to: 2500 }, down(1, 1000), lift("up", 1, 1030))).toEqual([ignored("short", 1)]);
});

test("a long touch whose moment comes late counts all the same while it is held", () => {
  for (const to of [1010, 1700, 1840, 2500]) {
    // Had it waited for its own lift, the short one beside it would be told first.
    const from = Math.max(to, 1800) + 10;
    const beside = [down(2, from, 60, 400), lift("up", 2, from + 110), lift("up", 1, 9000)];
    expect(standing({ from: 1010, to }, down(1, 1000), ...beside), `${to}`).toEqual([
      taken(1, 1000, 1800),
      taken(2, from, from + 110),
    ]);
  }
});

test("a second touch of the same place within 600 ms is ignored", () => {
  const first = [down(1, 1000), lift("up", 1, 1100)];
  expect(play(...first, down(2, 1699), lift("up", 2, 1799))).toEqual([
    taken(1, 1000, 1100),
    ignored("repeat", 2),
  ]);
  expect(play(...first, down(2, 1700), lift("up", 2, 1800))).toEqual([
    taken(1, 1000, 1100),
    taken(2, 1700, 1800),
  ]);
});

test("a thumb that bounces as it lifts from a long press marks nothing more", () => {
  // It counts at 800 ms, the row is another one at once, and the thumb rests on it until 1.5 s.
  const long = [down(1, 0), lift("held", 1, 800), lift("up", 1, 1500)];
  expect(play(...long, down(2, 1560), lift("up", 2, 1660))).toEqual([taken(1, 0, 800), ignored("repeat", 2)]);
  expect(play(...long, down(2, 2099), lift("up", 2, 2199)).at(-1)).toEqual(ignored("repeat", 2));
  expect(play(...long, down(2, 2100), lift("up", 2, 2200)).at(-1)).toEqual(taken(2, 2100, 2200));
  // The same where the moment at 800 ms was never told, and where the system took the finger away.
  expect(play(down(1, 0), lift("up", 1, 1500), down(2, 1560)).at(-1)).toEqual(ignored("repeat", 2));
  expect(play(...long.slice(0, 2), lift("cancel", 1, 1500), down(2, 1560)).at(-1)).toEqual(ignored("repeat", 2));
});

test("only the lift of the finger that pressed last puts off the next press", () => {
  // The bounce itself is no press: its lift puts nothing off.
  const bounced = [down(1, 0), lift("up", 1, 100), down(1, 200), lift("up", 1, 650)];
  expect(play(...bounced, down(2, 700), lift("up", 2, 800)).at(-1)).toEqual(taken(2, 700, 800));
  // Nor does it where the lift of the press was never told and the finger has the same number.
  const lost = [down(1, 0), lift("held", 1, 800), down(1, 1300), lift("up", 1, 1390), down(2, 1400)];
  expect(play(...lost, lift("up", 2, 1500)).at(-1)).toEqual(taken(2, 1400, 1500));
  // A finger that lifts from another place after a later press leaves that press as it was.
  const other = [down(1, 0, 60, 300), lift("held", 1, 800), down(2, 900), lift("up", 2, 1000), lift("up", 1, 1500)];
  expect(play(...other, down(3, 1600), lift("up", 3, 1700)).at(-1)).toEqual(taken(3, 1600, 1700));
});

test("a touch of another key just after counts", () => {
  expect(
    play(down(1, 1000), lift("up", 1, 1100), down(2, 1200, 60, 400), lift("up", 2, 1300)),
  ).toEqual([taken(1, 1000, 1100), taken(2, 1200, 1300)]);
});

test("a short touch does not silence the press after it", () => {
  expect(
    play(down(1, 1000), lift("up", 1, 1030), down(2, 1100), lift("up", 2, 1200)),
  ).toEqual([ignored("short", 1), taken(2, 1100, 1200)]);
});

test("nothing reacts within 7 px of any edge", () => {
  for (const [x, y] of [[6, 300], [354, 300], [180, 6], [180, 634]] as const) {
    expect(play(down(1, 0, x, y), lift("up", 1, 100)), `${x},${y}`).toEqual([ignored("edge", 1)]);
  }
  for (const [x, y] of [[7, 300], [353, 300], [180, 7], [180, 633]] as const) {
    expect(play(down(1, 0, x, y), lift("up", 1, 100)), `${x},${y}`).toEqual([taken(1, 0, 100)]);
  }
});

test("two fingers on two keys are two presses", () => {
  expect(
    play(down(1, 0, 60, 400), down(2, 20, 300, 400), lift("up", 2, 120), lift("up", 1, 140)),
  ).toEqual([taken(2, 20, 120), taken(1, 0, 140)]);
});

/** Drops: each short, in other places, six within a second. */
const DROPS = [0, 160, 320, 480, 640, 800].flatMap((at, n) => [
  down(10 + n, at, 40 + 60 * n, 100),
  lift("up", 10 + n, at + 20),
]);

test("six touches within a second are water, and nothing counts until the glass has rested", () => {
  const short = [10, 11, 12, 13, 14].map((id) => ignored("short", id));
  // The sixth, and a whole press 599 ms after it; then one 600 ms after that.
  expect(
    play(...DROPS, down(1, 1399), lift("up", 1, 1499), down(2, 1999), lift("up", 2, 2099)),
  ).toEqual([...short, ignored("wet", 15), ignored("wet", 1), taken(2, 1999, 2099)]);
  // Five are none.
  expect(play(...DROPS.slice(0, 8), down(1, 900), lift("up", 1, 1000)).at(-1)).toEqual(taken(1, 900, 1000));
});

test("a finger that was down before the water is not believed either", () => {
  expect(play(down(1, 0), ...DROPS.slice(0, 9), lift("up", 1, 750))).toContainEqual(ignored("wet", 1, 14));
});

test("touches beside the keys are no presses, and show a hand and water", () => {
  const beside = (id: number, at: number): Finger => ({ ...down(id, at, 100, 50), elsewhere: true }) as Finger;
  expect(play(beside(1, 0), lift("up", 1, 100))).toEqual([]);
  expect(play(beside(1, 0), beside(2, 10), down(3, 20), lift("up", 3, 120))).toEqual([ignored("burst", 3)]);
  const drops = [0, 100, 200, 300, 350].flatMap((at, n) => [beside(n, at), lift("up", n, at + 30)]);
  expect(play(...drops, down(9, 400), lift("up", 9, 500))).toEqual([ignored("wet", 9)]);
});

test("three fingers at once are a hand, and the next finger is a press again", () => {
  expect(
    play(
      down(1, 0, 60, 300),
      down(2, 10, 180, 300),
      down(3, 20, 300, 300),
      lift("up", 1, 200),
      lift("up", 2, 200),
      lift("up", 3, 200),
      down(4, 900),
      lift("up", 4, 1000),
    ),
  ).toEqual([ignored("burst", 1, 2, 3), taken(4, 900, 1000)]);
});

test("two lifts that were never told make no hand of the next finger", () => {
  const lost = [down(1, 0, 60, 300), down(2, 10, 300, 300), lift("held", 1, 800), lift("held", 2, 810)];
  const both = [taken(1, 0, 800), taken(2, 10, 810)];
  const first = { ...down(3, 5000), first: true };
  expect(play(...lost, first, lift("up", 3, 5100))).toEqual([...both, taken(3, 5000, 5100)]);
  // Two more beside it are a hand as ever.
  expect(play(...lost, first, down(4, 5010, 60, 300), down(5, 5020, 300, 300)).at(-1)).toEqual(ignored("burst", 3, 4, 5));
  // A finger that is not the first counts those that are there.
  expect(play(...lost, down(3, 5000)).at(-1)).toEqual(ignored("burst", 3));
});

test("a touch that the system takes away is ignored and counted", () => {
  expect(play(down(1, 0), lift("cancel", 1, 300))).toEqual([ignored("burst", 1)]);
});

test("a finger's number can be used again", () => {
  expect(
    play(down(1, 0), lift("up", 1, 100), down(1, 2000), lift("up", 1, 2090)),
  ).toEqual([taken(1, 0, 100), taken(1, 2000, 2090)]);
});

test("of random touches every one is decided once", () => {
  let seed = 20261125;
  const random = (below: number): number => {
    seed = (seed * 1103515245 + 12345) % 2147483648;
    return Math.floor((seed / 2147483648) * below);
  };
  for (let round = 0; round < 500; round += 1) {
    const events: Finger[] = [];
    let at = 0;
    let touches = 0;
    const on = new Map<number, number>();
    while (touches < 30 || on.size > 0) {
      at += random(400);
      const id = random(4);
      const since = on.get(id);
      if (since === undefined && touches < 30) {
        touches += 1;
        on.set(id, at);
        events.push(down(id, at, random(360), random(640)));
      } else if (since !== undefined) {
        on.delete(id);
        if (at - since >= 800) {
          events.push(lift("held", id, since + 800));
        }
        events.push(lift(random(10) === 0 ? "cancel" : "up", id, at));
      }
    }
    const decided = play(...events).reduce(
      (sum, verdict) => sum + (verdict.kind === "ignored" ? verdict.ids.length : 1),
      0,
    );
    expect(decided, `round ${round}`).toBe(touches);
  }
});

test("a thumb on its way to what stood there marks nothing, 400 ms after the change it does", () => {
  const late = { ...down(1, 1399), changed: 1000 };
  expect(play(late, lift("up", 1, 1500))).toEqual([ignored("changed", 1)]);
  const read = { ...down(1, 1400), changed: 1000 };
  expect(play(read, lift("up", 1, 1500))).toEqual([taken(1, 1400, 1500)]);
});

test("a row is changed by the clock alone, never by the crew's own press", () => {
  const check = rowAfter(NO_ROW, ["shocked", "no_shock"], 1000, -Infinity);
  expect(check.changed).toEqual([undefined, undefined]);
  // Thirty seconds overdue, nothing pressed for minutes: both keys are others.
  const later = rowAfter(check, ["paused", "stopped"], 90_000, 5000);
  expect(later.changed).toEqual([90_000, 90_000]);
  // The same row drawn again keeps its time, and so does a half that becomes the whole.
  expect(rowAfter(later, ["paused", "stopped"], 90_300, 5000).changed).toEqual([90_000, 90_000]);
  expect(rowAfter(later, ["paused"], 95_000, 5000).changed).toEqual([90_000]);
  const whole = rowAfter(NO_ROW, ["paused"], 1000, -Infinity);
  expect(rowAfter(whole, ["paused", "stopped"], 9000, 5000).changed).toEqual([undefined, 9000]);
  expect(rowAfter(later, ["stopped"], 95_000, 5000).changed).toEqual([95_000]);
  // What follows a press within a second was asked for by it.
  expect(rowAfter(check, ["paused", "stopped"], 5999, 5000).changed).toEqual([undefined, undefined]);
  expect(rowAfter(check, ["paused", "stopped"], 6000, 5000).changed).toEqual([6000, 6000]);
});
