//! Films as files that are no larger than asked for: what is given up, and in which order.

use super::page::PageWords;
use super::play::Play;
use super::{AnimationFailure, Picture, SIDES, Setting, Style, apng, gif, page, paint};

/// A kind of file made here.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Format {
    /// GIF.
    Gif,
    /// Animated PNG.
    Apng,
    /// One HTML page with a player.
    Html,
}

impl Format {
    /// Its ending.
    pub fn ending(self) -> &'static str {
        match self {
            Self::Gif => "gif",
            Self::Apng => "apng",
            Self::Html => "html",
        }
    }
}

/// What may be made.
#[derive(Clone, Debug)]
pub struct Budget {
    /// Kinds of files.
    pub formats: Vec<Format>,
    /// Largest file, bytes.
    pub most: u64,
}

/// Films made.
#[derive(Clone, Debug)]
pub struct Made {
    /// The pictures.
    pub pictures: Vec<Picture>,
    /// Files in the order asked for.
    pub files: Vec<(Format, Vec<u8>)>,
    /// What was given up so that they fit, in words; empty when nothing was.
    pub reduced: Vec<String>,
    /// What a reader who cannot see it should know.
    pub alt: String,
    /// How the last picture leads into the first.
    pub closing: &'static str,
}

/// Why there is no film.
#[derive(Clone, Debug, PartialEq)]
pub enum NotMade {
    /// The watch stopped it.
    Stopped,
    /// The answer has too few shapes, or the size asked for is of no use.
    Nothing,
    /// The smallest that could be made of it is this large, bytes.
    TooLarge {
        /// Size of the smallest.
        least: u64,
    },
    /// An encoder failed.
    Failed(AnimationFailure),
}

/// One step of giving up, all those before it included.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Step {
    colours: usize,
    /// Pictures stay so many times as long.
    slower: u16,
    /// Share of the sides.
    side: f64,
    /// About how much smaller files get.
    about: f64,
}

/// In which order things are given up: colours, pictures a second, size, pictures again, size again.
const STEPS: [Step; 7] = [
    Step { colours: 255, slower: 1, side: 1.0, about: 1.0 },
    Step { colours: 128, slower: 1, side: 1.0, about: 0.87 },
    Step { colours: 64, slower: 1, side: 1.0, about: 0.72 },
    Step { colours: 64, slower: 2, side: 1.0, about: 0.40 },
    Step { colours: 64, slower: 2, side: 0.75, about: 0.25 },
    Step { colours: 64, slower: 3, side: 0.75, about: 0.17 },
    Step { colours: 64, slower: 3, side: 0.5, about: 0.09 },
];

/// The setting and style of a step.
fn at(step: &Step, setting: &Setting, style: &Style) -> (Setting, Style) {
    // Sides stay even, as video encoders want them.
    let side =
        |s: u32| ((f64::from(s) * step.side / 2.0).round() * 2.0).max(f64::from(*SIDES.start())) as u32;
    let reduced = step.side < 1.0;
    let setting = Setting {
        width: if reduced { side(setting.width) } else { setting.width },
        height: if reduced { side(setting.height) } else { setting.height },
        pictures: (setting.pictures / usize::from(step.slower)).max(1),
        delay_cs: setting.delay_cs.saturating_mul(step.slower),
        slowed: setting.slowed,
    };
    (setting, Style { colours: style.colours.min(step.colours), ..*style })
}

fn told(step: &Step, setting: &Setting) -> Vec<String> {
    let mut out = Vec::new();
    if step.colours < 255 {
        out.push(format!("at most {} colours", step.colours));
    }
    if step.slower > 1 {
        let rate = crate::text::number(100.0 / f64::from(setting.delay_cs), 3);
        out.push(format!("{rate} pictures a second"));
    }
    if step.side < 1.0 {
        out.push(format!("{}x{} pixels", setting.width, setting.height));
    }
    out
}

/// Makes films of what `play` makes of a setting. Where the largest file is larger than the budget, things are given up in a fixed order
/// until it fits: colours (128, then 64), pictures a second (half), size (three quarters), pictures (a third), size (half).
///
/// # Errors
/// [`NotMade`]: stopped, nothing to show, or too large whatever is given up.
pub fn make(
    play: &dyn Fn(&Setting) -> Option<Play>,
    setting: &Setting,
    style: &Style,
    budget: &Budget,
    words: &PageWords,
    watch: &mut dyn FnMut(f64, &str) -> bool,
) -> Result<Made, NotMade> {
    let mut stopped = false;
    let mut full: Option<f64> = None;
    let mut least = u64::MAX;
    for (k, step) in STEPS.iter().enumerate() {
        let last = k + 1 == STEPS.len();
        // Steps that will not do are passed over.
        if full.is_some_and(|f| f * step.about > budget.most as f64) && !last {
            continue;
        }
        let (now, style) = at(step, setting, style);
        let play = play(&now).ok_or(NotMade::Nothing)?;
        let what = if k == 0 { "drawing" } else { "drawing again, smaller" };
        let mut told_share = |share: f64| {
            stopped |= !watch(share, what);
            !stopped
        };
        let Some(pictures) = paint(&play, (now.width, now.height), &style, &mut told_share) else {
            return Err(if stopped { NotMade::Stopped } else { NotMade::Nothing });
        };
        let reduced = told(step, &now);
        let mut words = PageWords { alt: play.alt().to_owned(), ..words.clone() };
        if !reduced.is_empty() {
            words.notes.push(format!("Reduced to fit: {}.", reduced.join(", ")));
        }
        let mut files = Vec::new();
        for format in &budget.formats {
            let made = match format {
                Format::Gif => gif(&pictures),
                Format::Apng => apng(&pictures),
                Format::Html => page(&pictures, &words).map(String::into_bytes),
            };
            files.push((*format, made.map_err(NotMade::Failed)?));
        }
        let largest = files.iter().map(|f| f.1.len() as u64).max().unwrap_or(0);
        if largest <= budget.most {
            return Ok(Made { pictures, files, reduced, alt: words.alt, closing: play.closing() });
        }
        least = least.min(largest);
        full = Some(full.unwrap_or(f64::INFINITY).min(largest as f64 / step.about));
    }
    Err(NotMade::TooLarge { least })
}
