//! From numbers to a part: the same way for the numbers of the case and for one of them changed.

use super::impossible::Impossible;
use super::keys::key_at;
use super::motion::MotionPlan;
use super::poke::Poke;
use super::sphere::{Size, cap_of};
use crate::measured::{MeasuredMeridian, ProfilePoints};
use crate::{Load, Material, Meridian, Part, Rim, RimSprings, SphereCap, Wall};

/// Surface that sizes refer to.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Surface {
    Mid,
    Inner,
    Outer,
}

impl Surface {
    /// Distance from it to the mid-surface, counted toward the concave side.
    fn to_mid(self, thickness: f64) -> f64 {
        match self {
            Self::Mid => 0.0,
            Self::Inner => -0.5 * thickness,
            Self::Outer => 0.5 * thickness,
        }
    }
}

/// A number of the case: an input by its index, or fixed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Slot {
    Input(usize),
    Fixed(f64),
}

impl Slot {
    pub(super) fn of(self, values: &[f64]) -> f64 {
        match self {
            Self::Input(i) => values[i],
            Self::Fixed(x) => x,
        }
    }
}

#[derive(Clone, Debug)]
pub(super) enum Shape {
    Cap {
        sizes: [(Size, Slot); 2],
        hole: Slot,
    },
    /// `curve` fits `points`, at scale 1, on the surface measured.
    Measured {
        points: ProfilePoints,
        curve: Box<MeasuredMeridian>,
        scale: Slot,
    },
}

#[derive(Clone, Debug)]
pub(super) enum Thickness {
    Uniform(Slot),
    Table { knots: Vec<(f64, Slot)>, offset: Slot },
}

#[derive(Clone, Debug)]
pub(super) enum Held {
    As(Rim),
    /// Radial, axial, circumferential, turning.
    Elastic([Slot; 4]),
}

impl Held {
    pub(super) fn rim(&self, values: &[f64]) -> Rim {
        match self {
            Self::As(rim) => *rim,
            Self::Elastic(k) => {
                let [radial, axial, circumferential, turning] = k.map(|slot| slot.of(values));
                Rim::Elastic(RimSprings { radial, axial, circumferential, turning })
            }
        }
    }
}

/// The case without its numbers.
#[derive(Clone, Debug)]
pub(super) struct Plan {
    pub(super) shape: Shape,
    pub(super) surface: Surface,
    pub(super) wall: Thickness,
    pub(super) youngs: Slot,
    pub(super) poisson: Slot,
    pub(super) density: Option<Slot>,
    pub(super) rim: Held,
    pub(super) load: Option<Poke>,
    pub(super) motion: MotionPlan,
}

/// Whether a value suits the key it stands for.
pub(super) fn check(path: &str, value: f64) -> Result<(), Impossible> {
    let range = key_at(path).map_or(super::keys::Range::Any, |k| k.range);
    if range.allows(value) {
        return Ok(());
    }
    Err(Impossible::OutOfRange { key: path.to_owned(), value, allowed: range.words() })
}

impl Plan {
    /// The part with these input values; with another depth when one is asked for.
    ///
    /// Depth of a cap: its half-angle, mid-surface radius and hole kept. Depth of a measured meridian:
    /// factor on its heights, before the curve is fitted. A thickness table then keeps its distance
    /// from the rim.
    pub(super) fn part(&self, values: &[f64], depth: Option<f64>) -> Result<Part, Impossible> {
        let natural = self.meridian(values)?;
        let meridian = match depth {
            None => natural.clone(),
            Some(d) => self.deepened(&natural, values, d)?,
        };
        let wall = self.wall(values, natural.length(), meridian.length())?;
        bears(&meridian, &wall)?;
        let rim = self.rim.rim(values);
        let material = Material {
            youngs: self.youngs.of(values),
            poisson: self.poisson.of(values),
            density: self.density.map(|d| d.of(values)),
        };
        Ok(Part { meridian, wall, material, rim })
    }

    /// The load with these input values on the part that they make; `None` when the case has none.
    pub(super) fn load(&self, values: &[f64], part: &Part) -> Result<Option<Load>, Impossible> {
        self.load.as_ref().map(|poke| poke.load(values, part)).transpose()
    }

    /// Distance from the surface measured to the mid-surface (a uniform wall, unless it is the mid-surface).
    fn to_mid(&self, values: &[f64]) -> f64 {
        match &self.wall {
            Thickness::Uniform(h) => self.surface.to_mid(h.of(values)),
            Thickness::Table { .. } => 0.0,
        }
    }

