//! Memory, hold and surroundings of a case: which keys they need, and which exclude each other.

use std::ops::Range;

use calotte_quantity::show;

use super::build::{Held, Slot};
use super::draft::Value;
use super::finding::{File, Finding};
use super::keys::Range::Whole;
use super::motion::{AroundPlan, HeldPlan, HoldPlan, MemoryPlan, MotionPlan, ShiftPlan};
use super::resolve::Resolver;
use crate::shelf::find_on_shelf;
use crate::{HeldShape, MemoryColumn, MemoryFit, MemoryFitSettings, Part, Rests, Rim, read_memory_table};

/// A series that misses its readings by more than this (rms) gives a warning. Common practice, no source.
const POOR_FIT: f64 = 0.05;
/// Young's moduli of case and table further apart than this give a warning. Common practice, no source.
const MODULUS_OFF: f64 = 0.1;
/// Fewest points of a former.
const FEWEST_POINTS: usize = 5;

/// A former's file: its name, its points, the place of each.
pub(super) struct Former {
    name: String,
    points: Vec<[f64; 2]>,
    rows: Vec<Range<usize>>,
}

/// Time in which a hand lets go when the case does not say, s (common practice, no source).
const USUAL_RAMP: f64 = 0.05;

impl Resolver<'_> {
    /// The three tables; what is wrong in them is said.
    pub(super) fn motion(&mut self, rim: Option<&Held>) -> (MotionPlan, Option<Former>) {
        let memory = self.memory();
        let (hold, former) = self.hold();
        let around = self.surroundings(rim);
        let plan = MotionPlan { memory, hold, around };
        let values = self.values();
        // A number out of its own range has its own finding; then sums and orders say nothing.
        if self.draft.fields.values().all(|f| !self.out_of_range(f)) {
            for fault in plan.faults(&values) {
                self.impossible(&fault.into());
            }
        }
        (plan, former)
    }

    fn out_of_range(&self, field: &super::draft::Field) -> bool {
        let bad = |q: &calotte_quantity::Quantity| !field.key.range.allows(q.value);
        (field.key.table == "memory" || field.key.path() == "surroundings.temperature")
            && match &field.value {
                Value::Number(q) => bad(q),
                Value::Numbers(all) => all.iter().any(|q| bad(&q.0)),
                Value::Wrong => true,
                _ => false,
            }
    }

    fn memory(&mut self) -> Option<MemoryPlan> {
        self.draft.tables.get("memory")?;
        // One term may be written without brackets.
        for path in ["memory.shares", "memory.times"] {
            if let Some(field) = self.draft.fields.get_mut(path)
                && let Value::Number(q) = &field.value
            {
                field.value = Value::Numbers(vec![(q.clone(), field.span.clone())]);
            }
        }
        let terms = self.terms();
        let shift = self.shift();
        Some(MemoryPlan { terms: terms?, shift: shift? })
    }

    fn terms(&mut self) -> Option<Vec<[Slot; 2]>> {
        let shelf = self.draft.flag("memory.shelf") == Some(true);
        let table = self.draft.has("memory.table");
        // One source of terms: the shelf, else the table, else the lists.
        let (source, others): (&str, &[&str]) = match (shelf, table) {
            (true, _) => ("shelf = true", &["memory.shares", "memory.times", "memory.table"]),
            (_, true) => ("`table`", &["memory.shares", "memory.times"]),
            _ => ("", &[]),
        };
        let mut wrong = false;
        for path in others {
            let Some(field) = self.draft.fields.get(*path) else { continue };
            let (span, name) = (field.key_span.clone(), field.key.name);
            self.draft.error(span, format!("`{name}` does not go with {source}")).hint =
                Some("keep one of the two: either brings terms of its own".to_owned());
            wrong = true;
        }
        if let Some(field) = self.draft.fields.get("memory.terms").filter(|_| !table) {
            let span = field.key_span.clone();
            self.draft.error(span, "`terms` goes with `table`").hint =
                Some("remove it: the lists and the shelf have as many terms as they have".to_owned());
        }
        if shelf || table {
            let terms = if shelf { self.terms_from_shelf() } else { self.terms_from_table() };
            return terms.filter(|_| !wrong);
        }
        let hint = "write `shares = [0.10, 0.05]` and `times = [\"1 s\", \"100 s\"]`; or, for typical values of a material on the shelf, `shelf = true`; or name a table: `table = \"relax.csv\"`";
        self.missing("memory.shares", hint);
        if self.draft.has("memory.shares") {
            self.missing(
                "memory.times",
                "one relaxation time for each share: `times = [\"1 s\", \"100 s\"]`",
            );
        }
        let shares = self.draft.numbers("memory.shares").map(<[_]>::to_vec);
        let times = self.draft.numbers("memory.times").map(<[_]>::to_vec);
        let (shares, times) = (shares?, times?);
        if shares.len() != times.len() || shares.is_empty() {
            let span = self.draft.span("memory.times").unwrap_or(0..0);
            let says = format!("{} times for {} shares", times.len(), shares.len());
            self.draft.error(span, says).hint = Some("one relaxation time for each share".to_owned());
            return None;
        }
        let mut terms = Vec::new();
        for (i, ((share, _), (time, _))) in shares.iter().zip(&times).enumerate() {
            let share = self.push_input(format!("memory.shares[{}]", i + 1), share);
            terms.push([share, self.push_input(format!("memory.times[{}]", i + 1), time)]);
        }
        Some(terms)
    }

    fn terms_from_table(&mut self) -> Option<Vec<[Slot; 2]>> {
        let count = self.draft.number("memory.terms").cloned();
        if let Some(q) = count.as_ref().filter(|q| q.half_width.is_some()) {
            let says = format!("the tolerance of a count is not used (`{}`)", q.text);
            let span = self.draft.span("memory.terms").unwrap_or(0..0);
            self.draft.warning(span, says);
        }
        let wrong = self.draft.has("memory.terms") && count.as_ref().is_none_or(|q| !Whole.allows(q.value));
        let (name, bytes) = self.open("memory.table")?;
        let (table, found) = read_memory_table(&name, &bytes);
        self.draft.findings.extend(found);
        let table = table.filter(|_| !wrong)?;
        // Checked to be a whole number.
        let terms = count.map(|q| q.value as usize);
        let fit = match MemoryFit::of(&table, MemoryFitSettings { terms, ..MemoryFitSettings::default() }) {
            Ok(fit) => fit,
            Err(failure) => {
                let span = self.draft.span("memory.table").unwrap_or(0..0);
                self.draft.error(span, failure.to_string()).hint = Some(failure.hint().to_owned());
                return None;
            }
        };
        self.judge_fit(&name, &fit, terms);
        let slots = fit.terms.iter().map(|t| [Slot::Fixed(t.share), Slot::Fixed(t.time)]).collect();
        self.memory_fit = Some(fit);
        Some(slots)
    }

    /// How well the series fits its table.
    fn judge_fit(&mut self, name: &str, fit: &MemoryFit, asked: Option<usize>) {
        let percent = |x: f64| {
            let unit = calotte_quantity::find_unit("%", calotte_quantity::Dimension::Number);
            unit.map_or_else(String::new, |u| show(x, None, u))
        };
        let count = fit.terms.len();
        self.notes.push(format!(
            "memory from `{name}`: {count} term{} through {} readings; rms residual {}, largest {}",
            if count == 1 { "" } else { "s" },
            fit.readings.len(),
            percent(fit.rms),
            percent(fit.largest)
        ));
        for term in fit.terms.iter().filter(|t| fit.doubtful(t)) {
            let unit = calotte_quantity::find_unit("s", calotte_quantity::Dimension::Time);
            let time = unit.map_or_else(String::new, |u| show(term.time, None, u));
            self.notes
                .push(format!("the term of {time} lies outside the readings of `{name}` and is doubtful"));
        }
        let place = if asked.is_some() { "memory.terms" } else { "memory.table" };
        let span = self.draft.span(place).unwrap_or(0..0);
        if let Some(asked) = asked.filter(|n| *n > count) {
            let says = format!("the readings tell {count} terms apart, not {asked}");
            self.draft.warning(span, says).hint = Some("ask for fewer, or leave `terms` out".to_owned());
        } else if fit.rms > POOR_FIT {
            let says = format!("the series misses the readings by {} rms", percent(fit.rms));
            let hint = match asked {
                Some(_) if fit.grid_rms < 0.5 * fit.rms => "allow more terms, or leave `terms` out",
                _ => "look for outliers and jumps in the table",
            };
            self.draft.warning(span, says).hint = Some(hint.to_owned());
        }
    }

    /// Whether the modulus of the case is the instantaneous one that a table of Young's modulus implies.
    pub(super) fn check_modulus(&mut self, part: &Part) {
        let Some(fit) = self.memory_fit.as_ref().filter(|f| f.column == MemoryColumn::Youngs) else { return };
        let implied = fit.instantaneous;
        let off = part.material.youngs / implied - 1.0;
        let unit = calotte_quantity::find_unit("MPa", calotte_quantity::Dimension::Pressure);
        let show = |x: f64| unit.map_or_else(String::new, |u| show(x, None, u));
        let says = format!(
            "the table's instantaneous Young's modulus is {}, that of the case {} ({:+.1} %)",
            show(implied),
            show(part.material.youngs),
            100.0 * off
        );
        if off.abs() > MODULUS_OFF {
            let span =
                ["material.youngs_modulus", "material.name"].into_iter().find_map(|k| self.draft.span(k));
            self.draft.warning(span.unwrap_or(0..0), says).hint = Some(
                "with a memory, `youngs_modulus` is the modulus at once, before anything relaxes".to_owned(),
            );
        } else {
            self.notes.push(says);
        }
    }

    fn terms_from_shelf(&mut self) -> Option<Vec<[Slot; 2]>> {
        let name = self.draft.text("material.name").map(str::to_owned);
        let span = self.draft.span("memory.shelf").unwrap_or(0..0);
        let Some(stocked) = name.as_deref().and_then(find_on_shelf) else {
            let says = match name {
                Some(name) => format!("`{name}` is not on the shelf, so the shelf has no memory for it"),
                None => "shelf = true needs a material of the shelf".to_owned(),
            };
            self.draft.error(span, says).hint = Some(
                "name one in `[material]`, for example `name = \"silicone-30\"`; or give `shares` and `times`"
                    .to_owned(),
            );
            return None;
        };
        if stocked.memory.is_empty() {
            let says = format!("the shelf holds no memory for `{}`", stocked.key);
            self.draft.error(span, says).hint = Some(
                "metals hardly relax at room temperature: leave `[memory]` out, or give `shares` and `times`"
                    .to_owned(),
            );
            return None;
        }
        self.notes.push(format!(
            "memory from the shelf, {}: {}; spread of each share: a half of it",
            stocked.name,
            crate::shelf::RELAXING
        ));
        let mut terms = Vec::new();
        for (i, (share, time)) in stocked.memory.iter().enumerate() {
            let slot = |r: &mut Self, name: &str, value, half_width| {
                r.shelf_value(format!("memory.{name}[{}]", i + 1), value, half_width)
            };
            let share = slot(self, "shares", share.value, Some(share.half_width))?;
            terms.push([share, slot(self, "times", *time, None)?]);
        }
        Some(terms)
    }

    fn shift(&mut self) -> Option<ShiftPlan> {
        let kind = match self.draft.fields.get("memory.shift").map(|f| &f.value) {
            None => "none".to_owned(),
            Some(Value::Text(kind)) => kind.clone(),
            Some(_) => return None,
        };
        let reference = "the temperature at which the times hold: `reference = \"23 degC\"`";
        let plan = match kind.as_str() {
            "wlf" => {
                self.missing("memory.c1", "a pure number: `c1 = 17.44`");
                self.missing("memory.c2", "a difference of temperatures: `c2 = \"51.6 K\"`");
                self.missing("memory.reference", reference);
                let (c1, c2) = (self.input("memory.c1"), self.input("memory.c2"));
                let reference = self.input("memory.reference");
                ShiftPlan::Wlf { c1: c1?, c2: c2?, reference: reference? }
            }
            "arrhenius" => {
                self.missing(
                    "memory.activation_energy",
                    "write for example `activation_energy = \"80 kJ/mol\"`",
                );
                self.missing("memory.reference", reference);
                let energy = self.input("memory.activation_energy");
                let reference = self.input("memory.reference");
                ShiftPlan::Arrhenius { energy: energy?, reference: reference? }
            }
            _ => return Some(ShiftPlan::None),
        };
        if !self.draft.has("surroundings.temperature") {
            let span = self.draft.span("memory.shift").unwrap_or(0..0);
            self.draft
                .warning(
                    span,
                    "no temperature is given, so the times are taken at their reference temperature",
                )
                .hint = Some("add `temperature = \"23 degC\"` to `[surroundings]`".to_owned());
        }
        Some(plan)
    }

    fn hold(&mut self) -> (HoldPlan, Option<Former>) {
        let shape = match self.draft.text("hold.shape").unwrap_or("inverted") {
            "mirror" => HeldPlan::As(HeldShape::Mirror),
            "flat" => HeldPlan::As(HeldShape::Flat),
            "poke" => {
                self.missing(
                    "hold.travel",
                    "how far the pole is pushed from its natural place: `travel = \"12 mm\"`",
                );
                HeldPlan::Poke(self.input("hold.travel").unwrap_or(Slot::Fixed(f64::NAN)))
            }
            "given" => {
                self.missing("hold.file", "name the CSV file of the former: `file = \"former.csv\"`");
                HeldPlan::As(HeldShape::Given(Vec::new()))
            }
            _ => HeldPlan::As(HeldShape::Inverted),
        };
        let given = matches!(shape, HeldPlan::As(HeldShape::Given(_))) && self.draft.has("hold.file");
        let former = if given { self.former() } else { None };
        let shape = match &former {
            Some(former) => HeldPlan::As(HeldShape::Given(former.points.clone())),
            None => shape,
        };
        let time = self.input("hold.time").unwrap_or(Slot::Fixed(0.0));
        let ramped = self.draft.text("hold.let_go") == Some("ramp");
        if ramped {
            self.missing("hold.ramp", "in what time the holding forces fall to nothing: `ramp = \"50 ms\"`");
        }
        // No hand drops a part from a foreign shape at once; left open, it takes its usual time.
        let open = !self.draft.has("hold.let_go") && !matches!(shape, HeldPlan::As(HeldShape::Inverted));
        let ramp = match (ramped, open) {
            (true, _) => self.input("hold.ramp"),
            (false, true) => Some(Slot::Fixed(USUAL_RAMP)),
            (false, false) => None,
        };
        let sideways = self.input("hold.sideways").unwrap_or(Slot::Fixed(0.0));
        (HoldPlan { shape, time, ramp, sideways }, former)
    }

    /// The shape of a former; its points must follow each other along it.
    fn former(&mut self) -> Option<Former> {
        let (name, columns) = self.columns("hold.file", &["r", "z"])?;
        let points: Vec<[f64; 2]> =
            columns.values[0].iter().zip(&columns.values[1]).map(|(r, z)| [*r, *z]).collect();
        let rows = columns.rows;
        let error = |i: usize, says: &str, hint: &str| {
            Finding::error(File::Other(name.clone()), rows[i].clone(), says).hint(hint)
        };
        let before = self.draft.findings.len();
        let mut doubted = false;
        for i in 0..points.len() {
            if points[i][0] < 0.0 {
                self.draft.findings.push(error(
                    i,
                    "a negative radius",
                    "give one half of the profile, r from the axis",
                ));
            }
            if i == 0 {
                continue;
            }
            let chord = |k: usize| [points[k][0] - points[k - 1][0], points[k][1] - points[k - 1][1]];
            let now = chord(i);
            let order = "list the points in order, from the pole (or the hole's edge) to the rim, each once";
            if now == [0.0, 0.0] {
                self.draft.findings.push(error(i, "this point is the one before once more", order));
                doubted = true;
                continue;
            }
            // After a point that is out of place the way to the next says nothing.
            let last = if i > 1 && !std::mem::take(&mut doubted) { chord(i - 1) } else { now };
            if now[0] * last[0] + now[1] * last[1] < 0.0 {
                let says = "this point lies behind the one before along the profile";
                self.draft.findings.push(error(i, says, order));
                doubted = true;
            }
        }
        if points.len() < FEWEST_POINTS {
            let says = format!("{} points; a former needs {FEWEST_POINTS}", points.len());
            self.draft.findings.push(error(0, &says, "measure more points; thirty or more are good"));
        }
        (self.draft.findings.len() == before).then_some(Former { name, points, rows })
    }

    fn surroundings(&mut self, rim: Option<&Held>) -> AroundPlan {
        let temperature = self.input("surroundings.temperature");
        let gravity = self.input("surroundings.gravity").unwrap_or(Slot::Fixed(0.0));
        let rests = match self.draft.text("surroundings.rests") {
            Some("table") => Rests::Table,
            _ => Rests::Nowhere,
        };
        if rests == Rests::Table
            && let Some(rim) = rim
            && !matches!(rim, Held::As(Rim::Free | Rim::Table))
        {
            let span = self.draft.span("surroundings.rests").unwrap_or(0..0);
            self.draft.error(span, "a part that rests on a table has a rim that nothing else holds").hint =
                Some(
                    "write `kind = \"free\"` or `kind = \"table\"` in `[rim]`, or `rests = \"nowhere\"`"
                        .to_owned(),
                );
        }
        for (one, other, example) in
            [("air_density", "drag", "drag = 1.2"), ("drag", "air_density", "air_density = \"1.2 kg/m^3\"")]
        {
            let path = |key: &str| format!("surroundings.{key}");
            if let Some(field) = self.draft.fields.get(&path(one)).filter(|_| !self.draft.has(&path(other))) {
                let span = field.key_span.clone();
                self.draft.error(span, format!("`{one}` needs `{other}`")).hint =
                    Some(format!("air drags with both or neither: add `{example}`"));
            }
        }
        let (density, drag) = (self.input("surroundings.air_density"), self.input("surroundings.drag"));
        let air = density.zip(drag).map(|(density, drag)| [density, drag]);
        let damping = self.input("surroundings.damping").unwrap_or(Slot::Fixed(0.0));
        AroundPlan { temperature, gravity, rests, air, damping }
    }

    /// Whether a former suits the part that lies on it.
    pub(super) fn check_former(&mut self, former: &Former, part: &Part) {
        let Former { name, points, rows } = former;
        let file = || File::Other(name.clone());
        let lengths: Vec<f64> =
            points.windows(2).map(|p| libm::hypot(p[1][0] - p[0][0], p[1][1] - p[0][1])).collect();
        let total: f64 = lengths.iter().sum();
        let widest = points.iter().fold(0.0, |m: f64, p| m.max(p[0]));
        let first = points[0][0];
        let mm = |x: f64| super::impossible::mm(x);
        if part.meridian.starts_at_pole() && first > 0.1 * widest {
            let says = format!("the former starts {} from the axis, and the part has no hole", mm(first));
            let reversed = points[points.len() - 1][0] <= 0.1 * widest;
            self.draft.findings.push(Finding::error(file(), rows[0].clone(), says).hint(match reversed {
                true => "list the points from the pole to the rim: the other way round",
                false => "measure up to the pole",
            }));
        }
        for (i, length) in lengths.iter().enumerate() {
            if *length > 0.25 * total {
                let says = format!("a gap of {} before this point", mm(*length));
                let finding = Finding::warning(file(), rows[i + 1].clone(), says);
                self.draft
                    .findings
                    .push(finding.hint("straight lines join the points; measure between them"));
            }
        }
        let meridian = part.meridian.length();
        if (total / meridian - 1.0).abs() > 0.1 {
            let span = self.draft.span("hold.file").unwrap_or(0..0);
            let unit = calotte_quantity::find_unit("%", calotte_quantity::Dimension::Number);
            let share = unit.map_or_else(String::new, |u| show((total / meridian - 1.0).abs(), None, u));
            let says = format!(
                "the former is {} long from end to end and the meridian {}: the wall is strained by about {share}",
                mm(total),
                mm(meridian)
            );
            self.draft.warning(span, says).hint = Some("is the unit of the file right?".to_owned());
        }
    }
}
