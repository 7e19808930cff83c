/**
 * How many keys a sheet holds, and which of them lie on the marks sheet's first page: layout in CSS
 * pixels, as pure functions. What can be marked, and in which order, comes with the face.
 */

/** 17.5 mm, 3 mm, 6 mm at the tightest phone pitch; a column that takes a word of eight letters. */
const TARGET = 113;
const GAP = 20;
const FAR = 39;
const COLUMN = 135;
const MARGIN = 10;
const HEAD = 27;
/** From here on the state and the figure, a further key and the side acts find room over each other. */
const WHY_BELOW = 840;
/** So much higher for each warning over them. */
const WARNING = 40;
/** From here on the widest figure and a further key find room between the side acts. */
const WHY_BESIDE = 800;

/** A phone on its side has room for keys beside the figure; half of one that stands upright has not. */
const WIDE_FROM = 560;

export function isWide(width: number, height: number): boolean {
  return width > height && width >= WIDE_FROM;
}

/** Narrower and lower than any phone that lies or stands: the app shares the glass. */
export function isSplit(width: number, height: number): boolean {
  return width < WIDE_FROM && height < WIDE_FROM;
}

export interface Room {
  readonly columns: number;
  readonly rows: number;
}

/** Keys beside head and foot: the foot is a row below in an upright frame, a column beside in a wide one. */
export function room(width: number, height: number): Room {
  const wide = isWide(width, height);
  const w = width - 2 * MARGIN - (wide ? COLUMN + FAR : 0);
  const h = height - 2 * MARGIN - HEAD - (wide ? 0 : TARGET + FAR);
  return {
    columns: Math.max(2, Math.floor((w + GAP) / (COLUMN + GAP))),
    rows: Math.max(1, Math.floor((h + GAP) / (TARGET + GAP))),
  };
}

/**
 * Items by pages of at most `cells`; where there are several and the way on stands among them, each
 * leaves it a cell.
 */
export function pages<T>(items: readonly T[], cells: number, wayAmong: boolean): T[][] {
  if (items.length <= cells) {
    return [[...items]];
  }
  const each = Math.max(1, wayAmong ? cells - 1 : cells);
  const count = Math.ceil(items.length / each);
  return Array.from({ length: count }, (_, n) => items.slice(n * each, (n + 1) * each));
}

/**
 * Keys around a figure: fewer and more of one step stand side by side in an upright frame, one under
 * the other in a wide one.
 */
export function besideFigure<T>(wide: boolean, other: T, fewer: T[], more: T[]): T[] {
  return wide
    ? [...fewer, other, ...more]
    : [other, ...fewer.flatMap((item, n) => [item, ...more.slice(n, n + 1)])];
}

export interface Grouped<K> {
  readonly label: string;
  readonly keys: readonly K[];
  /** Those of them that stand there also where they have a key on the first page. */
  readonly stays: readonly K[];
}

/** A cell of the first page: a mark, the way to a page of its own, or the way to such ways. */
export type Cell<G extends Grouped<unknown>> =
  | { readonly mark: G["keys"][number] }
  | { readonly group: G }
  | { readonly rest: readonly Cell<G>[] };

/**
 * The first page: as many of the likeliest marks as leave room for a way to every other one. A page with
 * one mark left is that mark. In a frame so small that the ways alone find no room, those that are left
 * lie behind the last cell.
 */
export function firstPage<G extends Grouped<unknown>>(
  likely: G["keys"],
  groups: readonly G[],
  cells: number,
): Cell<G>[] {
  const most = fitting(likely, groups, cells);
  if (most !== undefined) return laidOut(likely.slice(0, most), groups);
  const all = laidOut([], groups);
  return [...all.slice(0, cells - 1), { rest: all.slice(cells - 1) }];
}

/** What stands in a cell for a while only: a key of a drill. */
export interface Guest<X> {
  readonly guest: X;
}

/**
 * The first page with `guests` on it, and those that find no cell there. They take cells that are free, then those
 * of the marks that give way sooner than others, then those of the marks that come last: all other cells stand where a crew
 * has learnt them. Where no mark has a cell, one guest takes that of the last way, which goes behind the last cell.
 */
