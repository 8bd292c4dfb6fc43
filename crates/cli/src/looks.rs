//! How figures look and which files they become: the options that every command with `--out` has.

use std::sync::atomic::{AtomicBool, Ordering};

use calotte_figures::{Family, Style, StyleFailure};
use calotte_quantity::{Dimension, Quantity};
use clap::ValueEnum;

/// Whether a figure was left out because it does not fit; the exit code says so then.
static LEFT_OUT: AtomicBool = AtomicBool::new(false);

/// Remembers that a figure was left out.
pub(crate) fn left_out() {
    LEFT_OUT.store(true, Ordering::Relaxed);
}

/// Whether a figure was left out.
pub(crate) fn any_left_out() -> bool {
    LEFT_OUT.load(Ordering::Relaxed)
}

/// A style by its name.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Named {
    /// One column of two: 85 mm wide, 8 pt type, 600 dots an inch.
    Column,
    /// The width of a page of text: 170 mm, 7.8 pt, 300 dots an inch.
    #[default]
    Page,
    /// A slide: 254 mm, 16 pt, 150 dots an inch.
    Slide,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Face {
    /// Without serifs (DejaVu Sans).
    Sans,
    /// With serifs (DejaVu Serif).
    Serif,
}

/// A file that a figure becomes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, ValueEnum)]
pub(crate) enum Kind {
    /// Lines and text for browsers and drawing programs.
    Svg,
    /// Pixels.
    Png,
    /// A page as large as the figure, to scale.
    Pdf,
    /// The numbers behind the figure (NAME.figure.csv).
    Csv,
}

/// Options of figures.
#[derive(clap::Args, Clone, Debug)]
#[command(next_help_heading = "Figures")]
pub(crate) struct Looks {
    /// Width and size of type by a name.
    #[arg(long, value_enum, default_value = "page", value_name = "STYLE")]
    figure_style: Named,
    /// Width on paper, for example `85mm` (60 mm to 400 mm).
    #[arg(long, value_name = "WIDTH", value_parser = width)]
    figure_width: Option<f64>,
    /// Size of the labels on paper, for example `8pt` (5 pt to 24 pt).
    #[arg(long, value_name = "SIZE", value_parser = font)]
    figure_font: Option<f64>,
    /// Typeface.
    #[arg(long, value_enum, default_value = "sans", value_name = "FACE")]
    figure_face: Face,
    /// Pixels of a PNG per inch of paper, for example `600dpi` (72 to 1200).
    #[arg(long, value_name = "DPI", value_parser = resolution)]
    figure_resolution: Option<f64>,
    /// Which files each figure becomes.
    #[arg(long, value_enum, value_delimiter = ',', default_value = "svg,png,pdf,csv", value_name = "KINDS")]
    figure_files: Vec<Kind>,
}

fn width(text: &str) -> Result<f64, String> {
    let read =
        Quantity::parse(text, Dimension::Length).map_err(|e| format!("{e} (write for example `85mm`)"))?;
    let mm = read.value * 1e3;
    checked(Style { width_mm: (mm * 1e9).round() / 1e9, ..Style::PAGE }).map(|s| s.width_mm)
}

fn font(text: &str) -> Result<f64, String> {
    let pt = bare(text, "pt").ok_or("write a size in points, for example `8pt`")?;
    checked(Style { font_pt: pt, ..Style::PAGE }).map(|s| s.font_pt)
}

fn resolution(text: &str) -> Result<f64, String> {
    let dpi = bare(text, "dpi").ok_or("write pixels per inch, for example `600dpi`")?;
    checked(Style { resolution_dpi: dpi, ..Style::PAGE }).map(|s| s.resolution_dpi)
}

/// A number with or without its unit.
fn bare(text: &str, unit: &str) -> Option<f64> {
    let text = text.trim();
    text.strip_suffix(unit).unwrap_or(text).trim().parse().ok()
}

fn checked(style: Style) -> Result<Style, String> {
    style.checked().map_err(|e: StyleFailure| e.to_string())
}

impl Looks {
    /// The style asked for: the named one with what was said beside it.
    pub(crate) fn style(&self) -> Style {
        let named = match self.figure_style {
            Named::Column => Style::COLUMN,
            Named::Page => Style::PAGE,
            Named::Slide => Style::SLIDE,
        };
        Style {
            width_mm: self.figure_width.unwrap_or(named.width_mm),
            font_pt: self.figure_font.unwrap_or(named.font_pt),
            family: match self.figure_face {
                Face::Sans => Family::Sans,
                Face::Serif => Family::Serif,
            },
            resolution_dpi: self.figure_resolution.unwrap_or(named.resolution_dpi),
        }
    }

    /// Whether figures become files of a kind.
    pub(crate) fn wants(&self, kind: Kind) -> bool {
        self.figure_files.contains(&kind)
    }
}
