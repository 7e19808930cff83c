/**
 * What one glance has to take in, by computation: how large letters stand in the eye at 0.7, 1 and 2 m, how far they
 * stand out, how many words there are. No crew took part. `CARRYBEAT_WRITE=1 npx playwright test glance` writes the
 * tables of `docs/glance.md`; without it they are held against what the page draws.
 */
import { readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";

import { expect, type Page, test } from "@playwright/test";

import { FACES, turn } from "./page.ts";

const PAGE = join(import.meta.dirname, "../../docs/glance.md");
const SIZE = { width: 390, height: 844 };
/** The smallest pitch of common phones. */
const MM_A_PX = 0.155;
const DISTANCES_M = [0.7, 1, 2];
const LIVE = Object.entries(FACES.screens)
  .filter(([, { face }]) => face.card !== "before" && face.card !== "ended")
  .map(([name]) => name);

/** What stands on a card: heights of capitals and digits in px, least contrast, words. */
interface Card {
  figure: number | null;
  state: number;
  next: number | null;
  warning: number | null;
  /** What the crew set itself. */
  chosen: number | null;
  question: number;
  notes: number | null;
  answer: number;
  side: number | null;
  contrast: number;
  words: number;
  keys: number;
}

function look(page: Page): Promise<Card> {
  return page.evaluate(() => {
    const context = document.createElement("canvas").getContext("2d");
    /** How high a letter of this element's font is drawn. */
    const high = (e: Element | null, letter: string): number | null => {
      if (e === null || context === null) return null;
      const { fontWeight, fontSize, fontFamily } = getComputedStyle(e);
      context.font = `${fontWeight} ${fontSize} ${fontFamily}`;
      return context.measureText(letter).actualBoundingBoxAscent;
    };
    const least = (selector: string): number | null => {
      const all = [...document.querySelectorAll(selector)].map((e) => high(e, "H") ?? 0);
      return all.length === 0 ? null : Math.min(...all);
    };
    const rgb = (css: string): number[] => (css.match(/[\d.]+/g) ?? []).map(Number);
    const light = (css: string): number => {
      const [r = 0, g = 0, b = 0] = rgb(css).map((v) => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4));
      return 0.2126 * r + 0.7152 * g + 0.0722 * b;
    };
    const ground = (start: Element): string => {
      for (let e: Element | null = start; e !== null; e = e.parentElement) {
        const css = getComputedStyle(e).backgroundColor;
        if ((rgb(css)[3] ?? 1) === 1) return css;
      }
      return "rgb(255, 255, 255)";
    };
    const count = (text: string): number => text.split(/\s+/).filter((word) => /[\p{L}\p{N}]/u.test(word)).length;
    let contrast = Infinity;
    let [words, keys] = [0, 0];
    const walker = document.createTreeWalker(document.querySelector("main") ?? document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
      const e = node.parentElement;
      const text = node.textContent?.trim() ?? "";
      if (e === null || text === "" || e.getClientRects().length === 0 || e.closest("button:disabled") !== null) continue;
      const [a, b] = [light(getComputedStyle(e).color), light(ground(e))];
      contrast = Math.min(contrast, (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05));
      // The figure is one look, not a word.
      if (e.closest("strong") !== null) continue;
      if (e.closest("button") === null) words += count(text);
      else keys += count(text);
    }
    return {
      figure: high(document.querySelector(".numeral strong"), "0"),
      state: least(".line h1") ?? 0,
      next: least(".second p:not(.named)"),
      warning: least(".banners p:not(.chosen)"),
      chosen: least(".banners p.chosen"),
      notes: least(".notes li"),
      question: least("p.question") ?? 0,
      answer: least("button.main") ?? 0,
      side: least("button.side"),
      contrast,
      words,
      keys,
    };
  });
}

/**
 * Lets the next compression of the run itself be heard where they are counted: the figure stands in a run as it does
 * here. A count without one would stay empty.
 */
