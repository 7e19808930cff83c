/** The screens after a run: what they are held to at phone sizes, and which commands their keys send. */
import { expect, type Page, test } from "@playwright/test";

import { edgeFaults, fillFaults } from "./audit.ts";
import { boxes, clipped, contrasts, gap, keysAreRight, nothingScrolls, pairs } from "./fit.ts";
import { AFTER, FACES, FULL, open, refuse, seen, sent, WHY } from "./page.ts";

/** Every size when all is asked for; else the smallest upright and the usual one wide. */
const ALL_SIZES = [
  { width: 360, height: 640 },
  { width: 390, height: 844 },
  { width: 640, height: 360 },
  { width: 844, height: 390 },
];
const SIZES = ALL_SIZES.filter(({ width }) => FULL || width === 360 || width === 844);

interface CarryLine {
  element: string;
  name: string;
  value: string;
  place: string;
}
const ROWS = AFTER["carry_over"]?.["rows"] as CarryLine[];
const MARKS = AFTER["review"]?.["marks"] as { seq: number; at: number; text: string; stands: boolean }[];
const LONGEST = AFTER["debrief"]?.["longest"] as { at: number; length: string; reason: string | null }[];
const RECORD = FACES.screens["ended"]?.record?.id ?? "";

async function debrief(page: Page): Promise<void> {
  await open(page, "ended");
  await seen(page, "Debrief").press("Enter");
  await page.locator(".longest").waitFor();
}

/** What was sent of these commands, the latest last. */
async function asked(page: Page, ...commands: string[]): Promise<Record<string, unknown>[]> {
  const all = await sent(page);
  return all.filter(({ command }) => commands.includes(command)).map(({ args }) => args);
}

/** Keys of a page that may scroll: large and apart, wherever it is scrolled to; no text wider than it. */
async function pageIsRight(page: Page): Promise<void> {
  const all = await boxes(page);
  for (const box of all) {
    expect(box.width, `${box.name} wide`).toBeGreaterThanOrEqual(113);
    expect(box.height, `${box.name} high`).toBeGreaterThanOrEqual(113);
  }
  // What stands beside the page is not of it: keys are scrolled under its edge.
  const within = await page.evaluate(() =>
    [...document.querySelectorAll(".body button")].map((e) => {
      const { x, y, width, height } = e.getBoundingClientRect();
      return { name: e.textContent ?? "", x, y, width, height };
    }),
  );
  for (const [a, b] of pairs(within)) {
    expect(gap(a, b), `${a.name} to ${b.name}`).toBeGreaterThanOrEqual(19.9);
  }
  const wider = await page.locator(".body").evaluate((body) => {
    const room = body.getBoundingClientRect();
    const over = [...body.querySelectorAll("*")].filter((e) => {
      const box = e.getBoundingClientRect();
      // The frame of a picture's words is a little wider than the words.
      const air = e instanceof SVGElement ? 3 : 0.5;
      return box.width > 1 && (box.right > room.right + air || box.left < room.left - air);
    });
    return [
      ...over.map((e) => `${e.tagName} ${e.className.toString()} ${e.textContent?.slice(0, 40) ?? ""}`),
      ...(body.scrollWidth > body.clientWidth ? ["the page"] : []),
    ];
  });
  expect(wider).toEqual([]);
  const footer = await page.locator("footer").boundingBox();
  const size = page.viewportSize();
  expect((footer?.y ?? 0) + (footer?.height ?? 0)).toBeLessThanOrEqual((size?.height ?? 0) - 7);
}

