/** Serves the built page to a browser, with a bridge that answers from the committed faces. */
import { readFileSync } from "node:fs";
import { extname, join } from "node:path";

import type { Locator, Page } from "@playwright/test";

const DIST = join(import.meta.dirname, "../../ui/dist");
const TYPES: Record<string, string> = {
  ".html": "text/html",
  ".js": "text/javascript",
  ".css": "text/css",
  ".woff2": "font/woff2",
};

/** Every size and state is walked, not those alone that tell most. */
export const FULL = process.env["CARRYBEAT_FULL"] !== undefined;

/** A key as the face has it. */
export interface FaceKey {
  act: string;
  label: string;
}

export interface Face {
  card: string;
  state: string;
  main: FaceKey[];
  side: FaceKey[];
  sheet: FaceKey[];
  right: { label: string; keys: string[] }[];
  last: { seq: number; text: string }[];
  notes: { text: string }[];
  hand_over: { name: string }[];
  entries: { ask_before: boolean; parts: { key: string; words: string }[]; reasons: string[] };
  lists: { title: string; lines: string[] }[];
}

interface Faces {
  labels: Record<string, string>;
  papers: Record<string, object>;
  listening: Record<string, object>;
  screens: Record<string, { face: Face; protocol: string; record: { id: string } | null }>;
}

const read = (name: string): unknown =>
  JSON.parse(readFileSync(join(import.meta.dirname, name), "utf8"));
const REFERENCE = read("faces.json") as Faces;

/** What is drawn, in the language that was asked for last. */
export let FACES = REFERENCE;

/** How the texts of a language differ: pair by pair, and by the way to those that the pairs get wrong. */
interface Differing {
  texts: Record<string, string>;
  apart: Record<string, string>;
}

/** The languages beside the first, and one that nobody speaks, a third longer. */
export const OTHERS = ["en-GB", "es-419", "es-ES", "pseudo"] as const;

/** From now on faces, pages and labels are in this language; without one in the first. */
export function speak(language?: (typeof OTHERS)[number]): void {
  if (language === undefined) {
    FACES = REFERENCE;
    return;
  }
  const { texts, apart } = read(`faces-${language}.json`) as Differing;
  const told = (way: string, value: unknown): unknown => {
    if (typeof value === "string") return apart[way] ?? texts[value] ?? value;
    if (Array.isArray(value)) return value.map((item, n) => told(`${way}/${n}`, item));
    if (typeof value !== "object" || value === null) return value;
    return Object.fromEntries(Object.entries(value).map(([key, item]) => [key, told(`${way}/${key}`, item)]));
  };
  FACES = told("", REFERENCE) as Faces;
}

/** What the screens after a run are answered with, by the app's own checks. */
export const AFTER = {
  ...(read("after.json") as Record<string, Record<string, unknown>>),
  // What drills are answered with.
  ...(read("drill.json") as Record<string, Record<string, unknown>>),
};

/** What the protocol editor is answered with, by the app's own checks. */
export const DRAFT = read("draft.json") as Record<string, Record<string, unknown>>;

/** A command that the page sent. */
export interface Sent {
  command: string;
  args: Record<string, unknown>;
}

/** What the bridge of each page answers with. A page that is opened again asks for it anew. */
const bridges = new WeakMap<Page, readonly unknown[]>();

/** The page's files and its bridge, once: what is added to a page stays for all its later openings. */
async function serve(page: Page): Promise<void> {
  await page.route("http://page.test/**", async (route) => {
    const path = new URL(route.request().url()).pathname;
    if (path === "/bridge") {
      await route.fulfill({ json: bridges.get(page) });
      return;
    }
    const file = path === "/" ? "/index.html" : path;
    try {
      const body = readFileSync(join(DIST, file));
      await route.fulfill({ body, contentType: TYPES[extname(file)] ?? "text/plain" });
    } catch {
      await route.fulfill({ status: 404, body: "" });
    }
  });
  await page.addInitScript(() => {
    // Before the page's own script runs, so without waiting.
    const request = new XMLHttpRequest();
    request.open("GET", "http://page.test/bridge", false);
    request.send();
    const [labels, papers, first, refused, why, after] = JSON.parse(request.responseText) as [
      object,
      object,
      object,
      string[],
      string,
      Record<string, unknown>,
    ];
    const callbacks = new Map<number, (message: unknown) => void>();
    const sent: Sent[] = [];
    const refusing = [...refused];
    let index = 0;
    let channel = 0;
    Object.assign(window, {
      sent,
      refusing,
      show: (news: object, kind = "screen") =>
        callbacks.get(channel)?.({ index: index++, message: { kind, ...news } }),
      __TAURI_INTERNALS__: {
        transformCallback(callback: (message: unknown) => void): number {
          callbacks.set(callbacks.size + 1, callback);
          return callbacks.size;
        },
        unregisterCallback(id: number): void {
          callbacks.delete(id);
        },
        invoke(command: string, args: Record<string, unknown>): Promise<unknown> {
          sent.push({ command, args: { ...args, channel: undefined } });
          if (refusing.includes(command)) {
            return Promise.reject({ code: "setting", message: `${command}: ${why}` });
          }
          if (command === "subscribe") {
            channel = (args["channel"] as { id: number }).id;
            callbacks.get(channel)?.({ index: index++, message: { kind: "screen", ...first } });
            return Promise.resolve(labels);
          }
          if (command === "paper") {
            const name = `${args["page"] as string}`;
            return Promise.resolve((papers as Record<string, unknown>)[name]);
          }
          if (command === "keep" && args["id"] === "") {
            return Promise.resolve(after["keep_all"]);
          }
          const same: Record<string, string> = { change: "review", hold: "keep" };
          const known = after[same[command] ?? command];
          if (known !== undefined) {
            return Promise.resolve(known);
          }
          if (["export_run", "hand_in", "delete_runs", "draft_save"].includes(command)) {
            return Promise.resolve(`${command}: ${why}`);
          }
          // A line for each file that does not count.
          if (command === "listening_export") {
            return Promise.resolve(`${command}: ${why}\n${why}.`);
          }
          if (command === "choose") {
            return Promise.resolve({ ...(labels as object), first: false });
          }
          return Promise.resolve(null);
        },
      },
    });
  });
}

