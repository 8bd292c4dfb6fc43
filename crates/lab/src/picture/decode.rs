//! Bytes of a picture file to grey values, with everything that can be wrong said before memory is spent on it.
//!
//! PNG, JPEG, TIFF, BMP, GIF (its first picture) and PNM, by their first bytes; 8, 16 bits and floats, grey or colour, with the
//! turn that a camera has noted (EXIF) applied, so that points are where a viewer shows them. Grey is the luminance of
//! ITU-R BT.709 (0.2126 R + 0.7152 G + 0.0722 B); transparent pixels are laid on white.

use std::fmt;
use std::io::Cursor;

use image::error::ImageError;
use image::{DynamicImage, ImageDecoder, ImageFormat, ImageReader, Limits};

use super::Gray;

/// Largest number of pixels that is read: 64 million, 256 MB of grey values.
pub const MOST_PIXELS: u64 = 64_000_000;

/// Longest side that is read, px.
pub const LONGEST_SIDE: u32 = 30_000;

/// Shortest side that is read, px.
pub const SHORTEST_SIDE: u32 = 8;

/// What the numbers of a file mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Light {
    /// They are handed on as they are, 0 to 1.
    AsStored,
    /// They are encoded as sRGB (IEC 61966-2-1), as cameras, phones and scanners do; what is handed on is proportional to
    /// light. A blurred edge is symmetric in light alone: read from encoded values its middle lies up to 0.8 of the blur's
    /// width too far in the dark.
    Srgb,
}

/// A picture that was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Decoded {
    /// The grey values.
    pub gray: Gray,
    /// Name of the file's format.
    pub format: &'static str,
    /// Bits per channel.
    pub bits: u8,
    /// Whether the camera noted a turn, which was applied.
    pub turned: bool,
    /// Whether some pixels are not opaque and were laid on white.
    pub transparent: bool,
}

/// Why a picture cannot be read.
#[derive(Clone, Debug, PartialEq)]
pub enum BadPicture {
    /// No bytes.
    Empty,
    /// The first bytes are of no format that is read.
    Unknown {
        /// Up to eight of them.
        starts: Vec<u8>,
    },
    /// Too many pixels, said by the header.
    Huge {
        /// Columns.
        width: u32,
        /// Rows.
        height: u32,
    },
    /// Too few pixels to hold a part.
    Small {
        /// Columns.
        width: u32,
        /// Rows.
        height: u32,
    },
    /// The file ends early.
    Truncated {
        /// Its length, bytes.
        bytes: usize,
    },
    /// The file is damaged, or of a variety that is not read.
    Damaged {
        /// Name of its format.
        format: &'static str,
        /// In the reader's words.
        why: String,
    },
    /// A value of a float picture is not a number.
    NotFinite {
        /// Column.
        x: usize,
        /// Row.
        y: usize,
    },
}

impl BadPicture {
    /// What would be right.
    pub fn hint(&self) -> String {
        match self {
            Self::Empty | Self::Truncated { .. } => "copy the file again from where it comes from".into(),
            Self::Unknown { .. } => {
                "save it as PNG, JPEG, TIFF, BMP, GIF or PNM (a raw camera file must be developed first)"
                    .into()
            }
            Self::Huge { .. } => format!(
                "crop it to the part, or save it smaller: up to {} million pixels and {LONGEST_SIDE} a side",
                MOST_PIXELS / 1_000_000
            ),
            Self::Small { .. } => {
                format!("each side needs {SHORTEST_SIDE} pixels at least, a useful picture hundreds")
            }
            Self::Damaged { .. } => "open it in a viewer and save it again as PNG".into(),
            Self::NotFinite { .. } => "save it again with every value between 0 and 1".into(),
        }
    }
}

