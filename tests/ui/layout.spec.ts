/**
 * Every card at phone sizes in a real browser. The numbers are those of the project's page of human
 * factors, rules 29-31 and 34-38, at 0.155 mm a CSS pixel; they are written here by hand.
 */
import { expect, type Page, test } from "@playwright/test";

import { REPEAT_MS } from "../../ui/src/press.ts";
import { FACES, FULL, open, refuse, seen, turn, WHY } from "./page.ts";

/** Every size when all is asked for; else the smallest upright, the usual one upright and the usual one wide. */
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
    FULL || [width, height].join() === "360,640" || width === 390 || width === 844,
);
type Size = (typeof SIZES)[number];
const NAMES = Object.keys(FACES.screens);
const RUNNING = Object.entries(FACES.screens)
  .filter(([, { face }]) => face.card !== "before" && face.card !== "ended")
  .map(([name]) => name);
const isWide = (size: Size): boolean => size.width > size.height;

/** Frames around words of the card that are keys as well: each opens a page and marks nothing. */
const FRAMES = ["Set Right", "Why?"];

interface Box {
  name: string;
  x: number;
  y: number;
  width: number;
  height: number;
}

async function boxes(page: Page): Promise<Box[]> {
  return page.evaluate(() =>
    [...document.querySelectorAll("button")]
      .filter((button) => button.closest("[inert]") === null)
      .map((button) => {
        const { x, y, width, height } = button.getBoundingClientRect();
        const name = button.getAttribute("aria-label") ?? button.innerText;
        return { name: name.replace(/\s+/g, " ").trim(), x, y, width, height };
      }),
  );
}

function gap(a: Box, b: Box): number {
  const dx = Math.max(a.x - (b.x + b.width), b.x - (a.x + a.width));
  const dy = Math.max(a.y - (b.y + b.height), b.y - (a.y + a.height));
  return Math.max(dx, dy);
}

function centres(a: Box, b: Box): number {
  return Math.hypot(a.x + a.width / 2 - b.x - b.width / 2, a.y + a.height / 2 - b.y - b.height / 2);
}

function pairs(all: Box[]): [Box, Box][] {
  return all.flatMap((a, i) => all.slice(i + 1).map((b): [Box, Box] => [a, b]));
}

async function keysAreRight(page: Page, size: { width: number; height: number }): Promise<void> {
  const all = await boxes(page);
  for (const box of all) {
    expect(box.width, `${box.name} wide`).toBeGreaterThanOrEqual(113);
    expect(box.height, `${box.name} high`).toBeGreaterThanOrEqual(113);
    expect(box.x, `${box.name} left`).toBeGreaterThanOrEqual(7);
    expect(box.y, `${box.name} top`).toBeGreaterThanOrEqual(7);
    expect(box.x + box.width, `${box.name} right`).toBeLessThanOrEqual(size.width - 7);
    expect(box.y + box.height, `${box.name} foot`).toBeLessThanOrEqual(size.height - 7);
  }
  for (const [a, b] of pairs(all)) {
    const least = [a.name, b.name].includes("Hold to End") ? 39 : 20;
    expect(gap(a, b), `${a.name} to ${b.name}`).toBeGreaterThanOrEqual(least - 0.01);
    expect(centres(a, b), `centres of ${a.name} and ${b.name}`).toBeGreaterThanOrEqual(
      size.height >= 700 ? 130 : 113,
    );
  }
}

