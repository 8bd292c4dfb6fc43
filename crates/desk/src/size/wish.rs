//! Wishes in plain words: `trip load = 3.2 N ± 0.2 N`, `margin >= 10 % for 99 % of the batch`, `wait = 2 s after a 5 s hold`.

use calotte_answers::gauge::Gauge;
use calotte_answers::size::{About, Scale, Varied, Wanted, Wish};
use calotte_answers::{Subject, poke::load_or_pole};
use calotte_quantity::{Dimension, Quantity, QuantityError, Unit, find_unit, nearest, units};
use calotte_specimen::Case;

use crate::options::Written;
use crate::reply::Refusal;

/// What may be written instead of a name.
const OTHER_NAMES: [(&str, Gauge); 6] = [
    ("trip force", Gauge::TripLoad),
    ("trip pressure", Gauge::TripLoad),
    ("load", Gauge::TripLoad),
    ("thickness margin", Gauge::Margin),
    ("weight", Gauge::Mass),
    ("strain", Gauge::PeakStrain),
];

/// Signs and words between a name and a value, the longer ones first.
const SIGNS: [(&str, Sign); 16] = [
    (">=", Sign::AtLeast),
    ("<=", Sign::AtMost),
    ("==", Sign::Equal),
    ("≥", Sign::AtLeast),
    ("≤", Sign::AtMost),
    ("=", Sign::Equal),
    (">", Sign::AtLeast),
    ("<", Sign::AtMost),
    (" at least ", Sign::AtLeast),
    (" at most ", Sign::AtMost),
    (" not under ", Sign::AtLeast),
    (" not over ", Sign::AtMost),
    (" above ", Sign::AtLeast),
    (" below ", Sign::AtMost),
    (" over ", Sign::AtLeast),
    (" under ", Sign::AtMost),
];

#[derive(Clone, Copy, PartialEq)]
enum Sign {
    Equal,
    AtLeast,
    AtMost,
}

/// Examples for a reader who has none.
pub(super) const EXAMPLES: &str = "wishes look like `stays`, `margin >= 10 %`, `trip load = 3.2 N ± 0.2 N`, \
    `wait = 2 s after a 5 s hold`, `smallest mass`";

/// A place in the text of an option, for messages.
struct Text<'t> {
    written: &'t Written,
}

impl Text<'_> {
    fn wrong(&self, at: usize, says: &str, help: impl Into<String>) -> Refusal {
        let Written { option, text } = self.written;
        let column = text.get(..at).map_or(0, |t| t.chars().count()) + 1;
        Refusal::with_help(format!("{option} \"{text}\": column {column}: {says}"), help)
    }

    fn misread(&self, start: usize, e: &QuantityError) -> Refusal {
        let help = e.hint().map_or_else(|| EXAMPLES.to_owned(), |h| h.to_string());
        self.wrong(start + e.at.start, &e.to_string(), help)
    }
}

fn scale(unit: &Unit) -> Scale {
    let zero = unit.to_si(0.0);
    Scale { unit: unit.symbol.to_owned(), size_si: unit.to_si(1.0) - zero, zero_si: zero }
}

/// How a gauge is shown where no unit is written.
fn usual_scale(g: Gauge, case: &Case) -> Scale {
    if g == Gauge::Mass {
        return Scale { unit: "g".to_owned(), size_si: 1e-3, zero_si: 0.0 };
    }
    let d = dimension(g, case);
    let symbol = match (g, d) {
        (Gauge::Margin | Gauge::WaitingMargin | Gauge::SnapRatio | Gauge::PeakStrain, _) => "%",
        (_, Dimension::Temperature) => "degC",
        (_, d) => d.usual_unit(),
    };
    find_unit(symbol, d).or_else(|| units(d).next()).map_or_else(Scale::plain, scale)
}

/// What a gauge measures under the load of the case; mass has no dimension of its own and is read apart.
fn dimension(g: Gauge, case: &Case) -> Dimension {
    match g {
        Gauge::Margin | Gauge::WaitingMargin | Gauge::SnapRatio | Gauge::PeakStrain | Gauge::Mass => {
            Dimension::Number
        }
        Gauge::Wait => Dimension::Time,
        Gauge::TripTemperature | Gauge::ResetTemperature => Dimension::Temperature,
        Gauge::Delta => Dimension::TemperatureDifference,
        Gauge::TripLoad => match Gauge::load_unit(&load_or_pole(Subject::load(case).as_ref())) {
            "Pa" => Dimension::Pressure,
            "N/m" => Dimension::Stiffness,
            "m/s^2" => Dimension::Acceleration,
            _ => Dimension::Force,
        },
    }
}

