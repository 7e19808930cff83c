/** Parts of a strip and times of the day, worked out by hand. */
import { expect, test } from "@playwright/test";

import { minutes, moved, ofDay, soAt, within, zoomed } from "../../ui/src/span.ts";

const WHOLE = { from: 10_000, to: 610_000 };

test("a part is moved into the whole, never cut", () => {
  expect(within({ from: 0, to: 100_000 }, WHOLE)).toEqual({ from: 10_000, to: 110_000 });
  expect(within({ from: 600_000, to: 700_000 }, WHOLE)).toEqual({ from: 510_000, to: 610_000 });
  expect(within({ from: 0, to: 900_000 }, WHOLE)).toEqual(WHOLE);
});

test("closer is half around the moment, wider twice, and no less than a minute", () => {
  expect(zoomed(WHOLE, WHOLE, 310_000, 0.5)).toEqual({ from: 160_000, to: 460_000 });
  expect(zoomed({ from: 160_000, to: 460_000 }, WHOLE, 310_000, 2)).toEqual(WHOLE);
  expect(zoomed({ from: 10_000, to: 80_000 }, WHOLE, 10_000, 0.5)).toEqual({ from: 10_000, to: 70_000 });
});

test("earlier and later move by half of what is seen", () => {
  expect(moved({ from: 110_000, to: 210_000 }, WHOLE, 1)).toEqual({ from: 160_000, to: 260_000 });
  expect(moved({ from: 20_000, to: 120_000 }, WHOLE, -1)).toEqual({ from: 10_000, to: 110_000 });
});

test("times are written in full, beyond midnight from nought", () => {
  expect(ofDay(8 * 3600 + 5 * 60 + 9)).toBe("08:05:09");
  expect(ofDay(86_400 + 1)).toBe("00:00:01");
  expect(ofDay(-1)).toBe("23:59:59");
  expect(minutes(125_400)).toBe("2:05");
});

test("what was so is what began last", () => {
  const moments = [{ from: 0, text: "a" }, { from: 5, text: "b" }];
  expect(soAt(moments, 4)?.text).toBe("a");
  expect(soAt(moments, 5)?.text).toBe("b");
  expect(soAt(moments, -1)).toBeUndefined();
});
