//! Coned discs (disc springs) by the formulae of the trade.
//!
//! EN 16984 (from memory; numbers of equations are left out for that reason), which are those of Almen & Laszlo 1936, "The
//! uniform-section disk spring", Trans. ASME 58, 305. With δ = Dₑ/Dᵢ, `P = 4E/(1−ν²) · t²/(K₁Dₑ²)`, a deflection s between
//! the two edges, and K₄ = 1 (no bearing flats):
//!
//! | | |
//! |---|---|
//! | K₁ | `((δ−1)/δ)²/((δ+1)/(δ−1) − 2/ln δ)/π` |
//! | K₂ | `(6/π)((δ−1)/ln δ − 1)/ln δ` |
//! | K₃ | `(3/π)(δ−1)/ln δ` |
//! | load | `P t² (s/t) [(h₀/t − s/t)(h₀/t − s/2t) + 1]` |
//! | σ_OM | `−P (s/t) 3/π` |
//! | σ_I, σ_II | `−P (s/t) [K₂(h₀/t − s/2t) ± K₃]` |
//! | σ_III, σ_IV | `−P (s/t)/δ [(K₂ − 2K₃)(h₀/t − s/2t) ∓ K₃]` |
//!
//! The section turns without bending and slopes are small. No friction, no presetting. The stiffness of the hoop is taken as
//! E/(1−ν²) though a narrow section can narrow and widen: for narrow rings shell theory gives 1 − ν² times the load.

use serde::Serialize;

use calotte_specimen::{Meridian, Part, Rim};

use crate::explain::{degrees, digits};

/// Slope beyond which the report warns, rad: cos β is 1.5 % off one. Common practice, no source.
const STEEP: f64 = 0.175;

/// Diameter ratios of the standard's sizes, about (EN 16983, from memory).
const USUAL_RATIO: [f64; 2] = [1.75, 2.5];

/// A coned disc of rectangular section, without bearing flats.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ConedDisc {
    outer: f64,
    inner: f64,
    thickness: f64,
    height: f64,
    youngs: f64,
    poisson: f64,
}

/// Why numbers make no coned disc.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum DiscFault {
    /// A size or the modulus is not positive and finite.
    NotPositive {
        /// What.
        what: &'static str,
        /// Its value, SI.
        value: f64,
    },
    /// The hole is as wide as the disc.
    NoWidth {
        /// Diameters, m.
        outer: f64,
        /// Hole, m.
        inner: f64,
    },
    /// A Poisson ratio outside −1 < ν ≤ ½.
    Poisson {
        /// Its value.
        value: f64,
    },
}

impl DiscFault {
    /// In words.
    pub fn words(&self) -> String {
        match self {
            Self::NotPositive { what, value } => format!("the {what} must be above zero, and is {value}"),
            Self::NoWidth { outer, inner } => format!(
                "the hole must be smaller than the disc, and its diameter is {} of {}",
                crate::explain::length(*inner),
                crate::explain::length(*outer)
            ),
            Self::Poisson { value } => {
                format!("the Poisson ratio must lie above -1 and not above 0.5, and is {value}")
            }
        }
    }
}

/// Hoop stresses, Pa, tension positive. The face that gets shorter is the one on which the inner edge is pushed.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct DiscStresses {
    /// At OM: on the face that gets shorter, over the centre of turning.
    pub om_Pa: f64,
    /// At I: inner edge, same face.
    pub i_Pa: f64,
    /// At II: inner edge, other face.
    pub ii_Pa: f64,
    /// At III: outer edge, other face.
    pub iii_Pa: f64,
    /// At IV: outer edge, same face as I.
    pub iv_Pa: f64,
}

/// A place on the load curve.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct DiscExtreme {
    /// Deflection, m.
    pub deflection_m: f64,
    /// Load, N.
    pub load_N: f64,
}

/// One deflection of the report.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct DiscRow {
    /// Deflection over h₀; 1 is flat.
    pub share: f64,
    /// Deflection, m.
    pub deflection_m: f64,
    /// Load, N.
    pub load_N: f64,
    /// Slope of the load, N/m.
    pub rate_N_per_m: f64,
    /// Work done up to here, J.
    pub energy_J: f64,
    /// Stresses.
    pub stresses: DiscStresses,
}

