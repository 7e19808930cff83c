/** Set Right, the last marks, the hand-over card, the pages before and after, and hands-free keys. */
import { expect, type Locator, type Page, test } from "@playwright/test";

import { HELD_MS, REPEAT_MS, WET, WET_WITHIN_MS } from "../../ui/src/press.ts";
import { FACES, open, seen, sent, turn } from "./page.ts";

/** How long a frame stands, as the page for new users has it. */
const FRAMED_MS = 4_000;

test.use({ viewport: { width: 390, height: 844 } });

/** As a crew touches, however fast the machine is: so many touches within a second would pass for drops of water. */
async function touch(key: Locator): Promise<void> {
  await key.click({ delay: 90 });
  await key.page().waitForTimeout(WET_WITHIN_MS / (WET - 1));
}

/**
 * The round edges of keys are rounded afresh in each drawing of the same page: in some fifty pixels, by 19 of 255 at most.
 * A veil of a hundredth differs little in 90,000; a thin line of the card differs much.
 */
const ROUNDED = { pixels: 300, by: 32 };

/** In how many pixels two pictures of one size differ, and in how many by more than so much of 255. */
const differing = (page: Page, ...pictures: Buffer[]): Promise<{ atAll: number; much: number }> =>
  page.evaluate(async ({ coded, by }) => {
    const [one = [], other = []] = await Promise.all(coded.map(async (base64) => {
      const bytes = Uint8Array.from(atob(base64), (c) => c.charCodeAt(0));
      const image = await createImageBitmap(new Blob([bytes], { type: "image/png" }));
      const context = new OffscreenCanvas(image.width, image.height).getContext("2d");
      context?.drawImage(image, 0, 0);
      return context?.getImageData(0, 0, image.width, image.height).data ?? [];
    }));
    if (one.length === 0 || one.length !== other.length) throw new Error(`${one.length} and ${other.length} values`);
    const most = Array.from({ length: one.length / 4 }, (_, p) =>
      Math.max(...[0, 1, 2].map((n) => Math.abs((one[4 * p + n] ?? 0) - (other[4 * p + n] ?? 0)))));
    return { atAll: most.filter((value) => value > 0).length, much: most.filter((value) => value > by).length };
  }, { coded: pictures.map((picture) => picture.toString("base64")), by: ROUNDED.by });

const press = (page: Page, name: string): Promise<void> => touch(seen(page, name));

test("the state line opens the true state and since when; both are sent", async ({ page }) => {
  await open(page, "device_ratio");
  await press(page, "Set Right");
  await expect(page.getByRole("dialog")).toHaveAccessibleName("What is true?");
  await press(page, "By Hand");
  await press(page, "2 min");
  const [one, ...rest] = await sent(page);
  expect(rest).toEqual([]);
  expect(one?.command).toBe("set_right");
  expect(one?.args).toMatchObject({ state: "manual", back: 120_000 });
  await expect(page.getByRole("dialog")).toHaveCount(0);
});

test("nothing of the card below is drawn on a sheet", async ({ page }) => {
  for (const [from, key] of [["device_ratio", "Mark"], ["hands_off", "Set Right"], ["hands_off", "Why?"], ["start", "Menu"]] as const) {
    await open(page, from);
    await seen(page, key).press("Enter");
    // The state's time runs on in the head.
    const drawn = (): Promise<Buffer> => page.screenshot({ mask: [page.locator("header p")] });
    const withCard = await drawn();
    await page.addStyleTag({ content: "main[inert] { visibility: hidden !important }" });
    const { atAll, much } = await differing(page, withCard, await drawn());
    expect(atAll, `${from}, ${key}`).toBeLessThanOrEqual(ROUNDED.pixels);
    expect(much, `${from}, ${key}`).toBe(0);
  }
});

test("one of the last marks is moved back, and one is removed", async ({ page }) => {
  await open(page, "cup");
  const { last } = FACES.screens["cup"]?.face ?? { last: [] };
  const latest = last[0];
  expect(latest).toBeDefined();
  for (const [key, command, args] of [
    ["15 s earlier", "earlier", { seq: latest?.seq, by: 15_000 }],
    ["Remove", "remove", { seq: latest?.seq }],
  ] as const) {
    await press(page, "Set Right");
    await press(page, "Last Marks");
    await touch(page.getByRole("dialog").getByRole("button").first());
    await press(page, key);
    const all = await sent(page);
    expect(all.at(-1)?.command).toBe(command);
    expect(all.at(-1)?.args).toMatchObject(args);
  }
});

