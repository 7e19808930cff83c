/** Drills: choosing one, the instructor's corner, the score sheet; and that nothing of it is in a run. */
import { expect, type Locator, type Page, test } from "@playwright/test";

import { boxes, clipped, gap, keysAreRight, nothingScrolls, pairs } from "./fit.ts";
import { AFTER, FACES, open, refuse, seen, sent, WHY } from "./page.ts";
import { drills, overTime, scoreSheet, shows, stopped } from "./states.ts";

const SIZES = [
  { width: 360, height: 640 },
  { width: 390, height: 844 },
  { width: 640, height: 360 },
  { width: 844, height: 390 },
];
const DRILLS = AFTER["drills"] as { title: string; new_device: boolean; new_device_key: string; notes: string[]; take: string; unit: string; unit_label: string; crew: string; crew_label: string; over: string; drills: { id: string; label: string; lines: string[]; expected: string[] }[]; done: { id: string; label: string; has_sheet: boolean }[] };
const CHOSEN = AFTER["drill_chosen"] as { title: string; begin: string; leave: string };
const LIVE = AFTER["drill_live"] as {
  real_patient: string;
  instructor: string;
  next: string;
  again: string;
  stop: string;
  quiet: string | null;
  events: { id: string; label: string }[];
  by_hand_key: string;
  cues: { id: string; label: string }[];
  items: { id: string; label: string; on: boolean }[];
  sheet: string;
};
const NOISY = AFTER["drill_noisy"] as typeof LIVE;
const STOPPED = AFTER["drill_stopped"] as typeof LIVE & {
  stopped: { at: number; title: string; note: string; go_on: string; again: string; end: string };
};
const LOOK = AFTER["drill_look"] as { strip: { told: string }; rows: { name: string }[]; rows_title: string; tries: { label: string; told: string }[] };
const OVER = AFTER["drill_over"] as { groups: { title: string; charts: { label: string; spread: string; trust: string }[] }[] };
const DUE = AFTER["drill_due_line"] as unknown as string;
const SHEET = AFTER["drill_sheet"] as { sign: string; strips: { label: string; told: string }[]; rows: { name: string; bars: { text: string }[] }[]; sheet: { title: string } };

async function instructor(page: Page, drill: object = LIVE): Promise<void> {
  await open(page, "hand_ratio");
  await shows(page, "hand_ratio", drill);
  await seen(page, FACES.labels["mark"] ?? "").press("Enter");
  // On a small screen it lies on the last page of marks.
  if ((await seen(page, LIVE.instructor).count()) === 0) await seen(page, "Times, Sound").press("Enter");
  await press(page, LIVE.instructor);
  await page.getByRole("dialog", { name: LIVE.instructor, exact: true }).waitFor();
}

/** A key of the sheet, on whatever page of it. */
async function press(page: Page, name: string): Promise<void> {
  for (let n = 0; n < 8 && (await seen(page, name).count()) === 0; n += 1) {
    await seen(page, FACES.labels["more"] ?? "").press("Enter");
  }
  await seen(page, name).press("Enter");
}

/** While `what` is done, a drill is due. */
async function due(page: Page, what: () => Promise<void>): Promise<void> {
  AFTER["drill_due"] = DUE as unknown as Record<string, unknown>;
  try {
    await what();
  } finally {
    delete AFTER["drill_due"];
  }
}

async function asked(page: Page): Promise<unknown[]> {
  const all = await sent(page);
  return all.filter(({ command }) => command === "drill").map(({ args }) => args["asked"]);
}

/** What was done is said in a live region, and in sight. */
async function told(page: Page, what: string): Promise<void> {
  const status = page.getByRole("status").filter({ hasText: what });
  await expect(status).toHaveCount(1);
  await expect(status).toBeInViewport({ ratio: 1 });
}

