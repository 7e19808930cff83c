/** What every screen is held to: keys large and apart, words whole, nothing under anything else. */
import { expect, type Page } from "@playwright/test";

export interface Box {
  name: string;
  x: number;
  y: number;
  width: number;
  height: number;
}

/** The keys that are seen, without the sign at the top left: it marks nothing and has a size of its own. */
export async function boxes(page: Page, which = "button:not(.sign)"): Promise<Box[]> {
  return page.evaluate((which) =>
    [...document.querySelectorAll<HTMLElement>(which)]
      .filter((button) => button.closest("[inert]") === null)
      .map((button) => {
        const { x, y, width, height } = button.getBoundingClientRect();
        const name = button.getAttribute("aria-label") ?? button.innerText;
        return { name: name.replace(/\s+/g, " ").trim(), x, y, width, height };
      }), which);
}

export function gap(a: Box, b: Box): number {
  const dx = Math.max(a.x - (b.x + b.width), b.x - (a.x + a.width));
  const dy = Math.max(a.y - (b.y + b.height), b.y - (a.y + a.height));
  return Math.max(dx, dy);
}

export function centres(a: Box, b: Box): number {
  return Math.hypot(a.x + a.width / 2 - b.x - b.width / 2, a.y + a.height / 2 - b.y - b.height / 2);
}

export function pairs(all: Box[]): [Box, Box][] {
  return all.flatMap((a, i) => all.slice(i + 1).map((b): [Box, Box] => [a, b]));
}

/** `end` is what stands on the key that ends a run. */
export async function keysAreRight(
  page: Page,
  size: { width: number; height: number },
  end = "Hold to End",
): Promise<void> {
  const all = await boxes(page);
  for (const box of all) {
    expect(box.width, `${box.name} wide`).toBeGreaterThanOrEqual(113);
    expect(box.height, `${box.name} high`).toBeGreaterThanOrEqual(113);
    expect(box.x, `${box.name} left`).toBeGreaterThanOrEqual(7);
    expect(box.y, `${box.name} top`).toBeGreaterThanOrEqual(7);
    expect(box.x + box.width, `${box.name} right`).toBeLessThanOrEqual(size.width - 7);
    expect(box.y + box.height, `${box.name} foot`).toBeLessThanOrEqual(size.height - 7);
  }
  // What the sign misses falls on its frame; every other key is as far from it as from each other.
  for (const sign of await boxes(page, ".sign")) {
    expect(Math.min(sign.width, sign.height), `${sign.name} large`).toBeGreaterThanOrEqual(48);
    expect(Math.min(sign.x, sign.y), `${sign.name} to the edge`).toBeGreaterThanOrEqual(7);
    for (const box of await boxes(page, "button:not(.sign, .right)")) {
      expect(gap(sign, box), `${sign.name} to ${box.name}`).toBeGreaterThanOrEqual(20 - 0.01);
    }
  }
  for (const [a, b] of pairs(all)) {
    const least = [a.name, b.name].includes(end) ? 39 : 20;
    expect(gap(a, b), `${a.name} to ${b.name}`).toBeGreaterThanOrEqual(least - 0.01);
    expect(centres(a, b), `centres of ${a.name} and ${b.name}`).toBeGreaterThanOrEqual(
      size.height >= 700 ? 130 : 113,
    );
  }
}

/** Words that do not fit their key or their place, or that something covers. */
export async function clipped(page: Page): Promise<string[]> {
  return page.evaluate(() => {
    const faults: string[] = [];
    // State line and question of hands off are keys as well: their words stand in their frames.
    // What lies inert under a sheet is not seen.
    const isSeen = (e: Element): boolean => e.closest("[inert]") === null;
    const keys = [...document.querySelectorAll("button:not(.right, .door, .sign)")]
      .filter(isSeen)
      .map((b) => b.getBoundingClientRect());
    const meets = (a: DOMRect, b: DOMRect): boolean =>
      a.left < b.right && a.right > b.left && a.top < b.bottom && a.bottom > b.top;
    const figure = [
      ...document.querySelectorAll(".numeral strong, .numeral small, .light.shown"),
    ].filter(isSeen);
    for (const [i, one] of figure.entries()) {
      for (const other of figure.slice(i + 1)) {
        const [a, b] = [one.getBoundingClientRect(), other.getBoundingClientRect()];
        if (meets(a, b) || one.scrollWidth > one.clientWidth + 1) {
          faults.push(`${one.className} of the figure runs into ${other.className}`);
        }
      }
    }
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
      const parent = node.parentElement;
      const text = node.textContent?.trim() ?? "";
      if (parent === null || text === "" || parent.closest("[inert]") !== null) continue;
      const range = document.createRange();
      range.selectNodeContents(node);
      for (const box of range.getClientRects()) {
        const key = parent.closest("button")?.getBoundingClientRect();
        const within = key ?? new DOMRect(0, 0, innerWidth, innerHeight);
        if (
          box.left < within.left + 1 ||
          box.right > within.right - 1 ||
          box.top < within.top - 6 ||
          box.bottom > within.bottom + 6
        ) {
          faults.push(`"${text}" leaves its place`);
        }
        // A line box of a large figure is taller than its digits: a third of it is air.
        const air = box.height * 0.16;
        const covered = keys.some(
          (k) =>
            key === undefined &&
            box.left < k.right &&
            box.right > k.left &&
            box.top + air < k.bottom &&
            box.bottom - air > k.top,
        );
        if (covered) faults.push(`"${text}" lies under a key`);
      }
    }
    return faults;
  });
}

