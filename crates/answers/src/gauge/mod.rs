//! One number of a part that a window or a wish is about, read again and again of parts that differ a little.
//!
//! What is known of the part as described is kept: thresholds of thickness, limits of load and of temperature. For a part with
//! changed numbers they are met from there by Newton's method on the limit point itself and certified (inertia of the states beside
//! it, waves round the axis counted); where that fails, the part is computed anew, and where that fails too, there is no reading.

mod margin;
mod push;
mod state;
#[cfg(test)]
mod tests;
mod warm;
mod waves;

use calotte_solve::Work;
use calotte_specimen::{HeldShape, Load, LoadKind, Part, Rim};

use crate::poke::load_or_pole;
use crate::subject::Subject;
use crate::waiting::{loss, terms};

/// A number of a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Gauge {
    /// ln(h*/h), of the wall's thickness and the thickness at which a part of this shape would just stay: positive when it stays.
    Margin,
    /// The same against the threshold of a part whose material relaxed during the hold of the case: positive when it stays or waits.
    WaitingMargin,
    /// How long it waits after the hold of the case; infinite when it stays.
    Wait,
    /// Load at which its stable way under the load of the case first ends: a peak, or waves round the axis before it.
    TripLoad,
    /// Temperature at which it trips.
    TripTemperature,
    /// Temperature at which it resets.
    ResetTemperature,
    /// Trip less reset.
    Delta,
    /// (F₁ − F₂)/F₁ of a key's peak and contact.
    SnapRatio,
    /// Largest strain at a face of the wall: up to the contact of a key, in the inverted state of any other part.
    PeakStrain,
    /// Mass.
    Mass,
}

impl Gauge {
    /// All of them.
    pub const ALL: [Self; 10] = [
        Self::Margin,
        Self::WaitingMargin,
        Self::Wait,
        Self::TripLoad,
        Self::TripTemperature,
        Self::ResetTemperature,
        Self::Delta,
        Self::SnapRatio,
        Self::PeakStrain,
        Self::Mass,
    ];

    /// Its name for people.
    pub fn name(self) -> &'static str {
        match self {
            Self::Margin => "margin",
            Self::WaitingMargin => "waiting margin",
            Self::Wait => "wait",
            Self::TripLoad => "trip load",
            Self::TripTemperature => "trip temperature",
            Self::ResetTemperature => "reset temperature",
            Self::Delta => "delta",
            Self::SnapRatio => "snap ratio",
            Self::PeakStrain => "peak strain",
            Self::Mass => "mass",
        }
    }

    /// The one of that name; hyphens and underscores do for spaces.
    pub fn named(name: &str) -> Option<Self> {
        let name = name.trim().replace(['-', '_'], " ").to_lowercase();
        Self::ALL.into_iter().find(|g| g.name() == name)
    }

    /// Its SI unit under a load: empty for plain numbers. That of the trip load goes with the load (see [`Self::load_unit`]).
    pub fn unit(self, load: &Load) -> &'static str {
        match self {
            Self::Margin | Self::WaitingMargin | Self::SnapRatio | Self::PeakStrain => "",
            Self::Wait => "s",
            Self::TripLoad => Self::load_unit(load),
            Self::TripTemperature | Self::ResetTemperature | Self::Delta => "K",
            Self::Mass => "kg",
        }
    }

    /// SI unit of a load.
    pub fn load_unit(load: &Load) -> &'static str {
        match load.kind {
            LoadKind::Pressure { .. } => "Pa",
            LoadKind::RimDisplacement | LoadKind::RimPull => "N/m",
            LoadKind::Gravity => "m/s^2",
            _ => "N",
        }
    }
}

/// Why a part gives no reading.
#[derive(Clone, Debug, PartialEq)]
pub enum NoReading {
    /// No part has these numbers.
    NoSuchPart,
    /// The part does not do that; says what it does instead.
    Nowhere(String),
    /// It could not be computed, or the result was not certified; says what failed.
    Failed(String),
}

impl std::fmt::Display for NoReading {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoSuchPart => f.write_str("there is no part with these numbers"),
            Self::Nowhere(why) | Self::Failed(why) => f.write_str(why),
        }
    }
}

/// A reading, SI.
pub type Reading = Result<f64, NoReading>;

/// A reading with the number of waves round the axis in which what it tells of happens (0: round).
pub type InWaves = Result<(f64, u32), NoReading>;

/// Gauges set up on a part.
pub struct Gauges<'a> {
    subject: &'a dyn Subject,
    kinds: Vec<Gauge>,
    margin: Option<margin::Thresholds>,
    waiting: Option<margin::Thresholds>,
    push: Option<push::FirstLimit>,
    warm: Option<warm::Limits>,
    state: Option<state::Inside>,
}

