//! `calotte heat --map`: trip, reset and delta over depth and thickness.

use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};

use calotte_answers::explain::digits;
use calotte_answers::heat::report::{HeatMap, LevelCurves, MapState};
use calotte_answers::heat::words::kelvins;
use calotte_answers::heat::{Branches, MapRequest, Watch};
use calotte_quantity::Dimension;
use calotte_runs::{Kind, Table, Value};
use calotte_specimen::{Case, Meridian};

use crate::folder::{self, column, number};
use crate::map::{ends, grid_size};
use crate::paint::{self, Page};
use crate::provenance::facts;

/// Columns and rows at most.
const LARGEST: usize = 200;

/// What the map takes.
#[derive(clap::Args)]
pub(crate) struct MapOptions {
    /// Also: trip, reset and delta over depth and thickness, 40 % about the part.
    #[arg(long)]
    map: bool,
    /// Ends of the map's depth: `4deg..9deg` of half-angle for a cap, `0.8..1.2` times the heights for other shapes.
    #[arg(long, value_name = "FROM..TO", requires = "map")]
    depth: Option<String>,
    /// Ends of the map's thickness, all layers by one factor.
    #[arg(long, value_name = "FROM..TO", requires = "map")]
    thickness: Option<String>,
    /// Columns and rows of the map.
    #[arg(long, value_name = "NxM", default_value = "25x25", requires = "map")]
    grid: String,
}

/// The map where it is asked for; `None` also when stopped.
pub(crate) fn map(
    o: &MapOptions,
    case: &Case,
    branches: &Branches<'_>,
    threads: usize,
    stop: &AtomicBool,
) -> Result<Option<HeatMap>, String> {
    if !o.map {
        return Ok(None);
    }
    let size = grid_size(&o.grid)?;
    if size.iter().any(|n| !(2..=LARGEST).contains(n)) {
        return Err(format!("--grid {}: a map of heat has from 2 to {LARGEST} columns and rows", o.grid));
    }
    let cap = matches!(case.part().meridian, Meridian::Sphere(_));
    let depth = if cap { Dimension::Angle } else { Dimension::Number };
    let range = |text: &Option<String>, option, dimension| {
        text.as_deref().map(|t| ends(t, option, dimension)).transpose()
    };
    let request = MapRequest {
        depth: range(&o.depth, "--depth", depth)?,
        thickness: range(&o.thickness, "--thickness", Dimension::Length)?,
        size,
    };
    let bar = paint::bar("map", (size[0] * size[1]) as u64);
    let progress = |n: usize| bar.set_position(n as u64);
    let found = branches.map(&request, &Watch { threads, stop, progress: &progress });
    bar.finish_and_clear();
    // A map that was done before the stop was seen is left out too.
    found.map(|m| m.filter(|_| !stop.load(Ordering::Relaxed))).map_err(|no| no.0)
}

/// Its part of the page.
pub(crate) fn page(p: &mut Page, m: &HeatMap) {
    p.head("Map over depth and thickness");
    m.doubts.iter().for_each(|d| p.item(&format!("Doubt: {d}")));
    m.words.iter().for_each(|w| p.item(w));
    let curves = |l: &[LevelCurves], zero: f64| match (l.first(), l.last()) {
        (Some(a), Some(b)) => {
            let points: usize = l.iter().flat_map(|l| &l.curves).map(|c| c.depth_si.len()).sum();
            let told = |l: &LevelCurves| digits(l.level_K - zero, 4);
            format!("{} levels from {} to {}, {points} points", l.len(), told(a), told(b))
        }
        _ => "none: the grid holds too few different values".to_owned(),
    };
    p.row("equal trip, °C", &curves(&m.equal_trip, 273.15));
    p.row("equal delta, K", &curves(&m.equal_delta, 0.0));
    p.row("followed anew", &format!("{} parts that no neighbour led to", m.followed_anew));
    let apart = m.check_difference_K.map_or("unknown".to_owned(), kelvins);
    p.row(
        "compared",
        &format!("{} places on finer meshes; largest difference of the trip {apart}", m.checked),
    );
}

/// Writes grid, curves and figure.
pub(crate) fn write(dir: &Path, case: &Case, m: &HeatMap) -> Result<(), String> {
    folder::table(dir, "map", &grid_table(case, m))?;
    folder::table(dir, "curves", &curve_table(case, m))?;
    folder::figures(dir, calotte_figures::heat_map_figure(m, &case.title))
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
