//! From numbers to a load, on the part as it then is; what cannot act is refused.

use super::build::Slot;
use super::impossible::Impossible;
use super::load_fault::LoadFault;
use crate::{Control, Load, LoadKind, Part, Rim, Start};

/// What pushes, without its numbers.
#[derive(Clone, Debug)]
pub(super) enum What {
    /// A kind that has no sizes.
    As(LoadKind),
    Ring(Slot),
    Ball(Slot),
    /// `edge` is `None` when it is left to follow the radius.
    Pusher {
        radius: Slot,
        bonded: bool,
        edge: Option<Slot>,
    },
}

/// The table `[load]` without its numbers.
#[derive(Clone, Debug)]
pub(super) struct Poke {
    pub(super) what: What,
    pub(super) from: Start,
    pub(super) control: Control,
    pub(super) stop: Option<Slot>,
    pub(super) reach: Option<Slot>,
    pub(super) weight: Slot,
}

/// Rounding of a pusher's edge, as a part of its radius, when none is given.
const USUAL_EDGE: f64 = 0.1;

impl Poke {
    /// The load with these input values on this part.
    pub(super) fn load(&self, values: &[f64], part: &Part) -> Result<Load, Impossible> {
        self.held(values, &part.rim)?;
        let kind = self.kind(values);
        meets(&kind, part)?;
        let of = |slot: Option<Slot>| slot.map(|s| s.of(values));
        Ok(Load {
            kind,
            from: self.from,
            control: self.control,
            stop: of(self.stop),
            reach: of(self.reach),
            gravity: self.weight.of(values),
        })
    }

    fn kind(&self, values: &[f64]) -> LoadKind {
        match &self.what {
            What::As(kind) => *kind,
            What::Ring(arc) => LoadKind::Ring { arc: arc.of(values) },
            What::Ball(radius) => LoadKind::Ball { radius: radius.of(values) },
            What::Pusher { radius, bonded, edge } => {
                let radius = radius.of(values);
                // A bonded pusher ends where it is glued: its edge is not there to touch anything.
                let edge = match bonded {
                    true => 0.0,
                    false => edge.map_or(USUAL_EDGE * radius, |e| e.of(values)),
                };
                LoadKind::Pusher { radius, bonded: *bonded, edge }
            }
        }
    }

    /// Whether this rim can take the load. It needs no shape, so that it can be asked early.
    pub(super) fn held(&self, values: &[f64], rim: &Rim) -> Result<(), LoadFault> {
        let elastic = matches!(rim, Rim::Elastic(_));
        let axially = match rim {
            Rim::Free => false,
            Rim::Elastic(k) => k.axial > 0.0,
            Rim::Table | Rim::Ring | Rim::Hinged | Rim::Clamped => true,
        };
        match self.what {
            What::As(LoadKind::RimDisplacement) if !matches!(rim, Rim::Hinged | Rim::Clamped) => {
                return Err(LoadFault::NoGrip);
            }
            What::As(LoadKind::RimPull) if !matches!(rim, Rim::Free | Rim::Table | Rim::Ring) => {
                return Err(LoadFault::CannotSlide);
            }
            // A rim on springs is moved up and down by what presses on it; there is no lid that moves with it.
            What::As(LoadKind::Pressure { .. }) if elastic => return Err(LoadFault::HeightNotKept),
            What::As(LoadKind::RimDisplacement | LoadKind::RimPull) => {}
            _ if !axially => return Err(LoadFault::NothingHolds { against: "push", elastic }),
            _ => {}
        }
        let weight = self.weight.of(values);
        if weight != 0.0 && !axially {
            return Err(LoadFault::NothingHolds { against: "weight", elastic });
        }
        // The table lies on the side of the rim away from the state's convex face, so a turn changes sides.
        let inverted = self.from == Start::Inverted;
        let pressed_on = if inverted { weight <= 0.0 } else { weight >= 0.0 };
        if *rim == Rim::Table && !pressed_on {
            return Err(LoadFault::LiftsOff { weight, inverted });
        }
        Ok(())
    }
}

/// Whether what pushes meets the part between its inner end and its rim.
fn meets(kind: &LoadKind, part: &Part) -> Result<(), LoadFault> {
    let meridian = &part.meridian;
    let length = meridian.length();
    let hole = (!meridian.starts_at_pole()).then(|| meridian.at(0.0).r);
    let through = |what, radius: f64| match hole {
        Some(hole) if radius <= hole => Err(LoadFault::ThroughHole { what, radius, hole }),
        _ => Ok(()),
    };
    match *kind {
        LoadKind::Ring { arc } if !(arc > 0.0 && arc < length) => {
            Err(LoadFault::ArcOffPart { arc, length, hole: hole.is_some() })
        }
        LoadKind::Ball { radius } => through("ball", radius),
        LoadKind::Pusher { radius, bonded, edge } => {
            let rim = meridian.at(length).r;
            if radius >= rim {
                return Err(LoadFault::PusherBeyondRim { radius, rim });
            }
            if !bonded && edge >= radius {
                return Err(LoadFault::EdgeTooRound { edge, radius });
            }
            through("pusher", radius)
        }
        LoadKind::Pressure { .. } => hole.map_or(Ok(()), |hole| Err(LoadFault::PressureEscapes { hole })),
        _ => Ok(()),
    }
}
