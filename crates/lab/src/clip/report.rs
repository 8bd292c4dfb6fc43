//! What a clip says, as data. Keys carry SI units; every figure has its deviation, its 95 % interval and what makes it uncertain.

use serde::Serialize;

use super::clock::{Sized, Source};
use super::compare::Comparison;
use super::motion::{Motion, What};
use super::physical::{Figures, Place, physical};
use super::read::{self, Asked, Figure, Readings, Row};
use super::sequence::Sequence;
use super::session::Session;

/// Version of the layout.
pub const SCHEMA_VERSION: u32 = 1;

/// The whole answer.
#[derive(Clone, Debug, Serialize)]
pub struct ClipReport {
    /// Version of this layout.
    pub schema_version: u32,
    /// The clip.
    pub clip: ClipSummary,
    /// Its lines and the edges on them.
    pub lines: Vec<LineReport>,
    /// What the figures are of.
    pub motion: What,
    /// Figures.
    pub figures: FigureReports,
    /// How the growth was fitted.
    pub growth: Option<GrowthReport>,
    /// How the ringing was fitted.
    pub ringing: Option<FitReport>,
    /// How the flight was fitted.
    pub flight: Option<FitReport>,
    /// Moments of the snap, s from the first frame.
    pub snap: Option<SnapReport>,
    /// Figures that cannot be read, and why.
    pub unread: Vec<UnreadReport>,
    /// Track: columns, one row a frame in which the edges were found.
    pub track: TrackReport,
    /// Beside a computed release.
    pub comparison: Option<Comparison>,
    /// What the words mean.
    pub definitions: Vec<Definition>,
    /// Reasons to doubt the figures.
    pub doubts: Vec<String>,
    /// Warnings.
    pub warnings: Vec<String>,
}

/// The clip.
#[derive(Clone, Debug, Serialize)]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct ClipSummary {
    /// Frames that could be used.
    pub frames: usize,
    /// Columns.
    pub width_px: usize,
    /// Rows.
    pub height_px: usize,
    /// Where times come from.
    pub time_from: Source,
    /// Usual time between frames.
    pub frame_spacing_s: f64,
    /// Standard deviation of the frame rate over the rate.
    pub frame_rate_share: f64,
    /// Shortest and longest exposure taken for possible.
    pub exposure_s: [f64; 2],
    /// Scale.
    pub scale_m_per_px: f64,
    /// Its standard deviation.
    pub scale_deviation_m_per_px: f64,
    /// Gravity taken for granted.
    pub gravity_m_per_s2: f64,
    /// Frames missing between the first and the last.
    pub dropped: u64,
    /// Numbers missing in names of pictures, the first hundred.
    pub missing: Vec<u64>,
    /// Frames left out because they repeat the one before.
    pub repeated: Vec<u64>,
    /// Frames that could not be used.
    pub bad: Vec<BadReport>,
}

/// A frame that could not be used.
#[derive(Clone, Debug, Serialize)]
pub struct BadReport {
    /// Number.
    pub frame: u64,
    /// Where.
    pub place: String,
    /// Why.
    pub why: String,
}

/// A line and the edge on it.
#[derive(Clone, Debug, Serialize)]
pub struct LineReport {
    /// `pole`, `rim-left` or `rim-right`.
    pub name: &'static str,
    /// Its start.
    pub from_px: [f64; 2],
    /// Its end.
    pub to_px: [f64; 2],
    /// Whether it was found where the clip moves most.
    pub found: bool,
    /// Frames in which the edge was found.
    pub tracked: usize,
    /// Median of its standard deviation.
    pub deviation_px: f64,
    /// Median width of its blur.
    pub blur_px: f64,
    /// Profiles searched.
    pub searches: u64,
    /// Edges fitted.
    pub fits: u64,
    /// Frames in which it was lost.
    pub lost: Vec<LostReport>,
}

/// A frame in which an edge was lost.
#[derive(Clone, Debug, Serialize)]
pub struct LostReport {
    /// Number.
    pub frame: u64,
    /// Why.
    pub why: String,
}