impl<'a> Gauges<'a> {
    /// Sets them up: finds thresholds and limits of the part as described.
    ///
    /// # Errors
    /// Words that say which gauge makes no sense for the case, and what would help.
    pub fn new(subject: &'a dyn Subject, kinds: &[Gauge], work: &mut Work) -> Result<Self, String> {
        for kind in kinds {
            if let Some(why) = Self::senseless(subject, *kind) {
                return Err(why);
            }
        }
        let asked = |some: &[Gauge]| kinds.iter().any(|k| some.contains(k));
        let part = subject.part();
        let load = load_or_pole(subject.load().as_ref());
        let motion = subject.motion();
        let pressed = asked(&[Gauge::SnapRatio, Gauge::PeakStrain]) && subject.load().is_some();
        let key = pressed && push::key(subject, &[], work).is_ok();
        let margin = asked(&[Gauge::Margin]).then(|| margin::Thresholds::of(part, 0.0, work));
        let waiting = asked(&[Gauge::WaitingMargin]).then(|| {
            let lag = terms(&motion).map_or(0.0, |t| loss(&t, motion.hold.time));
            margin::Thresholds::of(part, lag, work)
        });
        let push = asked(&[Gauge::TripLoad]).then(|| push::FirstLimit::of(part, &load, work));
        let warm = if asked(&[Gauge::TripTemperature, Gauge::ResetTemperature, Gauge::Delta]) {
            Some(warm::Limits::of(part, &subject.heat().unwrap_or_default(), work)?)
        } else {
            None
        };
        let state = asked(&[Gauge::PeakStrain]).then(|| state::Inside::of(part, key, work));
        Ok(Self { subject, kinds: kinds.to_vec(), margin, waiting, push, warm, state })
    }

    /// Why a gauge makes no sense for a case, and what would help; `None` when it does.
    pub fn senseless(subject: &dyn Subject, kind: Gauge) -> Option<String> {
        let part = subject.part();
        let name = kind.name();
        match kind {
            Gauge::Margin | Gauge::TripLoad | Gauge::PeakStrain => {
                let m = &part.meridian;
                let rise = m.at(m.length()).z - m.at(0.0).z;
                (rise <= 0.0).then(|| {
                    format!("{name}: the part has no rise from its inner end to its rim, so it has no other side to go to")
                })
            }
            Gauge::WaitingMargin => {
                let motion = subject.motion();
                if terms(&motion).is_none() {
                    return Some(format!(
                        "{name}: the case says nothing of how its material relaxes at its temperature: describe it in `[memory]`"
                    ));
                }
                (motion.hold.shape != HeldShape::Mirror || part.rim == Rim::Clamped).then(|| {
                    format!(
                        "{name}: the threshold of a relaxed part is known for a hold in its exact mirror image alone \
                         (`hold.shape = \"mirror\"`, and a rim that may turn); ask for the wait instead"
                    )
                })
            }
            Gauge::Wait => {
                crate::release::no_release(part, &subject.motion()).map(|fault| format!("{name}: {fault}"))
            }
            Gauge::TripTemperature | Gauge::ResetTemperature | Gauge::Delta => {
                let heat = subject.heat().unwrap_or_default();
                crate::heat::setup::no_heat(part, &heat).map(|no| format!("{name}: {}", no.0))
            }
            Gauge::SnapRatio => subject.load().is_none().then(|| {
                format!("{name}: the case has no `[load]` that presses a key: say what presses it and where it stops")
            }),
            Gauge::Mass => part
                .material
                .density
                .is_none()
                .then(|| format!("{name}: the case gives no density (`material.density`)")),
        }
    }

    /// Whether readings of other parts are followed from the part as described; if not, each is computed on a path of its own.
    pub fn follows(&self, kind: Gauge) -> bool {
        match kind {
            Gauge::Margin => self.margin.as_ref().is_some_and(margin::Thresholds::known),
            Gauge::WaitingMargin => self.waiting.as_ref().is_some_and(margin::Thresholds::known),
            Gauge::TripLoad => self.push.as_ref().is_some_and(push::FirstLimit::known),
            Gauge::TripTemperature | Gauge::ResetTemperature | Gauge::Delta => {
                self.warm.as_ref().is_some_and(warm::Limits::known)
            }
            Gauge::PeakStrain => self.state.as_ref().is_some_and(state::Inside::known),
            Gauge::Mass => true,
            Gauge::Wait | Gauge::SnapRatio => false,
        }
    }

