//! The forward questions, asked anew about one part, and what each says of what was wished.

use calotte_specimen::Load;

use super::changed::Changed;
use super::oracle::Forward;
use crate::gauge::{Gauge, Reading};
use crate::heat::report::HeatReport;
use crate::poke::report::{Outcome as Poked, PokeReport};
use crate::release::report::{Outcome as Released, ReleaseReport};
use crate::report::{Verdict, VerdictReport};
use crate::subject::Subject;
use crate::{Detail, heat, load_or_pole, poke, release, verdict};

/// A question about a part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Question {
    Verdict,
    /// A key, or any other part pressed: the verdict too where it is no key.
    Pressed,
    Poke,
    Heat,
    Release,
    /// No other question tells it.
    Anew(Gauge),
}

/// What it said.
pub(super) enum Said {
    Verdict(Box<VerdictReport>),
    Poke(Box<PokeReport>),
    Heat(Result<Box<HeatReport>, String>),
    Release(Result<Box<ReleaseReport>, String>),
    Anew(Result<f64, String>),
}

impl Forward {
    /// Without doubts.
    pub(super) fn plain(question: &'static str, value: Result<f64, String>) -> Self {
        Self { question, value, like: None, doubts: Vec::new() }
    }
}

impl Question {
    /// The one that tells a gauge.
    pub(super) fn of(g: Gauge, subject: &dyn Subject) -> Self {
        match g {
            Gauge::Margin => Self::Verdict,
            Gauge::PeakStrain if subject.load().is_none() => Self::Verdict,
            Gauge::PeakStrain => Self::Pressed,
            Gauge::TripLoad | Gauge::SnapRatio => Self::Poke,
            Gauge::TripTemperature | Gauge::ResetTemperature | Gauge::Delta => Self::Heat,
            Gauge::Wait => Self::Release,
            Gauge::WaitingMargin | Gauge::Mass => Self::Anew(g),
        }
    }

    /// Asks it; `anew` reads a gauge without anything that is known of the part as described.
    pub(super) fn ask(self, part: &Changed<'_>, anew: &dyn Fn(Gauge) -> Option<Reading>) -> Said {
        let load: Load = load_or_pole(part.load().as_ref());
        let plain = || Said::Verdict(Box::new(verdict(part, Detail { branch: false, depth: false })));
        match self {
            Self::Verdict => plain(),
            Self::Poke => Said::Poke(Box::new(poke(part, &load))),
            Self::Pressed => {
                let r = poke(part, &load);
                if r.trade.key.is_some() { Said::Poke(Box::new(r)) } else { plain() }
            }
            Self::Heat => {
                Said::Heat(heat::Branches::of(part).map(|b| Box::new(b.report())).map_err(|no| no.0))
            }
            Self::Release => {
                // What it does after the snap is not asked.
                let ask = release::Ask { ringing: false, ..release::Ask::default() };
                let found = release::release(part, &part.motion(), &ask, &mut |_| true);
                Said::Release(found.map(Box::new).map_err(|fault| fault.to_string()))
            }
            Self::Anew(g) => Said::Anew(anew(g).unwrap_or_else(unread).map_err(|e| e.to_string())),
        }
    }
}

fn unread() -> Reading {
    Err(crate::gauge::NoReading::Failed("this gauge was not set up".to_owned()))
}

fn or_nothing(value: Option<f64>, what: &str) -> Result<f64, String> {
    value.ok_or_else(|| format!("the answer has no {what}"))
}

impl Said {
    /// What it says of a gauge.
    pub(super) fn tell(&self, g: Gauge) -> Forward {
        match self {
            Self::Verdict(r) if g == Gauge::PeakStrain => Forward {
                question: "verdict",
                value: or_nothing(r.inverted.as_ref().map(|i| i.strains.largest_surface), "inverted state"),
                like: None,
                doubts: r.doubts.clone(),
            },
            Self::Verdict(r) => {
                let value = r.margin.as_ref().map(|m| -libm::log(m.thickness_ratio));
                let agrees = value.is_none_or(|v| match r.verdict {
                    Verdict::Stays => v > 0.0,
                    Verdict::Returns | Verdict::Waits => v <= 0.0,
                    Verdict::Undecided => true,
                });
                let mut doubts = r.doubts.clone();
                if !agrees {
                    doubts.push("The verdict and the sign of the margin disagree.".to_owned());
                }
                Forward { question: "verdict", value: or_nothing(value, "margin"), like: None, doubts }
            }
            Self::Poke(r) => {
                let key = r.trade.key.as_ref();
                let value = match g {
                    Gauge::SnapRatio => or_nothing(key.and_then(|k| k.forces.snap_ratio), "snap ratio"),
                    Gauge::PeakStrain => or_nothing(key.map(|k| k.peak_strain), "figures of a key"),
                    _ => or_nothing(r.by_load.as_ref().map(|t| t.load_SI), "trip"),
                };
                let doubtful = r.outcome == Poked::Undecided || g == Gauge::PeakStrain;
                let doubts = if doubtful { r.doubts.clone() } else { Vec::new() };
                Forward { question: "poke", value, like: None, doubts }
            }
            Self::Heat(Err(no)) => Forward::plain("heat", Err(no.clone())),
            Self::Heat(Ok(r)) => {
                let value = match g {
                    Gauge::TripTemperature => r.trip.as_ref().map(|t| t.temperature_K),
                    Gauge::ResetTemperature => r.reset.as_ref().map(|t| t.temperature_K),
                    _ => r.delta_K,
                };
                Forward {
                    question: "heat",
                    value: or_nothing(value, "such temperature"),
                    like: None,
                    doubts: r.doubts.clone(),
                }
            }
            Self::Release(Err(fault)) => Forward::plain("release", Err(fault.clone())),
            Self::Release(Ok(r)) => {
                let value = match (r.outcome, &r.snap) {
                    (Released::Stays, _) => Ok(f64::INFINITY),
                    (_, s) => or_nothing(s.as_ref().map(|s| s.wait_s), "snap"),
                };
                // The solver tells long rests without inertia, and the time of the hand's ramp; a motion takes its inertia along.
                let long = release::LONG * r.scales.bending_time_s;
                let rest = r.snap.as_ref().and_then(|s| s.creep_wait_s).filter(|t| *t > long);
                let like = rest.map(|t| t + r.protocol.ramp_s);
                Forward { question: "release", value, like, doubts: r.doubts.clone() }
            }
            Self::Anew(value) => Forward::plain("the same, anew", value.clone()),
        }
    }
}
