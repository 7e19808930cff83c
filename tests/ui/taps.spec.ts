/**
 * The page walked from every state: each mark of the one-tap list in one tap, every other one by the
 * fewest taps that the page allows. The table is written to `out/taps-*.md`.
 */
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";

import { expect, type Page, test } from "@playwright/test";

import { FACES, FULL, open, seen, sent } from "./page.ts";

/**
 * One tap, by state: the project's page of the design, section 4, in the names of its page of words.
 * Where the state has the device beside or the check near, its own keys stand first.
 */
const ONE_TAP: Record<string, string[]> = {
  hand_ratio: ["Hands Off", "Airway In", "Fit Device"],
  hand_continuous: ["Hands Off", "Airway Lost", "Fit Device"],
  device_ratio: ["Paused", "Device Stopped", "Moving", "Airway In"],
  device_continuous: ["Paused", "Device Stopped", "Moving", "Airway Lost"],
  hands_off: ["Hands On", "Device Running", "Check", "Airway"],
  check: ["Shocked, Back On", "No Shock, Back On", "Pulse Back", "Shock Now"],
  moving: ["Set Down"],
  cup: ["Cup Good", "Re-seat"],
  power: ["Swapped", "By Hand"],
};
const ALWAYS = ["Mark", "Undo", "Set Right"];

/** Presses a key by the keyboard: no finger waits for the filter. */
async function tap(page: Page, name: string): Promise<void> {
  await seen(page, name).press("Enter");
}

/** The names of the keys to press for a mark, the mark's own last. */
type Ways = Map<string, string[]>;

/**
 * Every mark with the fewest taps that lead to it: on the card, behind Mark, and on the pages behind
 * it, however deep. Each page is reached anew by its keys from the card. A mark that is entered on a
 * page of its own counts where its page is opened.
 */
async function walk(page: Page, name: string): Promise<Ways> {
  await open(page, name);
  const { labels } = FACES;
  const own = ["close", "back", "more", "turn", "hold_end", "undo"].map((key) => labels[key] ?? "");
  const marks = FACES.screens[name]?.face.sheet.map(({ label }) => label) ?? [];
  const found = await page.evaluate(
    async ({ own, marks, mark, more }) => {
      const found: Record<string, string[]> = {};
      // Clicks without a finger, as a screen reader's: no waiting for the filter.
      const drawn = (): Promise<void> => new Promise((done) => setTimeout(done, 0));
      const keys = (): { name: string; leads: boolean; node: HTMLElement }[] =>
        [...document.querySelectorAll("button")]
          .filter((b) => b.closest("[inert]") === null && !b.disabled)
          .map((node) => ({
            name: (node.getAttribute("aria-label") ?? node.innerText).replace(/\s+/g, " ").trim(),
            leads: node.ariaHasPopup === "dialog",
            node,
          }));
      const arrive = async (way: string[]): Promise<void> => {
        for (let n = 0; n < 8; n += 1) {
          const sheet = document.querySelector("[role=dialog]");
          if (sheet === null) break;
          sheet.dispatchEvent(new KeyboardEvent("keydown", { key: "Escape", bubbles: true }));
          await drawn();
        }
        for (const step of way) {
          const key = keys().find(({ name }) => name === step);
          if (key === undefined) throw new Error(`${way.join(", ")}: no ${step}`);
          key.node.click();
          await drawn();
        }
      };
      const find = (way: string[]): void => {
        for (const { name, leads } of keys()) {
          const known = found[name]?.length ?? Infinity;
          if ((!leads || marks.includes(name)) && !own.includes(name) && way.length + 1 < known) {
            found[name] = [...way, name];
          }
        }
      };
      /** A page and its further pages, one tap of More each; then the pages behind it. */
      const leaf = async (way: string[]): Promise<void> => {
        await arrive(way);
        const ways = new Map<string, string[]>();
        const first = keys()[0]?.name;
        let so = way;
        for (let turned = 0; turned < 8; turned += 1) {
          find(so);
          for (const { name, leads } of keys()) {
            if (leads && !marks.includes(name) && !ways.has(name)) ways.set(name, [...so, name]);
          }
          const on = keys().find(({ name, leads }) => name === more && !leads);
          if (on === undefined) break;
          on.node.click();
          await drawn();
          so = [...so, more];
          if (keys()[0]?.name === first) break;
        }
        for (const next of ways.values()) await leaf(next);
      };
      find([]);
      await leaf([mark]);
      return found;
    },
    { own, marks, mark: labels["mark"] ?? "", more: labels["more"] ?? "" },
  );
  return new Map(Object.entries(found));
}

