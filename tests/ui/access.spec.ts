/**
 * For who hears the screen, works it by keys, needs larger letters, colours of his own or a still screen.
 * axe-core looks at every screen in every set of colours; what it cannot know is asked beside it.
 */
import { createRequire } from "node:module";

import { expect, type Page, test } from "@playwright/test";

import { REPEAT_MS } from "../../ui/src/press.ts";
import { contrastFaults, focusRing } from "./audit.ts";
import { FACES, listening, open, seen, sent, turn } from "./page.ts";
import { copied, drills, editor, overTime, scoreSheet, stopped } from "./states.ts";

const AXE = createRequire(import.meta.url).resolve("axe-core/axe.min.js");
const THEMES = ["day", "glare", "night"] as const;
const NAMES = Object.keys(FACES.screens);

/** The pages and sheets: from which face, by which keys. */
const BEHIND: [string, string[]][] = [
  ["hand_ratio", ["Mark"]],
  ["hand_ratio", ["Mark", "Times, Sound", "Screen"]],
  ["hand_ratio", ["Mark", "Drugs, Airway", "CO2"]],
  ["device_ratio", ["Set Right"]],
  ["began_earlier", ["Set Right", "Hand Over"]],
  ["hands_off", ["Why?"]],
  ["start", ["Menu"]],
  ["start", ["Menu", "Screen"]],
  ["start", ["Menu", "Ready Check"]],
  ["start", ["Menu", "Past Runs"]],
  ["start", ["Menu", "Protocol"]],
  ["start", ["Menu", "Settings"]],
  ["start", ["Menu", "About"]],
  ["ended", ["Make Ready"]],
  ["ended", ["Hand Over"]],
  ["ended", ["Debrief"]],
  ["ended", ["Debrief", "Carry Over"]],
  ["ended", ["Debrief", "Carry Over", "All Rows"]],
  ["ended", ["Debrief", "Review"]],
  ["ended", ["Debrief", "Keep, Export"]],
];

/** Those that lie further away. */
const FURTHER: [string, (page: Page) => Promise<void>][] = [
  ["the editor", (page) => editor(page)],
  ["the editor, a copy open", unfolded],
  ["the drills", drills],
  ["the score sheet", scoreSheet],
  ["a drill that was stopped", stopped],
  ["drills over time", overTime],
];

/** With fields of each kind and two that are wrong. */
async function unfolded(page: Page): Promise<void> {
  await copied(page);
  for (const group of await page.locator("details.group").all()) {
    await group.evaluate((e) => { (e as HTMLDetailsElement).open = true; });
  }
  await page.locator(".field input").first().fill("170");
  await page.keyboard.press("Tab");
  await page.locator(".field.wrong").first().waitFor();
}

async function reach(page: Page, from: string, keys: readonly string[], labels: object = {}): Promise<void> {
  await open(page, from, {}, labels);
  for (const key of keys) {
    await seen(page, key).first().waitFor({ timeout: 2_000 }).catch(() => undefined);
    for (let turned = 0; turned < 4 && (await seen(page, key).count()) === 0; turned += 1) {
      await seen(page, "More").press("Enter");
    }
    await seen(page, key).first().press("Enter");
  }
  if (["Debrief", "Past Runs", "Protocol", "Settings", "About", "Ready Check"].includes(keys.at(-1) ?? "")) {
    await page.locator(".body h1").waitFor();
  }
}

