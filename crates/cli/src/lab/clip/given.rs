//! Options of the command as numbers: scale, frame rate, lines, moments; every mistake said with what would be right.

use calotte_desk::misread;
use calotte_lab::clip::{Line, Sized};
use calotte_quantity::{Dimension, Quantity};

/// A tolerance counts as two standard deviations, here as in cases.
fn sized(q: &Quantity) -> Sized {
    Sized { value: q.value, deviation: 0.5 * q.half_width.unwrap_or(0.0) }
}

/// A positive number of a kind, `place` being the option and its text.
pub(super) fn positive(option: &str, text: &str, kind: Dimension, example: &str) -> Result<Sized, String> {
    let place = format!("{option} {text}");
    let read = Quantity::parse(text, kind).map_err(|e| misread(&place, &e).to_string())?;
    if read.value > 0.0 && read.value.is_finite() {
        return Ok(sized(&read));
    }
    Err(format!("{place}: it must be greater than 0\n  help: write for example `{option} {example}`"))
}

/// A time from the first frame, which may lie before it.
pub(super) fn moment(text: &str) -> Result<Sized, String> {
    let place = format!("--let-go {text}");
    let read = Quantity::parse(text, Dimension::Time).map_err(|e| misread(&place, &e).to_string())?;
    Ok(sized(&read))
}

fn numbers<const N: usize>(text: &str) -> Option<[f64; N]> {
    let all: Vec<f64> = text.split(',').map(|t| t.trim().parse().ok()).collect::<Option<_>>()?;
    <[f64; N]>::try_from(all).ok().filter(|n| n.iter().all(|v| v.is_finite()))
}

/// `X0,Y0,X1,Y1` in pixels.
pub(super) fn line(option: &str, text: &str) -> Result<Line, String> {
    let [x0, y0, x1, y1] = numbers(text).ok_or_else(|| {
        format!("{option} {text}: a line is two points in pixels, from the left and from the top: X0,Y0,X1,Y1\n  help: write for example `{option} 320,10,320,470`")
    })?;
    Ok(Line { from: [x0, y0], to: [x1, y1] })
}

/// Deviation of a point that a person reads off a picture, px.
const POINT: f64 = 1.0;

/// Metres a pixel: `10.2 ± 0.1 px/mm`, `0.098 mm/px`, or two points and the length between them, `X0,Y0,X1,Y1 = 50.0 ± 0.1 mm`.
pub(super) fn scale(text: &str) -> Result<Sized, String> {
    let place = format!("--scale {text}");
    let help = "write `10.2 ± 0.1 px/mm`, `0.098 mm/px`, or two points in pixels and the length between them: `100,400,600,400 = 50.0 ± 0.1 mm`";
    let bad = |why: &str| format!("{place}: {why}\n  help: {help}");
    if let Some((points, length)) = text.split_once('=') {
        let [x0, y0, x1, y1] =
            numbers(points).ok_or_else(|| bad("two points are four numbers X0,Y0,X1,Y1"))?;
        let length = positive("--scale", length.trim(), Dimension::Length, "50 mm").map_err(|e| bad(&e))?;
        let pixels = libm::hypot(x1 - x0, y1 - y0);
        if pixels < 10.0 {
            return Err(bad("the points are too near to each other to make a scale"));
        }
        let share = libm::hypot(length.deviation / length.value, POINT * std::f64::consts::SQRT_2 / pixels);
        let value = length.value / pixels;
        return Ok(Sized { value, deviation: share * value });
    }
    let (number, unit, inverse) = match (text.strip_suffix("/px"), text.split_once("px/")) {
        (Some(rest), _) => {
            let at = rest
                .rfind(|c: char| !c.is_alphabetic() && c != 'µ')
                .map_or(0, |i| i + rest[i..].chars().next().map_or(1, char::len_utf8));
            (rest[..at].trim(), &rest[at..], false)
        }
        (None, Some((number, unit))) => (number.trim(), unit, true),
        _ => return Err(bad("it is no scale")),
    };
    let number = positive("--scale", number, Dimension::Number, "10.2 px/mm").map_err(|e| bad(&e))?;
    let unit = positive("--scale", &format!("1 {unit}"), Dimension::Length, "10.2 px/mm")
        .map_err(|e| bad(&e))?
        .value;
    let share = number.deviation / number.value;
    let value = if inverse { unit / number.value } else { unit * number.value };
    Ok(Sized { value, deviation: share * value })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_and_lines() {
        let s = scale("10 ± 0.2 px/mm").unwrap();
        assert!((s.value - 1e-4).abs() < 1e-15 && (s.deviation - 1e-6).abs() < 1e-15, "{s:?}");
        let s = scale("98 ± 2 µm/px").unwrap();
        assert!((s.value - 98e-6).abs() < 1e-15 && (s.deviation - 1e-6).abs() < 1e-15, "{s:?}");
        let s = scale("100,400,600,400 = 50.0 ± 0.2 mm").unwrap();
        let share = libm::hypot(0.002, std::f64::consts::SQRT_2 / 500.0);
        assert!((s.value - 1e-4).abs() < 1e-15 && (s.deviation / s.value - share).abs() < 1e-9, "{s:?}");
        for bad in ["10", "10 mm", "0 px/mm", "1,2,3=5 mm", "1,1,2,2=5 mm", "10 px/s", "px/mm"] {
            assert!(scale(bad).unwrap_err().contains("help"), "{bad}");
        }
        assert!(line("--line", "1,2,3").is_err() && line("--line", "1,2,3,4").is_ok());
        assert!(moment("-2.5 ms").unwrap().value < 0.0);
    }
}