export async function nothingScrolls(page: Page): Promise<void> {
  const over = await page.evaluate(() => {
    const root = document.scrollingElement;
    const top = document.querySelector(".top");
    const room = document.querySelector(".panel")?.getBoundingClientRect();
    // Line boxes may be lower than their letters' frame; the boxes themselves must lie inside.
    const inside = [...(top?.children ?? [])].filter((child) => child.children.length > 0 || child.textContent !== "");
    const out = inside.filter((child) => {
      const box = child.getBoundingClientRect();
      return room !== undefined && (box.bottom > room.bottom + 0.5 || box.right > room.right + 0.5);
    });
    const spilt = out.map((child) => `${child.className || child.tagName} leaves the card`);
    const boxes = inside.map((child) => child.getBoundingClientRect());
    for (const [i, a] of boxes.entries()) {
      for (const [j, b] of boxes.entries()) {
        const meet = a.left < b.right && a.right > b.left && a.top < b.bottom - 1 && a.bottom - 1 > b.top;
        if (i < j && meet) spilt.push(`${inside[i]?.className} lies on ${inside[j]?.className}`);
      }
    }
    // State line and figure share a frame that may be squeezed.
    const now = document.querySelector(".now:has(> .figure)");
    for (const child of now?.querySelectorAll(":scope > .line, :scope > .figure") ?? []) {
      const over = child.getBoundingClientRect().bottom - (now?.getBoundingClientRect().bottom ?? 0);
      if (over > 1) spilt.push(`${child.className} leaves its frame by ${over}`);
    }
    const scrolled = [...document.querySelectorAll("body, .page, .cells")]
      .concat(root === null ? [] : [root])
      .filter((e) => e.scrollHeight > e.clientHeight + 1 || e.scrollWidth > e.clientWidth + 1)
      .map((e) => `${e.className || e.tagName} ${e.scrollHeight} > ${e.clientHeight}`);
    return [...spilt, ...scrolled];
  });
  expect(over).toEqual([]);
}

/** WCAG 2 contrast of what stands on what, from computed colours. */
export async function contrasts(page: Page): Promise<{ text: string; ratio: number; px: number }[]> {
  return page.evaluate(() => {
    const rgb = (css: string): number[] => (css.match(/[\d.]+/g) ?? []).map(Number);
    const linear = (c: number): number =>
      c / 255 <= 0.04045 ? c / 255 / 12.92 : ((c / 255 + 0.055) / 1.055) ** 2.4;
    const light = (css: string): number => {
      const [r = 0, g = 0, b = 0] = rgb(css);
      return 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
    };
    const ground = (start: Element): string => {
      for (let e: Element | null = start; e !== null; e = e.parentElement) {
        const css = getComputedStyle(e).backgroundColor;
        if ((rgb(css)[3] ?? 1) === 1) return css;
      }
      return "rgb(255, 255, 255)";
    };
    return [...document.querySelectorAll("h1, h2, h3, p, small, span, dt, dd, li, button:not(:disabled), strong")]
      .filter((e) => (e.textContent ?? "").trim() !== "")
      .map((e) => {
        const style = getComputedStyle(e);
        const [a, b] = [light(style.color), light(ground(e))].sort((x, y) => y - x);
        return {
          text: (e.textContent ?? "").trim(),
          ratio: ((a ?? 0) + 0.05) / ((b ?? 0) + 0.05),
          px: parseFloat(style.fontSize),
        };
      });
  });
}
