/** The protocol editor: which commands its form sends, what it says at which field, and that it can be read. */
import { expect, type Locator, type Page, test } from "@playwright/test";

import { edgeFaults, focusRing } from "./audit.ts";
import { contrasts } from "./fit.ts";
import { DRAFT, FACES, refuse, seen, sent, WHY } from "./page.ts";
import { copied, editor } from "./states.ts";

interface Field {
  field: string;
  label: string;
  input: { kind: string; options?: { value: string; label: string; on: boolean }[] };
  value: string;
  faults: string[];
}
interface Group {
  id: string;
  label: string;
  said: string;
  faults: { text: string; take_out: string | null }[];
  fields: Field[];
}
interface Draft {
  labels: Record<string, string>;
  sources: { id: string; label: string; is_example: boolean }[];
  open: { groups: Group[]; place: string; said: string; situations: { situation: string; label: string }[] } | null;
}
const NONE = DRAFT["draft_page"] as unknown as Draft;
const OPEN = DRAFT["draft_open"] as unknown as Draft;
const FAULTY = DRAFT["draft_change"] as unknown as Draft;
const THEMES = ["day", "glare", "night"];
const WORDS = OPEN.labels;
const word = (name: string): string => WORDS[name] ?? `no word ${name}`;

async function asked(page: Page): Promise<[string, Record<string, unknown>][]> {
  const all = await sent(page);
  return all
    .filter(({ command }) => command.startsWith("draft_") && command !== "draft_page")
    .map(({ command, args }): [string, Record<string, unknown>] => [command, args]);
}

function group(page: Page, id: string): Locator {
  const found = OPEN.open?.groups.find((one) => one.id === id);
  return page.locator("details.group").filter({ has: page.locator(`summary:has-text("${found?.label ?? ""}")`) }).first();
}

async function unfold(page: Page, id: string): Promise<Locator> {
  const found = group(page, id);
  await found.locator("summary").first().click();
  return found;
}

test("every example can be copied and is said to be one; nothing else is changed by looking", async ({ page }) => {
  await editor(page);
  expect(NONE.sources.filter((source) => source.is_example).length).toBe(5);
  await expect(page.getByRole("heading", { name: word("examples") })).toBeVisible();
  // No file of the service's: no heading over an empty list.
  await expect(page.getByRole("heading", { name: word("own") })).toHaveCount(0);
  for (const { id } of NONE.sources) await expect(page.getByText(id, { exact: true })).toBeVisible();
  expect(await asked(page)).toEqual([]);
  await page.locator("button.go").filter({ hasText: "example-child" }).click();
  expect(await asked(page)).toEqual([["draft_open", { id: "example-child" }]]);
});

test("every field of the file stands in the form with its words", async ({ page }) => {
  await copied(page);
  const groups = OPEN.open?.groups ?? [];
  expect(groups.length).toBeGreaterThan(20);
  await expect(page.locator("details.group")).toHaveCount(groups.length);
  const all = groups.flatMap((one) => one.fields);
  expect(all.length).toBeGreaterThan(90);
  await expect(page.locator(".field")).toHaveCount(all.length);
  for (const one of ["beat", "hands_off", "drug.1"]) await unfold(page, one);
  const rate = page.getByLabel("Beats a minute", { exact: true });
  await expect(rate).toHaveValue("110");
  await expect(rate).toHaveAccessibleDescription(/100 to 120 a minute; in this file 100, 120 beat\.rate_per_min/);
});

test("what is chosen is sent as the file has it, and a source as well", async ({ page }) => {
  await copied(page);
  await unfold(page, "check");
  await page.getByLabel("Keys of a check", { exact: true }).selectOption({ label: "rhythm, charge and shock apart" });
  expect((await asked(page)).at(-1)?.[1]).toEqual({
    asked: { kind: "write", field: "check.form", slot: "value", typed: "full" },
  });
  const beat = await unfold(page, "beat");
  await beat.getByRole("textbox", { name: /^Source: / }).fill("Ours 2026");
  await page.keyboard.press("Tab");
  expect((await asked(page)).at(-1)?.[1]).toEqual({
    asked: { kind: "write", field: "beat.rate_per_min", slot: "source", typed: "Ours 2026" },
  });
});

for (const [label, id, set, wanted] of [
  ["Beats a minute", "beat", "104", { field: "beat.rate_per_min", slot: "value", typed: "104" }],
  ["What is seen to", "rosc", "One\nTwo", { field: "rosc.list", slot: "value", typed: "One\nTwo" }],
] as const) {
  test(`${label}: what is typed is sent once, when the field is left`, async ({ page }) => {
    await copied(page);
    await unfold(page, id);
    const before = (await asked(page)).length;
    await page.getByLabel(label, { exact: true }).fill(set);
    expect((await asked(page)).length).toBe(before);
    await page.keyboard.press("Tab");
    expect((await asked(page)).slice(before)).toEqual([["draft_change", { asked: { kind: "write", ...wanted } }]]);
  });
}

