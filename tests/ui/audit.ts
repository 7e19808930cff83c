/**
 * A whole screen held to the measured standards in one go: every fault of it as a sentence. The numbers are written
 * here by hand; those of keys are in `docs/taps.md`, those of letters in `docs/glance.md`.
 */
import type { Page } from "@playwright/test";

export interface Size {
  width: number;
  height: number;
}

/** What a screen is. */
export interface Wanted {
  size: Size;
  /** It is the card of a run: few keys, an answer low and large, the same for either hand. */
  live: boolean;
  /** Half a glass: figure and answer stay. */
  split?: boolean;
  /** What stands on the key that ends a run. */
  end: string;
  /** One side key alone has nothing on the other side where the screen is wide. */
  alone?: boolean;
  /** The smallest letters of a key. */
  label?: number;
}

/** Every fault, in words. */
export function audit(page: Page, wanted: Wanted): Promise<string[]> {
  return page.evaluate((wanted) => {
    const { size, live, end } = wanted;
    const split = wanted.split === true;
    const wide = size.width > size.height && !split;
    const faults: string[] = [];
    const shown = (e: Element): boolean => {
      if (e.closest("[inert]") !== null) return false;
      const box = e.getBoundingClientRect();
      return box.width > 0 && box.height > 0 && getComputedStyle(e).visibility === "visible";
    };
    const nameOf = (e: Element): string =>
      (e.getAttribute("aria-label") ?? (e as HTMLElement).innerText).replace(/\s+/g, " ").trim();
    const keys = [...document.querySelectorAll("button")].filter(shown).map((node) => ({
      node,
      name: nameOf(node),
      box: node.getBoundingClientRect(),
      // Frames around words of the card, and the sign within one: they mark nothing.
      frame: node.matches(".right, .door, .sign"),
      sign: node.matches(".sign"),
      main: node.matches(".main"),
    }));

    // 17.5 mm for wet gloves, 23 mm for the answer; nothing within 1 mm of the edge. The sign gives other colours and
    // lies in a frame that opens a page: missed it marks nothing, so it has the size of common phones' own keys.
    for (const { name, box, main, sign } of keys) {
      const high = sign ? 48 : main && !split ? 149 : 113;
      if (box.width < (sign ? 48 : 113) - 0.01) faults.push(`${name}: ${box.width} px wide`);
      if (box.height < high - 0.01) faults.push(`${name}: ${box.height} px high, ${high} wanted`);
      const edge = Math.min(box.left, box.top, size.width - box.right, size.height - box.bottom);
      if (edge < 7) faults.push(`${name}: ${edge} px from the edge`);
    }
    // Gaps of 3 mm, of 6 mm around the end; centres 20 mm apart on a tall screen.
    keys.forEach((a, i) => {
      for (const b of keys.slice(i + 1)) {
        if ((a.sign && b.frame) || (b.sign && a.frame)) continue;
        const dx = Math.max(a.box.left - b.box.right, b.box.left - a.box.right);
        const dy = Math.max(a.box.top - b.box.bottom, b.box.top - a.box.bottom);
        const least = a.name === end || b.name === end ? 39 : 20;
        if (Math.max(dx, dy) < least - 0.01) faults.push(`${a.name} and ${b.name}: ${Math.max(dx, dy)} px apart`);
        const centre = (r: DOMRect): [number, number] => [r.x + r.width / 2, r.y + r.height / 2];
        const [[ax, ay], [bx, by]] = [centre(a.box), centre(b.box)];
        const apart = Math.hypot(ax - bx, ay - by);
        const wantedApart = size.height >= 700 ? 130 : 113;
        if (apart < wantedApart - 0.01) faults.push(`${a.name} and ${b.name}: centres ${apart} px apart`);
      }
    });

    if (live) {
      const acts = keys.filter(({ frame }) => !frame);
      const answers = keys.filter(({ main }) => main);
      // Few choices: the answers, two side acts, Mark, Undo.
      if (acts.length > 6) faults.push(`${acts.length} keys`);
      if (answers.length < 1 || answers.length > 2) faults.push(`${answers.length} answers`);
      // For either hand: the answer low, over the width; the others mirrored.
      const span = answers.reduce((sum, { box }) => sum + box.width, 0);
      const low = answers.every(({ box }) => box.top >= size.height / 2 - 1);
      if (!split && !low) faults.push("an answer begins in the upper half");
      if (wide ? span < size.width * 0.4 : span < size.width - 40) faults.push(`answers ${span} px wide`);
      for (const { name, box, frame } of acts) {
        const isMirrored = acts.some(
          (o) =>
            Math.abs(o.box.right - (size.width - box.left)) <= 1 &&
            Math.abs(o.box.top - box.top) <= 1 &&
            Math.abs(o.box.height - box.height) <= 1,
        );
        const isAlone = wide && wanted.alone === true;
        if (!isMirrored && !isAlone && !frame) faults.push(`${name} has nothing on the other side`);
      }
      // What the keyboard finds is what the finger finds: no more, no less, each by its name.
      const found = [...document.querySelectorAll<HTMLElement>("button, a, input, select, textarea, [tabindex]")].filter(
        (e) => shown(e) && e.tabIndex >= 0,
      );
      if (found.length !== keys.length) faults.push(`${found.length} places for the keyboard, ${keys.length} keys`);
      for (const e of found) if (nameOf(e) === "") faults.push(`${e.className || e.tagName} has no name`);
      const figure = document.querySelector(".numeral strong");
      const px = figure === null ? null : parseFloat(getComputedStyle(figure).fontSize);
      // A count begins with the next sound: where none comes it would stay empty.
      const isCounted = document.querySelector(".light.shown") !== null;
      if (figure === null || (figure.textContent?.trim() === "" && !isCounted)) faults.push("the figure is empty");
      // Read from 2 m; where a line of warning has taken the room of a small frame the figure gives way to 84 px.
      const leastPx = document.querySelector(".under") !== null && size.height < 760 ? 84 : 105;
      if (px !== null && px < leastPx) faults.push(`the figure is ${px} px`);
      if (split) {
        const state = document.querySelector(".now");
        if (state === null || !shown(state)) faults.push("no state and figure");
        if (figure !== null && figure.textContent?.trim() !== "" && !shown(figure)) faults.push("no figure");
      }
    }
    for (const { node, name } of keys) {
      const px = parseFloat(getComputedStyle(node).fontSize);
      if (px < (wanted.label ?? 30) && name !== "" && !node.matches(".right, .door, .sign")) faults.push(`${name}: letters of ${px} px`);
    }

    // Nothing scrolls, nothing leaves its place, nothing lies on anything.
    const root = document.scrollingElement;
    for (const e of [...document.querySelectorAll("body, .page, .cells"), ...(root === null ? [] : [root])]) {
      if (!shown(e)) continue;
      const [over, beside] = [e.scrollHeight - e.clientHeight, e.scrollWidth - e.clientWidth];
      if (over > 1 || beside > 1) faults.push(`${e.className || e.tagName} is ${over}, ${beside} px too small`);
    }
    const panel = document.querySelector(".panel")?.getBoundingClientRect();
    if (live && panel !== undefined) {
      const inside = [...(document.querySelector(".top")?.children ?? [])].filter(
        (child) => shown(child) && (child.children.length > 0 || child.textContent !== ""),
      );
      inside.forEach((one, i) => {
        const a = one.getBoundingClientRect();
        if (a.bottom > panel.bottom + 0.5 || a.right > panel.right + 0.5) faults.push(`${one.className} leaves the card`);
        for (const other of inside.slice(i + 1)) {
          const b = other.getBoundingClientRect();
          const meet = a.left < b.right && a.right > b.left && a.top < b.bottom - 1 && a.bottom - 1 > b.top;
          if (meet) faults.push(`${one.className} lies on ${other.className}`);
        }
      });
      const now = document.querySelector(".now:has(> .figure)");
      for (const child of now?.querySelectorAll(":scope > .line, :scope > .figure") ?? []) {
        const over = child.getBoundingClientRect().bottom - (now?.getBoundingClientRect().bottom ?? 0);
        if (over > 1) faults.push(`${child.className} leaves its frame by ${over} px`);
      }
    }
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    const solid = keys.filter(({ frame }) => !frame);
    for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
      const parent = node.parentElement;
      const text = node.textContent?.trim() ?? "";
      if (parent === null || text === "" || !shown(parent)) continue;
      const range = document.createRange();
      range.selectNodeContents(node);
      const key = parent.closest("button");
      const room = key?.getBoundingClientRect() ?? new DOMRect(0, 0, size.width, size.height);
      for (const box of range.getClientRects()) {
        const isOut =
          box.left < room.left + 1 || box.right > room.right - 1 || box.top < room.top - 6 || box.bottom > room.bottom + 6;
        if (isOut) faults.push(`"${text}" leaves its place`);
        const air = box.height * 0.16;
        const isUnder = solid.some(
          ({ node: k, box: b }) =>
            k !== key && box.left < b.right && box.right > b.left && box.top + air < b.bottom && box.bottom - air > b.top,
        );
        if (isUnder) faults.push(`"${text}" lies under a key`);
      }
    }
    return faults;
  }, wanted);
}

