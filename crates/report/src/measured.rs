//! Measured beside computed: what `side`, `clip`, `bench` and `logbook` wrote, set beside the answers of this case.
//!
//! Errors are standard deviations. Those of the case are half the tolerances (a tolerance is two standard deviations), carried to a
//! size by first differences and summed in squares. Apart is the difference over the root of both errors squared; where only one
//! side has an error, that one alone, and the table says so.

use calotte_answers::explain::{degrees, digits, duration, frequency, length, speed};
use calotte_desk::{Refusal, Reply, release, verdict};
use calotte_specimen::{Case, Meridian, Part};
use serde::Serialize;
use serde_json::Value;

use crate::book::Book;
use crate::lead::{number, of, with_half_width, word};
use crate::model::{BoxKind, Line};
use crate::request::Given;

/// Deviations beyond which a reading is told to differ.
const APART: f64 = 3.0;

/// What a number measures.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shows {
    Length,
    Angle,
    Time,
    Speed,
    Frequency,
    Modulus,
    Number,
    Load,
    Temperature,
}

impl Shows {
    fn unit(self) -> &'static str {
        match self {
            Self::Length => "m",
            Self::Angle => "rad",
            Self::Time => "s",
            Self::Speed => "m/s",
            Self::Frequency => "Hz",
            Self::Modulus => "Pa",
            Self::Number => "1",
            Self::Load => "N",
            Self::Temperature => "K",
        }
    }
    /// A number with its standard deviation, in the unit that people use for it.
    fn print(self, value: f64, sd: Option<f64>) -> String {
        let (scale, unit) = match self {
            Self::Length => (1e3, " mm"),
            Self::Angle => (1.0_f64.to_degrees(), "°"),
            Self::Speed => (1.0, " m/s"),
            Self::Frequency => (1.0, " Hz"),
            Self::Modulus => (1e-6, " MPa"),
            Self::Time if value.abs() < 1.0 => (1e3, " ms"),
            Self::Time => (1.0, " s"),
            Self::Number => (1.0, ""),
            Self::Load => (1.0, " N"),
            Self::Temperature => (1.0, " K"),
        };
        match sd {
            Some(sd) => format!("{}{unit}", with_half_width(value * scale, Some(sd * scale))),
            None => match self {
                Self::Length => length(value),
                Self::Angle => degrees(value),
                Self::Time => duration(value),
                Self::Speed => speed(value),
                Self::Frequency => frequency(value),
                Self::Modulus => format!("{} MPa", digits(value * 1e-6, 4)),
                Self::Number => digits(value, 4),
                Self::Load => calotte_answers::explain::force(value),
                Self::Temperature => format!("{} K", digits(value, 5)),
            },
        }
    }
}

/// A number read and the same number computed.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct Compared {
    /// File it was read from.
    pub file: String,
    /// What it is.
    pub what: String,
    /// SI unit.
    pub unit: &'static str,
    /// As measured.
    pub measured_SI: f64,
    /// Its standard deviation.
    pub measured_deviation_SI: Option<f64>,
    /// As computed.
    pub computed_SI: f64,
    /// Its standard deviation by the tolerances of the case; `None` where it was not computed.
    pub computed_deviation_SI: Option<f64>,
    /// Difference over both deviations; `None` where neither is known or the two are not quite the same thing.
    pub z: Option<f64>,
    #[serde(skip)]
    shows: [String; 2],
}

/// A kind of measurement.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// A side view.
    Side,
    /// A clip.
    Clip,
    /// Bench tests.
    Bench,
    /// A logbook.
    Logbook,
}

/// An answer about measurements.
#[derive(Clone, Debug)]
pub struct Measurement {
    /// File name.
    pub name: String,
    /// What kind.
    pub kind: Kind,
    /// The answer.
    pub answer: Value,
}

/// Layout of the answers that can be read.
const LAYOUT: u64 = 1;