for (const size of SIZES) {
  const at = `${size.width}x${size.height}`;

  test(`debrief, review and keeping at ${at}: keys, gaps, nothing wider than the page`, async ({ page }) => {
    test.setTimeout(90_000);
    await page.setViewportSize(size);
    await debrief(page);
    await pageIsRight(page);
    // The three longest pauses stand before anything else.
    const first = page.locator(".longest li").first();
    expect((await first.boundingBox())?.y).toBeLessThan(size.height - 140);
    await seen(page, "Why?").first().press("Enter");
    await keysAreRight(page, size);
    expect(await clipped(page)).toEqual([]);
    await seen(page, "Back").press("Enter");
    await seen(page, "Review").press("Enter");
    await page.locator("main.long ol").waitFor();
    await pageIsRight(page);
    for (const keys of [["Add Mark"], ["Clocks"], ["Clocks", "Monitor"], ["Clocks", "Monitor", "No Seconds"]]) {
      for (const key of keys) await seen(page, key).press("Enter");
      await keysAreRight(page, size);
      await nothingScrolls(page);
      expect(await clipped(page)).toEqual([]);
      for (const key of keys) await test.step(`back from ${key}`, () => seen(page, "Back").press("Enter"));
    }
    await seen(page, "Close").press("Enter");
    await seen(page, "Keep, Export").press("Enter");
    await page.getByRole("button", { name: "PDF" }).waitFor();
    await pageIsRight(page);
  });

  test(`carry over at ${at}: every row fits, keys and words whole`, async ({ page }) => {
    test.setTimeout(120_000);
    await page.setViewportSize(size);
    await debrief(page);
    await seen(page, "Carry Over").press("Enter");
    await page.locator(".value").waitFor();
    await keysAreRight(page, size);
    for (const row of ROWS) {
      await test.step(`${row.place} ${row.element}`, async () => {
        await expect(page.locator(".place")).toContainText(row.place);
        await expect(page.locator(".value")).toHaveText(row.value);
        await nothingScrolls(page);
        expect(await clipped(page)).toEqual([]);
        await page.keyboard.press("ArrowRight");
      });
    }
    const time = ROWS.findIndex(({ value }) => /^\d\d:\d\d:\d\d$/.test(value));
    expect(time).toBeGreaterThanOrEqual(0);
    for (let n = ROWS.length - 1; n > time; n -= 1) await page.keyboard.press("ArrowLeft");
    const px = await page.locator(".value").evaluate((e) => parseFloat(getComputedStyle(e).fontSize));
    expect(px).toBeGreaterThanOrEqual(size.width > size.height ? 60 : 68);
    await seen(page, "All Rows").press("Enter");
    await expect(page.locator(".all li")).toHaveCount(ROWS.length);
    await seen(page, "Back").press("Enter");
  });
}

for (const theme of ["day", "glare", "night"]) {
  test(`words of the screens after a run stand out 7 to 1, ${theme}`, async ({ page }) => {
    await page.setViewportSize({ width: 390, height: 844 });
    const look = async (): Promise<void> => {
      for (const { text, ratio } of await contrasts(page)) {
        expect(ratio, text).toBeGreaterThanOrEqual(7);
      }
    };
    await open(page, "ended", {}, { theme });
    await seen(page, "Debrief").press("Enter");
    await page.locator(".longest").waitFor();
    await look();
    await seen(page, "Carry Over").press("Enter");
    await page.locator(".value").waitFor();
    await look();
    await seen(page, "Close").press("Enter");
    await seen(page, "Review").press("Enter");
    await page.locator("main.long ol").waitFor();
    await look();
  });
}

test("a row that was typed is ticked, counted and left; the ticks outlast the screen", async ({ page }) => {
  await debrief(page);
  await seen(page, "Carry Over").press("Enter");
  const count = page.locator(".place span").nth(1);
  await expect(count).toHaveText("0 typed");
  await seen(page, "Typed").press("Enter");
  await expect(count).toHaveText("1 typed");
  await expect(page.locator(".place")).toContainText(ROWS[1]?.place ?? "-");
  await seen(page, "Previous").press("Enter");
  await expect(seen(page, "Typed")).toHaveAttribute("aria-pressed", "true");
  await seen(page, "Close").press("Enter");
  await seen(page, "Carry Over").press("Enter");
  await expect(count).toHaveText("1 typed");
  // It opens on the first row that waits.
  await expect(page.locator(".place")).toContainText(ROWS[1]?.place ?? "-");
  await seen(page, "Previous").press("Enter");
  await seen(page, "Typed").press("Enter");
  await expect(count).toHaveText("0 typed");
});

test("a pause without a reason asks for one, and the answer is an amendment", async ({ page }) => {
  await debrief(page);
  const without = LONGEST.filter(({ reason }) => reason === null);
  expect(without).toHaveLength(1);
  await expect(seen(page, "Why?")).toHaveCount(1);
  await seen(page, "Why?").press("Enter");
  const [reason] = AFTER["debrief"]?.["reasons"] as { reason: string; label: string }[];
  await seen(page, reason?.label ?? "").press("Enter");
  expect(await asked(page, "change")).toEqual([
    { id: RECORD, asked: { kind: "why", at: without[0]?.at, reason: reason?.reason } },
  ]);
  const [, again] = await asked(page, "debrief");
  expect(again).toMatchObject({ id: RECORD, recorded: false });
});

