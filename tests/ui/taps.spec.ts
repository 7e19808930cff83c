/**
 * The page walked from every state: each mark of the one-tap list in one tap, every other one by the
 * fewest taps that the page allows. The table is written to `out/ui/taps.md`.
 */
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";

import { expect, type Page, test } from "@playwright/test";

import { FACES, open, sent } from "./page.ts";

/**
 * One tap, by state: the project's page of the design, section 4, in the names of its page of words.
 * Where the state has the device beside or the check near, its own keys stand first.
 */
const ONE_TAP: Record<string, string[]> = {
  hand_ratio: ["Hands Off", "Airway In", "Fit Device"],
  hand_continuous: ["Hands Off", "Airway Lost", "Fit Device"],
  device_ratio: ["Paused", "Stopped", "Moving", "Airway In"],
  device_continuous: ["Paused", "Stopped", "Moving", "Airway Lost"],
  hands_off: ["Hands On", "Device Running", "Check", "Airway"],
  check: ["Shocked, Back On", "No Shock, Back On", "Pulse Back", "Shock Now"],
  moving: ["Set Down"],
  cup: ["Cup Good", "Re-seat"],
  power: ["Swapped", "By Hand"],
};
const ALWAYS = ["Mark", "Undo", "Set Right"];

/** Presses a key by the keyboard: no finger waits for the filter. */
async function tap(page: Page, name: string): Promise<void> {
  await page.getByRole("button", { name, exact: true }).press("Enter");
}

interface Seen {
  name: string;
  leads: boolean;
}

async function keys(page: Page): Promise<Seen[]> {
  return page.evaluate(() =>
    [...document.querySelectorAll("button")]
      .filter((b) => b.closest("[inert]") === null && !b.disabled)
      .map((b) => ({
        name: (b.getAttribute("aria-label") ?? b.innerText).replace(/\s+/g, " ").trim(),
        leads: b.ariaHasPopup === "dialog",
      })),
  );
}

/** Every mark with the fewest taps that lead to it: on the card, behind Mark, on a page behind it. */
async function walk(page: Page, name: string): Promise<Map<string, number>> {
  const taps = new Map<string, number>();
  const labels = FACES.labels;
  const found = (seen: Seen[], n: number): void => {
    for (const { name: key, leads } of seen) {
      const own = [labels["close"], labels["back"], labels["more"], labels["turn"], labels["hold_end"]];
      if (!leads && !own.includes(key) && !taps.has(key)) taps.set(key, n);
    }
  };
  /** A sheet's pages, one tap of More each. */
  const leafThrough = async (n: number): Promise<void> => {
    const first = await keys(page);
    found(first, n);
    if (first.some((key) => key.name === labels["more"])) {
      for (let extra = 1; extra < 8; extra += 1) {
        await tap(page, labels["more"] ?? "");
        const next = await keys(page);
        if (next[0]?.name === first[0]?.name) break;
        found(next, n + extra);
      }
    }
  };
  await open(page, name);
  found((await keys(page)).filter((key) => key.name !== labels["undo"]), 1);
  await tap(page, labels["mark"] ?? "");
  const ways = (await keys(page)).filter((key) => key.leads);
  await leafThrough(2);
  for (const way of ways) {
    await open(page, name);
    await tap(page, labels["mark"] ?? "");
    await tap(page, way.name);
    await leafThrough(3);
  }
  return taps;
}

const LIVE = Object.entries(FACES.screens)
  .filter(([, { face }]) => face.card !== "before" && face.card !== "ended")
  .map(([name]) => name);

for (const size of [
  { width: 360, height: 640, most: 4 },
  { width: 390, height: 844, most: 3 },
  { width: 844, height: 390, most: 3 },
]) {
  test(`taps to every mark from every state at ${size.width}x${size.height}`, async ({ page }) => {
    test.setTimeout(600_000);
    await page.setViewportSize(size);
    const rows: string[] = [];
    for (const name of LIVE) {
      const { face } = FACES.screens[name] ?? { face: undefined };
      if (face === undefined) continue;
      const taps = await walk(page, name);
      await test.step(name, () => {
        for (const { label } of [...face.main, ...face.side]) {
          expect(taps.get(label), `${name}: ${label} on the card`).toBe(1);
        }
        for (const { label } of face.sheet) {
          expect(taps.get(label) ?? Infinity, `${name}: ${label}`).toBeLessThanOrEqual(size.most);
        }
        for (const label of ONE_TAP[name] ?? []) {
          expect(taps.get(label), `${name}: ${label} is on the one-tap list`).toBe(1);
        }
      });
      const by = (n: number): string =>
        [...taps].filter(([, t]) => t === n).map(([label]) => label).join(", ");
      rows.push(`| ${name} | ${[1, 2, 3, 4].map(by).join(" | ")} |`);
    }
    const folder = join(import.meta.dirname, "../../out");
    mkdirSync(folder, { recursive: true });
    writeFileSync(
      join(folder, `taps-${size.width}x${size.height}.md`),
      `| state | one tap | two | three | four |\n|---|---|---|---|---|\n${rows.join("\n")}\n`,
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

test("a mark two or three taps away is sent, and the sheet is gone", async ({ page }) => {
  await page.setViewportSize({ width: 360, height: 640 });
  await open(page, "hand_ratio");
  const { face } = FACES.screens["hand_ratio"] ?? { face: undefined };
  for (const { act, label } of face?.sheet ?? []) {
    await open(page, "hand_ratio");
    await tap(page, "Mark");
    const at = (): Promise<number> => page.getByRole("button", { name: label, exact: true }).count();
    if ((await at()) === 0) {
      for (const way of (await keys(page)).filter((key) => key.leads)) {
        await tap(page, way.name);
        for (let n = 0; n < 3 && (await at()) === 0; n += 1) {
          const more = page.getByRole("button", { name: "More", exact: true });
          if ((await more.count()) === 0) break;
          await more.press("Enter");
        }
        if ((await at()) > 0) break;
        await tap(page, "Back");
      }
    }
    await tap(page, label);
    expect((await sent(page)).map(({ args }) => args["act"])).toEqual([act]);
    await expect(page.getByRole("dialog")).toHaveCount(0);
  }
});