async function pageIsRight(page: Page): Promise<void> {
  const all = await boxes(page);
  for (const box of all) {
    expect(box.width, `${box.name} wide`).toBeGreaterThanOrEqual(113);
    expect(box.height, `${box.name} high`).toBeGreaterThanOrEqual(113);
  }
  const inBody = new Set(await page.locator(".body button").allInnerTexts());
  for (const [a, b] of pairs(all.filter(({ name }) => inBody.has(name)))) {
    expect(gap(a, b), `${a.name} to ${b.name}`).toBeGreaterThanOrEqual(19.9);
  }
  const over = await page.locator(".body").evaluate((body) => body.scrollWidth - body.clientWidth);
  expect(over).toBeLessThanOrEqual(0);
}

for (const size of SIZES) {
  const at = `${size.width}x${size.height}`;

  test(`the page of the drills at ${at}`, async ({ page }) => {
    await page.setViewportSize(size);
    await drills(page);
    await pageIsRight(page);
  });

  test(`a drill that is looked at, with all that is read out, at ${at}`, async ({ page }) => {
    await page.setViewportSize(size);
    // All of them where there is least room.
    for (const { label, lines, expected } of DRILLS.drills.slice(0, size.width === 360 ? undefined : 2)) {
      await drills(page);
      await seen(page, label).press("Enter");
      await page.getByRole("main", { name: label, exact: true }).waitFor();
      await expect(page.locator(".body li")).toHaveText(expected);
      for (const line of [...lines, ...expected]) {
        // Two rhythm checks are expected in the same words.
        const told = page.getByText(line, { exact: true }).last();
        await told.scrollIntoViewIfNeeded();
        await expect(told, line).toBeInViewport({ ratio: 1 });
        expect(await told.evaluate((e) => e.scrollWidth - e.clientWidth), line).toBeLessThanOrEqual(0);
      }
      await pageIsRight(page);
      for (const key of [DRILLS.take, FACES.labels["back"] ?? ""]) await expect(seen(page, key)).toBeInViewport({ ratio: 1 });
    }
    await page.keyboard.press("Escape");
    await page.getByRole("main", { name: DRILLS.title, exact: true }).waitFor();
  });

  test(`the score sheet at ${at}`, async ({ page }) => {
    await page.setViewportSize(size);
    await scoreSheet(page);
    await pageIsRight(page);
  });

  test(`a drill that was stopped at ${at}`, async ({ page }) => {
    await page.setViewportSize(size);
    await stopped(page);
    await pageIsRight(page);
    // What it does is beside what is looked at, however far that is scrolled.
    const stands = async (): Promise<void> => {
      for (const label of [STOPPED.stopped.again, STOPPED.stopped.go_on, STOPPED.stopped.end]) {
        await expect(seen(page, label)).toBeInViewport({ ratio: 1 });
      }
    };
    await stands();
    // The last half minute is seen before anybody scrolls.
    await expect(page.locator(".strip .track").first()).toBeInViewport({ ratio: 1 });
    await page.locator(".body").evaluate((body) => { body.scrollTop = body.scrollHeight; });
    await stands();
  });

  test(`a crew's drills over time at ${at}`, async ({ page }) => {
    await page.setViewportSize(size);
    await overTime(page);
    await pageIsRight(page);
  });

  test(`a drill that is due on the start card at ${at}`, async ({ page }) => {
    await page.setViewportSize(size);
    await due(page, async () => {
      await open(page, "start");
      await expect(page.getByText(DUE, { exact: true })).toBeVisible();
      await keysAreRight(page, size);
      expect(await clipped(page)).toEqual([]);
    });
  });

  test(`a drill that was chosen, on the start card, at ${at}`, async ({ page }) => {
    await page.setViewportSize(size);
    await open(page, "start");
    await shows(page, "start", CHOSEN, ARMED);
    await expect(seen(page, CHOSEN.leave)).toBeInViewport({ ratio: 1 });
    await keysAreRight(page, size);
    expect(await clipped(page)).toEqual([]);
  });

  test(`a real patient in a drill at ${at}`, async ({ page }) => {
    await page.setViewportSize(size);
    await open(page, "hand_ratio");
    const mark = FACES.labels["mark"] ?? "";
    await seen(page, mark).press("Enter");
    const outside = await boxes(page);
    await seen(page, FACES.labels["close"] ?? "").press("Enter");
    await shows(page, "hand_ratio", LIVE);
    await seen(page, mark).press("Enter");
    await expect(seen(page, LIVE.real_patient)).toBeInViewport({ ratio: 1 });
    // No key that a crew has learnt is pushed: what stands here stands where it stands in a run.
    const own = [LIVE.real_patient, LIVE.instructor];
    const here = (await boxes(page)).filter(({ name }) => !own.includes(name));
    expect(here.length).toBeGreaterThanOrEqual(outside.length - own.length);
    for (const box of here) {
      expect(outside, box.name).toContainEqual(box);
    }
    await keysAreRight(page, size);
    await nothingScrolls(page);
    expect(await clipped(page)).toEqual([]);
  });

  test(`the instructor's corner at ${at}`, async ({ page }) => {
    await page.setViewportSize(size);
    await instructor(page);
    await keysAreRight(page, size);
    await nothingScrolls(page);
    expect(await clipped(page)).toEqual([]);
  });
}

