//! Tests of reading and printing.

use proptest::prelude::*;

use crate::{Dimension, Fault, Quantity, QuantityError, find_unit, nearest, show, show_exact, units};

fn read(text: &str, wanted: Dimension) -> Quantity {
    Quantity::parse(text, wanted).unwrap_or_else(|e| panic!("{text}: {e}"))
}

fn refuse(text: &str, wanted: Dimension) -> QuantityError {
    Quantity::parse(text, wanted).expect_err(text)
}

use Dimension::{
    Acceleration, Angle, Curvature, Density, Expansion, Force, Length, MolarEnergy, Number, Pressure, Rate,
    RimStiffness, Stiffness, Temperature, TemperatureDifference, Time, TurningStiffness,
};

#[test]
fn lengths_convert_with_one_rounding() {
    for (text, si) in [
        ("2.10 mm", 0.0021),
        ("2.1mm", 0.0021),
        ("  2.1\u{a0}mm ", 0.0021),
        ("0.3 cm", 0.003),
        ("7 µm", 7e-6),
        ("7 μm", 7e-6),
        ("1e-3 m", 1e-3),
        ("1 in", 0.0254),
        ("3 in", 0.0762),
        ("0.1 in", 0.00254),
        ("1/2 in", 0.0127),
        ("1 3/8 in", 0.034925),
        ("5 thou", 0.000127),
        (".5 mm", 0.0005),
        ("5. mm", 0.005),
        ("+5 mm", 0.005),
        ("−5 mm", -0.005),
    ] {
        assert_eq!(read(text, Length).value.to_bits(), f64::to_bits(si), "{text}");
    }
}

#[test]
fn angles_and_moduli() {
    let pi = std::f64::consts::PI;
    for (text, si) in [("180 deg", pi), ("90°", pi / 2.0), ("1 rad", 1.0), ("60 degrees", pi / 3.0)] {
        assert!((read(text, Angle).value - si).abs() <= f64::EPSILON * si, "{text}");
    }
    for (text, si) in [
        ("1.2 MPa", 1.2e6),
        ("1.2e3 Pa", 1200.0),
        ("210 GPa", 2.1e11),
        ("3 N/mm²", 3e6),
        ("3 N/mm^2", 3e6),
        ("1 psi", 6894.757293168362),
        ("1 bar", 1e5),
    ] {
        assert_eq!(read(text, Pressure).value, si, "{text}");
    }
    assert_eq!(read("1.08 g/cm³", Density).value, 1080.0);
    assert_eq!(read("1080 kg/m^3", Density).value, 1080.0);
    assert_eq!(read("0.49", Number).value, 0.49);
    assert_eq!(read("49 %", Number).value, 0.49);
    assert_eq!(read("0.2 N/mm/mm", RimStiffness).value, 2e5);
    assert_eq!(read("3 N·m/rad/m", TurningStiffness).value, 3.0);
    assert_eq!(read("3 N m / rad / m", TurningStiffness).value, 3.0);
    assert!(matches!(refuse("25 m m", Length).fault, Fault::UnknownUnit { .. }));
}

#[test]
fn accelerations() {
    for (text, si) in [
        ("9.81 m/s^2", 9.81),
        ("9.81 m/s²", 9.81),
        ("9810 mm/s^2", 9.81),
        ("1 g0", 9.80665),
        ("-1 g0", -9.80665),
        ("3 g0", 29.41995),
        ("1/2 g0", 4.903325),
    ] {
        assert_eq!(read(text, Acceleration).value, si, "{text}");
    }
    assert_eq!(read("1.00 ± 0.01 g0", Acceleration).half_width, Some(0.0980665));
    let g0 = find_unit("g0", Acceleration).unwrap();
    assert_eq!(show(9.80665, None, g0), "1 g0");
    let gram = refuse("1 g", Acceleration);
    assert_eq!(gram.hint().as_deref(), Some("did you mean `g0`?"));
    assert!(refuse("9.81", Acceleration).to_string().contains("an acceleration needs a unit"));
    assert!(matches!(refuse("1 m/s", Acceleration).fault, Fault::UnknownUnit { near: Some("m/s2"), .. }));
}

