/** The page's wiring in a browser: what a finger, a key and a long hold send. */
import { expect, test } from "@playwright/test";

import { FACES, open, sent, WHY } from "./page.ts";

test.use({ viewport: { width: 390, height: 844 } });

test("a press is sent with the finger's own times", async ({ page }) => {
  await open(page, "hand_ratio");
  await page.evaluate(() => {
    document.addEventListener(
      "pointerdown",
      (event) => Object.assign(window, { seen: Math.round(event.timeStamp) }),
      true,
    );
  });
  await page.getByRole("button", { name: "Hands Off" }).click({ delay: 120 });
  const [press, ...rest] = await sent(page);
  expect(rest).toEqual([]);
  expect(press?.command).toBe("press");
  const { act, down, taken, sent: left } = press?.args as Record<string, number>;
  expect(act).toBe("hands_off");
  expect(down).toBe(await page.evaluate(() => (window as unknown as { seen: number }).seen));
  expect((taken ?? 0) - (down ?? 0)).toBeGreaterThanOrEqual(100);
  expect(left).toBeGreaterThanOrEqual(taken ?? Infinity);
});

test("a touch too short is not sent as a press; its count is", async ({ page }) => {
  await open(page, "hand_ratio");
  await page.getByRole("button", { name: "Hands Off" }).click();
  await expect.poll(() => sent(page)).toEqual([
    { command: "touches_ignored", args: { n: 1, why: "short" } },
  ]);
});

test("a press still held is sent at 800 ms", async ({ page }) => {
  await open(page, "hand_ratio");
  await page.getByRole("button", { name: "Hands Off" }).hover();
  await page.mouse.down();
  await expect.poll(async () => (await sent(page)).length).toBe(1);
  const [press] = await sent(page);
  const { down, taken } = press?.args as { down: number; taken: number };
  expect(taken - down).toBe(800);
  await page.mouse.up();
  await page.waitForTimeout(100);
  expect((await sent(page)).length).toBe(1);
});

test("two fingers on two keys send two presses", async ({ page, context }) => {
  await open(page, "device_ratio");
  const browser = await context.newCDPSession(page);
  const centre = async (name: string): Promise<{ x: number; y: number }> => {
    const box = await page.getByRole("button", { name, exact: true }).boundingBox();
    return { x: (box?.x ?? 0) + 60, y: (box?.y ?? 0) + 60 };
  };
  const one = { ...(await centre("Moving")), id: 1 };
  const two = { ...(await centre("Paused")), id: 2 };
  const touch = (type: "touchStart" | "touchEnd", touchPoints: object[]): Promise<unknown> =>
    browser.send("Input.dispatchTouchEvent", { type, touchPoints } as never);
  await touch("touchStart", [one]);
  await touch("touchStart", [one, two]);
  await page.waitForTimeout(120);
  await touch("touchEnd", []);
  await expect
    .poll(async () => (await sent(page)).map(({ args }) => args["act"]).sort())
    .toEqual(["moving", "paused"]);
});

test("Enter and Space press a key", async ({ page }) => {
  await open(page, "hand_ratio");
  await page.getByRole("button", { name: "Hands Off" }).focus();
  await page.keyboard.press("Enter");
  await page.keyboard.press(" ");
  expect((await sent(page)).map(({ args }) => args["act"])).toEqual(["hands_off", "hands_off"]);
});

test("the end takes a hold of 1.5 s, says so at 800 ms, and asks how", async ({ page }) => {
  await open(page, "hand_ratio");
  await page.getByRole("button", { name: "Mark", exact: true }).click({ delay: 90 });
  const end = page.getByRole("button", { name: "Hold to End" });
  await end.click({ delay: 400 });
  expect(await sent(page)).toEqual([]);
  await end.click({ delay: 1000 });
  expect((await sent(page)).map(({ command }) => command)).toEqual(["end_held"]);
  await expect(page.getByRole("button", { name: "No Arrest" })).toHaveCount(0);
  await end.click({ delay: 1700 });
  await page.getByRole("button", { name: "No Arrest" }).click({ delay: 90 });
  expect((await sent(page)).map(({ command, args }) => args["act"] ?? command)).toEqual([
    "end_held",
    "end_held",
    "end_no_arrest",
  ]);
});

