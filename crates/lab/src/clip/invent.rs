//! Invented clips of computed releases: a part seen from the side, dark before a bright ground, with a pin on its pole and a level card
//! on each side of its rim, so that all three can be followed whatever the wall does. (Cards that stay level are as invented as the
//! rest; a bead on a real rim turns with it.)

use calotte_answers::release::report::ReleaseReport;
use calotte_chance::Stream;

use super::line::Line;
use crate::picture::{Gray, paint, stored_of};

/// How a clip is invented.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Filming {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Frames a second.
    pub rate: f64,
    /// Exposure of a frame, s.
    pub shutter: f64,
    /// Blur of the lens, px.
    pub blur: f64,
    /// Noise of a pixel, of white.
    pub noise: f64,
    /// Share of frames with a patch of glare.
    pub glare: f64,
    /// Share of frames that are dropped.
    pub drops: f64,
    /// Tilt of the camera, rad.
    pub tilt: f64,
    /// Quality of JPEG coding, if any.
    pub jpeg: Option<u8>,
    /// Seed.
    pub seed: u64,
}

/// An invented clip.
#[derive(Clone, Debug)]
pub struct Invented<'a> {
    release: &'a ReleaseReport,
    filming: Filming,
    /// First and last time, s of the release.
    pub span: [f64; 2],
    /// Metres a pixel.
    pub scale: f64,
    pin: f64,
    /// Half the length of a card.
    card: f64,
    middle: [f64; 2],
    lines: [Line; 3],
}

/// Pictures as a GIF in which each is shown for so many hundredths of a second.
///
/// # Errors
/// What the coder says.
pub fn gif(pictures: &mut dyn Iterator<Item = (Gray, u32)>) -> Result<Vec<u8>, String> {
    let mut out = Vec::new();
    let mut coder = image::codecs::gif::GifEncoder::new(&mut out);
    for (picture, shown_cs) in pictures {
        let pixel = |v: u8| [v, v, v, 255];
        let values = paint::bytes(&picture).into_iter().flat_map(pixel).collect();
        let size = |n: usize| u32::try_from(n).map_err(|e| e.to_string());
        let frame = image::RgbaImage::from_raw(size(picture.width())?, size(picture.height())?, values)
            .ok_or("a picture without pixels")?;
        let delay = image::Delay::from_numer_denom_ms(10 * shown_cs, 1);
        coder.encode_frame(image::Frame::from_parts(frame, 0, 0, delay)).map_err(|e| e.to_string())?;
    }
    drop(coder);
    Ok(out)
}

/// Moments within an exposure.
const MOMENTS: usize = 4;
const GROUND: f64 = 0.75;
const PART: f64 = 0.08;

fn mixed(time: &[f64], values: &[f64], t: f64) -> f64 {
    let i = time.partition_point(|x| *x < t).clamp(1, time.len().max(2) - 1);
    let (Some(a), Some(b)) = (values.get(i - 1), values.get(i)) else { return f64::NAN };
    let share = ((t - time[i - 1]) / (time[i] - time[i - 1])).clamp(0.0, 1.0);
    a + share * (b - a)
}

impl<'a> Invented<'a> {
    /// A clip of a release from `before` seconds before its snap to the end of what was followed, `most` frames at most.
    ///
    /// # Errors
    /// In words, when there is no snap to film, or not enough of it in a frame.
    pub fn new(
        release: &'a ReleaseReport,
        filming: Filming,
        before: f64,
        most: usize,
    ) -> Result<Self, String> {
        let snap =
            release.snap.as_ref().ok_or("the computed part does not snap: there is nothing to film")?;
        let h = &release.history;
        if release.frames.len() < 2 || h.time_s.len() < 2 {
            return Err("the computed release has too few shapes to film".to_owned());
        }
        let first = (snap.wait_s - before).max(0.0);
        let last = h.time_s[h.time_s.len() - 1].min(first + most as f64 / filming.rate);
        if last <= snap.end_s {
            return Err(format!(
                "{most} frames at {:.0} a second end before the snap does\n  help: fewer frames a second, or a later start",
                filming.rate
            ));
        }
        let seen = |values: &[f64]| {
            let inside = h.time_s.iter().zip(values).filter(|r| *r.0 >= first && *r.0 <= last);
            inside.fold([f64::INFINITY, f64::NEG_INFINITY], |b, r| [b[0].min(*r.1), b[1].max(*r.1)])
        };
        let radius = release.part.rim_radius_m;
        let (pole, rim) = (seen(&h.pole_height_m), seen(&h.rim_height_m));
        let reach = (pole[1] - pole[0]).max(release.part.rise_m);
        let pin = 0.6 * reach + 0.25 * radius;
        let low = pole[0].min(rim[0]) - 0.25 * radius;
        let high = (pole[1] + pin).max(rim[1]) + 0.3 * radius;
        // What is filmed, turned by the tilt, fits the picture.
        let (up, across) = (high - low, 2.0 * 1.35 * radius);
        let (sin, cos) = libm::sincos(filming.tilt.abs());
        let scale = ((up * cos + across * sin) / filming.height as f64)
            .max((across * cos + up * sin) / filming.width as f64);
        // Radii of the rim in the shapes.
        let r_rim = release
            .frames
            .iter()
            .filter_map(|f| f.r_m.last().copied())
            .fold([f64::INFINITY, 0.0_f64], |b, r| [b[0].min(r), b[1].max(r)]);
        let card = r_rim[1] - r_rim[0] + 10.0 * scale;
        let middle = [0.5 * (filming.width as f64 - 1.0), 0.5 * (high + low)];
        let mut out = Self {
            release,
            filming,
            span: [first, last],
            scale,
            pin,
            card,
            middle,
            lines: [Line { from: [0.0; 2], to: [1.0; 2] }; 3],
        };
        let upright =
            |x: f64| Line { from: out.pixel(x, high - 0.02 * radius), to: out.pixel(x, low + 0.02 * radius) };
        out.lines = [upright(0.0), upright(-r_rim[1] - 4.0 * scale), upright(r_rim[1] + 4.0 * scale)];
        Ok(out)
    }

