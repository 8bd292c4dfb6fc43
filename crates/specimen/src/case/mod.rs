//! The case file: a part described in TOML, read with every finding at once.

mod build;
mod corners;
mod corners_fault;
mod draft;
mod files;
mod finding;
mod form;
mod heat;
mod heat_fault;
mod impossible;
mod keys;
mod layers;
pub mod lines;
mod load_fault;
mod loads;
mod motion;
mod motion_fault;
mod motions;
mod poke;
mod resolve;
mod rewrite;
mod schema;
mod size;
mod sphere;
mod table;
mod walls;

pub use finding::{File, Finding, Level, Place, place};
pub use form::{Entry, KeyForm, TableForm, case_form};
pub use heat_fault::HeatFault;
pub use impossible::Impossible;
pub use load_fault::LoadFault;
pub use motion_fault::MotionFault;
pub use resolve::fingerprint;
pub use schema::json_schema;
pub use size::{SIZE_DRAWS, SizeTable, SizeText};
pub(crate) use table::{Columns, Measure, Wanted, header_stems, read_columns};

use std::io;

use calotte_quantity::{Dimension, Unit, show, show_exact};

use crate::{FitReport, Heat, Load, MemoryFit, Meridian, Motion, Part};
use build::{Plan, Shape, check};

/// A number that entered the part.
#[derive(Clone, Debug, PartialEq)]
pub struct Input {
    /// Key in the case file, `shape.half_angle`; entries of a list count from 1, `wall.thickness[2]`.
    pub key: String,
    /// SI value.
    pub value: f64,
    /// Half-width of its tolerance, SI; `None` when none is stated.
    pub half_width: Option<f64>,
    /// Unit as written; the usual one for values from the shelf. Empty for a pure number.
    pub unit: String,
    /// Whether it came from the material shelf, not from the case file.
    pub from_shelf: bool,
    /// What it measures.
    pub dimension: Dimension,
    as_unit: &'static Unit,
}

impl Input {
    /// `value` (SI) in the unit of this input, to the digits a tolerance supports.
    pub fn show(&self, value: f64, half_width: Option<f64>) -> String {
        show(value, half_width, self.as_unit)
    }

    /// The same with every digit that the value has: it is read back as the same number.
    pub fn show_exact(&self, value: f64, half_width: Option<f64>) -> String {
        show_exact(value, half_width, self.as_unit)
    }
}

impl std::fmt::Display for Input {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.show(self.value, self.half_width))
    }
}

/// A whole and consistent case.
#[derive(Clone, Debug)]
pub struct Case {
    /// What the part is called.
    pub title: String,
    part: Part,
    load: Option<Load>,
    heat: Option<Heat>,
    motion: Motion,
    says_motion: bool,
    says_heat: bool,
    size: Option<SizeTable>,
    memory_fit: Option<MemoryFit>,
    plan: Plan,
    inputs: Vec<Input>,
    notes: Vec<String>,
    digest: String,
    text: String,
}

/// Reads a case. `open` gives the bytes of a file the case names, by the name written there.
///
/// The case is `None` exactly when a finding is an error. Findings are sorted by place, those about the
/// case file first.
pub fn read_case(bytes: &[u8], open: &dyn Fn(&str) -> io::Result<Vec<u8>>) -> (Option<Case>, Vec<Finding>) {
    resolve::case(bytes, open)
}

impl Case {
    /// The part as described.
    pub fn part(&self) -> &Part {
        &self.part
    }

    /// How the part is poked; `None` when the case does not say.
    pub fn load(&self) -> Option<&Load> {
        self.load.as_ref()
    }

    /// What is asked of the part when it is heated, the defaults where the case does not say; `None` for a wall without
    /// layers. The temperatures of the wall itself are in its layers.
    pub fn heat(&self) -> Option<Heat> {
        self.heat
    }

    /// The same with several inputs changed to values in SI (of two changes of one input the later counts).
    ///
    /// # Errors
    /// [`Impossible`] when they cannot be so, or there is no such input.
    pub fn heat_with(&self, changes: &[(usize, f64)]) -> Result<Option<Heat>, Impossible> {
        self.plan.heat(&self.values_with(changes)?)
    }

