/** How many keys a sheet holds and which lie on its first page, as pure functions. */
import { expect, test } from "@playwright/test";

import { type Cell, firstPage, type Grouped, type Guest, pages, pageStarts, room, whole, whyDoor, withGuests } from "../../ui/src/grid.ts";

// 113 px keys (17.5 mm), 20 px (3 mm) between them, 39 px (6 mm) to the foot, see `docs/taps.md`.
// The sums are worked out by hand: 360 x 640 leaves 441 px for rows of 133, 390 x 844 leaves 645.
test("a sheet holds what its frame has room for", () => {
  expect(room(360, 640)).toEqual({ columns: 2, rows: 3 });
  expect(room(390, 844)).toEqual({ columns: 2, rows: 5 });
  expect(room(412, 915)).toEqual({ columns: 2, rows: 5 });
  expect(room(640, 360)).toEqual({ columns: 3, rows: 2 });
  expect(room(844, 390)).toEqual({ columns: 4, rows: 2 });
});

test("further pages leave a cell for the way on where it stands among the keys, and lose nothing", () => {
  const items = [..."abcdefgh"];
  expect(pages(items, 8, true)).toEqual([items]);
  expect(pages(items, 4, true)).toEqual([["a", "b", "c"], ["d", "e", "f"], ["g", "h"]]);
  expect(pages(items, 4, false)).toEqual([["a", "b", "c", "d"], ["e", "f", "g", "h"]]);
  expect(pages([], 4, true)).toEqual([[]]);
});

interface Named extends Grouped<string> {
  readonly label: string;
}
const GROUPS: Named[] = [
  { label: "one", keys: ["a", "b", "c"], stays: [] },
  { label: "two", keys: ["d"], stays: [] },
  { label: "three", keys: ["e", "f"], stays: [] },
];
const LIKELY = ["d", "e", "a", "b", "c", "f"];

function told(cells: readonly (Cell<Named> | Guest<string>)[]): string[] {
  return cells.map((cell) => {
    if ("guest" in cell) return cell.guest;
    if ("mark" in cell) return cell.mark;
    return "group" in cell
      ? `<${cell.group.label} ${cell.group.keys.join("")}>`
      : `<<${told(cell.rest).join(" ")}>>`;
  });
}

test("the first page shows the likeliest marks and a way to every other", () => {
  expect(told(firstPage(LIKELY, GROUPS, 6))).toEqual(LIKELY);
  // Of "three" one mark is left: it is that mark.
  expect(told(firstPage(LIKELY, GROUPS, 4))).toEqual(["d", "e", "<one abc>", "f"]);
  expect(told(firstPage(LIKELY, GROUPS, 3))).toEqual(["d", "<one abc>", "<three ef>"]);
  // Ways that find no room lie behind the last cell.
  expect(told(firstPage(LIKELY, GROUPS, 2))).toEqual(["<one abc>", "<<d <three ef>>>"]);
});

test("in a frame without room for the ways alone, those that are left lie behind the last cell", () => {
  expect(told(firstPage(LIKELY, GROUPS, 1))).toEqual(["<<<one abc> d <three ef>>>"]);
});

test("a guest takes no cell but a free one, or that of a mark, the last of them first", () => {
  const with_ = (cells: number, ...guests: string[]): { cells: string[]; left: readonly string[] } => {
    const page = withGuests(LIKELY, GROUPS, cells, guests);
    return { ...page, cells: told(page.cells) };
  };
  expect(with_(8, "X", "Y")).toEqual({ cells: [...LIKELY, "X", "Y"], left: [] });
  expect(with_(7, "X", "Y")).toEqual({ cells: ["d", "e", "a", "Y", "<one bc>", "f", "X"], left: [] });
  // Without a guest: d, e, <one abc>, f. The way stands where it stood, and so does what is left of "three".
  expect(with_(4, "X")).toEqual({ cells: ["d", "X", "<one abc>", "<three ef>"], left: [] });
  expect(with_(4, "X", "Y", "Z")).toEqual({ cells: ["X", "Y", "<one abc>", "<<d <three ef>>>"], left: ["Z"] });
  // Where no mark has a cell, one guest has one all the same.
  expect(with_(2, "X", "Y")).toEqual({ cells: ["X", "<<<one abc> d <three ef>>>"], left: ["Y"] });
  expect(with_(4)).toEqual({ cells: ["d", "e", "<one abc>", "f"], left: [] });
});

