//! Coned disc (disc spring): the force by rigid-section theory.
//!
//! Almen & Laszlo 1936, "The uniform-section disk spring", Trans. ASME 58, 305; the formulae of EN 16984. The section
//! turns without bending, about the radius where the hoop does not stretch, and carries hoop stress alone; yet the
//! hoop's stiffness is taken as E/(1−ν²), as if the section could not widen or narrow. A narrow ring's section can:
//! there the formula is 1/(1−ν²) too stiff ([`Disc::narrow_ratio`]).
//!
//! Sizes, loads and stresses of the standard are in [`crate::coned_disc_sizes`].

/// A coned disc of rectangular section.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Disc {
    /// Outer diameter, where the outer load acts.
    pub outer: f64,
    /// Inner diameter, where the inner load acts.
    pub inner: f64,
    /// Thickness.
    pub thickness: f64,
    /// Height of the cone between the two loads, without load.
    pub height: f64,
    /// Young's modulus.
    pub youngs: f64,
    /// Poisson ratio.
    pub poisson: f64,
}

/// A disc whose loads are tabulated.
#[derive(Clone, Copy, Debug)]
pub struct Tabulated {
    /// Name, diameters and thickness and height in mm.
    pub name: &'static str,
    /// The disc, m and Pa.
    pub disc: Disc,
    /// Loads (N) at a quarter, a half, three quarters and the whole of the height.
    pub loads: [f64; 4],
    /// Load (N) at three quarters of the height that EN 16983 prints, from memory.
    pub printed: f64,
}

/// Hoop stresses, positive in tension.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stresses {
    /// Where the section turns, on the face that gets shorter.
    pub om: f64,
    /// Inner edge, same face.
    pub one: f64,
    /// Inner edge, other face.
    pub two: f64,
    /// Outer edge, other face.
    pub three: f64,
    /// Outer edge, same face as I.
    pub four: f64,
}

pub(crate) const fn steel(outer: f64, inner: f64, thickness: f64, height: f64) -> Disc {
    Disc { outer, inner, thickness, height, youngs: 206e9, poisson: 0.3 }
}

/// Two discs of the standard. (A list at hand prints the last load as 1072.3; the formula gives 1072.245.)
pub const TABLE: [Tabulated; 2] = [
    Tabulated {
        name: "50 × 25.4 × 2, h₀ = 1.4 mm",
        disc: steel(0.050, 0.0254, 0.002, 0.0014),
        loads: [1948.6, 3490.8, 4762.1, 5897.9],
        printed: 4760.0,
    },
    Tabulated {
        name: "40 × 20.4 × 1, h₀ = 1.3 mm",
        disc: steel(0.040, 0.0204, 0.001, 0.0013),
        loads: [565.36, 875.89, 1016.5, 1072.2],
        printed: 1020.0,
    },
];

impl Disc {
    /// Force at the deflection `s` (EN 16984; K₄ = 1: no bearing flats).
    pub fn force(&self, s: f64) -> f64 {
        let (t, h) = (self.thickness, self.height);
        self.scale() * s / t * ((h / t - s / t) * (h / t - 0.5 * s / t) + 1.0)
    }

    /// Slope of the force at the deflection `s`.
    pub fn stiffness(&self, s: f64) -> f64 {
        let (t, h) = (self.thickness, self.height);
        let (x, y) = (s / t, h / t);
        // d/dx of x (y − x)(y − x/2) + x.
        self.scale() / t * (y * y - 3.0 * x * y + 1.5 * x * x + 1.0)
    }

    /// Stresses at the deflection `s`, from the turning section itself.
    ///
    /// The section turns about the radius c where the hoop does not stretch, `c = (D − d)/2 ln δ`, by ψ = s/w, w its width.
    /// A point at the radius r, y over the middle, moves inwards by `(c − r)(β − ψ/2)ψ + yψ`, with β = h₀/w: its hoop is
    /// shortened by that over r, times E/(1−ν²). EN 16984 has the same with the factor `(6/ln δ)((δ+1)/(δ−1) − 2/ln δ)`,
    /// because it takes K₁ from the moment of the stretching alone (from memory; the factor is one in the limit of a narrow
    /// ring and 0.992 at δ = 2). It is put in here.
    pub fn stresses(&self, s: f64) -> Stresses {
        let width = 0.5 * (self.outer - self.inner);
        let log = libm::log(self.outer / self.inner);
        let centre = width / log;
        let (slope, turn) = (self.height / width, s / width);
        let stiffness = self.youngs / (1.0 - self.poisson * self.poisson) * 6.0 / log * self.arm();
        let at = |r: f64, side: f64| {
            let shorter = (centre - r) * (slope - 0.5 * turn) * turn + 0.5 * side * self.thickness * turn;
            -stiffness * shorter / r
        };
        Stresses {
            om: at(centre, 1.0),
            one: at(0.5 * self.inner, 1.0),
            two: at(0.5 * self.inner, -1.0),
            three: at(0.5 * self.outer, -1.0),
            four: at(0.5 * self.outer, 1.0),
        }
    }

    /// (δ+1)/(δ−1) − 2/ln δ, by its series near one, where both terms grow without bound: with ln δ = 2y it is
    /// coth y − 1/y.
    fn arm(&self) -> f64 {
        let y = 0.5 * libm::log(self.outer / self.inner);
        if y < 0.05 {
            let q = y * y;
            y * (1.0 / 3.0 - q * (1.0 / 45.0 - q * (2.0 / 945.0 - q / 4725.0)))
        } else {
            1.0 / libm::tanh(y) - 1.0 / y
        }
    }