const LIVE = Object.entries(FACES.screens)
  .filter(([, { face }]) => face.card !== "before" && face.card !== "ended")
  .map(([name]) => name);

/** Answers, and where the card asks for them the reasons: they are never further than two taps. */
const ANSWERS = /^(still|heard)_/;

/**
 * A state has 43 to 66 marks behind Mark and a page holds 6, 8 or 10 keys of the size that wet gloves
 * need, so not every one can be two taps away: with ways to six or seven pages on the first one, all
 * others are three away wherever they fit on a page, four where a page is full or where the reasons
 * of hands off take the place of ways, and five on the smallest screens.
 */
for (const size of [
  { width: 360, height: 640, most: 5, asking: 5 },
  { width: 390, height: 844, most: 4, asking: 5 },
  { width: 844, height: 390, most: 4, asking: 5 },
].filter(({ width }) => FULL || width === 390)) {
  test(`taps to every mark from every state at ${size.width}x${size.height}`, async ({ page }) => {
    test.setTimeout(900_000);
    await page.setViewportSize(size);
    const rows: string[] = [];
    for (const name of LIVE) {
      const { face } = FACES.screens[name] ?? { face: undefined };
      if (face === undefined) continue;
      const found = await walk(page, name);
      const taps = new Map([...found].map(([label, way]) => [label, way.length]));
      await test.step(name, () => {
        for (const { label } of [...face.main, ...face.side]) {
          expect(taps.get(label), `${name}: ${label} on the card`).toBe(1);
        }
        const asks = face.card === "hands_off";
        // Wide, the ways of hands off and one answer are one more than the first page holds.
        const full = asks || (size.width > size.height && face.state === "hands_off");
        const most = full ? size.asking : size.most;
        for (const { act, label } of face.sheet) {
          const isAnswer = ANSWERS.test(act);
          const isReason = asks && size.height > 700 && act.startsWith("why_");
          expect(taps.get(label) ?? Infinity, `${name}: ${label}`).toBeLessThanOrEqual(
            isAnswer || isReason ? 2 : most,
          );
        }
        for (const label of ONE_TAP[name] ?? []) {
          expect(taps.get(label), `${name}: ${label} is on the one-tap list`).toBe(1);
        }
      });
      const by = (n: number): string =>
        [...taps].filter(([, t]) => t === n).map(([label]) => label).join(", ");
      rows.push(`| ${name} | ${[1, 2, 3, 4, 5].map(by).join(" | ")} |`);
    }
    const folder = join(import.meta.dirname, "../../out");
    mkdirSync(folder, { recursive: true });
    writeFileSync(
      join(folder, `taps-${size.width}x${size.height}.md`),
      `| state | one tap | two | three | four | five |\n|---|---|---|---|---|---|\n${rows.join("\n")}\n`,
    );
  });
}

test("what is always one tap away is so in every state", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  for (const name of LIVE) {
    await open(page, name);
    const names = await page.evaluate(() =>
      [...document.querySelectorAll("button")].map((b) =>
        (b.getAttribute("aria-label") ?? b.innerText).trim(),
      ),
    );
    for (const key of ALWAYS) {
      expect(names, name).toContain(key);
    }
  }
});

test("each mark behind Mark is sent, or opens the page on which it is entered", async ({ page }) => {
  test.setTimeout(240_000);
  await page.setViewportSize({ width: 360, height: 640 });
  const { face } = FACES.screens["hand_ratio"] ?? { face: undefined };
  const found = await walk(page, "hand_ratio");
  expect(face?.sheet.length).toBeGreaterThan(40);
  for (const { act, label } of face?.sheet ?? []) {
    await open(page, "hand_ratio");
    for (const key of found.get(label) ?? []) await tap(page, key);
    if (["co2", "other_drug", "before_us"].includes(act)) {
      expect(await sent(page)).toEqual([]);
      await expect(page.getByRole("dialog")).toHaveCount(1);
    } else {
      expect((await sent(page)).map(({ args }) => args["act"])).toEqual([act]);
      await expect(page.getByRole("dialog")).toHaveCount(0);
    }
  }
});
