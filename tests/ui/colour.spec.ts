/**
 * The colours as eyes see them that lack one kind of cone (Machado 2009, Vienot 1999, Brettel 1997), or as grey:
 * computed from the tokens of the page's own file. The rule: no pair nearer than 15 by CIEDE2000 in the day colours and
 * in glare, 12 at night, under every simulation.
 */
import { readFileSync } from "node:fs";
import { join } from "node:path";

import { expect, test } from "@playwright/test";

type Three = [number, number, number];
type Matrix = [Three, Three, Three];

/** Linear RGB to linear RGB, severity 1. Machado, Oliveira, Fernandes 2009, table 1; from memory. */
const MACHADO: Record<string, Matrix> = {
  "protanopia, Machado 2009": [
    [0.152286, 1.052583, -0.204868],
    [0.114503, 0.786281, 0.099216],
    [-0.003882, -0.048116, 1.051998],
  ],
  "deuteranopia, Machado 2009": [
    [0.367322, 0.860646, -0.227968],
    [0.280085, 0.672501, 0.047413],
    [-0.01182, 0.04294, 0.968881],
  ],
  "tritanopia, Machado 2009": [
    [1.255528, -0.076749, -0.178779],
    [-0.078411, 0.930809, 0.147602],
    [0.004733, 0.691367, 0.3039],
  ],
};
/** Vienot, Brettel, Mollon 1999, for the primaries of sRGB; from memory. */
const VIENOT: Record<string, Matrix> = {
  "protanopia, Vienot 1999": [
    [0.11238, 0.88762, 0],
    [0.11238, 0.88762, 0],
    [0.00401, -0.00401, 1],
  ],
  "deuteranopia, Vienot 1999": [
    [0.29275, 0.70725, 0],
    [0.29275, 0.70725, 0],
    [-0.02234, 0.02234, 1],
  ],
};
/**
 * Brettel, Vienot, Mollon 1997: two half planes, told apart by a normal. For the primaries of sRGB and the cones of
 * Smith and Pokorny, as a library in the public domain has precomputed them (libDaltonLens, `libDaltonLens.c`).
 */
const BRETTEL: Record<string, { normal: Three; above: Matrix; below: Matrix }> = {
  "protanopia, Brettel 1997": {
    normal: [0.00048, 0.00393, -0.00441],
    above: [
      [0.1498, 1.19548, -0.34528],
      [0.10764, 0.84864, 0.04372],
      [0.00384, -0.0054, 1.00156],
    ],
    below: [
      [0.1457, 1.16172, -0.30742],
      [0.10816, 0.85291, 0.03892],
      [0.00386, -0.00524, 1.00139],
    ],
  },
  "deuteranopia, Brettel 1997": {
    normal: [-0.00281, -0.00611, 0.00892],
    above: [
      [0.36477, 0.86381, -0.22858],
      [0.26294, 0.64245, 0.09462],
      [-0.02006, 0.02728, 0.99278],
    ],
    below: [
      [0.37298, 0.88166, -0.25464],
      [0.25954, 0.63506, 0.1054],
      [-0.0198, 0.02784, 0.99196],
    ],
  },
  "tritanopia, Brettel 1997": {
    normal: [0.03901, -0.02788, -0.01113],
    above: [
      [1.01277, 0.13548, -0.14826],
      [-0.01243, 0.86812, 0.14431],
      [0.07589, 0.805, 0.11911],
    ],
    below: [
      [0.93678, 0.18979, -0.12657],
      [0.06154, 0.81526, 0.1232],
      [-0.37562, 1.12767, 0.24796],
    ],
  },
};
type Eyes = (c: Three) => Three;
const SEEN: Record<string, Eyes> = {
  "all cones": (c) => c,
  ...Object.fromEntries(
    Object.entries({ ...MACHADO, ...VIENOT }).map(([name, matrix]): [string, Eyes] => [name, (c) => through(matrix, c)]),
  ),
  ...Object.fromEntries(
    Object.entries(BRETTEL).map(([name, { normal, above, below }]): [string, Eyes] => [
      name,
      (c) => through(normal[0] * c[0] + normal[1] * c[1] + normal[2] * c[2] >= 0 ? above : below, c),
    ]),
  ),
};

function linear(hex: string): Three {
  const n = Number.parseInt(hex.slice(1), 16);
  const one = (c: number): number => (c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4);
  return [one(n >> 16), one((n >> 8) & 255), one(n & 255)];
}

