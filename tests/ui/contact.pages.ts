/**
 * Not a check: pictures of every card, sheet and page for eyes, upright and wide, with contact sheets
 * of twelve. They are written to `out/contact`.
 */
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";

import { test } from "@playwright/test";

import { FACES, listening, open } from "./page.ts";
import { BEHIND, press } from "./states.ts";

const OUT = join(import.meta.dirname, "../../out/contact");
const SIZES = [
  { name: "upright-small", width: 360, height: 640 },
  { name: "upright", width: 390, height: 844 },
  { name: "wide-small", width: 640, height: 360 },
  { name: "wide", width: 844, height: 390 },
];

for (const { name: size, width, height } of SIZES) {
  test(`pictures ${size}`, async ({ page }) => {
    mkdirSync(OUT, { recursive: true });
    await page.setViewportSize({ width, height });
    const taken: [string, Buffer][] = [];
    const take = async (name: string): Promise<void> => {
      await page.waitForTimeout(60);
      taken.push([name, await page.screenshot()]);
    };
    for (const name of Object.keys(FACES.screens)) {
      await open(page, name);
      await take(name);
    }
    await open(page, "start", {}, { first: true });
    await take("paper_first");
    for (const theme of ["glare", "night"]) {
      for (const name of ["hand_ratio", "hands_off", "device_continuous", "check_due"]) {
        await open(page, name, {}, { theme });
        await take(`${theme} ${name}`);
      }
    }
    for (const [name, from, keys] of BEHIND) {
      await open(page, from);
      await press(page, ...keys);
      await take(name);
    }
    await listening(page);
    await take("listening");
    for (const state of Object.keys(FACES.listening)) {
      await listening(page, state);
      await take(`listening_${state}`);
    }
    const columns = width > height ? 3 : 6;
    const each = 12;
    await page.unroute("http://page.test/**");
    for (let n = 0; n * each < taken.length; n += 1) {
      const cells = taken.slice(n * each, (n + 1) * each).map(
        ([name, png]) =>
          `<figure><figcaption>${name}</figcaption><img src="data:image/png;base64,${png.toString("base64")}"></figure>`,
      );
      await page.setViewportSize({ width: columns * (width + 12), height: 400 });
      await page.setContent(
        `<style>body{margin:0;background:#777;display:grid;grid-template-columns:repeat(${columns},${width}px);gap:6px 12px;font:16px sans-serif}figure{margin:0}img{display:block}</style>${cells.join("")}`,
      );
      writeFileSync(join(OUT, `${size}-${n + 1}.png`), await page.screenshot({ fullPage: true }));
    }
  });
}