/** What axe-core finds, as sentences. */
async function violations(page: Page, themes: readonly string[]): Promise<string[]> {
  return page.evaluate(async (themes) => {
    interface Found {
      violations: { id: string; help: string; nodes: { html: string }[] }[];
    }
    const { axe } = window as unknown as { axe: { run: (on: Document, how: object) => Promise<Found> } };
    const before = document.documentElement.dataset["theme"];
    const all: string[] = [];
    for (const [n, theme] of themes.entries()) {
      document.documentElement.dataset["theme"] = theme;
      // Only the colours differ from the second set on.
      const how = n === 0
        ? { runOnly: ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"] }
        : { runOnly: { type: "rule", values: ["color-contrast", "link-in-text-block"] } };
      const { violations } = await axe.run(document, { ...how, resultTypes: ["violations"] });
      for (const { id, help, nodes } of violations) {
        all.push(`${theme}: ${id}, ${help}: ${nodes.map(({ html }) => html.slice(0, 160)).join(" | ")}`);
      }
    }
    if (before !== undefined) document.documentElement.dataset["theme"] = before;
    return all;
  }, themes);
}

test.describe("axe-core", () => {
  test.beforeEach(async ({ page }) => {
    await page.addInitScript({ path: AXE });
    await page.setViewportSize({ width: 390, height: 844 });
  });

  test("finds nothing on any card, in any colours", async ({ page }) => {
    test.setTimeout(240_000);
    const faults: string[] = [];
    for (const [n, name] of NAMES.entries()) {
      await turn(page, NAMES[n - 1], name);
      faults.push(...(await violations(page, THEMES)).map((fault) => `${name}: ${fault}`));
    }
    await open(page, "hand_ratio", { covered: true });
    faults.push(...(await violations(page, THEMES)).map((fault) => `covered: ${fault}`));
    expect(faults).toEqual([]);
  });

  test("finds nothing on any page or sheet, in any colours", async ({ page }) => {
    test.setTimeout(240_000);
    const faults: string[] = [];
    for (const [from, keys] of BEHIND) {
      await reach(page, from, keys);
      const where = [from, ...keys].join(", ");
      faults.push(...(await violations(page, THEMES)).map((fault) => `${where}: ${fault}`));
    }
    for (const [where, go] of FURTHER) {
      await go(page);
      faults.push(...(await violations(page, THEMES)).map((fault) => `${where}: ${fault}`));
    }
    for (const state of Object.keys(FACES.listening)) {
      await listening(page, state);
      faults.push(...(await violations(page, THEMES)).map((fault) => `listening, ${state}: ${fault}`));
    }
    expect(faults).toEqual([]);
  });

  /** What finds nothing may look at nothing. */
  test("finds a key without a name and grey words", async ({ page }) => {
    await open(page, "hand_ratio");
    await page.evaluate(() => {
      const key = document.querySelector("button.main") as HTMLElement;
      key.innerHTML = "";
      (document.querySelector("p.question") as HTMLElement).style.color = "#333";
    });
    const found = (await violations(page, ["day"])).join();
    expect(found).toContain("button-name");
    expect(found).toContain("color-contrast");
  });
});

test("who listens hears the state and the question, and no running clock", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  const lives = (): Promise<string[][]> =>
    page.evaluate(() =>
      [...document.querySelectorAll("[aria-live], [role=alert], [role=status], [role=timer]")]
        .filter((e) => (e.textContent ?? "").trim() !== "" && e.getAttribute("aria-live") !== "off")
        .map((e) => [
          e.getAttribute("role") ?? e.getAttribute("aria-live") ?? "",
          (e.textContent ?? "").replace(/\s+/g, " ").trim(),
        ]),
    );
  for (const name of ["hand_ratio", "check_full", "stopped_full", "pulse_again"]) {
    await open(page, name);
    const all = await lives();
    const face = FACES.screens[name]?.face as unknown as { state_text: string; question: string; said: unknown };
    expect(all, name).toContainEqual(["polite", face.state_text]);
    if (face.said === null) expect(all, name).toContainEqual(["polite", face.question]);
    // A time that runs would be read out each second.
    expect(all.filter(([, text]) => /\d:\d\d/.test(text ?? "")), name).toEqual([]);
  }
  // Said by the phone's own voice: not read over it. Not said by it, and pressing: read at once.
  const said = { text: "Off: ten seconds.", at: 0, beside: false };
  await open(page, "hands_off", { said: { ...said, alert: false } });
  expect((await lives()).map(([, text]) => text)).not.toContain(said.text);
  await open(page, "hands_off", { said: { ...said, alert: true } });
  expect(await lives()).toContainEqual(["alert", said.text]);
});

test("on a silent phone what is not of the card's keys is a remark, and stands for the question where none has room", async ({ page }) => {
  const said = { text: "Epinephrine is due.", at: 0, alert: true, beside: true };
  const notes = [{ text: said.text, at: null }];
  const { question } = FACES.screens["cup"]?.face as unknown as { question: string };
  const shown = page.locator("p.question");
  for (const [width, height, isRoom] of [[390, 844, true], [640, 360, false]] as const) {
    await page.setViewportSize({ width, height });
    await open(page, "cup", { said, notes });
    await expect(shown).toHaveText(isRoom ? question : said.text);
    await expect(page.locator(".notes")).toHaveCount(isRoom ? 1 : 0);
    await expect(page.getByRole("alert").filter({ hasText: said.text })).toHaveCount(1);
  }
});

