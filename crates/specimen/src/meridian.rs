//! Natural meridians, parametrised by arclength s from the pole (or the hole's edge) to the rim.

use crate::{Corners, MeasuredMeridian};

/// One point of a natural meridian.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeridianPoint {
    /// Distance from the axis, m.
    pub r: f64,
    /// Height above the pole (of the completed surface), m.
    pub z: f64,
    /// sin φ₀ = dz/ds.
    pub sin: f64,
    /// cos φ₀ = dr/ds.
    pub cos: f64,
    /// dφ₀/ds, 1/m; `+1/R` on a sphere.
    pub curvature: f64,
}

/// The natural mid-surface meridian of a part.
#[derive(Clone, Debug, PartialEq)]
pub enum Meridian {
    /// Part of a sphere.
    Sphere(SphereCap),
    /// A straight generator: flat plate, annulus, cone.
    Straight(Straight),
    /// A smooth curve fitted to measured points.
    Measured(Box<MeasuredMeridian>),
    /// Lines and arcs through corners.
    Corners(Box<Corners>),
}

/// A spherical cap, or zone when it has a pole hole.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SphereCap {
    /// Mid-surface sphere radius R, m.
    pub radius: f64,
    /// Half-angle α from the axis to the rim, rad, up to π.
    pub half_angle: f64,
    /// Half-angle of the pole hole, rad; 0 for none.
    pub hole_angle: f64,
}

/// A straight generator from radius `start` at constant slope.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Straight {
    /// Radius of the inner edge, m; 0 for a pole (slope must then be 0).
    pub start: f64,
    /// Slope angle φ₀, rad.
    pub slope: f64,
    /// Generator length, m.
    pub length: f64,
}

impl Meridian {
    /// Arclength from the inner end to the rim, m.
    pub fn length(&self) -> f64 {
        match self {
            Self::Sphere(c) => c.radius * (c.half_angle - c.hole_angle),
            Self::Straight(l) => l.length,
            Self::Measured(m) => m.length(),
            Self::Corners(c) => c.length(),
        }
    }

    /// The point at arclength `s`.
    pub fn at(&self, s: f64) -> MeridianPoint {
        match self {
            Self::Sphere(c) => {
                let phi = c.hole_angle + s / c.radius;
                let (sin, cos) = libm::sincos(phi);
                let half = libm::sin(0.5 * phi);
                let z = 2.0 * c.radius * half * half;
                MeridianPoint { r: c.radius * sin, z, sin, cos, curvature: 1.0 / c.radius }
            }
            Self::Straight(l) => {
                let (sin, cos) = libm::sincos(l.slope);
                MeridianPoint { r: l.start + s * cos, z: s * sin, sin, cos, curvature: 0.0 }
            }
            Self::Measured(m) => m.at(s),
            Self::Corners(c) => c.at(s),
        }
    }

    /// The point at arclength `s` of what ends there; differs from [`Meridian::at`] at joints alone.
    pub fn before(&self, s: f64) -> MeridianPoint {
        match self {
            Self::Corners(c) => c.before(s),
            _ => self.at(s),
        }
    }

    /// Places where slope or curvature jump.
    pub fn joints(&self) -> Vec<crate::Joint> {
        match self {
            Self::Corners(c) => c.joints(),
            _ => Vec::new(),
        }
    }

    /// Whether the inner end lies on the axis.
    pub fn starts_at_pole(&self) -> bool {
        match self {
            Self::Sphere(c) => c.hole_angle == 0.0,
            Self::Straight(l) => l.start == 0.0,
            Self::Measured(m) => m.starts_at_pole(),
            Self::Corners(c) => c.starts_at_pole(),
        }
    }

    /// Whether the outer end lies on the axis too (a complete sphere).
    pub fn ends_at_pole(&self) -> bool {
        matches!(self, Self::Sphere(c) if c.half_angle == std::f64::consts::PI)
    }

    /// Interior arclengths where the curve is less smooth than elsewhere; elements end there.
    pub fn breaks(&self) -> Vec<f64> {
        match self {
            Self::Measured(m) => m.knots(),
            Self::Corners(c) => c.joints().iter().map(|j| j.s).collect(),
            Self::Sphere(_) | Self::Straight(_) => Vec::new(),
        }
    }

    /// Radius R (m) and half-angle α (rad) of the sphere centred on the axis through the pole (or the
    /// hole's edge) and the rim: R = (a² + H²)/2H, tan(α/2) = H/a. The sphere's own for a sphere; for a
    /// flat part R is infinite and α zero.
    pub fn arc_sphere(&self) -> (f64, f64) {
        match self {
            Self::Sphere(c) => (c.radius, c.half_angle),
            Self::Straight(l) => {
                let (sin, cos) = libm::sincos(l.slope);
                if sin == 0.0 {
                    return (f64::INFINITY, 0.0);
                }
                // Perpendicular bisector of the generator, cut by the axis.
                let (r, z) = (l.start + 0.5 * l.length * cos, 0.5 * l.length * sin);
                let centre = z + r * cos / sin;
                let radius = libm::hypot(l.start, centre);
                (radius, libm::atan2(l.start + l.length * cos, centre - l.length * sin))
            }
            Self::Measured(m) => {
                let (_, radius, angle) = m.end_sphere();
                (radius, angle)
            }
            Self::Corners(c) => {
                let (inner, rim) = (c.at(0.0), c.before(c.length()));
                let rise = rim.z - inner.z;
                if rise == 0.0 {
                    return (f64::INFINITY, 0.0);
                }
                // Centre on the axis, as far from the inner end as from the rim.
                let centre = inner.z + 0.5 * (rise + (rim.r * rim.r - inner.r * inner.r) / rise);
                let radius = libm::hypot(inner.r, centre - inner.z);
                (radius, libm::atan2(rim.r, centre - rim.z).abs())
            }
        }
    }
}
