//! Materials in stock: values to start from, each with its spread and where it comes from.
//!
//! None replaces a test of the material in hand. The spread acts as the tolerance of the input.

/// A value with its spread and origin.
#[derive(Clone, Debug, PartialEq)]
pub struct Stated {
    /// SI value.
    pub value: f64,
    /// Half-width of the spread, SI.
    pub half_width: f64,
    /// Where it comes from.
    pub source: &'static str,
}

/// A material on the shelf.
#[derive(Clone, Debug, PartialEq)]
pub struct Stocked {
    /// Short key, usable as `material.name`.
    pub key: &'static str,
    /// Full name, usable as `material.name` too.
    pub name: &'static str,
    /// Young's modulus at small strain and room temperature, Pa.
    pub youngs_modulus: Stated,
    /// Poisson ratio.
    pub poisson_ratio: Stated,
    /// Density, kg/m³.
    pub density: Stated,
    /// Coefficient of thermal expansion between room temperature and 100 degC, 1/K; stated for metals.
    pub expansion: Option<Stated>,
    /// Typical memory: share of the instantaneous modulus that relaxes, and its time (s) at room
    /// temperature. Empty for metals, which hardly relax there.
    pub memory: Vec<(Stated, f64)>,
}

/// Young's modulus from hardness, by two formulas that disagree.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FromHardness {
    /// Gent 1958 (from memory): E/MPa = 0.0981 (56 + 7.62336 S) / [0.137505 (254 − 2.54 S)], in Pa.
    pub gent: f64,
    /// Log form (common practice, from memory): log₁₀(E/MPa) = 0.0235 S − 0.6403, in Pa.
    pub logarithmic: f64,
    /// Mean of the two, Pa.
    pub value: f64,
    /// Half the difference of the two, and what a reading two points off does, added up; Pa.
    pub half_width: f64,
}

/// Young's modulus (Pa) of an elastomer of `shore_a` hardness (10 to 80 makes sense).
pub fn modulus_from_hardness(shore_a: f64) -> FromHardness {
    let gent = 0.0981e6 * (56.0 + 7.62336 * shore_a) / (0.137505 * (254.0 - 2.54 * shore_a));
    let logarithmic = 1e6 * libm::pow(10.0, 0.0235 * shore_a - 0.6403);
    let value = 0.5 * (gent + logarithmic);
    let reading = value * 2.0 * 0.0235 * std::f64::consts::LN_10;
    FromHardness { gent, logarithmic, value, half_width: 0.5 * (gent - logarithmic).abs() + reading }
}

/// Where every memory on the shelf comes from.
pub(crate) const RELAXING: &str = "typical, from memory; measure your own";
const MEMORY: &str = "typical handbook range, from memory";
const HARDNESS: &str = "mean of Gent 1958 and the log form of hardness (both from memory); spread: half their difference, and a reading two points off";
const RUBBERY: &str = "nearly incompressible, from memory; spread: a guess";

/// Two significant digits of the spread, and the value to match: more would pretend.
fn rounded(x: f64, place: f64) -> f64 {
    (x / place).round() * place
}

/// One share for each time, its spread a half of it.
fn relaxing(shares: [f64; 3], times: [f64; 3]) -> Vec<(Stated, f64)> {
    let stated = |g: f64| Stated { value: g, half_width: 0.5 * g, source: RELAXING };
    shares.map(stated).into_iter().zip(times).collect()
}

/// A tenth of a second, ten seconds, a quarter of an hour.
const DECADES: [f64; 3] = [0.1, 10.0, 1000.0];

impl Stocked {
    fn relaxes(mut self, shares: [f64; 3]) -> Self {
        self.memory = relaxing(shares, DECADES);
        self
    }

    /// Value and spread in millionths per kelvin.
    fn expands(mut self, [value, half_width]: [f64; 2]) -> Self {
        self.expansion = Some(Stated { value: value * 1e-6, half_width: half_width * 1e-6, source: MEMORY });
        self
    }
}

fn elastomer(key: &'static str, name: &'static str, shore_a: f64, density: f64, spread: f64) -> Stocked {
    let e = modulus_from_hardness(shore_a);
    Stocked {
        key,
        name,
        youngs_modulus: Stated {
            value: rounded(e.value, 1e4),
            half_width: rounded(e.half_width, 1e4),
            source: HARDNESS,
        },
        poisson_ratio: Stated { value: 0.495, half_width: 0.005, source: RUBBERY },
        density: Stated { value: density, half_width: spread, source: MEMORY },
        expansion: None,
        memory: Vec::new(),
    }
}

fn solid(key: &'static str, name: &'static str, gpa: [f64; 2], nu: [f64; 2], density: [f64; 2]) -> Stocked {
    let stated = |[value, half_width]: [f64; 2], unit: f64| Stated {
        value: value * unit,
        half_width: half_width * unit,
        source: MEMORY,
    };
    Stocked {
        key,
        name,
        youngs_modulus: stated(gpa, 1e9),
        poisson_ratio: stated(nu, 1.0),
        density: stated(density, 1.0),
        expansion: None,
        memory: Vec::new(),
    }
}

