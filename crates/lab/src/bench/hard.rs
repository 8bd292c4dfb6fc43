//! Hardness to modulus: every map, and how far they are apart.

use serde::Serialize;

use super::estimate::{BudgetRow, Estimate, Reading, finished};

/// A map from Shore A hardness to Young's modulus.
#[derive(Clone, Copy, Debug)]
struct Map {
    name: &'static str,
    source: &'static str,
    /// Hardnesses it is meant for.
    range: [f64; 2],
    modulus: fn(f64) -> f64,
}

/// Lindley's table: International Rubber Hardness Degrees, which read about as Shore A does, and Young's modulus in MPa.
const LINDLEY: [(f64, f64); 10] = [
    (30.0, 0.92),
    (35.0, 1.18),
    (40.0, 1.50),
    (45.0, 1.80),
    (50.0, 2.20),
    (55.0, 3.25),
    (60.0, 4.45),
    (65.0, 5.85),
    (70.0, 7.35),
    (75.0, 9.40),
];

/// Between the rows of [`LINDLEY`] straight in the logarithm, and so on beyond them.
fn lindley(s: f64) -> f64 {
    let i = LINDLEY.iter().take_while(|r| r.0 < s).count().clamp(1, LINDLEY.len() - 1);
    let ((a, x), (b, y)) = (LINDLEY[i - 1], LINDLEY[i]);
    let part = (s - a) / (b - a);
    1e6 * libm::exp((1.0 - part) * libm::log(x) + part * libm::log(y))
}

/// The durometer's flat tip pressed into a half-space without friction: E = (1 − ν²) F/(2 a u), ν = ½, with the spring
/// F = 0.55 + 0.075 S newtons, the indentation u = 25.4 µm × (100 − S) and the tip's radius a = 0.395 mm.
fn flat_punch(s: f64) -> f64 {
    0.75 * (0.55 + 0.075 * s) / (2.0 * 0.395e-3 * 25.4e-6 * (100.0 - s))
}

const MAPS: [Map; 4] = [
    Map {
        name: "gent",
        source: "Gent 1958, Trans. Inst. Rubber Ind. 34, 46, E/MPa = 0.0981 (56 + 7.62336 S)/[0.137505 (254 − 2.54 S)]; from memory",
        range: [20.0, 80.0],
        modulus: |s| calotte_specimen::modulus_from_hardness(s).gent,
    },
    Map {
        name: "logarithmic",
        source: "Qi, Joyce & Boyce 2003, Rubber Chem. Technol. 76, 419, log₁₀(E/MPa) = 0.0235 S − 0.6403; from memory",
        range: [20.0, 80.0],
        modulus: |s| calotte_specimen::modulus_from_hardness(s).logarithmic,
    },
    Map {
        name: "lindley",
        source: "table of Lindley 1974, Engineering Design with Natural Rubber, by IRHD, which read about as Shore A; from memory",
        range: [30.0, 75.0],
        modulus: lindley,
    },
    Map {
        name: "flat-punch",
        source: "rigid flat punch on a half-space (Sneddon 1965, Int. J. Eng. Sci. 3, 47; closed form) with spring and tip of ASTM D2240 (from memory)",
        range: [20.0, 80.0],
        modulus: flat_punch,
    },
];

/// What one map says.
#[derive(Clone, Debug, Serialize)]
pub struct MapValue {
    /// Its name: `gent`, `logarithmic`, `lindley`, `flat-punch`.
    pub map: &'static str,
    /// Where it is from.
    pub source: &'static str,
    /// Young's modulus, Pa.
    #[serde(rename = "youngs_modulus_Pa")]
    pub modulus: f64,
    /// Whether the hardness lies within the range that the map is meant for.
    pub within_range: bool,
}

/// All maps at one hardness.
#[derive(Clone, Debug, Serialize)]
pub struct HardnessMaps {
    /// Name of the test.
    pub test: String,
    /// Shore A.
    pub shore_a: f64,
    /// Standard deviation of it, readings and stated error together.
    pub shore_a_deviation: f64,
    /// What each map says.
    pub maps: Vec<MapValue>,
    /// Largest over least, less 1.
    pub apart: f64,
    /// Standard deviation of the logarithms among the maps.
    pub map_deviation: f64,
}

/// A hardness without a stated error is off by a point: common practice, no source.
pub(super) const USUAL_DEVIATION: f64 = 1.0;