test("a mark behind Mark takes two presses and puts the sheet away", async ({ page }) => {
  await open(page, "hand_ratio");
  await page.getByRole("button", { name: "Mark", exact: true }).click({ delay: 90 });
  await page.getByRole("button", { name: "Pads On" }).click({ delay: 90 });
  expect((await sent(page)).map(({ args }) => args["act"])).toEqual(["pads_on"]);
  await expect(page.getByRole("dialog")).toHaveCount(0);
});

test("the receipt goes from touched to kept, and says saving when the disk is slow", async ({ page }) => {
  const show = async (receipt: object | null, last: object[] = []): Promise<void> => {
    const at = FACES.screens["hand_ratio"];
    const screen = { ...at, face: { ...at?.face, last }, receipt };
    await page.evaluate(
      (s) => (window as unknown as { show: (s: object) => void }).show(s),
      screen,
    );
  };
  await open(page, "hand_ratio");
  const receipt = page.locator(".receipt");
  await show({ seq: 9, at: 148000, kept: false, taken: true, waiting_ms: 0 });
  await expect(receipt).toHaveText("Touched");
  await expect(receipt).toHaveText("Saving");
  await show({ seq: 9, at: 148000, kept: true, taken: true, waiting_ms: 0 });
  await expect(receipt).toHaveText("Kept");
  const last = [{ seq: 9, at: 148000, text: "Shock" }];
  await show({ seq: 9, at: 148000, kept: true, taken: true, waiting_ms: 0 }, last);
  await expect(receipt).toHaveText("Kept");
  await expect(page.locator(".named")).toHaveText("Shock");
  await show({ seq: 10, at: 149000, kept: true, taken: true, waiting_ms: 0 }, last);
  await expect(page.locator(".named")).toHaveCount(0);
  await show({ seq: 10, at: 149000, kept: true, taken: false, waiting_ms: 0 });
  await expect(receipt).toHaveText("Not taken");
});

/** A mark that no line answers is not covered by the receipt of the one before it. */
test("a mark that is not answered stays touched, and then is not taken", async ({ page }) => {
  await open(page, "hand_ratio");
  const screen = { ...FACES.screens["hand_ratio"], receipt: { seq: 9, at: 148000, kept: true, taken: true, waiting_ms: 0 } };
  const show = (s: object): Promise<void> =>
    page.evaluate((shown) => { (window as unknown as { show: (s: object) => void }).show(shown); }, s);
  await show(screen);
  const receipt = page.locator(".receipt");
  await expect(receipt).toHaveText("Kept");
  await page.getByRole("button", { name: "Hands Off" }).click({ delay: 90 });
  await expect(receipt).toHaveText("Touched");
  await page.waitForTimeout(1_500);
  await expect(receipt).toHaveText("Touched");
  await expect(receipt).toHaveText("Not taken", { timeout: 4_000 });
  await show({ ...screen, receipt: { ...screen.receipt, seq: 10 } });
  await expect(receipt).toHaveText("Kept");
});

test("what cannot hold ends a run by a click that comes from no finger and no key", async ({ page }) => {
  await open(page, "device_ratio");
  await page.getByRole("button", { name: "Mark", exact: true }).click({ delay: 90 });
  const hold = page.getByRole("button", { name: "Hold to End" });
  const ended = page.getByRole("button", { name: "Handed Over" });
  await hold.press("Enter");
  await hold.click({ delay: 90 });
  await expect(ended).toHaveCount(0);
  await page.waitForTimeout(2_600);
  await hold.evaluate((button) => { (button as HTMLButtonElement).click(); });
  await expect(ended).toBeVisible();
});

test("a page whose app did not start says why", async ({ page }) => {
  await open(page, "start", {}, {}, ["subscribe"]);
  await expect(page.getByRole("alert")).toHaveText(`subscribe: ${WHY}`);
  await expect(page.getByRole("button")).toHaveCount(0);
});

test("the page for new users can be put away where that cannot be kept, and a run be started", async ({ page }) => {
  await open(page, "start", {}, { first: true }, ["choose"]);
  await page.getByRole("button", { name: "Close" }).click({ delay: 90 });
  const line = page.getByRole("alert");
  await expect(line).toContainText(`choose: ${WHY}`);
  const start = page.getByRole("button", { name: "Start by Hand" });
  await start.click({ delay: 90 });
  expect((await sent(page)).at(-1)?.args["act"]).toBe("start_by_hand");
  // What gets through takes the line away.
  await expect(line).toHaveCount(0);
});

