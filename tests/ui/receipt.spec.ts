/** The tick beside "Kept" is drawn, whatever the colours: the word alone must not carry it. */
import { expect, test } from "@playwright/test";

import { open } from "./page.ts";

for (const theme of ["day", "glare", "night"]) {
  for (const face of ["hand_ratio", "hands_off"]) {
    test(`the tick is drawn as the words are, ${theme}, ${face}`, async ({ page }) => {
      await open(page, face, {}, { theme });
      const tick = page.locator(".receipt svg");
      await expect(tick).toBeVisible();
      const [stroke, width, words] = await tick.evaluate((svg) => {
        const { stroke, strokeWidth } = getComputedStyle(svg);
        return [stroke, parseFloat(strokeWidth), getComputedStyle(svg.parentElement ?? svg).color];
      });
      expect(stroke).toBe(words);
      expect(width).toBeGreaterThanOrEqual(3);
    });
  }
}
