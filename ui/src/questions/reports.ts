// What the panels read of the reports; the whole layout is documented with each question in docs/.

export interface PokeEvent {
  kind: "load-peak" | "load-valley" | "displacement-limit" | "displacement-return" | "sideways" | "sideways-regained" | "no-load" | "rim-lifts" | "pole-lifts-off" | "stop";
  n: number | null;
  after_row: number;
  load_SI: number;
  displacement_SI: number;
  travel_m: number;
  energy_J: number;
  stable_before_load: boolean;
  stable_before_displacement: boolean;
}

export interface Landing {
  load_SI: number;
  displacement_SI: number;
  travel_m: number;
  at_stop: boolean;
  released_J: number;
}

export interface PokeTrip {
  event: number;
  route: string;
  n: number;
  load_SI: number;
  displacement_SI: number;
  work_J: number;
  lands: Landing | null;
}

export interface PokeReport {
  outcome: "trips" | "follows" | "undecided";
  doubts: string[];
  explanation: string[];
  warnings: string[];
  load: { kind: string; words: string; from: string; control: "load" | "displacement"; load_unit: string; displacement_unit: string; load_name: string; displacement_name: string; stop_m: number | null };
  by_load: PokeTrip | null;
  by_displacement: PokeTrip | null;
  return_trip: { event: number; load_SI: number; displacement_SI: number; lands: Landing | null } | null;
  path: {
    load_SI: number;
    displacement_SI: number;
    travel_m: number;
    energy_J: number;
    work_J: number;
    unstable_load: number;
    unstable_displacement: number;
    unstable_n: number[];
    rim_reaction_N: number | null;
  }[];
  events: PokeEvent[];
}

export interface ReleaseReport {
  outcome: "stays" | "returns" | "waits" | "undecided";
  doubts: string[];
  explanation: string[];
  protocol: { hold_s: number; ramp_s: number; rests: string; words: string[] };
  snap: { wait_s: number; snap_time_s: number; halfway_s: number; end_s: number; peak_speed_m_per_s: number; peak_speed_at_s: number } | null;
  jump: { takeoff_s: number; height_m: number; landing_s: number | null } | null;
  ringing: { frequency_Hz: number; from_s: number; to_s: number } | null;
  events: { time_s: number; kind: string; what: string }[];
  history: Record<string, number[]> & { time_s: number[]; pole_over_rim_m: number[]; pole_over_rim_speed_m_per_s: number[] };
  evidence: { followed_s: number };
  wait_curve: { points: { hold_s: number; wait_s: number | null; rests: boolean; stays: boolean }[]; words: string[] } | null;
  spread: {
    drawn: number;
    stay: number;
    wait: number;
    at_once: number;
    unknown: number;
    quantiles: { share: number; wait_s: number | null }[];
    words: string[];
  } | null;
  slowing: {
    elastic: { distance: number; time_s: number }[];
    damped: { distance: number; time_s: number }[];
    frequencies: { distance: number; frequency_Hz: number }[];
    words: string[];
  } | null;
}

export interface HeatRow {
  temperature_K: number;
  travel_m: number;
  energy_J: number;
  pin_force_N: number;
  unstable: number;
  unstable_n: number[];
}

export interface HeatJump {
  temperature_K: number;
  on: "heating" | "cooling";
  route: string;
  n: number;
  travel_before_m: number;
  travel_after_m: number | null;
  movement_m: number | null;
  released_J: number | null;
}

export interface HeatQuantiles {
  known: number;
  quantiles: { share: number; at_K: number | null }[];
}

export interface HeatReport {
  outcome: string;
  doubts: string[];
  explanation: string[];
  wall: { formed_at_K: number; temperature_K: number };
  device: { pin_gap_m: number | null; from_K: number | null; to_K: number | null };
  trip: HeatJump | null;
  reset: HeatJump | null;
  delta_K: number | null;
  near: HeatRow[];
  far: HeatRow[];
  spread: { drawn: number; trip: HeatQuantiles; reset: HeatQuantiles; trips_K: (number | null)[]; resets_K: (number | null)[]; words: string[] } | null;
  map: {
    depth_here_si: number;
    thickness_here_m: number;
    depth_is_angle: boolean;
    depths_si: number[];
    thicknesses_m: number[];
    equal_trip: Level[];
    equal_delta: Level[];
    doubts: string[];
    words: string[];
  } | null;
}

export interface Level {
  level_K: number;
  curves: { depth_si: number[]; thickness_m: number[] }[];
}

export interface Mode {
  n: number;
  order: number;
  nodal_circles: number;
  kind: string;
  frequency_Hz: number;
  bending_share: number;
  shape: { across: number[]; along: number[]; around: number[] };
}

export interface ModesReport {
  outcome: string;
  state: string;
  doubts: string[];
  explanation: string[];
  part: { rim_radius_m: number };
  modes: Mode[];
  lowest: number[];
  meridian: { s_m: number[] };
  pressure: {
    face: string;
    losses: { n: number; pressure_Pa: number }[];
    axisymmetric_limit_Pa: number | null;
    followed_to_Pa: number;
  } | null;
}
