//! Widths of text, and numbers as text.

use crate::style::{self, Family};

/// Advance widths of DejaVu Sans for the characters from space to `~`, in 1/2048 em.
const ADVANCES: [u16; 95] = [
    651, 821, 942, 1716, 1303, 1946, 1597, 563, 799, 799, 1024, 1716, 651, 739, 651, 690, 1303, 1303, 1303,
    1303, 1303, 1303, 1303, 1303, 1303, 1303, 690, 690, 1716, 1716, 1716, 1087, 2048, 1401, 1405, 1430, 1577,
    1294, 1178, 1587, 1540, 604, 604, 1343, 1141, 1767, 1532, 1612, 1235, 1612, 1423, 1300, 1251, 1499, 1401,
    2025, 1403, 1251, 1403, 799, 690, 799, 1716, 1024, 1024, 1255, 1300, 1126, 1300, 1260, 721, 1300, 1298,
    569, 569, 1186, 569, 1995, 1298, 1253, 1300, 1300, 842, 1067, 803, 1298, 1212, 1675, 1212, 1212, 1075,
    1303, 690, 1303, 1716,
];

/// The same of DejaVu Serif.
const SERIF_ADVANCES: [u16; 95] = [
    651, 823, 942, 1716, 1303, 1946, 1823, 563, 799, 799, 1024, 1716, 651, 692, 651, 690, 1303, 1303, 1303,
    1303, 1303, 1303, 1303, 1303, 1303, 1303, 690, 690, 1716, 1716, 1716, 1098, 2048, 1479, 1505, 1567, 1642,
    1495, 1421, 1636, 1786, 809, 821, 1530, 1360, 2097, 1792, 1679, 1378, 1679, 1542, 1403, 1366, 1726, 1479,
    2105, 1458, 1352, 1423, 799, 690, 799, 1716, 1024, 1024, 1221, 1311, 1147, 1311, 1212, 758, 1311, 1319,
    655, 635, 1241, 655, 1942, 1319, 1233, 1311, 1311, 979, 1051, 823, 1319, 1157, 1753, 1155, 1157, 1079,
    1303, 690, 1303, 1716,
];

/// A word with a capital first letter.
pub(crate) fn capital(word: &str) -> String {
    let mut chars = word.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().collect::<String>() + chars.as_str())
}

/// Width of a text set in the typeface of the style, in the unit of `size`. Kerning is left out; characters
/// beyond the table count as wide ones, so the result errs on the side of room.
pub fn text_width(text: &str, size: f64) -> f64 {
    let advances = match style::now().family {
        Family::Sans => &ADVANCES,
        Family::Serif => &SERIF_ADVANCES,
    };
    let units: f64 = text
        .chars()
        .map(|c| {
            let at = (c as usize).wrapping_sub(32);
            match (advances.get(at), c) {
                (Some(&w), _) => f64::from(w),
                (None, '·') => 651.0,
                (None, '²' | '³' | '⁰' | '¹' | '⁴'..='⁹' | '⁻') => 840.0,
                (None, 'µ') => 1303.0,
                (None, '–' | '°') => 1024.0,
                (None, _) => 1716.0,
            }
        })
        .sum();
    units / 2048.0 * size
}

/// A number in `digits` significant digits, with a true minus sign and powers of ten written out
/// beyond 10⁻⁴ and 10⁶.
pub(crate) fn number(x: f64, digits: u32) -> String {
    if !x.is_finite() {
        return "unknown".to_owned();
    }
    if x == 0.0 {
        return "0".to_owned();
    }
    let digits = digits.max(1);
    // Scientific form first: it rounds, so 9.996 at three digits has the exponent of 10.0.
    let science = format!("{:.*e}", digits as usize - 1, x);
    let (mantissa, exponent) = science.split_once('e').unwrap_or((&science, "0"));
    let exponent: i32 = exponent.parse().unwrap_or(0);
    let plain = if (-4..6).contains(&exponent) {
        let decimals = (digits as i32 - 1 - exponent).max(0) as usize;
        format!("{x:.decimals$}")
    } else {
        format!("{mantissa} × 10^{exponent}")
    };
    plain.replace('-', "−")
}

/// A number with a fixed count of decimals and a true minus sign.
pub(crate) fn fixed(x: f64, decimals: usize) -> String {
    let s = format!("{:.decimals$}", x + 0.0);
    let zero = s.chars().all(|c| matches!(c, '-' | '0' | '.'));
    if zero { s.replace('-', "") } else { s.replace('-', "−") }
}

/// SI prefix and the factor that turns the bare unit into the prefixed one.
pub(crate) fn prefix(largest: f64) -> (f64, &'static str) {
    const STEPS: [(f64, &str); 10] = [
        (1e9, "G"),
        (1e6, "M"),
        (1e3, "k"),
        (1.0, ""),
        (1e-3, "m"),
        (1e-6, "µ"),
        (1e-9, "n"),
        (1e-12, "p"),
        (1e-15, "f"),
        (1e-18, "a"),
    ];
    let size = largest.abs();
    if !(size.is_finite() && size > 0.0) {
        return (1.0, "");
    }
    for (unit, name) in STEPS {
        // A little slack, so that 999.6 prints as 1.00 of the next prefix at three digits.
        if size >= unit * 0.9995 {
            return (1.0 / unit, name);
        }
    }
    (1e18, "a")
}

