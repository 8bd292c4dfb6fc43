//! `calotte rehearse clip`: an invented clip of a computed release, with blur, noise, glare and dropped frames as asked.

use std::path::{Path, PathBuf};

use calotte_desk::release::{Options as Asked, compute};
use calotte_desk::{Watch, misread};
use calotte_lab::clip::invent::{Filming, Invented, gif};
use calotte_lab::picture::paint as invented;
use calotte_quantity::{Dimension, Quantity};

use crate::answer::{read_to_turn, refused};
use crate::progress::Bars;
use crate::{End, files, paint};

/// Options of the command.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Case file (TOML) of the part.
    case: PathBuf,
    /// Folder for the pictures (PNG), or a file that ends in `.gif`.
    #[arg(long, value_name = "PATH")]
    out: PathBuf,
    /// Frames a second (default: forty in the snap).
    #[arg(long, value_name = "RATE")]
    fps: Option<f64>,
    /// Size of the pictures.
    #[arg(long, value_name = "WxH", default_value = "320x240")]
    size: String,
    /// Most frames.
    #[arg(long, default_value_t = 600, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(20..=100_000))]
    frames: u32,
    /// Time before the snap with which the clip begins, in snap times.
    #[arg(long, default_value_t = 5.0, value_name = "TIMES")]
    before: f64,
    /// Share of the time between frames for which the shutter is open.
    #[arg(long, default_value_t = 0.2, value_name = "SHARE")]
    shutter: f64,
    /// Blur of the lens, pixels.
    #[arg(long, default_value_t = 0.9, value_name = "PX")]
    blur: f64,
    /// Noise of a pixel, as a share of white.
    #[arg(long, default_value_t = 0.01, value_name = "SHARE")]
    noise: f64,
    /// Share of frames with a patch of glare.
    #[arg(long, default_value_t = 0.0, value_name = "SHARE")]
    glare: f64,
    /// Share of frames that are dropped.
    #[arg(long, default_value_t = 0.0, value_name = "SHARE")]
    drops: f64,
    /// Tilt of the camera, `1 deg`.
    #[arg(long, default_value = "0 deg", value_name = "ANGLE", allow_hyphen_values = true)]
    tilt: String,
    /// Write JPEG of this quality, 1 to 100, instead of PNG.
    #[arg(long, value_name = "QUALITY", value_parser = clap::value_parser!(u8).range(1..=100))]
    jpeg: Option<u8>,
    /// Seed of everything drawn.
    #[arg(long, default_value_t = 1, value_name = "NUMBER")]
    seed: u64,
}

fn size(text: &str) -> Option<[usize; 2]> {
    let (w, h) = text.split_once(['x', '×'])?;
    let side = |s: &str| s.trim().parse::<usize>().ok().filter(|n| (60..=4000).contains(n));
    Some([side(w)?, side(h)?])
}

fn wrong(o: &Options) -> Option<String> {
    let shares = [("--shutter", o.shutter), ("--noise", o.noise), ("--glare", o.glare), ("--drops", o.drops)];
    let share = shares.iter().find(|s| !(0.0..=1.0).contains(&s.1));
    let rest = [("--blur", o.blur, 20.0), ("--before", o.before, 1e6)];
    let other = rest.iter().find(|s| !(0.0..=s.2).contains(&s.1));
    share
        .map(|s| format!("{} {}: a share lies between 0 and 1", s.0, s.1))
        .or_else(|| other.map(|s| format!("{} {}: it lies between 0 and {}", s.0, s.1, s.2)))
        .or_else(|| {
            o.fps
                .filter(|f| !(f.is_finite() && *f > 0.0))
                .map(|f| format!("--fps {f}: it must be greater than 0"))
        })
}

