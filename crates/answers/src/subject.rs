//! What a question is asked about: a part, and how it changes with the numbers that describe it.

use calotte_specimen::Part;

/// One number that entered the part.
#[derive(Clone, Debug, PartialEq)]
pub struct Given {
    /// Key in the case file, e.g. `wall.thickness`.
    pub key: String,
    /// SI value.
    pub value: f64,
    /// SI half-width of its tolerance.
    pub half_width: Option<f64>,
}

/// A part that can be rebuilt with one number changed.
pub trait Subject {
    /// Title for people.
    fn title(&self) -> &str;
    /// "cap of a sphere", "measured meridian", …
    fn shape_name(&self) -> &str;
    /// The part as described.
    fn part(&self) -> &Part;
    /// Every number that entered.
    fn givens(&self) -> Vec<Given>;
    /// The part with given number `i` set to `value`; `None` when no such part exists.
    fn with_given(&self, i: usize, value: f64) -> Option<Part>;
    /// The number that stands for depth: half-angle (rad) of a spherical cap, height scale otherwise.
    fn depth(&self) -> f64;
    /// The part with another depth; `None` when no such part exists.
    fn with_depth(&self, depth: f64) -> Option<Part>;
    /// How depth is changed, for people.
    fn depth_rule(&self) -> &str;
}

impl Subject for Part {
    fn title(&self) -> &str {
        "untitled part"
    }
    fn shape_name(&self) -> &str {
        match self.meridian {
            calotte_specimen::Meridian::Sphere(_) => "cap of a sphere",
            _ => "shell of revolution",
        }
    }
    fn part(&self) -> &Part {
        self
    }
    fn givens(&self) -> Vec<Given> {
        Vec::new()
    }
    fn with_given(&self, _: usize, _: f64) -> Option<Part> {
        None
    }
    fn depth(&self) -> f64 {
        self.meridian.arc_sphere().1
    }
    fn with_depth(&self, depth: f64) -> Option<Part> {
        let calotte_specimen::Meridian::Sphere(cap) = self.meridian else { return None };
        if depth >= std::f64::consts::PI || depth <= cap.hole_angle {
            return None;
        }
        let meridian =
            calotte_specimen::Meridian::Sphere(calotte_specimen::SphereCap { half_angle: depth, ..cap });
        Some(Part { meridian, ..self.clone() })
    }
    fn depth_rule(&self) -> &str {
        "sphere radius, hole and wall kept, half-angle changed"
    }
}