test("a sheet takes the keyboard in, Escape gives it back, and Tab finds every key in order", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  await open(page, "device_ratio");
  const name = (): Promise<string> =>
    page.evaluate(() => {
      const e = document.activeElement as HTMLElement;
      return (e.getAttribute("aria-label") ?? e.innerText).trim();
    });
  const round: string[] = [];
  for (let n = 0; n < 8; n += 1) {
    await page.keyboard.press("Tab");
    round.push(await name());
  }
  // From the top down, as the eye goes.
  expect(round.slice(0, 7).sort()).toEqual(
    ["Other Colors", "Set Right", "Moving", "Airway In", "Paused", "Device Stopped", "Mark"].sort(),
  );
  expect(round.slice(0, 2)).toEqual(["Other Colors", "Set Right"]);
  await seen(page, "Mark").focus();
  await page.keyboard.press("Enter");
  expect(await page.evaluate(() => document.activeElement?.getAttribute("role"))).toBe("dialog");
  await page.keyboard.press("Tab");
  expect(await page.evaluate(() => document.activeElement?.closest("[role=dialog]") !== null)).toBe(true);
  await page.keyboard.press("Escape");
  expect(await name()).toBe("Mark");
});

/** What has the keyboard, by its name. */
const focused = (page: Page): Promise<string> =>
  page.evaluate(() => {
    const e = document.activeElement;
    return e === null || e === document.body ? "nothing" : (e.getAttribute("aria-label") ?? (e as HTMLElement).innerText).trim();
  });

test("sheets behind sheets give the keyboard back to the key that opened the first", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  for (const [from, keys, opener] of [
    ["hand_ratio", ["Mark", "Times, Sound", "Screen", "Glare"], "Mark"],
    ["hand_ratio", ["Mark", "Moves, Tasks", "Back", "Close"], "Mark"],
    ["device_ratio", ["Set Right", "By Hand", "2 min"], "Set Right"],
    ["began_earlier", ["Set Right", "Hand Over", "Back", "Close"], "Set Right"],
    ["hands_off", ["Why?", "Pulse Check"], "Why?"],
    ["start", ["Menu", "Screen", "Glare"], "Menu"],
  ] as const) {
    await reach(page, from, keys);
    await expect(page.getByRole("dialog")).toHaveCount(0);
    await expect.poll(() => focused(page), [from, ...keys].join(", ")).toBe(opener);
  }
});

test("a key that its own press takes away leaves the keyboard with the answer, and no second press counts there", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  const show = (name: string): Promise<void> =>
    page.evaluate((screen) => { (window as unknown as { show: (s: object) => void }).show(screen); }, FACES.screens[name] as object);
  const answer = (name: string): string => FACES.screens[name]?.face.main[0]?.label ?? "";
  const acts = async (): Promise<unknown[]> =>
    (await sent(page)).filter(({ command }) => command === "press").map(({ args }) => args["act"]);
  await open(page, "hand_ratio");
  await seen(page, "Hands Off").press("Enter");
  await show("hands_off");
  await expect.poll(() => focused(page)).toBe(answer("hands_off"));
  await page.keyboard.press("Enter");
  expect(await acts()).toEqual(["hands_off"]);
  await page.waitForTimeout(REPEAT_MS);
  await page.keyboard.press("Enter");
  expect(await acts()).toEqual(["hands_off", FACES.screens["hands_off"]?.face.main[0]?.act]);
  // Held, the key goes on sending: nothing of it is for what comes next.
  await open(page, "hand_ratio");
  await seen(page, "Hands Off").focus();
  await page.keyboard.down("Enter");
  await show("hands_off");
  await expect.poll(() => focused(page)).toBe(answer("hands_off"));
  await page.waitForTimeout(REPEAT_MS + 100);
  for (let n = 0; n < 3; n += 1) await page.keyboard.down("Enter");
  await page.keyboard.up("Enter");
  expect(await acts()).toEqual(["hands_off"]);
  // A key that stays keeps it, and where nothing had it nothing is given it.
  await seen(page, "Mark").focus();
  await show("hand_ratio");
  await page.evaluate(() => new Promise(requestAnimationFrame));
  expect(await focused(page)).toBe("Mark");
  await open(page, "hand_ratio");
  await show("hands_off");
  await page.evaluate(() => new Promise(requestAnimationFrame));
  expect(await focused(page)).toBe("nothing");
});

