/**
 * Not a check: pictures of every card, sheet and page for eyes, upright and wide, with contact sheets
 * of twelve. They are written to `out/contact`.
 */
import { mkdirSync, writeFileSync } from "node:fs";
import { join } from "node:path";

import { type Page, test } from "@playwright/test";

import { FACES, listening, open, seen } from "./page.ts";

const OUT = join(import.meta.dirname, "../../out/contact");
const SIZES = [
  { name: "upright-small", width: 360, height: 640 },
  { name: "upright", width: 390, height: 844 },
  { name: "wide-small", width: 640, height: 360 },
  { name: "wide", width: 844, height: 390 },
];

async function press(page: Page, ...names: string[]): Promise<void> {
  for (const name of names) {
    // In a small frame it may lie on a sheet's next page.
    for (let n = 0; n < 3 && (await seen(page, name).count()) === 0; n += 1) {
      await seen(page, "More").press("Enter");
    }
    await seen(page, name).press("Enter");
  }
}

/** Sheets and pages by the keys that lead to them. */
const BEHIND: [string, string, string[]][] = [
  ["marks", "hand_ratio", ["Mark"]],
  ["marks_device", "device_ratio", ["Mark"]],
  ["marks_off", "check", ["Mark"]],
  ["marks_tasks", "device_ratio", ["Mark", "Moves, Tasks"]],
  ["right_patient", "hand_ratio", ["Set Right", "Patient"]],
  ["marks_run", "device_ratio", ["Mark", "Times, Sound"]],
  ["marks_chest", "device_ratio", ["Mark", "On Chest"]],
  ["right_off", "stopped", ["Set Right"]],
  ["right_why", "stopped", ["Set Right", "Why Off"]],
  ["entry_co2", "hand_ratio", ["Mark", "Drugs, Airway", "CO2"]],
  ["entry_drug", "hand_ratio", ["Mark", "Drugs, Airway", "Other Drug"]],
  ["entry_reason", "fitting", ["Mark", "On Chest", "Why Device"]],
  ["entry_levels", "hand_ratio", ["Mark", "Times, Sound", "Sound Levels"]],
  ["entry_level", "hand_ratio", ["Mark", "Times, Sound", "Sound Levels", "Beat"]],
  ["entry_before", "hand_ratio", ["Mark", "Times, Sound", "Earlier Care"]],
  ["right", "device_ratio", ["Set Right"]],
  ["right_since", "device_ratio", ["Set Right", "By Hand"]],
  ["right_last", "power_late", ["Set Right", "Last Marks"]],
  ["hand_over", "refractory", ["Set Right", "Hand Over"]],
  ["hand_over_earlier", "began_earlier", ["Set Right", "Hand Over"]],
  ["hand_over_fitting", "fitting", ["Set Right", "Hand Over"]],
  ["menu", "start", ["Menu"]],
  ["menu_patient", "start", ["Menu", "Patient"]],
  ["paper_ready", "start", ["Menu", "Ready Check"]],
  ["paper_past", "start", ["Menu", "Past Runs"]],
  ["paper_protocol", "start", ["Menu", "Protocol"]],
  ["paper_settings", "start", ["Menu", "Settings"]],
  ["paper_about", "start", ["Menu", "About"]],
  ["debrief", "ended", ["Debrief"]],
  ["debrief_why", "ended", ["Debrief", "Why?"]],
  ["carry_over", "ended", ["Debrief", "Carry Over"]],
  ["carry_over_all", "ended", ["Debrief", "Carry Over", "All Rows"]],
  ["review", "ended", ["Debrief", "Review"]],
  ["review_add", "ended", ["Debrief", "Review", "Add Mark"]],
  ["review_clock", "ended", ["Debrief", "Review", "Clocks", "Monitor", "No Seconds"]],
  ["keep", "ended", ["Debrief", "Keep, Export"]],
  ["paper_make_ready", "ended", ["Make Ready"]],
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