test("the strip is drawn as elements, scrubbed by keys, and a part of it is asked for", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  await debrief(page);
  const strip = AFTER["debrief"]?.["strip"] as { from: number; to: number; begin: number; moments: { from: number; text: string }[] };
  await expect(page.locator(".strip svg text").first()).toBeAttached();
  const slider = page.getByRole("slider", { name: "Moment in the strip" });
  await slider.focus();
  await expect(slider).toHaveAttribute("aria-valuetext", /^0:00 /);
  await slider.press("End");
  const last = strip.moments.at(-1)?.text ?? "";
  await expect(page.locator(".said")).toContainText(last);
  await expect(seen(page, "Wider")).toBeDisabled();
  await slider.press("Home");
  await seen(page, "Closer").press("Enter");
  const [part] = await asked(page, "strip");
  expect(part).toMatchObject({ id: RECORD, recorded: false, from: strip.begin });
  const { from, to } = part as { from: number; to: number };
  expect(to - from).toBe(Math.round((strip.to - strip.from) / 2));
  await expect(seen(page, "Wider")).toBeEnabled();
  await expect(slider).toHaveAttribute("min", String((AFTER["strip"] as { from: number }).from));
});

test("as recorded and as amended are asked for apart", async ({ page }) => {
  await debrief(page);
  await page.getByRole("button", { name: "as recorded" }).press("Enter");
  await expect.poll(async () => (await asked(page, "debrief")).at(-1)).toMatchObject({ recorded: true });
});

test("what the review asks about stands out by its edge in each set of colours", async ({ page }) => {
  const review = AFTER["review"];
  // A mark without a name, as a bare time in a run leaves it.
  AFTER["review"] = { ...review, marks: MARKS.map((mark, n) => (n === 0 ? { ...mark, asks: "name" } : mark)) };
  try {
    await debrief(page);
  } finally {
    if (review !== undefined) AFTER["review"] = review;
  }
  await seen(page, "Review").press("Enter");
  await page.locator("button.asks").first().waitFor();
  expect(await edgeFaults(page, "button.asks", ["day", "glare", "night"])).toEqual([]);
});

test("the bar beside each long pause is seen in every set of colours, and in the reader's own", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  await debrief(page);
  await expect(page.locator(".longest .bar")).toHaveCount(LONGEST.length);
  expect(await fillFaults(page, ".longest .bar", ["day", "glare", "night"])).toEqual([]);
  await page.emulateMedia({ forcedColors: "active" });
  expect(await fillFaults(page, ".longest .bar", ["day"])).toEqual([]);
  await page.emulateMedia({ forcedColors: "none" });
});

test("a mark is moved by steps, taken out, and the last change is taken back", async ({ page }) => {
  await debrief(page);
  await seen(page, "Review").press("Enter");
  const mark = MARKS.find(({ stands, at }) => stands && at > 60_000);
  const row = page.locator("main.long ol button").nth(MARKS.indexOf(mark as (typeof MARKS)[number]));
  await row.press("Enter");
  for (const key of ["Move", "+10", "\u22121", "Done"]) await seen(page, key).press("Enter");
  await row.press("Enter");
  await seen(page, "Take Out").press("Enter");
  expect((await asked(page, "change")).map(({ asked: change }) => change)).toEqual([
    { kind: "move", seq: mark?.seq, at: (mark?.at ?? 0) + 9_000 },
    { kind: "take_out", seq: mark?.seq },
  ]);
  await seen(page, "Take Back").press("Enter");
  expect((await asked(page, "change")).at(-1)?.["asked"]).toEqual({ kind: "take_back" });
  await seen(page, "End Review").press("Enter");
  expect((await asked(page, "change")).at(-1)?.["asked"]).toEqual({ kind: "seal" });
});