test("Back leads from a mark to the last marks, to the states, to the card; Escape too", async ({ page }) => {
  await open(page, "cup");
  await press(page, "Set Right");
  await press(page, "Last Marks");
  await touch(page.getByRole("dialog").getByRole("button").first());
  await press(page, "Back");
  await expect(page.getByRole("dialog")).toHaveAccessibleName("Last Marks");
  await page.keyboard.press("Escape");
  await expect(page.getByRole("dialog")).toHaveAccessibleName("What is true?");
  await page.keyboard.press("Escape");
  await expect(page.getByRole("dialog")).toHaveCount(0);
  expect(await sent(page)).toEqual([]);
});

for (const name of ["refractory", "cold", "began_earlier", "overlay"]) {
  test(`the hand-over card tells every line of the face whole, page by page: ${name}`, async ({ page }) => {
    for (const [width, height] of [[360, 640], [640, 360], [390, 844], [412, 915], [844, 390]] as const) {
      const size = `${width}x${height}`;
      await page.setViewportSize({ width, height });
      await open(page, name);
      await press(page, "Set Right");
      await press(page, "Hand Over");
      const told: string[] = [];
      const more = page.getByRole("button", { name: "More", exact: true });
      for (let n = 0; n < 12; n += 1) {
        const { shown, faults } = await page.locator(".sheet .rows").evaluate((rows) => {
          const all = [...rows.children].filter((row) => row.getClientRects().length > 0);
          const room = (rows.parentElement as HTMLElement).getBoundingClientRect();
          const cut = all.filter((row) => {
            const box = row.getBoundingClientRect();
            const isCut = row.scrollHeight > row.clientHeight || row.scrollWidth > row.clientWidth;
            return isCut || box.bottom > room.bottom + 0.5 || box.right > room.right + 0.5;
          });
          const words = (row: Element): string => (row.querySelector("dt") ?? row).textContent ?? "";
          return { shown: all.map(words), faults: cut.map((row) => row.textContent ?? "") };
        });
        expect(faults, size).toEqual([]);
        expect(shown.length, size).toBeGreaterThan(0);
        // The first page again: all were seen.
        if (told.length > 0 && shown[0] === told[0]) break;
        told.push(...shown);
        if ((await more.count()) === 0) break;
        await more.press("Enter");
      }
      const { face } = FACES.screens[name] ?? { face: undefined };
      // Each once and in its order.
      expect(told, size).toEqual([
        ...(face?.hand_over.map(({ name }) => name) ?? []),
        ...(face?.lists.flatMap(({ title, lines }) => [title, ...lines]) ?? []),
      ]);
    }
    const { face } = FACES.screens[name] ?? { face: undefined };
    expect((face?.hand_over.length ?? 0) + (face?.lists.length ?? 0)).toBeGreaterThan(4);
  });
}

test("what is handed over ends its card, and the crew's own list stands apart from it under a name of its own", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  await open(page, "ended");
  await press(page, "Hand Over");
  const { face } = FACES.screens["ended"] ?? { face: undefined };
  const [list] = face?.lists ?? [];
  const [card, own] = [FACES.labels["hand_over"] ?? "", FACES.labels["own_lists"] ?? ""];
  const rows = page.locator(".sheet .rows > *");
  const shown = async (): Promise<string[]> => {
    const all = await rows.evaluateAll((each) => each.filter((row) => row.getClientRects().length > 0).map((row) => (row.querySelector("dt") ?? row).textContent ?? ""));
    return all;
  };
  await expect(page.getByRole("dialog")).toHaveAccessibleName(card);
  expect(await shown()).toEqual(face?.hand_over.map(({ name }) => name));
  await expect(page.locator(".sheet header p")).toHaveText("1/1");
  await press(page, "More");
  await expect(page.getByRole("dialog")).toHaveAccessibleName(own);
  expect(await shown()).toEqual([list?.title, ...(list?.lines ?? [])]);
  await expect(page.locator(".sheet header p")).toHaveText("1/1");
});

test("a value that finds no room beside its name begins where the name does", async ({ page }) => {
  await page.setViewportSize({ width: 390, height: 844 });
  await open(page, "began_earlier");
  await press(page, "Set Right");
  await press(page, "Hand Over");
  const places = await page.locator(".sheet dl").evaluateAll((all) =>
    all.map((row) => {
      const [name, value] = ["dt", "dd"].map((tag) => row.querySelector(tag)?.getBoundingClientRect());
      return { below: (value?.top ?? 0) > (name?.top ?? 0) + 5, left: (value?.left ?? 0) - (name?.left ?? 0), right: (value?.right ?? 0) - row.getBoundingClientRect().right };
    }),
  );
  expect(places.filter(({ below }) => below).length).toBe(1);
  for (const { below, left, right } of places) expect(Math.abs(below ? left : right)).toBeLessThan(1);
});