/** Words and shapes that do not stand out enough in each of the colours, on the screen that is shown. */
export function contrastFaults(page: Page, themes: readonly string[], live: boolean): Promise<string[]> {
  return page.evaluate(
    ([themes, live]) => {
      type Rgba = [number, number, number, number];
      const rgba = (css: string): Rgba => {
        const [r = 0, g = 0, b = 0, a = 1] = (css.match(/[\d.]+/g) ?? []).map(Number);
        return [r, g, b, a];
      };
      const over = (front: Rgba, back: Rgba, opacity = 1): Rgba => {
        const a = front[3] * opacity;
        const mix = (n: 0 | 1 | 2): number => front[n] * a + back[n] * (1 - a);
        return [mix(0), mix(1), mix(2), 1];
      };
      const light = (c: Rgba): number => {
        const [r, g, b] = [c[0], c[1], c[2]].map((v) => {
          const x = v / 255;
          return x <= 0.04045 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4;
        }) as [number, number, number];
        return 0.2126 * r + 0.7152 * g + 0.0722 * b;
      };
      const ratio = (a: Rgba, b: Rgba): number => {
        const [x, y] = [light(a), light(b)];
        return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05);
      };
      /** What is drawn behind an element. */
      const ground = (start: Element | null): Rgba => {
        const layers: Rgba[] = [];
        for (let e = start; e !== null; e = e.parentElement) {
          const c = rgba(getComputedStyle(e).backgroundColor);
          if (c[3] > 0) layers.push(c);
          if (c[3] === 1) break;
        }
        return layers.reverse().reduce<Rgba>((back, front) => over(front, back), [255, 255, 255, 1]);
      };
      const faults: string[] = [];
      const shown = (e: Element): boolean => {
        const box = e.getBoundingClientRect();
        return e.closest("[inert], [aria-hidden=true]") === null && box.width > 0 && box.height > 0;
      };
      const before = document.documentElement.dataset["theme"];
      for (const theme of themes) {
        document.documentElement.dataset["theme"] = theme;
        const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
        for (let node = walker.nextNode(); node !== null; node = walker.nextNode()) {
          const e = node.parentElement;
          const text = node.textContent?.trim() ?? "";
          if (e === null || text === "" || !shown(e)) continue;
          const style = getComputedStyle(e);
          const back = ground(e);
          const found = ratio(over(rgba(style.color), back), back);
          // 7:1 in sun; what cannot be pressed now is exempt from it, and is to be read all the same.
          const isOff = e.closest("button:disabled") !== null;
          const least = isOff || !live ? 4.5 : 7;
          if (found < least) faults.push(`${theme}: "${text}" ${found.toFixed(2)}:1, ${least} wanted`);
        }
        for (const glyph of document.querySelectorAll(".glyph svg, .breath svg, .half svg")) {
          if (!shown(glyph.parentElement ?? glyph) || glyph.closest("[inert]") !== null) continue;
          const style = getComputedStyle(glyph);
          const back = ground(glyph.parentElement);
          const fill = ratio(rgba(style.fill), back);
          // A line around it carries the shape where the fill is as light as the ground.
          const line = parseFloat(style.strokeWidth) > 0 ? ratio(rgba(style.stroke), back) : 0;
          if (Math.max(fill, line) < 4) faults.push(`${theme}: the glyph ${Math.max(fill, line).toFixed(2)}:1`);
        }
        // What asks with emphasis and what warns stands as a block.
        for (const block of document.querySelectorAll(".urgent, .banners p")) {
          if (!shown(block)) continue;
          const found = ratio(ground(block), ground(block.parentElement));
          if (found < 3) faults.push(`${theme}: the block of "${block.textContent?.trim() ?? ""}" ${found.toFixed(2)}:1`);
        }
        // What is lit in the light of the beat, on what else is drawn there.
        for (const light of document.querySelectorAll(".light.shown")) {
          const lit = light.querySelector(".lit svg");
          if (lit === null || light.closest("[inert]") !== null) continue;
          const opacity = (svg: Element): number => parseFloat(getComputedStyle(svg.parentElement ?? svg).opacity);
          const all = [...light.querySelectorAll("svg")];
          const back = all
            .slice(0, all.indexOf(lit as SVGSVGElement))
            .reduce((under, svg) => over(rgba(getComputedStyle(svg).fill), under, opacity(svg)), ground(light));
          const style = getComputedStyle(lit);
          const fill = ratio(over(rgba(style.fill), back, opacity(lit)), back);
          const line = parseFloat(style.strokeWidth) > 0 ? ratio(over(rgba(style.stroke), back, opacity(lit)), back) : 0;
          if (Math.max(fill, line) < 4) faults.push(`${theme}: the light ${Math.max(fill, line).toFixed(2)}:1`);
        }
        for (const key of document.querySelectorAll("button:not(.right, .door, .sign)")) {
          if (!shown(key)) continue;
          const style = getComputedStyle(key);
          const behind = ground(key.parentElement);
          const face = ratio(over(rgba(style.backgroundColor), behind), behind);
          const frame = rgba(style.borderTopColor)[3] > 0 ? ratio(over(rgba(style.borderTopColor), behind), behind) : 0;
          // WCAG 1.4.11: where a key ends can be seen. The words alone would do, a key among keys needs more.
          const isOff = key.matches(":disabled");
          if (!isOff && Math.max(face, frame) < 3) {
            faults.push(`${theme}: the key ${(key as HTMLElement).innerText} ${Math.max(face, frame).toFixed(2)}:1`);
          }
        }
      }
      if (before === undefined) delete document.documentElement.dataset["theme"];
      else document.documentElement.dataset["theme"] = before;
      return faults;
    },
    [themes, live] as const,
  );
}

