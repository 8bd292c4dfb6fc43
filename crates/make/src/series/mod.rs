//! A series of specimens on both sides of a threshold, chosen so that theory is tested best, with what is predicted of each.

mod design;
mod outlook;
mod pages;

use calotte_answers::gauge::NoReading;
use calotte_chance::normal;
use calotte_solve::Work;
use calotte_specimen::Case;

pub use design::{MOST, best, information};
pub(crate) use outlook::Outlook;
pub use pages::page;

/// What is asked.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ask {
    /// Which number of the case varies.
    pub input: usize,
    /// How many specimens.
    pub count: usize,
    /// How far theory is held to be off beforehand: standard deviation of ln of the thickness that acts.
    pub doubt: f64,
    /// Scatter of the margin of one specimen from try to try, standard deviation.
    pub scatter: f64,
    /// Sizes are rounded to multiples of this, SI.
    pub step: f64,
}

/// What is predicted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Outcome {
    /// Stays inverted.
    Stays,
    /// Rests a while after the hold of the case, then returns.
    Waits,
    /// Returns at once.
    Returns,
    /// Does not stay; whether it waits first is not known.
    DoesNotStay,
}

impl Outcome {
    /// In a word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Stays => "stays",
            Self::Waits => "waits",
            Self::Returns => "returns",
            Self::DoesNotStay => "does not stay",
        }
    }
}

/// A specimen.
#[derive(Clone, Debug, PartialEq)]
pub struct Member {
    /// `S1`, `S2`, … from the one that stays most surely.
    pub label: String,
    /// The number that varies, SI, as it is to be made.
    pub value: f64,
    /// ln(h*/h) at that value.
    pub margin: f64,
    /// What is predicted.
    pub outcome: Outcome,
    /// Chance that it stays: scatter, tolerances and doubt of theory together.
    pub stays: f64,
    /// The case with this number, as text.
    pub case_toml: String,
}

/// A series.
#[derive(Clone, Debug, PartialEq)]
pub struct Series {
    /// The specimens, from the largest margin to the smallest.
    pub members: Vec<Member>,
    /// Value at the threshold, SI.
    pub threshold: f64,
    /// Scatter of margins from specimen to specimen (tolerance of the number that varies, and from try to try), standard deviation.
    pub sigma: f64,
    /// How far all margins may be off together (doubt of theory, tolerances of numbers that all share), standard deviation.
    pub tau: f64,
    /// What the outcomes will tell of how far theory is off, bits on average.
    pub bits: f64,
    /// What the maker should know.
    pub notes: Vec<String>,
}

/// Why there is none.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NoSeries {
    /// What is wrong.
    pub says: String,
    /// What would work.
    pub help: String,
}

fn no(says: impl Into<String>, help: impl Into<String>) -> NoSeries {
    NoSeries { says: says.into(), help: help.into() }
}

/// Steps in search of a value with a margin.
const STEPS: usize = 40;
/// How near it has to come.
const NEAR: f64 = 1e-5;

struct Reader<'a> {
    outlook: &'a Outlook<'a>,
    input: usize,
}

impl Reader<'_> {
    fn margin(&self, value: f64, work: &mut Work) -> Result<f64, NoReading> {
        self.outlook.margin(&[(self.input, value)], work)
    }

    /// The value with a margin, by the secant rule in ln(value), from a value whose margin is known.
    fn value(&self, wanted: f64, from: (f64, f64), slope: f64, work: &mut Work) -> Result<f64, String> {
        let (mut x, mut f) = (libm::log(from.0), from.1 - wanted);
        let mut slope = slope;
        for _ in 0..STEPS {
            if f.abs() < NEAR {
                return Ok(libm::exp(x));
            }
            // No further than a seventh at a time: the part must stay one.
            let mut step = (-f / slope).clamp(-0.15, 0.15);
            let mut read = self.margin(libm::exp(x + step), work);
            for _ in 0..6 {
                if read.is_ok() {
                    break;
                }
                step *= 0.5;
                read = self.margin(libm::exp(x + step), work);
            }
            let next = read.map_err(|e| e.to_string())? - wanted;
            let found = (next - f) / step;
            if found.is_finite() && found != 0.0 && found.signum() == slope.signum() {
                slope = found;
            }
            (x, f) = (x + step, next);
        }
        Err("the search did not settle".to_owned())
    }
}