/// Everything in stock.
pub fn shelf() -> Vec<Stocked> {
    vec![
        elastomer("silicone-10", "cast silicone, 10 Shore A", 10.0, 1080.0, 40.0).relaxes([0.03, 0.03, 0.03]),
        elastomer("silicone-20", "cast silicone, 20 Shore A", 20.0, 1080.0, 40.0).relaxes([0.03, 0.03, 0.03]),
        elastomer("silicone-30", "cast silicone, 30 Shore A", 30.0, 1090.0, 50.0).relaxes([0.03, 0.03, 0.03]),
        elastomer("silicone-50", "cast silicone, 50 Shore A", 50.0, 1140.0, 60.0).relaxes([0.04, 0.04, 0.04]),
        elastomer("natural-rubber-40", "natural rubber, 40 Shore A", 40.0, 950.0, 40.0)
            .relaxes([0.04, 0.04, 0.04]),
        elastomer("polyurethane-60", "soft polyurethane, 60 Shore A", 60.0, 1080.0, 60.0)
            .relaxes([0.08, 0.08, 0.06]),
        solid("polypropylene", "polypropylene", [1.5, 0.3], [0.42, 0.02], [905.0, 10.0])
            .relaxes([0.10, 0.12, 0.14]),
        solid("polycarbonate", "polycarbonate", [2.35, 0.15], [0.37, 0.02], [1200.0, 10.0])
            .relaxes([0.02, 0.03, 0.04]),
        solid("pet-sheet", "PET sheet, amorphous", [2.4, 0.4], [0.38, 0.03], [1335.0, 20.0])
            .relaxes([0.03, 0.04, 0.05]),
        solid("acrylic", "acrylic, cast", [3.1, 0.3], [0.37, 0.02], [1185.0, 10.0])
            .relaxes([0.06, 0.08, 0.10]),
        solid("spring-steel", "carbon spring steel", [206.0, 5.0], [0.29, 0.01], [7850.0, 50.0])
            .expands([11.5, 0.7]),
        solid("stainless-301", "stainless steel 301 or 304", [193.0, 7.0], [0.28, 0.02], [7930.0, 80.0])
            .expands([16.8, 0.8]),
        solid("beryllium-copper", "beryllium copper, aged", [129.0, 4.0], [0.30, 0.02], [8300.0, 60.0])
            .expands([17.2, 0.6]),
        solid("phosphor-bronze", "phosphor bronze, 5 to 8 % tin", [110.0, 5.0], [0.34, 0.02], [8830.0, 50.0])
            .expands([17.8, 0.6]),
        solid("brass", "brass, 30 to 37 % zinc", [107.0, 7.0], [0.34, 0.02], [8500.0, 60.0])
            .expands([19.9, 0.8]),
        solid("aluminium", "aluminium alloy", [70.0, 2.0], [0.33, 0.01], [2720.0, 60.0]).expands([23.3, 0.9]),
        solid("invar-36", "iron with 36 % nickel", [141.0, 6.0], [0.28, 0.02], [8110.0, 50.0])
            .expands([1.4, 0.6]),
        solid(
            "nickel-iron-22",
            "iron with 22 % nickel, 3 % chromium",
            [178.0, 12.0],
            [0.29, 0.02],
            [8100.0, 100.0],
        )
        .expands([18.7, 1.0]),
    ]
}

/// The shelf entry with this key or full name, whatever the letter case.
pub fn find_on_shelf(name: &str) -> Option<Stocked> {
    let wanted = name.trim().to_lowercase();
    shelf().into_iter().find(|m| m.key == wanted || m.name.to_lowercase() == wanted)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hardness_formulas_differ_as_known() {
        // Recomputed from the two formulas: 18 % apart at 40 Shore A, 83 % at 70.
        let apart = |s: f64| {
            let e = modulus_from_hardness(s);
            (e.logarithmic / e.gent - 1.0, e)
        };
        assert!((apart(40.0).0 - 0.18).abs() < 0.01, "{}", apart(40.0).0);
        assert!((apart(70.0).0 - 0.831).abs() < 0.001, "{}", apart(70.0).0);
        for s in [10.0, 30.0, 60.0] {
            let e = apart(s).1;
            assert!(e.value - e.half_width < e.gent.min(e.logarithmic));
            assert!(e.value + e.half_width > e.gent.max(e.logarithmic));
        }
    }

    #[test]
    fn stock_is_sound_and_found_by_key_and_name() {
        for m in shelf() {
            assert_eq!(find_on_shelf(m.key).as_ref(), Some(&m));
            assert_eq!(find_on_shelf(&m.name.to_uppercase()).as_ref(), Some(&m));
            for v in [&m.youngs_modulus, &m.poisson_ratio, &m.density] {
                assert!(v.value - v.half_width > 0.0 && v.half_width > 0.0 && !v.source.is_empty());
            }
            assert!(m.poisson_ratio.value + m.poisson_ratio.half_width <= 0.5);
            let loss: f64 = m.memory.iter().map(|(g, _)| g.value + g.half_width).sum();
            assert!(
                loss < 1.0
                    && m.memory.iter().all(|(g, t)| g.half_width > 0.0 && g.value > g.half_width && *t > 0.0)
            );
            assert!(m.memory.windows(2).all(|w| w[0].1 < w[1].1));
            let metal = m.youngs_modulus.value > 2e10;
            assert_eq!(m.memory.is_empty(), metal, "{}", m.key);
            assert_eq!(m.expansion.is_some(), metal, "{}", m.key);
            assert!(
                m.expansion.is_none_or(|a| a.half_width > 0.0 && a.value > a.half_width && a.value < 1e-4)
            );
        }
        assert_eq!(find_on_shelf("unobtainium"), None);
    }
}
