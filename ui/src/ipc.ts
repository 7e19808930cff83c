/** The page's side of the commands. Times are whole milliseconds on the page's clock. */
import { Channel, invoke } from "@tauri-apps/api/core";

import type { Act } from "./bindings/Act";
import type { CarryPage } from "./bindings/CarryPage";
import type { Change } from "./bindings/Change";
import type { Debrief } from "./bindings/Debrief";
import type { Draft } from "./bindings/Draft";
import type { DraftChange } from "./bindings/DraftChange";
import type { DraftMinute } from "./bindings/DraftMinute";
import type { DrillLook } from "./bindings/DrillLook";
import type { DrillOver } from "./bindings/DrillOver";
import type { DrillPage } from "./bindings/DrillPage";
import type { DrillTries } from "./bindings/DrillTries";
import type { DrillWish } from "./bindings/DrillWish";
import type { Entered } from "./bindings/Entered";
import type { Keep } from "./bindings/Keep";
import type { Labels } from "./bindings/Labels";
import type { Paper } from "./bindings/Paper";
import type { PaperWord } from "./bindings/PaperWord";
import type { PatientClass } from "./bindings/PatientClass";
import type { Prompt } from "./bindings/Prompt";
import type { News } from "./bindings/News";
import type { Review } from "./bindings/Review";
import type { SetState } from "./bindings/SetState";
import type { SettingWord } from "./bindings/SettingWord";
import type { Situation } from "./bindings/Situation";
import type { Strip } from "./bindings/Strip";
import type { Ignored } from "./press";
import type { Span } from "./span";

/** What a command refuses with. */
export interface CommandError {
  code: "locked" | "phone_locked" | "folder" | "protocol" | "setting" | "start";
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

/** Joins the page to its screens: once for each boot. Its own language is the phone's. */
export function subscribe(onNews: (news: News) => void): Promise<Labels> {
  const channel = new Channel<News>(onNews);
  return invoke<Labels>("subscribe", { channel, system: navigator.language });
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

/** A page before or after a run. */
export function paper(page: PaperWord): Promise<Paper> {
  return invoke<Paper>("paper", { page });
}

/** A run's debrief, its charts drawn so many px wide. */
export function debrief(id: string, recorded: boolean, width: number): Promise<Debrief> {
  return invoke<Debrief>("debrief", { id, recorded, width: Math.round(width) });
}

/** A part of the strip. */
export function strip(id: string, recorded: boolean, { from, to }: Span, width: number): Promise<Strip> {
  return invoke<Strip>("strip", { id, recorded, from, to, width: Math.round(width) });
}

export function carryOver(id: string): Promise<CarryPage> {
  return invoke<CarryPage>("carry_over", { id });
}

export function review(id: string): Promise<Review> {
  return invoke<Review>("review", { id });
}

/** Changes a run that is over; the answer is the review after it. */
export function change(id: string, asked: Change): Promise<Review> {
  return invoke<Review>("change", { id, asked });
}

/** What is kept of a run, or of all runs where there is no id. */
export function keep(id: string): Promise<Keep> {
  return invoke<Keep>("keep", { id });
}

export function hold(id: string, held: boolean): Promise<Keep> {
  return invoke<Keep>("hold", { id, held });
}

/** Deletes a run, or all runs where there is no id. The answer says what was done. */
export function deleteRuns(id: string): Promise<string> {
  return invoke<string>("delete_runs", { id });
}

/** Writes a copy where others can reach it. The answer says where. */
export function exportRun(id: string, what: "pdf" | "csv" | "carry_over" | "drill"): Promise<string> {
  return invoke<string>("export_run", { id, what });
}

/** Hands in what has come since the last time. The answer says what and where. */
export function handIn(): Promise<string> {
  return invoke<string>("hand_in");
}

/** A listening test begins; the listener is a number or none. */
export function listeningBegin(level: number, listener: number | null): Promise<void> {
  return invoke("listening_begin", { level, listener });
}

/** Its next prompt is to be heard. */
export function listeningPlay(): Promise<void> {
  return invoke("listening_play");
}

/** Which prompt `n` was; null where nothing was heard. */
export function listeningAnswer(n: number, answer: Prompt | null, touch: Touch): Promise<void> {
  return invoke("listening_answer", { n, answer, ...sent(touch) });
}

export function listeningStop(): Promise<void> {
  return invoke("listening_stop");
}

/** Writes its sheet, and hands it over with all before it, or not yet. The answer says where it is. */
export function listeningExport(hand: boolean): Promise<string> {
  return invoke<string>("listening_export", { hand });
}

/** The protocol editor: what can be copied, and the draft if there is one. */
export function draftPage(): Promise<Draft> {
  return invoke<Draft>("draft_page");
}

/** Copies a file, to be changed. */
export function draftOpen(id: string): Promise<Draft> {
  return invoke<Draft>("draft_open", { id });
}

export function draftChange(asked: DraftChange): Promise<Draft> {
  return invoke<Draft>("draft_change", { asked });
}

/** Saves the draft. The answer says where. */
export function draftSave(place: string): Promise<string> {
  return invoke<string>("draft_save", { place });
}

/** Rehearses a minute with the draft's numbers. */
export function draftMinute(situation: Situation): Promise<DraftMinute> {
  return invoke<DraftMinute>("draft_minute", { situation });
}

/** Lets the minute that was drawn last be heard, or silences it. */
export function draftPlay(on: boolean): Promise<void> {
  return invoke("draft_play", { on });
}

/** The drills: those that can be chosen, and those that were done. */
export function drills(): Promise<DrillPage> {
  return invoke<DrillPage>("drills");
}

/** The score sheet of a drill. */
export function drillSheet(id: string): Promise<DrillTries> {
  return invoke<DrillTries>("drill_sheet", { id });
}

/** A drill that was stopped, to be looked at together. */
export function drillLook(id: string, at: number): Promise<DrillLook> {
  return invoke<DrillLook>("drill_look", { id, at });
}

/** This crew's drills over time, drawn so many px wide. */
export function drillOver(width: number): Promise<DrillOver> {
  return invoke<DrillOver>("drill_over", { width });
}

/** The drill that is due, in one line. */
export function drillDue(): Promise<string | null> {
  return invoke<string | null>("drill_due");
}

/** What a drill is asked: which one, what is told, what was seen. */
export function drill(asked: DrillWish): Promise<void> {
  return invoke("drill", { asked });
}

/** There is a patient: the drill ends where it is, and a run by hand begins. */
export function realPatient(touch: Touch): Promise<void> {
  return invoke("real_patient", sent(touch));
}

export function endHeld(): Promise<void> {
  return invoke("end_held");
}

export function touchesIgnored(n: number, why: Ignored | "covered"): Promise<void> {
  return invoke("touches_ignored", { n, why });
}

/** Covers the screen of a run, or wakes it. */
export function cover(on: boolean): Promise<void> {
  return invoke("cover", { on });
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