/// Reads an answer about measurements.
///
/// # Errors
/// A [`Refusal`] for a file that is no such answer, with what would be one.
pub fn read(file: &Given) -> Result<Measurement, Refusal> {
    let help = "give the answer.json that `calotte side`, `clip`, `bench` or `logbook` wrote with --out";
    let place = format!("--measured {}", file.name);
    let answer: Value = serde_json::from_slice(&file.bytes)
        .map_err(|e| Refusal::with_help(format!("{place}: is no JSON ({e})"), help))?;
    let all = |keys: &[&str]| keys.iter().all(|k| answer.get(k).is_some());
    let kind = if all(&["stance", "scale", "free_form"]) {
        Kind::Side
    } else if all(&["track", "lines", "figures"]) {
        Kind::Clip
    } else if all(&["case_block", "estimates"]) {
        Kind::Bench
    } else if all(&["trial_count", "specimens", "sought"]) {
        Kind::Logbook
    } else if all(&["provenance", "schema_version"]) {
        let says = format!("{place}: is a computed answer, nothing is measured in it");
        return Err(Refusal::with_help(says, help));
    } else {
        return Err(Refusal::with_help(format!("{place}: is not an answer of this program"), help));
    };
    match answer.get("schema_version").and_then(Value::as_u64) {
        Some(LAYOUT) => {}
        other => {
            let other = other.map_or("none".to_owned(), |v| v.to_string());
            let says = format!("{place}: has layout version {other}; this program reads {LAYOUT}");
            return Err(Refusal::with_help(says, "write it anew with this program"));
        }
    }
    Ok(Measurement { name: file.name.clone(), kind, answer })
}

/// Sizes that a part has: value, and its deviation by the tolerances of the case.
fn sized(case: &Case, size: &dyn Fn(&Part) -> Option<f64>) -> Option<(f64, Option<f64>)> {
    let here = size(case.part())?;
    let mut variance = 0.0;
    for (i, input) in case.inputs().iter().enumerate() {
        let Some(half) = input.half_width.filter(|h| *h > 0.0) else { continue };
        let moved = |by: f64| case.part_with(i, input.value + by).ok().and_then(|p| size(&p));
        // A tolerance is two standard deviations.
        if let (Some(up), Some(down)) = (moved(0.5 * half), moved(-0.5 * half)) {
            variance += (0.5 * (up - down)) * (0.5 * (up - down));
        }
    }
    Some((here, (variance > 0.0).then(|| variance.sqrt())))
}

/// The outer face of a spherical cap without a hole: radius of the face, half-angle, and wall.
fn outer(part: &Part) -> Option<(f64, f64, f64)> {
    let Meridian::Sphere(c) = &part.meridian else { return None };
    let wall = part.wall.thickness(part.meridian.length());
    (c.hole_angle == 0.0).then_some((c.radius + 0.5 * wall, c.half_angle, wall))
}

struct Table<'a> {
    file: &'a str,
    rows: Vec<Compared>,
}

impl Table<'_> {
    fn add(
        &mut self,
        what: &str,
        shows: Shows,
        measured: (f64, Option<f64>),
        computed: (f64, Option<f64>),
        same: bool,
    ) {
        let variance: f64 = [measured.1, computed.1].into_iter().flatten().map(|s| s * s).sum();
        let z = (same && variance > 0.0).then(|| (measured.0 - computed.0) / variance.sqrt());
        self.rows.push(Compared {
            file: self.file.to_owned(),
            what: what.to_owned(),
            unit: shows.unit(),
            measured_SI: measured.0,
            measured_deviation_SI: measured.1,
            computed_SI: computed.0,
            computed_deviation_SI: computed.1,
            z,
            shows: [shows.print(measured.0, measured.1), shows.print(computed.0, computed.1)],
        });
    }
}

/// `value` and `standard_error` at a path.
fn pair(v: &Value, path: &str, deviation: &str) -> Option<(f64, Option<f64>)> {
    Some((number(v, &format!("{path}/value"))?, number(v, &format!("{path}/{deviation}"))))
}