/// Figures by name; `null` where one cannot be read.
#[derive(Clone, Debug, Serialize)]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct FigureReports {
    /// From letting go to the beginning of the snap.
    pub wait_s: Option<FigureReport>,
    /// σ of the growing deflection.
    pub growth_rate_per_s: Option<FigureReport>,
    /// From the beginning to the end of the snap.
    pub snap_time_s: Option<FigureReport>,
    /// Largest speed up to the end of the snap.
    pub peak_speed_m_per_s: Option<FigureReport>,
    /// From rest to the level about which it rings.
    pub way_m: Option<FigureReport>,
    /// Frequency of the damped wave.
    pub ringing_frequency_Hz: Option<FigureReport>,
    /// Its damping over the critical one.
    pub damping_ratio: Option<FigureReport>,
    /// Rise of the edge from rest to the top of its flight.
    pub jump_height_m: Option<FigureReport>,
    /// Gravity as fitted to the flight.
    pub gravity_fitted_m_per_s2: Option<FigureReport>,
}

/// A figure.
#[derive(Clone, Debug, Serialize)]
pub struct FigureReport {
    /// Value.
    pub value: f64,
    /// Standard deviation.
    pub deviation: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// What makes it uncertain.
    pub parts: Vec<PartReport>,
}

/// A reason for uncertainty.
#[derive(Clone, Debug, Serialize)]
pub struct PartReport {
    /// What.
    pub what: &'static str,
    /// Standard deviation that it makes, in the unit of the figure.
    pub deviation: f64,
}

/// A fit.
#[derive(Clone, Debug, Serialize)]
pub struct FitReport {
    /// First and last time.
    pub window_s: [f64; 2],
    /// Rows in it.
    pub rows: usize,
    /// Squares of the residuals over their freedom; near 1 when the form and the errors are right.
    pub misfit: f64,
    /// Times of the fitted curve.
    pub time_s: Vec<f64>,
    /// Its heights.
    pub height_m: Vec<f64>,
}

/// Growth.
#[derive(Clone, Debug, Serialize)]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct GrowthReport {
    /// The exponential.
    #[serde(flatten)]
    pub fit: FitReport,
    /// x₀: the level from which it grows.
    pub level_m: f64,
    /// The deflection at the end of the window.
    pub deflection_m: f64,
    /// The form of a fold just lost, when it can be fitted.
    pub slowing: Option<SlowingReport>,
}

/// The form of a fold just lost.
#[derive(Clone, Debug, Serialize)]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct SlowingReport {
    /// √(εκ).
    pub rate_per_s: f64,
    /// Its standard deviation.
    pub rate_deviation_per_s: f64,
    /// π over it: the time of the whole passage.
    pub passage_s: f64,
    /// Squares of the residuals over their freedom.
    pub misfit: f64,
}

/// The snap.
#[derive(Clone, Debug, Serialize)]
pub struct SnapReport {
    /// Speed through a tenth of its peak.
    pub begins_s: f64,
    /// Half of the way.
    pub half_s: f64,
    /// Nine tenths.
    pub ends_s: f64,
    /// Peak speed.
    pub peak_speed_at_s: f64,
    /// Level at rest.
    pub rest_m: f64,
    /// Level about which it rings.
    pub end_m: f64,
    /// Rows between beginning and end.
    pub rows: usize,
}

/// A figure that cannot be read.
#[derive(Clone, Debug, Serialize)]
pub struct UnreadReport {
    /// Its name.
    pub figure: &'static str,
    /// Why.
    pub why: String,
}

/// The track.
#[derive(Clone, Debug, Default, Serialize)]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct TrackReport {
    /// Number of the frame.
    pub frame: Vec<u64>,
    /// s from the first frame.
    pub time_s: Vec<f64>,
    /// Height of what the figures are of, from where it was at rest.
    pub height_m: Vec<f64>,
    /// Standard deviation by the edge alone; the scale is common to all.
    pub deviation_m: Vec<f64>,
    /// Height of the pole's edge in the picture, from its first place.
    pub pole_height_m: Vec<f64>,
    /// Its standard deviation.
    pub pole_deviation_m: Vec<f64>,
}