/** The start card as the app sends it while a drill is chosen. */
const ARMED = { banners: FACES.screens["drill"]?.face.banners ?? [] };

test("one touch leaves a drill that was chosen, and every other way to start is still there", async ({ page }) => {
  expect(ARMED.banners.length).toBe(1);
  await open(page, "start");
  const starts = await page.locator("button").allInnerTexts();
  await shows(page, "start", CHOSEN, ARMED);
  for (const { text } of ARMED.banners) await expect(page.getByText(text, { exact: true })).toBeVisible();
  const armed = await page.locator("button").allInnerTexts();
  // In the place of one of them, which then lies in the menu.
  const moved = starts.filter((name) => !armed.includes(name));
  expect(moved).toEqual(["Start Quiet"]);
  await seen(page, FACES.labels["menu"] ?? "").press("Enter");
  await press(page, "Start Quiet");
  await open(page, "start");
  await shows(page, "start", CHOSEN, ARMED);
  await seen(page, CHOSEN.leave).press("Enter");
  expect(await asked(page)).toEqual([{ kind: "leave" }]);
});

test("a real patient in a drill is two touches away, dated to the finger, and in a run there is no such key", async ({ page }) => {
  await open(page, "hand_ratio");
  await shows(page, "hand_ratio", LIVE);
  await seen(page, FACES.labels["mark"] ?? "").press("Enter");
  await seen(page, LIVE.real_patient).press("Enter");
  const real = (await sent(page)).filter(({ command }) => command === "real_patient");
  expect(real.length).toBe(1);
  const { down, taken, sent: gone } = real[0]?.args as Record<string, number>;
  expect(down).toBeGreaterThan(0);
  expect(taken).toBeGreaterThanOrEqual(down ?? Infinity);
  expect(gone).toBeGreaterThanOrEqual(taken ?? Infinity);
  await expect(page.getByRole("dialog")).toHaveCount(0);
  await open(page, "hand_ratio");
  await seen(page, FACES.labels["mark"] ?? "").press("Enter");
  await expect(seen(page, LIVE.real_patient)).toHaveCount(0);
});

/** A drill of three seconds, then a run: its clock is not that of the drill. */
test("the run for a real patient shows its own time from the first moment", async ({ page }) => {
  await open(page, "hand_ratio");
  await page.evaluate(async (screen) => {
    const { show } = window as unknown as { show: (s: object) => void };
    show({ ...screen, now: 3_000, record: { id: "a", is_kept: true, text: "" } });
    show({ ...screen, now: 0, drill: null, record: { id: "b", is_kept: true, text: "" }, face: { ...(screen as { face: object }).face, figure: { kind: "up", since: 0 } } });
    const drawn = (): Promise<unknown> => new Promise(requestAnimationFrame);
    await drawn();
    await drawn();
  }, { ...FACES.screens["hands_off"], drill: LIVE });
  await expect(page.locator(".figure")).toContainText(/0:0[01]/);
});

