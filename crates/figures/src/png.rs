//! Pixels from an SVG, with the typeface in the binary.

use std::fmt;

use resvg::{tiny_skia, usvg};

use crate::typeface::options;

/// Largest picture side in pixels.
const LARGEST_SIDE: f64 = 20_000.0;

/// Why a picture could not be made.
#[derive(Clone, Debug, PartialEq)]
pub enum PngFailure {
    /// The scale is not a positive number, or the picture would have a side above 20 000 pixels
    /// or below one.
    Size {
        /// The scale asked for.
        scale: f64,
        /// Width of the picture it would give, in pixels.
        width: f64,
        /// Height of the picture it would give, in pixels.
        height: f64,
    },
    /// The text is not an SVG; the parser's words.
    NotSvg(String),
    /// The picture could not be encoded; the encoder's words.
    Encoding(String),
}

impl fmt::Display for PngFailure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Size { scale, width, height } => {
                write!(f, "scale {scale} gives a picture of {width:.0} × {height:.0} pixels")
            }
            Self::NotSvg(why) => write!(f, "not an SVG: {why}"),
            Self::Encoding(why) => write!(f, "the picture could not be encoded: {why}"),
        }
    }
}

impl std::error::Error for PngFailure {}

/// Draws an SVG over a whole picture; says why not when it is none.
pub(crate) fn paint(
    svg: &str,
    options: &usvg::Options<'_>,
    picture: &mut tiny_skia::Pixmap,
) -> Result<(), PngFailure> {
    let tree = usvg::Tree::from_str(svg, options).map_err(|e| PngFailure::NotSvg(e.to_string()))?;
    let stretch = tiny_skia::Transform::from_scale(
        picture.width() as f32 / tree.size().width(),
        picture.height() as f32 / tree.size().height(),
    );
    resvg::render(&tree, stretch, &mut picture.as_mut());
    Ok(())
}

/// A PNG of an SVG. At scale 1 a CSS inch has 96 pixels; print at 600 dots per inch is scale 6.25.
pub fn png(svg: &str, scale: f64) -> Result<Vec<u8>, PngFailure> {
    let tree = usvg::Tree::from_str(svg, &options()).map_err(|e| PngFailure::NotSvg(e.to_string()))?;
    let width = (f64::from(tree.size().width()) * scale).round();
    let height = (f64::from(tree.size().height()) * scale).round();
    let failure = PngFailure::Size { scale, width, height };
    let sides = 1.0..=LARGEST_SIDE;
    if !(sides.contains(&width) && sides.contains(&height)) {
        return Err(failure);
    }
    let mut picture = tiny_skia::Pixmap::new(width as u32, height as u32).ok_or(failure)?;
    picture.fill(tiny_skia::Color::WHITE);
    let stretch = tiny_skia::Transform::from_scale(
        (width / f64::from(tree.size().width())) as f32,
        (height / f64::from(tree.size().height())) as f32,
    );
    resvg::render(&tree, stretch, &mut picture.as_mut());
    picture.encode_png().map_err(|e| PngFailure::Encoding(e.to_string()))
}
