//! A release as a moving picture: the wall in section with its real thickness, the table, a clock, the factor by which
//! each stretch is slowed or sped up, and the height of the pole with a moving dot.
//!
//! The factor on a picture is that of its step: how long it stays on the screen over the time to the next picture.
//! Shapes between the frames of the report are mixed linearly; nothing is shown beyond the first and the last frame.

mod encode;
mod palette;
mod schedule;
mod stage;

use calotte_answers::release::report::ReleaseReport;

pub use encode::{AnimationFailure, apng, gif};

use crate::release::film::Film;
use crate::release::time::phases;
use palette::Palette;
use schedule::{factor_words, schedule, slowed};
use stage::{Moment, Stage};

/// How an animation is made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Setting {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// About how many pictures; factors are rounded, so that there may be half as many again.
    pub pictures: usize,
    /// How long each stays, hundredths of a second.
    pub delay_cs: u16,
}

impl Default for Setting {
    /// 480 × 360 pixels, about 120 pictures, 25 a second.
    fn default() -> Self {
        Self { width: 480, height: 360, pictures: 120, delay_cs: 4 }
    }
}

/// One picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// How long it stays, hundredths of a second.
    pub delay_cs: u16,
    /// The moment it shows.
    pub time_s: f64,
    /// What happens then: `letting go`, `waiting`, `snap`, `ringing`, `flight`, …
    pub phase: &'static str,
    /// How many times slower than it happens it plays (below 1: faster); `None` for a still.
    pub slowed: Option<f64>,
    /// The words on it: phase and factor.
    pub words: String,
    /// Indices of colours, row by row.
    pixels: Vec<u8>,
}

impl Picture {
    /// Red, green and blue of every pixel, row by row, as video encoders take them.
    pub fn rgb(&self) -> Vec<u8> {
        let colours = palette::colours();
        self.pixels.iter().flat_map(|&i| colours[usize::from(i)]).collect()
    }
}

/// How long the stills at both ends stay, hundredths of a second.
const STILL_CS: u16 = 80;
/// Sizes that can be drawn, pixels.
const SIDES: std::ops::RangeInclusive<u32> = 120..=4000;

/// The pictures of a release: a still of the part as held, the motion, and a still of the end. Empty when the report has
/// fewer than two frames that can be drawn, or the setting no usable size.
pub fn frames(report: &ReleaseReport, setting: &Setting) -> Vec<Picture> {
    let drawable = SIDES.contains(&setting.width) && SIDES.contains(&setting.height) && setting.delay_cs > 0;
    let Some(film) = Film::new(report).filter(|_| drawable) else { return Vec::new() };
    let plan = schedule(report, &film, setting);
    let Some(stage) = Stage::new(report, &film, &plan, setting) else { return Vec::new() };
    let named = phases(report, film.first(), film.last());
    let phase_at = |t: f64| {
        let found = named.iter().find(|p| t >= p.from && t < p.to).or(named.last());
        found.map_or("", |p| p.name)
    };
    let delay_s = f64::from(setting.delay_cs) / 100.0;
    let mut palette = Palette::new();
    let mut out = Vec::new();
    let mut take = |time: f64, phase: &'static str, step: Option<f64>, delay_cs: u16, words: String| {
        let factor = step.map(|s| slowed(s, delay_s));
        let moment = Moment { time, step: step.unwrap_or(0.0), words: &words };
        let Some(picture) = stage.paint(&moment) else { return };
        out.push(Picture {
            width: setting.width,
            height: setting.height,
            delay_cs,
            time_s: time,
            phase,
            slowed: factor,
            words,
            pixels: palette.indices(&picture),
        });
    };
    let Some(end) = plan.last().map(|s| s.to) else { return Vec::new() };
    take(film.first(), "held", None, STILL_CS, "held (still)".to_owned());
    for stretch in &plan {
        let step = stretch.step();
        for k in 0..stretch.count {
            let time = stretch.from + step * k as f64;
            // A picture stands for the time up to the next one.
            let phase = phase_at(time + step / 2.0);
            let words = format!("{phase}, {}", factor_words(slowed(step, delay_s)));
            take(time, phase, Some(step), setting.delay_cs, words);
        }
    }
    let phase = phase_at(end);
    take(end, phase, None, STILL_CS, format!("{phase} (still)"));
    out
}
