//! A clip beside a computed release: figure by figure, curve on curve, and what the time scale says of the modulus.
//!
//! Wait, snap time and peak speed over the rim are those that the release itself tells. For the rest like is held against like: the
//! computed curve is taken at the frames' own times, as if filmed, and read by the same code.
//! For a part without memory, weight and air every time is proportional to √(ρ/E); a stretch θ of the computed curve's time that
//! fits the clip therefore means E = E₀/θ².

use calotte_answers::release::report::ReleaseReport;
use calotte_chance::{FitSettings, Loss, robust};
use serde::Serialize;

use super::Sized;
use super::motion::What;
use super::physical::{Place, physical};
use super::read::{Asked, Row, read};
use super::report::Told;

/// A clip beside a computed release.
#[derive(Clone, Debug, Serialize)]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Comparison {
    /// Title of the case.
    pub title: String,
    /// Figures of both.
    pub rows: Vec<ComparedFigure>,
    /// Time of the clip at which the computed hand lets go, from the overlay.
    pub shift_s: f64,
    /// θ: computed times are stretched by it in the overlay.
    pub stretch: f64,
    /// Its standard deviation.
    pub stretch_deviation: f64,
    /// Deviation of the clip's track from the laid-over curve, rms.
    pub residual_rms_m: f64,
    /// The same over the deviation of the edge.
    pub residual_ratio: f64,
    /// Young's modulus of the case.
    pub youngs_modulus_Pa: f64,
    /// The one for which the snap takes as long as in the clip.
    pub youngs_modulus_fitted_Pa: f64,
    /// Its standard deviation by the errors of the clip alone.
    pub youngs_modulus_deviation_Pa: f64,
    /// Times of the laid-over curve, of the clip.
    pub time_s: Vec<f64>,
    /// Its heights.
    pub height_m: Vec<f64>,
    /// In sentences.
    pub words: Vec<String>,
}

/// A figure of clip and computation.
#[derive(Clone, Debug, Serialize)]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct ComparedFigure {
    /// Name.
    pub figure: &'static str,
    /// SI unit.
    pub unit: &'static str,
    /// Of the clip.
    pub measured_SI: f64,
    /// Its standard deviation.
    pub deviation_SI: f64,
    /// Of the computed release.
    pub computed_SI: f64,
    /// Difference over the deviation.
    pub z: f64,
    /// Within two deviations.
    pub agrees: bool,
}

/// Height at a time, linear between rows; `None` beyond them.
fn at(time: &[f64], height: &[f64], t: f64) -> Option<f64> {
    let i = time.partition_point(|x| *x < t);
    if i == 0 || i >= time.len() {
        return None;
    }
    let share = (t - time[i - 1]) / (time[i] - time[i - 1]);
    Some(height[i - 1] + share * (height[i] - height[i - 1]))
}

