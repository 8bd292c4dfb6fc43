//! Colours, pens and type sizes. Every pair that has to be told apart differs in lightness and in
//! dash as well as in hue, so the figures survive grey printing and colour-blind eyes.

/// The page.
pub(crate) const PAPER: &str = "#ffffff";
/// Text and frames.
pub(crate) const INK: &str = "#1c1c1c";
/// Secondary lines.
pub(crate) const GREY: &str = "#6e6e6e";
/// Dark series.
pub(crate) const DEEP: &str = "#12355b";
/// Light series.
pub(crate) const AMBER: &str = "#d98324";
/// Wall of the natural part.
pub(crate) const WALL_NATURAL: &str = "#cfd8e2";
/// Wall of the inverted part.
pub(crate) const WALL_INVERTED: &str = "#f1cf9f";
/// Ground of the lip region and of the side where a part stays.
pub(crate) const SHADE: &str = "#ece8de";
/// Ground of the side where a part returns.
pub(crate) const SHADE_RETURNS: &str = "#c9c3b4";

/// Light series on a shaded ground.
pub(crate) const RUST: &str = "#9a4a06";
/// Third series, between dark and light.
pub(crate) const PLUM: &str = "#7a3e6b";
/// Thin lines that have to show on any ground.
pub(crate) const SLATE: &str = "#484848";
/// Light lines under everything else.
pub(crate) const FAINT: &str = "#b4b4b4";
/// Cells without a verdict.
pub(crate) const SHADE_UNDECIDED: &str = "#ffffff";
/// Strokes of patterns on grounds.
pub(crate) const PATTERN: &str = "#b3ac9b";

/// Grounds of the phases of a motion: letting go, before the snap, snap, ringing, flight.
pub(crate) const TINTS: [&str; 5] = ["#ded9e6", "#f3f1ea", "#fbe3c4", "#e6eee2", "#dde8f4"];

/// Size of labels (7.8 pt on paper).
pub(crate) const LABEL: f64 = 11.0;
/// Size of tick numbers (7.1 pt on paper).
pub(crate) const TICK: f64 = 10.0;

/// Pattern of a stroke.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Dash {
    Solid,
    Dashed,
    Chain,
    Dotted,
}

/// How a line is drawn.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Pen {
    pub(crate) colour: &'static str,
    pub(crate) width: f64,
    pub(crate) dash: Dash,
}

impl Pen {
    /// A solid pen.
    pub(crate) const fn solid(colour: &'static str, width: f64) -> Self {
        Self { colour, width, dash: Dash::Solid }
    }

    /// A pen with a pattern.
    pub(crate) const fn with(colour: &'static str, width: f64, dash: Dash) -> Self {
        Self { colour, width, dash }
    }
}
