// See it: the part in 3D, its section beside it, and the hand that pushes its pole.

import type { ComponentChildren } from "preact";
import { useEffect } from "preact/hooks";
import { Sign } from "../answer/signs";
import "../styles/see.css";
import { broken, look, verdict } from "../state/answers";
import { ColourLegend, Controls, ShapeButtons, Toggle } from "./controls";
import { HandPanel, PhaseSlider } from "./handpanel";
import { Picks } from "./picks";
import { followHand } from "./push";
import { handOver, sectionSvg, viewPng } from "./save";
import { half, Section } from "./section";
import { missing, SolidView, space, turnBy } from "./solidview";
import { HOME } from "./space";
import { picking } from "../state/scene";
import { description, shapeName } from "./words";

export function See() {
  useEffect(followHand, []);
  const old = broken.value || look.busy.value || verdict.busy.value;
  return (
    <div class="see">
      <header class="see-head">
        <h2>See it</h2>
        <ShapeButtons />
        <span class="see-name">{shapeName.value}</span>
        {broken.value && <span class="see-warn">The text in hand is no case; this is the last one that was.</span>}
      </header>
      <Controls />
      <div class="see-views" aria-busy={old}>
        <div class="see-solid">
          <SolidView>{missing.value === null && <Turning />}</SolidView>
          <ColourLegend />
        </div>
        <div class="see-flat">
          <Section />
          <Toggle on={half} words="Half the section" />
        </div>
      </div>
      <PhaseSlider />
      <HandPanel />
      <Picks />
      <details class="see-words">
        <summary>What is seen, in words; two points; pictures to keep</summary>
        <p>{description.value}</p>
        <div class="see-hand-line">
          <Toggle on={picking} words="Pick two points of the part" />
          <button type="button" onClick={() => handOver("section.svg", new Blob([sectionSvg()], { type: "image/svg+xml" }))}>
            Keep the section (SVG)
          </button>
          <button type="button" disabled={space.value === null} onClick={() => void viewPng(2).then((b) => handOver("view.png", b))}>
            Keep the 3D view (PNG)
          </button>
        </div>
      </details>
    </div>
  );
}

function Turning() {
  const s = space.value;
  if (s === null) return null;
  const button = (words: string, sign: ComponentChildren, act: () => void) => (
    <button type="button" aria-label={words} title={words} onClick={act}>
      {sign}
    </button>
  );
  return (
    <div class="see-turning" role="group" aria-label="Turn the view">
      {button("Turn left", "←", () => turnBy(s, 0.2, 0))}
      {button("Turn right", "→", () => turnBy(s, -0.2, 0))}
      {button("From higher", "↑", () => turnBy(s, 0, 0.2))}
      {button("From lower", "↓", () => turnBy(s, 0, -0.2))}
      {button("Nearer", "+", () => turnBy(s, 0, 0, 1.2))}
      {button("Farther", "−", () => turnBy(s, 0, 0, 1 / 1.2))}
      {button("Back to the first view", <Sign name="home" />, () => {
        Object.assign(s.turn, HOME);
        s.ask();
      })}
    </div>
  );
}
