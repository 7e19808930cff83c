/** Where things stand on the cards of a run: keys in the place that a crew has learnt, and what is no key apart from them. */
import { expect, test } from "@playwright/test";

import { boxes, gap } from "./fit.ts";
import { FACES, open, seen } from "./page.ts";

const UPRIGHT = { width: 390, height: 844 };
const WIDE = { width: 844, height: 390 };

test("Menu stands in one place on every start card", async ({ page }) => {
  const starts = Object.entries(FACES.screens).filter(([, { face }]) => face.card === "before").map(([name]) => name);
  expect(starts.length).toBeGreaterThan(1);
  for (const size of [UPRIGHT, WIDE]) {
    await page.setViewportSize(size);
    const rights: number[] = [];
    for (const name of starts) {
      await open(page, name);
      const box = (await boxes(page)).find((one) => one.name === FACES.labels["menu"]);
      rights.push((box?.x ?? 0) + (box?.width ?? 0));
    }
    expect(new Set(rights).size, `${size.width}: ${rights.join()}`).toBe(1);
  }
});

test("the block of a question that is due is not taken for a key", async ({ page }) => {
  await page.setViewportSize(UPRIGHT);
  for (const name of ["check_due", "check_over", "pads_on", "check"]) {
    await open(page, name);
    const [block] = await boxes(page, ".question.urgent");
    const sides = (await boxes(page, "button.side")).filter(({ width }) => width > 0);
    expect(sides.length, name).toBeGreaterThan(0);
    for (const side of sides) {
      expect(block && gap(block, side), `${name}: to ${side.name}`).toBeGreaterThanOrEqual(16);
    }
    const row = Math.max(...sides.map(({ x, width }) => x + width)) - Math.min(...sides.map(({ x }) => x));
    expect(block?.width, `${name} wide`).toBeLessThan(row - 20);
  }
});

test("what the figure counts is parted from the reason", async ({ page }) => {
  await page.setViewportSize(UPRIGHT);
  for (const [name, told] of [
    ["airway_try", "off the chest: airway"],
    ["still_off", "off the chest: why?"],
    ["first_breaths", "to go: breaths"],
    ["hand_ratio", "compression"],
  ] as const) {
    await open(page, name);
    const spans = await page.locator(".numeral small span").allTextContents();
    expect(spans.join(" ").toLowerCase(), name).toBe(told);
  }
});

test("two words do not fill a key beside the figure to its edge", async ({ page }) => {
  await page.setViewportSize(WIDE);
  await open(page, "hand_ratio");
  for (const key of ["Airway In", "Fit Device"]) {
    const room = await seen(page, key).evaluate((button) => {
      const words = button.firstElementChild?.getBoundingClientRect();
      return words === undefined ? 0 : (button.getBoundingClientRect().width - words.width) / 2;
    });
    expect(room, key).toBeGreaterThanOrEqual(8);
  }
});

test("a drug that is due has its key on the card and is not told twice", async ({ page }) => {
  await page.setViewportSize(UPRIGHT);
  await open(page, "drug_due");
  await expect(page.locator(".question")).toHaveText("Epinephrine is due.");
  await expect(seen(page, "Epi In")).toBeInViewport({ ratio: 1 });
  await expect(page.locator(".notes")).toHaveCount(0);
});

test("after the airway's key the card names the device and says how a tube is marked", async ({ page }) => {
  for (const size of [UPRIGHT, { width: 360, height: 640 }]) {
    await page.setViewportSize(size);
    await open(page, "hand_continuous");
    await expect(page.locator(".named")).toHaveText("Airway: supraglottic");
    await expect(page.locator(".notes")).toContainText("A tube? Undo, then Tube In.");
  }
});

for (const [name, way] of [["hands_off", "Rhythm, Pulse"], ["check", "Rhythm, Pulse"]] as const) {
  test(`a pulse is found under Rhythm as well: ${name}`, async ({ page }) => {
    await page.setViewportSize(UPRIGHT);
    await open(page, name);
    await seen(page, "Mark").press("Enter");
    await seen(page, way).press("Enter");
    await expect(seen(page, "Pulse Back")).toBeInViewport({ ratio: 1 });
  });
}