pub(super) fn clip(o: &Options) -> End {
    let bad = |why: &str| {
        paint::complain(why);
        End::BadInput
    };
    if let Some(why) = wrong(o) {
        return bad(&why);
    }
    let Some([width, height]) = size(&o.size) else {
        return bad(&format!("--size {}: write for example 320x240, each side between 60 and 4000", o.size));
    };
    let tilt = match Quantity::parse(&o.tilt, Dimension::Angle) {
        Ok(q) => q.value,
        Err(e) => return bad(&misread(&format!("--tilt {}", o.tilt), &e).to_string()),
    };
    let Some(case) = read_to_turn(&o.case) else { return End::BadInput };
    let bars = Bars::new();
    let whole = match compute(&case, &Asked::default(), 1, &bars) {
        Ok((whole, _)) => whole,
        Err(refusal) => {
            drop(bars);
            return refused(&refusal, "");
        }
    };
    let snap_time = whole.release.snap.as_ref().map_or(1e-3, |s| s.snap_time_s);
    let usual = {
        // Forty frames in the snap, as a round number.
        let rate = 40.0 / snap_time;
        let ten = libm::pow(10.0, libm::floor(libm::log10(rate)));
        (rate / ten).ceil() * ten
    };
    let rate = o.fps.unwrap_or(usual);
    let filming = Filming {
        width,
        height,
        rate,
        shutter: o.shutter / rate,
        blur: o.blur,
        noise: o.noise,
        glare: o.glare,
        drops: o.drops,
        tilt,
        jpeg: o.jpeg,
        seed: o.seed,
    };
    let film = match Invented::new(&whole.release, filming, o.before * snap_time, o.frames as usize) {
        Ok(film) => film,
        Err(why) => {
            drop(bars);
            return bad(&format!("{}: {why}", o.case.display()));
        }
    };
    let written = write(o, &film, &bars);
    drop(bars);
    match written {
        Ok(Some(dropped)) => tell(o, &film, rate, dropped),
        Ok(None) => {
            paint::complain("stopped");
            End::Stopped
        }
        Err(e) => bad(&format!("cannot write {}: {e}", o.out.display())),
    }
}

/// Writes the frames; how many were dropped, or nothing when stopped.
fn write(o: &Options, film: &Invented<'_>, watch: &dyn Watch) -> Result<Option<usize>, String> {
    let count = film.count();
    let is_gif = o.out.extension().is_some_and(|e| e.eq_ignore_ascii_case("gif"));
    let mut dropped = 0;
    if !is_gif {
        std::fs::create_dir_all(&o.out).map_err(|e| e.to_string())?;
    }
    let mut kept = Vec::new();
    for number in 0..count {
        if !watch.progress(Some(number as f64 / count as f64), "painting frames") {
            return Ok(None);
        }
        let Some(picture) = film.frame(number)? else {
            dropped += 1;
            continue;
        };
        if is_gif {
            kept.push((number, picture));
            continue;
        }
        let (bytes, ending) = match o.jpeg {
            Some(quality) => (invented::to_jpeg(&picture, quality)?, "jpg"),
            None => (invented::to_png(&picture)?, "png"),
        };
        let name = format!("frame_{number:05}.{ending}");
        files::write(&o.out.join(name), &bytes).map_err(|e| e.to_string())?;
    }
    if is_gif {
        // A frame that was dropped leaves the one before it on the screen.
        let ends: Vec<usize> = kept.iter().skip(1).map(|k| k.0).chain([count]).collect();
        let mut shown = kept.into_iter().zip(ends).map(|((n, p), end)| (p, GIF_CS * (end - n) as u32));
        let bytes = gif(&mut shown)?;
        files::write(&o.out, &bytes).map_err(|e| e.to_string())?;
    }
    Ok(Some(dropped))
}

/// How long a frame is shown in a GIF, hundredths of a second.
const GIF_CS: u32 = 4;

fn tell(o: &Options, film: &Invented<'_>, rate: f64, dropped: usize) -> End {
    let line = |l: calotte_lab::clip::Line| {
        format!("{:.1},{:.1},{:.1},{:.1}", l.from[0], l.from[1], l.to[0], l.to[1])
    };
    let [pole, left, right] = film.lines().map(line);
    let quoted = |p: &Path| p.display().to_string();
    paint::line(&format!(
        "Invented clip: {} frames ({dropped} dropped), {} frames a second, from {:.6} s after letting go; {:.3} µm a pixel.\n\
         A pin of no weight stands on the pole, a level card sits on each side of the rim, so that all can be followed.\n\n\
         Read it with:\n  calotte clip {} --fps {rate} --scale \"{:.6} mm/px\" --let-go \"{:.6} ms\" --shutter \"{:.6} ms\" \\\n    \
         --line {pole} --rim-left {left} --rim-right {right} --case {}",
        film.count() - dropped,
        rate,
        film.span[0],
        film.scale * 1e6,
        quoted(&o.out),
        film.scale * 1e3,
        -film.span[0] * 1e3,
        o.shutter / rate * 1e3,
        quoted(&o.case)
    ))
}
