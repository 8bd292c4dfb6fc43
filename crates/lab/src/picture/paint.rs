//! Invented pictures: filled outlines and strokes, blur of lens and motion, glare, noise, coding. What they show is known, so
//! what is read from them can be held against it.
//!
//! Values may leave 0..1 while a picture is painted; [`develop`] ends it. Places are those of [`Gray`]: the centre of pixel
//! (i, j) is the point (i, j).

use std::io::Cursor;

use calotte_chance::Stream;
use image::ImageEncoder;
use image::codecs::jpeg::{JpegDecoder, JpegEncoder};
use image::codecs::png::PngEncoder;

use super::Gray;

/// Share of every pixel that lies inside a closed outline, by rows: exact areas (a pixel's value is a mean over its square, as
/// on a sensor). An outline that overlaps itself counts once where it winds in one sense.
pub fn coverage(width: usize, height: usize, outline: &[[f64; 2]]) -> Vec<f32> {
    // Signed areas left of every edge, as differences along the row; their running sum is the coverage.
    let mut rows = vec![0.0_f64; (width + 2) * height];
    let stride = width + 2;
    for (k, a) in outline.iter().enumerate() {
        let b = outline[(k + 1) % outline.len()];
        // Pixel squares become unit squares with their corner at whole numbers.
        edge(&mut rows, width, height, stride, [a[0] + 0.5, a[1] + 0.5], [b[0] + 0.5, b[1] + 0.5]);
    }
    let mut out = Vec::with_capacity(width * height);
    for row in rows.chunks_exact(stride) {
        let mut sum = 0.0;
        out.extend(row[..width].iter().map(|d| {
            sum += d;
            (sum.abs().min(1.0)) as f32
        }));
    }
    out
}

/// One edge of an outline into the differences of [`coverage`].
fn edge(rows: &mut [f64], width: usize, height: usize, stride: usize, a: [f64; 2], b: [f64; 2]) {
    if a[1] == b[1] || !(a.iter().chain(&b).all(|v| v.is_finite())) {
        return;
    }
    let (sign, top, bottom) = if a[1] < b[1] { (1.0, a, b) } else { (-1.0, b, a) };
    let slope = (bottom[0] - top[0]) / (bottom[1] - top[1]);
    let from = top[1].max(0.0);
    let to = bottom[1].min(height as f64);
    let mut y = from;
    while y < to {
        let j = (y as usize).min(height - 1);
        let below = (j as f64 + 1.0).min(to);
        let x_at = |y: f64| top[0] + slope * (y - top[1]);
        span(&mut rows[j * stride..(j + 1) * stride], width, [x_at(y), x_at(below)], sign * (below - y));
        if below <= y {
            break;
        }
        y = below;
    }
}

/// A piece of an edge within one row, from x[0] to x[1] over `height` (signed) of it.
fn span(row: &mut [f64], width: usize, x: [f64; 2], height: f64) {
    let w = width as f64;
    let (l, r) = if x[0] < x[1] { (x[0], x[1]) } else { (x[1], x[0]) };
    // What lies left of the picture covers the whole row, what lies right of it none.
    if r <= 0.0 {
        row[0] += height;
        return;
    }
    if l >= w {
        return;
    }
    if l < 0.0 || r > w {
        // Cut at the sides; the pieces share the height.
        let part = |from: f64, to: f64| height * (to - from) / (r - l);
        if l < 0.0 {
            row[0] += part(l, 0.0);
        }
        let (inner_l, inner_r) = (l.max(0.0), r.min(w));
        span(row, width, [inner_l, inner_r], part(inner_l, inner_r));
        return;
    }
    let (i, last) = (l as usize, (r as usize).min(width));
    if i == last || r == (i + 1) as f64 {
        // Within one pixel: a trapeze.
        let inside = 1.0 - (0.5 * (l + r) - i as f64);
        row[i] += height * inside;
        row[i + 1] += height * (1.0 - inside);
        return;
    }
    let mut from = l;
    for k in i..=last {
        let to = ((k + 1) as f64).min(r);
        if to > from {
            let share = height * (to - from) / (r - l);
            let inside = 1.0 - (0.5 * (from + to) - k as f64);
            row[k] += share * inside;
            row[k + 1] += share * (1.0 - inside);
        }
        from = to;
    }
}