    /// Whether the case has a table `[heat]`.
    pub fn says_heat(&self) -> bool {
        self.says_heat
    }

    /// What may change and what is wished; `None` when the case has no table `[size]`.
    pub fn size(&self) -> Option<&SizeTable> {
        self.size.as_ref()
    }

    /// Largest strain that the material bears; `None` when the case does not say.
    pub fn strain_limit(&self) -> Option<f64> {
        let values: Vec<f64> = self.inputs.iter().map(|i| i.value).collect();
        self.plan.strain_limit.map(|s| s.of(&values))
    }

    /// Memory of the material, hold and surroundings; the defaults where the case does not say.
    pub fn motion(&self) -> &Motion {
        &self.motion
    }

    /// Whether the case has any of the tables `[memory]`, `[hold]` and `[surroundings]`.
    pub fn says_motion(&self) -> bool {
        self.says_motion
    }

    /// How the memory fits the table that it comes from; `None` when it comes from none.
    pub fn memory_fit(&self) -> Option<&MemoryFit> {
        self.memory_fit.as_ref()
    }

    /// Memory, hold and surroundings with several inputs changed to values in SI (of two changes of one
    /// input the later counts). Inputs of other tables change nothing here.
    ///
    /// # Errors
    /// [`Impossible`] when they cannot be so, or there is no such input.
    pub fn motion_with(&self, changes: &[(usize, f64)]) -> Result<Motion, Impossible> {
        self.plan.motion.motion(&self.values_with(changes)?)
    }

    /// Whether an input belongs to memory, hold or surroundings, to what is asked of a heated part or to its limits, and so
    /// changes neither part nor load.
    pub fn moves_only(&self, input: usize) -> bool {
        let key = self.inputs.get(input).map_or("", |i| i.key.as_str());
        match key.split_once('.').map_or("", |k| k.0) {
            "memory" | "hold" | "surroundings" => true,
            "heat" => !heat::OF_THE_WALL.contains(&key),
            _ => key == "material.strain_limit",
        }
    }

    /// What kind of shape it has, for reports.
    pub fn shape_name(&self) -> &str {
        match &self.part.meridian {
            Meridian::Sphere(c) if c.hole_angle > 0.0 => "spherical zone with a pole hole",
            Meridian::Sphere(c) if c.half_angle == std::f64::consts::PI => "complete sphere",
            Meridian::Sphere(_) => "cap of a sphere",
            Meridian::Straight(_) => "straight generator",
            Meridian::Measured(_) => "measured meridian",
            Meridian::Corners(c) if !c.is_straight() => "straight lines and arcs",
            Meridian::Corners(c) if c.at(0.0).sin != 0.0 => "cone",
            Meridian::Corners(c) if c.starts_at_pole() => "flat plate",
            Meridian::Corners(_) => "flat ring",
        }
    }

    /// Every number that entered, in the order of the case file's tables.
    pub fn inputs(&self) -> &[Input] {
        &self.inputs
    }

    /// What was decided on the way: a profile turned over, how a curve was fitted, shelf values used.
    pub fn notes(&self) -> &[String] {
        &self.notes
    }

    /// How the measured meridian fits its points; `None` for other shapes.
    pub fn fit(&self) -> Option<&FitReport> {
        match &self.plan.shape {
            Shape::Measured { curve, .. } => Some(curve.report()),
            Shape::Cap { .. } | Shape::Corners(_) => None,
        }
    }

    /// The part with one input changed to `value` (SI) and everything else as given. Numbers of the load,
    /// of memory, hold and surroundings change no part, and whether the load can still act is not asked: see [`Case::changed`].
    ///
    /// # Errors
    /// [`Impossible`] when no part has these numbers, or there is no such input.
    pub fn part_with(&self, input: usize, value: f64) -> Result<Part, Impossible> {
        self.plan.part(&self.values_with(&[(input, value)])?, None)
    }

