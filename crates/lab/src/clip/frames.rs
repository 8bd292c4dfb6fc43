//! Frames as a stream: one grey picture after another, never all of them at once.

use std::fmt;
use std::io::{BufRead, Read, Seek};

use image::codecs::gif::GifDecoder;
use image::{AnimationDecoder, ImageDecoder};

use crate::picture::{BadPicture, Gray, LONGEST_SIDE, Light, MOST_PIXELS, light_of};

/// One frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Still {
    /// Its number in the clip: counted from 0, or the number in its file's name.
    pub number: u64,
    /// When the clip says it is shown, s; `None` for pictures without a time.
    pub stamp: Option<f64>,
    /// The picture.
    pub gray: Gray,
}

/// A frame that cannot be used; the others can.
#[derive(Clone, Debug, PartialEq)]
pub struct BadFrame {
    /// Its number.
    pub number: u64,
    /// The name of its file, or the place in the clip.
    pub place: String,
    /// What is wrong and what would be right.
    pub why: String,
    /// Whether nothing can come after it.
    pub last: bool,
}

impl fmt::Display for BadFrame {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.place, self.why)
    }
}

/// What a clip gives, in order.
pub type Frame = Result<Still, BadFrame>;

/// Grey values of eight-bit ones, 0 to 1.
pub(super) fn table(light: Light) -> Vec<f32> {
    let value = |v: u8| {
        let v = f64::from(v) / 255.0;
        (if light == Light::Srgb { light_of(v) } else { v }) as f32
    };
    (0..=255).map(value).collect()
}

/// Frames of `width` × `height` eight-bit grey values, one after another without anything between them: what a decoder of
/// videos sends down a pipe. `stamps` are their times, s, where they are known.
pub fn raw<'a>(
    mut bytes: impl Read + 'a,
    width: usize,
    height: usize,
    stamps: Vec<f64>,
    light: Light,
) -> impl Iterator<Item = Frame> + 'a {
    let table = table(light);
    let mut number = 0;
    let mut over = width * height == 0;
    std::iter::from_fn(move || {
        if over {
            return None;
        }
        let mut buffer = vec![0; width * height];
        let mut filled = 0;
        let fail = |why: String| BadFrame { number, place: format!("frame {number}"), why, last: true };
        while filled < buffer.len() {
            match bytes.read(&mut buffer[filled..]) {
                Ok(0) if filled == 0 => {
                    over = true;
                    return None;
                }
                Ok(0) => {
                    over = true;
                    let why = format!("the clip ends within it, after {filled} of {} pixels", buffer.len());
                    return Some(Err(fail(why)));
                }
                Ok(n) => filled += n,
                Err(e) if e.kind() == std::io::ErrorKind::Interrupted => {}
                Err(e) => {
                    over = true;
                    return Some(Err(fail(format!("reading stopped: {e}"))));
                }
            }
        }
        let gray = Gray::of(width, height, buffer.iter().map(|v| table[usize::from(*v)]).collect())?;
        let still = Still { number, stamp: stamps.get(number as usize).copied(), gray };
        number += 1;
        Some(Ok(still))
    })
}

/// Frames of a GIF with the times at which they are shown.
///
/// # Errors
/// Where it is no GIF, or too large a one.
pub fn gif<'a>(
    bytes: impl BufRead + Seek + 'a,
    light: Light,
) -> Result<impl Iterator<Item = Frame> + 'a, String> {
    let decoder = GifDecoder::new(bytes).map_err(|e| {
        format!(
            "it is no GIF that can be read: {e}\n  help: save the clip again, or as numbered PNG pictures"
        )
    })?;
    let (width, height) = decoder.dimensions();
    let huge = u64::from(width) * u64::from(height) > MOST_PIXELS;
    if huge || width > LONGEST_SIDE || height > LONGEST_SIDE {
        let why = BadPicture::Huge { width, height };
        return Err(format!("{why}\n  help: {}", why.hint()));
    }
    let table = table(light);
    let mut pictures = decoder.into_frames();
    let (mut number, mut shown, mut over) = (0, 0.0, false);
    Ok(std::iter::from_fn(move || {
        if over {
            return None;
        }
        match pictures.next()? {
            Ok(frame) => {
                let (n, d) = frame.delay().numer_denom_ms();
                let stamp = shown;
                shown += f64::from(n) / f64::from(d) * 1e-3;
                let picture = frame.into_buffer();
                // Luminance of ITU-R BT.709, as for still pictures.
                let gray = |p: &image::Rgba<u8>| {
                    let [r, g, b, a] = p.0;
                    let v = |c: u8| table[usize::from(c)];
                    if a == 0 { 1.0 } else { 0.2126 * v(r) + 0.7152 * v(g) + 0.0722 * v(b) }
                };
                let values = picture.pixels().map(gray).collect();
                let gray = Gray::of(picture.width() as usize, picture.height() as usize, values)?;
                number += 1;
                Some(Ok(Still { number: number - 1, stamp: Some(stamp), gray }))
            }
            Err(e) => {
                over = true;
                let why = format!("the GIF breaks off here: {e}; the frames before it are kept");
                Some(Err(BadFrame { number, place: format!("frame {number}"), why, last: true }))
            }
        }
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn raw_frames_and_a_cut_pipe() {
        let bytes: Vec<u8> = (0..27).collect();
        let seen: Vec<Frame> = raw(&bytes[..], 4, 3, vec![0.0, 0.5], Light::AsStored).collect();
        assert_eq!(seen.len(), 3);
        let second = seen[1].as_ref().unwrap();
        assert_eq!((second.number, second.stamp, second.gray.row(0)[1]), (1, Some(0.5), 13.0 / 255.0));
        let cut = seen[2].as_ref().unwrap_err();
        assert!(cut.last && cut.to_string().contains("after 3 of 12 pixels"), "{cut}");
        assert_eq!(raw(&bytes[..], 0, 3, Vec::new(), Light::AsStored).count(), 0);
    }

    #[test]
    fn a_gif_has_times_and_may_be_cut() {
        use image::codecs::gif::GifEncoder;
        let mut bytes = Vec::new();
        let mut coder = GifEncoder::new(&mut bytes);
        for k in 0..4u8 {
            let picture = image::RgbaImage::from_fn(20, 12, |i, j| {
                let v = (i * 5 + j) as u8 + 40 * k;
                image::Rgba([v, v, v, 255])
            });
            let delay = image::Delay::from_numer_denom_ms(40, 1);
            coder.encode_frame(image::Frame::from_parts(picture, 0, 0, delay)).unwrap();
        }
        drop(coder);
        let read = |b: &[u8]| -> Vec<Frame> {
            gif(std::io::Cursor::new(b.to_vec()), Light::AsStored).map(|f| f.collect()).unwrap_or_default()
        };
        let whole = read(&bytes);
        let last = whole[3].as_ref().unwrap();
        assert_eq!((whole.len(), last.number), (4, 3));
        assert!((last.stamp.unwrap() - 0.12).abs() < 1e-9);
        let value = whole[1].as_ref().unwrap().gray.row(2)[3];
        assert!((value - 57.0 / 255.0).abs() < 0.02, "{value}");
        let cut = read(&bytes[..bytes.len() * 3 / 5]);
        assert!(cut.len() > 1 && cut.last().unwrap().is_err(), "{}", cut.len());
        assert!(gif(std::io::Cursor::new(b"no clip".to_vec()), Light::AsStored).is_err());
    }
}