/// Fills a closed outline; `shade` gives the value at a pixel.
pub fn fill(picture: &mut Gray, outline: &[[f64; 2]], shade: &dyn Fn(f64, f64) -> f64) {
    let cover = coverage(picture.width(), picture.height(), outline);
    mix(picture, &cover, shade);
}

/// Draws a line through `points`, `width` pixels wide, with round ends and joints. The coverage falls by the distance from
/// the line's edge, over one pixel.
pub fn stroke(picture: &mut Gray, points: &[[f64; 2]], width: f64, shade: &dyn Fn(f64, f64) -> f64) {
    let (w, h) = (picture.width(), picture.height());
    let mut cover = vec![0.0_f32; w * h];
    let reach = 0.5 * width + 1.0;
    for s in points.windows(2) {
        let (a, b) = (s[0], s[1]);
        let bound = |k: usize, end: usize| {
            let low = (a[k].min(b[k]) - reach).max(0.0) as usize;
            let high = (a[k].max(b[k]) + reach).max(-1.0) + 1.0;
            low..(high as usize).min(end)
        };
        for j in bound(1, h) {
            for i in bound(0, w) {
                let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
                let (px, py) = (i as f64 - a[0], j as f64 - a[1]);
                let along =
                    ((px * dx + py * dy) / (dx * dx + dy * dy).max(f64::MIN_POSITIVE)).clamp(0.0, 1.0);
                let (ex, ey) = (px - along * dx, py - along * dy);
                let share = (0.5 * width + 0.5 - (ex * ex + ey * ey).sqrt()).clamp(0.0, width.min(1.0));
                cover[j * w + i] = cover[j * w + i].max(share as f32);
            }
        }
    }
    mix(picture, &cover, shade);
}

fn mix(picture: &mut Gray, cover: &[f32], shade: &dyn Fn(f64, f64) -> f64) {
    let w = picture.width();
    for (k, (value, c)) in picture.values_mut().iter_mut().zip(cover).enumerate() {
        if *c > 0.0 {
            let new = shade((k % w) as f64, (k / w) as f64);
            *value += *c * (new as f32 - *value);
        }
    }
}

/// A shade that goes evenly from value `a` at the point `from` to `b` at the point `to`, and on beyond them.
pub fn gradient(from: [f64; 2], a: f64, to: [f64; 2], b: f64) -> impl Fn(f64, f64) -> f64 {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let square = (dx * dx + dy * dy).max(f64::MIN_POSITIVE);
    move |x, y| a + (b - a) * ((x - from[0]) * dx + (y - from[1]) * dy) / square
}

/// Every value becomes the weighted mean of its neighbours along a row or a column; edge pixels go on beyond the picture.
fn convolve(picture: &mut Gray, kernel: &[f32], along_rows: bool) {
    let (w, h) = (picture.width(), picture.height());
    let half = kernel.len() / 2;
    let old = picture.clone();
    if w == 0 || h == 0 {
        return;
    }
    for j in 0..h {
        if along_rows {
            let from = old.row(j);
            for (i, out) in picture.row_mut(j).iter_mut().enumerate() {
                let value = |k: usize| from[(i + k).saturating_sub(half).min(w - 1)];
                *out = kernel.iter().enumerate().map(|(k, weight)| weight * value(k)).sum();
            }
        } else {
            let out = picture.row_mut(j);
            out.fill(0.0);
            for (k, weight) in kernel.iter().enumerate() {
                let from = old.row((j + k).saturating_sub(half).min(h - 1));
                out.iter_mut().zip(from).for_each(|(o, v)| *o += weight * v);
            }
        }
    }
}

/// Blur of a lens: a Gaussian of standard deviation `sigma` pixels, to five of them.
pub fn blur(picture: &mut Gray, sigma: f64) {
    if sigma <= 0.0 {
        return;
    }
    let half = libm::ceil(5.0 * sigma) as i32;
    let weights: Vec<f64> =
        (-half..=half).map(|k| libm::exp(-0.5 * (f64::from(k) / sigma) * (f64::from(k) / sigma))).collect();
    let sum: f64 = weights.iter().sum();
    let kernel: Vec<f32> = weights.iter().map(|w| (w / sum) as f32).collect();
    convolve(picture, &kernel, true);
    convolve(picture, &kernel, false);
}

