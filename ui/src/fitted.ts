/**
 * Letters as large as their room takes. The sizes of `tokens.css` are those that always fit; where words are few
 * and nothing else wants the room, they grow: what is asked is read from further away.
 */

/** By so much at the most, and in these steps. Larger, a sentence would stand before the figure. */
const STEPS = [1.6, 1.5, 1.4, 1.3, 1.2, 1.1];

/** Between the state line and the figure. */
const GAP = 2;

/** To the part of a px, and the same where the screen lies on its side. */
export function high(node: HTMLElement): number {
  return parseFloat(getComputedStyle(node).height);
}

/** Sets the largest size at which `fits` is true; the size of the style sheet, where none of them is. */
function grow(nodes: readonly HTMLElement[], most: number, fits: () => boolean): void {
  const [first] = nodes;
  if (first === undefined) return;
  plain(nodes);
  const base = parseFloat(getComputedStyle(first).fontSize);
  for (const step of STEPS.filter((step) => step <= most)) {
    for (const node of nodes) node.style.fontSize = `${Math.round(base * step)}px`;
    if (fits()) return;
  }
  plain(nodes);
}

/** The size of the style sheet. */
function plain(nodes: readonly HTMLElement[]): void {
  for (const node of nodes) node.style.removeProperty("font-size");
}

/** Whether all that stands above the keys has its room: in the frame of state and figure, in the card, in its line. */
function isWhole(top: HTMLElement): boolean {
  const now = top.querySelector<HTMLElement>(".now");
  if (now !== null) {
    const of = ["line", "figure"].map((name) => [...now.querySelectorAll<HTMLElement>(`:scope > .${name}`)]);
    if (of.flat().map(high).reduce((sum, one) => sum + one, GAP) > high(now) + 0.5) return false;
    // To the part of a px: on half a glass the frame stands between warnings and answer.
    const banners = top.querySelector<HTMLElement>(":scope > .banners");
    if (!isWide(top) && banners !== null && high(banners) + GAP + high(now) > high(top) + 0.01) return false;
  }
  // Wide, the figure has the room of what stands above the keys.
  const room = isWide(top) ? top.closest<HTMLElement>(".panel") : top;
  if (room === null) return true;
  const foot = room.offsetTop + room.clientHeight;
  return ([...top.children] as HTMLElement[]).every((one) => one.offsetTop + one.offsetHeight <= foot);
}

const isWide = (top: HTMLElement): boolean => getComputedStyle(top).display === "contents";

/** A clock that runs takes a digit more in time. */
const DIGIT_EM = 0.6;

/** What comes next stands on one line. */
function isOnItsLine(line: HTMLElement): boolean {
  const next = line.querySelector<HTMLElement>("p:not(.named)");
  const { fontSize, paddingRight } = getComputedStyle(line);
  const air = parseFloat(paddingRight) + DIGIT_EM * parseFloat(fontSize);
  return next !== null && next.offsetWidth <= line.clientWidth - air;
}

/** Of two frames of keys, with what they reach beyond their words. */
const FRAMES_APART = 24;

/** A question that is a key keeps its distance from the frame above. */
function isApart(top: HTMLElement): boolean {
  const now = top.querySelector<HTMLElement>(".now");
  const asked = top.querySelector<HTMLElement>(".asked");
  return now === null || asked === null || asked.offsetTop - now.offsetTop - now.offsetHeight >= FRAMES_APART;
}

/**
 * What stands above the keys, from the most pressing down: faults, what the crew set itself, what comes next, the
 * question. Each as large as the others in their own sizes leave room for.
 */
export function growCard(question: HTMLElement): void {
  const top = question.closest<HTMLElement>(".top");
  if (top === null) return;
  const banners = top.querySelector<HTMLElement>(".banners");
  const line = top.querySelector<HTMLElement>(".second");
  const [faults = [], chosen = []] = ["p:not(.chosen)", "p.chosen"].map((name) => [
    ...(banners?.querySelectorAll<HTMLElement>(name) ?? []),
  ]);
  plain([...faults, ...chosen, ...(line === null ? [] : [line]), question]);
  for (const one of [faults, chosen]) {
    grow(one, 1.6, () => isWhole(top) && banners !== null && banners.scrollWidth <= banners.clientWidth);
  }
  if (line !== null) grow([line], 1.6, () => isWhole(top) && isOnItsLine(line));
  if (isWide(top)) return;
  grow([question], 1.5, () => isWhole(top) && isApart(top) && question.scrollWidth <= question.clientWidth);
}

/** Of a key's own room this stays free on each side. */
const AIR = 10;

/** The answer over the full width. */
export function growAnswer(key: HTMLElement): void {
  const words = key.firstElementChild as HTMLElement | null;
  if (words === null) return;
  grow([key], 1.6, () =>
    words.offsetWidth <= key.clientWidth - 2 * AIR && words.offsetHeight <= key.clientHeight - 2 * AIR,
  );
}

/** Its longest word keeps so much from each side. */
const WORD_AIR = 4;

/** The words of a key smaller, where one of them is wider than the key, or their lines higher. */
export function shrinkToWord(key: HTMLElement): void {
  const words = key.querySelector<HTMLElement>(":scope > span:last-of-type");
  if (words === null) return;
  plain([key]);
  const base = parseFloat(getComputedStyle(key).fontSize);
  for (const step of [0.9, 0.8, 0.7, 0.6]) {
    const isOut = words.scrollWidth > words.clientWidth || words.offsetWidth > key.clientWidth - 2 * WORD_AIR;
    if (!isOut && words.offsetHeight <= key.clientHeight) return;
    key.style.fontSize = `${Math.round(base * step)}px`;
  }
}