async function count(page: Page, name: string): Promise<void> {
  const { face, pulses } = FACES.screens[name] as unknown as {
    face: { figure: { kind: string } };
    pulses: { at: number; kind: string; n: number }[];
  };
  const next = pulses.find(({ kind }) => kind !== "breath");
  if (face.figure.kind === "count" && next !== undefined) {
    await page.evaluate(async (next) => {
      const { show } = window as unknown as { show: (s: object, kind: string) => void };
      show({ now: next.at + 1, pulses: [next] }, "beat");
      for (let drawn = 0; drawn < 3; drawn += 1) await new Promise(requestAnimationFrame);
    }, next);
    await expect(page.locator(".numeral strong")).toHaveText(`${next.n + 1}`);
  }
  expect(await page.locator(".numeral strong").innerText(), `${name}: the figure is empty`).toMatch(/\d/);
}

/** The angle under which so many px are seen from so far, minutes of arc. */
function arcmin(px: number, metres: number): number {
  return ((2 * Math.atan((px * MM_A_PX) / 2000 / metres)) / Math.PI) * 180 * 60;
}

const at = (px: number | null): string =>
  px === null ? "-" : DISTANCES_M.map((d) => arcmin(px, d).toFixed(0)).join(" / ");

test("the angle is that of h = 2 d tan(a/2)", () => {
  // By hand: capitals of 4.07 mm are 20' at 0.7 m, 5.82 mm at 1 m, 11.64 mm at 2 m.
  for (const [mm, d] of [[4.07, 0.7], [5.82, 1], [11.64, 2]] as const) {
    expect(arcmin(mm / MM_A_PX, d)).toBeCloseTo(20, 1);
  }
});

const HEADS = [
  "state",
  "figure",
  "state line",
  "next",
  "warning",
  "set by the crew",
  "question",
  "notes",
  "answer",
  "side acts",
  "least contrast",
  "words read",
  "words on keys",
];

test("the tables of docs/glance.md are what the page draws", async ({ page }) => {
  test.setTimeout(120_000);
  await page.setViewportSize(SIZE);
  const rows: string[] = [];
  const cards = new Map<string, Card>();
  for (const [n, name] of LIVE.entries()) {
    await turn(page, LIVE[n - 1], name);
    await count(page, name);
    const card = await look(page);
    cards.set(name, card);
    const { figure, state, next, warning, chosen, question, notes, answer, side } = card;
    const sizes = [figure, state, next, warning, chosen, question, notes, answer, side].map(at);
    rows.push(`| ${[name, ...sizes, card.contrast.toFixed(1), card.words, card.keys].join(" | ")} |`);
    // Words of keys and questions 16' at arm's length at the least, the figure 20' at 2 m. The words: common practice, no source.
    expect(arcmin(card.question, 0.7), `${name}: question`).toBeGreaterThanOrEqual(16);
    if (warning !== null) expect(arcmin(warning, 0.7), `${name}: warning`).toBeGreaterThanOrEqual(16);
    expect(arcmin(card.answer, 0.7), `${name}: answer`).toBeGreaterThanOrEqual(18);
    if (card.figure !== null) expect(arcmin(card.figure, 2), `${name}: figure`).toBeGreaterThanOrEqual(20);
    expect(card.contrast, name).toBeGreaterThanOrEqual(7);
    expect(card.words, `${name}: words`).toBeLessThanOrEqual(40);
  }
  const table = `| ${HEADS.join(" | ")} |\n|${"---|".repeat(HEADS.length)}\n${rows.join("\n")}\n`;
  const text = readFileSync(PAGE, "utf8");
  const [before = "", , after = ""] = text.split(/<!-- table -->\n/);
  const next = `${before}<!-- table -->\n${table}<!-- table -->\n${after}`;
  if (process.env["CARRYBEAT_WRITE"] !== undefined) writeFileSync(PAGE, next);
  else expect(text, "docs/glance.md: CARRYBEAT_WRITE=1 npx playwright test glance").toBe(next);
  // What the text says of some states is what the table says of them.
  const told = [...before.matchAll(/^\| ([a-z_, ]+) \| (\d+) \| [^|]+ \| ([^|]+) \|$/gm)];
  expect(told.length, "states that were improved").toBe(3);
  for (const [, names = "", words, question] of told) {
    for (const name of names.split(", ")) {
      const card = cards.get(name);
      expect([words, question], `${name} in the text`).toEqual([String(card?.words), at(card?.question ?? 0)]);
    }
  }
});
