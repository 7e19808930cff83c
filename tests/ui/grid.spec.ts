/** How many keys a sheet holds and which lie on its first page, as pure functions. */
import { expect, test } from "@playwright/test";

import { type Cell, firstPage, pages, room } from "../../ui/src/grid.ts";

// 113 px keys, 20 px between them, 39 px to the foot: the project's page of human factors, rules 29
// and 30. The sums are worked out by hand: 360 x 640 leaves 428 px for rows of 133.
test("a sheet holds what its frame has room for", () => {
  expect(room(360, 640)).toEqual({ columns: 2, rows: 3 });
  expect(room(390, 844)).toEqual({ columns: 2, rows: 4 });
  expect(room(412, 915)).toEqual({ columns: 2, rows: 5 });
  expect(room(640, 360)).toEqual({ columns: 3, rows: 2 });
  expect(room(844, 390)).toEqual({ columns: 4, rows: 2 });
});

test("further pages leave a cell for the way on, and lose nothing", () => {
  const items = [..."abcdefgh"];
  expect(pages(items, 8)).toEqual([items]);
  expect(pages(items, 4)).toEqual([["a", "b", "c"], ["d", "e", "f"], ["g", "h"]]);
  expect(pages([], 4)).toEqual([[]]);
});

const GROUPS = [
  { label: "one", keys: ["a", "b", "c"] },
  { label: "two", keys: ["d"] },
  { label: "three", keys: ["e", "f"] },
];
const LIKELY = ["d", "e", "a", "b", "c", "f"];

function told(cells: Cell<string>[]): string[] {
  return cells.map((cell) => ("mark" in cell ? cell.mark : `<${cell.group.label}>`));
}

test("the first page shows the likeliest marks and a way to every other", () => {
  expect(told(firstPage(LIKELY, GROUPS, 6))).toEqual(LIKELY);
  // Of "three" one mark is left: it is that mark.
  expect(told(firstPage(LIKELY, GROUPS, 4))).toEqual(["d", "e", "<one>", "f"]);
  expect(told(firstPage(LIKELY, GROUPS, 3))).toEqual(["d", "<one>", "<three>"]);
  // There is always a way, even where it needs another page.
  expect(told(firstPage(LIKELY, GROUPS, 1))).toEqual(["<one>", "d", "<three>"]);
});