test("a mark that was taken out is put back, and nothing else is asked of it", async ({ page }) => {
  await debrief(page);
  await seen(page, "Review").press("Enter");
  const out = MARKS.find(({ stands }) => !stands);
  const row = page.locator("main.long ol button").nth(MARKS.indexOf(out as (typeof MARKS)[number]));
  await row.press("Enter");
  await expect(seen(page, "Take Out")).toHaveCount(0);
  await seen(page, "Put Back").press("Enter");
  expect((await asked(page, "change")).at(-1)?.["asked"]).toEqual({ kind: "put_back", seq: out?.seq });
});

test("a time is set from the clock that its row shows", async ({ page }) => {
  await debrief(page);
  await seen(page, "Review").press("Enter");
  const rows = page.locator("main.long ol button");
  for (const n of [0, MARKS.length - 1]) {
    const shown = /\d\d:\d\d:\d\d/.exec((await rows.nth(n).textContent()) ?? "")?.[0] ?? "-";
    await rows.nth(n).press("Enter");
    await seen(page, "Move").press("Enter");
    await expect(page.getByText(shown, { exact: true })).toBeVisible();
    await seen(page, "Back").press("Enter");
  }
});

test("a clock without seconds is said to have none", async ({ page }) => {
  await debrief(page);
  await seen(page, "Review").press("Enter");
  for (const key of ["Clocks", "Dispatch", "No Seconds", "+10", "Now"]) await seen(page, key).press("Enter");
  const [change] = await asked(page, "change");
  expect(change?.["asked"]).toMatchObject({ kind: "clock", clock: "dispatch", no_seconds: true });
  expect((change?.["asked"] as { shown: string }).shown).toMatch(/^\d\d:\d\d:00$/);
});

test("the ready check is looked at anew where the sound is lost or comes back", async ({ page }) => {
  await open(page, "start");
  await seen(page, "Menu").press("Enter");
  await seen(page, "Ready Check").press("Enter");
  await page.getByRole("main", { name: "Ready Check", exact: true }).waitFor();
  const looks = async (): Promise<number> => (await sent(page)).filter(({ command }) => command === "paper").length;
  const shows = (faults: string[]): Promise<void> =>
    page.evaluate((screen) => { (window as unknown as { show: (s: object) => void }).show(screen); }, { ...FACES.screens["start"], faults });
  await expect.poll(looks).toBe(1);
  await shows(["An invented fault: what mends it"]);
  await expect.poll(looks).toBe(2);
  // Of what stays as it is nothing is asked again.
  await shows(["An invented fault: what mends it"]);
  await shows([]);
  await expect.poll(looks).toBe(3);
});

test("no figure over the strip lies under the line of the moment that is looked at", async ({ page }) => {
  await debrief(page);
  await page.locator(".picture .moment").scrollIntoViewIfNeeded();
  const under = await page.locator(".strip .picture:has(> .moment)").evaluate((picture) => {
    const line = picture.querySelector(".moment")?.getBoundingClientRect() ?? new DOMRect();
    const texts = [...picture.querySelectorAll("text")];
    const zero = texts.find((text) => text.textContent.trim() === "0")?.getBoundingClientRect().top;
    const figures = texts.filter((text) => text.getBoundingClientRect().top === zero);
    const under = figures.filter((text) => {
      const box = text.getBoundingClientRect();
      return box.left < line.right && line.left < box.right && box.top < line.bottom && line.top < box.bottom;
    });
    return { figures: figures.length > 3, line: line.height > 50, under: under.map((text) => text.textContent) };
  });
  expect(under).toEqual({ figures: true, line: true, under: [] });
});

test("as recorded no reason is asked for", async ({ page }) => {
  await debrief(page);
  await expect(seen(page, "Why?")).toHaveCount(1);
  await page.getByRole("button", { name: "as recorded" }).press("Enter");
  await expect(seen(page, "Why?")).toHaveCount(0);
});