/** The rings around what has the keyboard: how wide, and how far they stand out. */
export function focusRing(page: Page): Promise<{ name: string; wide: number; rings: number; ground: number }> {
  return page.evaluate(() => {
    const rgb = (css: string): number[] => (css.match(/[\d.]+/g) ?? []).slice(0, 3).map(Number);
    const light = (c: number[]): number =>
      c.map((v) => (v / 255 <= 0.04045 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4))
        .reduce((sum, v, n) => sum + v * ([0.2126, 0.7152, 0.0722][n] ?? 0), 0);
    const ratio = (a: number[], b: number[]): number =>
      (Math.max(light(a), light(b)) + 0.05) / (Math.min(light(a), light(b)) + 0.05);
    const e = document.activeElement as HTMLElement;
    const style = getComputedStyle(e);
    let ground = "rgb(255, 255, 255)";
    for (let up: Element | null = e.parentElement; up !== null; up = up.parentElement) {
      const css = getComputedStyle(up).backgroundColor;
      if (!css.endsWith(", 0)")) {
        ground = css;
        break;
      }
    }
    const inner = rgb(style.outlineColor);
    const outer = rgb(style.boxShadow);
    return {
      name: (e.getAttribute("aria-label") ?? e.innerText).slice(0, 30),
      wide: parseFloat(style.outlineWidth),
      // WCAG 2.2, technique C40: two rings that stand out against each other, one of them against any ground.
      rings: ratio(inner, outer),
      ground: Math.max(ratio(inner, rgb(ground)), ratio(outer, rgb(ground))),
    };
  });
}

