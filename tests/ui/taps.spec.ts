/**
 * The page walked from every state: how many taps each mark takes, against what `docs/taps.md` says. The
 * table by state is written to `out/taps-*.md`.
 */
import { mkdirSync, readFileSync, writeFileSync } from "node:fs";
import { join } from "node:path";

import { expect, type Page, test } from "@playwright/test";

import { room } from "../../ui/src/grid.ts";
import { FACES, FULL, open, seen, sent, turn } from "./page.ts";

const ROOT = join(import.meta.dirname, "../..");

/**
 * One tap, by state: what a crew marks most often there, written by hand in the names that the keys have.
 * Where the state has the device beside or the check near, its own keys stand first.
 */
const ONE_TAP: Record<string, string[]> = {
  hand_ratio: ["Hands Off", "Airway In", "Fit Device"],
  hand_continuous: ["Hands Off", "Airway Lost", "Fit Device"],
  device_ratio: ["Paused", "Device Stopped", "Moving", "Airway In"],
  device_continuous: ["Paused", "Device Stopped", "Moving", "Airway Lost"],
  hands_off: ["Hands On", "Device Running", "Check", "Airway"],
  check: ["Shocked, Back On", "No Shock, Back On", "Pulse Back", "Shock Given"],
  moving: ["Set Down"],
  cup: ["Cup Good", "Re-seat"],
  power: ["Swapped", "By Hand"],
};
const ALWAYS = ["Mark", "Undo", "Set Right"];

/**
 * Two taps at 390x844: what the same section names for the state, as far as ten cells less five ways
 * hold it, the likeliest first. Written by hand, not taken from the program's own table.
 */
const TWO_TAPS: Record<string, string[]> = {
  // In its first minute: the class before all others.
  hand_ratio: ["Child", "Infant", "Newborn", "Pads On", "Epi In"],
  drug_due: ["Drug Heard", "Epi In", "Shock Given", "Airway Try", "Time Mark"],
  refractory: ["Drug Heard", "Epi In", "Shock Given", "IV In", "Airway Try"],
  device_ratio: ["Epi In", "Power Swap", "Re-seat", "Shock Given", "Time Mark"],
  cup: ["Cup Heard", "Epi In", "Airway In", "Power Swap", "Moving"],
  paused: ["Pulse Back", "Shock Given", "Airway In", "Power Swap", "No Pulse"],
  power: ["Device Running", "Device Stopped", "Pulse Back", "Shock Given"],
  stopped: ["Pulse Back", "Shock Given", "Airway In", "Epi In", "Time Mark"],
  pulse: ["Pulse Still", "Airway In", "CO2", "Moving", "Time Mark"],
};

/** Presses a key by the keyboard: no finger waits for the filter. */
async function tap(page: Page, name: string): Promise<void> {
  await seen(page, name).press("Enter");
}

/** The names of the keys to press for a mark, the mark's own last. */
type Ways = Map<string, string[]>;

/**
 * Every mark with the fewest taps that lead to it: on the card, behind what the card asks, behind Mark
 * and on the pages behind it, however deep, and on the pages behind Set Right. Each page is reached anew
 * by its keys from the card. A mark that is entered on a page of its own counts where its page is opened.
 */
