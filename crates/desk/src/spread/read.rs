//! Distributions, windows and correlations as people write them.

use calotte_answers::gauge::Gauge;
use calotte_answers::spread::{Law, Window};
use calotte_quantity::{Dimension, Quantity, nearest};
use calotte_specimen::Case;

use crate::axes::load;
use crate::options::{Written, misread};
use crate::reply::Refusal;

fn wrong(w: &Written, says: &str, help: impl Into<String>) -> Refusal {
    Refusal::with_help(format!("{} {}: {says}", w.option, w.text), help)
}

/// Place of a number of the case.
fn place(w: &Written, key: &str, case: &Case) -> Result<usize, Refusal> {
    let key = key.trim();
    if let Some(i) = case.inputs().iter().position(|i| i.key == key) {
        return Ok(i);
    }
    let keys = || case.inputs().iter().map(|i| i.key.as_str());
    let help = nearest(key, keys()).map_or_else(
        || format!("numbers of this case: {}", keys().collect::<Vec<_>>().join(", ")),
        |near| format!("did you mean `{near}`?"),
    );
    Err(wrong(w, &format!("the case has no number `{key}`"), help))
}

/// `KEY=NAME`, or `KEY=VALUE;VALUE;…`.
pub(super) fn law(w: &Written, case: &Case) -> Result<(usize, Law), Refusal> {
    let names = || Law::NAMES.iter().map(|n| n.0);
    let all = || names().collect::<Vec<_>>().join(", ");
    let Some((key, what)) = w.text.split_once('=') else {
        return Err(wrong(
            w,
            "a distribution is written KEY=NAME",
            format!("for example `wall.thickness=uniform`; distributions are {}", all()),
        ));
    };
    let at = place(w, key, case)?;
    let what = what.trim();
    if let Some((_, law)) = Law::NAMES.into_iter().find(|n| n.0 == what) {
        return Ok((at, law));
    }
    if !what.contains(';') {
        let help = nearest(what, names()).map_or_else(
            || format!("distributions are {}; measured values are parted by `;`", all()),
            |n| format!("did you mean `{n}`?"),
        );
        return Err(wrong(w, &format!("there is no distribution `{what}`"), help));
    }
    let input = &case.inputs()[at];
    let mut values = Vec::new();
    for (i, text) in what.split(';').map(str::trim).filter(|t| !t.is_empty()).enumerate() {
        // A bare number has the unit of the case.
        let text =
            if text.parse::<f64>().is_ok() { format!("{text} {}", input.unit) } else { text.to_owned() };
        let value = Quantity::parse(text.trim(), input.dimension)
            .map_err(|e| misread(&format!("{} {key}, measured value {}", w.option, i + 1), &e))?;
        values.push(value.value);
    }
    if values.len() < 2 {
        return Err(wrong(
            w,
            "a single measured value says nothing of a spread",
            "give two or more, parted by `;`",
        ));
    }
    values.sort_by(f64::total_cmp);
    Ok((at, Law::Measured(values)))
}

/// `KEY,KEY=CORRELATION`.
pub(super) fn together(w: &Written, case: &Case) -> Result<([usize; 2], f64), Refusal> {
    let help = "write KEY,KEY=CORRELATION, for example `shape.radius,wall.thickness=0.8`";
    let parts = w.text.split_once('=').and_then(|(keys, r)| Some((keys.split_once(',')?, r)));
    let Some(((a, b), r)) = parts else { return Err(wrong(w, "that is no pair of numbers", help)) };
    let r: f64 =
        r.trim().parse().map_err(|_| wrong(w, &format!("`{}` is no correlation", r.trim()), help))?;
    if !(r > -1.0 && r < 1.0) {
        return Err(wrong(w, "a correlation lies between -1 and 1, without the ends", help));
    }
    Ok(([place(w, a, case)?, place(w, b, case)?], r))
}

/// A share, `99%`.
pub(super) fn share(w: &Written) -> Result<f64, Refusal> {
    let value = Quantity::parse(&w.text, Dimension::Number)
        .map_err(|e| misread(&format!("{} {}", w.option, w.text), &e))?
        .value;
    if value > 0.0 && value < 1.0 {
        return Ok(value);
    }
    Err(wrong(w, "a share lies between 0 and 100 %", "for example `99%`"))
}

/// `GAUGE=FROM..TO`; an end may be left open, and a unit at the end counts for both.
///
/// # Errors
/// [`Refusal::Question`] when it is no window.
pub fn window(w: &Written, case: &Case) -> Result<Window, Refusal> {
    let names = || Gauge::ALL.iter().map(|g| g.name());
    let Some((name, range)) = w.text.split_once('=') else {
        return Err(wrong(
            w,
            "a window is written GAUGE=FROM..TO",
            format!(
                "for example `margin=0.05..`; windows are about {}",
                names().collect::<Vec<_>>().join(", ")
            ),
        ));
    };
    let Some(gauge) = Gauge::named(name) else {
        let help = nearest(name.trim(), names()).map_or_else(
            || format!("windows are about {}", names().collect::<Vec<_>>().join(", ")),
            |near| format!("did you mean `{near}`?"),
        );
        return Err(wrong(w, &format!("nothing is read that is called `{}`", name.trim()), help));
    };
    let Some((a, b)) = range.split_once("..") else {
        return Err(wrong(w, "that is no range", "write FROM..TO, FROM.. or ..TO"));
    };
    let (a, b) = (a.trim(), b.trim());
    let unit: String = b.chars().skip_while(|c| !c.is_alphabetic() && !matches!(c, '%' | '°')).collect();
    let a = if !a.is_empty() && a.parse::<f64>().is_ok() { format!("{a} {unit}") } else { a.to_owned() };
    let end = |text: &str, open: f64| {
        if text.is_empty() { Ok(open) } else { value(w, gauge, text.trim(), case) }
    };
    let ends = [end(&a, f64::NEG_INFINITY)?, end(b, f64::INFINITY)?];
    if ends[0] >= ends[1] || ends.iter().all(|e| e.is_infinite()) {
        return Err(wrong(w, "the window is empty", "FROM lies below TO, and one of them at least is given"));
    }
    Ok(Window { gauge, ends })
}