test("a drill is chosen, said on the start card and left again", async ({ page }) => {
  await drills(page);
  await seen(page, DRILLS.drills[0]?.label ?? "").press("Enter");
  await seen(page, DRILLS.take).press("Enter");
  expect(await asked(page)).toEqual([{ kind: "choose", scenario: "device_on", vary: false, unit: "M12", crew: "B" }]);
  await shows(page, "start", CHOSEN);
  await expect(page.getByText(`${CHOSEN.title}. ${CHOSEN.begin}`)).toBeVisible();
  await seen(page, FACES.labels["menu"] ?? "").press("Enter");
  await press(page, DRILLS.title);
  await seen(page, CHOSEN.leave).press("Enter");
  expect((await asked(page)).at(-1)).toEqual({ kind: "leave" });
});

test("the instructor tells the next cue, any other with one tap, ticks and goes again", async ({ page }) => {
  const inject = LIVE.cues.at(-1);
  const [, item] = LIVE.items;
  for (const [label, wish] of [
    [LIVE.next, { kind: "tell" }],
    [LIVE.stop, { kind: "stop" }],
    [inject?.label ?? "", { kind: "inject", id: inject?.id }],
    ...LIVE.events.map(({ id, label }): [string, object] => [label, { kind: "event", what: id }]),
    [item?.label ?? "", { kind: "tick", item: item?.id, on: item?.on !== true }],
    [LIVE.by_hand_key, { kind: "by_hand", on: true }],
    [LIVE.again, { kind: "again" }],
  ] as [string, object][]) {
    await instructor(page);
    await press(page, label);
    expect(await asked(page), label).toEqual([wish]);
  }
});

test("a run has no corner, and its end no score sheet", async ({ page }) => {
  await open(page, "hand_ratio");
  await seen(page, FACES.labels["mark"] ?? "").press("Enter");
  await expect(seen(page, LIVE.instructor)).toHaveCount(0);
  await open(page, "ended");
  await expect(seen(page, LIVE.sheet)).toHaveCount(0);
  await expect(seen(page, FACES.labels["make_ready"] ?? "")).toHaveCount(1);
});

test("the score sheet of a drill opens at its end, with its tries and a sheet to sign", async ({ page }) => {
  await open(page, "ended");
  await shows(page, "ended", LIVE);
  await seen(page, LIVE.sheet).press("Enter");
  await page.getByRole("main", { name: SHEET.sheet.title, exact: true }).waitFor();
  await expect(page.locator(".bar")).toHaveCount(SHEET.rows.reduce((sum, row) => sum + row.bars.length, 0));
  // What was late differs without colour.
  await expect(page.locator(".fill.off").first()).toBeAttached();
  // Wherever the sheet is scrolled to, its place is said in sight.
  await page.locator(".body").evaluate((body) => { body.scrollTop = body.scrollHeight / 2; });
  await seen(page, SHEET.sign).press("Enter");
  const exports = (await sent(page)).filter(({ command }) => command === "export_run");
  expect(exports.map(({ args }) => args["what"])).toEqual(["drill"]);
  await told(page, "export_run: ");
});

test("what counts for no day is said on the page of the drills", async ({ page }) => {
  DRILLS.notes.push("An invented note.");
  try {
    await drills(page);
    await expect(page.getByText("An invented note.", { exact: true })).toBeVisible();
  } finally {
    DRILLS.notes.pop();
  }
});

test("a drill by another version is listed and opens no sheet", async ({ page }) => {
  const [first] = DRILLS.done;
  if (first === undefined) throw new Error("no drill was done");
  DRILLS.done.push({ ...first, id: "older", label: "An invented older drill", has_sheet: false });
  await page.setViewportSize({ width: 390, height: 844 });
  try {
    await drills(page);
    await expect(page.getByText("An invented older drill", { exact: true })).toBeVisible();
    await expect(seen(page, "An invented older drill")).toHaveCount(0);
    await expect(seen(page, first.label)).toHaveCount(1);
    await pageIsRight(page);
  } finally {
    DRILLS.done.pop();
  }
});

