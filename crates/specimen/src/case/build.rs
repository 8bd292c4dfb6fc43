//! From numbers to a part: the same way for the numbers of the case and for one of them changed.

use std::sync::Arc;

use super::corners::CornersPlan;
use super::heat::HeatPlan;
use super::impossible::Impossible;
use super::keys::key_at;
use super::layers::{LayersPlan, means};
use super::motion::MotionPlan;
use super::poke::Poke;
use super::sphere::{Size, cap_of};
use crate::measured::{MeasuredMeridian, ProfilePoints};
use crate::{
    Corners, Heat, Layers, Load, Material, Meridian, Part, Rim, RimSprings, SphereCap, Stiffened, Wall,
};

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
    Corners(CornersPlan),
}

#[derive(Clone, Debug)]
pub(super) enum Thickness {
    Uniform(Slot),
    /// As thick as its layers together.
    Sum(Vec<Slot>),
    Table {
        knots: Vec<(f64, Slot)>,
        offset: Slot,
    },
    /// Of the pieces between corners, at their inner and outer ends.
    Pieces {
        ends: Vec<[Slot; 2]>,
        offset: Slot,
    },
}

/// Factor on the moduli of a piece that is as good as rigid: it deforms a ten-thousandth as much as its neighbours, and the
/// matrices stay far from the limits of double precision.
pub(super) const RIGID: f64 = 1e4;

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
    /// Pieces (from 0) that are as good as rigid.
    pub(super) rigid: Vec<usize>,
    pub(super) layers: Option<LayersPlan>,
    /// Young's modulus and Poisson ratio; neither is read where the layers have their own.
    pub(super) youngs: Slot,
    pub(super) poisson: Slot,
    pub(super) density: Option<Slot>,
    pub(super) strain_limit: Option<Slot>,
    pub(super) heat: HeatPlan,
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
    /// factor on its heights, before the curve is fitted. Depth of one through corners: factor on its heights. A thickness table then keeps its distance
    /// from the rim.
    pub(super) fn part(&self, values: &[f64], depth: Option<f64>) -> Result<Part, Impossible> {
        let natural = self.meridian(values)?;
        let meridian = match depth {
            None => natural.clone(),
            Some(d) => self.deepened(&natural, values, d)?,
        };
        let layers = self.layers(values)?;
        let mut constants = [self.youngs.of(values), self.poisson.of(values)];
        if let (Some(plan), Some(layers)) = (&self.layers, &layers) {
            for ((constant, mean), own) in constants.iter_mut().zip(means(layers)).zip(plan.own()) {
                *constant = if own { mean } else { *constant };
            }
        }
        let wall = self.wall(values, &natural, &meridian)?.with_layers(layers.map(Arc::new));
        bears(&meridian, &wall)?;
        let rim = self.rim.rim(values);
        let material = Material {
            youngs: constants[0],
            poisson: constants[1],
            density: self.density.map(|d| d.of(values)),
        };
        Ok(Part { meridian, wall, material, rim })
    }

    /// The load with these input values on the part that they make; `None` when the case has none.
    pub(super) fn load(&self, values: &[f64], part: &Part) -> Result<Option<Load>, Impossible> {
        self.load.as_ref().map(|poke| poke.load(values, part)).transpose()
    }

    /// The layers of the wall with these input values, at a temperature at which they are known.
    fn layers(&self, values: &[f64]) -> Result<Option<Layers>, Impossible> {
        let Some(plan) = &self.layers else { return Ok(None) };
        let layers = plan.layers(values, [self.youngs.of(values), self.poisson.of(values)], &self.heat);
        self.heat.heat(values, &layers)?;
        Ok(Some(layers))
    }

    /// What is asked of the heated part with these input values; `None` for a wall without layers.
    pub(super) fn heat(&self, values: &[f64]) -> Result<Option<Heat>, Impossible> {
        self.layers(values)?.map(|layers| self.heat.heat(values, &layers)).transpose()
    }

    /// Distance from the surface measured to the mid-surface (a uniform wall, unless it is the mid-surface).
    fn to_mid(&self, values: &[f64]) -> f64 {
        match &self.wall {
            Thickness::Uniform(h) => self.surface.to_mid(h.of(values)),
            Thickness::Sum(parts) => self.surface.to_mid(total(values, parts)),
            Thickness::Table { .. } | Thickness::Pieces { .. } => 0.0,
        }
    }

    fn meridian(&self, values: &[f64]) -> Result<Meridian, Impossible> {
        match &self.shape {
            Shape::Cap { sizes: [one, other], hole } => {
                let (surface_radius, half_angle) =
                    cap_of((one.0, one.1.of(values)), (other.0, other.1.of(values)))?;
                if !(half_angle > 0.0 && half_angle <= std::f64::consts::PI) {
                    return Err(Impossible::HalfAngle { half_angle });
                }
                let hole_diameter = hole.of(values);
                if half_angle == std::f64::consts::PI && hole_diameter > 0.0 {
                    return Err(Impossible::ClosedSphere);
                }
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
            Shape::Corners(plan) => Ok(Meridian::Corners(Box::new(plan.corners(values, 1.0)?))),
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
                if depth <= c.hole_angle
                    || depth > std::f64::consts::PI
                    || (depth == std::f64::consts::PI && c.hole_angle > 0.0)
                {
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
            (Shape::Corners(plan), _) => Ok(Meridian::Corners(Box::new(plan.corners(values, depth)?))),
            _ => Ok(natural.clone()),
        }
    }

    /// The wall on the meridian `now`; a table was written for `natural`.
    fn wall(&self, values: &[f64], natural: &Meridian, now: &Meridian) -> Result<Wall, Impossible> {
        let wall = match &self.wall {
            Thickness::Uniform(h) => Wall::uniform(h.of(values)),
            Thickness::Sum(parts) => Wall::uniform(total(values, parts)),
            Thickness::Table { knots, offset } => {
                moved(values, knots, offset.of(values), natural.length(), now.length())?
            }
            Thickness::Pieces { ends, offset } => by_pieces(values, ends, offset.of(values), now)?,
        };
        let stiff = |c: &Corners| {
            self.rigid.iter().map(|p| Stiffened { span: c.span_of(*p), factor: RIGID }).collect::<Vec<_>>()
        };
        Ok(match now {
            Meridian::Corners(c) => wall.with_stiffened(stiff(c)),
            _ => wall,
        })
    }
}

/// Thickness of all layers together, m.
fn total(values: &[f64], parts: &[Slot]) -> f64 {
    parts.iter().map(|p| p.of(values)).sum()
}

/// A table of thicknesses, kept by distance from the rim.
fn moved(
    values: &[f64],
    knots: &[(f64, Slot)],
    offset: f64,
    natural: f64,
    now: f64,
) -> Result<Wall, Impossible> {
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

/// Thickness piece by piece: a step at a sharp corner, a linear passage across a rounding.
fn by_pieces(
    values: &[f64],
    ends: &[[Slot; 2]],
    offset: f64,
    meridian: &Meridian,
) -> Result<Wall, Impossible> {
    let Meridian::Corners(corners) = meridian else { return Err(Impossible::EmptyTable) };
    let mut knots: Vec<(f64, f64)> = Vec::with_capacity(2 * ends.len());
    for (i, pair) in ends.iter().enumerate() {
        for (slot, s) in pair.iter().zip(corners.bare_span_of(i)) {
            let thickness = slot.of(values) + offset;
            if thickness <= 0.0 {
                return Err(Impossible::ThinTable { row: i + 1, thickness });
            }
            if knots.last() != Some(&(s, thickness)) {
                knots.push((s, thickness));
            }
        }
    }
    Wall::stepped(knots).ok_or(Impossible::EmptyTable)
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

/// Half the wall must stay short of the centre of curvature. Through corners that is asked of arcs and of the distance from the
/// axis: a rounding may be as sharp as a corner is.
fn bears(meridian: &Meridian, wall: &Wall) -> Result<(), Impossible> {
    let short = |thickness: f64, radius: f64| match 0.5 * thickness >= radius {
        true => Err(Impossible::WallTooThick { thickness, radius }),
        false => Ok(()),
    };
    if let Meridian::Corners(c) = meridian {
        for (curvature, [from, to]) in c.arcs() {
            for i in 0..=20 {
                let s = from + (to - from) * f64::from(i) / 20.0;
                short(wall.thickness(s), 1.0 / curvature.abs())?;
            }
        }
        for i in 0..=200 {
            let s = c.length() * f64::from(i) / 200.0;
            let p = c.at(s);
            if p.sin != 0.0 && p.r > 0.0 {
                short(wall.thickness(s), p.r / p.sin.abs())?;
            }
        }
        return Ok(());
    }
    let radius = match meridian {
        Meridian::Sphere(c) => c.radius,
        other => smallest_radius(other),
    };
    short(wall.knots().iter().fold(0.0, |m: f64, k| m.max(k.1)), radius)
}
