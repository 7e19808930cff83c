/**
 * Not a check: every state of the screen in every set of colours, at a phone's size, as `out/gallery`. The
 * faces are those that runs of the rules themselves led to (`faces.json`); the font is the app's own, so the
 * pictures hold still. With CARRYBEAT_WRITE the sheets of all states in `docs/pictures` are made anew.
 */
import { mkdirSync, readdirSync, rmSync, writeFileSync } from "node:fs";
import { join } from "node:path";

import { type Page, test } from "@playwright/test";

import { AFTER, FACES, listening, open } from "./page.ts";
import { BEHIND, drills, editor, overTime, press, scoreSheet, shows, stopped } from "./states.ts";

const ROOT = join(import.meta.dirname, "../..");
const OUT = join(ROOT, "out/gallery");
const THEMES = ["day", "glare", "night"] as const;
const PHONE = { width: 390, height: 844 };
/** The phone on its side. */
const WIDE = { width: PHONE.height, height: PHONE.width };
/** Of a sheet of all states: px of a picture, three tenths of a phone's, and how many stand in a row. */
const UPRIGHT_SHEET = { small: 116, columns: 13 };
const WIDE_SHEET = { small: 252, columns: 6 };

type Theme = (typeof THEMES)[number];
interface State {
  name: string;
  show: (page: Page, theme: Theme) => Promise<void>;
}

/** Drills, each as `docs/drill.md` shows it: as high as it is, where it scrolls. */
const DRILLS: [string, (page: Page) => Promise<void>][] = [
  ["drill-page", drills],
  [
    "drill-running",
    async (page) => {
      const live = AFTER["drill_live"] as object;
      const { face } = FACES.screens["device_ratio"] as { face: object };
      await open(page, "device_ratio");
      // As the app has it in a drill: its banner over the card, what was told in the place of a prompt's words.
      const { banners } = FACES.screens["drill"]?.face as unknown as { banners: object[] };
      const said = { text: AFTER["drill_told"] as unknown as string, at: 0, alert: false };
      await shows(page, "device_ratio", live, { ...face, banners, said });
    },
  ],
  [
    "drill-instructor",
    async (page) => {
      const live = AFTER["drill_live"] as { instructor: string };
      await open(page, "device_ratio");
      await shows(page, "device_ratio", live);
      await press(page, "Mark", live.instructor);
    },
  ],
  ["drill-stopped", stopped],
  [
    "drill-tries",
    async (page) => {
      await scoreSheet(page);
      await page.locator(".strip").first().evaluate((strip) => { strip.parentElement?.querySelector("h2")?.scrollIntoView(); });
    },
  ],
  ["drill-over-time", overTime],
];

/** In colours that it was not opened in. */
async function dressed(page: Page, theme: Theme): Promise<void> {
  await page.evaluate((name) => { document.documentElement.dataset["theme"] = name; }, theme);
}

const STATES: State[] = [
  ...Object.keys(FACES.screens).map((name) => ({
    name,
    show: (page: Page, theme: Theme) => open(page, name, {}, { theme }),
  })),
  { name: "paper_first", show: (page, theme) => open(page, "start", {}, { first: true, theme }) },
  ...BEHIND.map(([name, from, keys]) => ({
    name,
    show: async (page: Page, theme: Theme) => {
      await open(page, from, {}, { theme });
      await press(page, ...keys);
    },
  })),
  ...[undefined, ...Object.keys(FACES.listening)].map((state) => ({
    name: state === undefined ? "listening" : `listening_${state}`,
    show: async (page: Page, theme: Theme) => {
      await listening(page, state);
      await dressed(page, theme);
    },
  })),
  ...DRILLS.map(([name, show]) => ({
    name,
    show: async (page: Page, theme: Theme) => {
      await show(page);
      await dressed(page, theme);
    },
  })),
  { name: "draft_copy", show: (page, theme) => editor(page, { theme }) },
  {
    name: "draft_open",
    show: async (page, theme) => {
      await editor(page, { theme });
      await page.locator("button.go").filter({ hasText: "example-adult" }).first().click();
      await page.locator("details.group").nth(1).locator("summary").first().click();
    },
  },
  {
    name: "draft_faults",
    show: async (page, theme) => {
      await editor(page, { theme });
      await page.locator("button.go").filter({ hasText: "example-adult" }).first().click();
      const beat = page.locator("details.group").nth(1);
      await beat.locator("summary").first().click();
      await beat.locator("input").first().fill("170");
      await page.keyboard.press("Tab");
    },
  },
];

/** Charts come drawn in the colours in force: here all are those of the day. */
const HAS_CHARTS = (AFTER["debrief"] as { strip: unknown }).strip !== null;

