/** A page that scrolls: its foot fades as long as something lies below it. What is cut there would else pass for whole. */
export function foot(page: HTMLElement) {
  const look = (): void => {
    page.classList.toggle("goes-on", page.scrollHeight - page.clientHeight - page.scrollTop > 1);
  };
  const sized = new ResizeObserver(look);
  sized.observe(page);
  const changed = new MutationObserver(look);
  changed.observe(page, { childList: true, subtree: true, characterData: true });
  page.addEventListener("scroll", look, { passive: true });
  look();
  return {
    destroy(): void {
      sized.disconnect();
      changed.disconnect();
    },
  };
}