/// A value with what may follow `±`: SI value, SI half-width, how it is shown.
fn value(
    t: &Text<'_>,
    start: usize,
    text: &str,
    g: Option<Gauge>,
    dimension: Dimension,
) -> Result<(f64, Option<f64>, Scale), Refusal> {
    if g == Some(Gauge::Mass) {
        return mass(t, start, text);
    }
    // Per cent of a plain number are points, not a share of the value: 50 % ± 5 % is 45 % to 55 %.
    let parts = ["±", "+/-", "+-", "+/−"].iter().find_map(|s| Some((text.find(s)?, s.len())));
    if dimension == Dimension::Number
        && let Some((at, long)) = parts
        && text[at + long..].contains('%')
    {
        let one = |from: usize, piece: &str| {
            let pad = from + piece.len() - piece.trim_start().len();
            Quantity::parse(piece.trim(), dimension).map_err(|e| t.misread(start + pad, &e))
        };
        let both = (one(0, &text[..at])?, one(at + long, &text[at + long..])?);
        return Ok((both.0.value, Some(both.1.value.abs()), scale(both.0.unit)));
    }
    let q = Quantity::parse(text, dimension).map_err(|e| t.misread(start, &e))?;
    Ok((q.value, q.half_width, scale(q.unit)))
}

/// Symbol of a unit of mass and its size, kg; `None` where none is written.
type MassUnit = Option<(&'static str, f64)>;

/// A mass: kg, g or mg.
fn mass(t: &Text<'_>, start: usize, text: &str) -> Result<(f64, Option<f64>, Scale), Refusal> {
    let one = |piece: &str| -> Result<(f64, MassUnit), Refusal> {
        let piece = piece.trim();
        let end = piece.find(|c: char| c.is_alphabetic() && c != 'e' && c != 'E').unwrap_or(piece.len());
        let unit = match piece[end..].trim() {
            "" => None,
            "kg" => Some(("kg", 1.0)),
            "g" => Some(("g", 1e-3)),
            "mg" => Some(("mg", 1e-6)),
            other => {
                return Err(t.wrong(
                    start,
                    &format!("`{other}` is no unit of mass here"),
                    "write kg, g or mg",
                ));
            }
        };
        let number = piece[..end].trim();
        let v: f64 = number
            .parse()
            .map_err(|_| t.wrong(start, &format!("`{number}` is no number"), "for example `12 g`"))?;
        Ok((v, unit))
    };
    let (value, width) = match ["±", "+/-", "+-"].iter().find_map(|s| text.split_once(s)) {
        Some((v, w)) => {
            let value = one(v)?;
            let width = match w.trim().strip_suffix('%') {
                // Per cent of the value.
                Some(percent) => {
                    let (share, _) = one(percent)?;
                    (0.01 * share * value.0.abs(), value.1)
                }
                None => one(w)?,
            };
            (value, Some(width))
        }
        None => (one(text)?, None),
    };
    let unit = value.1.or_else(|| width.and_then(|w| w.1));
    let Some((symbol, size)) = unit else {
        return Err(t.wrong(start, "a mass needs a unit", "write kg, g or mg, for example `12 g`"));
    };
    let scale = Scale { unit: symbol.to_owned(), size_si: size, zero_si: 0.0 };
    Ok((value.0 * size, width.map(|w| w.0 * w.1.map_or(size, |u| u.1)), scale))
}

/// The trailing clauses `for 99 % of the batch` and `after a 5 s hold`, cut off: share, hold, what is left.
fn clauses<'t>(t: &Text<'_>, text: &'t str) -> Result<(Option<f64>, Option<f64>, &'t str), Refusal> {
    let mut rest = text;
    let (mut share, mut hold) = (None, None);
    for _ in 0..2 {
        let batch =
            rest.rfind(" for ").filter(|i| rest[*i..].contains("batch") && !rest[*i..].contains(" after "));
        if let Some(i) = batch {
            let start = i + " for ".len();
            let piece = rest[start..].trim_end();
            let piece = ["of the batch", "of a batch", "of batch"].iter().find_map(|e| piece.strip_suffix(e));
            let Some(piece) = piece else {
                return Err(t.wrong(
                    start,
                    "a share of the batch is wanted",
                    "write for example `for 99 % of the batch`",
                ));
            };
            let q = Quantity::parse(piece.trim(), Dimension::Number).map_err(|e| t.misread(start, &e))?;
            if !(q.value >= 0.5 && q.value < 1.0) {
                return Err(t.wrong(
                    start,
                    "the share of a batch lies from 50 % to below 100 %",
                    "for example `99 %`",
                ));
            }
            share = Some(q.value);
            rest = &rest[..i];
            continue;
        }
        if let Some(i) = rest.rfind(" after ").filter(|i| rest[*i..].contains("hold")) {
            let start = i + " after ".len();
            let piece = rest[start..].trim_end().strip_suffix("hold").unwrap_or("").trim_end();
            let cut = ["a hold of ", "a ", "an "].iter().find_map(|a| piece.strip_prefix(a)).unwrap_or(piece);
            let at = start + piece.len() - cut.len();
            let q = Quantity::parse(cut.trim(), Dimension::Time).map_err(|e| t.misread(at, &e))?;
            if q.value < 0.0 {
                return Err(t.wrong(at, "a hold takes no less than 0 s", "for example `after a 5 s hold`"));
            }
            hold = Some(q.value);
            rest = &rest[..i];
        }
    }
    Ok((share, hold, rest))
}

