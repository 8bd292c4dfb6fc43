// Where the part lies between "stays" and "returns": thickness over threshold thickness with its spread.

import { useId, useLayoutEffect, useRef, useState } from "preact/hooks";
import { four } from "../plot/plot";
import type { VerdictReport } from "../api";

const HEIGHT = 76;

/** `row`: the sheet's own words for the margin. */
export function Gauge({ report, row }: { report: VerdictReport; row: string | null }) {
  const box = useRef<HTMLDivElement>(null);
  const [width, setWidth] = useState(320);
  const id = useId();
  useLayoutEffect(() => {
    const el = box.current;
    if (el === null) return;
    const watch = new ResizeObserver(() => setWidth(Math.max(200, el.clientWidth)));
    watch.observe(el);
    return () => watch.disconnect();
  }, []);
  const m = report.margin;
  if (m === null) return null;
  const q = m.thickness_ratio;
  const low = m.spread?.thickness_ratio_low ?? q;
  const high = m.spread?.thickness_ratio_high ?? q;
  // The same span for most parts, so that a part that is moved is seen to move; wider only when it must be.
  const reach = Math.max(0.3, Math.abs(q - 1) * 1.15, Math.abs(low - 1) * 1.1, Math.abs(high - 1) * 1.1);
  const from = Math.max(0, 1 - reach);
  const to = 1 + reach;
  const x = (v: number) => 6 + ((v - from) / (to - from)) * (width - 12);
  const band = report.wait?.rests && report.wait.band_to_m !== null && m.threshold_thickness_m > 0 ? report.wait.band_to_m / m.threshold_thickness_m : null;
  const middle = x(1);
  const waitsTo = band === null ? null : Math.min(x(to), x(band));
  const words = `Thickness over threshold thickness: ${row ?? four(q)}.`;
  return (
    <div class="gauge" ref={box}>
      <svg viewBox={`0 0 ${width} ${HEIGHT}`} width={width} height={HEIGHT} role="img" aria-label={words}>
        <defs>
          <pattern id={`${id}-hatch`} width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">
            <line class="gauge-hatch" x1="0" x2="0" y1="0" y2="7" />
          </pattern>
          <pattern id={`${id}-dots`} width="6" height="6" patternUnits="userSpaceOnUse">
            <circle class="gauge-dot" cx="3" cy="3" r="1.3" />
          </pattern>
        </defs>
        <rect class="gauge-stays" x={x(from)} y={28} width={middle - x(from)} height={16} rx={3} />
        <rect class="gauge-returns" x={middle} y={28} width={x(to) - middle} height={16} rx={3} />
        <rect x={middle} y={28} width={x(to) - middle} height={16} fill={`url(#${id}-hatch)`} />
        {waitsTo !== null && waitsTo > middle && (
          <>
            <rect class="gauge-waits" x={middle} y={28} width={waitsTo - middle} height={16} />
            <rect x={middle} y={28} width={waitsTo - middle} height={16} fill={`url(#${id}-dots)`} />
          </>
        )}
        <line class="gauge-edge" x1={middle} x2={middle} y1={22} y2={50} />
        <text class="gauge-word" x={x(from)} y={16}>
          stays
        </text>
        {waitsTo !== null && waitsTo - middle > 44 && (
          <text class="gauge-word" x={(middle + waitsTo) / 2} y={16} text-anchor="middle">
            waits
          </text>
        )}
        {(waitsTo === null || x(to) - waitsTo > 50) && (
          <text class="gauge-word" x={x(to)} y={16} text-anchor="end">
            returns
          </text>
        )}
        {high > low && <rect class="gauge-spread" x={x(low)} y={32} width={Math.max(2, x(high) - x(low))} height={8} rx={4} />}
        <path class="gauge-here" d={`M${x(q)} 44l-7 12h14z`} />
        <line class="gauge-here-line" x1={x(q)} x2={x(q)} y1={26} y2={46} />
        <text class="gauge-word" x={Math.min(width - 30, Math.max(30, x(q)))} y={70} text-anchor="middle">
          {`h/h* ${four(q)}`}
        </text>
        {Math.abs(x(q) - middle) > 72 && (
          <text class="gauge-tick" x={middle} y={64} text-anchor="middle">
            1
          </text>
        )}
      </svg>
      {row !== null && <p class="gauge-row">{row}</p>}
    </div>
  );
}
