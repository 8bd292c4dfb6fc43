//! The load of a case: which keys it needs, and which of them exclude each other.

use calotte_quantity::show;

use super::build::{Held, Slot};
use super::impossible::Impossible;
use super::keys::LOADS;
use super::poke::{Poke, What};
use super::resolve::{Resolver, choices};
use crate::{Control, LoadKind, Start};

impl Resolver<'_> {
    /// `None` without a table `[load]`, or when what it holds is wrong and said.
    pub(super) fn load(&mut self, material: &[Option<Slot>; 3], rim: Option<&Held>) -> Option<Poke> {
        self.missing("load.kind", &choices("kind", LOADS));
        let kind = self.draft.text("load.kind")?.to_owned();
        let what = self.what(&kind);
        self.check_weight(&kind, material);
        let from = match self.draft.text("load.from") {
            Some("inverted") => Start::Inverted,
            _ => Start::Natural,
        };
        let control = match self.draft.text("load.control") {
            Some("displacement") => Control::Displacement,
            _ => Control::Load,
        };
        let weight = self.input("load.weight").unwrap_or(Slot::Fixed(0.0));
        let stop = self.input("load.stop");
        let reach = self.input("load.reach");
        self.check_stop();
        let poke = Poke { what, from, control, stop, reach, weight };
        // The rim's kind alone often rules a load out; then it is said with everything else. A spring that is
        // written wrongly has its own finding.
        let wrong =
            self.draft.has("rim.axial") && self.draft.number("rim.axial").is_none_or(|k| k.value < 0.0);
        if let Some(held) = rim.filter(|_| !wrong) {
            let values = self.values();
            if let Err(fault) = poke.held(&values, &held.rim(&values)) {
                self.impossible(&Impossible::Load(fault));
                return None;
            }
        }
        Some(poke)
    }

    fn what(&mut self, kind: &str) -> What {
        match kind {
            "ring" => What::Ring(self.size(
                "load.arc",
                "say where: `arc = \"8 mm\"`, from the pole (or the hole's edge) along the mid-surface",
            )),
            "ball" => What::Ball(self.size("load.radius", "write for example `radius = \"5 mm\"`")),
            "pusher" => self.pusher(),
            "flat" => What::As(LoadKind::Flat),
            "pressure" => {
                What::As(LoadKind::Pressure { follows: self.draft.flag("load.follows").unwrap_or(true) })
            }
            "rim-displacement" => What::As(LoadKind::RimDisplacement),
            "rim-pull" => What::As(LoadKind::RimPull),
            "gravity" => What::As(LoadKind::Gravity),
            _ => What::As(LoadKind::Pole),
        }
    }

    fn pusher(&mut self) -> What {
        let radius = self.size("load.radius", "write for example `radius = \"5 mm\"`");
        let bonded = self.draft.flag("load.bonded").unwrap_or(false);
        if bonded && let Some(field) = self.draft.fields.get("load.edge") {
            let span = field.key_span.clone();
            self.draft.error(span, "`edge` does not go with bonded = true").hint =
                Some("the wall ends where it is bonded and touches no edge: remove it".to_owned());
        }
        What::Pusher { radius, bonded, edge: self.input("load.edge") }
    }

    /// A size the kind cannot do without. When it is not there an error says so, and no load is made.
    fn size(&mut self, path: &str, hint: &str) -> Slot {
        self.missing(path, hint);
        self.input(path).unwrap_or(Slot::Fixed(f64::NAN))
    }

    fn check_weight(&mut self, kind: &str, material: &[Option<Slot>; 3]) {
        let gravity = kind == "gravity";
        let given = self.draft.fields.get("load.weight").map(|f| f.key_span.clone());
        if let Some(span) = given.clone().filter(|_| gravity) {
            self.draft
                .error(span, "`weight` does not go with kind = \"gravity\", which is a weight itself")
                .hint = Some("keep one of the two: remove `weight`, or push with another kind".to_owned());
        }
        // An unknown material has its own finding, and might bring a density.
        let known = material[0].is_some() && material[1].is_some();
        let lacking = known && !self.draft.has("material.density") && material[2].is_none();
        let what = if gravity { "gravity" } else { "weight" };
        if let Some(span) = (if gravity { self.draft.span("load.kind") } else { given }).filter(|_| lacking) {
            self.draft.error(span, format!("{what} needs a density")).hint = Some(
                "add `density = \"1080 kg/m^3\"` to `[material]`, or take a material from the shelf"
                    .to_owned(),
            );
        }
    }

    fn check_stop(&mut self) {
        let (Some(stop), Some(reach)) = (self.draft.number("load.stop"), self.draft.number("load.reach"))
        else {
            return;
        };
        if stop.value <= reach.value {
            return;
        }
        let says = format!(
            "the stop at {} lies beyond the reach of {} and is never met",
            show(stop.value, None, stop.unit),
            show(reach.value, None, reach.unit)
        );
        let span = self.draft.span("load.stop").unwrap_or(0..0);
        self.draft.warning(span, says).hint = Some("raise `reach`, or leave it out".to_owned());
    }
}
