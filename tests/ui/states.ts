/** Sheets and pages behind the faces, for pictures: how one gets there. */
import type { Page } from "@playwright/test";

import { AFTER, DRAFT, FACES, open, seen } from "./page.ts";

/** Presses keys by their names, one after the other. */
export async function press(page: Page, ...names: string[]): Promise<void> {
  for (const name of names) {
    // In a small frame it may lie on a sheet's next page.
    for (let n = 0; n < 3 && (await seen(page, name).count()) === 0; n += 1) {
      await seen(page, "More").press("Enter");
    }
    await seen(page, name).press("Enter");
  }
}

/** Sheets and pages by the keys that lead to them. */
export const BEHIND: [string, string, string[]][] = [
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

/** The protocol editor, which has a key in the settings of a desk alone. */
export async function editor(page: Page, labels: object = {}): Promise<void> {
  const words = (DRAFT["draft_page"] as { labels: Record<string, string> }).labels;
  const line = { text: words["title"], value: null, note: words["note"], go: { kind: "draft" }, lang: null };
  const settings = FACES.papers["settings"] as { parts: object[] };
  const kept = settings.parts;
  settings.parts = [...kept, { heading: null, lines: [line] }];
  try {
    await open(page, "start", {}, labels);
  } finally {
    settings.parts = kept;
  }
  await press(page, "Menu", "Settings");
  await page.locator("button.go").filter({ hasText: words["title"] ?? "" }).press("Enter");
  await page.getByRole("main", { name: words["title"] ?? "", exact: true }).waitFor();
}

/** The same with a copy of the adult example open. */
export async function copied(page: Page): Promise<void> {
  await editor(page);
  await page.locator("button.go").filter({ hasText: "example-adult" }).first().click();
  await page.locator("details.group").first().waitFor();
}

/** Shows a face with this drill, as the app does. */
export async function shows(page: Page, name: string, drill: object | null, face: object = {}): Promise<void> {
  await page.evaluate(async (screen) => {
    (window as unknown as { show: (s: object) => void }).show(screen);
    const drawn = (): Promise<unknown> => new Promise(requestAnimationFrame);
    await drawn();
    await drawn();
  }, { ...FACES.screens[name], drill, face: { ...FACES.screens[name]?.face, ...face } });
}

/** The page of the drills. */
export async function drills(page: Page): Promise<void> {
  const { title } = AFTER["drills"] as { title: string };
  await open(page, "start");
  await press(page, "Menu", title);
  await page.getByRole("main", { name: title, exact: true }).waitFor();
}

/** The score sheet of a drill that is over. */
export async function scoreSheet(page: Page): Promise<void> {
  const live = AFTER["drill_live"] as { sheet: string };
  const { sheet } = AFTER["drill_sheet"] as { sheet: { title: string } };
  await open(page, "ended");
  await shows(page, "ended", live);
  await press(page, live.sheet);
  await page.getByRole("main", { name: sheet.title, exact: true }).waitFor();
}

/** A drill that was stopped to be looked at. */
export async function stopped(page: Page): Promise<void> {
  const drill = AFTER["drill_stopped"] as { stopped: { title: string } };
  await open(page, "hand_ratio");
  await shows(page, "hand_ratio", drill);
  await page.getByRole("main", { name: drill.stopped.title, exact: true }).waitFor();
}

/** A crew's drills over time. */
export async function overTime(page: Page): Promise<void> {
  const { over } = AFTER["drills"] as { over: string };
  const { title } = AFTER["drill_over"] as { title: string };
  await drills(page);
  await press(page, over);
  await page.getByRole("main", { name: title, exact: true }).waitFor();
}