/// The estimate: the mean of the logarithms over the maps. Which map is right nobody knows, so their standard deviation among
/// each other (n − 1) is an error of its own; the readings' error goes in by the mean slope.
pub(super) fn hardness(test: &str, reading: &Reading) -> (Estimate, HardnessMaps) {
    let s = reading.value;
    let logs = |s: f64| MAPS.map(|m| libm::log((m.modulus)(s)));
    let mean = |s: f64| logs(s).iter().sum::<f64>() / MAPS.len() as f64;
    let all = logs(s);
    let middle = mean(s);
    let deviation = calotte_chance::sample::deviation(&all).unwrap_or(0.0);
    let slope = mean(s + 0.5) - mean(s - 0.5);
    let row = |input: &str, effect: f64| BudgetRow {
        input: input.to_owned(),
        value: None,
        deviation: None,
        unit: "1",
        effect,
        share: 0.0,
    };
    let budget = vec![
        row("maps from hardness to modulus", deviation),
        BudgetRow {
            value: Some(s),
            deviation: Some(reading.deviation),
            ..row(&reading.id, slope * reading.deviation)
        },
    ];
    let mut estimate = finished("hardness", test, middle, budget);
    let ends = all.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |e, x| [e[0].min(*x), e[1].max(*x)]);
    let apart = libm::expm1(ends[1] - ends[0]);
    estimate.notes.push(format!(
        "The maps from hardness to modulus are {:.0} % apart: no better than a guess within that.",
        100.0 * apart
    ));
    let maps: Vec<MapValue> = MAPS
        .iter()
        .map(|m| MapValue {
            map: m.name,
            source: m.source,
            modulus: (m.modulus)(s),
            within_range: (m.range[0]..=m.range[1]).contains(&s),
        })
        .collect();
    if let Some(out) = maps.iter().find(|m| !m.within_range) {
        estimate.notes.push(format!("{s:.0} Shore A lies outside the range of a map ({}).", out.map));
    }
    let maps = HardnessMaps {
        test: test.to_owned(),
        shore_a: s,
        shore_a_deviation: reading.deviation,
        maps,
        apart,
        map_deviation: deviation,
    };
    (estimate, maps)
}

#[cfg(test)]
mod tests {
    use super::*;
    use calotte_chance::Stream;

    fn at(s: f64, deviation: f64) -> (Estimate, HardnessMaps) {
        hardness("h", &Reading { id: "hardness".to_owned(), value: s, deviation, unit: "1" })
    }

    /// Gent and the log form differ by 18 % at 40 and 83 % at 70 (recomputed from the stated equations); Lindley's rows come
    /// back; the punch is closed form: 0.75 · 5.8 N/(2 · 0.395 mm · 0.762 mm) = 7.226 MPa at 70.
    #[test]
    fn maps_at_known_hardnesses() {
        let (_, m) = at(70.0, 1.0);
        let of = |name: &str| m.maps.iter().find(|v| v.map == name).unwrap().modulus;
        assert!((of("logarithmic") / of("gent") - 1.83).abs() < 0.005);
        assert!((of("lindley") / 7.35e6 - 1.0).abs() < 1e-12);
        assert!((of("flat-punch") / 7.226e6 - 1.0).abs() < 1e-3);
        assert!((lindley(42.5) / 1e6 - f64::sqrt(1.5 * 1.8)).abs() < 1e-12);
        let (e, m) = at(40.0, 0.5);
        assert!(m.apart > 0.18 && e.budget[0].input.contains("maps") && e.budget[0].share > 0.9, "{e:?}");
        assert!(at(25.0, 1.0).0.notes.iter().any(|n| n.contains("outside")));
    }

    /// When the true map is another draw from what the maps are draws of, the interval covers it as it says.
    #[test]
    fn intervals_cover() {
        let mut hits = 0;
        for seed in 0..200 {
            let mut s = Stream::of(71, seed);
            let truth = 50.0;
            let (e0, m) = at(truth, 0.0);
            let modulus = e0.modulus * libm::exp(m.map_deviation * s.normal());
            let (e, _) = at(truth + 1.5 * s.normal(), 1.5);
            hits += u64::from((e.interval[0]..=e.interval[1]).contains(&modulus));
        }
        assert!((180..=198).contains(&hits), "{hits} of 200");
    }
}