fn side(t: &mut Table<'_>, a: &Value, case: &Case, replies: &[Reply]) {
    type Size = fn(&Part) -> Option<f64>;
    let sizes: [(&str, &str, Shows, Size); 5] = [
        ("radius of the outer face", "sphere/radius_m", Shows::Length, |p| outer(p).map(|o| o.0)),
        ("half-angle", "sphere/half_angle_rad", Shows::Angle, |p| outer(p).map(|o| o.1)),
        ("diameter of the rim's outer edge", "sphere/rim_diameter_m", Shows::Length, |p| {
            outer(p).map(|o| 2.0 * o.0 * libm::sin(o.1))
        }),
        ("rise of the outer face", "sphere/rise_m", Shows::Length, |p| {
            outer(p).map(|o| o.0 * (1.0 - libm::cos(o.1)))
        }),
        ("wall", "wall/thickness_m", Shows::Length, |p| Some(p.wall.thickness(p.meridian.length()))),
    ];
    let natural = word(a, "view") == "natural";
    for (what, path, shows, size) in sizes {
        if !natural && what != "wall" {
            continue;
        }
        if let (Some(measured), Some(computed)) = (pair(a, path, "standard_error"), sized(case, &size)) {
            t.add(what, shows, measured, computed, true);
        }
    }
    let lip = of(replies, verdict::NAME).and_then(|r| number(&r.report, "inverted/lip_width_m"));
    if let (Some(measured), Some(computed), false) = (pair(a, "lip/width_m", "standard_error"), lip, natural)
    {
        t.add(
            "lip, on the face seen (computed: on the middle of the wall)",
            Shows::Length,
            measured,
            (computed, None),
            false,
        );
    }
}

fn clip(t: &mut Table<'_>, a: &Value, replies: &[Reply]) {
    let Some(computed) = of(replies, release::NAME) else { return };
    for (what, path, shows, at) in [
        ("wait", "figures/wait_s", Shows::Time, "snap/wait_s"),
        ("snap time", "figures/snap_time_s", Shows::Time, "snap/snap_time_s"),
        ("peak speed", "figures/peak_speed_m_per_s", Shows::Speed, "snap/peak_speed_m_per_s"),
        ("ringing", "figures/ringing_frequency_Hz", Shows::Frequency, "ringing/frequency_Hz"),
        ("jump height", "figures/jump_height_m", Shows::Length, "jump/height_m"),
    ] {
        if let (Some(measured), Some(value)) = (pair(a, path, "deviation"), number(&computed.report, at)) {
            t.add(what, shows, measured, (value, None), true);
        }
    }
}

fn bench(t: &mut Table<'_>, a: &Value, case: &Case) {
    let input = |key: &str| case.inputs().iter().find(|i| i.key == key);
    let modulus = number(a, "combined/youngs_modulus_Pa");
    let relative = number(a, "combined/relative_deviation");
    if let Some(value) = modulus {
        let sd = input("material.youngs_modulus").and_then(|i| i.half_width).map(|h| 0.5 * h);
        let own = case.part().material.youngs;
        t.add("Young's modulus", Shows::Modulus, (value, relative.map(|r| r * value)), (own, sd), true);
    }
    let walls = a.get("thickness").and_then(Value::as_array);
    for wall in walls.into_iter().flatten() {
        // The readings' own scatter is that of one reading; the mean of a wall says how thick the part is within it.
        let sd = number(wall, "reading_deviation_m").zip(number(wall, "scatter_m")).map(|(a, b)| a.max(b));
        if let (Some(mean), Some(own)) =
            (number(wall, "mean_m"), sized(case, &|p| Some(p.wall.thickness(p.meridian.length()))))
        {
            t.add(&format!("wall, {}", word(wall, "test")), Shows::Length, (mean, sd), own, true);
        }
    }
    let left = number(a, "memory/share_left").map(|v| (v, number(a, "memory/share_left_error")));
    if let (Some(left), Some(memory)) = (left, case.motion().memory.as_ref()) {
        t.add(
            "modulus left after a long time, over that at once",
            Shows::Number,
            left,
            (1.0 - memory.loss(), None),
            true,
        );
    }
}

fn logbook(t: &mut Table<'_>, a: &Value) {
    let sets = a.get("compared").and_then(Value::as_array);
    for set in sets.into_iter().flatten() {
        let shows = match word(set, "unit") {
            "s" => Shows::Time,
            "N" => Shows::Load,
            "K" => Shows::Temperature,
            _ => Shows::Number,
        };
        let logarithmic = set.get("logarithmic").and_then(Value::as_bool) == Some(true);
        for row in set.get("rows").and_then(Value::as_array).into_iter().flatten() {
            let (Some(read), Some(own)) = (number(row, "read_si"), number(row, "computed_si")) else {
                continue;
            };
            let what = format!("{} of {}", word(set, "what"), word(row, "specimen"));
            // In logarithms a deviation is a share of the value.
            let sd =
                |key: &str, value: f64| number(row, key).map(|s| if logarithmic { s * value } else { s });
            t.add(&what, shows, (read, sd("read_sd", read)), (own, sd("computed_sd", own)), true);
            if let (Some(last), Some(z)) = (t.rows.last_mut(), number(row, "z")) {
                // The logbook's own, which weighs logarithms.
                last.z = Some(z);
            }
        }
    }
}

