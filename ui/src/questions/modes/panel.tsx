// Modes: frequencies of every number of waves; one of them laid over the picture; the pressure that buckles.

import { signal } from "@preact/signals";
import { useEffect, useMemo, useRef } from "preact/hooks";
import { SaveBar } from "../../keep/savebar";
import { Plot, csvOf, four, mostOf, unitFor, withUnit, type Axis, type Layer } from "../../plot/plot";
import { canAsk, modes } from "../../state/answers";
import { ripple, shown, type Ripple } from "../../state/scene";
import { Panel, type Options } from "../asking";
import type { Mode, ModeShape, ModesReport } from "../reports";

const options = signal<Options>({});
/** What is laid over the picture: a mode by its index, or a loss of the pressure. */
const chosen = signal<{ kind: "mode" | "loss"; at: number } | null>(null);
/** Largest displacement over the radius of the rim. */
const amplitude = signal(0.15);

function set(change: Options): void {
  const next = { ...options.value, ...change };
  for (const [k, v] of Object.entries(next)) if (v === undefined || v === "" || v === false || Number.isNaN(v)) delete next[k];
  options.value = next;
}

const circles = (m: Mode) => (m.nodal_circles === 0 ? "" : m.nodal_circles === 1 ? ", 1 nodal circle" : `, ${m.nodal_circles} nodal circles`);
const waves = (n: number) => (n === 0 ? "the same all round" : n === 1 ? "1 wave" : `${n} waves`);
const frequency = (m: Mode) => (m.frequency_Hz === null ? `Ω² = ${four(m.omega_squared)}` : withUnit("frequency", m.frequency_Hz));

/** A shape scaled so that its largest displacement is `size`, m. */
function laid(n: number, shape: ModeShape, s_m: number[], size: number): Ripple {
  const most = mostOf(shape.across, shape.along, shape.around) || 1;
  const scale = (v: number[]) => v.map((x) => (x / most) * size);
  return { n, across: scale(shape.across), along: scale(shape.along), around: scale(shape.around), s_m, amplitude_m: size };
}

export function ModesPanel() {
  const report = modes.answer.value?.report as ModesReport | undefined;
  const o = options.value;
  const ask = () => modes.run(options.value, 0);
  return (
    <Panel
      slot={modes}
      what="Modes"
      options={options}
      doubts={report?.doubts}
      open={/^(what was found|buckling.*|under pressure.*|pressure.*)$/i}
      form={
        <>
          <fieldset class="choice">
            <legend>About the</legend>
            {([false, true] as const).map((inverted) => (
              <label key={String(inverted)}>
                <input
                  type="radio"
                  name="modes-state"
                  checked={(o.inverted === true) === inverted}
                  disabled={inverted && !canAsk("verdict").ok}
                  onChange={() => {
                    set({ inverted });
                    ask();
                  }}
                />{" "}
                {inverted ? "inverted" : "natural"} shape
              </label>
            ))}
          </fieldset>
          <label>
            Buckling under pressure from{" "}
            <select
              value={String(o.pressure ?? "")}
              onChange={(e) => {
                set({ pressure: e.currentTarget.value });
                ask();
              }}
            >
              <option value="">(not asked)</option>
              <option value="outside">outside, on the convex face</option>
              <option value="inside">inside, on the concave face</option>
            </select>
          </label>
          <label>
            Lowest <input type="number" class="narrow" min={1} max={200} placeholder="10" value={o.lowest === undefined ? "" : String(o.lowest)} onInput={(e) => set({ lowest: e.currentTarget.value === "" ? undefined : Number(e.currentTarget.value) })} />
          </label>
          <label>
            of each n <input type="number" class="narrow" min={1} max={50} placeholder="4" value={o.each === undefined ? "" : String(o.each)} onInput={(e) => set({ each: e.currentTarget.value === "" ? undefined : Number(e.currentTarget.value) })} />
          </label>
          <label>
            n up to <input type="number" class="narrow" min={0} max={200} placeholder="as needed" value={o.waves === undefined ? "" : String(o.waves)} onInput={(e) => set({ waves: e.currentTarget.value === "" ? undefined : Number(e.currentTarget.value) })} />
          </label>
        </>
      }
    >
      {report !== undefined && <Found report={report} />}
    </Panel>
  );
}