async function walk(page: Page, name: string): Promise<Ways> {
  await open(page, name);
  const { labels } = FACES;
  const { face } = FACES.screens[name] ?? { face: undefined };
  const colours = (labels["themes"] as unknown as { label: string }[]).map(({ label }) => label);
  const own = [
    ...["close", "back", "more", "turn", "colours", "cover", "hold_end", "undo"].map((key) => labels[key] ?? ""),
    ...colours,
  ];
  const marks = face?.sheet.map(({ label }) => label) ?? [];
  const groups = face?.right.map(({ label }) => label) ?? [];
  const found = await page.evaluate(
    async ({ own, marks, groups, mark, right, more }) => {
      const found: Record<string, string[]> = {};
      // Clicks without a finger, as a screen reader's: no waiting for the filter.
      const drawn = (): Promise<void> => new Promise((done) => setTimeout(done, 0));
      const keys = (): { name: string; leads: boolean; node: HTMLElement }[] =>
        [...document.querySelectorAll("button")]
          .filter((b) => b.closest("[inert]") === null && !b.disabled)
          .map((node) => ({
            name: (node.getAttribute("aria-label") ?? node.innerText).replace(/\s+/g, " ").trim(),
            leads: node.ariaHasPopup === "dialog",
            node,
          }));
      const arrive = async (way: string[]): Promise<void> => {
        for (let n = 0; n < 8; n += 1) {
          const sheet = document.querySelector("[role=dialog]");
          if (sheet === null) break;
          sheet.dispatchEvent(new KeyboardEvent("keydown", { key: "Escape", bubbles: true }));
          await drawn();
        }
        for (const step of way) {
          const key = keys().find(({ name }) => name === step);
          if (key === undefined) throw new Error(`${way.join(", ")}: no ${step}`);
          key.node.click();
          await drawn();
        }
      };
      const find = (way: string[]): void => {
        for (const { name, leads } of keys()) {
          const known = found[name]?.length ?? Infinity;
          if ((!leads || marks.includes(name)) && !own.includes(name) && way.length + 1 < known) {
            found[name] = [...way, name];
          }
        }
      };
      /** A page and its further pages, one tap of More each; gives the ways to the pages behind it. */
      const turned = async (way: string[], look: (so: string[]) => void): Promise<Map<string, string[]>> => {
        await arrive(way);
        const ways = new Map<string, string[]>();
        const first = keys()[0]?.name;
        let so = way;
        for (let n = 0; n < 8; n += 1) {
          look(so);
          for (const { name, leads } of keys()) {
            if (leads && !marks.includes(name) && !ways.has(name)) ways.set(name, [...so, name]);
          }
          const on = keys().find(({ name, leads }) => name === more && !leads);
          if (on === undefined) break;
          on.node.click();
          await drawn();
          so = [...so, more];
          if (keys()[0]?.name === first) break;
        }
        return ways;
      };
      const leaf = async (way: string[]): Promise<void> => {
        for (const next of (await turned(way, find)).values()) await leaf(next);
      };
      find([]);
      const doors = keys().filter(({ name, leads }) => leads && name !== right && !marks.includes(name));
      for (const { name } of doors) await leaf([name]);
      // The keys of the states themselves are no marks of this list, though some bear a mark's name.
      const behind = await turned([right], () => undefined);
      for (const [name, way] of behind) if (groups.includes(name)) await leaf(way);
      return found;
    },
    {
      own,
      marks,
      groups,
      mark: labels["mark"] ?? "",
      right: labels["set_right"] ?? "",
      more: labels["more"] ?? "",
    },
  );
  return new Map(Object.entries(found));
}

const LIVE = Object.entries(FACES.screens)
  .filter(([, { face }]) => face.card !== "before" && face.card !== "ended")
  .map(([name]) => name);