impl fmt::Display for BadPicture {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty => write!(f, "the file is empty"),
            Self::Unknown { starts } => {
                let hex: Vec<String> = starts.iter().map(|b| format!("{b:02x}")).collect();
                write!(f, "not a picture of a known format (it starts with the bytes {})", hex.join(" "))
            }
            Self::Huge { width, height } => write!(f, "the picture is too large: {width} × {height} pixels"),
            Self::Small { width, height } => write!(f, "the picture is too small: {width} × {height} pixels"),
            Self::Truncated { bytes } => write!(f, "the file ends early, after {bytes} bytes"),
            Self::Damaged { format, why } => write!(f, "the {format} file cannot be read: {why}"),
            Self::NotFinite { x, y } => write!(f, "the value of pixel ({x}, {y}) is not a number"),
        }
    }
}

fn name(format: ImageFormat) -> Option<&'static str> {
    Some(match format {
        ImageFormat::Png => "PNG",
        ImageFormat::Jpeg => "JPEG",
        ImageFormat::Gif => "GIF",
        ImageFormat::Tiff => "TIFF",
        ImageFormat::Bmp => "BMP",
        ImageFormat::Pnm => "PNM",
        _ => return None,
    })
}

/// Whether the scan of a JPEG is cut short: its decoder would fill the rest with grey. Inside a scan 0xff is always followed by 0
/// or a restart, so the last start of a scan needs an end of picture behind it.
fn cut_scan(bytes: &[u8]) -> bool {
    let last = |marker: u8| bytes.windows(2).rposition(|w| w == [0xff, marker]);
    last(0xd9) <= last(0xda)
}

/// Grey values of the picture in `bytes`.
///
/// # Errors
/// [`BadPicture`]; sizes are checked on the header, before pixels get memory.
pub fn decode(bytes: &[u8], light: Light) -> Result<Decoded, BadPicture> {
    if bytes.is_empty() {
        return Err(BadPicture::Empty);
    }
    let unknown = || BadPicture::Unknown { starts: bytes[..bytes.len().min(8)].to_vec() };
    let mut reader = ImageReader::new(Cursor::new(bytes)).with_guessed_format().map_err(|_| unknown())?;
    let kind = reader.format().ok_or_else(unknown)?;
    let format = name(kind).ok_or_else(unknown)?;
    let mut limits = Limits::default();
    limits.max_alloc = Some(16 * MOST_PIXELS);
    reader.limits(limits);
    let fail = |e: ImageError| match e {
        ImageError::IoError(e) if e.kind() == std::io::ErrorKind::UnexpectedEof => {
            BadPicture::Truncated { bytes: bytes.len() }
        }
        e => BadPicture::Damaged { format, why: e.to_string() },
    };
    let mut decoder = reader.into_decoder().map_err(fail)?;
    let (width, height) = decoder.dimensions();
    if width > LONGEST_SIDE || height > LONGEST_SIDE || u64::from(width) * u64::from(height) > MOST_PIXELS {
        return Err(BadPicture::Huge { width, height });
    }
    if width < SHORTEST_SIDE || height < SHORTEST_SIDE {
        return Err(BadPicture::Small { width, height });
    }
    if kind == ImageFormat::Jpeg && cut_scan(bytes) {
        return Err(BadPicture::Truncated { bytes: bytes.len() });
    }
    let turn = decoder.orientation().unwrap_or(image::metadata::Orientation::NoTransforms);
    let mut picture = DynamicImage::from_decoder(decoder).map_err(fail)?;
    picture.apply_orientation(turn);
    let color = picture.color();
    let bits = (color.bytes_per_pixel() / color.channel_count()) * 8;
    let (gray, transparent) = gray(&picture, light)?;
    Ok(Decoded {
        gray,
        format,
        bits,
        turned: turn != image::metadata::Orientation::NoTransforms,
        transparent,
    })
}

/// Light of an sRGB value in 0..1 (IEC 61966-2-1).
pub fn light_of(value: f64) -> f64 {
    if value <= 0.040_45 { value / 12.92 } else { libm::pow((value + 0.055) / 1.055, 2.4) }
}