/** Colours that were chosen are in force: the labels say what was chosen, the screen what is shown. */
function inColours(labels: object): object {
  const { theme } = labels as { theme?: string };
  return theme === undefined ? {} : { theme };
}

/** Opens the page on one face. `change` alters the face before it is shown; `refused` commands fail. */
export async function open(
  page: Page,
  name: string,
  change: object = {},
  labels: object = {},
  refused: string[] = [],
): Promise<void> {
  const screen = FACES.screens[name] as { face: object };
  const shown = { ...screen, ...inColours(labels), face: { ...screen.face, ...change } };
  const isFirst = !bridges.has(page);
  bridges.set(page, [{ ...FACES.labels, ...labels }, FACES.papers, shown, refused, WHY, { ...AFTER, ...DRAFT }]);
  if (isFirst) {
    await serve(page);
  }
  await page.goto("http://page.test/");
  await page.locator(".page").first().waitFor();
  await page.evaluate(() => document.fonts.ready);
}

/** Faces at which the page opens a sheet by itself: they are opened afresh, and so is what follows. */
const asks = (name: string): boolean => FACES.screens[name]?.face.entries.ask_before ?? false;

/** Shows the next face on a page that stands, as the app does; afresh where nothing may be left over. */
export async function turn(page: Page, from: string | undefined, name: string, labels: object = {}): Promise<void> {
  if (from === undefined || asks(from) || asks(name)) {
    await open(page, name, {}, labels);
    return;
  }
  const standing = await page.evaluate(async (screen) => {
    (window as unknown as { show: (s: object) => void }).show(screen);
    const drawn = (): Promise<unknown> => new Promise(requestAnimationFrame);
    await drawn();
    await drawn();
    return [...document.querySelectorAll<HTMLElement>("button.main > span")].map((e) => e.textContent);
  }, { ...FACES.screens[name], ...inColours(labels) });
  // A face that could not be drawn would leave the one before it to be looked at again.
  const wanted = FACES.screens[name]?.face.main.map(({ label }) => label);
  // The page after a run has an answer of its own.
  if (wanted?.length !== 0 && standing.join() !== wanted?.join()) {
    throw new Error(`${name}: shown are the keys ${standing.join()}, not ${wanted?.join()}`);
  }
}

/** Opens the listening test as a crew does, and shows it where `state` says it stands. */
export async function listening(page: Page, state?: string): Promise<void> {
  await open(page, "start");
  await seen(page, FACES.labels["menu"] ?? "").press("Enter");
  const { label } = (FACES.labels["pages"] as unknown as { page: string; label: string }[]).find(
    (one) => one.page === "ready",
  ) ?? { label: "" };
  await seen(page, label).press("Enter");
  const { title } = FACES.labels["listening"] as unknown as { title: string };
  await page.locator("button.go").filter({ hasText: title }).press("Enter");
  await page.getByRole("main", { name: title, exact: true }).waitFor();
  if (state !== undefined) await stands(page, state);
}

/** Shows the listening test where `state` says it stands, as the app does. */
export async function stands(page: Page, state: string): Promise<void> {
  await page.evaluate(async (screen) => {
    (window as unknown as { show: (s: object) => void }).show(screen);
    const drawn = (): Promise<unknown> => new Promise(requestAnimationFrame);
    await drawn();
    await drawn();
  }, { ...FACES.screens["start"], listening: FACES.listening[state] });
}

/** The commands that the page sent, without those that go by themselves. */
export async function sent(page: Page): Promise<Sent[]> {
  const all = await page.evaluate(() => (window as unknown as { sent: Sent[] }).sent);
  return all.filter(({ command }) => !["subscribe", "page_clock", "drill_due"].includes(command));
}

/** What a refused command says: as long as a real one. */
export const WHY =
  "/data/user/0/org.example.carrybeat/files/settings.json: no space is left on the device; " +
  "settings are as at first until it can be read and written";

/** From now on the app refuses these commands, and no others. */
export async function refuse(page: Page, ...commands: string[]): Promise<void> {
  await page.evaluate((all) => {
    const { refusing } = window as unknown as { refusing: string[] };
    refusing.splice(0, refusing.length, ...all);
  }, commands);
}

/** A key by its name, on what is seen: not on the card that lies inert under a sheet. */
export function seen(page: Page, name: string): Locator {
  return page.locator("button:not([inert] *)").and(page.getByRole("button", { name, exact: true }));
}