const acts = async (page: Page): Promise<unknown[]> => (await sent(page)).map(({ args }) => args["act"]);

/** The hardware key, held until it counts as held. */
async function hold(page: Page): Promise<void> {
  await page.keyboard.down("PageDown");
  await page.waitForTimeout(HELD_MS + 150);
  await page.keyboard.up("PageDown");
}

test("one hardware key marks the one answer, short or held; another marks a bare time", async ({ page }) => {
  await open(page, "hand_ratio");
  await page.keyboard.press("PageDown");
  await page.keyboard.press("PageUp");
  // What follows at once is a bounce.
  await page.keyboard.press("PageDown");
  await page.keyboard.press("PageUp");
  expect(await acts(page)).toEqual(["hands_off", "flag"]);
  await page.waitForTimeout(REPEAT_MS);
  await hold(page);
  expect(await acts(page)).toEqual(["hands_off", "flag", "hands_off"]);
  await expect(page.locator(".framed")).toHaveCount(0);
});

test("a hardware key that bounces as it is let go after a long press marks nothing more", async ({ page }) => {
  await open(page, "hand_ratio");
  for (const [key, act] of [["PageDown", "hands_off"], ["PageUp", "flag"]] as const) {
    await page.keyboard.press(key, { delay: HELD_MS + REPEAT_MS + 150 });
    await page.keyboard.press(key);
    expect((await acts(page)).filter((one) => one === act), key).toEqual([act]);
    // The bounce puts nothing off, however long it lasts.
    await page.waitForTimeout(REPEAT_MS - 250);
    await page.keyboard.press(key, { delay: 250 });
    await page.waitForTimeout(50);
    await page.keyboard.press(key);
    expect((await acts(page)).filter((one) => one === act), key).toEqual([act, act]);
  }
});

test("of two answers the hardware key marks none that it has not framed", async ({ page }) => {
  await open(page, "check");
  const framed = page.locator(".framed");
  await hold(page);
  await expect(framed).toHaveText("Shocked, Back On");
  await page.keyboard.press("PageDown");
  await expect(framed).toHaveText("No Shock, Back On");
  await expect(framed).toBeFocused();
  await page.keyboard.press("PageDown");
  await expect(framed).toHaveText("Shocked, Back On");
  await page.keyboard.press("PageDown");
  expect(await acts(page)).toEqual([]);
  await hold(page);
  expect(await acts(page)).toEqual(["no_shock_hand"]);
  const { down, taken } = (await sent(page))[0]?.args as { down: number; taken: number };
  expect(taken - down).toBe(HELD_MS);
  await expect(framed).toHaveCount(0);
});

test("a frame that is left alone goes away, and then marks nothing", async ({ page }) => {
  await open(page, "check");
  await page.keyboard.press("PageDown");
  await expect(page.locator(".framed")).toHaveCount(1);
  await page.waitForTimeout(FRAMED_MS + 200);
  await expect(page.locator(".framed")).toHaveCount(0);
  await hold(page);
  expect(await acts(page)).toEqual([]);
});

test("answers that turn into others under the hardware key are not marked", async ({ page }) => {
  await open(page, "check");
  await page.keyboard.press("PageDown");
  await page.keyboard.down("PageDown");
  await page.evaluate(
    (s) => (window as unknown as { show: (s: object) => void }).show(s),
    FACES.screens["hand_ratio"] as object,
  );
  await page.waitForTimeout(HELD_MS + 150);
  await page.keyboard.up("PageDown");
  expect(await acts(page)).toEqual([]);
});

test("the question of hands off opens the reasons, one tap each", async ({ page }) => {
  for (const [width, height] of [[390, 844], [844, 390]] as const) {
    await page.setViewportSize({ width, height });
    await open(page, "hands_off");
    await press(page, "Why?");
    await expect(page.getByRole("dialog")).toHaveAccessibleName("Why?");
    await press(page, "Pulse Check");
    expect(await acts(page)).toEqual(["why_pulse"]);
    await expect(page.getByRole("dialog")).toHaveCount(0);
  }
});

