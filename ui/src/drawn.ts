/** Stands a picture that the app drew in the page, as elements in the page's own font. */
export function drawn(place: HTMLElement, svg: string) {
  const draw = (text: string): void => {
    const picture = new DOMParser().parseFromString(text, "image/svg+xml").documentElement;
    if (picture instanceof SVGElement) {
      place.replaceChildren(document.importNode(picture, true));
    }
  };
  draw(svg);
  return { update: draw };
}