function through(m: Matrix, c: Three): Three {
  const row = (r: Three): number => Math.min(1, Math.max(0, r[0] * c[0] + r[1] * c[1] + r[2] * c[2]));
  return [row(m[0]), row(m[1]), row(m[2])];
}

/** CIELAB under D65. */
function lab([r, g, b]: Three): Three {
  const x = (0.4124564 * r + 0.3575761 * g + 0.1804375 * b) / 0.95047;
  const y = 0.2126729 * r + 0.7151522 * g + 0.072175 * b;
  const z = (0.0193339 * r + 0.119192 * g + 0.9503041 * b) / 1.08883;
  const f = (t: number): number => (t > 216 / 24389 ? Math.cbrt(t) : (24389 / 27 * t + 16) / 116);
  return [116 * f(y) - 16, 500 * (f(x) - f(y)), 200 * (f(y) - f(z))];
}

/** CIEDE2000, after Sharma, Wu, Dalal 2005. */
function apart([l1, a1, b1]: Three, [l2, a2, b2]: Three): number {
  const rad = Math.PI / 180;
  const mean = (Math.hypot(a1, b1) + Math.hypot(a2, b2)) / 2;
  const g = 0.5 * (1 - Math.sqrt(mean ** 7 / (mean ** 7 + 25 ** 7)));
  const [p1, p2] = [a1 * (1 + g), a2 * (1 + g)];
  const [c1, c2] = [Math.hypot(p1, b1), Math.hypot(p2, b2)];
  const hue = (a: number, b: number): number => (a === 0 && b === 0 ? 0 : (Math.atan2(b, a) / rad + 360) % 360);
  const [h1, h2] = [hue(p1, b1), hue(p2, b2)];
  const dl = l2 - l1;
  const dc = c2 - c1;
  let dh = 0;
  if (c1 * c2 !== 0) {
    dh = h2 - h1;
    if (dh > 180) dh -= 360;
    if (dh < -180) dh += 360;
  }
  const dH = 2 * Math.sqrt(c1 * c2) * Math.sin((dh / 2) * rad);
  const L = (l1 + l2) / 2;
  const C = (c1 + c2) / 2;
  let h = h1 + h2;
  if (c1 * c2 !== 0) {
    h = Math.abs(h1 - h2) <= 180 ? h / 2 : h < 360 ? (h + 360) / 2 : (h - 360) / 2;
  }
  const t =
    1 - 0.17 * Math.cos((h - 30) * rad) + 0.24 * Math.cos(2 * h * rad) + 0.32 * Math.cos((3 * h + 6) * rad) -
    0.2 * Math.cos((4 * h - 63) * rad);
  const sl = 1 + (0.015 * (L - 50) ** 2) / Math.sqrt(20 + (L - 50) ** 2);
  const sc = 1 + 0.045 * C;
  const sh = 1 + 0.015 * C * t;
  const turn = 30 * Math.exp(-(((h - 275) / 25) ** 2));
  const rt = -2 * Math.sqrt(C ** 7 / (C ** 7 + 25 ** 7)) * Math.sin(2 * turn * rad);
  return Math.sqrt((dl / sl) ** 2 + (dc / sc) ** 2 + (dH / sh) ** 2 + rt * (dc / sc) * (dH / sh));
}

