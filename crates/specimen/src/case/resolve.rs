//! From fields to a case: what belongs together, what is missing, what cannot be.

use std::io;

use calotte_quantity::{find_unit, nearest, show};

use super::build::{Held, Plan, Shape, Slot, Surface, check};
use super::draft::{self, Draft, Value};
use super::finding::{Finding, Level};
use super::impossible::Impossible;
use super::keys::{KEYS, RIMS, SHAPES, TABLES, find_key};
use super::sphere::{STEEPEST_RATIO, Size, cap_of};
use super::{Case, Input};
use crate::shelf::{Stated, find_on_shelf, shelf};
use crate::{Rim, Wall};

/// The case being put together.
pub(super) struct Resolver<'a> {
    pub(super) draft: Draft,
    pub(super) inputs: Vec<Input>,
    pub(super) notes: Vec<String>,
    /// The series fitted to `memory.table`.
    pub(super) memory_fit: Option<crate::MemoryFit>,
    /// The case file.
    pub(super) bytes: &'a [u8],
    open: &'a dyn Fn(&str) -> io::Result<Vec<u8>>,
    digest: u64,
}

/// FNV-1a, 64 bits, before the first byte.
const FNV: u64 = 0xcbf2_9ce4_8422_2325;

/// Sixteen hexadecimal digits that change with any byte (FNV-1a, 64 bits; a fingerprint, no protection
/// against forgery).
pub fn fingerprint(bytes: &[u8]) -> String {
    format!("{:016x}", fnv(FNV, bytes))
}

/// FNV-1a, 64 bits, continued over `bytes`.
fn fnv(seed: u64, bytes: &[u8]) -> u64 {
    bytes.iter().fold(seed, |h, b| (h ^ u64::from(*b)).wrapping_mul(0x0000_0100_0000_01b3))
}

pub(super) fn case(bytes: &[u8], open: &dyn Fn(&str) -> io::Result<Vec<u8>>) -> (Option<Case>, Vec<Finding>) {
    let digest = fnv(FNV, bytes);
    let mut r = Resolver {
        draft: draft::read(bytes),
        inputs: Vec::new(),
        notes: Vec::new(),
        memory_fit: None,
        bytes,
        open,
        digest,
    };
    let case = r.whole();
    let mut findings = r.draft.findings;
    findings.sort_by(|a, b| {
        let place = |f: &Finding| (f.span.start, f.level, f.span.end);
        a.file.cmp(&b.file).then_with(|| place(a).cmp(&place(b)))
    });
    findings.dedup();
    let broken = findings.iter().any(|f| f.level == Level::Error);
    // A byte order mark is no part of the text.
    let text = String::from_utf8_lossy(bytes).trim_start_matches('\u{feff}').to_owned();
    (case.filter(|_| !broken).map(|case| Case { text, ..case }), findings)
}

