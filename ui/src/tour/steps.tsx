// The steps of the tour: what is said, what the page is made to show, what there is to try.

import type { ComponentType } from "preact";
import { openQuestion } from "../questions/open";
import { heat, release } from "../state/answers";
import { playing } from "../questions/release/player";
import { colouring, cut, picking, picks, rest, ripple, showLip, showMirror, shown, wallScale } from "../state/scene";
import { Faces } from "./faces";
import { settled, worked } from "./lend";
import { Mirror, anotherPair } from "./mirror";
import { SnapStep } from "./snap";
import { Thin, stopThin, thin } from "./thin";
import { Threshold, visited } from "./threshold";
import { WaitStep, holds, stopHolds } from "./wait";
import { WarmStep, forgetWarm } from "./warm";

export interface Step {
  id: string;
  title: string;
  /** For a wall screen: one or two short sentences. */
  short: string;
  says: string[];
  tries: string[];
  /** Worked case that the step is about. */
  about: string;
  /** Before the case is there. */
  look: () => void;
  /** Once look and verdict are of the step's case. */
  ready?: () => void;
  leave?: () => void;
  body: ComponentType;
}

/** Views as most steps begin. */
function plain(): void {
  shown.value = null;
  ripple.value = null;
  colouring.value = "plain";
  wallScale.value = 1;
  cut.value = true;
  showMirror.value = true;
  showLip.value = false;
  picking.value = false;
  picks.value = [];
}