/** The tokens of each set of colours: those of the day, with what the others put in their place. */
function themes(): Record<string, Record<string, string>> {
  const css = readFileSync(join(import.meta.dirname, "../../ui/src/tokens.css"), "utf8");
  const block = (head: string): Record<string, string> => {
    const from = css.indexOf(`${head} {`);
    expect(from, head).toBeGreaterThanOrEqual(0);
    const body = css.slice(from, css.indexOf("}", from));
    return Object.fromEntries([...body.matchAll(/--([a-z-]+):\s*(#[0-9a-f]{6});/g)].map((m) => [m[1] as string, m[2] as string]));
  };
  const day = block(":root");
  return {
    day,
    glare: { ...day, ...block(':root[data-theme="glare"]') },
    night: { ...day, ...block(':root[data-theme="night"]') },
  };
}
/** The hues that say what is so, and what they are never to be taken for: words, or the paper that they lie on. */
const ROLES = { day: ["flow", "still", "kit", "text"], glare: ["flow", "still", "kit", "ground"], night: ["flow", "still", "kit", "text"] };
const LEAST = { day: 15, glare: 15, night: 12 };

/** Source: Sharma, Wu, Dalal 2005, table 1, pairs 1, 7, 13, 17 and 25; from memory. */
test("the distance of two colours is that of the published pairs", () => {
  const pairs: [Three, Three, number][] = [
    [[50, 2.6772, -79.7751], [50, 0, -82.7485], 2.0425],
    [[50, 0, 0], [50, -1, 2], 2.3669],
    [[50, 2.5, 0], [50, 0, -2.5], 4.3065],
    [[50, 2.5, 0], [73, 25, -18], 27.1492],
    [[60.2574, -34.0099, 36.2677], [60.4626, -34.1751, 39.4387], 1.2644],
  ];
  for (const [a, b, d] of pairs) expect(apart(a, b)).toBeCloseTo(d, 3);
});

// Whoever lacks a kind of cone sees white and grey as they are; the two half planes meet, so that no colour leaps.
test("every simulation leaves grey as it is, and the two half planes of one meet", () => {
  expect(Object.keys(SEEN).length).toBe(9);
  for (const [eyes, see] of Object.entries(SEEN)) {
    for (const grey of [0.05, 0.5, 1]) see([grey, grey, grey]).forEach((c) => { expect(c, eyes).toBeCloseTo(grey, 3); });
  }
  for (const [eyes, { normal: [r, g, b], above, below }] of Object.entries(BRETTEL)) {
    for (const [x, y] of [[0.2, 0.6], [0.6, 0.3], [0.4, 0.5]] as const) {
      // On the plane between them: the third from the other two.
      const on: Three = [x, y, -(r * x + g * y) / b];
      const raw = (m: Matrix): number[] => m.map((row) => row[0] * on[0] + row[1] * on[1] + row[2] * on[2]);
      raw(above).forEach((c, n) => { expect(Math.abs(c - (raw(below)[n] ?? 0)), eyes).toBeLessThan(0.01); });
    }
  }
});

for (const theme of ["day", "glare", "night"] as const) {
  test(`no two hues are taken for each other, ${theme}`, () => {
    const tokens = themes()[theme] ?? {};
    const told: string[] = [];
    for (const [eyes, see] of Object.entries(SEEN)) {
      const all = ROLES[theme].map((role) => [role, lab(see(linear(tokens[role] ?? "#000000")))] as const);
      const pairs = all.flatMap(([a, x], n) => all.slice(n + 1).map(([b, y]) => ({ pair: `${a}, ${b}`, d: apart(x, y) })));
      const nearest = pairs.sort((a, b) => a.d - b.d)[0];
      told.push(`${eyes}: ${nearest?.pair ?? ""} ${nearest?.d.toFixed(1) ?? ""}`);
      expect(nearest?.d, `${eyes}: ${nearest?.pair ?? ""}`).toBeGreaterThanOrEqual(LEAST[theme]);
    }
    console.log(`${theme}: ${told.join("; ")}`);
  });

  // In grey the hues lie near each other: the shape beside the words carries them, see `standards.spec.ts`. What has
  // to be told by brightness alone is that a shape, a word or a panel is there.
  test(`in grey every hue still stands out from its ground, ${theme}`, () => {
    const tokens = themes()[theme] ?? {};
    const grey = (hex: string): number => {
      const [r, g, b] = linear(hex);
      return 0.2126 * r + 0.7152 * g + 0.0722 * b;
    };
    const ratio = (a: string, b: string): number => {
      const [x, y] = [grey(tokens[a] ?? ""), grey(tokens[b] ?? "")];
      return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05);
    };
    expect(ratio("text", "ground")).toBeGreaterThanOrEqual(7);
    expect(ratio("off-text", "off-ground")).toBeGreaterThanOrEqual(7);
    // Live glyphs 4 to 1; in glare an ink outline has it, since the fills are as light as paper.
    for (const hue of ["flow", "still", "kit"]) {
      if (theme === "glare") {
        expect(ratio("ink", hue), hue).toBeGreaterThanOrEqual(5);
      } else {
        expect(ratio(hue, "ground"), hue).toBeGreaterThanOrEqual(4);
      }
    }
    // Hands off is told from all else by which of the two is light.
    expect(grey(tokens["off-ground"] ?? "") > grey(tokens["off-text"] ?? "")).toBe(
      !(grey(tokens["ground"] ?? "") > grey(tokens["text"] ?? "")),
    );
  });
}
