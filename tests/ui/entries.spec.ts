/** Marks that carry a value: what the steppers and the lists send. */
import { expect, type Page, test } from "@playwright/test";

import { counted, level, louder, reading, stepped, steps, turned, written } from "../../ui/src/entry.ts";
import { FACES, open, seen, sent } from "./page.ts";

test.use({ viewport: { width: 390, height: 844 } });

const tap = async (page: Page, ...names: string[]): Promise<void> => {
  for (const name of names) await seen(page, name).press("Enter");
};

// 760 mmHg are one atmosphere, 101.325 kPa (NIST Special Publication 811): 20 mmHg are 2.7 kPa,
// 35 mmHg 4.7 kPa, 5.3 kPa 40 mmHg.
test("a reading turns from one unit into the other", () => {
  const there = (value: string, unit: string): string => written(turned(reading(value, unit)));
  expect(there("20", "mmHg")).toBe("2.7");
  expect(there("35", "mmHg")).toBe("4.7");
  expect(there("5.3", "kPa")).toBe("40");
  expect(there("760", "mmHg")).toBe("101.3");
});

test("a step never leaves the record's range, and keeps a tenth that was read", () => {
  expect(written(stepped(reading("3", "mmHg"), -100))).toBe("0");
  expect(written(stepped(reading("755", "mmHg"), 100))).toBe("760");
  expect(written(stepped(reading("20.5", "mmHg"), 10))).toBe("21.5");
  expect(written(stepped(reading("4.0", "kPa"), 1))).toBe("4.1");
  expect([steps("mmHg"), steps("kPa")]).toEqual([[10, 100], [1, 10]]);
  expect([counted(null, 5, 30), counted(null, -1, 30), counted(29, 5, 30)]).toEqual([5, 0, 30]);
});

test("CO2 is set by steps and sent with its unit", async ({ page }) => {
  await open(page, "hand_ratio");
  await tap(page, "Mark", "Drugs, Airway", "CO2");
  const figure = page.getByRole("status");
  await expect(figure).toHaveText("20 mmHg");
  await tap(page, "+10", "+1", "+1", "\u22121");
  await expect(figure).toHaveText("31 mmHg");
  expect(await sent(page)).toEqual([]);
  await tap(page, "Done");
  const [one, ...rest] = await sent(page);
  expect(rest).toEqual([]);
  expect(one?.command).toBe("enter");
  expect(one?.args["entered"]).toEqual({ what: "co2", value: "31", unit: "mmHg" });
  expect(one?.args["taken"]).toBeGreaterThan(0);
  await expect(page.getByRole("dialog")).toHaveCount(0);
});

test("CO2 in kPa goes by tenths", async ({ page }) => {
  await open(page, "hand_ratio");
  await tap(page, "Mark", "Drugs, Airway", "CO2", "kPa", "+0.1", "+1", "Done");
  const [one] = await sent(page);
  expect(one?.args["entered"]).toEqual({ what: "co2", value: "3.8", unit: "kPa" });
});

test("a line of a list is one tap: another drug, a part, a reason", async ({ page }) => {
  const { entries } = FACES.screens["fitting"]?.face ?? { entries: undefined };
  for (const [ways, words, entered] of [
    [["Drugs, Airway", "Other Drug"], "Calcium", { what: "drug", key: "calcium" }],
    [["On Chest", "Parts In"], entries?.parts[0]?.words, { what: "part", key: entries?.parts[0]?.key }],
    [["On Chest", "Why Device"], entries?.reasons[1], { what: "reason", n: 1 }],
  ] as const) {
    await open(page, "fitting");
    await tap(page, "Mark", ...ways);
    await tap(page, words ?? "");
    expect((await sent(page)).map(({ command, args }) => [command, args["entered"]])).toEqual([
      ["enter", entered],
    ]);
  }
});