export const STEPS: Step[] = [
  {
    id: "mirror",
    title: "A cap and its mirror image",
    short: "Reflect the cap in the plane of its rim. No two points come closer, none move apart.",
    says: ["Here is a rubber cap. Below it, drawn thin, is its mirror image in the plane of the rim: the same cap, turned inside out.", "A mirror makes a right hand of a left one, but changes no length. Measure between any two points, through the air or along the wall: in the mirror it is the same."],
    tries: ["Click two points on the cap and compare the two distances.", "Turn the cap with the pointer or the arrow keys and look at it from below."],
    about: "silicone-cap-stays",
    look: () => {
      plain();
      rest.value = "natural";
      cut.value = false;
      picking.value = true;
    },
    ready: () => {
      if (picks.peek().length === 0) anotherPair();
    },
    leave: () => {
      picking.value = false;
      picks.value = [];
    },
    body: Mirror,
  },
  {
    id: "thin",
    title: "A vanishing wall turns inside out for nothing",
    short: "No length changes, so nothing is stretched. Make the wall thinner and the energy melts away.",
    says: ["If no length changes, nothing is stretched, and stretching is what costs most. What is left is bending, and thin things bend easily.", "So make the wall thinner and thinner, and ask each time what the inverted cap still stores. Every dot is an answer, computed now."],
    tries: ["Move the marker to a thinner wall: the picture follows, and comes ever nearer to the mirror image.", "Each dot to the left halves the wall's section. By how much does the energy fall?"],
    about: "silicone-cap-stays",
    look: () => {
      plain();
      rest.value = "inverted";
    },
    ready: () => void thin(),
    leave: stopThin,
    body: Thin,
  },
  {
    id: "faces",
    title: "A real wall has two faces",
    short: "A wall has two faces. Inside out, one must lengthen and the other shorten. The rim answers with a lip.",
    says: ["A real wall has a thickness, and so two faces. Turned inside out, one face must grow longer and the other shorter. Colours show how much.", "At the free rim nothing holds the wall in its new curve. There it bends back towards the shape it was made in: that is the lip."],
    tries: ["Look at the rim in the section: the drawn shape leaves the mirror image there.", "Colour by energy instead of strain."],
    about: "silicone-cap-stays",
    look: () => {
      plain();
      rest.value = "inverted";
      colouring.value = "strain";
      showLip.value = true;
    },
    body: Faces,
  },
  {
    id: "threshold",
    title: "The lip against the size of the cap",
    short: "Thicker wall, wider lip. When the lip grows too wide for the cap, nothing holds it any more.",
    says: ["The thicker the wall, the wider the lip. While it is narrow, the rest of the cap, still a good mirror image, holds it.", "At one thickness the lip has grown too wide for the cap. Beyond it there is no shape to rest in: the cap returns at once."],
    tries: ["Slide the thickness slowly up, past the threshold, and watch the verdict.", "Leave dots on the plot: how steeply does the lip widen just before it is lost?"],
    about: "silicone-cap-stays",
    look: () => {
      plain();
      rest.value = "inverted";
      showLip.value = true;
      openQuestion.value = "map";
    },
    leave: () => void (visited.value = []),
    body: Threshold,
  },
  {
    id: "wait",
    title: "The wait",
    short: "Just beyond the threshold, rubber that remembers can wait. The longer you hold it, the longer it hesitates.",
    says: ["This cap is a little too thick to stay. But rubber remembers: held inside out for a while, its stresses relax, and it half believes that this is its shape.", "Let it go, and it rests. As it forgets, its resting place fades, and suddenly it is gone."],
    tries: ["Move the marker along the curve: hold it for a moment, then for a minute.", "Is there a wait that no hold can exceed?"],
    about: "jumping-cap",
    look: () => {
      plain();
      rest.value = "natural";
      openQuestion.value = "release";
    },
    ready: () => void holds(),
    leave: stopHolds,
    body: WaitStep,
  },
  {
    id: "snap",
    title: "The snap",
    short: "Then it goes, far faster than the eye. Here it is, slowed down.",
    says: ["When the resting place is gone, only the mass of the wall holds it up. It goes slowly at first, then all at once.", "Too fast for the eye: watch it slowed down. The rim strikes the table, and the cap jumps."],
    tries: ["Let it go, and let it go again.", "Stop half way and turn the part: what is the rim doing?"],
    about: "jumping-cap",
    look: () => {
      plain();
      openQuestion.value = "release";
    },
    ready: () => {
      // The open panel asks by itself too: one answer is enough.
      if (!release.busy.peek() && (release.answer.peek() === null || release.stale.peek())) release.run({}, 0);
    },
    leave: () => {
      playing.value = false;
      shown.value = null;
    },
    body: SnapStep,
  },
  {
    id: "heat",
    title: "Where it is useful",
    short: "A disc of two metals. Heat flattens it until it snaps and cuts the current; it snaps back only when much cooler.",
    says: ["A shallow dish of two metals, one of which grows more in the heat. Warmed, it flattens; then it snaps, pushes a pin, and the heater is off.", "On the way back it does not snap at the same temperature. Between trip and reset lies a gap, and that keeps the switch from chattering."],
    tries: ["Heat it past the trip, then cool it slowly: where does it come back?", "The loop encloses energy lost in each cycle. Where does it go?"],
    about: "propagator-cutout",
    look: () => {
      plain();
      rest.value = "natural";
      wallScale.value = 1;
      openQuestion.value = "heat";
      forgetWarm();
    },
    ready: () => {
      if (!heat.busy.peek() && (heat.answer.peek() === null || heat.stale.peek())) heat.run({}, 0);
    },
    leave: () => void (shown.value = null),
    body: WarmStep,
  },
];

/** Makes the page show a step. Gives back what ends it. */
export function enter(step: Step): () => void {
  let gone = false;
  let timer = 0;
  step.look();
  void worked(step.about).then((stored) => {
    if (stored === null || gone) return;
    const wait = () => {
      if (gone) return;
      if (settled()) {
        // Tabs that closed meanwhile have put the view back: say again what is to be seen.
        step.ready?.();
        // On a phone the tour covers the lower half: the picture goes to the top.
        if (matchMedia("(max-width: 56rem)").matches) document.querySelector("#see canvas")?.scrollIntoView({ block: "start" });
      } else timer = window.setTimeout(wait, 40);
    };
    wait();
  });
  return () => {
    gone = true;
    clearTimeout(timer);
    step.leave?.();
  };
}