test("a line that says what was refused can be put away", async ({ page }) => {
  await open(page, "start", {}, {}, ["choose"]);
  for (const key of ["Menu", "Settings"]) {
    await page.locator("button:not([inert] *)").and(page.getByRole("button", { name: key })).click({ delay: 90 });
  }
  await page.getByRole("button", { name: /Glare/ }).click();
  await expect(page.getByRole("alert")).toContainText(`choose: ${WHY}`);
  await page.getByRole("button", { name: "Put Away" }).click();
  await expect(page.getByRole("alert")).toHaveCount(0);
  await expect(page.getByRole("heading", { level: 1 })).toHaveText("Settings");
});

test("after a run its own debrief is asked for, and what is not kept is said", async ({ page }) => {
  const screen = FACES.screens["ended"];
  const show = (record: object | null): Promise<void> =>
    page.evaluate((s) => {
      (window as unknown as { show: (s: object) => void }).show(s);
    }, { ...screen, record });
  await open(page, "ended");
  const text = "The record of this run could not be kept whole.";
  await show({ id: "this-run", is_kept: false, text });
  await expect(page.locator("main")).toContainText(text);
  await page.getByRole("button", { name: "Debrief" }).click({ delay: 90 });
  const asked = (await sent(page)).filter(({ command }) => command === "debrief");
  expect(asked.map(({ args }) => args)).toEqual([{ id: "this-run", recorded: false, width: expect.any(Number) as number }]);
});

test("an end by mistake is taken back by one key until the record is closed", async ({ page }) => {
  await open(page, "ended");
  await page.getByRole("button", { name: "Not Ended" }).click({ delay: 90 });
  expect((await sent(page)).map(({ command }) => command)).toEqual(["undo"]);
  await open(page, "ended", { undo: false });
  await expect(page.getByRole("button", { name: "Not Ended" })).toBeDisabled();
});

test("the beat light follows the list of sounds, and stands still on wish", async ({ page }) => {
  await open(page, "hand_ratio");
  /** How often the disc lights within two seconds, once the sounds of the face are told anew. */
  const running = (): Promise<number> =>
    page.locator(".light > .disc").evaluate(async (disc, [news]) => {
      let n = 0;
      new MutationObserver(() => {
        n += disc.classList.contains("lit") ? 1 : 0;
      }).observe(disc, { attributeFilter: ["class"] });
      (window as unknown as { show: (news: object, kind: string) => void }).show(news, "beat");
      await new Promise((resolve) => setTimeout(resolve, 2_000));
      return n;
    }, [{ now: 0, pulses: [550, 1100, 1650].map((at, n) => ({ at, kind: "beat", n })) }] as const);
  expect(await running()).toBe(3);
  await page.emulateMedia({ reducedMotion: "reduce" });
  await open(page, "hand_ratio");
  expect(await running()).toBe(0);
});

test("a key that the clock changed under the thumb waits to be read", async ({ page }) => {
  await open(page, "device_check");
  const [check, plain] = ["device_check", "device_ratio"].map((name) => FACES.screens[name]);
  const label = plain?.face.main[0]?.label ?? "";
  expect(label).not.toBe(check?.face.main[0]?.label);
  // The change and the finger in one go, with nothing but the drawing of the keys between them.
  const touch = (show: object | null): Promise<void> =>
    page.evaluate(async ([screen, name]) => {
      if (screen !== null) (window as unknown as { show: (s: object) => void }).show(screen);
      const named = (): HTMLElement | undefined =>
        [...document.querySelectorAll<HTMLElement>("button.main")].find((button) => button.innerText.trim() === name);
      while (named() === undefined) await new Promise(requestAnimationFrame);
      const box = named()?.getBoundingClientRect();
      const at = { clientX: (box?.x ?? 0) + 40, clientY: (box?.y ?? 0) + 40, bubbles: true, pointerId: 1 };
      HTMLElement.prototype.setPointerCapture = () => undefined;
      named()?.dispatchEvent(new PointerEvent("pointerdown", at));
      await new Promise((resolve) => setTimeout(resolve, 100));
      named()?.dispatchEvent(new PointerEvent("pointerup", at));
    }, [show, label] as const);
  await touch(plain ?? null);
  await expect(page.locator(".receipt")).toHaveText("Not taken");
  await expect.poll(() => sent(page)).toEqual([
    { command: "touches_ignored", args: { n: 1, why: "changed" } },
  ]);
  await page.waitForTimeout(400);
  await touch(null);
  await expect.poll(async () => (await sent(page)).at(-1)?.args["act"]).toBe("paused");
});