for (const theme of THEMES) {
  test(`gallery ${theme}`, async ({ page }) => {
    const folder = join(OUT, theme);
    // What an earlier run left would be counted as well.
    rmSync(folder, { recursive: true, force: true });
    mkdirSync(folder, { recursive: true });
    await page.setViewportSize(PHONE);
    const taken = await pictures(page, STATES, theme, folder);
    if (theme === "day") writeFileSync(join(OUT, "index.html"), index());
    await written(page, taken, theme === "day" ? "states" : `states-${theme}`, UPRIGHT_SHEET);
    const made = readdirSync(folder).filter((file) => file.endsWith(".png"));
    if (made.length !== STATES.length) throw new Error(`${made.length} pictures of ${STATES.length} states`);
  });
}

test("gallery wide", async ({ page }) => {
  const folder = join(OUT, "wide");
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(folder, { recursive: true });
  await page.setViewportSize(WIDE);
  const cards = STATES.filter(({ name }) => name in FACES.screens);
  await written(page, await pictures(page, cards, "day", folder), "states-wide", WIDE_SHEET);
});

/** A picture of each state, in a folder. */
async function pictures(page: Page, states: State[], theme: Theme, folder: string): Promise<[string, Buffer][]> {
  const taken: [string, Buffer][] = [];
  for (const { name, show } of states) {
    await show(page, theme);
    await settled(page);
    // A press is answered in colours for a moment.
    await page.waitForTimeout(120);
    taken.push([name, await page.screenshot({ path: join(folder, `${name}.png`) })]);
  }
  return taken;
}

/** The sheet of all states of the card, where it is asked for. */
async function written(page: Page, taken: [string, Buffer][], name: string, size: typeof UPRIGHT_SHEET): Promise<void> {
  if (process.env["CARRYBEAT_WRITE"] === undefined) return;
  const states = taken.filter(([state]) => state in FACES.screens);
  writeFileSync(join(ROOT, `docs/pictures/${name}.png`), await sheet(page, states, size));
}

/** As a finger would have left it, no key framed for the keyboard; a count has begun. */
async function settled(page: Page): Promise<void> {
  await page.evaluate(() => { (document.activeElement as HTMLElement | null)?.blur(); });
  const counted = page.locator("main:not([inert]) .counts strong");
  if ((await counted.count()) > 0 && (await page.locator(".light.shown").count()) > 0) {
    await counted.filter({ hasText: /\d/ }).waitFor();
  }
}

test("pictures of drills", async ({ page }) => {
  await page.setViewportSize(PHONE);
  mkdirSync(OUT, { recursive: true });
  for (const [name, show] of DRILLS) {
    await show(page);
    // No frame of the keyboard's around what is read.
    await page.evaluate(() => { (document.activeElement as HTMLElement | null)?.blur(); });
    await page.waitForTimeout(400);
    const png = await page.screenshot({ path: join(OUT, `${name}.png`) });
    if (process.env["CARRYBEAT_WRITE"] !== undefined) writeFileSync(join(ROOT, `docs/pictures/${name}.png`), png);
  }
});

/** All states of the card side by side, small: what lies behind them is in the gallery. */
async function sheet(page: Page, taken: [string, Buffer][], { small, columns }: typeof UPRIGHT_SHEET): Promise<Buffer> {
  await page.unroute("http://page.test/**");
  const cells = taken.map(
    ([name, png]) =>
      `<figure><img src="data:image/png;base64,${png.toString("base64")}"><figcaption>${name}</figcaption></figure>`,
  );
  const gap = 8;
  await page.setViewportSize({ width: columns * (small + gap) + gap, height: 400 });
  await page.setContent(
    `<style>body{margin:${gap}px;background:#8a8f94;display:grid;grid-template-columns:repeat(${columns},${small}px);` +
      `gap:${gap}px;font:10px sans-serif}figure{margin:0}img{display:block;width:${small}px}` +
      `figcaption{overflow:hidden;text-overflow:ellipsis;white-space:nowrap}</style>${cells.join("")}`,
  );
  await page.waitForTimeout(500);
  return page.screenshot({ fullPage: true });
}

/** A page without a script: a row for each state, a column for each set of colours. */
function index(): string {
  const rows = STATES.map(({ name }) => {
    const cells = THEMES.map((theme) => `<td><img loading="lazy" src="${theme}/${name}.png" alt="${name}, ${theme}"></td>`);
    return `<tr id="${name}"><th><a href="#${name}">${name}</a></th>${cells.join("")}</tr>`;
  });
  const heads = THEMES.map((theme) => `<th>${theme}</th>`).join("");
  const note = HAS_CHARTS ? "<p>Charts are drawn by the app in the colours in force; here all are those of the day.</p>" : "";
  return (
    `<!doctype html><meta charset="utf-8"><title>Carrybeat: every state</title>` +
    `<style>body{margin:16px;background:#8a8f94;font:16px sans-serif}th{position:sticky;top:0;background:#8a8f94;text-align:left}` +
    `td img{display:block;width:${PHONE.width}px}td{padding:4px}</style>` +
    `<h1>Every state, in day, glare and night</h1><p>All cases are invented.</p>${note}` +
    `<table><thead><tr><th></th>${heads}</tr></thead><tbody>${rows.join("")}</tbody></table>\n`
  );
}
