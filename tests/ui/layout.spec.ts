/**
 * Every card at phone sizes in a real browser. The numbers are those of `audit.ts`, at 0.155 mm a CSS pixel; they are
 * written here by hand.
 */
import { expect, test } from "@playwright/test";

import { REPEAT_MS } from "../../ui/src/press.ts";
import { type Box, boxes, clipped, contrasts, keysAreRight, nothingScrolls } from "./fit.ts";
import { FACES, FULL, open, refuse, seen, speak, turn, WHY } from "./page.ts";

/** Every size when all is asked for; else the smallest upright and the usual one wide. `standards` goes through more. */
const ALL_SIZES = [
  { width: 360, height: 640 },
  { width: 390, height: 844 },
  { width: 412, height: 915 },
  { width: 640, height: 360 },
  { width: 844, height: 390 },
  { width: 915, height: 412 },
];
const SIZES = ALL_SIZES.filter(
  ({ width, height }) =>
    FULL || [width, height].join() === "360,640" || width === 844,
);
type Size = (typeof SIZES)[number];
const NAMES = Object.keys(FACES.screens);
const RUNNING = Object.entries(FACES.screens)
  .filter(([, { face }]) => face.card !== "before" && face.card !== "ended")
  .map(([name]) => name);
const isWide = (size: Size): boolean => size.width > size.height;

/** Frames around words of the card that are keys as well: each opens a page and marks nothing. */
const FRAMES = ["Set Right", "Why?"];