test("what is so of patient and pause is set right behind the state line", async ({ page }) => {
  for (const [from, keys, act] of [
    ["hand_ratio", ["Patient", "Child"], "class_child"],
    ["hand_ratio", ["Situation", "Trauma"], "overlay_trauma"],
    ["stopped", ["Why Off", "Line"], "why_line"],
  ] as const) {
    await open(page, from);
    for (const key of ["Set Right", ...keys]) await seen(page, key).press("Enter");
    expect(await acts(page)).toEqual([act]);
    await expect(page.getByRole("dialog")).toHaveCount(0);
  }
});

test("a sheet lies over the answer: the answer key is at rest, the bare time is not", async ({ page }) => {
  await open(page, "hand_ratio");
  await press(page, "Mark");
  await page.keyboard.press("PageDown");
  await page.keyboard.press("PageUp");
  expect(await acts(page)).toEqual(["flag"]);
});

test("the keyboard alone reaches every key of every card, in the order of the screen", async ({ page }) => {
  test.setTimeout(240_000);
  for (const name of Object.keys(FACES.screens)) {
    await open(page, name);
    const wanted = await page.evaluate(() =>
      [...document.querySelectorAll("button:not(:disabled)")].map((b) =>
        (b.getAttribute("aria-label") ?? (b as HTMLElement).innerText).trim(),
      ),
    );
    const reached: string[] = [];
    for (let n = 0; n < wanted.length; n += 1) {
      await page.keyboard.press("Tab");
      reached.push(
        await page.evaluate(() => {
          const at = document.activeElement;
          const shown = at !== null && getComputedStyle(at).outlineStyle !== "none";
          const label = at?.getAttribute("aria-label") ?? (at as HTMLElement | null)?.innerText ?? "";
          return shown ? label.trim() : `${label.trim()}: no outline`;
        }),
      );
    }
    expect(reached, name).toEqual(wanted);
  }
});

test("a sheet takes the focus, keeps the card out of reach, and gives the focus back", async ({ page }) => {
  await open(page, "device_ratio");
  await page.getByRole("button", { name: "Mark", exact: true }).focus();
  await page.keyboard.press("Enter");
  await page.keyboard.press("Tab");
  expect(
    await page.evaluate(() => document.activeElement?.closest("[role=dialog]") !== null),
  ).toBe(true);
  expect(await page.locator("main[inert]").count()).toBe(1);
  await page.keyboard.press("Escape");
  expect(await page.evaluate(() => (document.activeElement as HTMLElement).innerText)).toBe("Mark");
});

test("every key, timer and dialog has a name; state, question and lines are told as they change", async ({ page }) => {
  test.setTimeout(240_000);
  const names = Object.keys(FACES.screens);
  for (const [n, name] of names.entries()) {
    await turn(page, names[n - 1], name);
    for (const button of await page.getByRole("button").all()) {
      await expect(button).toHaveAccessibleName(/\S/);
    }
  }
  await open(page, "check_due");
  await expect(page.locator("h1[aria-live=polite]")).toHaveText("By Hand");
  // The phone's own voice says a prompt: it is not told a second time over it. The question by itself is told.
  await expect(page.locator("p.question")).toContainText("Time for rhythm check.");
  await expect(page.locator("p.question")).toHaveAttribute("aria-live", "off");
  await open(page, "check_due", { said: null });
  await expect(page.locator("p.question")).toHaveAttribute("aria-live", "polite");
});

test("the first page comes once and can be skipped", async ({ page }) => {
  await open(page, "start", {}, { first: true });
  await expect(page.getByRole("heading", { level: 1 })).toHaveText("Before the first run");
  await press(page, "Close");
  expect((await sent(page)).map(({ command, args }) => [command, args["setting"]])).toEqual([
    ["paper", undefined],
    ["choose", "first"],
  ]);
  await expect(page.getByRole("button", { name: "Start by Hand" })).toBeVisible();
});

