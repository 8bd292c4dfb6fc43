// A plot as a file of its own: every colour and font resolved, nothing that needs the page.

const TAKEN = ["fill", "stroke", "fill-opacity", "stroke-opacity", "stroke-width", "font-size", "font-weight", "font-family", "opacity"] as const;

/** The plot as a self-contained SVG text. Handles and read-outs under the pointer are left out. */
export function plotSvg(element: SVGSVGElement | null): string {
  if (element === null) return "";
  const copy = element.cloneNode(true) as SVGSVGElement;
  const from = [element, ...element.querySelectorAll<SVGElement>("*")];
  const to = [copy, ...copy.querySelectorAll<SVGElement>("*")];
  from.forEach((source, i) => {
    const target = to[i];
    if (target === undefined) return;
    const style = getComputedStyle(source);
    target.removeAttribute("style");
    target.removeAttribute("class");
    target.removeAttribute("tabindex");
    if (!["svg", "g", "title", "desc", "defs", "clipPath"].includes(source.tagName)) {
      for (const name of TAKEN) {
        const value = style.getPropertyValue(name);
        if (value !== "" && !(value === "1" && name.endsWith("opacity"))) target.setAttribute(name, value);
      }
    }
    if (source.classList.contains("plot-handle") || source.classList.contains("plot-only-live")) target.setAttribute("data-drop", "");
  });
  for (const g of copy.querySelectorAll("[data-drop]")) g.remove();
  const box = element.viewBox.baseVal;
  const ground = document.createElementNS("http://www.w3.org/2000/svg", "rect");
  ground.setAttribute("width", String(box.width));
  ground.setAttribute("height", String(box.height));
  ground.setAttribute("fill", getComputedStyle(document.documentElement).getPropertyValue("--sheet").trim() || "#fff");
  copy.insertBefore(ground, copy.firstChild);
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  copy.setAttribute("width", String(box.width));
  copy.setAttribute("height", String(box.height));
  for (const name of ["role", "aria-describedby"]) copy.removeAttribute(name);
  return `<?xml version="1.0" encoding="UTF-8"?>\n${new XMLSerializer().serializeToString(copy)}\n`;
}

/** Columns as CSV; heads carry their unit (`force_N`). Missing numbers are empty. */
export function csvOf(columns: Record<string, readonly (number | string | boolean | null | undefined)[]>): string {
  const names = Object.keys(columns);
  const rows = Math.max(0, ...names.map((n) => columns[n]?.length ?? 0));
  const cell = (v: number | string | boolean | null | undefined) => {
    if (v === null || v === undefined) return "";
    const s = String(v);
    return /[",\r\n]/.test(s) ? `"${s.replaceAll('"', '""')}"` : s;
  };
  const out = [names.map(cell).join(",")];
  for (let i = 0; i < rows; i++) out.push(names.map((n) => cell(columns[n]?.[i])).join(","));
  return `${out.join("\n")}\n`;
}
