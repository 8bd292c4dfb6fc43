//! How figures look, in one place: width, size of type, typeface, resolution. Layouts are made in user units, of which the
//! labels are always 11 high; the style says how many units a millimetre holds and how wide the page is in them.

use std::cell::Cell;
use std::fmt;

use crate::Figure;
use crate::ink;

/// Widths a figure may have, mm.
pub const WIDTHS_MM: [f64; 2] = [60.0, 400.0];
/// Sizes of type a figure may have, pt.
pub const FONTS_PT: [f64; 2] = [5.0, 24.0];
/// Resolutions of pixels, dots an inch.
pub const RESOLUTIONS_DPI: [f64; 2] = [72.0, 1200.0];
/// Size of labels where a unit is a quarter millimetre: 11 units, pt.
const USUAL_PT: f64 = ink::LABEL / 4.0 / 25.4 * 72.0;
/// User units per millimetre there.
const USUAL_UNITS_PER_MM: f64 = 4.0;

/// A typeface.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Family {
    /// DejaVu Sans.
    #[default]
    Sans,
    /// DejaVu Serif.
    Serif,
}

impl Family {
    /// As SVG names it.
    pub(crate) fn css(self) -> &'static str {
        match self {
            Self::Sans => "'DejaVu Sans', sans-serif",
            Self::Serif => "'DejaVu Serif', serif",
        }
    }
}

/// How figures look.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Style {
    /// Width of a figure on paper, mm.
    pub width_mm: f64,
    /// Size of labels on paper, pt (1/72 inch); numbers beside ticks are 10/11 of it.
    pub font_pt: f64,
    /// Typeface.
    pub family: Family,
    /// Pixels per inch where pixels are made.
    pub resolution_dpi: f64,
}

impl Default for Style {
    fn default() -> Self {
        Self::PAGE
    }
}

/// Why a style cannot be.
#[derive(Clone, Debug, PartialEq)]
pub enum StyleFailure {
    /// The width, mm.
    Width(f64),
    /// The size of type, pt.
    Font(f64),
    /// The resolution, dots an inch.
    Resolution(f64),
}

impl fmt::Display for StyleFailure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Width(mm) => {
                write!(
                    f,
                    "a figure {mm} mm wide: widths from {} mm to {} mm can be drawn",
                    WIDTHS_MM[0], WIDTHS_MM[1]
                )
            }
            Self::Font(pt) => {
                write!(f, "type of {pt} pt: sizes from {} pt to {} pt can be set", FONTS_PT[0], FONTS_PT[1])
            }
            Self::Resolution(dpi) => write!(
                f,
                "{dpi} dots an inch: from {} to {} can be made",
                RESOLUTIONS_DPI[0], RESOLUTIONS_DPI[1]
            ),
        }
    }
}

impl std::error::Error for StyleFailure {}

impl Style {
    /// The width of a page of text: 170 mm, 7.8 pt.
    pub const PAGE: Self =
        Self { width_mm: 170.0, font_pt: USUAL_PT, family: Family::Sans, resolution_dpi: 300.0 };
    /// One column of two: 85 mm, 8 pt.
    pub const COLUMN: Self =
        Self { width_mm: 85.0, font_pt: 8.0, family: Family::Sans, resolution_dpi: 600.0 };
    /// A slide: 254 mm, 16 pt.
    pub const SLIDE: Self =
        Self { width_mm: 254.0, font_pt: 16.0, family: Family::Sans, resolution_dpi: 150.0 };

    /// The style, when it can be drawn at all.
    pub fn checked(self) -> Result<Self, StyleFailure> {
        let within = |x: f64, ends: [f64; 2]| x >= ends[0] && x <= ends[1];
        if !within(self.width_mm, WIDTHS_MM) {
            return Err(StyleFailure::Width(self.width_mm));
        }
        if !within(self.font_pt, FONTS_PT) {
            return Err(StyleFailure::Font(self.font_pt));
        }
        if !within(self.resolution_dpi, RESOLUTIONS_DPI) {
            return Err(StyleFailure::Resolution(self.resolution_dpi));
        }
        Ok(self)
    }

    /// Whether layouts are those of [`Style::PAGE`], which are made by hand.
    pub(crate) fn is_usual(&self) -> bool {
        *self == Self { resolution_dpi: self.resolution_dpi, ..Self::PAGE }
    }

    /// User units per millimetre of paper: labels of 11 units come out at `font_pt`.
    pub(crate) fn units_per_mm(&self) -> f64 {
        USUAL_UNITS_PER_MM * (USUAL_PT / self.font_pt)
    }