/** Edges that say that something is wrong, and are nearer than 3 to 1 to what they stand on. */
export function edgeFaults(page: Page, selector: string, themes: readonly string[]): Promise<string[]> {
  return page.evaluate(
    ([selector, themes]) => {
      const light = (css: string): number =>
        (css.match(/[\d.]+/g) ?? [])
          .slice(0, 3)
          .map((v) => (Number(v) / 255 <= 0.04045 ? Number(v) / 255 / 12.92 : ((Number(v) / 255 + 0.055) / 1.055) ** 2.4))
          .reduce((sum, v, n) => sum + v * ([0.2126, 0.7152, 0.0722][n] ?? 0), 0);
      const before = document.documentElement.dataset["theme"];
      const faults: string[] = [];
      const all = [...document.querySelectorAll(selector)];
      if (all.length === 0) faults.push(`no ${selector}`);
      for (const theme of themes) {
        document.documentElement.dataset["theme"] = theme;
        const ground = light(getComputedStyle(document.body).backgroundColor);
        for (const e of all) {
          const edge = light(getComputedStyle(e).borderLeftColor);
          const ratio = (Math.max(edge, ground) + 0.05) / (Math.min(edge, ground) + 0.05);
          if (ratio < 3) faults.push(`${theme}: the edge of ${e.className} ${ratio.toFixed(2)}:1`);
        }
      }
      if (before !== undefined) document.documentElement.dataset["theme"] = before;
      return faults;
    },
    [selector, themes] as const,
  );
}

