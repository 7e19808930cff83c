/** The page's clock offset and its readout, as pure functions. */
import { expect, test } from "@playwright/test";

import { heard, lead, NO_OFFSET, readout } from "../../ui/src/clock.ts";

test("the quickest of the last 32 messages tells where the run clock stands", () => {
  let offset = heard(NO_OFFSET, 1000, 5040);
  offset = heard(offset, 2000, 6003);
  offset = heard(offset, 3000, 7900);
  expect(lead(offset)).toBe(4003);
  for (let n = 0; n < 32; n += 1) {
    offset = heard(offset, 4000 + n, 8020 + n);
  }
  expect(lead(offset)).toBe(4020);
});

test("another run's clock is taken at once", () => {
  const offset = heard(heard(NO_OFFSET, 600_000, 601_000), 0, 700_000);
  expect(lead(offset)).toBe(700_000);
});

test("times read as minutes and seconds, hours when there are any", () => {
  expect([0, 999, 1000, 61_500, 599_999, 3_600_000, 3_723_000].map(readout)).toEqual([
    "0:00",
    "0:00",
    "0:01",
    "1:01",
    "9:59",
    "1:00:00",
    "1:02:03",
  ]);
  expect(readout(-5)).toBe("0:00");
});