impl Resolver<'_> {
    fn whole(&mut self) -> Option<Case> {
        self.check_values();
        self.check_kinds();
        if !self.draft.broken {
            for (table, says, needed) in TABLES {
                let needed = needed && !(table == "wall" && self.draft.has("layers.thickness"));
                if needed && !self.draft.tables.contains_key(table) {
                    let first =
                        KEYS.iter().find(|k| k.table == table && !["surface", "name"].contains(&k.name));
                    let example = first.map_or(String::new(), |k| format!("{} = \"{}\"", k.name, k.example));
                    self.draft
                        .error(0..0, format!("the table `[{table}]` is missing: {}", says.to_lowercase()))
                        .hint = Some(format!("add `[{table}]` and under it for example `{example}`"));
                }
            }
        }
        let surface = self.surface();
        let shape = self.shape(surface);
        let layers = self.layers();
        let wall = self.wall(surface, layers.as_ref());
        let rigid = self.rigid();
        let material = self.material(self.own_constants(layers.as_ref()));
        let strain_limit = self.input("material.strain_limit");
        let heat = self.heat(layers.as_ref());
        if let Some(layers) = &layers {
            self.check_heat(&heat, layers);
        }
        let rim = self.rim();
        let load = self.load(&material, rim.as_ref());
        let (motion, former) = self.motion(rim.as_ref());
        if self.draft.findings.iter().any(|f| f.level == Level::Error) {
            return None;
        }
        let [youngs, poisson, density] = material;
        let plan = Plan {
            shape: shape?,
            surface,
            wall: wall?,
            rigid: rigid?,
            layers,
            youngs: youngs?,
            poisson: poisson?,
            density,
            strain_limit,
            heat,
            rim: rim?,
            load,
            motion,
        };
        let values = self.values();
        let made = plan.part(&values, None).and_then(|part| {
            Ok((plan.load(&values, &part)?, plan.motion.motion(&values)?, plan.heat(&values)?, part))
        });
        let (load, motion, heat, part) = match made {
            Ok(made) => made,
            Err(impossible) => {
                self.impossible(&impossible);
                return None;
            }
        };
        let size = self.size_table();
        self.check_tolerances(&plan, &values);
        self.check_coverage(&plan, part.meridian.length());
        if let Some(former) = &former {
            self.check_former(former, &part);
        }
        self.check_modulus(&part);
        let (radius, _) = part.meridian.arc_sphere();
        if let Some(span) = ["wall.thickness", "layers.thickness"]
            .into_iter()
            .find_map(|k| self.draft.span(k))
            .filter(|_| thickest(&part.wall) > radius / 3.0)
        {
            self.draft.warning(span, "the wall is thicker than a third of the radius").hint =
                Some("check the units; thin-shell theory does not reach this far".to_owned());
        }
        let title = self.draft.text("title").unwrap_or("untitled").trim().to_owned();
        let (inputs, notes) = (std::mem::take(&mut self.inputs), std::mem::take(&mut self.notes));
        let tables = ["memory", "hold", "surroundings"];
        let says_motion = tables.iter().any(|t| self.draft.tables.contains_key(t));
        let digest = format!("{:016x}", self.digest);
        Some(Case {
            title,
            part,
            load,
            heat,
            motion,
            says_motion,
            says_heat: self.draft.tables.contains_key("heat"),
            size,
            memory_fit: self.memory_fit.take(),
            plan,
            inputs,
            notes,
            digest,
            text: String::new(),
        })
    }

    /// Every number on its own: possible, and of a usual size.
    fn check_values(&mut self) {
        let mut seen = Vec::new();
        for (path, field) in &self.draft.fields {
            match &field.value {
                Value::Number(q) => seen.push((path.clone(), field.key, q.value, field.span.clone(), q.unit)),
                Value::Numbers(all) => seen.extend(
                    all.iter().map(|(q, span)| (path.clone(), field.key, q.value, span.clone(), q.unit)),
                ),
                _ => {}
            }
        }
        for (path, key, value, span, unit) in seen {
            if let Err(impossible) = check(&path, value) {
                self.draft.error(span, impossible.to_string()).hint =
                    Some(format!("for example `{} = {}`", key.name, draft::quoted(key)));
            } else if value < key.usual.0 || value > key.usual.1 {
                let says = format!("`{}` of {} is unusual", key.name, show(value, None, unit));
                self.draft.warning(span, says).hint = Some("is the unit right?".to_owned());
            }
        }
    }

    /// Keys that go with another kind of their table.
    fn check_kinds(&mut self) {
        let mut wrong = Vec::new();
        for field in self.draft.fields.values().filter(|f| !f.key.kinds.is_empty()) {
            let (decider, usual) = field.key.decided_by();
            let path = format!("{}.{decider}", field.key.table);
            let left_out = if self.draft.has(&path) { None } else { usual };
            let found = self.draft.text(&path).or(left_out).filter(|k| !field.key.kinds.contains(k));
            if let Some(kind) = found {
                let default = if left_out.is_some() { ", the default" } else { "" };
                let says = format!("`{}` does not go with {decider} = \"{kind}\"{default}", field.key.name);
                wrong.push((
                    field.key_span.clone(),
                    says,
                    format!("it goes with {}", field.key.kind_words()),
                ));
            }
        }
        for (span, says, hint) in wrong {
            self.draft.error(span, says).hint = Some(hint);
        }
    }

    /// The inputs as they stand.
    pub(super) fn values(&self) -> Vec<f64> {
        self.inputs.iter().map(|i| i.value).collect()
    }

    pub(super) fn impossible(&mut self, impossible: &Impossible) {
        let span = impossible.keys().into_iter().find_map(|k| self.draft.span(k)).unwrap_or(0..0);
        self.draft.error(span, impossible.to_string()).hint = impossible.hint();
    }

    /// `None` when the key is not there or wrong; both have been or will be said.
    pub(super) fn input(&mut self, path: &str) -> Option<Slot> {
        let q = self.draft.number(path)?.clone();
        Some(self.push_input(path.to_owned(), &q))
    }

    pub(super) fn push_input(&mut self, key: String, q: &calotte_quantity::Quantity) -> Slot {
        self.inputs.push(Input {
            key,
            value: q.value,
            half_width: q.half_width,
            unit: q.unit_text.clone(),
            from_shelf: false,
            dimension: q.unit.dimension,
            as_unit: q.unit,
        });
        Slot::Input(self.inputs.len() - 1)
    }

    fn shelf_input(&mut self, path: &str, stated: &Stated) -> Option<Slot> {
        let (table, name) = path.split_once('.')?;
        let dimension = find_key(table, name)?.takes.measures()?;
        let as_unit = shelf_unit(stated.value, dimension)?;
        self.inputs.push(Input {
            key: path.to_owned(),
            value: stated.value,
            half_width: Some(stated.half_width),
            unit: as_unit.symbol.to_owned(),
            from_shelf: true,
            dimension,
            as_unit,
        });
        Some(Slot::Input(self.inputs.len() - 1))
    }

    /// A number of a list that the shelf gives.
    pub(super) fn shelf_value(&mut self, key: String, value: f64, half_width: Option<f64>) -> Option<Slot> {
        let dimension = super::keys::key_at(&key)?.takes.measures()?;
        let as_unit = shelf_unit(value, dimension)?;
        let unit = as_unit.symbol.to_owned();
        self.inputs.push(Input { key, value, half_width, unit, from_shelf: true, dimension, as_unit });
        Some(Slot::Input(self.inputs.len() - 1))
    }

    /// A required key is missing; said unless TOML is broken or the whole table is missing.
    pub(super) fn missing(&mut self, path: &str, hint: &str) {
        let table = path.split('.').next().unwrap_or(path);
        if self.draft.broken || self.draft.has(path) {
            return;
        }
        if let Some(span) = self.draft.tables.get(table).cloned() {
            let name = &path[table.len() + 1..];
            self.draft.error(span, format!("`{name}` is missing in `[{table}]`")).hint =
                Some(hint.to_owned());
        }
    }

    /// The bytes of a file named at `path`.
    pub(super) fn open(&mut self, path: &str) -> Option<(String, Vec<u8>)> {
        let name = self.draft.text(path)?.to_owned();
        let span = self.draft.span(path)?;
        match (self.open)(&name) {
            Ok(bytes) => {
                for part in [name.as_bytes(), &(bytes.len() as u64).to_le_bytes(), &bytes] {
                    self.digest = fnv(self.digest, part);
                }
                Some((name, bytes))
            }
            Err(e) => {
                let says = match e.kind() {
                    io::ErrorKind::NotFound => format!("there is no file `{name}`"),
                    io::ErrorKind::PermissionDenied => format!("`{name}` may not be read"),
                    _ => format!("`{name}` cannot be read: {e}"),
                };
                self.draft.error(span, says).hint =
                    Some("the name counts from the folder of the case file".to_owned());
                None
            }
        }
    }

    fn surface(&self) -> Surface {
        match self.draft.text("shape.surface") {
            Some("inner") => Surface::Inner,
            Some("outer") => Surface::Outer,
            _ => Surface::Mid,
        }
    }

    fn shape(&mut self, surface: Surface) -> Option<Shape> {
        self.missing("shape.kind", &choices("kind", SHAPES));
        match self.draft.text("shape.kind") {
            Some("meridian") => self.measured(),
            Some("corners") => self.corners(surface),
            Some(_) => self.cap(),
            None => None,
        }
    }

    fn cap(&mut self) -> Option<Shape> {
        let path = |s: Size| format!("shape.{}", s.key());
        let given: Vec<Size> = Size::ALL.into_iter().filter(|s| self.draft.has(&path(*s))).collect();
        if given.len() < 2 {
            if !self.draft.broken {
                let span = self.draft.span("shape").unwrap_or(0..0);
                let says = match given.first() {
                    Some(one) => format!("`{}` alone does not fix a cap: one more size is needed", one.key()),
                    None => "two sizes are needed to fix a cap".to_owned(),
                };
                let free: Vec<&str> =
                    Size::ALL.into_iter().filter(|s| !given.contains(s)).map(Size::key).collect();
                self.draft.error(span, says).hint = Some(format!("add one of {}", free.join(", ")));
            }
            return None;
        }
        let mut slots = Vec::new();
        for size in &given {
            slots.push(self.input(&path(*size)).map(|slot| (*size, slot)));
        }
        let hole = match self.draft.has("shape.hole_diameter") {
            true => self.input("shape.hole_diameter")?,
            false => Slot::Fixed(0.0),
        };
        let value = |r: &Self, s: Slot| match s {
            Slot::Input(i) => r.inputs[i].value,
            Slot::Fixed(x) => x,
        };
        let sound: Option<Vec<(Size, Slot)>> = slots.into_iter().collect();
        let sound =
            sound.filter(|all| all.iter().all(|(s, slot)| check(&path(*s), value(self, *slot)).is_ok()))?;
        let pair = [(sound[0].0, value(self, sound[0].1)), (sound[1].0, value(self, sound[1].1))];
        let cap = cap_of(pair[0], pair[1]);
        if given.len() > 2 {
            self.too_many(&given, cap.ok());
            return None;
        }
        let (_, angle) = cap.inspect_err(|e| self.impossible(e)).ok()?;
        self.say_which(pair, angle);
        Some(Shape::Cap { sizes: [sound[0], sound[1]], hole })
    }

    fn too_many(&mut self, given: &[Size], cap: Option<(f64, f64)>) {
        let first = [given[0], given[1]].map(Size::key).join("` and `");
        for extra in &given[2..] {
            let path = format!("shape.{}", extra.key());
            let (Some(field), q) = (self.draft.fields.get(&path), self.draft.number(&path)) else { continue };
            let span = field.key_span.clone();
            let follows = cap.zip(q).map(|((r, a), q)| show(extra.of(r, a), None, q.unit));
            let hint = match follows {
                Some(x) => format!(
                    "from `{first}` follows {} = {x}; keep the two that you measured best",
                    extra.key()
                ),
                None => "keep the two that you measured best".to_owned(),
            };
            let says = format!("`{}` is one size too many: two fix a cap", extra.key());
            self.draft.error(span, says).hint = Some(hint);
        }
    }

    /// Two pairs of sizes leave two caps; say which is meant.
    fn say_which(&mut self, pair: [(Size, f64); 2], angle: f64) {
        let degrees = angle.to_degrees();
        match (pair[0], pair[1]) {
            ((Size::Radius, _), (Size::RimDiameter, _)) => self.notes.push(format!(
                "radius and rim diameter fit two caps; the shallower is taken (half-angle {degrees:.3} deg)"
            )),
            ((Size::Rise, rise), (Size::ArcLength, arc))
                if rise / arc > std::f64::consts::FRAC_2_PI && rise / arc <= STEEPEST_RATIO =>
            {
                let span = self.draft.span("shape.rise").unwrap_or(0..0);
                let says =
                    format!("two caps have this rise and arc length; the one of {degrees:.2} deg is taken");
                self.draft.warning(span, says).hint =
                    Some("give the half-angle instead of one of them".to_owned());
            }
            _ => {}
        }
    }

    /// Young's modulus, Poisson ratio, density. `own`: the first two are not asked for where the layers have their own.
    fn material(&mut self, own: [bool; 2]) -> [Option<Slot>; 3] {
        self.replaced_by_layers(own);
        let name = self.draft.text("material.name").map(str::to_owned);
        let stocked = name.as_deref().and_then(find_on_shelf);
        let mut used = Vec::new();
        let mut out = [None; 3];
        let mut missing = Vec::new();
        for (i, key) in ["youngs_modulus", "poisson_ratio", "density"].into_iter().enumerate() {
            let path = format!("material.{key}");
            if own.get(i) == Some(&true) {
                out[i] = Some(Slot::Fixed(f64::NAN)); // never read
                continue;
            }
            let from_shelf = stocked.as_ref().map(|m| [&m.youngs_modulus, &m.poisson_ratio, &m.density][i]);
            if self.draft.has(&path) {
                out[i] = self.input(&path);
            } else if let Some(stated) = from_shelf {
                out[i] = self.shelf_input(&path, stated);
                used.push(format!("{key} ({})", stated.source));
            } else if i < 2 {
                missing.push(path);
            }
        }
        if let Some(m) = stocked.filter(|_| !used.is_empty()) {
            self.notes.push(format!("from the shelf, {}: {}", m.name, used.join("; ")));
        }
        match (name, self.draft.span("material.name")) {
            (Some(name), Some(span)) if !missing.is_empty() => {
                let all = shelf();
                let words = all.iter().flat_map(|m| [m.key, m.name]);
                let keys = all.iter().map(|m| m.key).collect::<Vec<_>>().join(", ");
                let lacking: Vec<&str> = missing.iter().map(|p| &p["material.".len()..]).collect();
                let says = format!("`{name}` is not on the shelf, and {} not given", are(&lacking));
                self.draft.error(span, says).hint = Some(match nearest(&name, words) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => format!("on the shelf: {keys}"),
                });
            }
            _ => {
                for path in missing {
                    let example = if path.ends_with("ratio") { "0.49" } else { "1.2 MPa ± 10 %" };
                    let key = &path["material.".len()..];
                    self.missing(&path, &format!("write `{key} = \"{example}\"`, or take a material from the shelf: `name = \"silicone-30\"`"));
                }
            }
        }
        out
    }

    fn rim(&mut self) -> Option<Held> {
        self.missing("rim.kind", &choices("kind", RIMS));
        Some(Held::As(match self.draft.text("rim.kind")? {
            "free" => Rim::Free,
            "table" => Rim::Table,
            "ring" => Rim::Ring,
            "hinged" => Rim::Hinged,
            "clamped" => Rim::Clamped,
            _ => {
                let paths = ["rim.radial", "rim.axial", "rim.circumferential", "rim.turning"];
                if !self.draft.broken && paths.iter().all(|p| !self.draft.has(p)) {
                    let span = self.draft.span("rim.kind").unwrap_or(0..0);
                    self.draft.error(span, "an elastic rim needs at least one spring").hint = Some(
                        "add radial, axial, circumferential or turning; those left out are 0".to_owned(),
                    );
                    return None;
                }
                return Some(Held::Elastic(paths.map(|p| self.input(p).unwrap_or(Slot::Fixed(0.0)))));
            }
        }))
    }

    /// Both ends of every tolerance must give a part too.
    fn check_tolerances(&mut self, plan: &Plan, values: &[f64]) {
        for i in 0..self.inputs.len() {
            let Some(width) = self.inputs[i].half_width else { continue };
            let key = self.inputs[i].key.clone();
            for end in [values[i] - width, values[i] + width] {
                let mut moved = values.to_vec();
                moved[i] = end;
                let outcome = check(&key, end)
                    .and_then(|()| plan.part(&moved, None))
                    .and_then(|part| plan.load(&moved, &part))
                    .and_then(|_| plan.motion.motion(&moved));
                if let Err(impossible) = outcome {
                    let span =
                        self.draft.span(&key).or_else(|| self.draft.span("material.name")).unwrap_or(0..0);
                    let says =
                        format!("the tolerance reaches {}: {impossible}", self.inputs[i].show(end, None));
                    self.draft.warning(span, says);
                }
            }
        }
    }
}

/// Indices of values that are not above the one before.
pub(super) fn falls(values: &[f64]) -> Vec<usize> {
    (1..values.len()).filter(|i| values[*i] <= values[*i - 1]).collect()
}

/// The unit in which the shelf gives a value: that of metals is the gigapascal.
fn shelf_unit(value: f64, dimension: calotte_quantity::Dimension) -> Option<&'static calotte_quantity::Unit> {
    let usual = if value > 2e10 { "GPa" } else { dimension.usual_unit() };
    find_unit(usual, dimension).or_else(|| find_unit(dimension.usual_unit(), dimension))
}

fn thickest(wall: &Wall) -> f64 {
    wall.knots().iter().fold(0.0, |m: f64, k| m.max(k.1))
}

pub(super) fn choices(key: &str, all: &[&str]) -> String {
    format!("write `{key} = \"{}\"`; or {}", all[0], all[1..].join(", "))
}

fn are(keys: &[&str]) -> String {
    let list = keys.iter().map(|k| format!("`{k}`")).collect::<Vec<_>>().join(" and ");
    format!("{list} {}", if keys.len() == 1 { "is" } else { "are" })
}