test("of a list what is ticked stays in the list's order", async ({ page }) => {
  await copied(page);
  await unfold(page, "hands_off");
  const list = page.getByRole("group", { name: "Seconds that are spoken" });
  await list.getByLabel("15", { exact: true }).uncheck();
  const last = (await asked(page)).at(-1);
  expect(last).toEqual([
    "draft_change",
    { asked: { kind: "write", field: "hands_off.numbers_s", slot: "value", typed: "10, 20, 30, 40, 50, 60" } },
  ]);
});

test("a fault stands at its field, in words, and a stray key can be taken out", async ({ page }) => {
  await copied(page);
  await unfold(page, "beat");
  await page.getByLabel("Beats a minute", { exact: true }).fill("170");
  await page.keyboard.press("Tab");
  const wrong = (FAULTY.open?.groups ?? []).flatMap((one) => one.fields).filter((field) => field.faults.length > 0);
  expect(wrong.map((field) => field.field)).toEqual(["beat.rate_per_min", "cup.repeat_s"]);
  await expect(page.locator(".said")).toHaveText(FAULTY.open?.said ?? "");
  const rate = page.locator(".field.wrong").filter({ hasText: "Beats a minute" });
  await expect(rate.locator(".fault")).toHaveText(wrong[0]?.faults[0] ?? "");
  await expect(page.getByLabel("Beats a minute", { exact: true })).toHaveAttribute("aria-invalid", "true");
  // Who hears it hears what is wrong with the field, and then what is allowed.
  await expect(page.getByLabel("Beats a minute", { exact: true })).toHaveAccessibleDescription(
    new RegExp(`^${(wrong[0]?.faults[0] ?? "none").replace(/[^\p{L}\p{N} ]/gu, ".")}.*100 to 120 a minute`, "u"),
  );
  expect(await edgeFaults(page, ".field.wrong", THEMES)).toEqual([]);
  // Its table says so where it is folded.
  await expect(group(page, "cup").locator("summary").first()).toContainText("Faults: 1");
  // With a fault nothing is heard.
  await expect(page.getByRole("button", { name: word("make") })).toBeDisabled();
});

test("a fault of a list of ticks is told at each tick, and what cannot be placed stands out as well", async ({ page }) => {
  const kept = DRAFT["draft_open"];
  const faulty = structuredClone(OPEN);
  const beats = faulty.open?.groups.find((one) => one.id === "hands_off");
  const list = beats?.fields.find((one) => one.field === "hands_off.numbers_s");
  list?.faults.push("hands_off.numbers_s is out of order");
  beats?.faults.push({ text: "hands_off.stray is not known", take_out: "hands_off.stray" });
  DRAFT["draft_open"] = faulty as unknown as Record<string, unknown>;
  try {
    await copied(page);
  } finally {
    if (kept !== undefined) DRAFT["draft_open"] = kept;
  }
  await unfold(page, "hands_off");
  const group = page.getByRole("group", { name: "Seconds that are spoken" });
  await expect(group).toHaveAccessibleDescription(/^hands_off\.numbers_s is out of order /);
  for (const tick of await group.getByRole("checkbox").all()) await expect(tick).toHaveAttribute("aria-invalid", "true");
  expect(await edgeFaults(page, ".stray", THEMES)).toEqual([]);
});

for (const theme of THEMES) {
  test(`the focus is seen on every kind of field, and the browser's own parts are of the set, ${theme}`, async ({ page }) => {
    await copied(page);
    await page.evaluate((name) => { document.documentElement.dataset["theme"] = name; }, theme);
    for (const one of ["beat", "hands_off", "check", "rosc"]) await unfold(page, one);
    await page.getByRole("button", { name: word("make"), exact: true }).click();
    // From here on the focus is of the keyboard.
    await page.keyboard.press("Tab");
    for (const kind of ["summary", ".field input[type=text]", "input[type=checkbox]", "select", "textarea", "#draft-place", "button.go", ".drawing"]) {
      await page.locator(kind).filter({ visible: true }).first().focus();
      const ring = await focusRing(page);
      expect(ring.wide, kind).toBeGreaterThanOrEqual(3);
      expect(ring.rings, kind).toBeGreaterThanOrEqual(9);
      expect(ring.ground, kind).toBeGreaterThanOrEqual(3);
    }
    expect(await page.evaluate(() => getComputedStyle(document.documentElement).colorScheme)).toBe(theme === "glare" ? "light" : "dark");
  });
}