/** Filled shapes that are nearer than 3 to 1 to what they stand on, by their fill and by the line around it. */
export function fillFaults(page: Page, selector: string, themes: readonly string[]): Promise<string[]> {
  return page.evaluate(
    ([selector, themes]) => {
      const light = (css: string): number =>
        (css.match(/[\d.]+/g) ?? [])
          .slice(0, 3)
          .map((v) => (Number(v) / 255 <= 0.04045 ? Number(v) / 255 / 12.92 : ((Number(v) / 255 + 0.055) / 1.055) ** 2.4))
          .reduce((sum, v, n) => sum + v * ([0.2126, 0.7152, 0.0722][n] ?? 0), 0);
      const ratio = (a: string, b: string): number => {
        const [x, y] = [light(a), light(b)];
        return (Math.max(x, y) + 0.05) / (Math.min(x, y) + 0.05);
      };
      const before = document.documentElement.dataset["theme"];
      const faults: string[] = [];
      const all = [...document.querySelectorAll(selector)];
      if (all.length === 0) faults.push(`no ${selector}`);
      for (const theme of themes) {
        document.documentElement.dataset["theme"] = theme;
        const ground = getComputedStyle(document.body).backgroundColor;
        for (const e of all) {
          const { backgroundColor, borderLeftColor, borderLeftWidth, width, height } = getComputedStyle(e);
          const fill = ratio(backgroundColor, ground);
          const line = parseFloat(borderLeftWidth) >= 2 ? ratio(borderLeftColor, ground) : 0;
          if (Math.max(fill, line) < 3) faults.push(`${theme}: ${e.className} ${Math.max(fill, line).toFixed(2)}:1`);
          if (parseFloat(width) < 4 || parseFloat(height) < 4) faults.push(`${theme}: ${e.className} is ${width} by ${height}`);
        }
      }
      if (before !== undefined) document.documentElement.dataset["theme"] = before;
      return faults;
    },
    [selector, themes] as const,
  );
}
