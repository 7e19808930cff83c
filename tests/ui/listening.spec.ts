/** The listening test: what its pages are held to at phone sizes, and which commands their keys send. */
import { expect, type Page, test } from "@playwright/test";

import { boxes, clipped, contrasts, gap, keysAreRight, nothingScrolls, pairs } from "./fit.ts";
import { FACES, listening, open, refuse, seen, sent, speak, stands, WHY } from "./page.ts";

interface Choice {
  prompt: string;
  label: string;
}
const CHOICES = (FACES.listening["asking"] as { choices: Choice[] }).choices;
/** While a prompt is heard and asked for. */
const PLAYING = ["ready", "sounding", "asking"];

const SIZES = [
  { width: 360, height: 640 },
  { width: 390, height: 844 },
  { width: 640, height: 360 },
  { width: 844, height: 390 },
];

/** What was sent of the test's commands. */
async function asked(page: Page): Promise<[string, Record<string, unknown>][]> {
  const all = await sent(page);
  return all
    .filter(({ command }) => command.startsWith("listening_"))
    .map(({ command, args }): [string, Record<string, unknown>] => [command, args]);
}

/** A page that may scroll: keys large and apart, nothing wider than it. */
async function pageIsRight(page: Page): Promise<void> {
  const all = await boxes(page);
  for (const box of all) {
    expect(box.width, `${box.name} wide`).toBeGreaterThanOrEqual(113);
    expect(box.height, `${box.name} high`).toBeGreaterThanOrEqual(113);
  }
  const inBody = new Set(await page.locator(".body button").allInnerTexts());
  for (const [a, b] of pairs(all.filter(({ name }) => inBody.has(name)))) {
    expect(gap(a, b), `${a.name} to ${b.name}`).toBeGreaterThanOrEqual(19.9);
  }
  const over = await page.locator(".body").evaluate((body) => body.scrollWidth - body.clientWidth);
  expect(over).toBeLessThanOrEqual(0);
}

for (const language of [undefined, "es-419", "pseudo"] as const) {
  for (const size of SIZES.filter(({ width }) => language !== "pseudo" || width === 844)) {
    test(`the listening test at ${size.width}x${size.height}, ${language ?? "en-US"}`, async ({ page }) => {
      speak(language);
      try {
        await page.setViewportSize(size);
        await listening(page);
        await pageIsRight(page);
        for (const state of PLAYING) {
          await stands(page, state);
          await keysAreRight(page, size);
          await nothingScrolls(page);
          expect(await clipped(page), state).toEqual([]);
        }
        for (const state of ["done", "failed"]) {
          await stands(page, state);
          await pageIsRight(page);
        }
      } finally {
        speak();
      }
    });
  }
}

for (const theme of ["day", "glare", "night"]) {
  test(`words of the listening test stand out, ${theme}`, async ({ page }) => {
    await listening(page);
    await page.evaluate((name) => { document.documentElement.dataset["theme"] = name; }, theme);
    for (const state of [...PLAYING, "done", "failed"]) {
      await stands(page, state);
      const all = await contrasts(page);
      expect(all.length).toBeGreaterThan(2);
      for (const { text, ratio } of all) expect(ratio, `${state}: ${text}`).toBeGreaterThanOrEqual(7);
    }
  });
}

test("a test begins with level and number, never a name", async ({ page }) => {
  await listening(page);
  await seen(page, "Begin").press("Enter");
  await seen(page, "+12 dB(A)").press("Enter");
  await seen(page, "10 More").press("Enter");
  await seen(page, "1 More").press("Enter");
  await seen(page, "1 More").press("Enter");
  await seen(page, "1 Less").press("Enter");
  await expect(page.locator("output")).toHaveText("11");
  await seen(page, "Begin").press("Enter");
  expect(await asked(page)).toEqual([
    ["listening_begin", { level: 6, listener: null }],
    ["listening_begin", { level: 12, listener: 11 }],
  ]);
  expect(await page.locator("input").count()).toBe(0);
});

test("each prompt is played by a press, heard once and answered by one", async ({ page }) => {
  await listening(page, "ready");
  await expect(page.getByText("12 of 12")).toBeVisible();
  await seen(page, "Play").press("Enter");
  await stands(page, "sounding");
  // Nothing plays it again, and nothing can be said before it was heard.
  expect((await boxes(page)).map(({ name }) => name)).toEqual(["Start Card"]);
  await stands(page, "asking");
  await expect(seen(page, "Play")).toHaveCount(0);
  const labels = (await boxes(page)).map(({ name }) => name);
  expect(labels).toEqual([...CHOICES.map(({ label }) => label), "Start Card", "Heard Nothing"]);
  const second = CHOICES[1] as Choice;
  await seen(page, second.label).press("Enter");
  await stands(page, "ready");
  await stands(page, "asking");
  await seen(page, "Heard Nothing").press("Enter");
  const all = await asked(page);
  expect(all.map(([command]) => command)).toEqual(["listening_play", "listening_answer", "listening_answer"]);
  expect(all.slice(1).map(([, { n, answer }]) => [n, answer])).toEqual([[12, second.prompt], [12, null]]);
  for (const [, args] of all.slice(1)) expect(args["down"]).toBeLessThanOrEqual(args["taken"] as number);
});