test("a minute is drawn, heard and silenced, and goes with the next change", async ({ page }) => {
  await copied(page);
  await page.getByRole("button", { name: "Hands off", exact: true }).click();
  await page.getByRole("button", { name: word("make"), exact: true }).click();
  await expect(page.locator(".drawing svg")).toBeVisible();
  await expect(page.locator("p.told").first()).toContainText("Beats: 90");
  await page.getByRole("button", { name: word("play"), exact: true }).click();
  await page.getByRole("button", { name: word("stop"), exact: true }).click();
  await expect(page.getByRole("button", { name: word("play"), exact: true })).toBeVisible();
  await page.getByRole("button", { name: word("play"), exact: true }).click();
  await expect(page.getByRole("button", { name: word("stop"), exact: true })).toBeVisible();
  expect((await asked(page)).slice(1)).toEqual([
    ["draft_minute", { situation: "off" }],
    ["draft_play", { on: true }],
    ["draft_play", { on: false }],
    ["draft_play", { on: true }],
  ]);
  await unfold(page, "beat");
  await page.getByLabel("Beats a minute", { exact: true }).fill("104");
  await page.keyboard.press("Tab");
  await expect(page.locator(".drawing")).toHaveCount(0);
  expect((await asked(page)).slice(5).map(([command]) => command)).toEqual(["draft_change", "draft_play"]);
});

test("it is silenced when it is left", async ({ page }) => {
  await copied(page);
  await page.getByRole("button", { name: word("make"), exact: true }).click();
  await page.getByRole("button", { name: word("play"), exact: true }).click();
  await expect(page.getByRole("button", { name: word("stop"), exact: true })).toBeVisible();
  await seen(page, "Close").press("Enter");
  await expect.poll(async () => (await asked(page)).at(-1)).toEqual(["draft_play", { on: false }]);
});

test("it is saved where the service says, and what is refused is told", async ({ page }) => {
  await copied(page);
  const place = page.getByLabel(word("save_as"), { exact: true });
  await expect(place).toHaveValue("/home/crew/protocols/copy-of-example-adult.toml");
  await place.fill("/home/crew/protocols/ours.toml");
  await page.keyboard.press("Tab");
  await page.getByRole("button", { name: word("save"), exact: true }).click();
  await expect(page.locator("p.told").last()).toContainText("draft_save: ");
  await expect(page.getByRole("status").filter({ hasText: "draft_save: " })).toBeInViewport({ ratio: 1 });
  expect((await asked(page)).at(-1)).toEqual(["draft_save", { place: "/home/crew/protocols/ours.toml" }]);
  await refuse(page, "draft_save", "draft_change");
  await page.getByRole("button", { name: word("save"), exact: true }).click();
  await expect(page.getByRole("alert")).toContainText(WHY);
});

test("the last change is taken back by a key, and another file copied over a draft that is put aside", async ({ page }) => {
  await copied(page);
  await expect(seen(page, word("take_back"))).toBeDisabled();
  await unfold(page, "beat");
  await page.getByLabel("Beats a minute", { exact: true }).fill("170");
  await page.keyboard.press("Tab");
  await seen(page, word("take_back")).press("Enter");
  expect((await asked(page)).at(-1)).toEqual(["draft_change", { asked: { kind: "take_back" } }]);
  await page.getByRole("button", { name: word("another"), exact: true }).click();
  await expect(page.getByText(word("put_aside"))).toBeVisible();
  await page.getByRole("button", { name: word("go_on"), exact: true }).click();
  await expect(page.locator("details.group").first()).toBeVisible();
});

test("a run that begins takes the screen at once", async ({ page }) => {
  await copied(page);
  await page.evaluate((screen) => {
    (window as unknown as { show: (s: object) => void }).show(screen);
  }, FACES.screens["hand_ratio"] as object);
  await expect(seen(page, "Hands Off")).toBeVisible();
  await expect(page.locator("details.group")).toHaveCount(0);
});

for (const theme of THEMES) {
  for (const width of [390, 1000]) {
    test(`it can be read, ${theme}, ${width} wide`, async ({ page }) => {
      await page.setViewportSize({ width, height: 844 });
      await copied(page);
      await page.evaluate((name) => { document.documentElement.dataset["theme"] = name; }, theme);
      await unfold(page, "beat");
      await unfold(page, "drug.1");
      const all = await contrasts(page);
      expect(all.length).toBeGreaterThan(40);
      for (const { text, ratio } of all) expect(ratio, text).toBeGreaterThanOrEqual(7);
      const over = await page.locator(".body").evaluate((body) => body.scrollWidth - body.clientWidth);
      expect(over).toBeLessThanOrEqual(0);
      for (const box of await page.locator(".body button:visible, .body summary:visible").all()) {
        expect((await box.boundingBox())?.height ?? 0).toBeGreaterThanOrEqual(40);
      }
    });
  }
}