/// A word and its meaning.
#[derive(Clone, Debug, Serialize)]
pub struct Definition {
    /// The word.
    pub word: &'static str,
    /// Its meaning.
    pub meaning: &'static str,
}

impl From<&Figure> for FigureReport {
    fn from(f: &Figure) -> Self {
        let [low, high] = f.interval();
        let parts = f.parts.iter().map(|p| PartReport { what: p.what, deviation: p.deviation }).collect();
        Self { value: f.value, deviation: f.deviation(), low, high, parts }
    }
}

/// Everything read of a clip, for a report and a comparison.
#[derive(Clone, Debug)]
pub struct Told {
    /// The motion, px.
    pub motion: Motion,
    /// What was read of it, px and s.
    pub readings: Readings,
    /// The same, SI.
    pub figures: Figures,
    /// Scale and gravity.
    pub place: Place,
    /// What was asked.
    pub asked: Asked,
}

/// What is stated of a clip beside its scale.
#[derive(Clone, Copy, Debug)]
pub struct Stated {
    /// When the part was let go, s from the first frame.
    pub let_go: Option<Sized>,
    /// Exposure of a frame, s.
    pub shutter: Option<f64>,
    /// Whether the line is upright, so that gravity acts along it.
    pub upright: bool,
    /// Whether the rim stays in its place.
    pub seated: bool,
}

/// Reads the motion of a clip.
///
/// # Errors
/// In words, when nothing moves or the motion is too short.
pub fn tell(motion: Motion, place: Place, stated: &Stated) -> Result<Told, String> {
    let asked = Asked {
        let_go: stated.let_go.map(|l| [l.value, l.deviation]),
        exposed: stated.shutter.map_or([0.0, motion.clock.spacing], |e| [e, e]),
        gravity: (stated.upright && !stated.seated).then_some(place.gravity.value / place.scale.value),
        alone: motion.what == What::Pole && !stated.seated,
    };
    let readings = read::read(&motion.rows, &motion.edge, &asked)?;
    let (figures, _) = physical(&readings, &motion.clock, &place);
    Ok(Told { motion, readings, figures, place, asked })
}

const DEFINITIONS: [Definition; 8] = [
    Definition {
        word: "height",
        meaning: "place of the edge along its line, upwards, over the rims where they are followed",
    },
    Definition {
        word: "way",
        meaning: "from where it was at rest (the first tenth of the frames before the steepest place) to the level about which it rings",
    },
    Definition {
        word: "wait",
        meaning: "from letting go to the beginning of the snap: the speed last rises through a tenth of its peak before half of the way",
    },
    Definition { word: "snap time", meaning: "from the beginning until nine tenths of the way are done" },
    Definition { word: "peak speed", meaning: "largest speed up to the end of the snap" },
    Definition {
        word: "growth rate",
        meaning: "σ of x₀ + A exp(σ t), fitted until a tenth of the way is done",
    },
    Definition {
        word: "ringing",
        meaning: "damped wave fitted from the end of the snap over twelve periods at most",
    },
    Definition {
        word: "jump height",
        meaning: "from the place of the pole's edge at rest to the top of the parabola of its flight; not that of the centre of mass, which lies elsewhere in the part once it has snapped",
    },
];

fn curve(window: [f64; 2], count: usize, place: &dyn Fn(f64) -> f64) -> (Vec<f64>, Vec<f64>) {
    let t: Vec<f64> =
        (0..=count).map(|k| window[0] + (window[1] - window[0]) * k as f64 / count as f64).collect();
    let x = t.iter().map(|t| place(*t)).collect();
    (t, x)
}

