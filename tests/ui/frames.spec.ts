/**
 * The dotted frame around what a touch sets right, which is a key: seen on every ground, and free of what stands in it.
 * Wanted is the ratio of WCAG 2.2, 1.4.11, and so many px that digit and frame are two things.
 */
import { expect, test } from "@playwright/test";

import { open } from "./page.ts";

const THEMES = ["day", "glare", "night"];
const RATIO = 3;
const APART = 3;

for (const theme of THEMES) {
  test(`the frames of the card stand out: ${theme}`, async ({ page }) => {
    await page.setViewportSize({ width: 390, height: 844 });
    for (const [name, count] of [["hand_ratio", 1], ["hands_off", 2], ["pulse", 1]] as const) {
      await open(page, name, {}, { theme });
      const ratios = await page.locator("main:not([inert]) :is(.right, .door)").evaluateAll((frames) => {
        const numbers = (text: string): number[] => (text.match(/[\d.]+/g) ?? []).map(Number);
        const light = (parts: number[]): number => {
          const [r = 0, g = 0, b = 0] = parts.map((c) => {
            const part = c / 255;
            return part <= 0.04045 ? part / 12.92 : ((part + 0.055) / 1.055) ** 2.4;
          });
          return 0.2126 * r + 0.7152 * g + 0.0722 * b;
        };
        /** The first ground below it that is not clear. */
        const groundOf = (e: Element): number[] => {
          for (let at: Element | null = e.parentElement; at !== null; at = at.parentElement) {
            const [r = 0, g = 0, b = 0, a = 1] = numbers(getComputedStyle(at).backgroundColor);
            if (a > 0) return [r, g, b];
          }
          return [255, 255, 255];
        };
        return frames.map((frame) => {
          const { borderTopColor, borderTopStyle, opacity } = getComputedStyle(frame);
          const ground = groundOf(frame);
          const over = Number(opacity);
          const drawn = numbers(borderTopColor).slice(0, 3).map((c, n) => c * over + (ground[n] ?? 0) * (1 - over));
          const [a, b] = [light(drawn), light(ground)];
          return borderTopStyle === "dotted" ? (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05) : 1;
        });
      });
      expect(ratios.length, name).toBe(count);
      for (const ratio of ratios) expect(ratio, `${theme} ${name}`).toBeGreaterThanOrEqual(RATIO);
    }
  });
}

for (const [width, height] of [[390, 844], [844, 390]] as const) {
  test(`what stands in the frame does not touch its sides: ${width}x${height}`, async ({ page }) => {
    await page.setViewportSize({ width, height });
    for (const name of ["hand_ratio", "check_due", "device_on", "fit_pause"]) {
      await open(page, name);
      const faults = await page.evaluate((apart) => {
        const card = document.querySelector("main:not([inert])");
        const frame = card?.querySelector(".right")?.getBoundingClientRect();
        if (!card || !frame) return ["no frame"];
        const inside = [...card.querySelectorAll(".now .glyph, .now strong, .now .light, .now .receipt")];
        return inside.flatMap((part) => {
          const { left, right, width: wide } = part.getBoundingClientRect();
          // The frame's line is 2 px of its box.
          const least = Math.min(left - frame.left, frame.right - right) - 2;
          return wide > 0 && least < apart ? [`${part.className}: ${least} px`] : [];
        });
      }, APART);
      expect(faults, name).toEqual([]);
    }
  });
}