function Found({ report }: { report: ModesReport }) {
  const svg = useRef<SVGSVGElement | null>(null);
  const size = amplitude.value * report.part.rim_radius_m;
  const at = chosen.value;
  const loss = at?.kind === "loss" ? report.pressure?.losses[at.at] : undefined;
  const mode = at?.kind === "mode" ? report.modes[at.at] : undefined;
  const shape = mode?.shape ?? loss?.shape ?? null;
  const n = mode?.n ?? loss?.n ?? 0;

  // The ripple goes with the answer it came from, and leaves one that another panel has laid since.
  const mine = useRef<Ripple | null>(null);
  useEffect(() => {
    if (shape === null || at === null) {
      if (mine.current !== null && ripple.peek() === mine.current) ripple.value = null;
      mine.current = null;
      if (shown.peek()?.film === "modes") shown.value = null;
      return;
    }
    mine.current = laid(n, shape, report.meridian.s_m, size);
    ripple.value = mine.current;
    shown.value = { film: "modes", place: 0 };
  }, [shape, n, size, report]);
  // The picture shows something else: so does the list.
  const taken = shape !== null && mine.current !== null && shown.value?.film !== "modes";
  useEffect(() => {
    if (taken) chosen.value = null;
  }, [taken]);
  const first = useRef(report);
  useEffect(() => {
    if (first.current === report) return;
    first.current = report;
    chosen.value = null;
  }, [report]);

  const pick = (i: number) => (chosen.value = at?.kind === "mode" && at.at === i ? null : { kind: "mode", at: i });
  const hertz = report.modes.some((m) => m.frequency_Hz !== null);
  const value = (m: Mode) => (hertz ? m.frequency_Hz : m.omega_squared);
  const drawn = useMemo(() => {
    const part = (kind: string, colour: "accent" | "second", symbol: "circle" | "square"): Layer => {
      const some = report.modes.filter((m) => (m.kind === "bending") === (kind === "bending"));
      return { kind: "points", name: kind === "bending" ? "chiefly bending" : "chiefly stretching or in the plane", x: some.map((m) => m.n), y: some.map(value), colour, symbol, stems: true, hollow: kind !== "bending" };
    };
    const most = mostOf(report.modes.map(value));
    const y: Axis = hertz ? { label: "frequency", ...unitFor("frequency", most), withZero: true } : { label: "Ω²", unit: "", per: 1, withZero: true };
    const waves = mostOf(report.modes.map((m) => m.n));
    return { layers: [part("bending", "accent", "circle"), part("other", "second", "square")], y, x: { label: "waves round the axis, n", unit: "", per: 1, whole: true, from: -0.5, to: waves + 0.5, tight: true } as Axis };
  }, [report]);
  const layers = useMemo<Layer[]>(() => (mode === undefined ? drawn.layers : [...drawn.layers, { kind: "points", name: "shown", x: [mode.n], y: [value(mode)], colour: "bad", symbol: "diamond", size: 130, hollow: true }]), [drawn, mode]);
  const marker = mode ?? report.modes[report.lowest[0] ?? 0];
  const nearest = (x: number, y: number) => {
    let best = 0;
    let least = Infinity;
    const most = mostOf(report.modes.map(value)) || 1;
    report.modes.forEach((m, i) => {
      const d = Math.hypot((m.n - x) / 4, ((value(m) ?? 0) - y) / most);
      if (d < least) {
        least = d;
        best = i;
      }
    });
    chosen.value = { kind: "mode", at: best };
  };
  // In order of frequency; the report is in order of n.
  const order = useMemo(() => report.modes.map((_, i) => i).sort((a, b) => (value(report.modes[a] as Mode) ?? 0) - (value(report.modes[b] as Mode) ?? 0)), [report]);
  const step = (by: number) => {
    const now = at?.kind === "mode" ? order.indexOf(at.at) : -1;
    chosen.value = { kind: "mode", at: order[Math.max(0, Math.min(order.length - 1, now + by))] ?? 0 };
  };
  return (
    <div>
      <Plot
        title="Frequencies over the number of waves"
        says={report.explanation.join(" ")}
        x={drawn.x}
        y={drawn.y}
        layers={layers}
        markers={
          marker === undefined
            ? []
            : [{ kind: "free", name: "Mode", says: `${waves(marker.n)}${circles(marker)}, ${frequency(marker)}`, x: marker.n, y: value(marker) ?? 0, onXY: nearest }]
        }
        svgRef={(s) => (svg.current = s)}
        height={280}
        hint="Press near a mode to see it move."
      />
      <div class="jumps" role="group" aria-label="Choose a mode">
        <button type="button" onClick={() => step(-1)} disabled={report.modes.length === 0}>
          lower
        </button>
        <button type="button" onClick={() => step(1)} disabled={report.modes.length === 0}>
          higher
        </button>
        <button type="button" onClick={() => (chosen.value = null)} disabled={at === null}>
          at rest
        </button>
      </div>
      <p class="readout" data-testid="mode-read" aria-live="polite">
        {mode !== undefined && (
          <>
            <strong>Shown:</strong> {waves(mode.n)}
            {circles(mode)}, {frequency(mode)}, {mode.kind}
            {mode.shape === null && "; this answer has no shape of it"}
          </>
        )}
        {loss !== undefined && (
          <>
            <strong>Shown:</strong> buckling in {waves(loss.n)} at {withUnit("pressure", loss.pressure_Pa)}
            {loss.shape === null && "; this answer has no shape of it"}
          </>
        )}
        {at === null && "Nothing is laid over the picture."}
      </p>
      <label class="slider-row">
        <span>Shown as large as</span>
        <input type="range" min={0.02} max={0.4} step={0.01} value={amplitude.value} aria-valuetext={`${Math.round(amplitude.value * 100)} % of the rim's radius`} onInput={(e) => (amplitude.value = Number(e.currentTarget.value))} />
        <span class="slider-says">{Math.round(amplitude.value * 100)} % of the rim's radius</span>
      </label>
      <SaveBar
        name="modes"
        svg={() => svg.current}
        csv={() =>
          csvOf({
            n: report.modes.map((m) => m.n),
            order: report.modes.map((m) => m.order),
            nodal_circles: report.modes.map((m) => m.nodal_circles),
            kind: report.modes.map((m) => m.kind),
            frequency_Hz: report.modes.map((m) => m.frequency_Hz),
            omega_squared: report.modes.map((m) => m.omega_squared),
            bending_share: report.modes.map((m) => m.bending_share),
          })
        }
        question="modes"
      />
      {report.pressure !== null && report.pressure.losses.length > 0 && (
        <div class="jumps" role="group" aria-label="Forms of buckling">
          <span class="soft">Forms of buckling:</span>
          {report.pressure.losses.map((l, i) => (
            <button key={i} type="button" aria-pressed={at?.kind === "loss" && at.at === i} disabled={l.shape === null} onClick={() => (chosen.value = at?.kind === "loss" && at.at === i ? null : { kind: "loss", at: i })}>
              {waves(l.n)}: {withUnit("pressure", l.pressure_Pa)}
            </button>
          ))}
        </div>
      )}
      <details>
        <summary>All {report.modes.length} modes as a table</summary>
        <div class="sheet-scroll" tabIndex={0} role="group" aria-label="Table of modes">
          <table class="sheet-table">
            <thead>
              <tr>
                <th scope="col">n</th>
                <th scope="col">order</th>
                <th scope="col">frequency</th>
                <th scope="col">kind</th>
                <th scope="col">bending</th>
                <th scope="col">picture</th>
              </tr>
            </thead>
            <tbody>
              {order.map((i) => {
                const m = report.modes[i];
                if (m === undefined) return null;
                return (
                  <tr key={i}>
                    <td>{m.n}</td>
                    <td>{m.order}</td>
                    <td>{frequency(m)}</td>
                    <td>
                      {m.kind}
                      {circles(m)}
                    </td>
                    <td>{four(m.bending_share * 100, 3)} %</td>
                    <td>
                      <button type="button" class="small" aria-pressed={at?.kind === "mode" && at.at === i} disabled={m.shape === null} onClick={() => pick(i)} aria-label={`Show n = ${m.n}, order ${m.order}`}>
                        show
                      </button>
                    </td>
                  </tr>
                );
              })}
            </tbody>
          </table>
        </div>
      </details>
    </div>
  );
}