/** A row of a table in `docs/taps.md`, by its first cell under this heading. */
function documented(heading: string, first: string): string[] {
  const text = readFileSync(join(ROOT, "docs/taps.md"), "utf8");
  const part = text.split(/^## /m).find((part) => part.startsWith(heading)) ?? "";
  const row = part.split("\n").find((line) => line.startsWith(`| ${first} |`)) ?? "";
  return row.split("|").slice(2, -1).map((cell) => cell.trim());
}

const SIZES = [
  { width: 360, height: 640, most: 4 },
  { width: 390, height: 844, most: 3 },
  { width: 844, height: 390, most: 4 },
];
/** Pages behind Mark: the ways that its first page holds. */
const WAYS = 5;

test("the arithmetic: no page of such keys holds all that can be marked", () => {
  const behind = LIVE.map((name) => FACES.screens[name]?.face.sheet.length ?? 0);
  const [fewest, most] = [Math.min(...behind), Math.max(...behind)];
  for (const { width, height } of SIZES) {
    const { columns, rows } = room(width, height);
    const first = columns * rows;
    // In two taps each mark would need a cell of the page that Mark opens.
    expect(fewest, `${width}x${height}`).toBeGreaterThan(first);
    // A page behind it has the place beside Close as well.
    expect(documented("The arithmetic", `${width}x${height}`)).toEqual(
      [first, first - WAYS, first + 1, first - WAYS + WAYS * (first + 1), `${fewest} to ${most}`].map(String),
    );
  }
});

for (const size of SIZES.filter(({ width }) => FULL || width === 390)) {
  test(`taps to every mark from every state at ${size.width}x${size.height}`, async ({ page }) => {
    test.setTimeout(900_000);
    await page.setViewportSize(size);
    const usual = size.width === 390;
    const { columns, rows: lines } = room(size.width, size.height);
    const likeliest = columns * lines - WAYS;
    const rows: string[] = [];
    const count = [0, 0, 0, 0, 0];
    for (const name of LIVE) {
      const { face } = FACES.screens[name] ?? { face: undefined };
      if (face === undefined) continue;
      const found = await walk(page, name);
      const taps = new Map([...found].map(([label, way]) => [label, way.length]));
      const far = (label: string): number => taps.get(label) ?? Infinity;
      await test.step(name, () => {
        for (const { label } of [...face.main, ...face.side]) {
          expect(far(label), `${name}: ${label} on the card`).toBe(1);
        }
        for (const label of ONE_TAP[name] ?? []) {
          expect(far(label), `${name}: ${label} is on the one-tap list`).toBe(1);
        }
        // Every answer, and as many of the likeliest as there are cells.
        const two = [
          ...face.sheet.slice(0, likeliest).map(({ label }) => label),
          ...face.sheet.filter(({ act }) => /^(still|heard)_/.test(act)).map(({ label }) => label),
          ...(usual ? (TWO_TAPS[name] ?? []) : []),
          ...(usual && face.card === "hands_off"
            ? face.sheet.filter(({ act }) => act.startsWith("why_")).map(({ label }) => label)
            : []),
        ];
        for (const label of two) {
          expect(far(label), `${name}: ${label} in two taps`).toBeLessThanOrEqual(2);
        }
        for (const { label } of face.sheet) {
          expect(far(label), `${name}: ${label}`).toBeLessThanOrEqual(size.most);
        }
      });
      for (const n of taps.values()) count[n - 1] = (count[n - 1] ?? 0) + 1;
      const by = (n: number): string =>
        [...taps].filter(([, t]) => t === n).map(([label]) => label).join(", ");
      rows.push(`| ${name} | ${[1, 2, 3, 4, 5].map(by).join(" | ")} |`);
    }
    const folder = join(ROOT, "out");
    mkdirSync(folder, { recursive: true });
    writeFileSync(
      join(folder, `taps-${size.width}x${size.height}.md`),
      `| state | one tap | two | three | four | five |\n|---|---|---|---|---|---|\n${rows.join("\n")}\n`,
    );
    expect(documented("Measured", `${size.width}x${size.height}`), "docs/taps.md").toEqual(count.map(String));
  });
}

test("what is always one tap away is so in every state", async ({ page }) => {
  test.setTimeout(120_000);
  await page.setViewportSize({ width: 390, height: 844 });
  for (const [n, name] of LIVE.entries()) {
    await turn(page, LIVE[n - 1], name);
    const names = await page.evaluate(() =>
      [...document.querySelectorAll("button")].map((b) =>
        (b.getAttribute("aria-label") ?? b.innerText).trim(),
      ),
    );
    for (const key of ALWAYS) {
      expect(names, name).toContain(key);
    }
  }
});

for (const [name, width, height] of [["hand_ratio", 360, 640], ["paused", 390, 844]] as const) {
  test(`each mark without a key on the card is sent, or opens its entry: ${name}`, async ({ page }) => {
    test.setTimeout(240_000);
    await page.setViewportSize({ width, height });
    const { face } = FACES.screens[name] ?? { face: undefined };
    const found = await walk(page, name);
    expect(face?.sheet.length).toBeGreaterThan(40);
    for (const { act, label } of face?.sheet ?? []) {
      await open(page, name);
      for (const key of found.get(label) ?? []) await tap(page, key);
      if (["co2", "other_drug", "before_us", "fit_parts", "fit_reason", "levels"].includes(act)) {
        expect(await sent(page)).toEqual([]);
        await expect(page.getByRole("dialog")).toHaveCount(1);
      } else {
        expect((await sent(page)).map(({ args }) => args["act"])).toEqual([act]);
        await expect(page.getByRole("dialog")).toHaveCount(0);
      }
    }
  });
}
