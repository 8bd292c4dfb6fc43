//! The table `[heat]`: temperatures of the wall, and the device around the part.

use super::build::Slot;
use super::draft::Value;
use super::heat_fault::HeatFault;
use super::impossible::Impossible;
use super::layers::LayersPlan;
use super::motion_fault::celsius;
use super::resolve::Resolver;
use crate::{Heat, Layers, Pin};

/// 20 degC: the temperature at which a described shape is free of stress when the case does not say (common practice, no
/// source).
const USUAL_FORMED_AT: f64 = 293.15;

/// The table without its numbers.
#[derive(Clone, Debug)]
pub(super) struct HeatPlan {
    pub(super) formed_at: Slot,
    /// `None`: that of forming.
    pub(super) temperature: Option<Slot>,
    pub(super) face_difference: Slot,
    pub(super) range: [Option<Slot>; 2],
    pub(super) preload: Slot,
    /// Gap, and stiffness unless the stop is rigid.
    pub(super) pin: Option<(Slot, Option<Slot>)>,
    pub(super) creep_from: Option<Slot>,
}

impl Default for HeatPlan {
    fn default() -> Self {
        let nothing = Slot::Fixed(0.0);
        Self {
            formed_at: Slot::Fixed(USUAL_FORMED_AT),
            temperature: None,
            face_difference: nothing,
            range: [None; 2],
            preload: nothing,
            pin: None,
            creep_from: None,
        }
    }
}

/// Keys of `[heat]` whose numbers change the part: the temperatures of its wall.
pub(super) const OF_THE_WALL: [&str; 3] = ["heat.formed_at", "heat.temperature", "heat.face_difference"];

impl HeatPlan {
    /// Temperature of the middle of the wall, K.
    pub(super) fn temperature(&self, values: &[f64]) -> f64 {
        self.temperature.unwrap_or(self.formed_at).of(values)
    }

    /// What is asked of the heated part with these input values.
    pub(super) fn heat(&self, values: &[f64], layers: &Layers) -> Result<Heat, Impossible> {
        match self.faults(values, layers).into_iter().next() {
            Some(fault) => Err(fault.into()),
            None => Ok(self.unchecked(values)),
        }
    }

    fn unchecked(&self, values: &[f64]) -> Heat {
        let of = |slot: Option<Slot>| slot.map(|s| s.of(values));
        Heat {
            range: self.range.map(of),
            preload: self.preload.of(values),
            pin: self.pin.map(|(gap, stiff)| Pin {
                gap: gap.of(values),
                stiffness: of(stiff).unwrap_or(f64::INFINITY),
            }),
            creep_from: of(self.creep_from),
        }
    }

    /// Everything that cannot be, numbers out of their own range left aside.
    pub(super) fn faults(&self, values: &[f64], layers: &Layers) -> Vec<HeatFault> {
        let known = layers.known_between();
        if known[0] >= known[1] {
            return vec![HeatFault::TablesApart];
        }
        let mut faults = Vec::new();
        let half = 0.5 * layers.face_difference.abs();
        let mut within = |key, kelvin: f64, half: f64| {
            let [coldest, warmest] = [kelvin - half, kelvin + half];
            let outside =
                if coldest < known[0] { Some(coldest) } else { (warmest > known[1]).then_some(warmest) };
            if let Some(temperature) = outside {
                faults.push(HeatFault::OutsideTable { key, temperature, known });
            }
        };
        within("heat.formed_at", layers.formed_at, 0.0);
        if self.temperature.is_some() {
            within("heat.temperature", layers.temperature, half);
        } else if half > 0.0 {
            within("heat.face_difference", layers.temperature, half);
        }
        let asked = self.unchecked(values);
        let [from, to] = asked.range;
        for (key, kelvin) in [("heat.from", from), ("heat.to", to), ("heat.creep_from", asked.creep_from)] {
            if let Some(kelvin) = kelvin {
                within(key, kelvin, half);
            }
        }
        if let (Some(from), Some(to)) = (from, to)
            && to <= from
        {
            faults.push(HeatFault::RangeFalls);
        }
        let coldest = [Some(layers.temperature), from, to, asked.creep_from];
        let face = coldest.into_iter().flatten().fold(f64::INFINITY, f64::min) - half;
        if face <= 0.0 {
            faults.push(HeatFault::TooCold { face });
        }
        faults
    }
}