/// sRGB value of a light in 0..1: the inverse of [`light_of`].
pub fn stored_of(light: f64) -> f64 {
    if light <= 0.003_130_8 { 12.92 * light } else { 1.055 * libm::pow(light, 1.0 / 2.4) - 0.055 }
}

const WEIGHTS: [f64; 3] = [0.2126, 0.7152, 0.0722];

fn gray(picture: &DynamicImage, light: Light) -> Result<(Gray, bool), BadPicture> {
    let channels = usize::from(picture.color().channel_count());
    let pixels = picture.width() as usize * picture.height() as usize;
    let mut values = Vec::with_capacity(pixels);
    let mut transparent = false;
    // One pixel's channels, 0..1, to grey.
    let mut add = |c: &[f64]| {
        let (colours, alpha) =
            if c.len() == 2 || c.len() == 4 { c.split_at(c.len() - 1) } else { (c, &[1.0][..]) };
        let y = if colours.len() == 3 {
            WEIGHTS.iter().zip(colours).map(|(w, c)| w * c).sum::<f64>()
        } else {
            colours[0]
        };
        transparent |= alpha[0] < 1.0;
        values.push((alpha[0] * y + 1.0 - alpha[0]) as f32);
    };
    let mut pixel = [0.0; 4];
    macro_rules! each {
        ($raw:expr, $value:expr) => {
            for p in $raw.chunks_exact(channels) {
                for (k, v) in p.iter().enumerate() {
                    // Coverage is never encoded.
                    let alpha = (channels == 2 || channels == 4) && k + 1 == channels;
                    pixel[k] = $value(*v, alpha);
                }
                add(&pixel[..channels]);
            }
        };
    }
    let decoded = |v: f64| if light == Light::Srgb { light_of(v) } else { v };
    if let Some(raw) = bytes_of(picture) {
        let table: Vec<f64> = (0..256).map(|v| decoded(f64::from(v) / 255.0)).collect();
        each!(raw, |v: u8, alpha| if alpha { f64::from(v) / 255.0 } else { table[usize::from(v)] });
    } else if let Some(raw) = words_of(picture) {
        let table: Vec<f64> = (0..65536).map(|v| decoded(f64::from(v) / 65535.0)).collect();
        each!(raw, |v: u16, alpha| if alpha { f64::from(v) / 65535.0 } else { table[usize::from(v)] });
    } else {
        // Float pictures hold light.
        let float = picture.to_rgba32f();
        let width = float.width() as usize;
        for (i, p) in float.as_raw().chunks_exact(4).enumerate() {
            if p.iter().any(|v| !v.is_finite()) {
                return Err(BadPicture::NotFinite { x: i % width, y: i / width });
            }
            add(&[f64::from(p[0]), f64::from(p[1]), f64::from(p[2]), f64::from(p[3])]);
        }
    }
    let (width, height) = (picture.width(), picture.height());
    let gray =
        Gray::of(width as usize, height as usize, values).ok_or(BadPicture::Small { width, height })?;
    Ok((gray, transparent))
}

fn bytes_of(picture: &DynamicImage) -> Option<&[u8]> {
    match picture {
        DynamicImage::ImageLuma8(b) => Some(b.as_raw()),
        DynamicImage::ImageLumaA8(b) => Some(b.as_raw()),
        DynamicImage::ImageRgb8(b) => Some(b.as_raw()),
        DynamicImage::ImageRgba8(b) => Some(b.as_raw()),
        _ => None,
    }
}