    /// What is read, in order.
    pub fn kinds(&self) -> &[Gauge] {
        &self.kinds
    }

    /// Readings of the part with given numbers changed (place among the subject's givens, SI value), in the order of the kinds.
    pub fn read(&self, changes: &[(usize, f64)], work: &mut Work) -> Vec<Reading> {
        self.readings(changes, false, work).into_iter().map(|r| r.map(|r| r.0)).collect()
    }

    /// The same with the waves of each.
    pub fn read_in_waves(&self, changes: &[(usize, f64)], work: &mut Work) -> Vec<InWaves> {
        self.readings(changes, false, work)
    }

    /// ln(h*/h) with its waves of any part that differs a little, whatever was changed of it; set up with [`Gauge::Margin`].
    pub fn margin_of(&self, part: &Part, work: &mut Work) -> InWaves {
        match &self.margin {
            Some(m) => m.read(part, 0.0, false, work),
            None => Err(NoReading::Failed("this gauge was not set up".to_owned())),
        }
    }

    /// The same without anything that is known of the part as described: slow, to check the other against.
    pub fn read_anew(&self, changes: &[(usize, f64)], work: &mut Work) -> Vec<Reading> {
        self.readings(changes, true, work).into_iter().map(|r| r.map(|r| r.0)).collect()
    }

    fn readings(&self, changes: &[(usize, f64)], anew: bool, work: &mut Work) -> Vec<InWaves> {
        let Some((part, _)) = self.subject.changed(changes, None) else {
            return vec![Err(NoReading::NoSuchPart); self.kinds.len()];
        };
        let givens = self.subject.givens();
        let between = |share: f64| {
            // The end itself to the last digit.
            let at = |(i, v): &(usize, f64)| {
                (*i, if share >= 1.0 { *v } else { givens[*i].value + share * (v - givens[*i].value) })
            };
            let (part, load) = self.subject.changed(&changes.iter().map(at).collect::<Vec<_>>(), None)?;
            Some((part, load_or_pole(self.subject.load().map(|_| load).as_ref())))
        };
        let missing = || Err(NoReading::Failed("this gauge was not set up".to_owned()));
        let round = |r: Reading| r.map(|at| (at, 0));
        // One reading may serve several gauges.
        let mut warm = None;
        let mut key = None;
        let mut out = Vec::with_capacity(self.kinds.len());
        for kind in &self.kinds {
            out.push(match kind {
                Gauge::Margin => match &self.margin {
                    Some(m) => m.read(&part, 0.0, anew, work),
                    None => missing(),
                },
                Gauge::WaitingMargin => match (&self.waiting, self.subject.moved(changes)) {
                    (Some(m), Some((part, motion))) => match terms(&motion) {
                        Some(t) => m.read(&part, loss(&t, motion.hold.time), anew, work),
                        None => Err(NoReading::Failed(
                            "the temperature lies outside the domain of the law that shifts the relaxation times".to_owned(),
                        )),
                    },
                    (None, _) => missing(),
                    (_, None) => Err(NoReading::NoSuchPart),
                },
                Gauge::Wait => match self.subject.moved(changes) {
                    Some((part, motion)) => round(state::wait(&part, &motion, work)),
                    None => Err(NoReading::NoSuchPart),
                },
                Gauge::TripLoad => match &self.push {
                    Some(p) => p.read(&between, anew, work),
                    None => missing(),
                },
                Gauge::TripTemperature | Gauge::ResetTemperature | Gauge::Delta => {
                    match (&self.warm, self.subject.heated(changes)) {
                        (Some(w), Some((part, heat))) => {
                            warm.get_or_insert_with(|| w.read(&part, &heat, anew, work)).of(*kind)
                        }
                        (None, _) => missing(),
                        (_, None) => Err(NoReading::NoSuchPart),
                    }
                }
                Gauge::SnapRatio => round(
                    key.get_or_insert_with(|| push::key(self.subject, changes, work))
                        .as_ref()
                        .map_err(NoReading::clone)
                        .and_then(push::Key::snap_ratio),
                ),
                Gauge::PeakStrain => match &self.state {
                    Some(s) if s.key => key
                        .get_or_insert_with(|| push::key(self.subject, changes, work))
                        .as_ref()
                        .map(|k| (k.peak_strain, 0))
                        .map_err(NoReading::clone),
                    Some(s) => round(s.read(&part, anew, work)),
                    None => missing(),
                },
                Gauge::Mass => round(state::mass(&part)),
            });
        }
        out
    }
}
