/**
 * Every state at every size that a phone, a tablet or half of one has, and in every set of colours and language,
 * held to the measured standards: `audit.ts` has the numbers. One page serves a size; the states are shown on
 * it one after the other, as the app does.
 */
import { expect, type Page, test } from "@playwright/test";

import { audit, contrastFaults, type Size } from "./audit.ts";
import { FACES, FULL, open, seen, speak, turn } from "./page.ts";

const label = (name: string): string => FACES.labels[name] ?? "";
const LIVE = Object.entries(FACES.screens)
  .filter(([, { face }]) => face.card !== "before" && face.card !== "ended")
  .map(([name]) => name);
const THEMES = ["day", "glare", "night"];

const SIZES: Size[] = [
  { width: 360, height: 640 },
  { width: 375, height: 812 },
  { width: 390, height: 844 },
  { width: 412, height: 915 },
  { width: 768, height: 1024 },
  { width: 640, height: 360 },
  { width: 844, height: 390 },
  { width: 915, height: 412 },
  { width: 1024, height: 768 },
];
/** Half of the three phones that stand. */
const HALVES: Size[] = [
  { width: 360, height: 320 },
  { width: 390, height: 422 },
  { width: 412, height: 457 },
];

async function walk(page: Page, size: Size, split: boolean): Promise<void> {
  await page.setViewportSize(size);
  const faults: string[] = [];
  for (const [n, name] of LIVE.entries()) {
    await turn(page, LIVE[n - 1], name);
    const alone = FACES.screens[name]?.face.side.length === 1;
    // Wide and low, a word of ten letters beside the answer has 26 px.
    const wide = size.width > size.height && size.height < 700;
    const least = wide ? 26 : 30;
    const found = await audit(page, { size, live: true, split, end: label("hold_end"), alone, label: least });
    faults.push(...found.map((fault) => `${name}: ${fault}`));
  }
  expect(faults).toEqual([]);
}

for (const size of SIZES.filter(({ width, height }) => FULL || width < height || width === 844)) {
  test(`every state at ${size.width}x${size.height}`, async ({ page }) => {
    test.setTimeout(240_000);
    await walk(page, size, false);
  });
}

for (const size of HALVES.filter(({ width }) => FULL || width === 360)) {
  test(`half a glass, ${size.width}x${size.height}: figure and answer stay`, async ({ page }) => {
    test.setTimeout(240_000);
    await walk(page, size, true);
  });
}

// The phone loses its sound, or its voice is switched off, in any state: each card takes the warning in.
for (const size of [
  { width: 360, height: 640 },
  { width: 375, height: 812 },
  { width: 390, height: 844 },
  { width: 412, height: 915 },
  { width: 844, height: 390 },
]) {
  test(`a warning over any card at ${size.width}x${size.height}`, async ({ page }) => {
    test.setTimeout(240_000);
    await page.setViewportSize(size);
    const { banners } = FACES.screens["sound_lost"]?.face as unknown as { banners: object[] };
    expect(banners.length).toBe(1);
    const faults: string[] = [];
    for (const [n, name] of LIVE.entries()) {
      await turn(page, LIVE[n - 1], name);
      const screen = FACES.screens[name];
      if ((screen?.face as unknown as { banners: object[] }).banners.length > 0) continue;
      await page.evaluate(async (screen) => {
        (window as unknown as { show: (s: object) => void }).show(screen);
        for (let drawn = 0; drawn < 3; drawn += 1) await new Promise(requestAnimationFrame);
      }, { ...screen, face: { ...screen?.face, banners } });
      await expect(page.locator(".banners p")).toHaveCount(1);
      const alone = screen?.face.side.length === 1;
      const found = await audit(page, { size, live: true, end: label("hold_end"), alone, label: 26 });
      faults.push(...found.map((fault) => `${name}: ${fault}`));
    }
    expect(faults).toEqual([]);
  });
}

/**
 * Each language upright and wide. What is a third longer fits upright from 412x915 on: narrower, the keys and a full
 * card's question take lines that are not there.
 */
const TONGUES = [
  [undefined, { width: 390, height: 844 }],
  [undefined, { width: 844, height: 390 }],
  ["en-GB", { width: 390, height: 844 }],
  ["en-GB", { width: 844, height: 390 }],
  ["es-419", { width: 390, height: 844 }],
  ["es-419", { width: 844, height: 390 }],
  ["es-ES", { width: 390, height: 844 }],
  ["es-ES", { width: 844, height: 390 }],
  ["pseudo", { width: 412, height: 915 }],
  ["pseudo", { width: 768, height: 1024 }],
  ["pseudo", { width: 844, height: 390 }],
] as const;