/// Definitions of the units (SI brochure; thermochemical calorie 4.184 J): closed form.
#[test]
fn times_rates_and_energies() {
    for (text, si) in [
        ("90 s", 90.0),
        ("2.5 ms", 2.5e-3),
        ("7 µs", 7e-6),
        ("1.1 min", 66.0),
        ("1/2 h", 1800.0),
        ("24 hours", 86_400.0),
    ] {
        assert_eq!(read(text, Time).value, si, "{text}");
    }
    for (text, si) in
        [("5 1/s", 5.0), ("0.3 s^-1", 0.3), ("2 1/ms", 2e3), ("90 1/min", 1.5), ("1/2 1/s", 0.5)]
    {
        assert_eq!(read(text, Rate).value, si, "{text}");
    }
    for (text, si) in [("80 kJ/mol", 8e4), ("8 J/mol", 8.0), ("20 kcal/mol", 83_680.0)] {
        assert_eq!(read(text, MolarEnergy).value, si, "{text}");
    }
    assert_eq!(read("5 ± 1 1/s", Rate).half_width, Some(1.0));
    assert_eq!(show(1.5, Some(0.1), find_unit("1/min", Rate).unwrap()), "90 ± 6 1/min");
    assert_eq!(show(5400.0, None, find_unit("h", Time).unwrap()), "1.5 h");
    assert!(matches!(refuse("50 Hz", Rate).fault, Fault::UnknownUnit { .. }));
    assert!(matches!(refuse("5 min", Rate).fault, Fault::WrongDimension { found: Time, .. }));
    assert_eq!(refuse("5", Time).hint().as_deref(), Some("write `5 s`"));
}

/// 0 degC = 273.15 K, 32 degF = 0 degC, 5 K = 9 degF: closed form.
#[test]
fn temperatures_have_a_zero_and_their_tolerances_none() {
    for (text, kelvin) in [
        ("296.15 K", 296.15),
        ("23 degC", 296.15),
        ("23°C", 296.15),
        ("23 C", 296.15),
        ("23 deg C", 296.15),
        ("-40 degC", 233.15),
        ("-40 degF", 233.15),
        ("-273.15 degC", 0.0),
        ("-459.67 degF", 0.0),
        ("1/2 degC", 273.65),
    ] {
        assert_eq!(read(text, Temperature).value, kelvin, "{text}");
    }
    for (text, kelvin) in [("32 degF", 273.15), ("73.4 degF", 296.15), ("212 degF", 373.15)] {
        assert!((read(text, Temperature).value - kelvin).abs() <= f64::EPSILON * kelvin, "{text}");
    }
    for (text, width) in [
        ("23 ± 2 degC", 2.0),
        ("23 degC ± 2 K", 2.0),
        ("(23 ± 2) °C", 2.0),
        ("70 ± 9 degF", 5.0),
        ("23 degC ± 9 degF", 5.0),
    ] {
        assert_eq!(read(text, Temperature).half_width, Some(width), "{text}");
    }
    let celsius = find_unit("degC", Temperature).unwrap();
    assert_eq!(show(296.15, Some(2.0), celsius), "23.0 ± 2.0 degC");
    assert_eq!(show(296.15, None, celsius), "23 degC");
    assert_eq!(celsius.from_si(296.15), 23.0);
    assert_eq!(celsius.to_si(23.0), 296.15);
    assert_eq!(show_exact(296.15, Some(2.0), celsius), "23 ± 2 degC");
    assert_eq!(show_exact(233.15, Some(5.0), find_unit("degF", Temperature).unwrap()), "-40 ± 9 degF");
    let e = refuse("23 degC ± 5 %", Temperature);
    assert_eq!((&e.fault, e.at), (&Fault::PercentOfTemperature, 13..14));
    assert!(refuse("23 ± 5 %", Temperature).hint().unwrap().contains("23 degC"));
    assert_eq!(read("51.6 K ± 10 %", TemperatureDifference).half_width, Some(0.1 * 51.6));
    assert_eq!(read("51.6 degC", TemperatureDifference).value, 51.6);
}