fn words_of(picture: &DynamicImage) -> Option<&[u16]> {
    match picture {
        DynamicImage::ImageLuma16(b) => Some(b.as_raw()),
        DynamicImage::ImageLumaA16(b) => Some(b.as_raw()),
        DynamicImage::ImageRgb16(b) => Some(b.as_raw()),
        DynamicImage::ImageRgba16(b) => Some(b.as_raw()),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn file(picture: &DynamicImage, format: ImageFormat) -> Vec<u8> {
        let mut out = Cursor::new(Vec::new());
        picture.write_to(&mut out, format).unwrap();
        out.into_inner()
    }

    fn ramp() -> DynamicImage {
        DynamicImage::ImageLuma8(image::GrayImage::from_fn(40, 30, |i, j| {
            image::Luma([(i * 6 + j % 3) as u8])
        }))
    }

    #[test]
    fn grey_is_the_same_from_every_format_without_loss() {
        let right = decode(&file(&ramp(), ImageFormat::Png), Light::AsStored).unwrap();
        assert_eq!((right.format, right.bits, right.turned, right.transparent), ("PNG", 8, false, false));
        assert_eq!(right.gray.row(2)[5], (5.0 * 6.0 + 2.0) / 255.0);
        for format in [ImageFormat::Tiff, ImageFormat::Bmp, ImageFormat::Pnm] {
            assert_eq!(
                decode(&file(&ramp(), format), Light::AsStored).unwrap().gray,
                right.gray,
                "{format:?}"
            );
        }
        let deep = DynamicImage::ImageLuma16(ramp().to_luma16());
        let deep = decode(&file(&deep, ImageFormat::Png), Light::AsStored).unwrap();
        assert_eq!((deep.bits, deep.gray), (16, right.gray));
    }

    /// ITU-R BT.709, and IEC 61966-2-1: half of the light is stored as 188 of 255.
    #[test]
    fn colour_and_light() {
        let picture =
            |p: [u8; 4]| DynamicImage::ImageRgba8(image::RgbaImage::from_pixel(9, 9, image::Rgba(p)));
        let value = |p, light| decode(&file(&picture(p), ImageFormat::Png), light).unwrap().gray.row(4)[4];
        assert!((value([0, 255, 0, 255], Light::AsStored) - 0.7152).abs() < 1e-6);
        assert!((value([188, 188, 188, 255], Light::Srgb) - 0.503).abs() < 1e-3);
        assert_eq!(value([0, 0, 0, 0], Light::Srgb), 1.0);
        for v in [0.0, 0.01, 0.04, 0.2, 0.9, 1.0] {
            assert!((stored_of(light_of(v)) - v).abs() < 1e-6, "{v}");
        }
    }

    #[test]
    fn bad_files_say_what_is_wrong() {
        let say = |bytes: &[u8]| decode(bytes, Light::Srgb).unwrap_err();
        assert_eq!(say(b""), BadPicture::Empty);
        assert!(matches!(say(b"hello, no picture"), BadPicture::Unknown { .. }));
        for format in [ImageFormat::Png, ImageFormat::Jpeg, ImageFormat::Tiff, ImageFormat::Bmp] {
            let whole = file(&ramp(), format);
            for share in [3, 10, 50, 90] {
                let cut = &whole[..whole.len() * share / 100];
                let why = say(cut);
                assert!(!why.to_string().is_empty() && !why.hint().is_empty());
                assert!(!matches!(why, BadPicture::Huge { .. }), "{format:?} {share}: {why}");
            }
        }
        assert!(matches!(say(&file(&ramp(), ImageFormat::Jpeg)[..400]), BadPicture::Truncated { .. }));
        let small = DynamicImage::new_luma8(3, 50);
        assert_eq!(say(&file(&small, ImageFormat::Png)), BadPicture::Small { width: 3, height: 50 });
        // A header that promises 900 million pixels.
        let mut huge = file(&ramp(), ImageFormat::Bmp);
        huge[18..22].copy_from_slice(&29_999i32.to_le_bytes());
        huge[22..26].copy_from_slice(&29_999i32.to_le_bytes());
        assert_eq!(say(&huge), BadPicture::Huge { width: 29_999, height: 29_999 });
    }
}