    /// 4E/(1−ν²) · t⁴/(K₁ D²).
    fn scale(&self) -> f64 {
        let ratio = self.outer / self.inner;
        let share = (ratio - 1.0) / ratio;
        let k1 = share * share / (std::f64::consts::PI * self.arm());
        let t2 = self.thickness * self.thickness;
        4.0 * self.youngs / (1.0 - self.poisson * self.poisson) * t2 * t2 / (k1 * self.outer * self.outer)
    }

    /// What a ring with a narrow section, free to widen and narrow, resists over what the formula says: 1 − ν².
    /// Where no stress acts along the section its strain is −ν times the hoop's, in stretching as in bending, and the
    /// hoop's stiffness is E instead of E/(1−ν²).
    pub fn narrow_ratio(&self) -> f64 {
        1.0 - self.poisson * self.poisson
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// To the digits tabulated, and to the three digits that the standard prints.
    #[test]
    fn tabulated_loads() {
        for t in TABLE {
            for (i, load) in t.loads.into_iter().enumerate() {
                let found = t.disc.force(0.25 * (i + 1) as f64 * t.disc.height);
                let digit = if load < 1000.0 { 0.005 } else { 0.05 };
                assert!((found - load).abs() <= digit, "{} {i}: {found} {load}", t.name);
            }
            let found = t.disc.force(0.75 * t.disc.height);
            assert!((found - t.printed).abs() <= 5.0, "{}: {found} {}", t.name, t.printed);
        }
    }

    /// The force falls after a peak where h₀/t > √2, and changes sign, so that the disc stays inverted, where
    /// h₀/t > 2√2.
    #[test]
    fn peaks_and_inverted_states() {
        let root = std::f64::consts::SQRT_2;
        for (ratio, peak, stays) in [
            (root - 1e-3, false, false),
            (root + 1e-3, true, false),
            (2.0 * root - 1e-3, true, false),
            (2.0 * root + 1e-3, true, true),
        ] {
            let disc = Disc { height: ratio * 0.001, ..steel(0.05, 0.025, 0.001, 0.0) };
            // The slope is least at s = h₀; the force over s at s = 3h₀/2.
            assert_eq!(disc.stiffness(disc.height) < 0.0, peak, "{ratio}");
            assert_eq!(disc.force(1.5 * disc.height) < 0.0, stays, "{ratio}");
            assert!(disc.stiffness(0.9 * disc.height) > disc.stiffness(disc.height));
            assert!(disc.force(1.4 * disc.height) / 1.4 > disc.force(1.5 * disc.height) / 1.5);
        }
    }

    #[test]
    fn stiffness_is_the_slope_of_the_force() {
        let disc = TABLE[0].disc;
        for s in [0.0, 0.0005, 0.0014, 0.002] {
            let d = 1e-7;
            let slope = (disc.force(s + d) - disc.force(s - d)) / (2.0 * d);
            assert!((slope / disc.stiffness(s) - 1.0).abs() < 1e-6);
        }
    }

    /// Hoop stress at the moment it makes about the centre of turning, summed over the section, makes the load: exactly in the
    /// limit of a narrow ring, within 1 % at δ = 2 (EN takes K₁ of the stretching for the bending too).
    #[test]
    fn the_load_is_that_of_a_turning_section() {
        let off = |ratio: f64| {
            let disc = Disc { inner: 0.05 / ratio, ..steel(0.05, 0.0, 0.001, 0.0013) };
            let width = 0.5 * (disc.outer - disc.inner);
            let disc = Disc { height: 0.026 * width, thickness: 0.02 * width, ..disc };
            let s = 0.4 * disc.height;
            // Moment of the hoop stress about the turned section's centre, by the midpoint rule over the section; what the
            // hoop carries per radian is the load's moment s·F/2π per radian of turn.
            let log = libm::log(ratio);
            let centre = width / log;
            let (slope, turn) = (disc.height / width, s / width);
            let stiff = disc.youngs / (1.0 - disc.poisson * disc.poisson);
            let n = 400;
            let mut moment = 0.0;
            for i in 0..n {
                let r = 0.5 * disc.inner + width * (f64::from(i) + 0.5) / f64::from(n);
                let x = centre - r;
                // ∫ over the thickness of strain × arm, both linear in y.
                let stretch = x * x * (slope - 0.5 * turn) * (slope - turn) * turn * disc.thickness;
                let bend = turn * disc.thickness * disc.thickness * disc.thickness / 12.0;
                moment += stiff * (stretch + bend) / r * width / f64::from(n);
            }
            2.0 * std::f64::consts::PI * moment / width / disc.force(s) - 1.0
        };
        assert!(off(1.01).abs() < 1e-4 && off(2.0).abs() < 0.01, "{} {}", off(1.01), off(2.0));
    }

    /// Series and closed form of K₁ meet.
    #[test]
    fn narrow_rings_lose_no_digits() {
        let at = |ratio: f64| Disc { inner: 0.05 / ratio, ..steel(0.05, 0.0, 0.001, 0.001) }.force(0.001);
        let edge = libm::exp(0.1);
        let (below, above) = (at(edge * (1.0 - 1e-12)), at(edge * (1.0 + 1e-12)));
        assert!((below / above - 1.0).abs() < 1e-10, "{below} {above}");
    }
}