/// The mean of `count` pictures: what a sensor sees while its shutter is open, `paint(u)` being what there is to see at the
/// share u of that time, at the middles of `count` equal parts. `None` for no picture, or pictures of different sizes.
pub fn expose(count: usize, mut paint: impl FnMut(f64) -> Gray) -> Option<Gray> {
    let mut sum: Option<Gray> = None;
    for k in 0..count {
        let one = paint((k as f64 + 0.5) / count as f64);
        match &mut sum {
            None => sum = Some(one),
            Some(s) if s.width() == one.width() && s.height() == one.height() => {
                s.values_mut().iter_mut().zip(one.values()).for_each(|(a, b)| *a += b);
            }
            Some(_) => return None,
        }
    }
    let mut out = sum?;
    out.values_mut().iter_mut().for_each(|v| *v /= count as f32);
    Some(out)
}

/// Smears a still picture along the way (dx, dy) in pixels: blur of a motion that is the same everywhere.
pub fn smear(picture: &mut Gray, way: [f64; 2]) {
    let length = (way[0] * way[0] + way[1] * way[1]).sqrt();
    let count = (4.0 * length) as usize + 1;
    let old = picture.clone();
    let (w, n) = (picture.width(), count as f64);
    for (k, value) in picture.values_mut().iter_mut().enumerate() {
        let (x, y) = ((k % w) as f64, (k / w) as f64);
        let at = |m: usize| (m as f64 + 0.5) / n - 0.5;
        *value = ((0..count).map(|m| old.at(x - at(m) * way[0], y - at(m) * way[1])).sum::<f64>() / n) as f32;
    }
}

/// A patch of glare: adds `peak` at its centre, falling off as a Gaussian with the deviations `radii` along x and y.
pub fn glare(picture: &mut Gray, centre: [f64; 2], radii: [f64; 2], peak: f64) {
    let w = picture.width();
    for (k, value) in picture.values_mut().iter_mut().enumerate() {
        let (x, y) = (((k % w) as f64 - centre[0]) / radii[0], ((k / w) as f64 - centre[1]) / radii[1]);
        let square = x * x + y * y;
        if square < 50.0 {
            *value += (peak * libm::exp(-0.5 * square)) as f32;
        }
    }
}

/// Noise of a sensor: normal, of variance `read`² + `shot` × value (shot noise grows with the light); independent from pixel to
/// pixel.
pub fn noise(picture: &mut Gray, read: f64, shot: f64, stream: &mut Stream) {
    let mut kept = None;
    for value in picture.values_mut() {
        // Marsaglia's polar method (Marsaglia & Bray 1964, SIAM Review 6, 260): two deviates at a time.
        let deviate = kept.take().unwrap_or_else(|| {
            loop {
                let (u, v) = (2.0 * stream.unit() - 1.0, 2.0 * stream.unit() - 1.0);
                let s = u * u + v * v;
                if s > 0.0 && s < 1.0 {
                    let f = (-2.0 * libm::log(s) / s).sqrt();
                    kept = Some(v * f);
                    return u * f;
                }
            }
        });
        let variance = read * read + shot * f64::from(*value).max(0.0);
        *value += (variance.sqrt() * deviate) as f32;
    }
}

/// What is kept of a picture: values cut to 0..1 (what is brighter than white is white) and rounded to `levels` steps (255 for
/// eight bits).
pub fn develop(picture: &mut Gray, levels: u16) {
    let n = f32::from(levels.max(1));
    picture.values_mut().iter_mut().for_each(|v| *v = (v.clamp(0.0, 1.0) * n).round() / n);
}

/// The eight-bit values of a developed picture.
pub fn bytes(picture: &Gray) -> Vec<u8> {
    picture.values().iter().map(|v| (v.clamp(0.0, 1.0) * 255.0).round() as u8).collect()
}