export function withGuests<G extends Grouped<unknown>, X>(
  likely: G["keys"],
  groups: readonly G[],
  cells: number,
  guests: readonly X[],
  sooner: (mark: G["keys"][number]) => boolean = () => false,
): { cells: (Cell<G> | Guest<X>)[]; left: readonly X[] } {
  const free = cells - firstPage(likely, groups, cells).length;
  const atEnd = guests.slice(0, free);
  const marks = likely.slice(0, fitting(likely, groups, cells) ?? 0);
  const among = guests.slice(atEnd.length).slice(0, Math.max(1, marks.length));
  const room = cells - atEnd.length - among.length;
  const order = [...marks.filter(sooner), ...marks.filter((mark) => !sooner(mark)).reverse()];
  const given = new Set(order.slice(0, among.length));
  const kept = marks.filter((mark) => !given.has(mark));
  const shown = firstPage(kept, groups, room);
  const standing = (all: readonly X[]): Guest<X>[] => all.map((guest) => ({ guest }));
  // Without a mark to give way the ways before the last cell keep their places.
  const own = marks.length > 0 ? (fitting(kept, groups, room) ?? 0) : Math.max(0, shown.length - among.length);
  const coming = standing(among);
  const stood = shown.slice(0, own);
  const first = marks.flatMap((mark): (Cell<G> | Guest<X>)[] =>
    given.has(mark) ? coming.splice(0, 1) : stood.splice(0, 1),
  );
  return {
    cells: [...first, ...stood, ...coming, ...shown.slice(own), ...standing(atEnd)],
    left: guests.slice(atEnd.length + among.length),
  };
}

/** How many of the likeliest marks find room beside the ways to all others; none is said where the ways alone do not. */
function fitting<G extends Grouped<unknown>>(likely: G["keys"], groups: readonly G[], cells: number): number | undefined {
  for (let n = likely.length; n >= 0; n -= 1) {
    if (laidOut(likely.slice(0, n), groups).length <= cells) return n;
  }
  return undefined;
}

function laidOut<G extends Grouped<unknown>>(marks: G["keys"], groups: readonly G[]): Cell<G>[] {
  const ways = groups.flatMap((group): Cell<G>[] => {
    const left = group.keys.filter((key) => !marks.includes(key) || group.stays.includes(key));
    const [only] = left;
    if (only === undefined || left.every((key) => marks.includes(key))) return [];
    return left.length === 1 ? [{ mark: only }] : [{ group: { ...group, keys: left } }];
  });
  return [...marks.map((mark) => ({ mark })), ...ways];
}

/**
 * How the door to the reasons stands on the card that asks why: below the figure over the full width,
 * beside the figure, or not at all, where neither holds a key of the size that gloves need beside so many warnings.
 */
export function whyDoor(width: number, height: number, warnings = 0): "below" | "beside" | "none" {
  const wide = isWide(width, height);
  if (!wide) {
    return height - warnings * WARNING >= WHY_BELOW ? "below" : "none";
  }
  return width >= WHY_BESIDE ? "beside" : "none";
}

/** Beside the card's margins and the count of what is left; letters of a note are so wide at most. */
const NOTE_BESIDE = 2 * MARGIN + 44;
const NOTE_LETTER = 10;

/** Which notes, of these lengths in letters, stand whole in `lines` lines: a long one takes several. */
export function whole(lengths: readonly number[], lines: number, width: number): number[] {
  const letters = Math.max(1, Math.floor((width - NOTE_BESIDE) / NOTE_LETTER));
  let left = lines;
  return [...lengths.keys()].filter((n) => {
    const takes = Math.ceil((lengths[n] ?? 0) / letters);
    const fits = takes <= left;
    left -= fits ? takes : 0;
    return fits;
  });
}

/**
 * Rows so high by pages of `room`: the row that each begins with. A heading takes the row after it along; the row `apart`
 * begins a page of its own.
 */
export function pageStarts(heights: readonly number[], heads: readonly boolean[], room: number, apart = Infinity): number[] {
  const starts = [0];
  let left = room;
  heights.forEach((height, n) => {
    const along = heads[n] === true ? (heights[n + 1] ?? 0) : 0;
    if ((n === apart || left < height + along) && starts.at(-1) !== n) {
      starts.push(n);
      left = room;
    }
    left -= height;
  });
  return starts;
}