/// What the formulae say about a coned disc.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct DiscReport {
    /// Where the formulae come from.
    pub source: String,
    /// Dₑ of the formulae, m.
    pub outer_diameter_m: f64,
    /// Dᵢ of the formulae, m.
    pub inner_diameter_m: f64,
    /// t, m.
    pub thickness_m: f64,
    /// h₀, m.
    pub height_m: f64,
    /// Largest diameter of the tilted section, if the diameters above are those of the middle of the wall, m.
    pub overall_outer_diameter_m: f64,
    /// Smallest diameter of its hole, m.
    pub overall_inner_diameter_m: f64,
    /// Overall height, unloaded, l₀, m.
    pub overall_height_m: f64,
    /// h₀/t.
    pub height_over_thickness: f64,
    /// At quarters of h₀ up to flat.
    pub rows: Vec<DiscRow>,
    /// First peak of the load; `None` for h₀/t ≤ √2, where it only rises.
    pub peak: Option<DiscExtreme>,
    /// Valley after it.
    pub valley: Option<DiscExtreme>,
    /// Whether it stays turned over: h₀/t > 2√2.
    pub stays: bool,
    /// Deflection at which it then rests, m.
    pub rests_at_m: Option<f64>,
    /// What to keep in mind.
    pub cautions: Vec<String>,
}

impl ConedDisc {
    /// Diameters, thickness and height h₀ (m), Young's modulus (Pa), Poisson ratio.
    ///
    /// # Errors
    /// [`DiscFault`] with the number that cannot be.
    pub fn new(
        outer: f64,
        inner: f64,
        thickness: f64,
        height: f64,
        youngs: f64,
        poisson: f64,
    ) -> Result<Self, DiscFault> {
        let positive = [
            ("outer diameter", outer),
            ("inner diameter", inner),
            ("thickness", thickness),
            ("height", height),
            ("Young's modulus", youngs),
        ];
        for (what, value) in positive {
            if !(value.is_finite() && value > 0.0) {
                return Err(DiscFault::NotPositive { what, value });
            }
        }
        if inner >= outer {
            return Err(DiscFault::NoWidth { outer, inner });
        }
        if !(poisson > -1.0 && poisson <= 0.5) {
            return Err(DiscFault::Poisson { value: poisson });
        }
        Ok(Self { outer, inner, thickness, height, youngs, poisson })
    }

    /// `P = 4E/(1−ν²) · t²/(K₁Dₑ²)`, Pa.
    fn pressure(&self) -> f64 {
        let ratio = self.outer / self.inner;
        let share = (ratio - 1.0) / ratio;
        let k1 = share * share / (std::f64::consts::PI * arm(ratio));
        let t = self.thickness / self.outer;
        4.0 * self.youngs / (1.0 - self.poisson * self.poisson) * t * t / k1
    }

    /// Load at the deflection `s`, N.
    pub fn load(&self, s: f64) -> f64 {
        let (x, y) = (s / self.thickness, self.height / self.thickness);
        self.pressure() * self.thickness * self.thickness * x * ((y - x) * (y - 0.5 * x) + 1.0)
    }

    /// Slope of the load at the deflection `s`, N/m: `P t [(h₀/t)² − 3 (h₀/t)(s/t) + 3/2 (s/t)² + 1]`.
    pub fn rate(&self, s: f64) -> f64 {
        let (x, y) = (s / self.thickness, self.height / self.thickness);
        self.pressure() * self.thickness * (y * y - 3.0 * x * y + 1.5 * x * x + 1.0)
    }

    /// Work up to the deflection `s`, J: `P t³/2 · (s/t)² [(h₀/t − s/2t)² + 1]`.
    pub fn energy(&self, s: f64) -> f64 {
        let (x, y) = (s / self.thickness, self.height / self.thickness);
        let lean = y - 0.5 * x;
        0.5 * self.pressure() * self.thickness.powi(3) * x * x * (lean * lean + 1.0)
    }

    /// Hoop stresses at the deflection `s`.
    pub fn stresses(&self, s: f64) -> DiscStresses {
        let ratio = self.outer / self.inner;
        let log = libm::log(ratio);
        let k2 = 6.0 / std::f64::consts::PI * ((ratio - 1.0) / log - 1.0) / log;
        let k3 = 3.0 / std::f64::consts::PI * (ratio - 1.0) / log;
        let x = s / self.thickness;
        let lean = self.height / self.thickness - 0.5 * x;
        let base = -self.pressure() * x;
        DiscStresses {
            om_Pa: base * 3.0 / std::f64::consts::PI,
            i_Pa: base * (k2 * lean + k3),
            ii_Pa: base * (k2 * lean - k3),
            iii_Pa: base / ratio * ((k2 - 2.0 * k3) * lean - k3),
            iv_Pa: base / ratio * ((k2 - 2.0 * k3) * lean + k3),
        }
    }

