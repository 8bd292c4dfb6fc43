//! The scale of a picture: two points and the length between them, pixels a length, dots an inch, or a known rim.

use std::fmt;

use calotte_quantity::{Dimension, Quantity, QuantityError};

use super::Measured;

/// Standard deviation of a point that a person clicks on a sharp mark, px (common practice, no source).
pub const CLICK_SD: f64 = 0.5;

/// Where the scale comes from.
#[derive(Clone, Debug, PartialEq)]
pub enum Scale {
    /// Two points in the picture and the length between them, m.
    Points {
        /// The points, px.
        ends: [[f64; 2]; 2],
        /// Length between them, m.
        length: Measured,
    },
    /// Pixels on a metre.
    Density(Measured),
    /// The diameter of the part's own rim (its outer edge), m.
    Rim(Measured),
}

/// Why a scale cannot be read.
#[derive(Clone, Debug, PartialEq)]
pub enum BadScale {
    /// Not of a known form.
    Form,
    /// A point is not two numbers with a comma.
    Point {
        /// As written.
        text: String,
    },
    /// Both points are nearly the same.
    Short {
        /// Their distance, px.
        pixels: f64,
    },
    /// Not a length.
    Length(QuantityError),
    /// Not positive, or its tolerance reaches zero.
    NotPositive,
}

impl fmt::Display for BadScale {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Form => write!(f, "the scale is of no known form"),
            Self::Point { text } => write!(f, "`{text}` is not a point"),
            Self::Short { pixels } => {
                write!(f, "the two points of the scale are only {pixels:.1} pixels apart")
            }
            Self::Length(e) => write!(f, "the length of the scale cannot be read: {e}"),
            Self::NotPositive => {
                write!(f, "the scale must be positive, with a tolerance smaller than itself")
            }
        }
    }
}

impl BadScale {
    /// What would be right.
    pub fn hint(&self) -> String {
        match self {
            Self::Form | Self::NotPositive => {
                "write two points and a length, `120,800 1720,805 = 80 ± 0.05 mm`; or `20.05 ± 0.02 px/mm`, `600 dpi`, or a known \
                 outer rim, `rim 38.3 ± 0.05 mm`"
                    .into()
            }
            Self::Point { .. } => "write column and row in pixels with a comma between, `120,800`".into(),
            Self::Short { .. } => "choose two marks as far apart as the picture shows".into(),
            Self::Length(e) => e.hint().unwrap_or_else(|| "write for example `80 ± 0.05 mm`".into()),
        }
    }
}

fn length(text: &str) -> Result<Measured, BadScale> {
    let q = Quantity::parse(text.trim(), Dimension::Length).map_err(BadScale::Length)?;
    positive(q.value, 0.5 * q.half_width.unwrap_or(0.0))
}

fn positive(value: f64, sd: f64) -> Result<Measured, BadScale> {
    // A tolerance is two standard deviations, as in case files.
    if value > 0.0 && value.is_finite() && 2.0 * sd < value {
        Ok(Measured { value, sd })
    } else {
        Err(BadScale::NotPositive)
    }
}

fn point(text: &str) -> Result<[f64; 2], BadScale> {
    let bad = || BadScale::Point { text: text.to_owned() };
    let (x, y) = text.split_once(',').ok_or_else(bad)?;
    let number = |t: &str| t.trim().parse::<f64>().ok().filter(|v| v.is_finite()).ok_or_else(bad);
    Ok([number(x)?, number(y)?])
}

impl Scale {
    /// Reads `x,y x,y = LENGTH`, `NUMBER px/mm` (or px/cm, px/m, px/um, px/in), `NUMBER dpi`, `rim LENGTH`; numbers and lengths may
    /// have tolerances.
    ///
    /// # Errors
    /// [`BadScale`].
    pub fn read(text: &str) -> Result<Self, BadScale> {
        let text = text.trim();
        if let Some(rest) = text.strip_prefix("rim ") {
            return length(rest).map(Self::Rim);
        }
        if let Some((points, known)) = text.split_once('=') {
            let ends: Vec<[f64; 2]> = points.split_whitespace().map(point).collect::<Result<_, _>>()?;
            let [a, b] = ends.as_slice() else { return Err(BadScale::Form) };
            let pixels = libm::hypot(a[0] - b[0], a[1] - b[1]);
            if pixels < 10.0 {
                return Err(BadScale::Short { pixels });
            }
            return Ok(Self::Points { ends: [*a, *b], length: length(known)? });
        }
        let per = [
            ("px/mm", 1e3),
            ("px/cm", 1e2),
            ("px/um", 1e6),
            ("px/in", 1.0 / 0.0254),
            ("dpi", 1.0 / 0.0254),
            ("px/m", 1.0),
        ];
        for (unit, factor) in per {
            if let Some(number) = text.strip_suffix(unit) {
                let q = Quantity::parse(number.trim(), Dimension::Number).map_err(BadScale::Length)?;
                return positive(q.value * factor, 0.5 * factor * q.half_width.unwrap_or(0.0))
                    .map(Self::Density);
            }
        }
        Err(BadScale::Form)
    }

    /// Pixels on a metre; `None` where the part's own rim says it.
    pub fn density(&self) -> Option<Measured> {
        match self {
            Self::Points { ends, length } => {
                let pixels = libm::hypot(ends[1][0] - ends[0][0], ends[1][1] - ends[0][1]);
                let share = libm::hypot(2.0_f64.sqrt() * CLICK_SD / pixels, length.sd / length.value);
                let value = pixels / length.value;
                Some(Measured { value, sd: value * share })
            }
            Self::Density(d) => Some(*d),
            Self::Rim(_) => None,
        }
    }

    /// In words.
    pub fn words(&self) -> String {
        match self {
            Self::Points { .. } => format!(
                "two points in the picture, each clicked to {CLICK_SD} px, and the length between them"
            ),
            Self::Density(_) => "pixels a length, as given".into(),
            Self::Rim(_) => "the part's own rim, whose diameter is given".into(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn scales_are_read() {
        let s = Scale::read("100,200 1700,200 = 80 ± 0.16 mm").unwrap();
        let d = s.density().unwrap();
        assert!((d.value - 20_000.0).abs() < 1e-9);
        // 0.1 % of the length, and √2 · 0.5 px of 1600.
        assert!((d.sd / d.value - libm::hypot(1e-3, 0.5_f64.sqrt() / 1600.0)).abs() < 1e-12, "{d:?}");
        assert_eq!(Scale::read("600 dpi").unwrap().density().unwrap().value, 600.0 / 0.0254);
        assert_eq!(
            Scale::read("20 ± 0.2 px/mm").unwrap(),
            Scale::Density(Measured { value: 20e3, sd: 100.0 })
        );
        assert_eq!(Scale::read("rim 38 mm").unwrap(), Scale::Rim(Measured { value: 0.038, sd: 0.0 }));
    }

    #[test]
    fn bad_scales_say_what_would_be_right() {
        for text in [
            "",
            "80 mm",
            "1,2 3 = 4 mm",
            "1,2 9,2 = 4 mm",
            "1,2 500,2 = 4 kg",
            "0 px/mm",
            "3 ± 4 px/mm",
            "a,b 3,4 = 5 mm",
            "rim x",
        ] {
            let e = Scale::read(text).unwrap_err();
            assert!(!e.to_string().is_empty() && !e.hint().is_empty(), "{text}");
        }
    }
}