// In a drill Pads On and Epi In stand where a crew looks for them in a run; who the patient is says the drill.
test("a guest takes the cell of a mark that gives way sooner, and every other stands where it stood", () => {
  const sooner = (mark: string): boolean => mark === "d" || mark === "a";
  const with_ = (cells: number, ...guests: string[]): string[] =>
    told(withGuests(LIKELY, GROUPS, cells, guests, sooner).cells);
  expect(with_(6)).toEqual(LIKELY);
  // Without its cell d takes the way's, and so b and c lie behind one.
  expect(with_(6, "X")).toEqual(["X", "e", "a", "<one bc>", "d", "f"]);
  // Three cells are left for e, d and two ways: the ways alone fill them.
  expect(with_(4, "X")).toEqual(["X", "<one abc>", "d", "<three ef>"]);
  expect(with_(8, "X", "Y")).toEqual([...LIKELY, "X", "Y"]);
});

// Half a glass holds four cells, a run five ways.
test("where no mark has a cell, the guest stands before the last cell, and one way alone goes behind it", () => {
  const five: Named[] = ["one", "two", "three", "four", "five"].map((label, n) => {
    const keys = [`${n}a`, `${n}b`];
    return { label, keys, stays: [] };
  });
  const first = ["<one 0a0b>", "<two 1a1b>", "<three 2a2b>", "<four 3a3b>", "<five 4a4b>"];
  const behind = (...ways: string[]): string => `<<${ways.join(" ")}>>`;
  const [one = "", two = "", three = "", four = "", last = ""] = first;
  const with_ = (cells: number, ...guests: string[]): string[] => told(withGuests(["0a"], five, cells, guests).cells);
  expect(with_(4)).toEqual([one, two, three, behind(four, last)]);
  expect(with_(4, "X")).toEqual([one, two, "X", behind(three, four, last)]);
  // The ways find room to the cell, and none is left: the guest takes one all the same.
  expect(with_(5)).toEqual(first);
  expect(with_(5, "X")).toEqual([one, two, three, "X", behind(four, last)]);
  expect(withGuests(["0a"], five, 4, ["X", "Y"]).left).toEqual(["Y"]);
});

test("a key that stays stands on its page beside the first one, and is no reason for a page by itself", () => {
  const stays = [{ label: "one", keys: ["a", "b", "c"], stays: ["a"] }, ...GROUPS.slice(1)];
  expect(told(firstPage(["a", "d"], stays, 4))).toEqual(["a", "d", "<one abc>", "<three ef>"]);
  expect(told(firstPage(LIKELY, stays, 6))).toEqual(LIKELY);
});

// Upright: 113 px for the state, 113 and twice 20 px for the door, 113 for the side acts, 149 and 113
// with 20 px between for the keys below, 10 px at the foot: 651 px, and what else the top says. Wide:
// the widest figure is 275 px, the door 150, the side acts 170 each, with 20 px between and 10 outside.
test("the door to the reasons stands where a key of full size finds room", () => {
  expect(whyDoor(390, 844)).toBe("below");
  expect(whyDoor(412, 915)).toBe("below");
  expect(whyDoor(375, 812)).toBe("none");
  expect(whyDoor(390, 844, 1)).toBe("none");
  expect(whyDoor(412, 915, 1)).toBe("below");
  expect(whyDoor(360, 640)).toBe("none");
  expect(whyDoor(640, 360)).toBe("none");
  expect(whyDoor(844, 390)).toBe("beside");
  expect(whyDoor(915, 412)).toBe("beside");
});

test("a note stands whole or not at all, and a shorter one takes its place", () => {
  // 360 px leave 296 px, 29 letters of 10 px.
  expect(whole([29, 20], 2, 360)).toEqual([0, 1]);
  expect(whole([30, 20], 1, 360)).toEqual([1]);
  expect(whole([30, 20], 2, 360)).toEqual([0]);
  expect(whole([10], 0, 360)).toEqual([]);
});

test("rows fill a page to its height, a heading goes with the row after it, and a row that is too high stands alone", () => {
  const none = [false, false, false, false];
  expect(pageStarts([30, 30, 30, 30], none, 120)).toEqual([0]);
  expect(pageStarts([30, 30, 30, 31], none, 120)).toEqual([0, 3]);
  // The third is a heading: it finds room, what it heads does not.
  expect(pageStarts([30, 30, 30, 40], [false, false, true, false], 120)).toEqual([0, 2]);
  expect(pageStarts([30, 30, 30, 30], [false, false, true, false], 120)).toEqual([0]);
  expect(pageStarts([130, 30, 130, 30], none, 120)).toEqual([0, 1, 2, 3]);
  expect(pageStarts([], [], 120)).toEqual([0]);
  // What stands apart begins a page, also where there is room, and none where nothing stands before it.
  expect(pageStarts([30, 30, 30, 30], none, 120, 2)).toEqual([0, 2]);
  expect(pageStarts([30, 30, 30, 31], none, 120, 3)).toEqual([0, 3]);
  expect(pageStarts([30, 30], none, 120, 0)).toEqual([0]);
  expect(pageStarts([30, 30], none, 120, 2)).toEqual([0]);
});