for (const [language, size] of TONGUES) {
  const at = `${language ?? "en-US"} at ${size.width}x${size.height}`;
  test(`in each set of colours, ${at}: nothing moves, every word stands out 7 to 1`, async ({ page }) => {
    test.setTimeout(240_000);
    speak(language);
    try {
      await page.setViewportSize(size);
      const faults: string[] = [];
      for (const [n, name] of LIVE.entries()) {
        const theme = THEMES[n % THEMES.length] ?? "day";
        await turn(page, LIVE[n - 1], name, { theme });
        const alone = FACES.screens[name]?.face.side.length === 1;
        const found = [
          ...(await audit(page, { size, live: true, end: label("hold_end"), alone, label: 26 })),
          ...(await contrastFaults(page, THEMES, true)),
        ];
        faults.push(...found.map((fault) => `${name}: ${fault}`));
      }
      expect(faults).toEqual([]);
    } finally {
      speak();
    }
  });
}

for (const size of SIZES.filter(({ width, height }) => FULL || width < height || width === 844)) {
  test(`when a count begins and at each breath nothing moves at ${size.width}x${size.height}`, async ({ page }) => {
    await page.setViewportSize(size);
    let counted = 0;
    for (const [n, name] of LIVE.entries()) {
      await turn(page, LIVE[n - 1], name);
      const screen = FACES.screens[name] as { face: { figure: { kind: string } }; now: number };
      if (screen.face.figure.kind !== "count") continue;
      counted += 1;
      const [silent, ...others] = await page.evaluate(async (screen) => {
        const heard = (kind: string, n: number): object[] => [{ at: screen.now - 1, kind, n }];
        const places: { said: string; at: string }[] = [];
        for (const pulses of [[], heard("beat", 2), heard("breath", 0)]) {
          // The sounds alone, as they go on in a run: no face comes with them.
          (window as unknown as { show: (s: object, kind: string) => void }).show({ now: screen.now, pulses }, "beat");
          // What is drawn, and before that what a thing measured between two frames finds.
          for (let drawn = 0; drawn < 3; drawn += 1) {
            await new Promise((done) => (drawn === 0 ? setTimeout(done, 0) : requestAnimationFrame(done)));
            const placed = [".line", ".figure", ".question", ".notes", ".now"].map((part) => {
              const node = document.querySelector<HTMLElement>(`.top ${part}`);
              const box = node?.getBoundingClientRect();
              return [part, box?.top, box?.height, node && getComputedStyle(node).fontSize];
            });
            const small = document.querySelector<HTMLElement>(".numeral small");
            places.push({ said: small?.innerText.trim() ?? "", at: JSON.stringify(placed) });
          }
        }
        return places;
      }, screen);
      for (const [n, place] of others.entries()) expect(place.at, `${name}, ${n + 1}`).toBe(silent?.at);
      // The word stands while compressions are counted, and then alone.
      const word = FACES.screens[name]?.face as unknown as { figure_label: string };
      const said = [silent, ...others].map((place) => place?.said.includes(word.figure_label));
      expect(said, name).toEqual([false, false, false, true, true, true, false, false, false]);
    }
    expect(counted).toBeGreaterThan(20);
  });
}

// Where the device has stopped the beat leads in on the ground of hands off.
for (const [kind, face] of [["beat", "hand_ratio"], ["breath", "hand_ratio"], ["beat", "stopped"]] as const) {
  test(`the light of a ${kind} stands out 4 to 1 in each set of colours, and is as wide as the light, ${face}`, async ({ page }) => {
    const sizes = [{ width: 360, height: 640 }, { width: 390, height: 844 }, { width: 844, height: 390 }];
    for (const size of face === "stopped" ? sizes.slice(1, 2) : sizes) {
      await page.setViewportSize(size);
      await open(page, face);
      const { now } = FACES.screens[face] as unknown as { now: number };
      // It is lit for a sixth of a second: here each moment brings a sound that has only just begun.
      const light = page.locator(".light");
      await page.evaluate(([now, kind]) => {
        const { show } = window as unknown as { show: (s: object, kind: string) => void };
        const pulses = Array.from({ length: 400 }, (_, n) => ({ at: now + n * 100, kind: n === 0 ? "beat" : kind, n }));
        show({ now, pulses }, "beat");
      }, [now, kind] as const);
      const lit = light.locator(kind === "beat" ? ".disc.lit svg" : ".chevron.lit svg");
      await expect(lit).toHaveCount(1);
      expect(await contrastFaults(page, THEMES, true)).toEqual([]);
      await expect(lit).toHaveCount(1);
      const [shape, room] = await light.evaluate((e, kind) => {
        const drawn = e.querySelector(kind === "beat" ? ".disc circle" : ".chevron path");
        return [drawn?.getBoundingClientRect().width ?? 0, e.getBoundingClientRect().width];
      }, kind);
      expect(shape, `${size.width}x${size.height}`).toBeGreaterThanOrEqual(Math.min(52, (room ?? 0) * 0.9));
      expect(room).toBeGreaterThanOrEqual(56);
    }
  });
}

