//! Moving pictures of answers: a release, a poke with its leaps, turning inside out, modes, a cycle of heat; in section, in the
//! round, or both, with a clock, and a chart with a dot that moves.
//!
//! An answer becomes a [`Play`] (shapes, words, clock); [`paint`] makes pictures of it; [`gif()`], [`apng`] and [`page`] make files of
//! them. The factor on a picture is that of its step: how long it stays on the screen over the time to the next picture. Shapes
//! between those of the answer are mixed linearly; nothing is shown beyond the first and the last.

mod budget;
mod changes;
mod encode;
mod heat;
mod modes;
mod page;
mod palette;
mod play;
mod poke;
mod release;
mod schedule;
mod solid;
mod stage;
mod turning;

use std::sync::Arc;

use calotte_answers::release::report::ReleaseReport;

pub use budget::{Budget, Format, Made, NotMade, make};
pub use encode::{AnimationFailure, apng, gif};
pub use heat::heat;
pub use modes::modes;
pub use page::{PageWords, page};
pub use play::Play;
pub use poke::poke;
pub use release::release;
pub use turning::turning;

use palette::{Census, Palette};
use play::Closing;
use stage::Stage;

/// Longest film, s, and most pictures.
pub const LONGEST: f64 = 60.0;

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
    /// How many times slower than it happens a motion plays; `None`: what suits each stretch of it. Films without a time take no notice.
    pub slowed: Option<f64>,
}

impl Default for Setting {
    /// 480 × 360 pixels, about 120 pictures, 25 a second.
    fn default() -> Self {
        Self { width: 480, height: 360, pictures: 120, delay_cs: 4, slowed: None }
    }
}

/// What a film shows of the part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum View {
    /// Its wall cut along the axis.
    Section,
    /// The part in the round, shaded.
    Solid,
    /// Both, side by side.
    Both,
}

/// How pictures are painted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Style {
    /// What is shown.
    pub view: View,
    /// In the round: colour stands for the energy stored per area, where it is known.
    pub energy: bool,
    /// Most colours, 16 to 255.
    pub colours: usize,
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
    /// The moment it shows; without a time, the parameter of the film.
    pub time_s: f64,
    /// What happens then: `letting go`, `waiting`, `snap`, `ringing`, `flight`, …
    pub phase: &'static str,
    /// How many times slower than it happens it plays (below 1: faster); `None` for a still, and where no time is.
    pub slowed: Option<f64>,
    /// The words on it: phase and factor.
    pub words: String,
    /// The clock on it.
    pub clock: String,
    /// Indices of colours, row by row.
    pub(crate) pixels: Vec<u8>,
    /// The colours, at most 255, the same for all pictures of a film.
    pub(crate) colours: Arc<Vec<[u8; 3]>>,
}

impl Picture {
    /// Colours that it may have.
    pub fn colour_count(&self) -> usize {
        self.colours.len()
    }

    /// Red, green and blue of every pixel, row by row, as video encoders take them.
    pub fn rgb(&self) -> Vec<u8> {
        self.pixels.iter().flat_map(|&i| self.colours[usize::from(i)]).collect()
    }
}

/// Sizes that can be drawn, pixels.
pub const SIDES: std::ops::RangeInclusive<u32> = 120..=4000;
/// Pictures of a closing fade.
const FADE: usize = 12;
/// Pictures that are looked at for their colours.
const LOOKED_AT: usize = 24;

/// The pictures of a release in section: a still of the part as held, the motion, and a still of the end. Empty when the report has
/// fewer than two frames that can be drawn, or the setting no usable size.
pub fn frames(report: &ReleaseReport, setting: &Setting) -> Vec<Picture> {
    let Some(play) = release(report, None, setting) else { return Vec::new() };
    let style = Style { view: View::Section, energy: false, colours: palette::MOST };
    let play = Play { closing: Closing::Cut, ..play };
    paint(&play, (setting.width, setting.height), &style, &mut |_| true).unwrap_or_default()
}

/// Paints a film. `watch` is told the share done and stops the work with `false`; then, and when nothing can be drawn at this size,
/// there are no pictures.
pub fn paint(
    play: &Play,
    (width, height): (u32, u32),
    style: &Style,
    watch: &mut dyn FnMut(f64) -> bool,
) -> Option<Vec<Picture>> {
    if !SIDES.contains(&width) || !SIDES.contains(&height) || play.moments.iter().any(|m| m.delay_cs == 0) {
        return None;
    }
    let stage = Stage::new(play, (width, height), style.view, style.energy)?;
    let count = play.moments.len();
    let fading = if play.closing == Closing::Fades { FADE } else { 0 };
    let mut palette = if style.view == View::Section && fading == 0 {
        Palette::of(palette::colours())
    } else {
        let mut census = Census::new();
        for k in (0..count).step_by(count.div_ceil(LOOKED_AT)) {
            if !watch(0.1 * k as f64 / count as f64) {
                return None;
            }
            census.count(&stage.paint(&play.moments[k])?);
        }
        Palette::of(census.colours(style.colours))
    };
    let mut out = Vec::with_capacity(count + fading);
    let (mut first, mut last): (Option<Vec<u8>>, Vec<u8>) = (None, Vec::new());
    for (k, m) in play.moments.iter().enumerate() {
        if !watch(0.1 + 0.9 * k as f64 / count as f64) {
            return None;
        }
        last = stage.paint(m)?;
        out.push(Picture {
            width,
            height,
            delay_cs: m.delay_cs,
            time_s: m.at,
            phase: m.phase,
            slowed: m.slowed,
            words: m.words.clone(),
            clock: m.clock.clone(),
            pixels: palette.indices(&last),
            colours: Arc::clone(&palette.colours),
        });
        first.get_or_insert_with(|| last.clone());
    }
    let (Some(first), Some(end)) = (first, out.last().cloned()) else { return Some(out) };
    let delay_cs = play.moments.iter().map(|m| m.delay_cs).min().unwrap_or(4);
    for k in 1..=fading {
        let share = k as f64 / (fading + 1) as f64;
        let mixed: Vec<u8> = last
            .iter()
            .zip(&first)
            .map(|(a, b)| (f64::from(*a) + share * (f64::from(*b) - f64::from(*a))).round() as u8)
            .collect();
        let words = "back to the beginning".to_owned();
        let pixels = palette.indices(&mixed);
        out.push(Picture { delay_cs, phase: "fade", slowed: None, words, pixels, ..end.clone() });
    }
    Some(out)
}
