//! From a part and its device to a problem over temperature, with the units that lead back to the bench.

use calotte_shell::{Grading, Heated, Mesh, Model, PinAt, Section, natural};
use calotte_solve::minimise::{self, minimise};
use calotte_solve::{Work, follow};
use calotte_specimen::{Heat, Layers, Part, Rim};

use crate::scene::length_unit;

/// A rigid stop is a spring so many times as stiff as a wall of E h²/R.
const RIGID: f64 = 1e3;

/// Why the question makes no sense.
#[derive(Clone, Debug, PartialEq)]
pub struct NoHeat(pub String);

/// Why heat cannot be asked about a part in this device; `None` when it can.
pub fn no_heat(part: &Part, device: &Heat) -> Option<NoHeat> {
    Setup::new(part, device).err()
}

/// A part over temperature.
pub(crate) struct Setup {
    /// The part, its rim as it is held.
    pub(crate) part: Part,
    pub(crate) heat: Heat,
    /// Length unit, m.
    pub(crate) radius: f64,
    pub(crate) mesh: Mesh,
    /// Kelvins per parameter.
    pub(crate) unit: f64,
    pub(crate) layers: Layers,
    pub(crate) beyond: Vec<String>,
    /// Lowest and highest temperature followed to, K, and whether the case asked for it.
    pub(crate) range: [(f64, bool); 2],
}

impl Setup {
    pub(crate) fn new(part: &Part, heat: &Heat) -> Result<Self, NoHeat> {
        let Some(layers) = part.wall.layers().cloned() else {
            return Err(NoHeat(
                "the wall has no layers, so heat does nothing that is known: describe them in `[layers]`"
                    .to_owned(),
            ));
        };
        if part.meridian.ends_at_pole() {
            return Err(NoHeat("a complete sphere has no rim, and so nothing to trip against".to_owned()));
        }
        let mut beyond = Vec::new();
        let pushed = heat.pin.is_some() || heat.preload != 0.0;
        let rim = match part.rim {
            Rim::Free | Rim::Table if pushed => {
                if part.rim == Rim::Free {
                    beyond.push(
                        "The case's rim is free: with a force on the centre it rests on a frictionless seat, or it would give way."
                            .to_owned(),
                    );
                }
                Rim::Ring
            }
            // Nothing presses it on its seat: it is free.
            Rim::Table => Rim::Free,
            other => other,
        };
        let part = Part { rim, ..part.clone() };
        let radius = length_unit(&part);
        // A shallow disc would get three elements; movements are read on this mesh.
        let mesh = Mesh::graded(&part, radius, &Grading::default()).bisected();
        let (_, rate) = Section::of(&layers, layers.formed_at, part.material.youngs);
        let h = part.wall.thickness(part.meridian.length());
        // What changes the thermal curvature by the curvature of the dish, or of a rise of one thickness.
        let sphere = part.meridian.arc_sphere().0;
        let bend = (1.0 / sphere).max(2.0 * h / (radius * radius));
        let unit = if rate.curvature == 0.0 {
            // Without a curvature, what stretches as much as a rise of one thickness does.
            (h * h / (radius * radius)) / rate.strain.abs().max(1e-9)
        } else {
            bend * h / rate.curvature.abs()
        };
        let known = layers.known_between();
        let asked = |i: usize, free: f64| match heat.range[i] {
            Some(t) => (t, true),
            None if known[i].is_finite() => (known[i], false),
            None => (free, false),
        };
        let range = [asked(0, 1.0), asked(1, layers.formed_at.max(layers.temperature) + 3000.0)];
        for (t, _) in range {
            if t < known[0] || t > known[1] {
                return Err(NoHeat(format!(
                    "the range asked for reaches to {t:.2} K, but the layers are known from {:.2} to {:.2} K only",
                    known[0], known[1]
                )));
            }
        }
        let start = layers.formed_at;
        if start < known[0] || start > known[1] {
            return Err(NoHeat(format!(
                "the shape is given at {start:.2} K, but the layers are known from {:.2} to {:.2} K only",
                known[0], known[1]
            )));
        }
        Ok(Self { part, heat: *heat, radius, mesh, unit: unit.clamp(1e-3, 1e5), layers, beyond, range })
    }

    pub(crate) fn model(&self, mesh: &Mesh) -> Model {
        Model::new(&self.part, self.radius, mesh)
    }

    /// Energy unit E R³, J.
    pub(crate) fn energy_unit(&self) -> f64 {
        self.part.material.youngs * self.radius.powi(3)
    }

    /// Force unit E R², N.
    pub(crate) fn force_unit(&self) -> f64 {
        self.part.material.youngs * self.radius * self.radius
    }

    /// Natural height of the inner end from the rim, over R.
    pub(crate) fn natural_height(part: &Part, radius: f64) -> f64 {
        let m = &part.meridian;
        (m.at(0.0).z - m.before(m.length()).z) / radius
    }

    /// Travel of the centre from its place in the described shape, m, positive towards the other state.
    pub(crate) fn travel(&self, model: &Model, x: &[f64]) -> f64 {
        (x[model.inner_height()] - Self::natural_height(&self.part, self.radius)) * self.radius
    }

    /// The problem over temperature on a model.
    pub(crate) fn heated(&self, model: Model) -> Heated {
        heated(model, &self.part, &self.heat, self.layers.formed_at, self.unit, self.radius)
    }

    /// State of rest at the temperature at which the shape is given.
    pub(crate) fn rest(&self, heated: &Heated, work: &mut Work) -> Option<Vec<f64>> {
        let natural = natural(heated.model());
        // Without forces Newton is there at once: the interpolated shape is a hair's breadth away.
        if let Some((x, ..)) = follow::shift_to(heated, &natural, 0.0, 0.0, 12, work) {
            return Some(x);
        }
        let set = minimise::Settings::default();
        minimise(heated, natural, 0.0, &set, work).ok().map(|m| m.x)
    }
}

/// The problem of `part` with its device in the units of another part of the same length unit.
pub(crate) fn heated(model: Model, part: &Part, heat: &Heat, origin: f64, unit: f64, radius: f64) -> Heated {
    let youngs = part.material.youngs;
    let h = part.wall.thickness(part.meridian.length()) / radius;
    let sphere = part.meridian.arc_sphere().0 / radius;
    let pin = heat.pin.map(|p| PinAt {
        height: Setup::natural_height(part, radius) + p.gap / radius,
        stiffness: if p.stiffness.is_finite() {
            p.stiffness / (youngs * radius)
        } else {
            RIGID * h * h / sphere.min(1e3)
        },
        soft: 1e-4 * h,
    });
    Heated::new(model, 1.0, origin, unit).with_force(heat.preload / (youngs * radius * radius)).with_pin(pin)
}