test("each state has a shape and words of its own, so that none needs its colour", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  const shapes = new Map<string, Set<string>>();
  const words = new Map<string, Set<string>>();
  for (const [n, name] of LIVE.entries()) {
    await turn(page, LIVE[n - 1], name);
    const [shape, text] = await page.evaluate(() => [
      document.querySelector(".line .glyph svg")?.innerHTML ?? "none",
      document.querySelector(".line h1")?.textContent ?? "",
    ]);
    const state = FACES.screens[name]?.face.state ?? "";
    shapes.set(state, (shapes.get(state) ?? new Set()).add(shape ?? ""));
    words.set(state, (words.get(state) ?? new Set()).add(text ?? ""));
  }
  for (const all of [shapes, words]) {
    const each = [...all.values()].map((set) => [...set].join());
    expect([...all.values()].every((set) => set.size === 1)).toBe(true);
    expect(new Set(each).size, each.join("; ")).toBe(all.size);
  }
  expect(shapes.size).toBeGreaterThanOrEqual(5);
});

/** The taps to a set of colours by its name in a run and before one; `docs/taps.md` says them. */
const TO_COLOURS: Record<string, [number, number]> = { "360x640": [5, 3], "390x844": [4, 3], "844x390": [5, 3] };

test("the sheet of the screen has a key for each set of colours, so many taps away", async ({ page }) => {
  for (const size of [{ width: 360, height: 640 }, { width: 390, height: 844 }, { width: 844, height: 390 }]) {
    await page.setViewportSize(size);
    for (const [name, ...keys] of [
      ["hand_ratio", "Mark", "Times, Sound", "Screen"],
      ["start", "Menu", "Screen"],
    ] as const) {
      await open(page, name);
      let taps = 0;
      for (const key of keys) {
        for (let turned = 0; turned < 4 && (await seen(page, key).count()) === 0; turned += 1) {
          await seen(page, "More").press("Enter");
          taps += 1;
        }
        await seen(page, key).press("Enter");
        taps += 1;
      }
      expect(await audit(page, { size, live: false, end: label("hold_end"), label: 26 })).toEqual([]);
      for (const key of ["By Light", "Dark", "Glare", "Night", "Turn Screen"]) await expect(seen(page, key)).toHaveCount(1);
      await expect(seen(page, "Cover Screen")).toHaveCount(name === "start" ? 0 : 1);
      await expect(seen(page, "By Light")).toHaveAttribute("aria-pressed", "true");
      await seen(page, "Glare").press("Enter");
      taps += 1;
      expect(taps, `${name} at ${size.width}x${size.height}`).toBe(
        TO_COLOURS[`${size.width}x${size.height}`]?.[name === "start" ? 1 : 0],
      );
      const sent = await page.evaluate(() => (window as unknown as { sent: { command: string; args: object }[] }).sent);
      expect(sent.filter(({ command }) => command === "choose").map(({ args }) => args)).toEqual([
        { setting: "theme", value: "glare" },
      ]);
      await expect(page.getByRole("dialog")).toHaveCount(0);
    }
  }
});

/** What one touch of the sign chooses, by what is chosen and what is shown; written by hand. */
const NEXT = [
  ["auto", "day", "glare"],
  ["glare", "glare", "night"],
  ["night", "night", "auto"],
  ["auto", "glare", "day"],
  ["auto", "night", "day"],
  ["day", "day", "glare"],
] as const;

