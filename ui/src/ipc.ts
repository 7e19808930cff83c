/** The page's side of the commands. Times are whole milliseconds on the page's clock. */
import { Channel, invoke } from "@tauri-apps/api/core";

import type { Act } from "./bindings/Act";
import type { Entered } from "./bindings/Entered";
import type { Labels } from "./bindings/Labels";
import type { Paper } from "./bindings/Paper";
import type { PaperWord } from "./bindings/PaperWord";
import type { PatientClass } from "./bindings/PatientClass";
import type { News } from "./bindings/News";
import type { SetState } from "./bindings/SetState";
import type { SettingWord } from "./bindings/SettingWord";
import type { Ignored } from "./press";

/** What a command refuses with. */
export interface CommandError {
  code: "locked" | "folder" | "protocol" | "setting" | "start";
  message: string;
}

/** A press that counted: finger down, and when it was taken. */
export interface Touch {
  down: number;
  taken: number;
}

function now(): number {
  return Math.round(performance.now());
}

function sent({ down, taken }: Touch): { down: number; taken: number; sent: number } {
  return { down: Math.round(down), taken: Math.round(taken), sent: now() };
}

/** Joins the page to its screens: once for each boot. */
export function subscribe(onNews: (news: News) => void): Promise<Labels> {
  const channel = new Channel<News>(onNews);
  return invoke<Labels>("subscribe", { channel });
}

export function pressAct(act: Act, touch: Touch): Promise<void> {
  return invoke("press", { act, ...sent(touch) });
}

/** A mark that carries a value. */
export function enter(entered: Entered, touch: Touch): Promise<void> {
  return invoke("enter", { entered, ...sent(touch) });
}

export function undo(touch: Touch): Promise<void> {
  return invoke("undo", sent(touch));
}

/** The true state, and for how long it has been so, ms. */
export function setRight(state: SetState, back: number, touch: Touch): Promise<void> {
  return invoke("set_right", { state, back, ...sent(touch) });
}

/** The mark in this line was so much earlier, ms. */
export function earlier(seq: number, by: number, touch: Touch): Promise<void> {
  return invoke("earlier", { seq, by, ...sent(touch) });
}

export function remove(seq: number, touch: Touch): Promise<void> {
  return invoke("remove", { seq, ...sent(touch) });
}

export function chooseClass(patient: PatientClass): Promise<void> {
  return invoke("choose_class", { class: patient });
}

export function choose(setting: SettingWord, value: string): Promise<Labels> {
  return invoke<Labels>("choose", { setting, value });
}

export function listen(): Promise<void> {
  return invoke("listen");
}

/** A page before or after a run; `id` names a record where the page is of one. */
export function paper(page: PaperWord, id = ""): Promise<Paper> {
  return invoke<Paper>("paper", { page, id });
}

export function endHeld(): Promise<void> {
  return invoke("end_held");
}

export function touchesIgnored(n: number, why: Ignored): Promise<void> {
  return invoke("touches_ignored", { n, why });
}

export function pageClock(): Promise<void> {
  return invoke("page_clock", { sent: now() });
}

export function putAway(): Promise<void> {
  return invoke("put_away");
}

/** An error of the bridge in words: ours carry a message, the bridge's own are plain strings. */
export function words(error: unknown): string {
  if (typeof error === "object" && error !== null && "message" in error) {
    return String(error.message);
  }
  return String(error);
}