for (const size of SIZES) {
  const at = `${size.width}x${size.height}`;

  test(`every card at ${at}: keys, gaps, words, no scrolling`, async ({ page }) => {
    test.setTimeout(240_000);
    await page.setViewportSize(size);
    for (const [n, name] of NAMES.entries()) {
      await test.step(name, async () => {
        await turn(page, NAMES[n - 1], name);
        await keysAreRight(page, size);
        await nothingScrolls(page);
        expect(await clipped(page)).toEqual([]);
      });
    }
  });

  test(`the card of a run at ${at}: few keys, the answer large and low`, async ({ page }) => {
    test.setTimeout(240_000);
    await page.setViewportSize(size);
    for (const [n, name] of RUNNING.entries()) {
      await test.step(name, async () => {
        await turn(page, RUNNING[n - 1], name);
        const all = await boxes(page);
        // The answers, two side acts, Mark, Undo; and the state line, which is there in every state. The
        // question of hands off is the one other frame that opens something.
        expect(all.filter(({ name: key }) => !FRAMES.includes(key)).length).toBeLessThanOrEqual(6);
        expect(all.filter(({ name: key }) => key === "Set Right").length).toBe(1);
        const asksWhy = FACES.screens[name]?.face.card === "hands_off";
        const doors = asksWhy && size.height >= 390 && size.height !== 640 ? 1 : 0;
        expect(all.filter(({ name: key }) => key === "Why?").length).toBe(doors);
        const answers = await page.locator("button.main").all();
        let span = 0;
        for (const answer of answers) {
          const box = await answer.boundingBox();
          expect(box?.height).toBeGreaterThanOrEqual(149);
          expect(box?.y).toBeGreaterThanOrEqual(size.height / 2 - 1);
          span += box?.width ?? 0;
        }
        if (isWide(size)) {
          // In the middle of the lower half, between two keys of one size: either hand reaches it.
          const first = await answers[0]?.boundingBox();
          const last = await answers.at(-1)?.boundingBox();
          const [left, right] = [first?.x ?? 0, (last?.x ?? 0) + (last?.width ?? 0)];
          expect(Math.abs(left - (size.width - right))).toBeLessThanOrEqual(1);
          expect(span).toBeGreaterThanOrEqual(size.width * 0.4);
        } else {
          expect(span).toBeGreaterThanOrEqual(size.width - 40);
        }
      });
    }
  });

  test(`a touch that did not get through at ${at}: it is said, and every key stays`, async ({ page }) => {
    test.setTimeout(240_000);
    // In the quick form where room is least.
    test.skip(!FULL && size.width !== 360, "walked by --full");
    await page.setViewportSize(size);
    for (const name of RUNNING.filter((_, n) => FULL || n % 4 === 0)) {
      await test.step(name, async () => {
        await open(page, name, {}, {}, ["press"]);
        // The state line may be a line longer; the keys stay where they are.
        const keys = async (): Promise<Box[]> =>
          (await boxes(page)).filter(({ name: key }) => key !== "Set Right");
        const before = await keys();
        await page.keyboard.press("PageUp");
        const line = page.locator(".receipt").getByText("Not taken");
        await expect(line).toBeVisible();
        expect(await keys()).toEqual(before);
        await nothingScrolls(page);
        expect(await clipped(page)).toEqual([]);
        await refuse(page);
        await page.waitForTimeout(REPEAT_MS);
        await page.keyboard.press("PageUp");
        await expect(line).toHaveCount(0);
      });
    }
  });

  test(`what was refused before and after a run at ${at}: in the text, and no key is covered`, async ({ page }) => {
    await page.setViewportSize(size);
    for (const name of ["start", "start_child", "ended"]) {
      await test.step(name, async () => {
        await open(page, name, {}, {}, ["press", "put_away"]);
        const before = await boxes(page);
        await page.locator("button.main").first().press("Enter");
        const line = page.getByRole("alert");
        await expect(line).toContainText(WHY);
        const now = await boxes(page);
        expect(now.filter(({ name: key }) => key !== "Put Away")).toEqual(before);
        const covered = await page.evaluate((keys) => keys.filter(({ name, x, y, width, height }) => {
          const found = document.elementFromPoint(x + width / 2, y + height / 2)?.closest("button");
          const is = found?.getAttribute("aria-label") ?? found?.innerText ?? "";
          return is.replace(/\s+/g, " ").trim() !== name;
        }), before);
        expect(covered).toEqual([]);
        const away = page.getByRole("button", { name: "Put Away" });
        await away.scrollIntoViewIfNeeded();
        expect((await away.boundingBox())?.height).toBeGreaterThanOrEqual(113);
        await away.click();
        await expect(line).toHaveCount(0);
      });
    }
  });

  test(`either hand finds the same keys at ${at}`, async ({ page }) => {
    test.setTimeout(240_000);
    await page.setViewportSize(size);
    for (const [n, name] of RUNNING.entries()) {
      await turn(page, RUNNING[n - 1], name);
      // Wide, the frames share the middle; they mark nothing.
      const frames = isWide(size) ? FRAMES : ["Set Right"];
      const all = (await boxes(page)).filter(({ name: key }) => !frames.includes(key));
      for (const box of all) {
        const mirrored = all.some(
          (other) =>
            Math.abs(other.x + other.width - (size.width - box.x)) <= 1 &&
            Math.abs(other.y - box.y) <= 1 &&
            Math.abs(other.height - box.height) <= 1,
        );
        // Wide, a single side key has nothing on the other side; it stands alone there.
        const alone = isWide(size) && FACES.screens[name]?.face.side.length === 1;
        expect(mirrored || alone, `${name}: ${box.name}`).toBe(true);
      }
    }
  });

  test(`the sheets at ${at}`, async ({ page }) => {
    test.setTimeout(240_000);
    await page.setViewportSize(size);
    for (const [name, ...keys] of [
      ["hand_ratio", "Mark"],
      ["check_full", "Mark"],
      ["power_late", "Mark", "On Chest"],
      ["power_late", "Mark", "Drugs, Airway"],
      ["power_late", "Mark", "Moves, Tasks"],
      ["hands_off", "Mark", "Rhythm, Pulse"],
      ["device_ratio", "Mark", "Times, Sound"],
      ["device_ratio", "Set Right"],
      ["device_ratio", "Set Right", "Hands Off"],
      ["stopped", "Set Right"],
      ["power_late", "Set Right", "Last Marks"],
      ["began_earlier", "Set Right", "Hand Over"],
      ["start", "Menu"],
      ["start", "Menu", "Patient"],
      ["hand_ratio", "Mark", "Drugs, Airway", "CO2"],
      ["fitting", "Mark", "Drugs, Airway", "Other Drug"],
      ["fitting", "Mark", "On Chest", "Why Device"],
      ["fitting", "Mark", "Times, Sound", "Earlier Care"],
    ] as const) {
      await test.step([name, ...keys].join(", "), async () => {
        await open(page, name);
        for (const key of keys) {
          // On a small screen it may lie on a further page.
          for (let turned = 0; turned < 4 && (await seen(page, key).count()) === 0; turned += 1) {
            await seen(page, "More").press("Enter");
          }
          await seen(page, key).press("Enter");
        }
        await keysAreRight(page, size);
        await nothingScrolls(page);
        expect(await clipped(page)).toEqual([]);
      });
    }
    await open(page, "device_ratio");
    await page.getByRole("button", { name: "Mark", exact: true }).click({ delay: 90 });
    await page.getByRole("button", { name: "Hold to End" }).click({ delay: 1700 });
    await expect(page.getByRole("button", { name: "Handed Over" })).toBeVisible();
    await keysAreRight(page, size);
    expect(await clipped(page)).toEqual([]);
  });

  test(`the pages before and after a run at ${at}: Close whole, words whole`, async ({ page }) => {
    test.setTimeout(120_000);
    await page.setViewportSize(size);
    for (const paper of ["Ready Check", "Past Runs", "Protocol", "Settings", "About"]) {
      await test.step(paper, async () => {
        await open(page, "start");
        for (const key of ["Menu", paper]) await seen(page, key).press("Enter");
        await page.locator(".body h1").waitFor();
        const box = await seen(page, "Close").boundingBox();
        expect(box?.height).toBeGreaterThanOrEqual(113);
        expect((box?.y ?? 0) + (box?.height ?? 0)).toBeLessThanOrEqual(size.height - 7);
        const body = await page.locator(".body").boundingBox();
        expect((body?.y ?? 0) + (body?.height ?? 0)).toBeLessThanOrEqual((box?.y ?? 0) - 19.99);
        const wider = await page.locator(".body").evaluate((e) => e.scrollWidth - e.clientWidth);
        expect(wider).toBeLessThanOrEqual(0);
      });
    }
  });

  test(`hands off turns at least half of the screen at ${at}`, async ({ page }) => {
    await page.setViewportSize(size);
    await open(page, "hands_off");
    const panel = page.locator(".panel");
    const box = await panel.boundingBox();
    expect((box?.height ?? 0) * (box?.width ?? 0)).toBeGreaterThanOrEqual(
      (size.width * size.height) / 2,
    );
    await expect(panel).toHaveCSS("background-color", "rgb(255, 172, 115)");
    await expect(panel).toHaveCSS("color", "rgb(14, 18, 22)");
    await open(page, "hand_ratio");
    await expect(panel).toHaveCSS("background-color", "rgba(0, 0, 0, 0)");
  });
}