/** A call may come in at any moment: nothing lies between the key and the card that begins a run. */
for (const state of [undefined, ...PLAYING, "done", "failed"]) {
  test(`one key leads straight to the start card, ${state ?? "before the test"}`, async ({ page }) => {
    await listening(page, state);
    await seen(page, "Start Card").press("Enter");
    await expect(page.getByRole("main", { name: "Listening Test" })).toHaveCount(0);
    await expect(seen(page, "Start by Hand")).toBeVisible();
    // A test that is done is kept until its sheet is let go; any other is over.
    const over = state === undefined || state === "done" ? [] : [["listening_stop", {}]];
    expect(await asked(page)).toEqual(over);
    // The keys of the start card are the only ones: no menu and no page lies over it.
    await seen(page, "Start by Hand").press("Enter");
    expect((await sent(page)).at(-1)?.command).toBe("press");
  });
}

test("the figures say what they leave open, and the sheet is written", async ({ page }) => {
  await listening(page, "done");
  for (const text of [
    "Right: 8 of 12",
    "Urgent prompts right: 7 of 10",
    // Figure and sign stay together.
    "(exact 95\u00a0% interval)",
    "Aim: 95\u00a0%",
    "too few to judge: it takes 150 urgent answers, 15 tests",
    "6 dB below full",
    "48000 Hz",
    "Twelve answers of one listener are no proof.",
  ]) {
    await expect(page.locator("section.body")).toContainText(text);
  }
  await expect(page.locator("tbody tr")).toHaveCount(4);
  await seen(page, "Export Sheet").press("Enter");
  await expect(page.getByRole("status")).toContainText("listening_export: ");
  await expect(page.locator(".done p")).toHaveCount(2);
  // The key lies at the foot of the page: what it did is brought into sight.
  await expect(page.getByRole("status")).toBeInViewport({ ratio: 1 });
  await refuse(page, "listening_export");
  await seen(page, "Export Sheet").press("Enter");
  await expect(page.getByRole("alert")).toContainText(WHY);
  // A sheet that was not written yet is there when the page is opened again.
  await seen(page, "Close").press("Enter");
  // On a phone nobody else can open the folder: what is exported is handed over.
  expect(await asked(page)).toEqual([
    ["listening_export", { hand: true }],
    ["listening_export", { hand: true }],
  ]);
});

test("why nothing was handed over is said on the page that asked for it, and not in a run", async ({ page }) => {
  await listening(page, "done");
  await seen(page, "Export Sheet").press("Enter");
  await page.evaluate((text) => {
    (window as unknown as { show: (s: object, kind: string) => void }).show({ text }, "refused");
  }, WHY);
  await expect(page.getByRole("alert")).toContainText(WHY);
  // The screen stays as it was.
  await expect(seen(page, "Export Sheet")).toBeVisible();
  await seen(page, FACES.labels["put_away"] ?? "").click();
  await expect(page.getByRole("alert")).toHaveCount(0);
});

test("a sheet that the next listener's key writes is handed to nobody yet", async ({ page }) => {
  await listening(page, "done");
  await seen(page, "Next Listener").press("Enter");
  expect((await asked(page))[0]).toEqual(["listening_export", { hand: false }]);
});

test("the next listener has the next number; a spoilt test says so", async ({ page }) => {
  await listening(page);
  await seen(page, "1 More").press("Enter");
  await stands(page, "failed");
  await expect(page.getByRole("alert")).toContainText("counts for nothing");
  await expect(seen(page, "Export Sheet")).toHaveCount(0);
  await seen(page, "Next Listener").press("Enter");
  expect((await asked(page)).at(-1)).toEqual(["listening_stop", {}]);
  await open(page, "start");
});

test("a run that begins takes the screen at once", async ({ page }) => {
  await listening(page, "asking");
  await page.evaluate((screen) => {
    (window as unknown as { show: (s: object) => void }).show(screen);
  }, FACES.screens["hand_ratio"] as object);
  await expect(seen(page, "Hands Off")).toBeVisible();
  await expect(seen(page, "Heard Nothing")).toHaveCount(0);
});

test("while a sound comes the word is large and in the middle, and still said by itself", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  await listening(page, "sounding");
  const word = page.locator("h1");
  await expect(word).toHaveText(FACES.labels["listening"] === undefined ? "" : (FACES.labels["listening"] as unknown as { sounding: string }).sounding);
  await expect(word).toHaveAttribute("aria-live", "polite");
  const { size, middle } = await word.evaluate((e) => {
    const box = e.getBoundingClientRect();
    return { size: parseFloat(getComputedStyle(e).fontSize), middle: Math.hypot((box.left + box.right) / 2 - innerWidth / 2, ((box.top + box.bottom) / 2 - innerHeight / 2) / 4) };
  });
  expect(size).toBeGreaterThanOrEqual(60);
  expect(middle).toBeLessThan(25);
});

test("of three levels none stands beside an empty place", async ({ page }) => {
  for (const width of [360, 390, 412]) {
    await page.setViewportSize({ width, height: 844 });
    await listening(page);
    const { levels } = FACES.labels["listening"] as unknown as { levels: { label: string }[] };
    const boxes = await Promise.all(levels.map(({ label }) => seen(page, label).boundingBox()));
    const [first, second, third] = boxes;
    expect(third?.x).toBe(first?.x);
    expect((third?.x ?? 0) + (third?.width ?? 0)).toBeCloseTo((second?.x ?? 0) + (second?.width ?? 0), 0);
    // In one line.
    const lines = await seen(page, levels[2]?.label ?? "").locator("span").first().evaluate((e) => e.getClientRects().length);
    expect(lines).toBe(1);
  }
});