test("codes of unit and crew are two fields, kept as they are changed", async ({ page }) => {
  await drills(page);
  const [unit, crew] = [DRILLS.unit_label, DRILLS.crew_label].map((name) => page.getByLabel(name, { exact: true }));
  await expect(unit as Locator).toHaveValue("M12");
  await expect(crew as Locator).toHaveValue("B");
  await (crew as Locator).fill(" c7 ");
  await (crew as Locator).blur();
  expect(await asked(page)).toEqual([{ kind: "codes", unit: "M12", crew: "C7" }]);
  await expect(crew as Locator).toHaveValue("C7");
  await seen(page, DRILLS.drills[1]?.label ?? "").press("Enter");
  await seen(page, DRILLS.take).press("Enter");
  expect((await asked(page)).at(-1)).toMatchObject({ kind: "choose", unit: "M12", crew: "C7" });
});

test("a code is capital as it is typed, and what is shown is what is kept though the field was never left", async ({ page }) => {
  await drills(page);
  const crew = page.getByLabel(DRILLS.crew_label, { exact: true });
  await crew.fill("");
  await crew.pressSequentially("b7");
  await expect(crew).toHaveValue("B7");
  expect((await asked(page)).at(-1)).toEqual({ kind: "codes", unit: "M12", crew: "B7" });
  // In the midst of it: the caret stays where it was.
  await crew.press("ArrowLeft");
  await crew.pressSequentially("xy");
  await expect(crew).toHaveValue("BXY7");
  expect((await asked(page)).at(-1)).toEqual({ kind: "codes", unit: "M12", crew: "BXY7" });
});

test("a ninth character is left out by nobody: it is refused at the field, until the code is one", async ({ page }) => {
  await page.setViewportSize({ width: 360, height: 640 });
  await drills(page);
  const crew = page.getByLabel(DRILLS.crew_label, { exact: true });
  await crew.fill("ABCDEFGH");
  await expect(page.getByRole("alert")).toHaveCount(0);
  await refuse(page, "drill");
  await crew.press("End");
  await crew.pressSequentially("i");
  await expect(crew).toHaveValue("ABCDEFGHI");
  expect((await asked(page)).at(-1)).toEqual({ kind: "codes", unit: "M12", crew: "ABCDEFGHI" });
  const why = page.locator(".codes").getByRole("alert");
  await expect(why).toContainText(WHY);
  await expect(crew).toHaveAttribute("aria-invalid", "true");
  await pageIsRight(page);
  await refuse(page);
  await crew.press("Backspace");
  await expect(page.getByRole("alert")).toHaveCount(0);
  await expect(crew).toHaveAttribute("aria-invalid", "false");
});

test("a new device is noted, and taken back, by a key", async ({ page }) => {
  for (const on of [true, false]) {
    DRILLS.new_device = !on;
    try {
      await drills(page);
      await seen(page, DRILLS.new_device_key).press("Enter");
      expect(await asked(page)).toEqual([{ kind: "new_device", on }]);
      // What is due then stands there at once.
      await expect.poll(async () => (await sent(page)).filter(({ command }) => command === "drills").length).toBe(2);
    } finally {
      DRILLS.new_device = false;
    }
  }
});

test("a code that is refused says why, and the page stays", async ({ page }) => {
  await drills(page);
  await refuse(page, "drill");
  const crew = page.getByLabel(DRILLS.crew_label, { exact: true });
  await crew.fill("ANNA-M");
  await crew.blur();
  await expect(page.getByRole("alert")).toContainText(WHY);
});

test("a code that was refused stays in its field when another key is pressed", async ({ page }) => {
  await drills(page);
  await refuse(page, "drill");
  const crew = page.getByLabel(DRILLS.crew_label, { exact: true });
  await crew.fill("ANNA-M");
  await crew.blur();
  await expect(page.getByRole("alert")).toContainText(WHY);
  await refuse(page);
  await seen(page, DRILLS.new_device_key).press("Enter");
  await expect.poll(async () => (await sent(page)).filter(({ command }) => command === "drills").length).toBe(2);
  await expect(crew).toHaveValue("ANNA-M");
  await expect(page.locator(".codes").getByRole("alert")).toContainText(WHY);
});