    /// Peak and valley of the load: `s = h₀ ∓ t √(((h₀/t)² − 2)/3)`; `None` for h₀/t ≤ √2.
    pub fn extremes(&self) -> Option<[DiscExtreme; 2]> {
        let y = self.height / self.thickness;
        let apart = y * y - 2.0;
        (apart > 0.0).then(|| {
            let half = self.thickness * (apart / 3.0).sqrt();
            [self.height - half, self.height + half]
                .map(|s| DiscExtreme { deflection_m: s, load_N: self.load(s) })
        })
    }

    /// Deflection at which it rests turned over, m: `s = 3h₀/2 + t √((h₀/2t)² − 2)`; `None` for h₀/t ≤ 2√2.
    pub fn rests_at(&self) -> Option<f64> {
        let half = 0.5 * self.height / self.thickness;
        let left = half * half - 2.0;
        (left > 0.0).then(|| 1.5 * self.height + self.thickness * left.sqrt())
    }

    /// Slope of the section, unloaded, rad.
    pub fn slope(&self) -> f64 {
        libm::atan2(self.height, 0.5 * (self.outer - self.inner))
    }

    /// Everything at the deflection `s`.
    pub fn row(&self, s: f64) -> DiscRow {
        DiscRow {
            share: s / self.height,
            deflection_m: s,
            load_N: self.load(s),
            rate_N_per_m: self.rate(s),
            energy_J: self.energy(s),
            stresses: self.stresses(s),
        }
    }

    /// Everything at quarters of h₀.
    pub fn report(&self) -> DiscReport {
        let extremes = self.extremes();
        let (sin, cos) = libm::sincos(self.slope());
        DiscReport {
            source: "formulae of EN 16984 (from memory), Almen & Laszlo 1936; no bearing flats (K4 = 1)"
                .to_owned(),
            outer_diameter_m: self.outer,
            inner_diameter_m: self.inner,
            thickness_m: self.thickness,
            height_m: self.height,
            overall_outer_diameter_m: self.outer + self.thickness * sin,
            overall_inner_diameter_m: self.inner - self.thickness * sin,
            overall_height_m: self.height + self.thickness * cos,
            height_over_thickness: self.height / self.thickness,
            rows: (1..=4).map(|i| self.row(0.25 * f64::from(i) * self.height)).collect(),
            peak: extremes.map(|e| e[0]),
            valley: extremes.map(|e| e[1]),
            stays: self.rests_at().is_some(),
            rests_at_m: self.rests_at(),
            cautions: self.cautions(),
        }
    }

    fn cautions(&self) -> Vec<String> {
        let mut out = vec![format!(
            "The formula lets the section turn but not bend, narrow or widen; shell theory gives loads nearer to {} times \
             these when the ring is narrow. Friction, bearing flats and presetting are left out.",
            digits(1.0 - self.poisson * self.poisson, 3)
        )];
        let ratio = self.outer / self.inner;
        if !(USUAL_RATIO[0]..=USUAL_RATIO[1]).contains(&ratio) {
            out.push(format!(
                "The outer diameter is {} times the inner one; the standard's sizes have about {} to {} (from memory).",
                digits(ratio, 3),
                USUAL_RATIO[0],
                USUAL_RATIO[1]
            ));
        }
        if self.slope() > STEEP {
            out.push(format!(
                "The formula takes slopes as small; this section leans by {}.",
                degrees(self.slope())
            ));
        }
        out
    }
}

/// `(δ+1)/(δ−1) − 2/ln δ`. With u = (δ−1)/(δ+1) and ln δ = 2 artanh u it is `(artanh u − u)/(u artanh u)`, both by their
/// series where they would cancel.
fn arm(ratio: f64) -> f64 {
    let u = (ratio - 1.0) / (ratio + 1.0);
    if u > 0.3 {
        return 1.0 / u - 2.0 / libm::log(ratio);
    }
    let (mut above, mut below, mut power) = (0.0, 0.0, 1.0);
    for k in 0..16 {
        let odd = f64::from(2 * k + 1);
        above += power / (odd + 2.0);
        below += power / odd;
        power *= u * u;
    }
    u * above / below
}