/// One end of a window, SI.
fn value(w: &Written, gauge: Gauge, text: &str, case: &Case) -> Result<f64, Refusal> {
    let dimension = match gauge {
        Gauge::Margin | Gauge::WaitingMargin | Gauge::SnapRatio | Gauge::PeakStrain => Dimension::Number,
        Gauge::Wait => Dimension::Time,
        Gauge::TripTemperature | Gauge::ResetTemperature => Dimension::Temperature,
        Gauge::Delta => Dimension::TemperatureDifference,
        Gauge::TripLoad => return load(&Written::new(w.option.clone(), text), case),
        Gauge::Mass => {
            let (number, unit) =
                text.split_at(text.find(|c: char| c.is_alphabetic() && c != 'e').unwrap_or(text.len()));
            let factor = match unit.trim() {
                "kg" => 1.0,
                "g" => 1e-3,
                "mg" => 1e-6,
                _ => return Err(wrong(w, "a mass needs a unit", "write kg, g or mg, for example `5.2g`")),
            };
            let number: f64 = number
                .trim()
                .parse()
                .map_err(|_| wrong(w, &format!("`{number}` is no number"), "for example `5.2g`"))?;
            return Ok(number * factor);
        }
    };
    Quantity::parse(text, dimension)
        .map(|q| q.value)
        .map_err(|e| misread(&format!("{} {}, `{text}`", w.option, gauge.name()), &e))
}

#[cfg(test)]
mod tests {
    use super::*;

    const CASE: &str = "[shape]\nkind = \"cap\"\nradius = \"25 ± 0.2 mm\"\nhalf_angle = \"60 deg\"\n[wall]\nthickness = \"2.4 ± 0.1 mm\"\n\
    [material]\nyoungs_modulus = \"1.2 MPa\"\npoisson_ratio = 0.49\n[rim]\nkind = \"ring\"\n[load]\nkind = \"pole\"\n";

    fn case() -> Case {
        calotte_specimen::read_case(CASE.as_bytes(), &|_| Err(std::io::ErrorKind::NotFound.into())).0.unwrap()
    }

    #[test]
    fn windows_are_read_as_written() {
        let read = |text: &str| window(&Written::new("--window", text), &case());
        let ends = |text: &str| read(text).unwrap().ends;
        assert_eq!(ends("margin=0.05.."), [0.05, f64::INFINITY]);
        assert_eq!(ends("trip load=3.0..3.4N"), [3.0, 3.4]);
        assert_eq!(ends("trip-load=3.0N..3400mN"), [3.0, 3.4]);
        assert!((ends("mass=..5.2g")[1] - 5.2e-3).abs() < 1e-15);
        assert!((ends("trip temperature=88degC..96degC")[0] - 361.15).abs() < 1e-9);
        assert_eq!(ends("delta=8..12K"), [8.0, 12.0]);
        assert!((ends("peak strain=..20%")[1] - 0.2).abs() < 1e-15);
        for (text, says) in [
            ("margin", "GAUGE=FROM..TO"),
            ("margn=0..1", "did you mean `margin`?"),
            ("margin=0.1", "no range"),
            ("margin=2..1", "empty"),
            ("margin=..", "empty"),
            ("mass=1..2", "unit"),
            ("trip load=1..2apples", "unit"),
        ] {
            let no = read(text).unwrap_err().to_string();
            assert!(no.contains(says) && no.contains("--window"), "{text}: {no}");
        }
    }

    #[test]
    fn distributions_are_read_as_written() {
        let read = |text: &str| law(&Written::new("--distribution", text), &case());
        let thickness = case().inputs().iter().position(|i| i.key == "wall.thickness").unwrap();
        assert_eq!(read("wall.thickness=uniform").unwrap(), (thickness, Law::Uniform));
        let Law::Measured(v) = read("wall.thickness=2.5;2.3 mm;2400 um").unwrap().1 else { panic!() };
        assert!(v.iter().zip([2.3e-3, 2.4e-3, 2.5e-3]).all(|(a, b)| (a - b).abs() < 1e-15), "{v:?}");
        for (text, says) in [
            ("wall.thickness", "KEY=NAME"),
            ("wall.thicknes=uniform", "did you mean `wall.thickness`?"),
            ("wall.thickness=unifrom", "did you mean `uniform`?"),
            ("wall.thickness=2.4;x", "measured value 2"),
        ] {
            let no = read(text).unwrap_err().to_string();
            assert!(no.contains(says), "{text}: {no}");
        }
        let pair = |text: &str| together(&Written::new("--together", text), &case());
        assert_eq!(pair("shape.radius,wall.thickness=-0.5").unwrap().1, -0.5);
        assert!(pair("shape.radius=0.5").is_err() && pair("shape.radius,wall.thickness=1").is_err());
        assert_eq!(share(&Written::new("--want", "99%")).unwrap(), 0.99);
        assert!(share(&Written::new("--want", "120%")).is_err());
    }
}
