//! When a frame was taken: from its number and the frame rate, or from the time at which a clip shows it.

use serde::Serialize;

/// A number with its standard deviation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sized {
    /// Value.
    pub value: f64,
    /// Standard deviation.
    pub deviation: f64,
}

/// What is known of a clip's time.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Pace {
    /// Frames taken a second.
    pub rate: Option<Sized>,
    /// How many times slower than it happened the clip plays.
    pub slow: Option<Sized>,
}

/// Frames as the clip says them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stamp {
    /// Number.
    pub number: u64,
    /// When it is shown, s.
    pub shown: Option<f64>,
}

/// A clip's time.
#[derive(Clone, Debug, PartialEq)]
pub struct Clock {
    /// When each frame was taken, s, the first at 0; as many as there are stamps.
    pub times: Vec<f64>,
    /// Usual time between frames, s.
    pub spacing: f64,
    /// Standard deviation of the rate over the rate: every time is uncertain by it.
    pub share: f64,
    /// Where times come from.
    pub source: Source,
    /// Frames that are missing between the first and the last, by the clip's times or numbers.
    pub dropped: u64,
}

/// Where times come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Source {
    /// Numbers over the frame rate.
    FrameRate,
    /// Times of the clip over the factor by which it is slowed.
    Shown,
}

/// Times of frames.
///
/// # Errors
/// In words, when the clip's time is not known.
pub fn clock(stamps: &[Stamp], step: u64, pace: &Pace) -> Result<Clock, String> {
    let first = stamps.first().ok_or_else(|| "there is no frame".to_owned())?;
    let mut gaps: Vec<f64> = stamps.windows(2).filter_map(|w| Some(w[1].shown? - w[0].shown?)).collect();
    gaps.sort_by(f64::total_cmp);
    let usual = gaps.get(gaps.len() / 2).copied().filter(|g| *g > 0.0);
    let all_shown = stamps.iter().all(|s| s.shown.is_some()) && usual.is_some();
    // Whole frames since the first one.
    let count = |s: &Stamp| -> f64 {
        match (s.shown, first.shown, usual) {
            (Some(t), Some(t0), Some(usual)) if all_shown => ((t - t0) / usual).round(),
            _ => (s.number - first.number) as f64 / step.max(1) as f64,
        }
    };
    let last = stamps.last().map_or(0.0, count);
    let dropped = (last + 1.0 - stamps.len() as f64).max(0.0) as u64;
    match pace {
        Pace { rate: Some(rate), .. } => {
            let times = stamps.iter().map(|s| count(s) / rate.value).collect();
            let share = rate.deviation / rate.value;
            Ok(Clock { times, spacing: 1.0 / rate.value, share, source: Source::FrameRate, dropped })
        }
        Pace { slow: Some(slow), .. } if all_shown => {
            let t0 = first.shown.unwrap_or(0.0);
            let times: Vec<f64> =
                stamps.iter().map(|s| (s.shown.unwrap_or(t0) - t0) / slow.value).collect();
            let spacing = usual.unwrap_or(0.0) / slow.value;
            let share = slow.deviation / slow.value;
            Ok(Clock { times, spacing, share, source: Source::Shown, dropped })
        }
        Pace { slow: Some(_), .. } => {
            Err("pictures carry no times, so `--slow` says nothing; give the frame rate: `--fps 1000`".to_owned())
        }
        _ => Err("the frame rate is not known\n  help: `--fps 1000` is the number of frames taken a second; for a clip that carries times, `--slow 33` says how many times slower than it happened it plays (`--slow 1`: as it happened)".to_owned()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stamps(n: &[(u64, Option<f64>)]) -> Vec<Stamp> {
        n.iter().map(|(number, shown)| Stamp { number: *number, shown: *shown }).collect()
    }

    #[test]
    fn times_keep_gaps() {
        let rate = Some(Sized { value: 500.0, deviation: 5.0 });
        let pace = Pace { rate, slow: None };
        let c = clock(&stamps(&[(7, None), (8, None), (11, None)]), 1, &pace).unwrap();
        assert_eq!((c.times, c.dropped, c.share), (vec![0.0, 0.002, 0.008], 2, 0.01));
        let shown: Vec<(u64, Option<f64>)> =
            [0.0, 0.04, 0.08, 0.16, 0.20].iter().enumerate().map(|(k, t)| (k as u64, Some(*t))).collect();
        // A delay of two is a frame that was left out, at the rate too.
        let c = clock(&stamps(&shown), 1, &pace).unwrap();
        assert!((c.times[3] - 0.008).abs() < 1e-12 && c.dropped == 1);
        let slow = Pace { rate: None, slow: Some(Sized { value: 20.0, deviation: 0.0 }) };
        let c = clock(&stamps(&shown), 1, &slow).unwrap();
        assert!((c.times[4] - 0.01).abs() < 1e-12 && (c.spacing - 0.002).abs() < 1e-12);
        assert!(clock(&stamps(&shown), 1, &Pace::default()).unwrap_err().contains("--fps"));
        assert!(clock(&stamps(&[(0, None)]), 1, &slow).unwrap_err().contains("no times"));
    }
}
