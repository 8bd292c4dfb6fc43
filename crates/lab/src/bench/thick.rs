//! Thickness read with callipers at arclengths and angles round a part: the wall, its scatter, its lopsidedness.

use calotte_chance::{FitSettings, chi_squared, fisher, least_squares};
use serde::Serialize;

/// Readings of a wall.
#[derive(Clone, Debug)]
pub(super) struct Readings {
    pub(super) name: String,
    /// Arclengths from the pole, m, increasing.
    pub(super) arclengths: Vec<f64>,
    /// Angles round the axis, rad; `None` when the readings of a row are readings taken again.
    pub(super) angles: Option<Vec<f64>>,
    /// By arclength, then by angle, m.
    pub(super) rows: Vec<Vec<f64>>,
    /// Stated standard deviation of one reading, m.
    pub(super) error: Option<f64>,
}

/// The wall at one arclength.
#[derive(Clone, Debug, Serialize)]
pub struct WallPoint {
    /// Arclength, m.
    pub arclength_m: f64,
    /// Mean thickness, m.
    pub thickness_m: f64,
    /// Its standard deviation, m.
    pub deviation_m: f64,
    /// Readings.
    pub count: usize,
    /// Largest less least of them, m.
    pub range_m: f64,
}

/// One wave of the thickness round the axis.
#[derive(Clone, Debug, Serialize)]
pub struct Lopsided {
    /// Amplitude of `h = mean + amplitude cos(θ − direction)`, m.
    pub amplitude_m: f64,
    /// Its standard deviation, m.
    pub deviation_m: f64,
    /// Where the wall is thickest, rad.
    pub direction_rad: f64,
    /// Its standard deviation, rad.
    pub direction_deviation_rad: f64,
    /// Amplitude over the mean thickness.
    pub share: f64,
    /// Chance that an even wall shows as much (Fisher's test).
    pub chance: f64,
    /// Whether that is below 5 %.
    pub seen: bool,
}

/// A wall as measured.
#[derive(Clone, Debug, Serialize)]
pub struct ThicknessMap {
    /// Name of the test.
    pub test: String,
    /// Mean wall by arclength.
    pub wall: Vec<WallPoint>,
    /// Mean of the wall, m.
    pub mean_m: f64,
    /// Standard deviation of the readings about wall (and wave), m; `None` with nothing left over.
    pub scatter_m: Option<f64>,
    /// Stated standard deviation of one reading, m.
    pub reading_deviation_m: Option<f64>,
    /// Chance of so much scatter from the stated error alone; `None` without one.
    pub scatter_chance: Option<f64>,
    /// The first harmonic round the axis; `None` without three angles.
    pub lopsided: Option<Lopsided>,
    /// Every reading: arclength m, angle rad (0 without angles), thickness m.
    pub readings: Vec<[f64; 3]>,
    /// CSV that a case file takes as `[wall] table`.
    pub wall_csv: String,
    /// What should be known.
    pub notes: Vec<String>,
}