/// Definitions of the units (SI brochure; pound 0.453 592 37 kg, inch 0.0254 m): closed form.
#[test]
fn forces_springs_expansions_and_curvatures() {
    for (text, si) in [
        ("1.5 N", 1.5),
        ("250 mN", 0.25),
        ("100 gf", 0.980665),
        ("2 kgf", 19.6133),
        ("1 lbf", 4.4482216152605),
    ] {
        assert_eq!(read(text, Force).value, si, "{text}");
    }
    for (text, si) in
        [("2 N/mm", 2e3), ("2 N/m", 2.0), ("10 gf/mm", 98.0665), ("1 lbf/in", 175.1268352464764)]
    {
        assert_eq!(read(text, Stiffness).value, si, "{text}");
    }
    for (text, si) in [
        ("12 ppm/K", 12e-6),
        ("12 um/m/K", 12e-6),
        ("12 µm/m/K", 12e-6),
        ("12 1e-6/K", 12e-6),
        ("12 10^-6/K", 12e-6),
        ("1.2e-5 1/K", 12e-6),
        ("12 ppm/°C", 12e-6),
        ("10 ppm/degF", 18e-6),
        ("-1 ppm/K", -1e-6),
    ] {
        assert_eq!(read(text, Expansion).value, si, "{text}");
    }
    assert_eq!(read("18.7 ± 0.4 ppm/K", Expansion).half_width, Some(0.4e-6));
    assert_eq!(read("0.02 1/mm", Curvature).value, 20.0);
    assert_eq!(read("-3 1/m", Curvature).value, -3.0);
    assert_eq!(show(18.7e-6, Some(0.4e-6), find_unit("ppm/K", Expansion).unwrap()), "18.7 ± 0.4 ppm/K");
    assert!(matches!(refuse("5 N", Length).fault, Fault::WrongDimension { found: Force, .. }));
    assert!(matches!(
        refuse("5 N/mm/mm", Stiffness).fault,
        Fault::WrongDimension { found: RimStiffness, .. }
    ));
    assert_eq!(refuse("5", Force).hint().as_deref(), Some("write `5 N`"));
}

#[test]
fn tolerances_in_every_spelling() {
    for text in [
        "2.10 ± 0.05 mm",
        "2.10±0.05mm",
        "2.10 +- 0.05 mm",
        "2.10 +/- 0.05 mm",
        "2.10 mm ± 0.05 mm",
        "2.10 mm ± 50 um",
        "2.10 mm ± 0.05",
        "(2.10 ± 0.05) mm",
        "( 2.10 mm ± 50 um )",
    ] {
        let q = read(text, Length);
        assert_eq!((q.value, q.half_width), (0.0021, Some(5e-5)), "{text}");
        assert_eq!(q.unit.symbol, "mm");
    }
    assert_eq!(read("1.2 MPa ± 10 %", Pressure).half_width, Some(0.1 * 1.2e6));
    assert_eq!(read("(1.2 ± 10 %) MPa", Pressure).half_width, Some(0.1 * 1.2e6));
    assert_eq!(read("0.49 ± 2 %", Number).half_width, Some(0.02 * 0.49));
    assert_eq!(read("0 ± 0.05 mm", Length).half_width, Some(5e-5));
}