/** Words that do not fit their key or their place, or that something covers. */
async function clipped(page: Page): Promise<string[]> {
  return page.evaluate(() => {
    const faults: string[] = [];
    // State line and question of hands off are keys as well: their words stand in their frames.
    // What lies inert under a sheet is not seen.
    const isSeen = (e: Element): boolean => e.closest("[inert]") === null;
    const keys = [...document.querySelectorAll("button:not(.right, .door)")]
      .filter(isSeen)
      .map((b) => b.getBoundingClientRect());
    const meets = (a: DOMRect, b: DOMRect): boolean =>
      a.left < b.right && a.right > b.left && a.top < b.bottom && a.bottom > b.top;
    const figure = [
      ...document.querySelectorAll(".numeral strong, .numeral small, .light.shown"),
    ].filter(isSeen);
    for (const [i, one] of figure.entries()) {
      for (const other of figure.slice(i + 1)) {
        const [a, b] = [one.getBoundingClientRect(), other.getBoundingClientRect()];
        if (meets(a, b) || one.scrollWidth > one.clientWidth + 1) {
          faults.push(`${one.className} of the figure runs into ${other.className}`);
        }
      }
    }
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
      const parent = node.parentElement;
      const text = node.textContent?.trim() ?? "";
      if (parent === null || text === "" || parent.closest("[inert]") !== null) continue;
      const range = document.createRange();
      range.selectNodeContents(node);
      for (const box of range.getClientRects()) {
        const key = parent.closest("button")?.getBoundingClientRect();
        const within = key ?? new DOMRect(0, 0, innerWidth, innerHeight);
        if (
          box.left < within.left + 1 ||
          box.right > within.right - 1 ||
          box.top < within.top - 6 ||
          box.bottom > within.bottom + 6
        ) {
          faults.push(`"${text}" leaves its place`);
        }
        // A line box of a large figure is taller than its digits: a third of it is air.
        const air = box.height * 0.16;
        const covered = keys.some(
          (k) =>
            key === undefined &&
            box.left < k.right &&
            box.right > k.left &&
            box.top + air < k.bottom &&
            box.bottom - air > k.top,
        );
        if (covered) faults.push(`"${text}" lies under a key`);
      }
    }
    return faults;
  });
}

async function nothingScrolls(page: Page): Promise<void> {
  const over = await page.evaluate(() => {
    const root = document.scrollingElement;
    const top = document.querySelector(".top");
    const room = document.querySelector(".panel")?.getBoundingClientRect();
    // Line boxes may be lower than their letters' frame; the boxes themselves must lie inside.
    const inside = [...(top?.children ?? [])].filter((child) => child.children.length > 0 || child.textContent !== "");
    const out = inside.filter((child) => {
      const box = child.getBoundingClientRect();
      return room !== undefined && (box.bottom > room.bottom + 0.5 || box.right > room.right + 0.5);
    });
    const spilt = out.map((child) => `${child.className || child.tagName} leaves the card`);
    const boxes = inside.map((child) => child.getBoundingClientRect());
    for (const [i, a] of boxes.entries()) {
      for (const [j, b] of boxes.entries()) {
        const meet = a.left < b.right && a.right > b.left && a.top < b.bottom - 1 && a.bottom - 1 > b.top;
        if (i < j && meet) spilt.push(`${inside[i]?.className} lies on ${inside[j]?.className}`);
      }
    }
    // State line and figure share a frame that may be squeezed.
    const now = document.querySelector(".now:has(> .figure)");
    for (const child of now?.querySelectorAll(":scope > .line, :scope > .figure") ?? []) {
      const over = child.getBoundingClientRect().bottom - (now?.getBoundingClientRect().bottom ?? 0);
      if (over > 1) spilt.push(`${child.className} leaves its frame by ${over}`);
    }
    const scrolled = [...document.querySelectorAll("body, .page, .cells")]
      .concat(root === null ? [] : [root])
      .filter((e) => e.scrollHeight > e.clientHeight + 1 || e.scrollWidth > e.clientWidth + 1)
      .map((e) => `${e.className || e.tagName} ${e.scrollHeight} > ${e.clientHeight}`);
    return [...spilt, ...scrolled];
  });
  expect(over).toEqual([]);
}

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
    for (const name of RUNNING) {
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

/** WCAG 2 contrast of what stands on what, from computed colours. */
async function contrasts(page: Page): Promise<{ text: string; ratio: number; px: number }[]> {
  return page.evaluate(() => {
    const rgb = (css: string): number[] => (css.match(/[\d.]+/g) ?? []).map(Number);
    const linear = (c: number): number =>
      c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4;
    const light = (css: string): number => {
      const [r = 0, g = 0, b = 0] = rgb(css);
      return 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
    };
    const ground = (start: Element): string => {
      for (let e: Element | null = start; e !== null; e = e.parentElement) {
        const css = getComputedStyle(e).backgroundColor;
        if ((rgb(css)[3] ?? 1) === 1) return css;
      }
      return "rgb(255, 255, 255)";
    };
    return [...document.querySelectorAll("h1, h2, h3, p, small, span, dt, dd, li, button:not(:disabled), strong")]
      .filter((e) => (e.textContent ?? "").trim() !== "")
      .map((e) => {
        const style = getComputedStyle(e);
        const [a, b] = [light(style.color), light(ground(e))].sort((x, y) => y - x);
        return {
          text: (e.textContent ?? "").trim(),
          ratio: ((a ?? 0) + 0.05) / ((b ?? 0) + 0.05),
          px: parseFloat(style.fontSize),
        };
      });
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