for (const theme of THEMES) {
  test(`the focus is seen on every ground, ${theme}`, async ({ page }) => {
    await page.setViewportSize({ width: 390, height: 844 });
    for (const [from, keys] of [["hand_ratio", []], ["hands_off", []], ["hand_ratio", ["Mark"]], ["start", ["Menu", "Settings"]]] as const) {
      await reach(page, from, keys, { theme });
      await page.evaluate((t) => { document.documentElement.dataset["theme"] = t; }, theme);
      for (let n = 0; n < 7; n += 1) {
        await page.keyboard.press("Tab");
        // Beyond the last key.
        if (await page.evaluate(() => document.activeElement === document.body)) break;
        const ring = await focusRing(page);
        expect(ring.wide, ring.name).toBeGreaterThanOrEqual(3);
        expect(ring.rings, ring.name).toBeGreaterThanOrEqual(9);
        expect(ring.ground, ring.name).toBeGreaterThanOrEqual(3);
      }
    }
  });
}

/** A browser's own setting, as a phone's "font size" gives it: 32 px in place of 16. */
test("letters of twice the size lose nothing outside the live view", async ({ page }) => {
  test.setTimeout(120_000);
  await page.setViewportSize({ width: 390, height: 844 });
  const browser = await page.context().newCDPSession(page);
  const letters = (px: number): Promise<unknown> =>
    browser.send("Page.setFontSizes", { fontSizes: { standard: px, fixed: px } } as never);
  const sizes = (): Promise<number[]> =>
    page.evaluate(() =>
      [
        ...document.querySelectorAll(
          ".body :is(p, li, td, small, dt, dd, h3, label, summary, select, textarea, .go), .field input[type=text], " +
            "#draft-place, .text li, .text p, .told > header > *",
        ),
      ]
        .filter((e) => (e.textContent ?? "").trim() !== "" || e.matches("input"))
        .filter((e) => e.closest("[inert], footer") === null)
        .map((e) => parseFloat(getComputedStyle(e).fontSize)),
    );
  // The keys of a sheet fill the glass as they are, and so does its head: the menu and the page of the screen.
  const isOfKeys = (keys: readonly string[]): boolean => keys.includes("Screen") || keys.join() === "Menu";
  const pages = BEHIND.filter(([from, keys]) => ["start", "ended"].includes(from) && !isOfKeys(keys));
  const all: [string, (page: Page) => Promise<void>][] = [
    ...[...pages, ["start", []] as const, ["ended", []] as const].map(
      ([from, keys]): [string, (page: Page) => Promise<void>] => [[from, ...keys].join(", "), (page) => reach(page, from, keys)],
    ),
    ...FURTHER,
  ];
  for (const [where, go] of all) {
    await test.step(where, async () => {
      await letters(16);
      await go(page);
      const before = await sizes();
      await letters(32);
      // A page that is measured is laid out again after the first frame.
      for (let n = 0; n < 3; n += 1) await page.evaluate(() => new Promise(requestAnimationFrame));
      const after = await sizes();
      expect(after.length).toBe(before.length);
      before.forEach((px, n) => {
        expect(after[n] ?? 0, `letters of ${px} px`).toBeGreaterThanOrEqual(Math.min(px * 2, 40) - 0.01);
      });
      const lost = await page.evaluate(() => {
        const faults: string[] = [];
        const root = document.querySelector(".page:not([inert])") ?? document.body;
        const walker = document.createTreeWalker(root, NodeFilter.SHOW_TEXT);
        for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
          const e = node.parentElement;
          const text = node.textContent?.trim() ?? "";
          if (e === null || text === "" || e.closest("svg, thead, [aria-hidden=true]") !== null) continue;
          const range = document.createRange();
          range.selectNodeContents(node);
          for (const box of range.getClientRects()) {
            if (box.left < -0.5 || box.right > innerWidth + 0.5) faults.push(`"${text.slice(0, 40)}" leaves the glass`);
            for (let up: Element | null = e; up !== null; up = up.parentElement) {
              const { overflowX, overflowY } = getComputedStyle(up);
              const room = up.getBoundingClientRect();
              if (up.matches("button") && (box.left < room.left - 0.5 || box.right > room.right + 0.5)) {
                faults.push(`"${text.slice(0, 40)}" leaves its key`);
              }
              // What can be scrolled to is not lost; what is cut is.
              const scrolls = ["auto", "scroll"].includes(overflowY);
              if (scrolls) break;
              const cuts = ["hidden", "clip"].includes(overflowX) || ["hidden", "clip"].includes(overflowY);
              if (cuts && (box.bottom > room.bottom + 1 || box.top < room.top - 1)) {
                faults.push(`"${text.slice(0, 40)}" is cut by ${up.className || up.tagName}`);
              }
            }
          }
        }
        for (const e of document.querySelectorAll(".body, .text")) {
          if (e.scrollWidth > e.clientWidth + 1) faults.push(`${e.className} is ${e.scrollWidth - e.clientWidth} px too narrow`);
        }
        return faults;
      });
      expect(lost).toEqual([]);
    });
  }
  // The live view is as large as it goes already, and stays so.
  await letters(16);
  await open(page, "hand_ratio");
  const px = (): Promise<number[]> =>
    page.evaluate(() => [...document.querySelectorAll("h1, strong, .question, button")].map((e) => parseFloat(getComputedStyle(e).fontSize)));
  const before = await px();
  await letters(32);
  await page.evaluate(() => new Promise(requestAnimationFrame));
  expect(await px()).toEqual(before);
  await letters(16);
});

