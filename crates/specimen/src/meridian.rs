//! Natural meridians, parametrised by arclength s from the pole (or the hole's edge) to the rim.

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
        }
    }

    /// Whether the inner end lies on the axis.
    pub fn starts_at_pole(&self) -> bool {
        match self {
            Self::Sphere(c) => c.hole_angle == 0.0,
            Self::Straight(l) => l.start == 0.0,
        }
    }

    /// Whether the outer end lies on the axis too (a complete sphere).
    pub fn ends_at_pole(&self) -> bool {
        matches!(self, Self::Sphere(c) if c.half_angle == std::f64::consts::PI)
    }

    /// Interior arclengths where the curve is less smooth than elsewhere; elements end there.
    pub fn breaks(&self) -> Vec<f64> {
        Vec::new()
    }
}
