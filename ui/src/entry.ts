/** Marks that carry a value, and how a value is set by steps: pure functions. */
import type { Act } from "./bindings/Act";
import type { Levels } from "./bindings/Levels";

const ENTRIES = ["co2", "other_drug", "before_us", "fit_parts", "fit_reason", "levels"] as const;

/** What opens a page of its own before it is a mark. */
export type EntryAct = (typeof ENTRIES)[number];

export function isEntry(act: Act): act is EntryAct {
  return ENTRIES.some((entry) => entry === act);
}

/** Carbon dioxide in tenths, so that no figure is rounded twice. */
export interface Reading {
  readonly tenths: number;
  readonly unit: "mmHg" | "kPa";
}

/** The record's range, docs/record.md: 0 to 760. */
const MOST_TENTHS = 7_600;
/** A conventional millimetre of mercury in kPa. Source: NIST Special Publication 811, appendix B. */
const KPA_A_MMHG = 0.133322;

export function reading(value: string, unit: string): Reading {
  return { tenths: Math.round(Number(value) * 10), unit: unit === "kPa" ? "kPa" : "mmHg" };
}

/** Small and large step, tenths. */
export function steps(unit: Reading["unit"]): readonly [number, number] {
  return unit === "kPa" ? [1, 10] : [10, 100];
}

export function stepped({ tenths, unit }: Reading, by: number): Reading {
  return { tenths: within(tenths + by, MOST_TENTHS), unit };
}

/** The same reading in the other unit, mmHg whole. */
export function turned({ tenths, unit }: Reading): Reading {
  return unit === "mmHg"
    ? { tenths: Math.round(tenths * KPA_A_MMHG), unit: "kPa" }
    : { tenths: within(Math.round(tenths / KPA_A_MMHG / 10) * 10, MOST_TENTHS), unit: "mmHg" };
}

export function written({ tenths, unit }: Reading): string {
  return unit === "mmHg" && tenths % 10 === 0 ? String(tenths / 10) : (tenths / 10).toFixed(1);
}

/** Which of the levels, or all of them together. */
export type LevelWord = "beat" | "breath" | "voice" | "all";

/** The lowest level, dB below full: docs/record.md. */
const LOWEST_DB = 24;

const LEVELS = { beat: "beat_db", breath: "breath_db", voice: "voice_db" } as const;

/** Of all together the loudest counts. */
export function level(levels: Levels, which: LevelWord): number {
  return which === "all" ? Math.min(...Object.values(levels)) : levels[LEVELS[which]];
}

/**
 * The levels with one of them, or all, so many dB louder. All go as far as the one that is first at an end, so that
 * they stay as far apart as they are.
 */
export function louder(levels: Levels, which: LevelWord, by: number): Levels {
  if (which !== "all") return { ...levels, [LEVELS[which]]: within(levels[LEVELS[which]] - by, LOWEST_DB) };
  const all = Object.values(levels);
  const step = Math.max(Math.min(by, Math.min(...all)), Math.max(...all) - LOWEST_DB);
  return {
    beat_db: levels.beat_db - step,
    breath_db: levels.breath_db - step,
    voice_db: levels.voice_db - step,
  };
}

/** A count that may not be known: the first step begins at none. */
export function counted(value: number | null, by: number, most: number): number {
  return within((value ?? 0) + by, most);
}

function within(value: number, most: number): number {
  return Math.min(most, Math.max(0, value));
}