/// A quantity in three digits with prefix: `3.21 mJ`.
pub(crate) fn quantity(x: f64, unit: &str) -> String {
    let (factor, name) = prefix(x);
    format!("{} {name}{unit}", number(x * factor, 3))
}

/// A unit that suits a range of values, for any quantity.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Scaled {
    /// Display units per SI unit.
    pub(crate) factor: f64,
    /// Name with prefix.
    pub(crate) name: String,
}

impl Scaled {
    /// The unit that suits a largest value, given the SI unit's name.
    pub(crate) fn suiting(largest: f64, unit: &str) -> Self {
        let size = largest.abs();
        match unit {
            "m" => {
                let u = LengthUnit::for_length(size);
                Self { factor: u.per_m, name: u.name.to_owned() }
            }
            // A prefix on a cube would count thrice, so cubes go from length to length.
            "m³" | "m^3" | "m3" => {
                let (factor, name) = if !(size.is_finite() && size < 1.0) {
                    (1.0, "m³")
                } else if size >= 0.9995e-6 {
                    (1e6, "cm³")
                } else if size >= 1e-12 {
                    (1e9, "mm³")
                } else {
                    (1e18, "µm³")
                };
                Self { factor, name: name.to_owned() }
            }
            "" | "1" => Self { factor: 1.0, name: String::new() },
            _ => {
                let (factor, name) = prefix(size);
                Self { factor, name: format!("{name}{unit}") }
            }
        }
    }

    /// A value in three digits with its unit.
    pub(crate) fn print(&self, si: f64) -> String {
        format!("{} {}", number(si * self.factor, 3), self.name).trim_end().to_owned()
    }

    /// A name with this unit, for an axis.
    pub(crate) fn title(&self, name: &str) -> String {
        if self.name.is_empty() { name.to_owned() } else { format!("{name} ({})", self.name) }
    }
}

/// A length unit for drawings: millimetres, or micrometres for very small parts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct LengthUnit {
    /// Units per metre.
    pub(crate) per_m: f64,
    /// `mm` or `µm`.
    pub(crate) name: &'static str,
}

impl LengthUnit {
    /// The unit that suits a largest length.
    pub(crate) fn for_length(largest_m: f64) -> Self {
        if largest_m.is_finite() && largest_m.abs() < 20e-6 {
            Self { per_m: 1e6, name: "µm" }
        } else {
            Self { per_m: 1e3, name: "mm" }
        }
    }

    /// A length in three digits with its unit.
    pub(crate) fn print(self, metres: f64) -> String {
        format!("{} {}", number(metres * self.per_m, 3), self.name)
    }
}

/// A length in three digits, in the unit that suits it.
pub(crate) fn length(metres: f64) -> String {
    LengthUnit::for_length(metres).print(metres)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_keep_their_significant_digits() {
        assert_eq!(number(2.0, 3), "2.00");
        assert_eq!(number(9.996, 3), "10.0");
        assert_eq!(number(-0.012345, 3), "−0.0123");
        assert_eq!(number(123456.0, 3), "123456");
        assert_eq!(number(0.0, 3), "0");
        assert_eq!(number(1.5e9, 2), "1.5 × 10^9");
        assert_eq!(number(f64::NAN, 3), "unknown");
    }

    #[test]
    fn fixed_numbers_have_no_negative_zero() {
        assert_eq!(fixed(-0.001, 2), "0.00");
        assert_eq!(fixed(-1.25, 1), "−1.2");
    }

    #[test]
    fn prefixes_keep_the_number_between_one_and_a_thousand() {
        assert_eq!(quantity(0.00321, "J"), "3.21 mJ");
        assert_eq!(quantity(0.99996, "J"), "1.00 J");
        assert_eq!(quantity(4.2e-7, "J"), "420 nJ");
        assert_eq!(quantity(0.0, "J"), "0 J");
        assert_eq!(prefix(f64::NAN), (1.0, ""));
    }

    #[test]
    fn units_suit_their_range() {
        for (largest, unit, want) in [
            (3.2, "N", "3.20 N"),
            (1e-7, "N", "100 nN"),
            (-4500.0, "Pa", "−4.50 kPa"),
            (0.0125, "m", "12.5 mm"),
            (8e-6, "m", "8.00 µm"),
            (2.5e-8, "m³", "25.0 mm³"),
            (2.5e-5, "m³", "25.0 cm³"),
            (2.5e-15, "m³", "2500 µm³"),
            (0.02, "N/m", "20.0 mN/m"),
            (2.0, "", "2.00"),
        ] {
            assert_eq!(Scaled::suiting(largest, unit).print(largest), want);
        }
        assert_eq!(Scaled::suiting(f64::NAN, "N").title("force"), "force (N)");
    }

    #[test]
    fn widths_follow_the_letters() {
        assert!((text_width("W", 2048.0) - 2025.0).abs() < 1e-9);
        assert!(text_width("ii", 10.0) < text_width("mm", 10.0));
    }
}
