//! A part as described but for some of its numbers: what the forward questions are asked about.

use calotte_specimen::{Heat, Load, Motion, Part};

use crate::subject::{Given, Subject};

/// The same subject with some numbers changed.
pub(crate) struct Changed<'a> {
    base: &'a dyn Subject,
    changes: Vec<(usize, f64)>,
    part: Part,
    load: Option<Load>,
    motion: Motion,
    heat: Option<Heat>,
}

impl<'a> Changed<'a> {
    /// `None` when there is no such part.
    pub(crate) fn new(base: &'a dyn Subject, changes: &[(usize, f64)]) -> Option<Self> {
        let (part, load) = base.changed(changes, None)?;
        let (_, motion) = base.moved(changes)?;
        let heat = match base.heat() {
            Some(_) => Some(base.heated(changes)?.1),
            None => None,
        };
        let load = base.load().map(|_| load);
        Some(Self { base, changes: changes.to_vec(), part, load, motion, heat })
    }

    fn and(&self, more: &[(usize, f64)]) -> Vec<(usize, f64)> {
        self.changes.iter().chain(more).copied().collect()
    }
}

impl Subject for Changed<'_> {
    fn title(&self) -> &str {
        self.base.title()
    }
    fn shape_name(&self) -> &str {
        self.base.shape_name()
    }
    fn part(&self) -> &Part {
        &self.part
    }
    fn givens(&self) -> Vec<Given> {
        let mut all = self.base.givens();
        for (i, value) in &self.changes {
            all[*i].value = *value;
        }
        all
    }
    fn with_given(&self, i: usize, value: f64) -> Option<Part> {
        Some(self.base.changed(&self.and(&[(i, value)]), None)?.0)
    }
    fn depth(&self) -> f64 {
        self.part.meridian.arc_sphere().1
    }
    fn with_depth(&self, depth: f64) -> Option<Part> {
        Some(self.base.changed(&self.changes, Some(depth))?.0)
    }
    fn depth_rule(&self) -> &str {
        self.base.depth_rule()
    }
    fn changed(&self, changes: &[(usize, f64)], depth: Option<f64>) -> Option<(Part, Load)> {
        self.base.changed(&self.and(changes), depth)
    }
    fn load(&self) -> Option<Load> {
        self.load
    }
    fn motion(&self) -> Motion {
        self.motion.clone()
    }
    fn heat(&self) -> Option<Heat> {
        self.heat
    }
    fn heated(&self, changes: &[(usize, f64)]) -> Option<(Part, Heat)> {
        self.base.heated(&self.and(changes))
    }
    fn moved(&self, changes: &[(usize, f64)]) -> Option<(Part, Motion)> {
        self.base.moved(&self.and(changes))
    }
    fn strain_limit(&self) -> Option<f64> {
        self.base.strain_limit()
    }
}