/// A grey picture of eight-bit values by rows; `None` when there are not `width` × `height` of them.
pub fn from_bytes(width: usize, height: usize, values: &[u8]) -> Option<Gray> {
    Gray::of(width, height, values.iter().map(|v| f32::from(*v) / 255.0).collect())
}

/// Writes a picture as eight-bit grey values.
fn write(picture: &Gray, coder: impl ImageEncoder) -> Result<(), String> {
    let size = |n: usize| u32::try_from(n).map_err(|e| e.to_string());
    let (width, height) = (size(picture.width())?, size(picture.height())?);
    coder.write_image(&bytes(picture), width, height, image::ExtendedColorType::L8).map_err(|e| e.to_string())
}

/// A picture as JPEG of `quality` 1 to 100.
///
/// # Errors
/// What the coder says, for sizes it does not take.
pub fn to_jpeg(picture: &Gray, quality: u8) -> Result<Vec<u8>, String> {
    let mut out = Vec::new();
    write(picture, JpegEncoder::new_with_quality(&mut out, quality.clamp(1, 100)))?;
    Ok(out)
}

/// A picture as PNG of eight bits.
///
/// # Errors
/// What the coder says, for sizes it does not take.
pub fn to_png(picture: &Gray) -> Result<Vec<u8>, String> {
    let mut out = Vec::new();
    write(picture, PngEncoder::new(&mut out))?;
    Ok(out)
}