/// What a name stands for; a key must be among what may change.
fn about(t: &Text<'_>, start: usize, name: &str, case: &Case, vary: &[Varied]) -> Result<About, Refusal> {
    if let Some(g) = Gauge::named(name) {
        return Ok(About::Gauge(g));
    }
    let plain = name.trim().replace(['-', '_'], " ").to_lowercase();
    if let Some((_, g)) = OTHER_NAMES.iter().find(|n| n.0 == plain) {
        return Ok(About::Gauge(*g));
    }
    if let Some(v) = vary.iter().find(|v| v.key == name.trim()) {
        return Ok(About::Given(v.given));
    }
    if case.inputs().iter().any(|i| i.key == name.trim()) {
        let says = format!("`{}` is a number of the case that may not change", name.trim());
        return Err(t.wrong(
            start,
            &says,
            format!("let it change too, with `--vary {}=FROM..TO`", name.trim()),
        ));
    }
    let names = || Gauge::ALL.iter().map(|g| g.name()).chain(case.inputs().iter().map(|i| i.key.as_str()));
    let help = nearest(name.trim(), names()).map_or_else(
        || format!("{EXAMPLES}; it may be about {}", Gauge::ALL.map(Gauge::name).join(", ")),
        |near| format!("did you mean `{near}`?"),
    );
    Err(t.wrong(start, &format!("nothing is called `{}`", name.trim()), help))
}

/// Half-width taken where a wish for one value states none, with words that say so.
fn taken(g: Option<Gauge>, aim: f64) -> f64 {
    match g {
        Some(Gauge::Margin | Gauge::WaitingMargin | Gauge::SnapRatio | Gauge::PeakStrain) => 0.01,
        Some(Gauge::TripTemperature | Gauge::ResetTemperature | Gauge::Delta) => 1.0,
        _ => 0.02 * aim.abs(),
    }
}