#[test]
fn faults_point_and_advise() {
    let cases: &[(&str, Dimension, &str, &str, &str)] = &[
        ("210 GPA", Pressure, "GPA", "unknown unit `GPA`", "did you mean `GPa`?"),
        ("2 Mpa", Pressure, "Mpa", "unknown unit `Mpa`", "did you mean `MPa`?"),
        ("2.1", Length, "2.1", "a length needs a unit", "write `2.1 mm`"),
        ("2.1 ± 0.05", Length, "2.1", "a length needs a unit", "write `2.1 ± 0.05 mm`"),
        ("2.1 ± 5 %", Length, "2.1", "a length needs a unit", "write `2.1 mm`"),
        (
            "50 mm",
            Angle,
            "mm",
            "an angle is wanted, and `mm` measures a length",
            "known units: rad, mrad, deg",
        ),
        (
            "2 mm",
            Number,
            "mm",
            "a pure number is wanted, and `mm` measures a length",
            "write the number alone",
        ),
        ("2,1 mm", Length, "2,1", "a comma cannot separate decimals", "write `2.1`"),
        ("2 mm ± -1 mm", Length, "-1", "a tolerance cannot be negative", "without a sign"),
        ("2 mm ± x", Length, "x", "the tolerance is not a number", "± 0.05 mm"),
        ("2 mm +0.1 -0.2", Length, "mm +0.1 -0.2", "unknown unit `mm +0.1 -0.2`", "known units"),
        ("2 +0.1/-0.2 mm", Length, "+0.1/-0.2 mm", "must be one half-width", "middle of the range"),
        ("49 % ± 2 %", Number, "%", "two ways", "0.49 ± 0.01"),
        ("inf mm", Length, "inf mm", "must be finite", ""),
        ("nan", Number, "nan", "must be finite", ""),
        ("1e999 mm", Length, "1e999", "must be finite", ""),
        ("2 ± 1e999 mm", Length, "1e999", "must be finite", ""),
        ("thick", Length, "thick", "not a number", "2.10 ± 0.05 mm"),
        ("", Length, "", "nothing is written", ""),
        ("(2 mm", Length, "(2 mm", "brackets", ""),
        ("2 mm) ", Length, "2 mm)", "brackets", ""),
        ("3 furlongs", Length, "furlongs", "unknown unit `furlongs`", "known units: m, mm"),
    ];
    for (text, wanted, at, says, hint) in cases {
        let e = refuse(text, *wanted);
        assert_eq!(&text[e.at.clone()], *at, "{text}: {e}");
        assert!(e.to_string().contains(says), "{text}: {e}");
        let found = e.hint().unwrap_or_default();
        assert!(found.contains(hint), "{text}: {found}");
    }
}

#[test]
fn zero_denominators_are_not_fractions() {
    assert!(matches!(refuse("1/0 in", Length).fault, Fault::UnknownUnit { .. }));
}

#[test]
fn digits_follow_the_tolerance() {
    let mm = find_unit("mm", Length).unwrap();
    assert_eq!(show(0.0021, Some(5e-5), mm), "2.10 ± 0.05 mm");
    assert_eq!(show(0.0021, Some(1.2e-5), mm), "2.100 ± 0.012 mm");
    assert_eq!(show(0.0021, Some(9.96e-5), mm), "2.10 ± 0.10 mm");
    assert_eq!(show(0.0021, None, mm), "2.1 mm");
    assert_eq!(show(0.0, None, mm), "0 mm");
    assert_eq!(show(0.025, Some(0.0), mm), "25 mm");
    assert_eq!(show(1234.0, Some(40.0), find_unit("Pa", Pressure).unwrap()), "1230 ± 40 Pa");
    assert_eq!(show(0.49, Some(0.01), find_unit("%", Number).unwrap()), "0.490 ± 0.010");
    assert_eq!(show(1.0 / 3.0, None, find_unit("", Number).unwrap()), "0.3333");
    assert_eq!(show_exact(0.0021, Some(5e-5), mm), "2.1 ± 0.05 mm");
    assert_eq!(show_exact(0.0127, None, find_unit("in", Length).unwrap()), "0.5 in");
    assert_eq!(show_exact(std::f64::consts::PI, None, find_unit("deg", Angle).unwrap()), "180 deg");
}