/// The coned disc that a part is: one straight piece with a hole, a slope between flat and upright, one uniform wall of one
/// material without heat in it, and an outer edge that may turn and slide. `None` for any other part.
///
/// Diameters and height are those of the ends of the mid-surface. The standard measures Dₑ and Dᵢ at the widest and the
/// narrowest corner of the tilted section, t sin β further out and in; a part drawn with the standard's own numbers is taken by
/// its numbers, and the report tells the overall sizes.
pub fn recognise(part: &Part) -> Option<ConedDisc> {
    let straight = match &part.meridian {
        Meridian::Straight(_) => true,
        Meridian::Corners(c) => c.pieces() == 1 && c.at(0.0).curvature == 0.0,
        Meridian::Sphere(_) | Meridian::Measured(_) => false,
    };
    let edge_gives = matches!(part.rim, Rim::Free | Rim::Table | Rim::Ring);
    if !straight || !edge_gives || !part.wall.is_uniform() || part.wall.layers().is_some() {
        return None;
    }
    let length = part.meridian.length();
    let (inner, outer) = (part.meridian.at(0.0), part.meridian.before(length));
    // Drawn as a bowl: the outer edge is the higher one.
    if inner.cos <= 0.0 {
        return None;
    }
    let m = part.material;
    ConedDisc::new(
        2.0 * outer.r,
        2.0 * inner.r,
        part.wall.thickness(0.0),
        outer.z - inner.z,
        m.youngs,
        m.poisson,
    )
    .ok()
}

#[cfg(test)]
mod tests {
    use calotte_oracle::coned_disc::{Disc, TABLE};
    use calotte_oracle::coned_disc_sizes::{SIZES, Size};
    use calotte_specimen::{Corner, Corners, Material, Straight, Wall};

    use super::*;

    fn of(d: Disc) -> ConedDisc {
        ConedDisc::new(d.outer, d.inner, d.thickness, d.height, d.youngs, d.poisson).unwrap()
    }

    fn near(a: f64, b: f64, within: f64) {
        assert!((a / b - 1.0).abs() < within, "{a} {b}");
    }

    /// Against the oracle's own writing of the formulae (stresses there come from the turning section), narrow rings too.
    #[test]
    fn loads_and_stresses_are_the_oracles() {
        let wide = SIZES.iter().map(Size::disc).chain(TABLE.iter().map(|t| t.disc));
        let narrow = [1.001, 1.05, 1.2, 1.9, 4.0].map(|r| Disc { inner: 0.05 / r, ..TABLE[0].disc });
        for d in wide.chain(narrow) {
            let disc = of(d);
            for share in [0.1, 0.75, 1.0, 1.7] {
                let s = share * d.height;
                near(disc.load(s), d.force(s), 1e-11);
                near(disc.rate(s), d.stiffness(s), 1e-9);
                let (a, b) = (disc.stresses(s), d.stresses(s));
                let size = b.one.abs();
                let pairs = [
                    (a.om_Pa, b.om),
                    (a.i_Pa, b.one),
                    (a.ii_Pa, b.two),
                    (a.iii_Pa, b.three),
                    (a.iv_Pa, b.four),
                ];
                for (x, y) in pairs {
                    assert!((x - y).abs() < 1e-9 * size, "{d:?} {share}: {x} {y}");
                }
            }
        }
    }

    /// EN 16983 (from memory): printed loads at three quarters of the height.
    #[test]
    fn printed_loads() {
        for size in SIZES {
            let Some(load) = size.load else { continue };
            let disc = of(size.disc());
            let row = disc.report().rows[2];
            assert!((row.load_N - load).abs() <= Size::load_digit(load), "{size:?}: {}", row.load_N);
        }
    }

    /// Closed form: the load is the slope of the energy, the rate that of the load (central differences).
    #[test]
    fn energy_load_and_rate_belong_together() {
        let disc = of(TABLE[1].disc);
        for s in [2e-4, 1e-3, 2.1e-3] {
            let d = 1e-8;
            near((disc.energy(s + d) - disc.energy(s - d)) / (2.0 * d), disc.load(s), 1e-6);
            near((disc.load(s + d) - disc.load(s - d)) / (2.0 * d), disc.rate(s), 1e-6);
        }
    }