    /// Lines across pole, left and right rim.
    pub fn lines(&self) -> [Line; 3] {
        self.lines
    }

    /// When the frame is taken, s of the release.
    pub fn time(&self, number: usize) -> f64 {
        self.span[0] + number as f64 / self.filming.rate
    }

    /// Frames from first to last, those that are dropped included.
    pub fn count(&self) -> usize {
        ((self.span[1] - self.span[0]) * self.filming.rate) as usize + 1
    }

    /// Whether a frame was dropped.
    pub fn dropped(&self, number: usize) -> bool {
        number > 0 && Stream::of(self.filming.seed, 2 * number as u64).unit() < self.filming.drops
    }

    fn pixel(&self, x: f64, z: f64) -> [f64; 2] {
        let (sin, cos) = libm::sincos(self.filming.tilt);
        let (u, v) = (x / self.scale, (z - self.middle[1]) / self.scale);
        [self.middle[0] + u * cos - v * sin, 0.5 * (self.filming.height as f64 - 1.0) - (u * sin + v * cos)]
    }

    /// Radii and heights of the wall's middle from pole to rim.
    fn shape(&self, t: f64) -> Vec<[f64; 2]> {
        let f = &self.release.frames;
        let i = f.partition_point(|f| f.time_s < t).clamp(1, f.len() - 1);
        let (a, b) = (&f[i - 1], &f[i]);
        let share = ((t - a.time_s) / (b.time_s - a.time_s)).clamp(0.0, 1.0);
        let n = a.r_m.len().min(b.r_m.len());
        let mix = |a: &[f64], b: &[f64], k: usize| a[k] + share * (b[k] - a[k]);
        let mut out: Vec<[f64; 2]> =
            (0..n).map(|k| [mix(&a.r_m, &b.r_m, k), mix(&a.z_m, &b.z_m, k)]).collect();
        // Shapes are few, heights of pole and rim are many: the shape is moved to them.
        let h = &self.release.history;
        let off = |values: &[f64], z: f64| mixed(&h.time_s, values, t) - z;
        let (pole, rim) = (off(&h.pole_height_m, out[0][1]), off(&h.rim_height_m, out[n - 1][1]));
        for (k, p) in out.iter_mut().enumerate() {
            let s = k as f64 / (n - 1) as f64;
            p[1] += (1.0 - s) * pole + s * rim;
        }
        out
    }

    /// What there is to see at a time.
    fn scene(&self, t: f64) -> Gray {
        let mut p = Gray::filled(self.filming.width, self.filming.height, GROUND as f32);
        let dark = |_: f64, _: f64| PART;
        let shape = self.shape(t);
        let right = shape.iter().map(|p| self.pixel(p[0], p[1]));
        let left = shape.iter().rev().map(|p| self.pixel(-p[0], p[1]));
        let outline: Vec<[f64; 2]> = right.chain(left).collect();
        paint::fill(&mut p, &outline, &dark);
        let mut wall = outline.clone();
        wall.rotate_left(shape.len());
        paint::stroke(&mut p, &wall, self.release.part.thickness_m / self.scale, &dark);
        let half = (0.03 * self.release.part.rim_radius_m).max(4.0 * self.scale);
        let z = shape[0][1];
        let pin = [[-half, z], [half, z], [half, z + self.pin], [-half, z + self.pin]];
        paint::fill(&mut p, &pin.map(|q| self.pixel(q[0], q[1])), &dark);
        let rim = shape[shape.len() - 1];
        for side in [-1.0, 1.0] {
            let x = |r: f64| side * (rim[0] + r);
            let (a, b) = (self.card, 4.0 * self.scale);
            let card = [[x(-a), rim[1] - b], [x(a), rim[1] - b], [x(a), rim[1] + b], [x(-a), rim[1] + b]];
            paint::fill(&mut p, &card.map(|q| self.pixel(q[0], q[1])), &dark);
        }
        p
    }

    /// The picture of a frame, its eight-bit values as a camera stores them; `None` for one that was dropped.
    ///
    /// # Errors
    /// What the JPEG coder says.
    pub fn frame(&self, number: usize) -> Result<Option<Gray>, String> {
        if self.dropped(number) {
            return Ok(None);
        }
        let f = &self.filming;
        let mut stream = Stream::of(f.seed, 2 * number as u64 + 1);
        let middle = self.time(number);
        let moments = if f.shutter > 0.0 { MOMENTS } else { 1 };
        let mut p = paint::expose(moments, |u| self.scene(middle + (u - 0.5) * f.shutter))
            .ok_or("a picture without pixels")?;
        paint::blur(&mut p, f.blur);
        if stream.unit() < f.glare {
            let centre = [stream.unit() * f.width as f64, stream.unit() * f.height as f64];
            paint::glare(&mut p, centre, [0.06 * f.width as f64, 0.04 * f.width as f64], 1.5);
        }
        paint::noise(&mut p, f.noise, 0.0, &mut stream);
        p.values_mut().iter_mut().for_each(|v| *v = stored_of(f64::from(v.clamp(0.0, 1.0))) as f32);
        paint::develop(&mut p, 255);
        match f.jpeg {
            Some(quality) => paint::jpeg(&p, quality).map(Some),
            None => Ok(Some(p)),
        }
    }
}
