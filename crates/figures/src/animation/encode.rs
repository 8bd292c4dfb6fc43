//! Pictures as files: GIF and animated PNG. Only what changes from one picture to the next is stored.

use std::borrow::Cow;
use std::fmt;

use super::Picture;
use super::changes::{changed, table, through};

/// Why an animation could not be written.
#[derive(Clone, Debug, PartialEq)]
pub enum AnimationFailure {
    /// There is no picture.
    Empty,
    /// Pictures differ in size, or one has no pixels or more than 65 535 in a row or column.
    Size {
        /// Index of the picture.
        picture: usize,
    },
    /// The encoder's words.
    Encoding(String),
}

impl fmt::Display for AnimationFailure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => write!(f, "there is no picture to write"),
            Self::Size { picture } => write!(f, "picture {picture} has no usable size"),
            Self::Encoding(why) => write!(f, "the animation could not be encoded: {why}"),
        }
    }
}

impl std::error::Error for AnimationFailure {}

/// The size all pictures share.
pub(super) fn size(pictures: &[Picture]) -> Result<(u16, u16), AnimationFailure> {
    let first = pictures.first().ok_or(AnimationFailure::Empty)?;
    for (picture, p) in pictures.iter().enumerate() {
        let same = (p.width, p.height) == (first.width, first.height) && p.colours == first.colours;
        let whole = p.pixels.len() == p.width as usize * p.height as usize && !p.pixels.is_empty();
        if !same || !whole {
            return Err(AnimationFailure::Size { picture });
        }
    }
    match (u16::try_from(first.width), u16::try_from(first.height)) {
        (Ok(w), Ok(h)) => Ok((w, h)),
        _ => Err(AnimationFailure::Size { picture: 0 }),
    }
}

/// An animated GIF that plays for ever.
pub fn gif(pictures: &[Picture]) -> Result<Vec<u8>, AnimationFailure> {
    let size = size(pictures)?;
    let failed = |e: gif::EncodingError| AnimationFailure::Encoding(e.to_string());
    let palette = table(&pictures[0]);
    let mut out = Vec::new();
    {
        let mut encoder = gif::Encoder::new(&mut out, size.0, size.1, &palette).map_err(failed)?;
        encoder.set_repeat(gif::Repeat::Infinite).map_err(failed)?;
        for (i, picture) in pictures.iter().enumerate() {
            let part = changed(i.checked_sub(1).map(|k| &pictures[k]), picture, size);
            let frame = gif::Frame {
                delay: picture.delay_cs,
                dispose: gif::DisposalMethod::Keep,
                transparent: Some(through(picture)),
                left: part.left,
                top: part.top,
                width: part.width,
                height: part.height,
                buffer: Cow::Owned(part.pixels),
                ..gif::Frame::default()
            };
            encoder.write_frame(&frame).map_err(failed)?;
        }
    }
    Ok(out)
}

/// An animated PNG that plays for ever.
pub fn apng(pictures: &[Picture]) -> Result<Vec<u8>, AnimationFailure> {
    let size = size(pictures)?;
    let failed = |e: png::EncodingError| AnimationFailure::Encoding(e.to_string());
    let mut out = Vec::new();
    {
        let mut encoder = png::Encoder::new(&mut out, u32::from(size.0), u32::from(size.1));
        encoder.set_color(png::ColorType::Indexed);
        encoder.set_depth(png::BitDepth::Eight);
        encoder.set_palette(table(&pictures[0]));
        let mut opaque = vec![255; usize::from(through(&pictures[0]))];
        opaque.push(0);
        encoder.set_trns(opaque);
        encoder.set_animated(pictures.len() as u32, 0).map_err(failed)?;
        encoder.set_blend_op(png::BlendOp::Over).map_err(failed)?;
        encoder.set_compression(png::Compression::Balanced);
        let mut writer = encoder.write_header().map_err(failed)?;
        for (i, picture) in pictures.iter().enumerate() {
            let part = changed(i.checked_sub(1).map(|k| &pictures[k]), picture, size);
            writer.set_frame_delay(picture.delay_cs, 100).map_err(failed)?;
            // Back to the corner first: a size is checked against the place before it.
            writer.set_frame_position(0, 0).map_err(failed)?;
            writer.set_frame_dimension(u32::from(part.width), u32::from(part.height)).map_err(failed)?;
            writer.set_frame_position(u32::from(part.left), u32::from(part.top)).map_err(failed)?;
            writer.write_image_data(&part.pixels).map_err(failed)?;
        }
        writer.finish().map_err(failed)?;
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::animation::changes::tests::picture;

    #[test]
    fn pictures_that_do_not_fit_are_refused() {
        assert_eq!(gif(&[]), Err(AnimationFailure::Empty));
        let mut odd = picture(vec![0; 12]);
        odd.pixels.pop();
        assert_eq!(apng(&[picture(vec![0; 12]), odd]), Err(AnimationFailure::Size { picture: 1 }));
    }
}
