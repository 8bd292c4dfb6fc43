//! Options of films and exports read: sizes, bytes, seconds, factors, lists of formats.

use calotte_desk::Refusal;
use calotte_figures::animation::{Format, LONGEST, SIDES};

/// Seconds that a film may last.
const SECONDS: std::ops::RangeInclusive<f64> = 1.0..=LONGEST;
/// Factors of slow motion.
const FACTORS: std::ops::RangeInclusive<f64> = 1e-9..=1e9;

/// `640x480`.
pub(crate) fn size(text: &str) -> Result<(u32, u32), Refusal> {
    let read =
        text.split_once(['x', '×']).and_then(|(w, h)| Some((w.trim().parse().ok()?, h.trim().parse().ok()?)));
    let Some((width, height)) = read else {
        return Err(Refusal::with_help(
            format!("--size {text}: is not a size"),
            "a size is pixels across, `x`, pixels down: `640x480`",
        ));
    };
    // What is shown needs room for words and a chart below the part.
    let sound = (320..=*SIDES.end()).contains(&width) && (240..=*SIDES.end()).contains(&height);
    let shape = f64::from(height) / f64::from(width);
    if !sound || !(0.7..=3.0).contains(&shape) {
        return Err(Refusal::with_help(
            format!(
                "--size {text}: films have 320 to {0} pixels across, 240 to {0} down, and are 0.7 to 3 times as tall as wide",
                SIDES.end()
            ),
            "for example `--size 640x480`",
        ));
    }
    Ok((width, height))
}

/// `8` or `8 s`.
pub(crate) fn seconds(text: &str) -> Result<f64, Refusal> {
    let read = text.trim().trim_end_matches('s').trim().parse::<f64>();
    match read {
        Ok(s) if SECONDS.contains(&s) => Ok(s),
        _ => Err(Refusal::with_help(
            format!("--seconds {text}: a film lasts from {} to {} s", SECONDS.start(), SECONDS.end()),
            "for example `--seconds 8`",
        )),
    }
}

/// `auto` or a factor.
pub(crate) fn slow_motion(text: &str) -> Result<Option<f64>, Refusal> {
    if text == "auto" {
        return Ok(None);
    }
    match text.trim().trim_end_matches(['x', '×']).trim().parse::<f64>() {
        Ok(f) if FACTORS.contains(&f) => Ok(Some(f)),
        _ => Err(Refusal::with_help(
            format!("--slow-motion {text}: is neither `auto` nor a factor"),
            "a factor says how many times slower than it happens it plays: `--slow-motion 500`",
        )),
    }
}

/// `5MB`, `800 kB`, `2000000`.
pub(crate) fn bytes(option: &str, text: &str) -> Result<u64, Refusal> {
    let text = text.trim();
    let unit = text.trim_start_matches(|c: char| c.is_ascii_digit() || matches!(c, '.' | ' '));
    let number = text[..text.len() - unit.len()].trim().parse::<f64>();
    let factor = match unit {
        "" | "B" => Some(1.0),
        "kB" | "KB" => Some(1e3),
        "MB" => Some(1e6),
        "GB" => Some(1e9),
        "KiB" => Some(1024.0),
        "MiB" => Some(1024.0 * 1024.0),
        _ => None,
    };
    match (number, factor) {
        (Ok(n), Some(f)) if (1.0..1e15).contains(&(n * f)) => Ok((n * f) as u64),
        _ => Err(Refusal::with_help(
            format!("{option} {text}: is not a number of bytes"),
            "for example `5MB` or `800 kB`",
        )),
    }
}

/// Bytes in words.
pub(crate) fn said(bytes: u64) -> String {
    let b = bytes as f64;
    if b < 1e4 {
        format!("{bytes} B")
    } else if b < 1e6 {
        format!("{:.0} kB", b / 1e3)
    } else {
        format!("{:.2} MB", b / 1e6)
    }
}

/// `gif,apng,mp4,html`: files made here, each once, and whether there is to be a video.
pub(crate) fn formats(text: &str) -> Result<(Vec<Format>, bool), Refusal> {
    let (mut out, mut video) = (Vec::new(), false);
    for name in text.split(',').map(|n| n.trim().to_ascii_lowercase()) {
        match name.as_str() {
            "gif" => out.push(Format::Gif),
            "apng" => out.push(Format::Apng),
            "html" => out.push(Format::Html),
            "mp4" => video = true,
            other => {
                return Err(Refusal::with_help(
                    format!("--formats {text}: `{other}` is no format of films"),
                    "formats are gif, apng, mp4 and html",
                ));
            }
        }
    }
    out.sort_unstable();
    out.dedup();
    Ok((out, video))
}