/// The report of what was told.
pub fn report(session: &Session, pictures: Option<&Sequence>, told: &Told) -> ClipReport {
    let (m, r, s) = (&told.motion, &told.readings, told.place.scale.value);
    let rest = r.levels.map_or(0.0, |l| l.rest[0]);
    let edge_rest = m.edge.first().map_or(0.0, |e| e.x);
    // Every row has an edge of the pole in it.
    let edges: Vec<&Row> =
        m.rows.iter().filter_map(|r| m.edge.get(m.edge.partition_point(|e| e.t < r.t))).collect();
    let fit = |window: [f64; 2], rows, misfit, from: f64, place: &dyn Fn(f64) -> f64| {
        let (time_s, x) = curve(window, 240, place);
        let height_m = x.iter().map(|x| s * (x - from)).collect();
        FitReport { window_s: window, rows, misfit, time_s, height_m }
    };
    let f = &told.figures;
    let put = |f: &Option<Figure>| f.as_ref().map(FigureReport::from);
    let median =
        |values: Vec<f64>| calotte_chance::sample::quantile(&calotte_chance::sample::sorted(&values), 0.5);
    let lines = session
        .lines
        .iter()
        .map(|(w, t)| LineReport {
            name: w.role.name(),
            from_px: w.line.from,
            to_px: w.line.to,
            found: w.found,
            tracked: t.spots.len(),
            deviation_px: median(t.spots.iter().map(|s| s.sd).collect()),
            blur_px: median(t.spots.iter().map(|s| s.blur).collect()),
            searches: t.count.searches,
            fits: t.count.fits,
            lost: t.lost.iter().map(|l| LostReport { frame: l.0, why: l.1.to_string() }).collect(),
        })
        .collect();
    let mut out = ClipReport {
        schema_version: SCHEMA_VERSION,
        clip: ClipSummary {
            frames: session.stamps.len(),
            width_px: session.size.map_or(0, |s| s[0]),
            height_px: session.size.map_or(0, |s| s[1]),
            time_from: m.clock.source,
            frame_spacing_s: m.clock.spacing,
            frame_rate_share: m.clock.share,
            exposure_s: told.asked.exposed,
            scale_m_per_px: s,
            scale_deviation_m_per_px: told.place.scale.deviation,
            gravity_m_per_s2: told.place.gravity.value,
            dropped: m.clock.dropped,
            missing: pictures.map_or_else(Vec::new, |p| p.missing.iter().take(100).copied().collect()),
            repeated: m.repeated.clone(),
            bad: session
                .bad
                .iter()
                .map(|b| BadReport { frame: b.number, place: b.place.clone(), why: b.why.clone() })
                .collect(),
        },
        lines,
        motion: m.what,
        figures: FigureReports {
            wait_s: put(&f.wait),
            growth_rate_per_s: put(&f.growth_rate),
            snap_time_s: put(&f.snap_time),
            peak_speed_m_per_s: put(&f.peak_speed),
            way_m: put(&f.way),
            ringing_frequency_Hz: put(&f.ringing_frequency),
            damping_ratio: put(&f.damping_ratio),
            jump_height_m: put(&f.jump_height),
            gravity_fitted_m_per_s2: put(&f.gravity_fitted),
        },
        growth: r.growth.as_ref().map(|g| GrowthReport {
            fit: fit(g.window, g.rows, g.misfit, rest, &|t| {
                g.level[0] + g.deflection * libm::exp(g.rate.value * (t - g.window[1]))
            }),
            level_m: s * (g.level[0] - rest),
            deflection_m: s * g.deflection,
            slowing: g.slowing.map(|l| SlowingReport {
                rate_per_s: l.rate[0],
                rate_deviation_per_s: l.rate[1],
                passage_s: std::f64::consts::PI / l.rate[0],
                misfit: l.misfit,
            }),
        }),
        ringing: r.ringing.as_ref().map(|k| fit(k.window, k.rows, k.misfit, rest, &|t| k.place(t))),
        flight: r
            .jump
            .as_ref()
            .map(|j| fit(j.flight.window, j.flight.rows, j.misfit, edge_rest, &|t| j.flight.place(t))),
        snap: r.snap.as_ref().map(|k| SnapReport {
            begins_s: k.begins.value,
            half_s: k.half.value,
            ends_s: k.ends.value,
            peak_speed_at_s: k.speed_at,
            rest_m: s * (k.levels.rest[0] - rest),
            end_m: s * (k.levels.end[0] - rest),
            rows: k.rows,
        }),
        unread: r.unread.iter().map(|u| UnreadReport { figure: u.figure, why: u.why.clone() }).collect(),
        track: TrackReport {
            frame: m.numbers.clone(),
            time_s: m.rows.iter().map(|r| r.t).collect(),
            height_m: m.rows.iter().map(|r| s * (r.x - rest)).collect(),
            deviation_m: m.rows.iter().map(|k| s * k.e * r.scatter).collect(),
            pole_height_m: edges.iter().map(|k| s * (k.x - edge_rest)).collect(),
            pole_deviation_m: edges.iter().map(|k| s * k.e * r.scatter).collect(),
        },
        comparison: None,
        definitions: DEFINITIONS.to_vec(),
        doubts: Vec::new(),
        warnings: Vec::new(),
    };
    judge(&mut out, session, told);
    out
}

