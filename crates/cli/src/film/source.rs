//! What a film is made of: the answer to its question, with shapes.

use calotte_answers::heat::Branches;
use calotte_answers::heat::report::HeatReport;
use calotte_answers::modes::report::ModesReport;
use calotte_answers::modes::{Settings, State, modes_with_film};
use calotte_answers::poke::report::PokeReport;
use calotte_answers::release::report::ReleaseReport;
use calotte_answers::turning::{TurningReport, turning_with_film};
use calotte_answers::{load_or_pole, poke_with_film};
use calotte_desk::{Film, Refusal, Watch, heat, poke, release};
use calotte_figures::animation::{self, Play, Setting};
use calotte_specimen::Case;

use super::Kind;

/// An answer with its shapes.
pub(super) enum Source {
    Release(Box<ReleaseReport>, Film),
    Poke(Box<PokeReport>, Film),
    Turning(Box<TurningReport>, Film),
    Modes(Box<ModesReport>, Film, Option<usize>),
    Heat(Box<HeatReport>, Film),
}

impl Source {
    /// Asks the question; a question that makes no sense for the case is refused.
    pub(super) fn ask(
        case: &Case,
        of: Kind,
        mode: Option<usize>,
        inverted: bool,
        watch: &dyn Watch,
    ) -> Result<Self, Refusal> {
        let begin = || if watch.progress(None, "computing") { Ok(()) } else { Err(Refusal::Stopped) };
        match of {
            Kind::Release => {
                release::refuse(case)?;
                let (whole, film) = release::compute(case, &release::Options::default(), 1, watch)?;
                Ok(Self::Release(Box::new(whole.release), film))
            }
            Kind::Poke => {
                poke::refuse(case)?;
                begin()?;
                let (report, film) = poke_with_film(case, &load_or_pole(case.load()));
                Ok(Self::Poke(Box::new(report), film))
            }
            Kind::Turning => {
                release::refuse_to_turn(case)?;
                begin()?;
                let found = turning_with_film(case);
                let (report, film) = found.ok_or_else(|| {
                    Refusal::question("the part has no rise: there is nothing to turn inside out")
                })?;
                Ok(Self::Turning(Box::new(report), film))
            }
            Kind::Modes => {
                begin()?;
                let state = if inverted { State::Inverted } else { State::Natural };
                let lowest = Settings::default().lowest.max(mode.unwrap_or(0));
                let (report, film) =
                    modes_with_film(case, &Settings { state, lowest, ..Settings::default() });
                if film.frames.is_empty() {
                    return Err(Refusal::question(format!(
                        "there are no modes to show: {}",
                        report.doubts.first().map_or("no such state was found", String::as_str)
                    )));
                }
                Ok(Self::Modes(Box::new(report), film, mode))
            }
            Kind::Heat => {
                heat::refuse(case)?;
                begin()?;
                let branches = Branches::of(case)?;
                Ok(Self::Heat(Box::new(branches.report()), branches.film()))
            }
        }
    }

    /// The film at a setting; `None` when there is too little to show.
    pub(super) fn play(&self, setting: &Setting) -> Option<Play> {
        match self {
            Self::Release(r, film) => animation::release(r, Some(film), setting),
            Self::Poke(r, film) => animation::poke(r, film, setting),
            Self::Turning(r, film) => animation::turning(r, film, setting),
            Self::Modes(r, film, mode) => animation::modes(r, film, *mode, setting),
            Self::Heat(r, film) => animation::heat(r, film, setting),
        }
    }

    /// What the answer doubts.
    pub(super) fn doubts(&self) -> Vec<String> {
        match self {
            Self::Release(r, _) => r.doubts.clone(),
            Self::Poke(r, _) => r.doubts.clone(),
            Self::Turning(..) => Vec::new(),
            Self::Modes(r, ..) => r.doubts.clone(),
            Self::Heat(r, _) => r.doubts.clone(),
        }
    }
}