/// The wall: `h(s, θ) = h(s) + a cos θ + b sin θ` by least squares, the wave only where there are three angles or more.
///
/// # Errors
/// Why not.
pub(super) fn thickness(r: &Readings) -> Result<ThicknessMap, String> {
    let rows = r.rows.len();
    let mut readings = Vec::new();
    let mut at_row = Vec::new();
    for (i, row) in r.rows.iter().enumerate() {
        for (j, h) in row.iter().enumerate() {
            readings.push([r.arclengths[i], r.angles.as_ref().map_or(0.0, |a| a[j]), *h]);
            at_row.push(i);
        }
    }
    let mean = readings.iter().map(|p| p[2]).sum::<f64>() / readings.len() as f64;
    let fit = |waves: usize| {
        let mut miss = |p: &[f64], out: &mut Vec<f64>| {
            out.extend(readings.iter().zip(&at_row).map(|([_, angle, h], i)| {
                let (sin, cos) = libm::sincos(*angle);
                let wave = if waves > 0 { p[rows] * cos + p[rows + 1] * sin } else { 0.0 };
                (p[*i] + wave - h) / mean
            }));
            true
        };
        let mut start: Vec<f64> =
            r.rows.iter().map(|row| row.iter().sum::<f64>() / row.len() as f64).collect();
        start.resize(rows + waves, 0.0);
        least_squares(&start, &vec![mean; rows + waves], &mut miss, &FitSettings::default())
    };
    let even = fit(0).map_err(|_| "the readings give no wall".to_owned())?;
    let turned = r.angles.as_ref().is_some_and(|a| a.len() >= 3);
    let wavy = if turned { fit(2).ok() } else { None };
    let best = wavy.as_ref().unwrap_or(&even);
    let scatter = (best.freedom > 0).then(|| mean * best.scale());
    // Sums of squares that are nothing but rounding would make any test absurd.
    let floor = 1e-10;
    // The error of one reading: what is stated, or what they scatter, whichever is larger.
    let one = match (scatter, r.error) {
        (Some(s), Some(e)) => s.max(e),
        (Some(s), None) => s,
        (None, e) => e.unwrap_or(0.0),
    };
    let mut notes = Vec::new();
    if scatter.is_none() && r.error.is_none() {
        notes.push(
            "One reading at each place and no `reading_error`: nothing says how good the readings are."
                .to_owned(),
        );
    }
    let scatter_chance = match (r.error, best.freedom) {
        (Some(e), n) if n > 0 => Some(chi_squared::above(best.squares * (mean / e) * (mean / e), n as f64)),
        _ => None,
    };
    if scatter_chance.is_some_and(|c| c < 0.05) {
        notes.push("The readings scatter more than their stated error allows: the wall is uneven, or the reading is.".to_owned());
    }
    let lopsided = wavy.as_ref().map(|w| {
        let (a, b) = (w.at[rows], w.at[rows + 1]);
        let amplitude = (a * a + b * b).sqrt();
        let size = one / mean;
        let c = |i: usize, j: usize| w.covariance[rows + i][rows + j] * size * size;
        let (u, v) = if amplitude > 0.0 { (a / amplitude, b / amplitude) } else { (1.0, 0.0) };
        let along = (u * u * c(0, 0) + 2.0 * u * v * c(0, 1) + v * v * c(1, 1)).sqrt();
        let beside = (v * v * c(0, 0) - 2.0 * u * v * c(0, 1) + u * u * c(1, 1)).sqrt();
        let chance = if w.freedom == 0 {
            1.0
        } else if w.squares <= floor * floor && even.squares > floor {
            0.0
        } else {
            let more = (even.squares - w.squares) / 2.0;
            fisher::above((more / (w.squares / w.freedom as f64)).max(0.0), 2.0, w.freedom as f64)
        };
        Lopsided {
            amplitude_m: amplitude,
            deviation_m: along,
            direction_rad: libm::atan2(b, a),
            direction_deviation_rad: (beside / amplitude.max(f64::MIN_POSITIVE)).min(std::f64::consts::PI),
            share: amplitude / mean,
            chance,
            seen: chance < 0.05,
        }
    });
    let wall: Vec<WallPoint> = (0..rows)
        .map(|i| {
            let row = &r.rows[i];
            let ends = row.iter().fold([f64::INFINITY, 0.0_f64], |e, h| [e[0].min(*h), e[1].max(*h)]);
            WallPoint {
                arclength_m: r.arclengths[i],
                thickness_m: best.at[i],
                deviation_m: one / mean * best.deviation(i),
                count: row.len(),
                range_m: ends[1] - ends[0],
            }
        })
        .collect();
    let mut wall_csv = String::from("arc_mm,thickness_mm\n");
    for p in &wall {
        wall_csv += &format!("{:.4},{:.4}\n", 1e3 * p.arclength_m, 1e3 * p.thickness_m);
    }
    Ok(ThicknessMap {
        test: r.name.clone(),
        wall,
        mean_m: mean,
        scatter_m: scatter,
        reading_deviation_m: r.error,
        scatter_chance,
        lopsided,
        readings,
        wall_csv,
        notes,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use calotte_chance::Stream;

    fn invented(seed: u64, wave: f64, noise: f64) -> Readings {
        let mut s = Stream::of(81, seed);
        let angles: Vec<f64> = (0..4).map(|j| f64::from(j) * std::f64::consts::FRAC_PI_2).collect();
        let arclengths: Vec<f64> = (0..5).map(|i| 2e-3 + 6e-3 * f64::from(i)).collect();
        let rows = arclengths
            .iter()
            .map(|x| {
                angles
                    .iter()
                    .map(|t| 2e-3 + 0.01 * x + wave * libm::cos(t - 0.7) + noise * s.normal())
                    .collect()
            })
            .collect();
        Readings { name: "w".to_owned(), arclengths, angles: Some(angles), rows, error: Some(noise) }
    }

    /// Closed form: without noise wall, amplitude and direction come back; four even angles give the amplitude an error of
    /// σ √(2/n).
    #[test]
    fn wall_and_wave_come_back() {
        let mut r = invented(1, 5e-5, 0.0);
        r.error = Some(1e-5);
        let m = thickness(&r).unwrap();
        for p in &m.wall {
            assert!((p.thickness_m - 2e-3 - 0.01 * p.arclength_m).abs() < 1e-9);
            assert!((p.deviation_m / (1e-5 / 2.0) - 1.0).abs() < 1e-6, "{p:?}");
        }
        let l = m.lopsided.unwrap();
        assert!(
            (l.amplitude_m - 5e-5).abs() < 1e-9 && (l.direction_rad - 0.7).abs() < 1e-6 && l.seen,
            "{l:?}"
        );
        assert!((l.deviation_m / (1e-5 * f64::sqrt(2.0 / 20.0)) - 1.0).abs() < 1e-6, "{l:?}");
        assert!((l.direction_deviation_rad / (l.deviation_m / l.amplitude_m) - 1.0).abs() < 1e-6);
    }

    /// Over 200 seeds: mean wall and amplitude covered in 90 to 99 of 100; an even wall is called lopsided about once in twenty.
    #[test]
    fn intervals_cover() {
        let (mut wall, mut wave, mut false_alarms) = (0, 0, 0);
        for seed in 0..200 {
            let m = thickness(&invented(seed, 6e-5, 1e-5)).unwrap();
            let p = &m.wall[2];
            wall += u64::from((p.thickness_m - 2e-3 - 0.01 * p.arclength_m).abs() < 1.96 * p.deviation_m);
            let l = m.lopsided.unwrap();
            wave += u64::from((l.amplitude_m - 6e-5).abs() < 1.96 * l.deviation_m);
            false_alarms +=
                u64::from(thickness(&invented(1000 + seed, 0.0, 1e-5)).unwrap().lopsided.unwrap().seen);
        }
        assert!((180..=198).contains(&wall), "{wall} of 200");
        assert!((180..=198).contains(&wave), "{wave} of 200");
        assert!((2..=20).contains(&false_alarms), "{false_alarms} of 200");
    }

    #[test]
    fn scatter_beyond_the_stated_error_is_told() {
        let mut r = invented(3, 0.0, 4e-5);
        r.error = Some(1e-5);
        let m = thickness(&r).unwrap();
        assert!(m.scatter_chance.unwrap() < 1e-6 && m.notes[0].contains("scatter"), "{m:?}");
        r.error = None;
        r.angles = None;
        r.rows.iter_mut().for_each(|row| row.truncate(1));
        let m = thickness(&r).unwrap();
        assert!(m.scatter_m.is_none() && m.lopsided.is_none() && m.notes[0].contains("nothing says"));
    }
}