test("every event has a key of its own, and noise one that ends it while it lasts", async ({ page }) => {
  expect(LIVE.events.map(({ id }) => id)).toEqual([
    "device_stops", "cup_slips", "pack_low", "too_large", "airway_placed", "noise",
  ]);
  expect(LIVE.quiet).toBeNull();
  await instructor(page, NOISY);
  await press(page, NOISY.quiet ?? "");
  expect(await asked(page)).toEqual([{ kind: "quiet" }]);
});

test("a stopped drill takes the card away, shows what was done, and goes on, again or to its end by a key", async ({ page }) => {
  await stopped(page);
  await expect(page.getByText(LOOK.strip.told, { exact: true }).first()).toBeVisible();
  await expect(page.locator("h3")).toHaveText(LOOK.rows.map(({ name }) => name));
  await expect(seen(page, FACES.labels["mark"] ?? "")).toHaveCount(0);
  const looks = (await sent(page)).filter(({ command }) => command === "drill_look");
  expect(looks.map(({ args }) => args["at"])).toEqual([STOPPED.stopped.at]);
  for (const [label, kind] of [
    [STOPPED.stopped.go_on, "go_on"],
    [STOPPED.stopped.again, "again"],
    [STOPPED.stopped.end, "leave"],
  ] as const) {
    await seen(page, label).press("Enter");
    expect((await asked(page)).at(-1)).toEqual({ kind });
  }
  // Escape is no answer: nothing goes on by mistake.
  const before = (await asked(page)).length;
  await page.keyboard.press("Escape");
  expect((await asked(page)).length).toBe(before);
  await expect(page.getByRole("main", { name: STOPPED.stopped.title, exact: true })).toBeVisible();
});

test("a stopped drill that is ended shows its score sheet, which leads on to the start card", async ({ page }) => {
  await stopped(page);
  await seen(page, STOPPED.stopped.end).press("Enter");
  await shows(page, "start", null);
  await page.getByRole("main", { name: SHEET.sheet.title, exact: true }).waitFor();
  const record = FACES.screens["hand_ratio"]?.record?.id;
  const sheets = (await sent(page)).filter(({ command }) => command === "drill_sheet");
  expect(sheets.map(({ args }) => args["id"])).toEqual([record]);
  await seen(page, FACES.labels["back"] ?? "").press("Enter");
  await expect(seen(page, FACES.screens["start"]?.face.main[0]?.label ?? "")).toBeVisible();
});

test("a run that began before a stopped drill was put away has no sheet of it, not at its end either", async ({ page }) => {
  await stopped(page);
  await page.evaluate(() => {
    // The answer comes late, as it may.
    const { __TAURI_INTERNALS__: app } = window as unknown as { __TAURI_INTERNALS__: { invoke: (...all: unknown[]) => Promise<unknown> } };
    const { invoke } = app;
    app.invoke = async (command, ...all) => {
      const answer = await invoke(command, ...all);
      if (command === "drill") await new Promise((done) => setTimeout(done, 300));
      return answer;
    };
  });
  await seen(page, STOPPED.stopped.end).press("Enter");
  const run = { id: "another", is_kept: true, text: "" };
  const show = (name: string): Promise<void> =>
    page.evaluate((screen) => { (window as unknown as { show: (s: object) => void }).show(screen); }, { ...FACES.screens[name], record: run });
  await show("hands_off");
  await page.waitForTimeout(500);
  await show("ended");
  await expect(seen(page, FACES.labels["new_run"] ?? "")).toBeVisible();
  expect((await sent(page)).filter(({ command }) => command === "drill_sheet")).toEqual([]);
});

test("a stopped drill has no points", async ({ page }) => {
  await stopped(page);
  const text = await page.locator(".body").innerText();
  expect(text).not.toMatch(/%|points/i);
});