/// Lays a computed release over what was told of a clip.
///
/// # Errors
/// In words, when one of them does not snap.
pub fn compare(told: &Told, release: &ReleaseReport) -> Result<Comparison, String> {
    let snap = told.readings.snap.as_ref().ok_or("the snap of the clip cannot be read")?;
    let computed = release.snap.as_ref().ok_or("the computed part does not snap within the time followed")?;
    let s = told.place.scale.value;
    let h = &release.history;
    let over_rim = told.motion.what == What::PoleOverRim;
    let height = if over_rim { &h.pole_over_rim_m } else { &h.pole_height_m };
    // First guess: half-way times together, rest levels together.
    let t0 = snap.half.value - computed.halfway_s;
    let rest = told.readings.levels.map_or(0.0, |l| l.rest[0]);
    let start = at(&h.time_s, height, (snap.begins.value - t0 - 2.0 * snap.time.value).max(0.0))
        .unwrap_or_else(|| height.first().copied().unwrap_or(0.0));
    let filmed = |heights: &[f64], rows: &[Row]| -> Vec<Row> {
        rows.iter()
            .filter_map(|r| Some(Row { t: r.t, x: at(&h.time_s, heights, r.t - t0)?, e: s * r.e }))
            .collect()
    };
    let (rows, edge) = (filmed(height, &told.motion.rows), filmed(&h.pole_height_m, &told.motion.edge));
    let unit = Place { scale: Sized { value: 1.0, deviation: 0.0 }, gravity: told.place.gravity };
    let gravity = told.asked.gravity.map(|_| told.place.gravity.value);
    let asked = Asked { gravity, let_go: Some([t0, 0.0]), exposed: [0.0; 2], alone: !over_rim };
    let again = read(&rows, &edge, &asked)
        .map_err(|why| format!("the computed motion at the clip's frames cannot be read: {why}"))?;
    let (theory, _) = physical(&again, &told.motion.clock, &unit);
    let snap_of = *computed;
    let mut compared = Vec::new();
    for ((figure, unit, measured), (_, _, computed)) in told.figures.all().into_iter().zip(theory.all()) {
        // Fitted gravity is a check of the clip; the computed one is that of the case.
        if let (Some(m), Some(c), true) = (measured, computed, figure != "gravity as fitted") {
            // What the release tells by the same definition is taken from it.
            let own = match figure {
                "wait" if over_rim => Some(snap_of.wait_s),
                "snap time" if over_rim => Some(snap_of.snap_time_s),
                "peak speed" if over_rim => Some(snap_of.peak_speed_m_per_s),
                _ => None,
            };
            let computed = own.unwrap_or(c.value);
            let z = (m.value - computed) / m.deviation();
            compared.push(ComparedFigure {
                figure,
                unit,
                measured_SI: m.value,
                deviation_SI: m.deviation(),
                computed_SI: computed,
                z,
                agrees: z.abs() <= 2.0,
            });
        }
    }
    // Overlay: shift, stretch and level, from before the snap to a few swings after it.
    let first = snap.begins.value - 2.0 * snap.time.value;
    let swing = told.readings.ringing.as_ref().map_or(snap.time.value, |r| 1.0 / r.frequency.value);
    let last = snap.ends.value + 3.0 * swing;
    let window: Vec<Row> = told
        .motion
        .rows
        .iter()
        .filter(|r| r.t >= first && r.t <= last)
        .map(|r| Row { t: r.t, x: s * (r.x - rest), e: s * r.e })
        .collect();
    let place = |p: &[f64], t: f64| -> Option<f64> {
        Some(at(&h.time_s, height, computed.halfway_s + (t - snap.half.value - p[0]) / p[1])? - start + p[2])
    };
    let mut residuals = |p: &[f64], out: &mut Vec<f64>| {
        for r in &window {
            let Some(x) = place(p, r.t) else { return false };
            out.push((x - r.x) / r.e);
        }
        p[1] > 0.2
    };
    let scales = [0.1 * snap.time.value, 0.01, 0.01 * s * snap.levels.way().abs()];
    // Tables are linear between rows: differences wide enough to feel more than one piece of them.
    let settings = FitSettings { difference: 1e-2, tolerance: 1e-6, ..FitSettings::default() };
    let fit = robust(&[0.0, 1.0, 0.0], &scales, &mut residuals, Loss::Huber(2.5), None, &settings).map_err(
        |_| "the computed curve cannot be laid over the clip: it ends within the window".to_owned(),
    )?;
    let stretch = fit.at[1];
    let share = libm::hypot(fit.deviation(1) / stretch, told.motion.clock.share);
    let squares: f64 = window.iter().filter_map(|r| place(&fit.at, r.t).map(|x| (x - r.x) * (x - r.x))).sum();
    let rms = (squares / window.len() as f64).sqrt();
    let typical = window.iter().map(|r| r.e).sum::<f64>() / window.len() as f64 * told.readings.scatter;
    let (low, high) = (first, last);
    let (mut time_s, mut height_m) = (Vec::new(), Vec::new());
    for k in 0..=300 {
        let t = low + (high - low) * f64::from(k) / 300.0;
        if let Some(x) = place(&fit.at, t) {
            time_s.push(t);
            height_m.push(x);
        }
    }
    let youngs = release.part.youngs_modulus_Pa;
    let fitted = youngs / (stretch * stretch);
    let mut out = Comparison {
        title: release.title.clone(),
        rows: compared,
        shift_s: snap.half.value + fit.at[0] - stretch * computed.halfway_s,
        stretch,
        stretch_deviation: share * stretch,
        residual_rms_m: rms,
        residual_ratio: rms / typical,
        youngs_modulus_Pa: youngs,
        youngs_modulus_fitted_Pa: fitted,
        youngs_modulus_deviation_Pa: 2.0 * share * fitted,
        time_s,
        height_m,
        words: Vec::new(),
    };
    words(&mut out, release);
    Ok(out)
}

fn words(c: &mut Comparison, release: &ReleaseReport) {
    let off: Vec<String> =
        c.rows.iter().filter(|r| !r.agrees).map(|r| format!("{} (z {:+.1})", r.figure, r.z)).collect();
    let agree = c.rows.len() - off.len();
    c.words.push(match off.len() {
        0 => format!("Clip and computation agree in all {agree} figures, within two standard deviations of the clip."),
        n => format!(
            "Clip and computation disagree in {n} of {} figures by more than two standard deviations of the clip: {}.",
            c.rows.len(),
            off.join(", ")
        ),
    });
    c.words.push(
        "The tolerances of the case are not in these deviations: `calotte spread` says what they do."
            .to_owned(),
    );
    c.words.push(format!(
        "Laid over the clip, the computed curve misses it by {:.1} times the deviation of the edge (rms).",
        c.residual_ratio
    ));
    let z = (c.stretch - 1.0) / c.stretch_deviation;
    c.words.push(format!(
        "Its time has to be stretched by {:.4} ± {:.4} for that{}: a modulus of {:.4} ± {:.4} MPa (by the errors of the clip alone) instead of {:.4} MPa, all else as given.",
        c.stretch,
        c.stretch_deviation,
        if z.abs() <= 2.0 { ", which is no stretch within its errors" } else { "" },
        c.youngs_modulus_fitted_Pa * 1e-6,
        c.youngs_modulus_deviation_Pa * 1e-6,
        c.youngs_modulus_Pa * 1e-6
    ));
    c.words.push("The ± of that modulus is not what is not known of it: the tolerances of the case (those of the density one for one; those of wall and shape too) and what the model leaves out are not in it.".to_owned());
    if !release.protocol.memory.is_empty() || release.protocol.rests == "table" {
        c.words.push("Times scale with √(ρ/E) where neither memory, weight nor air counts; within the snap that is nearly so, in the wait it is not.".to_owned());
    }
}
