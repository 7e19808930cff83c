/** A run that begins soon after the page was opened is shown on its own clock from its first message on. */
import { expect, test } from "@playwright/test";

import { FACES, open } from "./page.ts";

test("the time off the chest begins at nought however short a while the start card stood", async ({ page }) => {
  await open(page, "start");
  await page.waitForTimeout(2_500);
  const begun = FACES.screens["hands_off"] as { face: object };
  const text = await page.evaluate(async (screen) => {
    (window as unknown as { show: (s: object) => void }).show(screen);
    const drawn = (): Promise<unknown> => new Promise(requestAnimationFrame);
    await drawn();
    await drawn();
    return document.querySelector(".numeral strong")?.textContent ?? "";
  }, { ...begun, now: 40, pulses: [], face: { ...begun.face, figure: { ...(begun.face as { figure: object }).figure, since: 20 } } });
  expect(text.trim()).toBe("0:00");
});