test("other colours are one touch of the sign away, in every state and before a run, and mark nothing", async ({ page }) => {
  const commands = async (): Promise<unknown[]> =>
    (await page.evaluate(() => (window as unknown as { sent: { command: string; args: object }[] }).sent))
      .filter(({ command }) => !["subscribe", "page_clock", "drill_due"].includes(command))
      .map(({ command, args }) => [command, args]);
  test.setTimeout(120_000);
  for (const size of [...SIZES, ...HALVES].filter(({ width }) => FULL || [360, 390, 844].includes(width))) {
    await page.setViewportSize(size);
    for (const name of ["hand_ratio", "hands_off", "resumed", "start", "start_newborn"]) {
      await open(page, name);
      const sign = page.getByRole("button", { name: label("colours"), exact: true });
      const { x, y, width, height } = (await sign.boundingBox()) ?? { x: 0, y: 0, width: 0, height: 0 };
      const at = `${name} at ${size.width}x${size.height}`;
      expect(Math.min(width, height), at).toBeGreaterThanOrEqual(48);
      // A desktop's tooltip would stand over the card, with the colours of before the touch.
      await expect(sign, at).not.toHaveAttribute("title");
      await expect(sign, at).toHaveAccessibleDescription(/./);
      // Nothing lies on it, to its edges.
      const hit = await page.evaluate(
        ([x, y, w, h]) =>
          [[0.5, 0.5], [0.04, 0.5], [0.96, 0.5], [0.5, 0.04], [0.5, 0.96]].every(
            ([dx = 0, dy = 0]) => document.elementFromPoint(x + w * dx, y + h * dy)?.closest(".sign") != null,
          ),
        [x, y, width, height] as const,
      );
      expect(hit, at).toBe(true);
      await page.mouse.move(x + width / 2, y + height / 2);
      await page.mouse.down();
      await page.waitForTimeout(90);
      await page.mouse.up();
      await expect.poll(commands, at).toEqual([["choose", { setting: "theme", value: "glare" }]]);
      await expect(page.getByRole("dialog")).toHaveCount(0);
    }
  }
  await page.setViewportSize({ width: 390, height: 844 });
  for (const [n, name] of LIVE.entries()) {
    await turn(page, LIVE[n - 1], name);
    await expect(page.locator("button.sign"), name).toHaveCount(1);
  }
  for (const [theme, shown, next] of NEXT) {
    await open(page, "hand_ratio", {}, { theme });
    await page.evaluate(([screen, theme]) => {
      (window as unknown as { show: (s: object) => void }).show({ ...screen, theme });
    }, [FACES.screens["hand_ratio"] as object, shown] as const);
    await expect(page.locator("html")).toHaveAttribute("data-theme", shown);
    await seen(page, label("colours")).press("Enter");
    expect(await commands(), `${theme}, ${shown}`).toEqual([["choose", { setting: "theme", value: next }]]);
  }
});

test("a run's screen is covered by one act behind Mark, is dark, and shows its card when it wakes", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  await open(page, "sound_lost", { covered: false });
  for (const key of ["Mark", "Times, Sound", "More", "Screen", "Cover Screen"]) {
    if ((await seen(page, key).count()) > 0) await seen(page, key).press("Enter");
  }
  const sent = await page.evaluate(() => (window as unknown as { sent: { command: string; args: object }[] }).sent);
  expect(sent.filter(({ command }) => command === "cover").map(({ args }) => args)).toEqual([{ on: true }]);
  const screen = FACES.screens["sound_lost"];
  const show = (covered: boolean): Promise<void> =>
    page.evaluate((s) => { (window as unknown as { show: (s: object) => void }).show(s); }, {
      ...screen,
      theme: "glare",
      face: { ...screen?.face, covered },
    });
  await show(true);
  // Dark whatever the colours are, with one key; what keeps the crew from hearing is said there too.
  await expect(page.locator(".cover")).toHaveCSS("background-color", "rgb(0, 0, 0)");
  await expect(page.getByRole("button")).toHaveCount(1);
  await expect(page.locator(".banners p").first()).toBeVisible();
  expect(await contrastFaults(page, THEMES, true)).toEqual([]);
  // The hardware key marks nothing that nobody could read.
  await page.keyboard.press("PageDown", { delay: 900 });
  // The keyboard holds as a finger does; a click that comes from neither wakes at once.
  await page.keyboard.press("Enter", { delay: 300 });
  const covers = async (): Promise<unknown[]> =>
    (await page.evaluate(() => (window as unknown as { sent: { command: string; args: object }[] }).sent))
      .filter(({ command }) => command === "cover" || command === "press")
      .map(({ args }) => args);
  expect(await covers()).toEqual([{ on: true }]);
  await page.keyboard.press("Enter", { delay: 1_700 });
  expect(await covers()).toEqual([{ on: true }, { on: false }]);
  await show(false);
  await expect(page.locator(".cover")).toHaveCount(0);
  await expect(page.getByRole("dialog")).toHaveCount(0);
  await expect(page.locator("button.main").first()).toBeVisible();
});