    /// Pixels per CSS pixel (1/96 inch) for [`crate::png`].
    pub fn png_scale(&self) -> f64 {
        self.resolution_dpi / 96.0
    }
}

thread_local! {
    /// The style of what is being drawn on this thread; set by [`in_style`] and by nothing else.
    static NOW: Cell<Style> = const { Cell::new(Style::PAGE) };
}

/// The style of what is being drawn.
pub(crate) fn now() -> Style {
    NOW.get()
}

/// Width of the figure being drawn, in user units.
pub(crate) fn page_width() -> f64 {
    let style = now();
    style.width_mm * style.units_per_mm()
}

/// Draws in a style; afterwards the style is what it was before.
pub fn in_style<T>(style: &Style, draw: impl FnOnce() -> T) -> T {
    /// Puts the style back even when drawing panics.
    struct Back(Style);
    impl Drop for Back {
        fn drop(&mut self) {
            NOW.set(self.0);
        }
    }
    let _back = Back(NOW.replace(*style));
    draw()
}

/// A figure that cannot be laid out in the style asked for.
#[derive(Clone, Debug, PartialEq)]
pub struct Misfit {
    /// Name of the figure.
    pub name: &'static str,
    /// What would be wrong with it.
    pub why: String,
    /// The style asked for.
    pub asked: Style,
    /// The smallest width at which it fits with this size of type, to 5 mm; `None` when none of the widths does.
    pub smallest_mm: Option<f64>,
}

impl fmt::Display for Misfit {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Style { width_mm, font_pt, .. } = self.asked;
        write!(
            f,
            "figure `{}` does not fit into {width_mm} mm with type of {} pt: {}",
            self.name,
            (font_pt * 100.0).round() / 100.0,
            self.why
        )?;
        match self.smallest_mm {
            Some(mm) => write!(f, "; the smallest width that works with this type is {mm} mm"),
            None => write!(f, "; no width up to {} mm works with this type", WIDTHS_MM[1]),
        }
    }
}

/// Step of the search for a width that works, mm.
const STEP_MM: f64 = 5.0;

/// Draws figures in a style. Those which cannot be laid out in it carry a [`Misfit`] that says why not and what would do.
///
/// `draw` is called again at other widths when something does not fit. In the usual style nothing is refused.
pub fn laid_out(style: &Style, draw: impl Fn() -> Vec<Figure>) -> Vec<Figure> {
    let mut drawn = in_style(style, &draw);
    if style.is_usual() {
        return drawn;
    }
    for f in drawn.iter_mut().filter(|f| !f.faults.is_empty()) {
        let (name, why) = (f.name, f.faults[0].clone());
        f.misfit = Some(Misfit { name, why, asked: *style, smallest_mm: None });
    }
    let mut width = ((style.width_mm / STEP_MM).floor() + 1.0) * STEP_MM;
    while width <= WIDTHS_MM[1] {
        let mut sought: Vec<&mut Misfit> =
            drawn.iter_mut().filter_map(|f| f.misfit.as_mut()).filter(|m| m.smallest_mm.is_none()).collect();
        if sought.is_empty() {
            break;
        }
        let wider = in_style(&Style { width_mm: width, ..*style }, &draw);
        for m in &mut sought {
            if wider.iter().any(|f| f.name == m.name && f.faults.is_empty()) {
                m.smallest_mm = Some(width);
            }
        }
        width += STEP_MM;
    }
    drawn
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_usual_style_has_four_units_a_millimetre_and_others_keep_their_type() {
        assert_eq!(Style::PAGE.units_per_mm(), 4.0);
        for style in [Style::COLUMN, Style::SLIDE] {
            let label_pt = ink::LABEL / style.units_per_mm() * 72.0 / 25.4;
            assert!((label_pt - style.font_pt).abs() < 1e-12);
        }
        assert_eq!(page_width(), 680.0);
        assert_eq!(in_style(&Style::COLUMN, || now().width_mm), 85.0);
        assert_eq!(page_width(), 680.0);
    }

    #[test]
    fn what_cannot_be_drawn_is_refused_with_its_limits() {
        let wide = Style { width_mm: 900.0, ..Style::PAGE };
        assert!(wide.checked().unwrap_err().to_string().contains("60 mm to 400 mm"));
        let small = Style { font_pt: f64::NAN, ..Style::PAGE };
        assert!(small.checked().is_err());
        assert!(Style::SLIDE.checked().is_ok());
    }
}