test("a run is deleted by a hold and a second key, and a copy's place is told", async ({ page }) => {
  await debrief(page);
  await seen(page, "Keep, Export").press("Enter");
  // On a small phone the key lies below the first screenful: what it did is said in sight all the same.
  await page.setViewportSize({ width: 360, height: 640 });
  await page.locator(".body").evaluate((body) => { body.scrollTop = body.scrollHeight; });
  await seen(page, "PDF").press("Enter");
  await expect(page.getByRole("status")).toContainText("export_run: ");
  await expect(page.getByRole("status")).toBeInViewport({ ratio: 1 });
  const hold = seen(page, "Hold to Delete");
  await hold.click({ delay: 400 });
  await expect(seen(page, "Delete")).toHaveCount(0);
  await hold.click({ delay: 1_700 });
  expect(await asked(page, "delete_runs")).toEqual([]);
  await seen(page, "Delete").press("Enter");
  await expect(page.locator(".done")).toContainText("delete_runs: ");
  expect(await asked(page, "delete_runs", "end_held")).toEqual([{ id: RECORD }]);
  // By Escape as by its key.
  await page.locator("section.body").press("Escape");
  // The page of a run that is gone is put away with it.
  await expect(seen(page, "New Run")).toBeVisible();
});

test("why a change was refused is brought into sight from the end of a long list", async ({ page }) => {
  await page.setViewportSize({ width: 360, height: 640 });
  await debrief(page);
  await seen(page, "Review").press("Enter");
  await refuse(page, "change");
  const rows = page.locator("main.long ol button:enabled");
  await rows.last().scrollIntoViewIfNeeded();
  await rows.last().press("Enter");
  await seen(page, "Take Out").press("Enter");
  const alert = page.getByRole("alert");
  await expect(alert).toContainText(WHY);
  await expect(alert).toBeInViewport();
  await expect(rows.last()).toBeEnabled();
});

test("the foot of a page that goes on fades, and at its end it does not", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  const fades = (): Promise<string> => page.locator(".body").evaluate((body) => getComputedStyle(body, "::after").height);
  const goes = async (): Promise<void> => {
    const height = await page.locator(".body").evaluate((body) => body.scrollHeight);
    expect(parseFloat(await fades())).toBeGreaterThan(40);
    // The fade itself makes nothing longer, and takes no touch.
    await page.locator(".body").evaluate((body) => { body.scrollTop = body.scrollHeight; });
    await expect.poll(fades).toBe("auto");
    expect(await page.locator(".body").evaluate((body) => body.scrollHeight)).toBe(height);
  };
  await debrief(page);
  await goes();
  await seen(page, "Close").press("Enter");
  await open(page, "start", {}, { first: true });
  await page.locator(".body p").first().waitFor();
  await goes();
  // A short page has none.
  await open(page, "ended");
  await seen(page, "Make Ready").press("Enter");
  expect(await fades()).toBe("auto");
});

test("no figure of the pauses stands alone in a line, and clock and time of the run have a line each", async ({ page }) => {
  await page.setViewportSize({ width: 360, height: 640 });
  await debrief(page);
  const lines = await page.locator("p.line").evaluate((p) => {
    const range = document.createRange();
    range.selectNodeContents(p);
    return [...range.getClientRects()].map(({ width }) => width);
  });
  expect(lines.length).toBe(2);
  expect(lines[1]).toBeGreaterThan(60);
  const longest = (AFTER["debrief"] as unknown as { longest: { when: string; reason: string | null }[] }).longest;
  for (const [n, { when, reason }] of longest.entries()) {
    const told = await page.locator(".about").nth(n).locator("span").allInnerTexts();
    expect(told).toEqual([...when.split(" "), ...(reason === null ? [] : [reason])]);
  }
});

test("Clocks does not stand beside an empty place", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  await debrief(page);
  await seen(page, "Review").press("Enter");
  const [first, second, clocks] = await Promise.all(["Take Back", "End Review", "Clocks"].map((key) => seen(page, key).boundingBox()));
  expect(clocks?.x).toBe(first?.x);
  expect((clocks?.x ?? 0) + (clocks?.width ?? 0)).toBeCloseTo((second?.x ?? 0) + (second?.width ?? 0), 0);
});

test("one row of Carry Over fills a tall phone", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  await debrief(page);
  await seen(page, "Carry Over").press("Enter");
  await page.locator(".row h1").waitFor();
  const { filled, cut } = await page.locator(".text > .row").evaluate((row) => {
    const [first, last] = [row.firstElementChild, row.lastElementChild].map((e) => e?.getBoundingClientRect());
    const text = row.parentElement as HTMLElement;
    return { filled: ((last?.bottom ?? 0) - (first?.top ?? 0)) / text.clientHeight, cut: text.scrollHeight - text.clientHeight };
  });
  expect(filled).toBeGreaterThan(0.5);
  expect(cut).toBeLessThanOrEqual(0);
});
