//! A wall of layers in a model: its law at each integration point, over thickness and over temperature.

use calotte_specimen::Part;

use crate::kernel::{Law, Natural};
use crate::model::Point;
use crate::section::Section;

/// The layers of a model at one temperature.
#[derive(Clone, Debug)]
pub(crate) struct Layered {
    /// The section, and its derivative in temperature.
    now: Section,
    rate: Section,
    /// Natural curvature beyond that of the described shape, times R.
    extra: f64,
}

impl Layered {
    /// The layers of a part at its temperature; `None` when it has none.
    pub(crate) fn of(part: &Part, radius: f64) -> Option<Self> {
        let layers = part.wall.layers()?;
        let (now, rate) = Section::of(layers, layers.temperature, part.material.youngs);
        Some(Self { now, rate, extra: layers.extra_curvature * radius })
    }

    /// The same at another temperature, K.
    pub(crate) fn at(part: &Part, radius: f64, temperature: f64) -> Option<Self> {
        let layers = part.wall.layers()?;
        let (now, rate) = Section::of(layers, temperature, part.material.youngs);
        Some(Self { now, rate, extra: layers.extra_curvature * radius })
    }

    /// Natural strains at thickness factor `t`: heat bends a thicker wall less.
    fn natural(&self, p: &Point, t: f64) -> Natural {
        p.nat.shifted(&self.free(p, t))
    }

    /// Strains ε_s, ε_θ, κ_s, κ_θ that heat gives the free wall at thickness factor `t`.
    pub(crate) fn free(&self, p: &Point, t: f64) -> [f64; 4] {
        let k = self.extra + self.now.curvature / (p.thick * t);
        [self.now.strain, self.now.strain, k, k]
    }

    fn weighted(section: &Section, p: &Point, t: f64) -> Law {
        let w = p.stiff * p.area * p.thick;
        let (c, d) = (w * p.thick * t, w * p.thick * p.thick * t * t);
        Law {
            a: section.a.map(|v| w * v),
            b: section.b.map(|v| c * v),
            d: section.d.map(|v| d * v),
            rest: [0.0; 4],
        }
    }

    /// Law and natural strains at thickness factor `t`, energies over t.
    pub(crate) fn law(&self, p: &Point, t: f64) -> (Natural, Law) {
        (self.natural(p, t), Self::weighted(&self.now, p, t))
    }

    /// Their derivative in `t`, as a law about the same natural strains.
    pub(crate) fn slope_in_thickness(&self, p: &Point, t: f64) -> (Natural, Law) {
        let (nat, own) = self.law(p, t);
        let k = self.now.curvature / (p.thick * t * t);
        let moved = own.stress([0.0, 0.0, k, k]);
        let law = Law { a: [0.0; 2], b: own.b.map(|v| v / t), d: own.d.map(|v| 2.0 * v / t), rest: moved };
        (nat, law)
    }

    /// Their derivative in temperature, per kelvin, as a law about the same natural strains.
    pub(crate) fn slope_in_temperature(&self, p: &Point, t: f64) -> (Natural, Law) {
        let (nat, own) = self.law(p, t);
        let (e, k) = (self.rate.strain, self.rate.curvature / (p.thick * t));
        let moved = own.stress([e, e, k, k]);
        (nat, Law { rest: moved.map(|v| -v), ..Self::weighted(&self.rate, p, t) })
    }
}