    /// The part and its load with several inputs changed to values in SI (of two changes of one input
    /// the later counts) and, when `depth` is given, at that depth: then it replaces the one that the
    /// inputs give, by the rules of [`Case::part_with_depth`]. Places on the part keep their arclength.
    /// The load is the default one when the case has none.
    ///
    /// # Errors
    /// [`Impossible`] when no part has these numbers, the load cannot act on it, or there is no such input.
    pub fn changed(&self, changes: &[(usize, f64)], depth: Option<f64>) -> Result<(Part, Load), Impossible> {
        let values = self.values_with(changes)?;
        let as_given = changes.is_empty() && depth.is_none_or(|d| d == self.depth());
        let part = if as_given { self.part.clone() } else { self.plan.part(&values, depth)? };
        let load = self.plan.load(&values, &part)?.unwrap_or_default();
        Ok((part, load))
    }

    fn values_with(&self, changes: &[(usize, f64)]) -> Result<Vec<f64>, Impossible> {
        let mut values: Vec<f64> = self.inputs.iter().map(|i| i.value).collect();
        for &(input, value) in changes {
            let count = self.inputs.len();
            let known = self.inputs.get(input).ok_or(Impossible::NoSuchInput { input, count })?;
            check(&known.key, value)?;
            values[input] = value;
        }
        Ok(values)
    }

    /// How deep the part is: for a cap the half-angle of the mid-surface, rad; for a measured meridian
    /// or one through corners the factor on its heights, 1.
    pub fn depth(&self) -> f64 {
        match &self.part.meridian {
            Meridian::Sphere(c) => c.half_angle,
            Meridian::Straight(_) | Meridian::Measured(_) | Meridian::Corners(_) => 1.0,
        }
    }

    /// The part at another depth (see [`Case::depth`]). A cap keeps its mid-surface radius and hole; a
    /// measured meridian is fitted to its points with every height multiplied; one through corners has its heights
    /// multiplied and keeps the radii of roundings and arcs. A thickness table is
    /// kept by distance from the rim: beyond its inner end the first thickness goes on, and what
    /// would lie past the pole is cut off.
    ///
    /// # Errors
    /// [`Impossible`] when no part is that deep.
    pub fn part_with_depth(&self, depth: f64) -> Result<Part, Impossible> {
        if depth == self.depth() {
            return Ok(self.part.clone());
        }
        self.plan.part(&self.values_with(&[])?, Some(depth))
    }

    /// The case file as it was read.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// The case file with some numbers (place among the inputs, SI value) written anew in their own units; tolerances, comments and
    /// everything else stay. A number from the material shelf is written under its key.
    ///
    /// # Errors
    /// Words that say which number does not stand in the case file itself.
    pub fn rewritten(&self, changes: &[(usize, f64)]) -> Result<String, String> {
        rewrite::rewritten(self, changes)
    }

    /// Sixteen hexadecimal digits that change with any byte of the case file or of a file it names
    /// (FNV-1a, 64 bits; a fingerprint, no protection against forgery).
    pub fn digest(&self) -> String {
        self.digest.clone()
    }
}

/// A commented case to start from; its numbers are invented for demonstration.
pub fn new_cap_template() -> &'static str {
    include_str!("template.toml")
}

/// Kinds of part that [`new_template`] knows.
pub const TEMPLATES: [&str; 5] = ["cap", "disc", "key", "cone", "bowl"];

/// A commented case to start from, its numbers invented for demonstration: a cap that snaps, a thermal disc, a rubber key, a coned
/// spring, a folding bowl. `None` for a kind that is not in [`TEMPLATES`].
pub fn new_template(kind: &str) -> Option<&'static str> {
    Some(match kind {
        "cap" => new_cap_template(),
        "disc" => include_str!("template_disc.toml"),
        "key" => include_str!("template_key.toml"),
        "cone" => include_str!("template_cone.toml"),
        "bowl" => include_str!("template_bowl.toml"),
        _ => return None,
    })
}

#[cfg(test)]
mod tests;
#[cfg(test)]
mod tests_corners;
#[cfg(test)]
mod tests_findings;
#[cfg(test)]
mod tests_layers;
#[cfg(test)]
mod tests_load;
#[cfg(test)]
mod tests_motion;
#[cfg(test)]
mod tests_size;
