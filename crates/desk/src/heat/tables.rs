//! Tables of heat: branches, draws, map.

use calotte_answers::heat::report::{HeatMap, HeatReport, HeatRow, HeatSpread, MapState};
use calotte_runs::{Kind, Table, Value};
use calotte_specimen::Case;

use super::HeatWhole;
use crate::provenance::facts;
use crate::tables::{column, number};

/// Every table that the answer has.
pub(super) fn all(case: &Case, whole: &HeatWhole) -> Vec<(String, Table)> {
    let mut all = vec![("heat".to_owned(), branch_table(case, &whole.heat))];
    all.extend(whole.spread.as_ref().map(|s| ("draws".to_owned(), draw_table(case, s))));
    if let Some(m) = &whole.map {
        all.push(("map".to_owned(), grid_table(case, m)));
        all.push(("curves".to_owned(), curve_table(case, m)));
    }
    all
}

/// Both branches, in order.
fn branch_table(case: &Case, r: &HeatReport) -> Table {
    let columns = vec![
        column(
            "branch",
            "",
            "near: that of the described shape; far: that on which the trip lands",
            Kind::Text,
        ),
        column("temperature_K", "K", "temperature of the middle of the wall", Kind::Number),
        column("travel_m", "m", "travel of the centre, positive towards the other state", Kind::Number),
        column("rim_slope_rad", "rad", "slope of the rim", Kind::Number),
        column(
            "energy_J",
            "J",
            "elastic energy of part and spring less the work of the preload",
            Kind::Number,
        ),
        column("pin_force_N", "N", "push of the centre on the pin", Kind::Number),
        column("unstable", "1", "unstable axisymmetric directions", Kind::Count),
        column(
            "unstable_n",
            "",
            "wave numbers n >= 1 that are unstable, sought where the round shape is stable",
            Kind::Text,
        ),
    ];
    let row = |branch: &str, p: &HeatRow| {
        let n: Vec<String> = p.unstable_n.iter().map(u32::to_string).collect();
        vec![
            Value::Text(branch.to_owned()),
            Value::Number(p.temperature_K),
            Value::Number(p.travel_m),
            Value::Number(p.rim_slope_rad),
            Value::Number(p.energy_J),
            Value::Number(p.pin_force_N),
            Value::Count(p.unstable as i64),
            Value::Text(n.join(" ")),
        ]
    };
    let near = r.near.iter().map(|p| row("near", p));
    let rows = near.chain(r.far.iter().map(|p| row("far", p))).collect();
    Table { columns, rows, provenance: facts(case) }
}

/// Trip and reset of every draw.
fn draw_table(case: &Case, s: &HeatSpread) -> Table {
    let columns = vec![
        column("draw", "1", "number of the draw", Kind::Count),
        column("trip_K", "K", "trip temperature; missing where there is none or it is unknown", Kind::Number),
        column(
            "reset_K",
            "K",
            "reset temperature; missing where there is none or it is unknown",
            Kind::Number,
        ),
    ];
    let both = s.trips_K.iter().zip(&s.resets_K).enumerate();
    let rows = both.map(|(i, (t, r))| vec![Value::Count(i as i64 + 1), number(*t), number(*r)]).collect();
    Table { columns, rows, provenance: facts(case) }
}

fn grid_table(case: &Case, m: &HeatMap) -> Table {
    let columns = vec![
        column("depth", depth_unit(m), "half-angle of a cap, factor on the heights otherwise", Kind::Number),
        column("thickness_m", "m", "thickness, all layers by one factor", Kind::Number),
        column(
            "state",
            "",
            "trips, beyond (trips beyond the temperatures looked at), none (no trip within them), no part, unknown",
            Kind::Text,
        ),
        column("trip_K", "K", "limit of the round shape at which it trips", Kind::Number),
        column("reset_K", "K", "limit at which it resets", Kind::Number),
        column("delta_K", "K", "trip less reset", Kind::Number),
    ];
    let state = |s: MapState| match s {
        MapState::Trips => "trips",
        MapState::Beyond => "beyond",
        MapState::None => "none",
        MapState::NoPart => "no part",
        MapState::Unknown => "unknown",
    };
    let row = |k: usize| {
        let (i, j) = (k % m.depths_si.len(), k / m.depths_si.len());
        vec![
            Value::Number(m.depths_si[i]),
            Value::Number(m.thicknesses_m[j]),
            Value::Text(state(m.states[k]).to_owned()),
            number(m.trips_K[k]),
            number(m.resets_K[k]),
            number(m.deltas_K[k]),
        ]
    };
    Table { columns, rows: (0..m.states.len()).map(row).collect(), provenance: facts(case) }
}

fn curve_table(case: &Case, m: &HeatMap) -> Table {
    let columns = vec![
        column("family", "", "trip or delta", Kind::Text),
        column("level_K", "K", "trip temperature or delta", Kind::Number),
        column("curve", "1", "number of the curve of this level", Kind::Count),
        column("depth", depth_unit(m), "half-angle of a cap, factor on the heights otherwise", Kind::Number),
        column("thickness_m", "m", "thickness, all layers by one factor", Kind::Number),
    ];
    let mut rows = Vec::new();
    for (family, levels) in [("trip", &m.equal_trip), ("delta", &m.equal_delta)] {
        for l in levels {
            for (k, c) in l.curves.iter().enumerate() {
                rows.extend(c.depth_si.iter().zip(&c.thickness_m).map(|(d, h)| {
                    vec![
                        Value::Text(family.to_owned()),
                        Value::Number(l.level_K),
                        Value::Count(k as i64),
                        Value::Number(*d),
                        Value::Number(*h),
                    ]
                }));
            }
        }
    }
    Table { columns, rows, provenance: facts(case) }
}

fn depth_unit(m: &HeatMap) -> &'static str {
    if m.depth_is_angle { "rad" } else { "1" }
}
