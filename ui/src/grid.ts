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
const HEAD = 40;

export interface Room {
  readonly columns: number;
  readonly rows: number;
}

/** Keys beside head and foot: the foot is a row below in an upright frame, a column beside in a wide one. */
export function room(width: number, height: number): Room {
  const wide = width > height;
  const w = width - 2 * MARGIN - (wide ? COLUMN + FAR : 0);
  const h = height - 2 * MARGIN - HEAD - (wide ? 0 : TARGET + FAR);
  return {
    columns: Math.max(2, Math.floor((w + GAP) / (COLUMN + GAP))),
    rows: Math.max(1, Math.floor((h + GAP) / (TARGET + GAP))),
  };
}

/** Items by pages of at most `cells`; where there are several, each leaves a cell for the way on. */
export function pages<T>(items: readonly T[], cells: number): T[][] {
  if (items.length <= cells) {
    return [[...items]];
  }
  const each = Math.max(1, cells - 1);
  const count = Math.ceil(items.length / each);
  return Array.from({ length: count }, (_, n) => items.slice(n * each, (n + 1) * each));
}

export interface Grouped<K> {
  readonly label: string;
  readonly keys: readonly K[];
}

/** A cell of the first page: a mark, or the way to a page of its own. */
export type Cell<K> = { readonly mark: K } | { readonly group: Grouped<K> };

/**
 * The first page: as many of the likeliest marks as leave room for a way to every other one. A page
 * with one mark left is that mark.
 */
export function firstPage<K>(
  likely: readonly K[],
  groups: readonly Grouped<K>[],
  cells: number,
): Cell<K>[] {
  for (let n = likely.length; n >= 0; n -= 1) {
    const marks = likely.slice(0, n);
    const ways = groups.flatMap((group): Cell<K>[] => {
      const left = group.keys.filter((key) => !marks.includes(key));
      const [only] = left;
      if (only === undefined) return [];
      return left.length === 1 ? [{ mark: only }] : [{ group }];
    });
    if (n === 0 || n + ways.length <= cells) {
      return [...marks.map((mark) => ({ mark })), ...ways];
    }
  }
  return [];
}
