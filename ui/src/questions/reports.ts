// The reports as the panels read them: the types generated from the Rust sources, with the further answers that are asked for beside them.

import type { HeatMap, HeatReport as HeatAlone, HeatSpread, ReleaseReport as ReleaseAlone, Slowing, WaitCurve, WaitSpread } from "../api";

export type { HeatJump, HeatRow, History, LevelCurves, Loss, Mode, ModeShape, ModesReport, PokeEvent, PokeEventKind, PokeReport, Pressure, StatesReport, VerdictReport } from "../api";

/** `null`: not asked for. */
export type ReleaseReport = ReleaseAlone & { wait_curve: WaitCurve | null; spread: WaitSpread | null; slowing: Slowing | null };
export type HeatReport = HeatAlone & { spread: HeatSpread | null; map: HeatMap | null };
