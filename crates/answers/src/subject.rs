//! What a question is asked about: a part, and how it changes with the numbers that describe it.

use calotte_specimen::{Case, Heat, Input, Load, Meridian, Motion, Part};

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
pub trait Subject: Sync {
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
    /// Part and load with several given numbers changed and, where asked for, another depth; `None` when there is no
    /// such part.
    fn changed(&self, changes: &[(usize, f64)], depth: Option<f64>) -> Option<(Part, Load)>;
    /// The load as described; `None` when the case has none.
    fn load(&self) -> Option<Load> {
        None
    }
    /// Memory, hold and surroundings as described.
    fn motion(&self) -> Motion;
    /// What is asked about heat, as described; `None` when the case says nothing of it.
    fn heat(&self) -> Option<Heat> {
        None
    }
    /// Part and device with several given numbers changed; `None` when they cannot be.
    fn heated(&self, changes: &[(usize, f64)]) -> Option<(Part, Heat)> {
        Some((self.changed(changes, None)?.0, self.heat().unwrap_or_default()))
    }
    /// Part and motion with several given numbers changed; `None` when they cannot be.
    fn moved(&self, changes: &[(usize, f64)]) -> Option<(Part, Motion)>;
    /// Largest strain that the material bears, a number; `None` when nothing says so.
    fn strain_limit(&self) -> Option<f64> {
        None
    }
}

impl Subject for Part {
    fn title(&self) -> &str {
        "untitled part"
    }
    fn shape_name(&self) -> &str {
        match self.meridian {
            Meridian::Sphere(_) => "cap of a sphere",
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
        let Meridian::Sphere(cap) = self.meridian else { return None };
        if depth >= std::f64::consts::PI || depth <= cap.hole_angle {
            return None;
        }
        let meridian = Meridian::Sphere(calotte_specimen::SphereCap { half_angle: depth, ..cap });
        Some(Part { meridian, ..self.clone() })
    }
    fn depth_rule(&self) -> &str {
        "sphere radius, hole and wall kept, half-angle changed"
    }
    fn changed(&self, changes: &[(usize, f64)], depth: Option<f64>) -> Option<(Part, Load)> {
        if !changes.is_empty() {
            return None;
        }
        let part = depth.map_or_else(|| Some(self.clone()), |d| self.with_depth(d))?;
        Some((part, Load::default()))
    }
    fn motion(&self) -> Motion {
        Motion::default()
    }
    fn moved(&self, changes: &[(usize, f64)]) -> Option<(Part, Motion)> {
        changes.is_empty().then(|| (self.clone(), Motion::default()))
    }
}

impl Subject for Case {
    fn title(&self) -> &str {
        &self.title
    }
    fn shape_name(&self) -> &str {
        Case::shape_name(self)
    }
    fn part(&self) -> &Part {
        Case::part(self)
    }
    fn givens(&self) -> Vec<Given> {
        let given = |i: &Input| Given { key: i.key.clone(), value: i.value, half_width: i.half_width };
        self.inputs().iter().map(given).collect()
    }
    fn with_given(&self, i: usize, value: f64) -> Option<Part> {
        // Numbers of memory, hold and surroundings change no part.
        if self.moves_only(i) {
            return None;
        }
        self.part_with(i, value).ok()
    }
    fn depth(&self) -> f64 {
        Case::depth(self)
    }
    fn with_depth(&self, depth: f64) -> Option<Part> {
        self.part_with_depth(depth).ok()
    }
    fn depth_rule(&self) -> &str {
        match Case::part(self).meridian {
            Meridian::Measured(_) => "every height of the measured profile multiplied alike, wall kept",
            Meridian::Corners(_) => "every height multiplied alike, roundings, arcs and wall kept",
            _ => "mid-surface radius, hole and wall kept, half-angle changed",
        }
    }
    fn changed(&self, changes: &[(usize, f64)], depth: Option<f64>) -> Option<(Part, Load)> {
        Case::changed(self, changes, depth).ok()
    }
    fn load(&self) -> Option<Load> {
        Case::load(self).copied()
    }
    fn motion(&self) -> Motion {
        Case::motion(self).clone()
    }
    fn heat(&self) -> Option<Heat> {
        Case::heat(self)
    }
    fn heated(&self, changes: &[(usize, f64)]) -> Option<(Part, Heat)> {
        let heat = self.heat_with(changes).ok()?.unwrap_or_default();
        Some((Case::changed(self, changes, None).ok()?.0, heat))
    }
    fn strain_limit(&self) -> Option<f64> {
        Case::strain_limit(self)
    }
    fn moved(&self, changes: &[(usize, f64)]) -> Option<(Part, Motion)> {
        let motion = self.motion_with(changes).ok()?;
        Some((Case::changed(self, changes, None).ok()?.0, motion))
    }
}
