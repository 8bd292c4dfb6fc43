// The reports as the panels read them: the types generated from the Rust sources.

export type { BatchGauge, BatchReport, BatchShare, HeatJump, HeatRow, HeatWhole as HeatReport, History, LevelCurves, Loss, Mode, ModeShape, ModesReport, PokeEvent, PokeEventKind, PokeReport, Pressure, ReleaseWhole as ReleaseReport, SizeReport, SizeScale, SizeSolution } from "../api";