    fn meridian(&self, values: &[f64]) -> Result<Meridian, Impossible> {
        match &self.shape {
            Shape::Cap { sizes: [one, other], hole } => {
                let (surface_radius, half_angle) =
                    cap_of((one.0, one.1.of(values)), (other.0, other.1.of(values)))?;
                if !(half_angle > 0.0 && half_angle < std::f64::consts::PI) {
                    return Err(Impossible::HalfAngle { half_angle });
                }
                let hole_diameter = hole.of(values);
                let limit = match half_angle < std::f64::consts::FRAC_PI_2 {
                    true => Size::RimDiameter.of(surface_radius, half_angle),
                    false => 2.0 * surface_radius,
                };
                if hole_diameter >= limit {
                    return Err(Impossible::HoleBeyondRim { hole_diameter, limit });
                }
                let radius = surface_radius - self.to_mid(values);
                if radius <= 0.0 {
                    let thickness = 2.0 * self.to_mid(values).abs();
                    return Err(Impossible::WallTooThick { thickness, radius: surface_radius });
                }
                let hole_angle = libm::asin(0.5 * hole_diameter / surface_radius);
                Ok(Meridian::Sphere(SphereCap { radius, half_angle, hole_angle }))
            }
            Shape::Measured { curve, scale, .. } => {
                let factor = scale.of(values);
                let on_surface = if factor == 1.0 { (**curve).clone() } else { curve.enlarged(factor) };
                self.mid_of(on_surface, values)
            }
        }
    }

    fn mid_of(&self, on_surface: MeasuredMeridian, values: &[f64]) -> Result<Meridian, Impossible> {
        let distance = self.to_mid(values);
        if distance == 0.0 {
            return Ok(Meridian::Measured(Box::new(on_surface)));
        }
        let radius = smallest_radius(&Meridian::Measured(Box::new(on_surface.clone())));
        if distance >= radius {
            return Err(Impossible::WallTooThick { thickness: 2.0 * distance, radius });
        }
        on_surface.parallel(distance).map(|m| Meridian::Measured(Box::new(m))).map_err(Impossible::Profile)
    }

    fn deepened(&self, natural: &Meridian, values: &[f64], depth: f64) -> Result<Meridian, Impossible> {
        if !(depth > 0.0 && depth.is_finite()) {
            return Err(Impossible::Depth { depth });
        }
        match (&self.shape, natural) {
            (Shape::Cap { .. }, Meridian::Sphere(c)) => {
                if depth <= c.hole_angle || depth >= std::f64::consts::PI {
                    return Err(Impossible::HalfAngle { half_angle: depth });
                }
                Ok(Meridian::Sphere(SphereCap { half_angle: depth, ..*c }))
            }
            (Shape::Measured { points, curve, scale }, _) if depth != 1.0 => {
                let mut stretched = points.clone();
                stretched.points.iter_mut().for_each(|p| p[1] *= depth);
                let refitted = MeasuredMeridian::fit_with(&stretched, curve.report().intervals)
                    .map_err(Impossible::Profile)?;
                self.mid_of(refitted.enlarged(scale.of(values)), values)
            }
            _ => Ok(natural.clone()),
        }
    }

    /// The wall on a meridian of length `now`; a table was written for length `natural`.
    fn wall(&self, values: &[f64], natural: f64, now: f64) -> Result<Wall, Impossible> {
        let (knots, offset) = match &self.wall {
            Thickness::Uniform(h) => return Ok(Wall::uniform(h.of(values))),
            Thickness::Table { knots, offset } => (knots, offset.of(values)),
        };
        let mut moved = Vec::with_capacity(knots.len());
        for (i, (arc, slot)) in knots.iter().enumerate() {
            let thickness = slot.of(values) + offset;
            if thickness <= 0.0 {
                return Err(Impossible::ThinTable { row: i + 1, thickness });
            }
            moved.push((arc + (now - natural), thickness));
        }
        let whole = Wall::table(moved).ok_or(Impossible::EmptyTable)?;
        // Only what lies on the meridian: ends at 0 and `now`, knots between.
        let mut kept = vec![(0.0, whole.thickness(0.0))];
        kept.extend(whole.knots().iter().copied().filter(|k| k.0 > 0.0 && k.0 < now));
        kept.push((now, whole.thickness(now)));
        Wall::table(kept).ok_or(Impossible::EmptyTable)
    }
}

/// Smallest radius of curvature toward the concave side, of the meridian and round the axis.
fn smallest_radius(meridian: &Meridian) -> f64 {
    let mut greatest: f64 = 0.0;
    for i in 0..=200 {
        let p = meridian.at(meridian.length() * f64::from(i) / 200.0);
        greatest = greatest.max(p.curvature);
        if p.r > 0.0 {
            greatest = greatest.max(p.sin / p.r);
        }
    }
    1.0 / greatest
}

/// Half the wall must stay short of the centre of curvature.
fn bears(meridian: &Meridian, wall: &Wall) -> Result<(), Impossible> {
    let radius = match meridian {
        Meridian::Sphere(c) => c.radius,
        other => smallest_radius(other),
    };
    let thickness = wall.knots().iter().fold(0.0, |m: f64, k| m.max(k.1));
    if 0.5 * thickness >= radius { Err(Impossible::WallTooThick { thickness, radius }) } else { Ok(()) }
}
