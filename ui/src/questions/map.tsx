// Map: how the thresholds run over two numbers of the case, with the case in it as a marker that can be dragged.

import { useEffect, useMemo, useRef } from "preact/hooks";
import type { MapReport } from "../api";
import { Doubts, Freshness, RefusedNote, Working } from "../answer/notes";
import { SheetView } from "../answer/sheet";
import { kept } from "../keep/kept";
import { SaveBar } from "../keep/savebar";
import { Plot, onAxis, type Marker } from "../plot/plot";
import { broken, canAsk, look, map, verdict } from "../state/answers";
import { files, text } from "../state/case";
import "../styles/questions.css";
import "../styles/map.css";
import { MapForm } from "./map/form";
import { HereSays, HereSliders } from "./map/here";
import { axisOf, boxOf, layersOf, planeOf, tableOf } from "./map/layers";
import { canMove, halfWidth, hereOn, moveOn } from "./map/numbers";
import { askMap, axesOf, otherCase, otherPlan } from "./map/plan";
import type { Known } from "./map/sides";
import { cloudsOf, laidOver } from "./map/sweep/layers";
import { sweep } from "./map/sweep/load";
import { SweepOver } from "./map/sweep/panel";
import { countWords } from "./map/sweep/words";

/** Maps that took longer are not asked for again without a word from the person. */
const QUICK_MS = 4000;

/** A map is asked for when the panel opens, and again when more than the numbers of its two axes has changed. */
function useMap(): void {
  const [t, f, seen, isBroken, other] = [text.value, files.value, look.answer.value, broken.value, otherCase.value];
  useEffect(() => {
    if (kept !== null || t === "" || isBroken || look.stale.peek() || !canAsk("map").ok || map.busy.peek()) return;
    const first = map.asked.peek() === null && map.refused.peek() === null;
    const refused = map.refused.peek();
    if (!first && !other && refused === null) return;
    if (!first && (map.tookMs.peek() > QUICK_MS || refused?.kind === "slow" || refused?.kind === "stopped")) return;
    const timer = setTimeout(askMap, first ? 0 : 500);
    return () => clearTimeout(timer);
  }, [t, f, seen, isBroken, other]);
}

export function MapPanel() {
  useMap();
  const able = canAsk("map");
  const answer = map.answer.value;
  const refused = map.refused.value;
  if (!able.ok && look.answer.value !== null) {
    return (
      <p class="panel-not" role="status">
        <strong>This question makes no sense for this part.</strong> {able.says}
      </p>
    );
  }
  const report = answer?.report as MapReport | undefined;
  const old = otherCase.value;
  // Once there is a map it comes first; what to map can still be chosen below it.
  const form = kept === null && <MapForm main={old || otherPlan.value} disabled={broken.value} again={answer !== null} />;
  return (
    <div class={old ? "panel panel-old" : "panel"}>
      {report === undefined && form}
      <div aria-live="polite">
        {old && !map.busy.value && map.tookMs.value > QUICK_MS && (
          <p class="panel-note">
            <strong>The case has changed: ask again.</strong> What is shown is of the case before.
          </p>
        )}
        {otherPlan.value && !old && !map.busy.value && answer !== null && <p class="panel-note">The choices above have changed since this map.</p>}
        {refused !== null && !map.busy.value && <RefusedNote refused={refused} again={askMap} />}
      </div>
      {map.busy.value && <Working progress={map.progress.value} onStop={() => map.stop()} what="Map" />}
      {answer !== null && report !== undefined && (
        <>
          <Doubts doubts={report.doubts} />
          <MapPlot report={report} />
          {form}
          <Freshness answer={answer} tookMs={map.tookMs.value} stale={old} />
          <SheetView sheet={answer.sheet} open={(h) => /what it shows/i.test(h)} skip={(h) => /^doubts?$/i.test(h)} />
        </>
      )}
    </div>
  );
}

function MapPlot({ report }: { report: MapReport }) {
  const svg = useRef<SVGSVGElement | null>(null);
  const keys = axesOf(map.asked.value ?? { text: "", files: {}, options: {} });
  const [x, y] = useMemo(() => [axisOf(report.axes[0]), axisOf(report.axes[1])], [report]);
  const here: [number | null, number | null] = [hereOn(keys[0], report.axes[0]), hereOn(keys[1], report.axes[1])];
  // The sides are read off once per map: the case's own verdict helps where there are no curves of equal margin.
  const curves = useMemo(() => layersOf(report, ownVerdict(report)), [report, report.margins.length === 0 ? verdict.answer.value : null]);
  const [hx, hy] = here;
  const box = useMemo(() => (hx === null || hy === null ? [] : boxOf(hx, hy, halfWidth(keys[0]), halfWidth(keys[1]))), [hx, hy, look.answer.value, ...keys]);
  // A copy cannot read files, so nothing lies over its map.
  const swept = kept === null ? sweep.value : null;
  // Whether depth is a number of the case decides which axis is which of the sweep's numbers.
  const laid = useMemo(() => (swept === null ? null : laidOver(swept, report)), [swept, report, look.answer.value]);
  // First, so that curves and words lie over the points.
  const clouds = useMemo(() => (laid === null ? [] : cloudsOf(laid)), [laid]);
  const layers = useMemo(() => [...clouds, ...curves, ...box], [clouds, curves, box]);
  const says = `${report.axes[0].label} ${onAxis(x, hx)}, ${report.axes[1].label} ${onAxis(y, hy)}`;
  const free = kept === null && keys.some(canMove);
  const markers: Marker[] =
    hx === null || hy === null
      ? []
      : [
          {
            kind: "free",
            name: "You are here",
            says,
            x: hx,
            y: hy,
            onXY: (nx, ny) => {
              if (kept !== null) return;
              // Four digits are written: an axis that was not moved is left as it stands in the text.
              if (Math.abs(nx / hx - 1) > 1e-6) moveOn(keys[0], nx);
              if (Math.abs(ny / hy - 1) > 1e-6) moveOn(keys[1], ny);
            },
          },
        ];
  return (
    <div class="map-plot">
      <Plot
        title={`Thresholds over ${report.axes[0].label} and ${report.axes[1].label}: ${report.title}`}
        says={`${report.explanation.join(" ")} The case lies at ${says}.${swept !== null && laid !== null ? ` ${countWords(swept)}` : ""}`}
        x={x}
        y={y}
        layers={layers}
        markers={markers}
        svgRef={(s) => (svg.current = s)}
        height={390}
        hint={free ? "Drag the marker (or use the arrow keys): the case, its answer and the picture follow." : " "}
      />
      <HereSays />
      <HereSliders report={report} keys={keys} />
      {kept === null && <SweepOver report={report} laid={laid} />}
      <SaveBar name="map" svg={() => svg.current} csv={() => tableOf(report)} question="map" />
    </div>
  );
}

/** The place and verdict of the case as it stood when the verdict in hand was asked. */
function ownVerdict(report: MapReport): Known | null {
  const says = (verdict.answer.peek()?.report as { verdict?: string } | undefined)?.verdict;
  if ((says !== "stays" && says !== "returns") || verdict.asked.peek()?.text !== map.asked.peek()?.text) return null;
  return { at: planeOf(report).to(report.axes[0].here_si, report.axes[1].here_si), side: says };
}