test("with colours of the reader's own, words stand out and hands off is turned round", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  await page.emulateMedia({ forcedColors: "active" });
  for (const name of ["hand_ratio", "hands_off", "check", "device_continuous", "start", "ended"]) {
    await open(page, name);
    expect(await contrastFaults(page, ["day"], true), name).toEqual([]);
  }
  await open(page, "hands_off");
  const grounds = await page.evaluate(() =>
    [".panel", "main", "button.main"].map((e) => getComputedStyle(document.querySelector(e) as Element).backgroundColor),
  );
  const [panel, card, answer] = grounds;
  expect(panel).not.toBe(card);
  expect(answer).not.toBe(card);
  // They are the reader's: none of ours is left.
  expect(grounds.join()).not.toContain("172, 115");
  await page.emulateMedia({ forcedColors: "none" });
});

test("with less motion a hold is seen to fill by steps", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  const pace = async (): Promise<string> => {
    await open(page, "hand_ratio");
    await seen(page, "Mark").press("Enter");
    await seen(page, "Hold to End").hover();
    await page.mouse.down();
    const found = await page.locator(".holding .fill").evaluate((e) => getComputedStyle(e).transitionTimingFunction);
    await page.mouse.up();
    return found;
  };
  expect(await pace()).toBe("linear");
  await page.emulateMedia({ reducedMotion: "reduce" });
  expect(await pace()).toContain("steps(3");
});

test("with less motion the light of the beat does not flash, and the count goes on", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  /** How often the light was lit, and what was counted, in a second of ten beats. */
  const seenLit = async (): Promise<[number, string]> => {
    await open(page, "hand_ratio");
    return page.evaluate(async (now) => {
      const { show } = window as unknown as { show: (s: object, kind: string) => void };
      show({ now, pulses: Array.from({ length: 10 }, (_, n) => ({ at: now + n * 100, kind: "beat", n })) }, "beat");
      let lit = 0;
      const until = performance.now() + 1_200;
      while (performance.now() < until) {
        await new Promise(requestAnimationFrame);
        if (document.querySelector(".light .lit") !== null) lit += 1;
      }
      return [lit, document.querySelector(".numeral strong")?.textContent?.trim() ?? ""];
    }, (FACES.screens["hand_ratio"] as unknown as { now: number }).now);
  };
  const [lit, counted] = await seenLit();
  expect(lit).toBeGreaterThan(5);
  expect(counted).toBe("10");
  await page.emulateMedia({ reducedMotion: "reduce" });
  expect(await seenLit()).toEqual([0, "10"]);
});