/// Reads a wish; a note comes with it where a tolerance was taken that it does not state.
pub(super) fn read(
    written: &Written,
    case: &Case,
    vary: &[Varied],
) -> Result<(Wish, Option<String>), Refusal> {
    let t = Text { written };
    let text = written.text.as_str();
    let (share, hold, rest) = clauses(&t, text)?;
    let lead = rest.len() - rest.trim_start().len();
    let body = rest.trim();
    let wish =
        |about, wanted, scale| Wish { text: text.trim().to_owned(), about, wanted, share, hold, scale };
    if body.is_empty() {
        return Err(t.wrong(0, "a wish is missing", EXAMPLES));
    }
    let lower = body.to_lowercase();
    if ["stays", "returns"].contains(&lower.as_str()) {
        let wanted = if lower == "stays" { Wanted::AtLeast(0.0) } else { Wanted::AtMost(0.0) };
        let about = About::Gauge(Gauge::Margin);
        return Ok((wish(about, wanted, usual_scale(Gauge::Margin, case)), None));
    }
    for (word, wanted) in [
        ("smallest ", Wanted::Smallest),
        ("least ", Wanted::Smallest),
        ("largest ", Wanted::Largest),
        ("greatest ", Wanted::Largest),
    ] {
        let Some(name) = lower.strip_prefix(word) else { continue };
        let at = lead + word.len();
        // The name as written: keys tell capitals apart.
        let name = body.get(word.len()..).unwrap_or(name);
        if share.is_some() {
            return Err(t.wrong(
                at,
                "the smallest or largest is asked of the part as described, not of a batch",
                "leave the share out",
            ));
        }
        let about = about(&t, at, name, case, vary)?;
        let shown = match about {
            About::Gauge(g) => usual_scale(g, case),
            About::Given(i) => {
                vary.iter().find(|v| v.given == i).map_or_else(Scale::plain, |v| v.scale.clone())
            }
        };
        return Ok((wish(about, wanted, shown), None));
    }
    let found = SIGNS
        .iter()
        .filter_map(|(s, k)| Some((rest.find(s)?, s.len(), *k)))
        .min_by_key(|f| (f.0, usize::MAX - f.1));
    let Some((at, long, sign)) = found else {
        // Perhaps a name without what is wanted of it, perhaps a name misspelt.
        let known = about(&t, lead, body, case, vary);
        return Err(match known {
            Ok(_) => t.wrong(
                lead + body.len(),
                "what is wanted of it is missing",
                format!("for example `{body} >= …`; {EXAMPLES}"),
            ),
            Err(e) => e,
        });
    };
    let about = about(&t, lead, &rest[..at], case, vary)?;
    let (g, d) = match about {
        About::Gauge(g) => (Some(g), dimension(g, case)),
        About::Given(i) => (None, case.inputs()[i].dimension),
    };
    let piece = &rest[at + long..];
    let start = at + long + piece.len() - piece.trim_start().len();
    let (si, width, scale) = value(&t, start, piece.trim(), g, d)?;
    if let (Some(_), true) = (width, sign != Sign::Equal) {
        return Err(t.wrong(start, "a limit has no tolerance", "write one value behind `>=` or `<=`"));
    }
    if share.is_some() && sign == Sign::Equal {
        return Err(t.wrong(
            at,
            "a share of the batch goes with a limit",
            "write two wishes, one with `>=` and one with `<=`",
        ));
    }
    if hold.is_some() && !matches!(g, Some(Gauge::Wait | Gauge::WaitingMargin)) {
        return Err(t.wrong(at, "a hold goes with the wait", "for example `wait = 2 s after a 5 s hold`"));
    }
    let mut note = None;
    let wanted = match sign {
        Sign::AtLeast => Wanted::AtLeast(si),
        Sign::AtMost => Wanted::AtMost(si),
        Sign::Equal => {
            let half_width = width.filter(|w| *w > 0.0).unwrap_or_else(|| {
                let w = taken(g, si).max(1e-12);
                note = Some(format!(
                    "“{}” states no tolerance: ± {} is taken.",
                    text.trim(),
                    super::words::width(&scale, w)
                ));
                w
            });
            Wanted::Equal { aim: si, half_width }
        }
    };
    Ok((wish(about, wanted, scale), note))
}

#[cfg(test)]
mod tests {
    use super::*;
    use calotte_specimen::{new_cap_template, read_case};

    fn case() -> Case {
        read_case(new_cap_template().as_bytes(), &|_| Err(std::io::ErrorKind::NotFound.into())).0.unwrap()
    }

    fn one(text: &str) -> Result<(Wish, Option<String>), Refusal> {
        read(&Written::new("--wish", text), &case(), &[])
    }

