//! From numbers to memory, hold and surroundings; what cannot be is refused.

use super::build::Slot;
use super::impossible::Impossible;
use super::motion_fault::MotionFault;
use crate::{Air, HeldShape, Hold, LetGo, Memory, MemoryTerm, Motion, Rests, Surroundings, TimeShift};

/// The tables `[memory]`, `[hold]` and `[surroundings]` without their numbers.
#[derive(Clone, Debug, Default)]
pub(super) struct MotionPlan {
    pub(super) memory: Option<MemoryPlan>,
    pub(super) hold: HoldPlan,
    pub(super) around: AroundPlan,
}

#[derive(Clone, Debug)]
pub(super) struct MemoryPlan {
    /// Share and time of every term.
    pub(super) terms: Vec<[Slot; 2]>,
    pub(super) shift: ShiftPlan,
}

#[derive(Clone, Copy, Debug)]
pub(super) enum ShiftPlan {
    None,
    Wlf { c1: Slot, c2: Slot, reference: Slot },
    Arrhenius { energy: Slot, reference: Slot },
}

#[derive(Clone, Debug)]
pub(super) enum HeldPlan {
    As(HeldShape),
    Poke(Slot),
}

#[derive(Clone, Debug)]
pub(super) struct HoldPlan {
    pub(super) shape: HeldPlan,
    pub(super) time: Slot,
    pub(super) ramp: Option<Slot>,
    pub(super) sideways: Slot,
}

impl Default for HoldPlan {
    fn default() -> Self {
        let nothing = Slot::Fixed(0.0);
        Self { shape: HeldPlan::As(HeldShape::Inverted), time: nothing, ramp: None, sideways: nothing }
    }
}

#[derive(Clone, Debug)]
pub(super) struct AroundPlan {
    pub(super) temperature: Option<Slot>,
    pub(super) gravity: Slot,
    pub(super) rests: Rests,
    /// Density and drag coefficient.
    pub(super) air: Option<[Slot; 2]>,
    pub(super) damping: Slot,
}

impl Default for AroundPlan {
    fn default() -> Self {
        let nothing = Slot::Fixed(0.0);
        Self { temperature: None, gravity: nothing, rests: Rests::Nowhere, air: None, damping: nothing }
    }
}

impl MotionPlan {
    /// The motion with these input values.
    pub(super) fn motion(&self, values: &[f64]) -> Result<Motion, Impossible> {
        match self.faults(values).into_iter().next() {
            Some(fault) => Err(fault.into()),
            None => Ok(self.unchecked(values)),
        }
    }

    fn unchecked(&self, values: &[f64]) -> Motion {
        let hold = Hold {
            shape: match &self.hold.shape {
                HeldPlan::As(shape) => shape.clone(),
                HeldPlan::Poke(travel) => HeldShape::Poke { travel: travel.of(values) },
            },
            time: self.hold.time.of(values),
            let_go: self.hold.ramp.map_or(LetGo::AtOnce, |r| LetGo::Ramp(r.of(values))),
            sideways: self.hold.sideways.of(values),
        };
        let around = &self.around;
        let surroundings = Surroundings {
            temperature: around.temperature.map(|t| t.of(values)),
            gravity: around.gravity.of(values),
            rests: around.rests,
            air: around.air.map(|[density, drag]| Air { density: density.of(values), drag: drag.of(values) }),
            damping: around.damping.of(values),
        };
        Motion { memory: self.memory.as_ref().map(|m| m.memory(values)), hold, surroundings }
    }

    /// Everything that cannot be, numbers out of their own range left aside.
    pub(super) fn faults(&self, values: &[f64]) -> Vec<MotionFault> {
        let Some(plan) = &self.memory else { return Vec::new() };
        let memory = plan.memory(values);
        let mut faults = Vec::new();
        let mut sum = 0.0;
        for (i, term) in memory.terms.iter().enumerate() {
            let before = sum;
            sum += term.share;
            if before < 1.0 && sum >= 1.0 {
                faults.push(MotionFault::SharesReachOne { key: format!("memory.shares[{}]", i + 1), sum });
            }
            if i > 0 && term.time <= memory.terms[i - 1].time {
                faults.push(MotionFault::TimesFall { key: format!("memory.times[{}]", i + 1) });
            }
        }
        if let Some(kelvin) = self.around.temperature.map(|t| t.of(values))
            && memory.shift.factor(kelvin).is_none()
        {
            let above = match memory.shift {
                TimeShift::Wlf { c2, reference, .. } => reference - c2,
                _ => 0.0,
            };
            faults.push(MotionFault::OutsideShift { temperature: kelvin, above });
        }
        faults
    }
}

impl MemoryPlan {
    fn memory(&self, values: &[f64]) -> Memory {
        let term = |[share, time]: &[Slot; 2]| MemoryTerm { share: share.of(values), time: time.of(values) };
        let shift = match self.shift {
            ShiftPlan::None => TimeShift::None,
            ShiftPlan::Wlf { c1, c2, reference } => {
                TimeShift::Wlf { c1: c1.of(values), c2: c2.of(values), reference: reference.of(values) }
            }
            ShiftPlan::Arrhenius { energy, reference } => {
                TimeShift::Arrhenius { energy: energy.of(values), reference: reference.of(values) }
            }
        };
        Memory { terms: self.terms.iter().map(term).collect(), shift }
    }
}
