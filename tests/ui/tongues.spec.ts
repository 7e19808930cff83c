/**
 * The same screens in Spanish, and in a language that nobody speaks, a third longer: no word is cut, no key
 * is pushed away. Sizes and numbers as in `layout.spec.ts`.
 */
import { expect, type Page, test } from "@playwright/test";

import { clipped, keysAreRight, nothingScrolls } from "./fit.ts";
import { FACES, FULL, open, OTHERS, seen, sent, speak, turn } from "./page.ts";

interface Size {
  width: number;
  height: number;
}
const NAMES = Object.keys(FACES.screens);
/** Runs whose keys fill every page of marks. */
const FULLEST = FULL ? ["hand_ratio", "power_late"] : ["power_late"];

const label = (name: string): string => FACES.labels[name] ?? "";

async function looksRight(page: Page, size: Size): Promise<void> {
  await keysAreRight(page, size, label("hold_end"));
  await nothingScrolls(page);
  expect(await clipped(page)).toEqual([]);
}

async function follow(page: Page, keys: string[]): Promise<void> {
  for (const key of keys) {
    // On a small screen it may lie on a further page.
    for (let turned = 0; turned < 4 && (await seen(page, key).count()) === 0; turned += 1) {
      await seen(page, label("more")).press("Enter");
    }
    await seen(page, key).first().press("Enter");
  }
}

/** The smallest screen upright, the usual one both ways where the words differ most; what is a third longer upright on the largest phone. */
const SIZES: Record<(typeof OTHERS)[number], Size[]> = {
  "en-GB": [
    { width: 360, height: 640 },
    { width: 844, height: 390 },
  ],
  "es-419": [
    { width: 360, height: 640 },
    { width: 390, height: 844 },
    { width: 844, height: 390 },
  ],
  "es-ES": [
    { width: 360, height: 640 },
    { width: 390, height: 844 },
    { width: 844, height: 390 },
  ],
  pseudo: [
    { width: 412, height: 915 },
    { width: 844, height: 390 },
    ...(FULL ? [{ width: 915, height: 412 }] : []),
  ],
};

for (const language of OTHERS) {
  test.describe(language, () => {
    test.beforeEach(() => { speak(language); });
    test.afterEach(() => { speak(); });

    for (const size of SIZES[language]) {
      const at = `${size.width}x${size.height}`;

      test(`every card at ${at}`, async ({ page }) => {
        test.setTimeout(240_000);
        await page.setViewportSize(size);
        for (const [n, name] of NAMES.entries()) {
          await test.step(name, async () => {
            await turn(page, NAMES[n - 1], name);
            await looksRight(page, size);
          });
        }
      });

      test(`marks, states and pages at ${at}`, async ({ page }) => {
        test.setTimeout(240_000);
        await page.setViewportSize(size);
        for (const name of FULLEST) {
          const face = FACES.screens[name]?.face;
          const groups = (face as unknown as { groups: { label: string }[] }).groups;
          const ways = [
            [label("mark")],
            ...groups.map((group) => [label("mark"), group.label]),
            [label("set_right")],
            [label("set_right"), label("hand_over")],
          ];
          for (const way of ways) {
            await test.step([name, ...way].join(", "), async () => {
              await open(page, name);
              await follow(page, way);
              await looksRight(page, size);
            });
          }
        }
        const { pages } = FACES.labels as unknown as { pages: { label: string }[] };
        for (const paper of pages) {
          await test.step(paper.label, async () => {
            await open(page, "start");
            await follow(page, [label("menu"), paper.label]);
            await page.locator(".body h1").waitFor();
            const wider = await page.locator(".body").evaluate((e) => e.scrollWidth - e.clientWidth);
            expect(wider).toBeLessThanOrEqual(0);
          });
        }
      });
    }
  });
}

test("the page is in the language that it shows, and another one is chosen by a key of its own", async ({ page }) => {
  speak("es-419");
  try {
    await page.setViewportSize({ width: 390, height: 844 });
    await open(page, "start");
    await expect(page.locator("html")).toHaveAttribute("lang", "es-419");
    await follow(page, [label("menu"), "Ajustes"]);
    const key = page.getByRole("button", { name: "English (UK)" });
    await expect(key).toHaveAttribute("aria-pressed", "false");
    await expect(key.locator("[lang=en-GB]")).toHaveText("English (UK)");
    await key.click();
    const args = { setting: "lang", value: "en-GB" };
    expect(await sent(page)).toContainEqual({ command: "choose", args: expect.objectContaining(args) });
  } finally {
    speak();
  }
});

test.describe("a phone from Mexico", () => {
  test.use({ locale: "es-MX" });

  test("the app is told which language the phone speaks", async ({ page }) => {
    await open(page, "start");
    const told = await page.evaluate(() => {
      const { sent } = window as unknown as { sent: { command: string; args: { system: string } }[] };
      return sent.find(({ command }) => command === "subscribe")?.args.system;
    });
    expect(told).toBe("es-MX");
  });
});

test("a reading has the decimal mark of the language", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  const entries = { ...FACES.screens["hand_ratio"]?.face.entries, co2: { value: "4.7", unit: "kPa" } };
  await open(page, "hand_ratio", { entries }, { decimal: "," });
  for (const key of ["Mark", "Drugs, Airway", "CO2"]) await seen(page, key).press("Enter");
  await expect(page.getByText("4,7")).toBeVisible();
  await expect(page.getByRole("button", { name: "+0,1" })).toBeVisible();
});