for (const theme of ["day", "glare", "night"]) {
  test(`words stand out 7 to 1 on every card, ${theme}`, async ({ page }) => {
    test.setTimeout(240_000);
    await page.setViewportSize({ width: 390, height: 844 });
    const look = async (what: string): Promise<void> => {
      await test.step(what, async () => {
        for (const { text, ratio } of await contrasts(page)) {
          expect(ratio, text).toBeGreaterThanOrEqual(7);
        }
      });
    };
    for (const [n, name] of NAMES.entries()) {
      await turn(page, NAMES[n - 1], name, { theme });
      await look(name);
    }
    for (const paper of ["Protocol", "Settings", "Ready Check"]) {
      await open(page, "start", {}, { theme });
      for (const key of ["Menu", paper]) {
        await seen(page, key).press("Enter");
      }
      await page.locator(".body h1").waitFor();
      await look(paper);
    }
  });
}

test("sizes of figure, labels and glyphs", async ({ page }) => {
  await page.setViewportSize({ width: 360, height: 640 });
  await open(page, "hands_off");
  const px = async (selector: string): Promise<number> =>
    page
      .locator(selector)
      .first()
      .evaluate((e) => parseFloat(getComputedStyle(e).fontSize));
  expect(await px(".numeral strong")).toBeGreaterThanOrEqual(105);
  expect(await px("button.side")).toBeGreaterThanOrEqual(37);
  expect(await px("button.main")).toBeGreaterThanOrEqual(30);
  expect((await page.locator(".line .glyph").boundingBox())?.width).toBeGreaterThanOrEqual(52);
  await open(page, "hand_ratio");
  expect(await px("button.main")).toBeGreaterThanOrEqual(37);
  for (const size of SIZES) {
    await page.setViewportSize(size);
    expect((await page.locator(".light").boundingBox())?.width).toBeLessThanOrEqual(169);
  }
});