#[test]
fn every_spelling_is_found_and_belongs_to_one_unit() {
    for d in Dimension::ALL {
        for u in units(d) {
            assert_eq!(find_unit(u.symbol, d), Some(u));
        }
        let mut all: Vec<&str> = crate::unit::spellings(d).collect();
        let before = all.len();
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), before, "{d:?}");
        assert!(find_unit(d.usual_unit(), d).is_some(), "{d:?}");
    }
}

#[test]
fn nearest_words() {
    let keys = ["radius", "half_angle", "rim_diameter", "rise"];
    assert_eq!(nearest("halfangle", keys.into_iter()), Some("half_angle"));
    assert_eq!(nearest("raduis", keys.into_iter()), Some("radius"));
    assert_eq!(nearest("colour", keys.into_iter()), None);
}

/// Numbers of every size, away from the ends of the range where a conversion would lose digits.
fn wide() -> impl Strategy<Value = f64> {
    (-10.0..10.0f64, -280..280i32).prop_map(|(m, e)| format!("{m}e{e}").parse().unwrap())
}

proptest! {
    #[test]
    fn parser_never_panics_and_points_inside(text in "\\PC{0,40}", d in 0..Dimension::ALL.len()) {
        if let Err(e) = Quantity::parse(&text, Dimension::ALL[d]) {
            prop_assert!(e.at.start <= e.at.end && e.at.end <= text.len());
            prop_assert!(text.get(e.at.clone()).is_some(), "{e:?} splits a letter of {text:?}");
            let _ = (e.to_string(), e.hint());
        }
    }

    #[test]
    fn near_quantities_never_panic(text in "[-+−(]{0,2}[0-9 ./,e]{0,9} ?(mm|%|deg|MPa|N/m)?[ )]?(±|\\+-|\\+/-)?[0-9. e-]{0,5}(mm|%)?[)]?", d in 0..Dimension::ALL.len()) {
        match Quantity::parse(&text, Dimension::ALL[d]) {
            Ok(q) => prop_assert!(q.value.is_finite() && q.half_width.is_none_or(|w| w.is_finite() && w >= 0.0)),
            Err(e) => prop_assert!(text.get(e.at).is_some()),
        }
    }

    #[test]
    fn exact_text_reads_back(
        value in wide(),
        width in proptest::option::of(wide().prop_map(f64::abs)),
        d in 0..Dimension::ALL.len(),
        pick in 0..16usize,
    ) {
        let all: Vec<_> = units(Dimension::ALL[d]).collect();
        let unit = all[pick % all.len()];
        let text = show_exact(value, width, unit);
        let q = Quantity::parse(&text, unit.dimension).map_err(|e| TestCaseError::fail(format!("{text}: {e}")))?;
        let slack = if matches!(unit.symbol, "deg" | "psi" | "ksi" | "1/min" | "degF" | "lbf" | "lbf/in") { f64::EPSILON } else { 0.0 };
        // Near absolute zero the digits of the other scales run out.
        let zero = if matches!(unit.symbol, "degC" | "degF") { 300.0 * f64::EPSILON } else { 0.0 };
        prop_assert!((q.value - value).abs() <= slack * value.abs() + zero, "{text}: {} {value}", q.value);
        prop_assert_eq!(q.half_width.is_some(), width.is_some());
        if let (Some(a), Some(b)) = (q.half_width, width) {
            prop_assert!((a - b).abs() <= slack * b.abs(), "{text}: {a} {b}");
        }
    }

    #[test]
    fn shown_text_reads_back_near(value in -1e3..1e3f64, width in 1e-6..1e2f64) {
        let mm = units(Length).find(|u| u.symbol == "mm").unwrap();
        let q = Quantity::parse(&show(value, Some(width), mm), Length).unwrap();
        prop_assert!((q.value - value).abs() <= 0.51 * width);
        prop_assert!((q.half_width.unwrap() - width).abs() <= 0.17 * width);
    }
}