/// The series.
///
/// # Errors
/// [`NoSeries`] where the part has no threshold, the number does not move it, or no part has the margins wanted.
pub fn series(case: &Case, ask: &Ask, work: &mut Work) -> Result<Series, NoSeries> {
    if !(2..=MOST).contains(&ask.count) {
        return Err(no(
            format!("a series of {} cannot be made", ask.count),
            format!("2 to {MOST} specimens can"),
        ));
    }
    for (what, v) in [("doubt", ask.doubt), ("scatter", ask.scatter), ("step", ask.step)] {
        if !(v.is_finite() && v > 0.0) {
            return Err(no(format!("the {what} must be greater than 0"), "leave it out for the usual value"));
        }
    }
    let input = case
        .inputs()
        .get(ask.input)
        .ok_or_else(|| no("there is no such number in the case", "`--vary` takes a key of the case"))?;
    let outlook = Outlook::new(case, work)
        .map_err(|e| no(e, "a series is made of parts that can be turned inside out"))?;
    let reader = Reader { outlook: &outlook, input: ask.input };
    let here = reader
        .margin(input.value, work)
        .map_err(|e| no(e.to_string(), "`calotte verdict` says more of this part"))?;
    // Slopes by central differences, one part in two hundred.
    let slope = |i: usize, v: f64, work: &mut Work| -> Option<f64> {
        let mut read = |factor: f64| outlook.margin(&[(i, v * factor)], work).ok();
        Some((read(1.005)? - read(0.995)?) / libm::log(1.005 / 0.995))
    };
    let own = slope(ask.input, input.value, work).filter(|s| s.abs() > 0.02).ok_or_else(|| {
        no(format!("`{}` hardly moves the margin of this part", input.key), "vary `thickness` or `depth`")
    })?;
    // A tolerance is two standard deviations, as in logbooks.
    let mut notes = Vec::new();
    let relative = |half: Option<f64>, value: f64| half.map_or(0.0, |h| 0.5 * h / value);
    let from_own = own * relative(input.half_width, input.value);
    if input.half_width.is_none() {
        notes.push(format!(
            "`{}` has no tolerance in the case: specimens are taken to be made exactly.",
            input.key
        ));
    }
    let mut shared = ask.doubt * ask.doubt;
    for (i, other) in case.inputs().iter().enumerate() {
        if i != ask.input && other.half_width.is_some() && other.value != 0.0 {
            let Some(slope) = slope(i, other.value, work) else {
                notes.push(format!(
                    "What the tolerance of `{}` does to the margins could not be computed: it is left out of the doubt.",
                    other.key
                ));
                continue;
            };
            let moved = slope * relative(other.half_width, other.value);
            shared += moved * moved;
        }
    }
    let (sigma, tau) = (libm::hypot(from_own, ask.scatter), shared.sqrt());
    let wanted = best(ask.count, sigma, tau);
    let find = |m: f64, work: &mut Work| {
        reader.value(m, (input.value, here), own, work).map_err(|e| {
            no(
                format!("no part was found with a margin of {:+.1} % by `{}` alone: {e}", 1e2 * m, input.key),
                "vary another number, or start from a case nearer to its threshold",
            )
        })
    };
    let threshold = find(0.0, work)?;
    let mut members = Vec::new();
    let mut seen: Vec<f64> = Vec::new();
    for (k, m) in wanted.iter().enumerate() {
        let exact = find(*m, work)?;
        let value = (exact / ask.step).round() * ask.step;
        let margin =
            reader.margin(value, work).map_err(|e| no(e.to_string(), "a smaller `--step` may do"))?;
        let outcome = outlook.outcome(margin, &[(ask.input, value)], work);
        seen.push(value);
        members.push(Member {
            label: format!("S{}", k + 1),
            value,
            margin,
            outcome,
            stays: normal::below(margin / libm::hypot(sigma, tau)),
            case_toml: case
                .rewritten(&[(ask.input, value)])
                .map_err(|e| no(e, "vary a number that the case file gives by itself"))?,
        });
    }
    if members.iter().any(|m| m.outcome == Outcome::DoesNotStay) {
        notes.push(
            "The material has a memory: whether a part that does not stay waits first is told only for a hold of the exact mirror image whose threshold is found; `calotte release` tells it of each."
                .to_owned(),
        );
    }
    let same = seen.windows(2).filter(|w| (w[0] - w[1]).abs() < 0.5 * ask.step).count();
    if same > 0 {
        notes.push(format!(
            "{same} of the specimens have the size of the one before them: with these tolerances, making one twice tells more than another size."
        ));
    }
    let margins: Vec<f64> = members.iter().map(|m| m.margin).collect();
    let bits = information(&margins, sigma, tau);
    Ok(Series { members, threshold, sigma, tau, bits, notes })
}

/// The number that stands for depth or thickness in a case, or one by its key.
///
/// # Errors
/// [`NoSeries`] with the keys that can be given.
pub fn which(case: &Case, name: &str) -> Result<usize, NoSeries> {
    let find = |keys: &[&str]| keys.iter().find_map(|k| case.inputs().iter().position(|i| i.key == *k));
    let found = match name {
        "thickness" => find(&["wall.thickness"]),
        "depth" => find(&["shape.half_angle", "shape.rise", "shape.rim_radius"]),
        key => find(&[key]),
    };
    found.ok_or_else(|| {
        let keys: Vec<&str> = case.inputs().iter().map(|i| i.key.as_str()).collect();
        no(
            format!("the case has no number `{name}` that could vary"),
            format!("`thickness`, `depth`, or one of: {}", keys.join(", ")),
        )
    })
}

/// Steps in which a size is made where nothing is said: a hundredth of a millimetre, a tenth of a degree, a thousandth of the value
/// otherwise. Common practice, no source.
pub fn usual_step(case: &Case, input: usize) -> f64 {
    let i = &case.inputs()[input];
    match i.unit.as_str() {
        "deg" | "°" | "rad" => 0.1_f64.to_radians(),
        "" => 1e-3 * i.value.abs(),
        "mm" | "cm" | "m" | "um" | "µm" | "in" => 1e-5,
        _ => 1e-3 * i.value.abs(),
    }
}

#[cfg(test)]
mod tests;