test("two tries stand side by side as strips, and differ without colour", async ({ page }) => {
  await scoreSheet(page);
  await expect(page.locator(".strip")).toHaveCount(SHEET.strips.length);
  expect(SHEET.strips.length).toBe(2);
  for (const { label, told } of SHEET.strips) {
    await expect(page.locator(".strip").filter({ hasText: label })).toContainText(told);
  }
  const looks = await page.evaluate(() =>
    ["hand", "device", "off"].map((kind) => {
      const { backgroundImage, backgroundColor, borderBottomWidth } = getComputedStyle(
        document.querySelector(`.track .${kind}`) ?? document.body,
      );
      return `${String(backgroundImage !== "none")} ${String(backgroundColor !== "rgba(0, 0, 0, 0)")} ${borderBottomWidth}`;
    }),
  );
  expect(new Set(looks).size, looks.join("; ")).toBe(3);
});

test("the tries of a mark have one scale: their limits stand one under the other", async ({ page }) => {
  await scoreSheet(page);
  const rows = await page.locator(".bars").evaluateAll((all) =>
    all.map((bars) => [...bars.querySelectorAll(".bar")].map((bar) => {
      const [track, limit] = [".track", ".limit"].map((name) => bar.querySelector(name)?.getBoundingClientRect());
      return { left: track?.left ?? NaN, width: track?.width ?? NaN, limit: limit?.left ?? NaN };
    })),
  );
  expect(rows.length).toBe(SHEET.rows.length);
  for (const [n, bars] of rows.entries()) {
    expect(bars.length).toBe(SHEET.rows[n]?.bars.length);
    for (const bar of bars) {
      expect(bar.width).toBeGreaterThanOrEqual(60);
      for (const key of ["left", "width", "limit"] as const) {
        expect(Math.abs(bar[key] - (bars[0]?.[key] ?? NaN)), `${SHEET.rows[n]?.name ?? ""}, ${key}`).toBeLessThan(0.5);
      }
    }
  }
});

test("a crew's drills over time have their median and how far the marks go beside every picture", async ({ page }) => {
  await overTime(page);
  const charts = OVER.groups.flatMap(({ charts: all }) => all);
  expect(charts.length).toBe(2);
  await expect(page.locator(".picture svg")).toHaveCount(charts.length);
  for (const { label, spread, trust } of charts) {
    await expect(page.getByRole("heading", { name: label, exact: true })).toBeVisible();
    await expect(page.getByText(spread, { exact: true })).toHaveCount(1);
    await expect(page.getByText(trust, { exact: true })).toHaveCount(charts.filter((one) => one.trust === trust).length);
  }
});

/** Two groups with one title, and parts of a strip so short that they begin at the same thousandth, are drawn. */
test("drills over time and strips stand whatever two parts have in common", async ({ page }) => {
  const faults: string[] = [];
  page.on("pageerror", (error) => faults.push(String(error)));
  const [over, sheet] = [AFTER["drill_over"], AFTER["drill_sheet"]];
  const [group] = OVER.groups;
  const strips = SHEET.strips.map((strip) => ({ ...strip, parts: [{ left: 7, width: 0, kind: "off" }, { left: 7, width: 900, kind: "hand" }] }));
  AFTER["drill_over"] = { ...over, groups: [group, group] };
  AFTER["drill_sheet"] = { ...sheet, strips };
  try {
    await overTime(page);
    await expect(page.getByRole("heading", { name: group?.title ?? "", exact: true })).toHaveCount(2);
    await scoreSheet(page);
    await expect(page.locator(".strip .part")).toHaveCount(2 * strips.length);
  } finally {
    [AFTER["drill_over"], AFTER["drill_sheet"]] = [over ?? {}, sheet ?? {}];
  }
  expect(faults).toEqual([]);
});

test("a drill that is due is said on the start card alone, and its key in the menu leads to the drills", async ({ page }) => {
  await due(page, async () => {
    await open(page, "start");
    await expect(page.getByText(DUE, { exact: true })).toBeVisible();
    await seen(page, FACES.labels["menu"] ?? "").press("Enter");
    await press(page, DUE);
    await page.getByRole("main", { name: DRILLS.title, exact: true }).waitFor();
    await open(page, "hand_ratio");
    await expect(page.getByText(DUE)).toHaveCount(0);
    const all = await page.evaluate(() => (window as unknown as { sent: { command: string }[] }).sent);
    expect(all.filter(({ command }) => command === "drill_due")).toEqual([]);
  });
});
