// What the page reads of the reports. The layout is documented with each question in docs/; keys carry their unit.

export interface Spread {
  thickness_ratio_half_width: number;
  thickness_ratio_low: number;
  thickness_ratio_high: number;
  crosses_threshold: boolean;
}

export interface VerdictReport {
  title: string;
  verdict: "stays" | "returns" | "waits" | "undecided";
  explanation: string[];
  doubts: string[];
  warnings: string[];
  margin: { governing_n: number; threshold_thickness_m: number; thickness_ratio: number; spread: Spread | null } | null;
  wait: { wait_s: number | null; rests: boolean; band_from_m: number | null; band_to_m: number | null } | null;
}

export interface StableState {
  name: string;
  stable: boolean;
  unstable_n: number[];
  height_m: number;
  energy_J: number;
  barrier_J: number | null;
  beyond: number | null;
  largest_strain: number;
  strain_share: number | null;
}

export interface StatesReport {
  title: string;
  stable: number;
  explanation: string[];
  doubts: string[];
  warnings: string[];
  states: StableState[];
  ways: { from: number; to: number; pushed_at_m: number; trip_force_N: number; trip_travel_m: number; barrier_J: number; peak_strain: number }[];
}