    #[track_caller]
    fn wanted(text: &str, about: Gauge, wanted: Wanted) {
        let w = one(text).unwrap().0;
        assert_eq!(w.about, About::Gauge(about), "{text}");
        let close = |a: f64, b: f64| (a - b).abs() <= 1e-12 * b.abs().max(1.0);
        let same = match (w.wanted, wanted) {
            (Wanted::Equal { aim: a, half_width: b }, Wanted::Equal { aim: c, half_width: d }) => {
                close(a, c) && close(b, d)
            }
            (Wanted::AtLeast(a), Wanted::AtLeast(b)) | (Wanted::AtMost(a), Wanted::AtMost(b)) => close(a, b),
            (a, b) => a == b,
        };
        assert!(same, "{text}: {:?}", w.wanted);
    }

    #[test]
    fn wishes_are_read() {
        wanted("trip load = 3.2 N ± 0.2 N", Gauge::TripLoad, Wanted::Equal { aim: 3.2, half_width: 0.2 });
        wanted(
            "trip-force = 320 gf +- 5 %",
            Gauge::TripLoad,
            Wanted::Equal { aim: 3.138128, half_width: 0.1569064 },
        );
        wanted("margin >= 10 %", Gauge::Margin, Wanted::AtLeast(0.1));
        wanted("margin at least 0.1", Gauge::Margin, Wanted::AtLeast(0.1));
        wanted("stays", Gauge::Margin, Wanted::AtLeast(0.0));
        wanted("Returns", Gauge::Margin, Wanted::AtMost(0.0));
        wanted(
            "trip temperature = 92 degC ± 2 K",
            Gauge::TripTemperature,
            Wanted::Equal { aim: 365.15, half_width: 2.0 },
        );
        wanted("reset temperature ≥ 70 °C", Gauge::ResetTemperature, Wanted::AtLeast(343.15));
        wanted("snap ratio = 50 % ± 5 %", Gauge::SnapRatio, Wanted::Equal { aim: 0.5, half_width: 0.05 });
        wanted("peak strain under 25 %", Gauge::PeakStrain, Wanted::AtMost(0.25));
        wanted("smallest mass", Gauge::Mass, Wanted::Smallest);
        wanted("largest margin", Gauge::Margin, Wanted::Largest);
        wanted("mass <= 1.5 g", Gauge::Mass, Wanted::AtMost(1.5e-3));
        wanted("mass = 3.6 g ± 1 %", Gauge::Mass, Wanted::Equal { aim: 3.6e-3, half_width: 3.6e-5 });
        wanted("mass = 3.6 ± 0.1 g", Gauge::Mass, Wanted::Equal { aim: 3.6e-3, half_width: 1e-4 });
    }

    #[test]
    fn clauses_and_what_is_taken() {
        let w = one("margin >= 10 % for 99 % of the batch").unwrap().0;
        assert_eq!((w.share, w.wanted), (Some(0.99), Wanted::AtLeast(0.1)));
        assert_eq!(one("stays for 95 % of the batch").unwrap().0.share, Some(0.95));
        let (w, note) = one("wait = 2 s after a 5 s hold").unwrap();
        assert_eq!((w.hold, w.wanted), (Some(5.0), Wanted::Equal { aim: 2.0, half_width: 0.04 }));
        assert_eq!(note.unwrap(), "“wait = 2 s after a 5 s hold” states no tolerance: ± 0.0400 s is taken.");
    }

    #[test]
    fn bad_wishes_are_pointed_at() {
        for (text, says) in [
            ("", "column 1: a wish is missing"),
            ("trip laod = 3 N", "column 1: nothing is called `trip laod`\n  help: did you mean `trip load`?"),
            ("margin >= 10 mm", "column 14: "),
            ("trip load = 3,2 N", "column 13: "),
            ("margin", "column 7: what is wanted of it is missing"),
            ("margin >= 10 % ± 1 %", "a limit has no tolerance"),
            ("margin = 10 % for 99 % of the batch", "a share of the batch goes with a limit"),
            ("margin >= 10 % for 120 % of the batch", "column 20: the share of a batch"),
            (
                "smallest wall.thickness",
                "column 10: `wall.thickness` is a number of the case that may not change",
            ),
            ("margin >= 1 after a 5 s hold", "a hold goes with the wait"),
            ("mass <= 3", "a mass needs a unit"),
            ("mass = 3.6 g ± x %", "`x` is no"),
        ] {
            let refusal = one(text).unwrap_err().to_string();
            assert!(refusal.contains(says), "{text}: {refusal}");
        }
    }
}