/// A picture coded as JPEG and decoded again: what coding does to it.
///
/// # Errors
/// What the coder says.
pub fn jpeg(picture: &Gray, quality: u8) -> Result<Gray, String> {
    let coded = to_jpeg(picture, quality)?;
    let decoder = JpegDecoder::new(Cursor::new(coded)).map_err(|e| e.to_string())?;
    let decoded = image::DynamicImage::from_decoder(decoder).map_err(|e| e.to_string())?.into_luma8();
    from_bytes(picture.width(), picture.height(), decoded.as_raw())
        .ok_or_else(|| "the size changed".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sum(cover: &[f32]) -> f64 {
        cover.iter().map(|c| f64::from(*c)).sum()
    }

    /// Closed form: areas of polygons by the shoelace formula, cut by the picture or not; single pixels by hand.
    #[test]
    fn coverage_is_area() {
        let triangle = [[2.3, 1.1], [17.9, 4.6], [6.2, 15.4]];
        let shoelace = 0.5 * ((17.9 - 2.3) * (15.4 - 1.1) - (6.2 - 2.3) * (4.6 - 1.1_f64)).abs();
        assert!((sum(&coverage(20, 20, &triangle)) - shoelace).abs() < 1e-5);
        let turned: Vec<[f64; 2]> = triangle.iter().rev().copied().collect();
        let (one, other) = (coverage(20, 20, &triangle), coverage(20, 20, &turned));
        assert!(one.iter().zip(&other).all(|(a, b)| (a - b).abs() < 1e-12));
        // A square over the whole picture and beyond; one that sticks out on the left and below.
        assert_eq!(sum(&coverage(5, 4, &[[-9.0, -9.0], [30.0, -9.0], [30.0, 30.0], [-9.0, 30.0]])), 20.0);
        let out = coverage(5, 4, &[[-3.0, 1.25], [1.75, 1.25], [1.75, 9.0], [-3.0, 9.0]]);
        assert!((sum(&out) - 2.25 * 2.25).abs() < 1e-6, "{out:?}");
        assert!((out[5] - 0.25).abs() < 1e-6 && (out[7] - 0.25 * 0.25).abs() < 1e-6, "{out:?}");
        // A slant through many pixels of one row, and through the sides.
        let slant = coverage(6, 1, &[[-2.5, -0.5], [7.5, 0.5], [-2.5, 0.5]]);
        for (i, c) in slant.iter().enumerate() {
            // Left below the line y = (x − 2.5)/10.
            let want = 1.0 - (i as f64 + 2.5) / 10.0;
            assert!((f64::from(*c) - want).abs() < 1e-6, "{i}: {c} {want}");
        }
    }

    /// Closed form: blur and smear keep the sum of a spot and give it their variance along each axis.
    #[test]
    fn blurs_have_their_variance() {
        let spot = |change: &dyn Fn(&mut Gray)| {
            let mut p = Gray::filled(61, 61, 0.0);
            p.row_mut(30)[30] = 1.0;
            change(&mut p);
            let mut moments = [0.0; 3];
            for j in 0..61 {
                for i in 0..61 {
                    let v = f64::from(p.row(j)[i]);
                    let (x, y) = (i as f64 - 30.0, j as f64 - 30.0);
                    moments = [moments[0] + v, moments[1] + v * x * x, moments[2] + v * y * y];
                }
            }
            moments
        };
        let [mass, x, y] = spot(&|p| blur(p, 2.0));
        assert!((mass - 1.0).abs() < 1e-5 && (x - 4.0).abs() < 1e-3 && (y - 4.0).abs() < 1e-3, "{x} {y}");
        // A way of 12 pixels: 12²/12, and that of the interpolation between pixels, below 1/4.
        let [mass, x, y] = spot(&|p| smear(p, [0.0, 12.0]));
        assert!((mass - 1.0).abs() < 1e-5 && x < 1e-9 && (y - 12.0).abs() < 0.26, "{mass} {x} {y}");
    }

    #[test]
    fn noise_has_its_variance_and_its_seed() {
        let noisy = |seed| {
            let mut p = Gray::filled(200, 200, 0.5);
            noise(&mut p, 0.03, 0.002, &mut Stream::new(seed));
            p
        };
        let p = noisy(1);
        let n = 40_000.0;
        let mean = p.values().iter().map(|v| f64::from(*v)).sum::<f64>() / n;
        let variance = p.values().iter().map(|v| (f64::from(*v) - mean).powi(2)).sum::<f64>() / n;
        // Four standard errors of a mean and of a variance.
        let want = 0.03 * 0.03 + 0.002 * 0.5;
        assert!((mean - 0.5).abs() < 4.0 * (want / n).sqrt());
        assert!((variance / want - 1.0).abs() < 4.0 * (2.0 / n).sqrt(), "{variance} {want}");
        assert!(p == noisy(1) && p != noisy(2));
    }

    #[test]
    fn shutter_glare_stroke_and_coding() {
        let p = expose(4, |u| Gray::filled(3, 2, u as f32)).unwrap();
        assert!((p.at(1.0, 1.0) - 0.5).abs() < 1e-6);
        assert!(expose(0, |_| Gray::filled(1, 1, 0.0)).is_none());
        let mut g = Gray::filled(40, 30, 0.4);
        glare(&mut g, [20.0, 10.0], [4.0, 2.0], 2.0);
        develop(&mut g, 255);
        assert!(g.at(20.0, 10.0) == 1.0 && (g.at(0.0, 29.0) - 0.4).abs() < 1e-6);
        let mut line = Gray::filled(40, 30, 1.0);
        stroke(&mut line, &[[5.0, 10.3], [34.0, 10.3]], 4.0, &|_, _| 0.0);
        let dark: f64 = (0..30).map(|j| 1.0 - line.at(20.0, j as f64)).sum();
        assert!((dark - 4.0).abs() < 1e-5, "{dark}");
        let mut shaded = Gray::filled(64, 64, 0.0);
        let shade = gradient([0.0, 0.0], 0.2, [63.0, 0.0], 0.8);
        fill(&mut shaded, &[[-1.0, -1.0], [70.0, -1.0], [70.0, 70.0], [-1.0, 70.0]], &shade);
        let coded = jpeg(&shaded, 90).unwrap();
        let worst =
            (0..64).map(|i| (coded.at(i as f64, 30.0) - shaded.at(i as f64, 30.0)).abs()).fold(0.0, f64::max);
        assert!((shaded.at(63.0, 5.0) - 0.8).abs() < 1e-6 && worst < 0.02 && worst > 0.0, "{worst}");
        assert!(jpeg(&Gray::filled(0, 0, 0.0), 90).is_err());
        assert_eq!(from_bytes(64, 64, &bytes(&coded)).unwrap(), coded);
    }
}