test("levels go by 3 dB within their range, one alone or all together", () => {
  const set = { beat_db: 0, breath_db: 6, voice_db: 24 };
  expect(louder(set, "breath", -3)).toEqual({ beat_db: 0, breath_db: 9, voice_db: 24 });
  expect(louder(set, "beat", 3)).toEqual(set);
  // Together they stay as far apart as they are.
  expect(louder(set, "all", -6)).toEqual(set);
  const between = { beat_db: 3, breath_db: 6, voice_db: 12 };
  expect(louder(between, "all", 6)).toEqual({ beat_db: 0, breath_db: 3, voice_db: 9 });
  expect(louder(between, "all", -6)).toEqual({ beat_db: 9, breath_db: 12, voice_db: 18 });
  expect([level(set, "voice"), level(set, "all")]).toEqual([24, 0]);
});

test("a level is set by steps, a kind of place by one tap", async ({ page }) => {
  await open(page, "hand_ratio");
  await tap(page, "Mark", "Times, Sound", "Sound Levels", "Beat");
  const figure = page.getByRole("status");
  await expect(figure).toHaveText("0 dB");
  await tap(page, "\u22126", "\u22123", "+3");
  await expect(figure).toHaveText("\u22126 dB");
  expect(await sent(page)).toEqual([]);
  await tap(page, "Done");
  expect((await sent(page)).map(({ command, args }) => [command, args["entered"]])).toEqual([
    ["enter", { what: "levels", beat_db: 6, breath_db: 0, voice_db: 0 }],
  ]);
  await expect(page.getByRole("dialog")).toHaveCount(0);
  await open(page, "hand_ratio");
  await tap(page, "Mark", "Times, Sound", "Sound Levels", "Quiet Room");
  expect((await sent(page)).map(({ args }) => args["entered"])).toEqual([
    { what: "preset", preset: "quiet_room" },
  ]);
});

test("a run that began earlier asks by itself, once; what was not said stays open", async ({ page }) => {
  const entries = { ...FACES.screens["hand_ratio"]?.face.entries, ask_before: true };
  await open(page, "hand_ratio", { entries });
  await expect(page.getByRole("dialog")).toHaveAccessibleName("Arrest, minutes ago");
  await tap(page, "+5", "+1", "Next", "+1", "+1", "Next", "+1", "Next");
  await expect(page.getByRole("dialog")).toHaveAccessibleName("Last dose, minutes ago");
  await tap(page, "+5", "Next", "By Hand", "Next", "SGA");
  // The last step leads nowhere but to the end.
  await expect(seen(page, "Next")).toHaveCount(0);
  await tap(page, "Done");
  const before = { minutes: 6, shocks: 2, doses: 1, last_dose: 5, device: false, airway: "sga" };
  expect((await sent(page)).map(({ command, args }) => [command, args["entered"]])).toEqual([
    ["enter", { what: "before", ...before }],
  ]);
  await expect(page.getByRole("dialog")).toHaveCount(0);
});

test("the steppers left untouched send nothing and do not come again; one step is enough", async ({ page }) => {
  const entries = { ...FACES.screens["hand_ratio"]?.face.entries, ask_before: true };
  await open(page, "hand_ratio", { entries });
  await tap(page, "Done");
  await expect(page.getByRole("dialog")).toHaveCount(0);
  expect(await sent(page)).toEqual([]);
  await open(page, "hand_ratio", { entries });
  await tap(page, "+5", "Next", "Not Known", "Done");
  expect((await sent(page)).map(({ args }) => args["entered"])).toEqual([
    {
      what: "before",
      minutes: 5,
      shocks: null,
      doses: null,
      last_dose: null,
      device: null,
      airway: null,
    },
  ]);
  await open(page, "hand_ratio", { entries });
  await tap(page, "+5");
  await page.keyboard.press("Escape");
  await expect(page.getByRole("dialog")).toHaveCount(0);
  expect(await sent(page)).toEqual([]);
});

test("without a dose there is no last one", async ({ page }) => {
  await open(page, "began_earlier");
  await tap(page, "Mark", "Times, Sound", "Earlier Care", "Next", "Next");
  await expect(page.getByRole("status")).toHaveText("1");
  await tap(page, "\u22121", "Next");
  await expect(page.getByRole("dialog")).toHaveAccessibleName("Who compresses?");
  await tap(page, "Done");
  expect((await sent(page)).map(({ args }) => args["entered"])).toEqual([
    { what: "before", minutes: 6, shocks: 2, doses: 0, last_dose: null, device: null, airway: null },
  ]);
});