    /// Closed form: peak and valley beyond h₀/t = √2, a rest beyond 2√2; nothing before.
    #[test]
    fn peaks_and_rests() {
        let root = std::f64::consts::SQRT_2;
        let at = |ratio: f64| of(Disc { height: ratio * 1e-3, thickness: 1e-3, ..TABLE[0].disc });
        assert!(at(root - 1e-6).extremes().is_none() && at(2.0 * root - 1e-6).rests_at().is_none());
        for ratio in [root + 1e-3, 2.0, 3.0] {
            let disc = at(ratio);
            let [peak, valley] = disc.extremes().unwrap();
            assert!(peak.load_N > valley.load_N && peak.deflection_m < valley.deflection_m);
            for e in [peak, valley] {
                assert!(disc.rate(e.deflection_m).abs() < 1e-9 * disc.rate(0.0));
            }
            assert_eq!(disc.report().stays, valley.load_N < 0.0);
        }
        let disc = at(3.0);
        let rest = disc.rests_at().unwrap();
        assert!(disc.load(rest).abs() < 1e-9 * disc.load(1e-3) && disc.rate(rest) > 0.0);
    }

    fn part(meridian: Meridian) -> Part {
        Part {
            meridian,
            wall: Wall::uniform(0.002),
            material: Material { youngs: 206e9, poisson: 0.3, density: None },
            rim: Rim::Ring,
        }
    }

    fn cone() -> Straight {
        let width = 0.0123;
        Straight { start: 0.0127, slope: libm::atan2(0.0014, width), length: libm::hypot(0.0014, width) }
    }

    /// One disc drawn in two ways is the disc of the table.
    #[test]
    fn coned_discs_are_recognised() {
        let corner = |r, z| Corner { r, z, fillet: 0.0, arc: 0.0 };
        let corners = Corners::new(&[corner(0.0127, 0.0), corner(0.025, 0.0014)]).unwrap();
        for meridian in [Meridian::Straight(cone()), Meridian::Corners(Box::new(corners))] {
            let disc = recognise(&part(meridian)).unwrap();
            near(disc.load(0.00105), of(TABLE[0].disc).load(0.00105), 1e-10);
            let r = disc.report();
            // By hand: sin β = 0.0014/hypot(0.0014, 0.0123), t = 2 mm.
            near(r.overall_outer_diameter_m, 0.05 + 2.2618e-4, 1e-6);
            near(r.overall_inner_diameter_m, 0.0254 - 2.2618e-4, 1e-6);
            assert_eq!(r.cautions.len(), 1, "{:?}", r.cautions);
        }
    }

    #[test]
    fn other_parts_are_not() {
        let straight = |s: Straight| part(Meridian::Straight(s));
        let flat = straight(Straight { slope: 0.0, ..cone() });
        let tube = straight(Straight { slope: std::f64::consts::FRAC_PI_2, ..cone() });
        let plate = straight(Straight { start: 0.0, slope: 0.0, length: 0.02 });
        let clamped = Part { rim: Rim::Clamped, ..straight(cone()) };
        let stepped = Part {
            wall: Wall::stepped(vec![(0.0, 0.002), (0.005, 0.002), (0.005, 0.003)]).unwrap(),
            ..straight(cone())
        };
        for other in [flat, tube, plate, clamped, stepped] {
            assert!(recognise(&other).is_none(), "{other:?}");
        }
        let corner = |r, z, arc| Corner { r, z, fillet: 0.0, arc };
        let arc = Corners::new(&[corner(0.0127, 0.0, 0.1), corner(0.025, 0.0014, 0.0)]).unwrap();
        let two =
            Corners::new(&[corner(0.0127, 0.0, 0.0), corner(0.02, 0.001, 0.0), corner(0.025, 0.0014, 0.0)])
                .unwrap();
        for c in [arc, two] {
            assert!(recognise(&part(Meridian::Corners(Box::new(c)))).is_none());
        }
    }

    #[test]
    fn impossible_discs_are_named() {
        let with = |outer, inner, poisson| ConedDisc::new(outer, inner, 1e-3, 1e-3, 2e11, poisson);
        assert_eq!(with(0.02, 0.03, 0.3), Err(DiscFault::NoWidth { outer: 0.02, inner: 0.03 }));
        assert_eq!(with(0.02, 0.01, 0.6), Err(DiscFault::Poisson { value: 0.6 }));
        assert!(matches!(with(0.02, 0.01, f64::NAN), Err(DiscFault::Poisson { .. })));
        let fault = with(0.02, 0.0, 0.3).unwrap_err();
        assert!(fault.words().contains("inner diameter"), "{}", fault.words());
    }
}
