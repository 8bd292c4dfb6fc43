// The pictures as files: the section as a drawing that needs no style sheet, the 3D view as pixels.

import { colouring } from "../state/scene";
import { lengthWords, roundBelow } from "./extent";
import { rampHex, top, valueWords } from "./ramp";
import { space } from "./solidview";

const KEPT = ["fill", "fill-opacity", "stroke", "stroke-width", "stroke-opacity", "stroke-dasharray", "stroke-linejoin", "font-size", "font-family", "font-weight", "text-anchor"];

/** The section as it stands, self-contained: colours and type are written out. Throws when there is no drawing yet. */
export function sectionSvg(): string {
  const drawn = document.querySelector<SVGSVGElement>("svg.see-drawing");
  if (drawn === null) throw new Error("There is no section yet.");
  const copy = drawn.cloneNode(true) as SVGSVGElement;
  const from = [...drawn.querySelectorAll("*")];
  const to = [...copy.querySelectorAll("*")];
  for (const [i, el] of to.entries()) {
    const source = from[i];
    if (source === undefined) continue;
    if (source.closest(".handle") !== null) continue;
    const style = getComputedStyle(source);
    for (const name of KEPT) {
      const value = style.getPropertyValue(name);
      if (value !== "") el.setAttribute(name, value);
    }
  }
  for (const el of copy.querySelectorAll(".handle")) el.remove();
  const paper = document.createElementNS("http://www.w3.org/2000/svg", "rect");
  for (const [name, value] of [["width", "100%"], ["height", "100%"], ["fill", getComputedStyle(document.documentElement).getPropertyValue("--sheet").trim()]] as const) paper.setAttribute(name, value);
  copy.prepend(paper);
  copy.setAttribute("xmlns", "http://www.w3.org/2000/svg");
  return new XMLSerializer().serializeToString(copy);
}

/** The 3D view as PNG, `scale` pixels for one of the page, with its scale bar and the legend of its colours. */
export async function viewPng(scale: number): Promise<Blob> {
  const s = space.peek();
  if (s === null) throw new Error("This browser draws nothing in 3D.");
  const token = (name: string) => getComputedStyle(document.documentElement).getPropertyValue(`--${name}`).trim();
  return await s.png(scale, token("sheet"), (c, w, h) => {
    c.font = `13px ${token("font") || "sans-serif"}`;
    c.fillStyle = c.strokeStyle = token("ink");
    const metres = roundBelow(Math.min(120, w / 4) * s.metresPerPixel);
    const px = metres / s.metresPerPixel;
    c.lineWidth = 1.5;
    c.beginPath();
    c.moveTo(12, h - 18);
    c.lineTo(12, h - 10);
    c.moveTo(12, h - 14);
    c.lineTo(12 + px, h - 14);
    c.moveTo(12 + px, h - 18);
    c.lineTo(12 + px, h - 10);
    c.stroke();
    c.fillText(lengthWords(metres), 20 + px, h - 10);
    const by = colouring.peek();
    if (by === "plain") return;
    for (let i = 0; i < 60; i++) {
      c.fillStyle = rampHex((i + 0.5) / 60);
      c.fillRect(w - 192 + 2 * i, h - 20, 2.5, 10);
    }
    c.fillStyle = token("ink");
    c.fillText(`${by === "strain" ? "strain" : "energy"} 0`, w - 192, h - 26);
    c.textAlign = "right";
    c.fillText(valueWords(top.peek(), by), w - 14, h - 26);
  });
}

/** Hands a file to the person. */
export function handOver(name: string, blob: Blob): void {
  const a = document.createElement("a");
  a.href = URL.createObjectURL(blob);
  a.download = name;
  a.click();
  setTimeout(() => URL.revokeObjectURL(a.href), 10_000);
}