impl Resolver<'_> {
    /// The table; what is wrong in it is said. Without one, the defaults.
    pub(super) fn heat(&mut self, layers: Option<&LayersPlan>) -> HeatPlan {
        let Some(span) = self.draft.tables.get("heat").cloned() else {
            if layers.is_some() {
                self.notes.push(formed_note());
            }
            return HeatPlan::default();
        };
        if !self.draft.tables.contains_key("layers") && !self.draft.broken {
            self.draft.error(span, "`[heat]` needs a wall of `[layers]`").hint = Some(
                "one layer will do: `[layers]` with `expansion = \"12 ppm/K\"`; or, for a strip sold by its flexivity, `flexivity = \"15 ppm/K\"`"
                    .to_owned(),
            );
        }
        let nothing = Slot::Fixed(0.0);
        if !self.draft.has("heat.formed_at") {
            self.notes.push(formed_note());
        }
        let formed_at = self.input("heat.formed_at").unwrap_or(Slot::Fixed(USUAL_FORMED_AT));
        let temperature = self.input("heat.temperature");
        let face_difference = self.input("heat.face_difference").unwrap_or(nothing);
        let range = ["heat.from", "heat.to"].map(|p| self.input(p));
        let preload = self.input("heat.preload").unwrap_or(nothing);
        let gap = self.input("heat.pin_gap");
        let stiffness = self.input("heat.pin_stiffness");
        if let Some(field) = self.draft.fields.get("heat.pin_stiffness")
            && !self.draft.has("heat.pin_gap")
        {
            let span = field.key_span.clone();
            self.draft.error(span, "`pin_stiffness` needs `pin_gap`").hint =
                Some("say where the pin stands: `pin_gap = \"0.3 mm\"`, or 0 where it touches".to_owned());
        }
        let creep_from = self.input("heat.creep_from");
        self.compare_with_surroundings();
        let pin = gap.map(|gap| (gap, stiffness));
        HeatPlan { formed_at, temperature, face_difference, range, preload, pin, creep_from }
    }

    /// Whatever of the temperatures cannot be with these layers is said; numbers that are wrong on their own have their own
    /// finding, and then nothing more is asked.
    pub(super) fn check_heat(&mut self, plan: &HeatPlan, layers: &LayersPlan) {
        let sound = self.draft.fields.values().filter(|f| ["heat", "layers"].contains(&f.key.table)).all(
            |f| match &f.value {
                Value::Number(q) => f.key.range.allows(q.value),
                Value::Numbers(all) => all.iter().all(|q| f.key.range.allows(q.0.value)),
                Value::Wrong => false,
                Value::Text(_) | Value::Texts(_) | Value::Flag(_) => true,
            },
        );
        if !sound {
            return;
        }
        let values = self.values();
        // The material's constants play no part in what is asked here.
        let made = layers.layers(&values, [1.0, 0.0], plan);
        for fault in plan.faults(&values, &made) {
            self.impossible(&fault.into());
        }
    }

    /// Two tables may state a temperature of the part.
    fn compare_with_surroundings(&mut self) {
        let of = |path: &str| self.draft.number(path).map(|q| q.value);
        let wall = of("heat.temperature").or_else(|| of("heat.formed_at")).unwrap_or(USUAL_FORMED_AT);
        let Some(around) = of("surroundings.temperature").filter(|t| *t != wall) else { return };
        let says =
            format!("`[heat]` has the part at {}, `[surroundings]` at {}", celsius(wall), celsius(around));
        let span = self.draft.span("surroundings.temperature").unwrap_or(0..0);
        self.draft.warning(span, says).hint = Some(
            "the first bends the wall, the second shifts the times of the memory; make them equal unless you mean it"
                .to_owned(),
        );
    }
}

fn formed_note() -> String {
    format!(
        "the described shape is taken to be free of stress at {}; `formed_at` in `[heat]` says otherwise",
        celsius(USUAL_FORMED_AT)
    )
}