/// Doubts and warnings.
fn judge(out: &mut ClipReport, session: &Session, told: &Told) {
    let (r, m) = (&told.readings, &told.motion);
    for (name, misfit) in [
        ("growth", out.growth.as_ref().map(|g| g.fit.misfit)),
        ("ringing", out.ringing.as_ref().map(|f| f.misfit)),
        ("flight", out.flight.as_ref().map(|f| f.misfit)),
    ] {
        if let Some(misfit) = misfit.filter(|m| *m > 4.0) {
            out.warnings.push(format!(
                "The {name} is not quite of the form that is fitted: its residuals are {:.1} times the errors of the edge. The deviations are widened by that.",
                misfit.sqrt()
            ));
        }
    }
    if r.scatter > 1.5 {
        out.warnings.push(format!(
            "The edge scatters {:.1} times as much as its own fits say; every deviation is widened by that.",
            r.scatter
        ));
    }
    if let (Some(j), true) = (&told.figures.gravity_fitted, told.asked.gravity.is_some()) {
        let z = (j.value - told.place.gravity.value) / j.deviation();
        if z.abs() > 3.0 {
            out.doubts.push(format!(
                "The flight falls with {:.3} ± {:.3} m/s², not with {:.3} m/s²: scale or frame rate is wrong by more than its deviation, or the flight leaves the plane of the picture.",
                j.value,
                j.deviation(),
                told.place.gravity.value
            ));
        }
    }
    for (w, t) in &session.lines {
        let share = t.spots.len() as f64 / session.stamps.len().max(1) as f64;
        if share < 0.7 {
            out.doubts.push(format!(
                "The edge of {} is lost in {} of {} frames.",
                w.role.name(),
                session.stamps.len() - t.spots.len(),
                session.stamps.len()
            ));
        }
    }
    if m.still {
        out.warnings.push("So many frames repeat the one before that the clip has no noise of its own: repeats are kept, and a frame that was shown twice cannot be told.".to_owned());
    }
    if session.bright > 0.985 {
        out.warnings.push("The bright side of the edge is white to the limit: where light is cut off, an edge seems to lie too far in the dark. Use less light or a shorter exposure.".to_owned());
    }
    if let Some(why) = &r.unsettled {
        out.doubts
            .push(format!("What is counted from the levels before and after the snap is not read: {why}."));
    } else if let Some(u) = out.unread.iter().find(|u| u.figure == "snap time") {
        out.doubts.push(format!("No snap was read from this clip: {}.", u.why));
    } else if told.asked.alone {
        out.doubts.push("The pole is followed alone: whether the part left its place is not seen, and if it did, its flight counts as way and the figures are wrong. `--seated` says that the rim stays in its place; `--rim-left` and `--rim-right` follow it.".to_owned());
    }
    if told.asked.exposed[0] < told.asked.exposed[1] {
        out.warnings.push("The exposure is not stated; anything up to the time between frames is taken for possible. `--shutter TIME` narrows it.".to_owned());
    }
}