/// What the measurements say beside the answers.
pub(crate) fn compare(measurements: &[Measurement], case: &Case, replies: &[Reply]) -> Vec<Compared> {
    let mut out = Vec::new();
    for m in measurements {
        let mut t = Table { file: &m.name, rows: Vec::new() };
        match m.kind {
            Kind::Side => side(&mut t, &m.answer, case, replies),
            Kind::Clip => clip(&mut t, &m.answer, replies),
            Kind::Bench => bench(&mut t, &m.answer, case),
            Kind::Logbook => logbook(&mut t, &m.answer),
        }
        out.append(&mut t.rows);
    }
    out
}

/// How many deviations apart, in words.
fn apart(z: Option<f64>) -> Line {
    match z {
        None => Line::of("not judged"),
        Some(z) if z.abs() > APART => Line::strong(&format!("{} apart", digits(z.abs(), 2))),
        Some(z) => Line::of(&digits(z.abs(), 2)),
    }
}

/// Writes the chapter; nothing without measurements.
pub(crate) fn chapter(book: &mut Book, measurements: &[Measurement], rows: &[Compared], case: &Case) {
    if measurements.is_empty() {
        return;
    }
    book.chapter("Measured beside computed");
    let judged: Vec<f64> = rows.iter().filter_map(|r| r.z).map(f64::abs).collect();
    let far = judged.iter().filter(|z| **z > APART).count();
    book.text(Line::of(&match (judged.len(), far) {
        (0, _) => "Nothing that was measured has a number of this case beside it that it could be judged by.".to_owned(),
        (n, 0) => format!("{n} numbers were measured and computed; none is more than {APART} standard deviations apart."),
        (n, far) => format!("{n} numbers were measured and computed; {far} of them more than {APART} standard deviations apart."),
    }));
    for m in measurements {
        let kind = match m.kind {
            Kind::Side => "Side view",
            Kind::Clip => "Clip",
            Kind::Bench => "Bench tests",
            Kind::Logbook => "Logbook",
        };
        book.section(&format!("{kind}: {}", m.name));
        let own: Vec<&Compared> = rows.iter().filter(|r| r.file == m.name).collect();
        let told = own
            .iter()
            .map(|r| vec![Line::of(&r.what), Line::of(&r.shows[0]), Line::of(&r.shows[1]), apart(r.z)])
            .collect();
        book.table(
            "± is one standard deviation; none beside a computed number: its own error is not known and not counted.",
            false,
            &["what", "measured", "computed", "deviations apart"],
            &[34, 24, 24, 18],
            told,
        );
        if own.is_empty() {
            book.text(Line::of("It measures nothing that this report computes."));
        }
        let digest = m.answer.pointer("/provenance/case_digest").and_then(Value::as_str);
        if m.kind == Kind::Logbook && digest.is_some_and(|d| d != case.digest()) {
            book.aside(
                BoxKind::Note,
                "Another case",
                vec![Line::of("The logbook was asked beside a case file that is not this one; its computed numbers are of that case.")],
            );
        }
        let mut said: Vec<Line> = Vec::new();
        let texts = |key: &str| m.answer.get(key).and_then(Value::as_array).cloned().unwrap_or_default();
        for key in ["explanation", "doubts"] {
            let doubt = if key == "doubts" { "Doubt: " } else { "" };
            said.extend(
                texts(key).iter().filter_map(Value::as_str).map(|s| Line::of(&format!("{doubt}{s}"))),
            );
        }
        if let Some(says) = m.answer.pointer("/comparison/says").and_then(Value::as_str) {
            said.push(Line::of(says));
        }
        if let Some(words) = m.answer.pointer("/comparison/words").and_then(Value::as_array) {
            said.extend(words.iter().filter_map(Value::as_str).map(Line::of));
        }
        book.list(said);
    }
}
