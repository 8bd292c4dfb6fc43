//! Pictures as files: GIF and animated PNG. Only what changes from one picture to the next is stored.

use std::borrow::Cow;
use std::fmt;

use super::Picture;
use super::palette::colours;

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

/// A rectangle of pixels with its content.
struct Part {
    left: u16,
    top: u16,
    width: u16,
    height: u16,
    pixels: Vec<u8>,
}

/// The size all pictures share.
fn size(pictures: &[Picture]) -> Result<(u16, u16), AnimationFailure> {
    let first = pictures.first().ok_or(AnimationFailure::Empty)?;
    for (picture, p) in pictures.iter().enumerate() {
        let same = (p.width, p.height) == (first.width, first.height);
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

/// The index that lets the picture before show through: the one after the colours.
fn through() -> u8 {
    colours().len() as u8
}

/// The colours and one more that is never seen.
fn table() -> Vec<u8> {
    let mut table = colours().concat();
    table.extend([255; 3]);
    table
}

/// What differs from the picture before: the smallest rectangle, one pixel when nothing does. Pixels in it that stay as
/// they are are see-through, which packs well.
fn changed(before: Option<&Picture>, now: &Picture, (width, height): (u16, u16)) -> Part {
    let row = |p: &Picture, y: u16| -> Vec<u8> {
        let w = usize::from(width);
        p.pixels[usize::from(y) * w..(usize::from(y) + 1) * w].to_vec()
    };
    let Some(before) = before else {
        return Part { left: 0, top: 0, width, height, pixels: now.pixels.clone() };
    };
    let (mut left, mut right, mut top, mut bottom) = (width, 0, height, 0);
    for y in 0..height {
        let (a, b) = (row(before, y), row(now, y));
        let differ = |x: &u16| a[usize::from(*x)] != b[usize::from(*x)];
        if let (Some(first), Some(last)) = ((0..width).find(differ), (0..width).rev().find(differ)) {
            left = left.min(first);
            right = right.max(last + 1);
            top = top.min(y);
            bottom = y + 1;
        }
    }
    if right <= left {
        (left, right, top, bottom) = (0, 1, 0, 1);
    }
    let through = through();
    let mut pixels = Vec::new();
    for y in top..bottom {
        let (a, b) = (row(before, y), row(now, y));
        pixels.extend((left..right).map(usize::from).map(|x| if a[x] == b[x] { through } else { b[x] }));
    }
    Part { left, top, width: right - left, height: bottom - top, pixels }
}

/// An animated GIF that plays for ever.
pub fn gif(pictures: &[Picture]) -> Result<Vec<u8>, AnimationFailure> {
    let size = size(pictures)?;
    let failed = |e: gif::EncodingError| AnimationFailure::Encoding(e.to_string());
    let palette = table();
    let mut out = Vec::new();
    {
        let mut encoder = gif::Encoder::new(&mut out, size.0, size.1, &palette).map_err(failed)?;
        encoder.set_repeat(gif::Repeat::Infinite).map_err(failed)?;
        for (i, picture) in pictures.iter().enumerate() {
            let part = changed(i.checked_sub(1).map(|k| &pictures[k]), picture, size);
            let frame = gif::Frame {
                delay: picture.delay_cs,
                dispose: gif::DisposalMethod::Keep,
                transparent: Some(through()),
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
        encoder.set_palette(table());
        let mut opaque = vec![255; usize::from(through())];
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

    fn picture(pixels: Vec<u8>) -> Picture {
        Picture {
            width: 4,
            height: 3,
            pixels,
            delay_cs: 4,
            time_s: 0.0,
            phase: "snap",
            slowed: None,
            words: String::new(),
        }
    }

    #[test]
    fn only_what_changes_is_stored() {
        let a = picture(vec![0; 12]);
        let mut b = a.clone();
        (b.pixels[5], b.pixels[10]) = (7, 8);
        let part = changed(Some(&a), &b, (4, 3));
        assert_eq!((part.left, part.top, part.width, part.height), (1, 1, 2, 2));
        assert_eq!(part.pixels, [7, through(), through(), 8]);
        assert_eq!(changed(Some(&a), &a, (4, 3)).pixels, [through()]);
    }

    #[test]
    fn pictures_that_do_not_fit_are_refused() {
        assert_eq!(gif(&[]), Err(AnimationFailure::Empty));
        let mut odd = picture(vec![0; 12]);
        odd.pixels.pop();
        assert_eq!(apng(&[picture(vec![0; 12]), odd]), Err(AnimationFailure::Size { picture: 1 }));
    }
}