test("the menu opens every page, the class and the turn", async ({ page }) => {
  for (const [key, title] of [
    ["Ready Check", "Ready Check"],
    ["Past Runs", "Past Runs"],
    ["Protocol", "Protocol"],
    ["Settings", "Settings"],
    ["About", "About"],
  ] as const) {
    await open(page, "start");
    await press(page, "Menu");
    await press(page, key);
    await expect(page.getByRole("heading", { level: 1 })).toHaveText(title);
    await press(page, "Close");
    // Back to the menu: no key that starts a run lies where a page was closed.
    await expect(seen(page, key)).toBeVisible();
    await expect(seen(page, "Start by Hand")).toHaveCount(0);
    await page.waitForTimeout(650);
    await press(page, "Close");
    await expect(seen(page, "Start by Hand")).toBeVisible();
  }
  await press(page, "Menu");
  await press(page, "Patient");
  await press(page, "Child");
  const last = (await sent(page)).at(-1);
  expect([last?.command, last?.args["class"]]).toEqual(["choose_class", "child"]);
  // One way only: the class brings its own protocol with it. A situation is said to the run to come.
  await press(page, "Menu");
  await press(page, "Patient");
  await expect(seen(page, "Child")).toHaveCount(1);
  await press(page, "Pregnant");
  const said = (await sent(page)).at(-1);
  expect([said?.command, said?.args["act"]]).toEqual(["press", "overlay_pregnancy"]);
});

test("the protocol page shows every value with what is allowed, its source, and the hash", async ({ page }) => {
  await open(page, "start");
  await press(page, "Menu");
  await press(page, "Protocol");
  const text = await page.locator(".body").innerText();
  // Source of the values: the file example-adult.toml.
  expect(text).toContain("power.swap_window_s");
  expect(text).toContain("a whole number 15 to 180 s");
  expect(text).toContain("common practice, no source: enter your own device's figure");
  expect(text).toContain("0123456789abcdef".repeat(4));
});

test("a run of the past opens its debrief; a setting is sent; the sounds are asked for", async ({ page }) => {
  await open(page, "start");
  await press(page, "Menu");
  await press(page, "Past Runs");
  await touch(page.getByRole("button", { name: /2026-11-25 08:30/ }));
  await expect(page.getByRole("heading", { level: 1 })).toHaveText("Debrief");
  await expect(page.locator(".body")).toContainText("48 s");
  // Back to the list, then to the start.
  await press(page, "Close");
  await expect(page.getByRole("heading", { level: 1 })).toHaveText("Past Runs");
  await press(page, "Close");
  await press(page, "Settings");
  await touch(page.getByRole("button", { name: /Glare/ }));
  await press(page, "Close");
  await press(page, "Ready Check");
  await touch(page.getByRole("button", { name: /^Listen(?!ing)/ }));
  const commands = (await sent(page)).map(({ command, args }) => [command, args["id"] ?? args["value"]]);
  expect(commands).toContainEqual(["debrief", "one"]);
  expect(commands).toContainEqual(["choose", "glare"]);
  expect(commands.at(-1)).toEqual(["listen", undefined]);
});

test("the turn key turns the screen by a quarter, and the keys still send", async ({ page }) => {
  await open(page, "start");
  await press(page, "Menu");
  // The key lies where Menu was: a second touch of one place counts after 600 ms.
  await page.waitForTimeout(650);
  await press(page, "Screen");
  await press(page, "Turn Screen");
  await expect(page.locator(".frame.turned-90")).toBeVisible();
  const box = await page.getByRole("button", { name: "Start by Hand" }).boundingBox();
  expect(box?.width ?? 0).toBeLessThan(box?.height ?? 0);
  await press(page, "Start by Hand");
  expect((await sent(page)).at(-1)?.args["act"]).toBe("start_by_hand");
});

test("in a run the screen stays on the glass as it was when the phone is turned", async ({ page, context }) => {
  await open(page, "hand_ratio");
  const browser = await context.newCDPSession(page);
  const turn = (width: number, height: number, angle: number, type: string): Promise<unknown> =>
    browser.send("Emulation.setDeviceMetricsOverride", {
      width,
      height,
      deviceScaleFactor: 1,
      mobile: true,
      screenOrientation: { angle, type },
    } as never);
  await turn(390, 844, 0, "portraitPrimary");
  await page.reload();
  await page.locator(".page").first().waitFor();
  const key = page.getByRole("button", { name: "Hands Off" });
  const before = await key.boundingBox();
  await turn(844, 390, 90, "landscapePrimary");
  await expect(page.locator(".frame.turned-270")).toBeVisible();
  const after = await key.boundingBox();
  // The document was turned clockwise by 90 degrees against the glass: what lay at (x, y) of the glass
  // lies at (844 - y - h, x) of the document... as the glass sees it, nothing moved.
  expect(Math.round(after?.x ?? 0)).toBe(Math.round(before?.y ?? -1));
  expect(Math.round(after?.width ?? 0)).toBe(Math.round(before?.height ?? -1));
});
