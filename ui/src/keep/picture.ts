// A drawing of the page as a file of its own: the colours that style sheets give it are written into it.

const LOOKS = [
  "fill",
  "fill-opacity",
  "fill-rule",
  "stroke",
  "stroke-width",
  "stroke-dasharray",
  "stroke-linecap",
  "stroke-linejoin",
  "stroke-opacity",
  "opacity",
  "font-family",
  "font-size",
  "font-weight",
  "font-style",
  "text-anchor",
  "dominant-baseline",
  "paint-order",
  "visibility",
  "display",
] as const;

/** What each property is when nothing sets it; those need not be written. */
const FIRST: Partial<Record<(typeof LOOKS)[number], string>> = {
  "fill-opacity": "1",
  "fill-rule": "nonzero",
  "stroke-dasharray": "none",
  "stroke-linecap": "butt",
  "stroke-linejoin": "miter",
  "stroke-opacity": "1",
  opacity: "1",
  "font-style": "normal",
  "text-anchor": "start",
  "dominant-baseline": "auto",
  "paint-order": "normal",
  visibility: "visible",
  display: "inline",
};

/** The drawing as SVG text that looks the same without the page. */
export function standalone(drawing: SVGSVGElement): string {
  const copy = drawing.cloneNode(true) as SVGSVGElement;
  write(drawing, copy);
  const box = drawing.getBoundingClientRect();
  const view = drawing.viewBox.baseVal;
  const width = Math.round(box.width || view?.width || 640);
  const height = Math.round(box.height || view?.height || 400);
  if (!copy.hasAttribute("viewBox")) copy.setAttribute("viewBox", `0 0 ${width} ${height}`);
  copy.setAttribute("width", String(width));
  copy.setAttribute("height", String(height));
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  copy.removeAttribute("class");
  const paper = document.createElementNS("http://www.w3.org/2000/svg", "rect");
  const place: [string, number][] = view && view.width > 0 ? [["x", view.x], ["y", view.y], ["width", view.width], ["height", view.height]] : [["width", width], ["height", height]];
  for (const [name, value] of place) paper.setAttribute(name, String(value));
  paper.setAttribute("fill", getComputedStyle(document.documentElement).getPropertyValue("--sheet").trim() || "#ffffff");
  copy.insertBefore(paper, copy.firstChild);
  return new XMLSerializer().serializeToString(copy);
}

function write(from: Element, to: Element): void {
  // Handles for the hand are no part of the picture.
  for (const name of ["style", "tabindex", "tabIndex", "role", "aria-label", "aria-valuetext", "data-keep"]) to.removeAttribute(name);
  const style = getComputedStyle(from);
  for (const look of LOOKS) {
    const value = style.getPropertyValue(look);
    if (value !== "" && value !== FIRST[look]) to.setAttribute(look, value);
    else to.removeAttribute(look);
  }
  const theirs = [...from.children];
  const ours = [...to.children];
  theirs.forEach((child, i) => {
    const twin = ours[i];
    if (twin === undefined) return;
    // Shown in the page alone: handles, what the pointer lies on.
    if (child.getAttribute("data-keep") === "no" || child.classList.contains("plot-handle") || child.classList.contains("plot-only-live")) twin.remove();
    else write(child, twin);
  });
}

/** SVG text as PNG, `scale` times its size. */
export async function toPng(svg: string, scale = 2): Promise<Blob> {
  const url = URL.createObjectURL(new Blob([svg], { type: "image/svg+xml" }));
  try {
    const image = new Image();
    image.src = url;
    await image.decode();
    const canvas = document.createElement("canvas");
    canvas.width = Math.max(1, Math.round(image.naturalWidth * scale));
    canvas.height = Math.max(1, Math.round(image.naturalHeight * scale));
    const pen = canvas.getContext("2d");
    if (pen === null) throw new Error("this browser gives no canvas to draw on");
    pen.drawImage(image, 0, 0, canvas.width, canvas.height);
    return await new Promise((done, fail) => canvas.toBlob((b) => (b === null ? fail(new Error("the picture is too large for this browser")) : done(b)), "image/png"));
  } finally {
    URL.revokeObjectURL(url);
  }
}