test("figures are tabular: every digit takes the same room", async ({ page }) => {
  await open(page, "hands_off");
  const widths = await page.locator(".numeral strong span").evaluate((span) =>
    [..."0123456789"].map((digit) => {
      span.textContent = digit;
      return Math.round(span.getBoundingClientRect().width * 10);
    }),
  );
  expect(new Set(widths).size).toBe(1);
});

test("a key's accessible name is what stands on it, and each is a button", async ({ page }) => {
  await open(page, "check");
  for (const label of ["Shocked, Back On", "No Shock, Back On", "Shock Given", "Pulse Back", "Mark", "Undo"]) {
    await expect(page.getByRole("button", { name: label, exact: true })).toHaveText(label);
  }
});

test("the example's empty table of a child stands whole on the card, with no line left out", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  await open(page, "child");
  const notes = FACES.screens["child"]?.face.notes ?? [];
  expect(notes.length).toBe(2);
  await expect(page.locator(".notes li span")).toHaveText(notes.map(({ text }) => text));
  await expect(page.locator(".notes b")).toHaveCount(0);
});

test("what is wrong now stands before what is always so, whole", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  await open(page, "start");
  const faults = [
    "the sound output cannot be opened: no output device was found; connect one",
    "mine.toml: line 10: beat.rate_per_min = 130, allowed: a whole number 100 to 120",
  ];
  await page.evaluate((screen) => { (window as unknown as { show: (s: object) => void }).show(screen); }, { ...FACES.screens["start"], faults });
  await expect(page.locator(".fault")).toHaveText(faults);
  const [foot, cautions, cut] = await page.locator(".text").evaluate((text) => [
    Math.max(...[...text.querySelectorAll(".fault")].map((fault) => fault.getBoundingClientRect().bottom)),
    text.querySelector("ul")?.getBoundingClientRect().top ?? 0,
    text.getBoundingClientRect().bottom,
  ]);
  expect(foot).toBeLessThanOrEqual(cautions ?? 0);
  expect(foot).toBeLessThanOrEqual(cut ?? 0);
});

test("the words of the start card keep clear of the bar that tells of more", async ({ page }) => {
  speak("es-419");
  try {
    await open(page, "start");
    for (let width = 380; width <= 430; width += 2) {
      await page.setViewportSize({ width, height: 844 });
      // The bar, and what sets it apart from a word: no source; where it is drawn over the card it is 4 to 12 px wide.
      const free = await page.locator(".text").evaluate((text) => {
        const edge = text.getBoundingClientRect().right;
        const range = document.createRange();
        return Math.min(...[...text.querySelectorAll("li, h1, .protocol")].map((line) => {
          range.selectNodeContents(line);
          return edge - range.getBoundingClientRect().right;
        }));
      });
      expect(free, `${width} px`).toBeGreaterThanOrEqual(12);
    }
  } finally {
    speak();
  }
});
