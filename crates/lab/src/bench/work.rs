//! From a bench file to a report: every test that is whole is worked out.

use std::io;

use calotte_quantity::{Dimension, find_unit, show};
use calotte_specimen::{Case, File, Finding, Level, read_case, read_memory_table};

use super::bend::{Hanging, Profile, hanging};
use super::combine::combined;
use super::estimate::{BudgetRow, Estimate, Reading, TOLERANCE_IN_DEVIATIONS, finished};
use super::hard::{USUAL_DEVIATION, hardness};
use super::keys::table;
use super::on_case::{at_once, poked, rings, strip_rings};
use super::read::{Placed, Written, finding, headed, read};
use super::relax::{MemoryEstimate, relaxation};
use super::report::BenchReport;
use super::thick::{Readings, thickness};

/// Standard gravity, m/s².
const GRAVITY: f64 = 9.80665;
/// Poisson's ratio of rubber, taken for wide strips where none is given.
const RUBBER: f64 = 0.49;
/// Loss of a memory beyond which tests without `after` are no longer alike.
const MATTERS: f64 = 0.02;

/// Gives the bytes of a file that a bench file names.
type Open<'a> = &'a dyn Fn(&str) -> io::Result<Vec<u8>>;

/// Reads a bench file and works out every test that is whole. `open` gives the bytes of a file it names, by the name written
/// there. The report is `None` when nothing could be worked out; findings are sorted by place.
pub fn bench(bytes: &[u8], open: Open<'_>) -> (Option<BenchReport>, Vec<Finding>) {
    let draft = read(bytes);
    let mut desk = Desk { tables: &draft.tables, open, found: draft.found, report: blank() };
    if !draft.lost {
        desk.all();
    }
    let Desk { mut found, mut report, .. } = desk;
    found.sort_by_key(|f| (f.file != File::Case, f.span.start));
    let nothing = report.estimates.is_empty() && report.thickness.is_empty() && report.memory.is_none();
    if nothing {
        if found.iter().all(|f| f.level != Level::Error) {
            let hint = "add [[droop]], [[poke]], [[ringing]], …: `calotte bench --template` shows them all";
            let says = "there is no test in this file".to_owned();
            found.push(finding(Level::Error, 0..0, says, Some(hint.to_owned())));
        }
        return (None, found);
    }
    report.outcome = if report.doubts.is_empty() { "answered" } else { "doubtful" };
    (Some(report), found)
}

fn blank() -> BenchReport {
    BenchReport {
        schema_version: 1,
        title: "bench tests".to_owned(),
        outcome: "answered",
        doubts: Vec::new(),
        warnings: Vec::new(),
        estimates: Vec::new(),
        combined: None,
        strips: Vec::new(),
        hardness: Vec::new(),
        thickness: Vec::new(),
        memory: None,
        case_block: String::new(),
    }
}

/// A file at work.
struct Desk<'a> {
    tables: &'a [Written],
    open: Open<'a>,
    found: Vec<Finding>,
    report: BenchReport,
}

impl<'a> Desk<'a> {
    fn error(&mut self, span: std::ops::Range<usize>, says: impl Into<String>, hint: &str) {
        let hint = (!hint.is_empty()).then(|| hint.to_owned());
        self.found.push(finding(Level::Error, span, says.into(), hint));
    }

    fn one(&self, name: &str) -> Option<&'a Written> {
        self.tables.iter().find(|w| w.table == name)
    }

    /// Name of the test, made up from its kind and place where it has none.
    fn name(&self, w: &Written) -> String {
        let before =
            self.tables.iter().filter(|o| o.table == w.table && o.span.start <= w.span.start).count();
        w.text("name").map_or_else(|| format!("{} {before}", w.table), str::to_owned)
    }

    /// The strip that a test names.
    fn strip(&self, w: &Written) -> Option<&'a Written> {
        let name = w.text("strip")?;
        self.tables.iter().find(|s| s.table == "strip" && s.text("name") == Some(name))
    }

    /// A key of a test, of its strip, or of the material, with the name under which it enters.
    fn get(&self, w: &'a Written, test: &str, key: &str) -> Option<(String, &'a Placed)> {
        if let Some(p) = w.quantity(key) {
            return Some((format!("{test}: {key}"), p));
        }
        if let Some(s) = self.strip(w)
            && let Some(p) = s.quantity(key)
        {
            return Some((format!("{}: {key}", s.text("name").unwrap_or("strip")), p));
        }
        let m = self.one("material").filter(|_| key == "density")?;
        Some((format!("material: {key}"), m.quantity(key)?))
    }

    /// Everything that must stand in a test does.
    fn whole(&mut self, w: &'a Written) -> bool {
        if w.broken {
            return false;
        }
        if let Some(name) = w.text("strip")
            && self.strip(w).is_none()
        {
            let known: Vec<&str> =
                self.tables.iter().filter(|s| s.table == "strip").filter_map(|s| s.text("name")).collect();
            let hint = if known.is_empty() {
                "write a table [[strip]] with that name".to_owned()
            } else {
                format!("the strips are {}", known.join(", "))
            };
            self.error(w.span_of("strip"), format!("there is no strip \"{name}\""), &hint);
            return false;
        }
        let Some(t) = table(w.table) else { return false };
        let missing: Vec<&str> = t
            .keys
            .iter()
            .filter(|k| k.needed && !w.values.contains_key(k.name) && self.get(w, "", k.name).is_none())
            .map(|k| k.name)
            .collect();
        for key in &missing {
            let example = t.keys.iter().find(|k| k.name == *key).map(|k| k.takes.example(k.name));
            let says = format!("{} needs `{key}`", headed(w.table));
            self.error(w.span.clone(), says, &format!("for example `{}`", example.unwrap_or_default()));
        }
        missing.is_empty()
    }

    fn all(&mut self) {
        if let Some(title) = self.one("").and_then(|w| w.text("title")) {
            title.clone_into(&mut self.report.title);
        }
        for kind in ["relaxation", "creep"] {
            if let Some(w) = self.one(kind) {
                self.memory(w, kind);
            }
        }
        for w in self.tables {
            match w.table {
                "material" | "strip" if !w.broken => _ = self.whole(w),
                "droop" | "cantilever" if self.whole(w) => self.hang(w),
                "poke" if self.whole(w) => self.poke(w),
                "ringing" if self.whole(w) => self.ring(w),
                "hardness" if self.whole(w) => self.hard(w),
                "thickness" if self.whole(w) => self.thick(w),
                _ => {}
            }
        }
        self.together();
    }

    fn gravity(&self) -> Reading {
        self.one("").and_then(|w| w.quantity("gravity")).map_or_else(
            || Reading::exact("gravity", GRAVITY, "m/s^2"),
            |p| Reading::of("gravity".to_owned(), p),
        )
    }

    /// Keeps an estimate, put back to the instantaneous modulus where memory and `after` are known.
    fn keep(&mut self, w: &'a Written, e: Estimate, own_after: Option<f64>) {
        let after = w.quantity("after").map(|p| p.quantity.value).or(own_after);
        let e = match (&self.report.memory, after) {
            (Some(m), Some(t)) => at_once(e, m.left_after(t), t),
            (Some(m), None) if 1.0 - m.share_left > MATTERS => {
                self.report.warnings.push(format!(
                    "{}: the material relaxes, and no `after` says how long after loading it was read; its modulus is taken as it is.",
                    e.test
                ));
                e
            }
            _ => e,
        };
        self.report.warnings.extend(e.notes.iter().map(|n| format!("{}: {n}", e.test)));
        if e.relative_deviation == 0.0 {
            self.error(
                w.span.clone(),
                format!("{}: no reading has a tolerance, so the modulus has no error", e.test),
                "write `± …` beside each number, at least half a division of the scale",
            );
            return;
        }
        self.report.estimates.push(e);
    }

    fn hang(&mut self, w: &'a Written) {
        let test = self.name(w);
        let reading = |key: &str, fallback: f64, unit: &'static str| {
            self.get(w, &test, key)
                .map_or_else(|| Reading::exact(key, fallback, unit), |(id, p)| Reading::of(id, p))
        };
        let weightless = self.get(w, &test, "density").is_none();
        let width_known = self.get(w, &test, "width").is_some();
        let mut readings = vec![
            reading("length", 0.0, "m"),
            reading("thickness", 0.0, "m"),
            reading("density", 0.0, "kg/m^3"),
            self.gravity(),
            reading("clamp_angle", 0.0, "rad"),
            reading("natural_curvature", 0.0, "1/m"),
            reading("width", 0.01, "m"),
            reading("weight", 0.0, "N"),
        ];
        let drops = w.quantities("drop");
        readings.push(if drops.is_empty() {
            Reading::exact("drop", 0.0, "m")
        } else {
            Reading::again(format!("{test}: drop"), drops)
        });
        let (across, down) = (w.quantities("across"), w.quantities("down"));
        let profile = if across.is_empty() && down.is_empty() {
            None
        } else if across.len() != down.len() || across.len() < 3 {
            let says = format!("{} places across and {} down", across.len(), down.len());
            self.error(w.span_of("down"), says, "give as many of both, at least three points");
            return;
        } else {
            let points = across.iter().zip(down).map(|(x, y)| [x.quantity.value, y.quantity.value]).collect();
            let Some(error) = w.quantity("point_error").map(|p| p.quantity.value / 2.0) else {
                self.error(
                    w.span.clone(),
                    "a profile needs `point_error`",
                    "how far off a point may be, for example `point_error = \"0.5 mm\"`",
                );
                return;
            };
            Some(Profile { points, error })
        };
        if profile.is_some() != drops.is_empty() {
            let (says, hint) = if drops.is_empty() {
                (
                    "no drop and no profile is given",
                    "write `drop = \"12 ± 0.5 mm\"`, or the lists `across` and `down`",
                )
            } else {
                ("drop and profile are both given", "keep one of them")
            };
            self.error(w.span.clone(), says, hint);
            return;
        }
        let kind = if w.table == "droop" { "droop" } else { "cantilever" };
        let poisson = self
            .one("material")
            .and_then(|m| m.quantity("poisson_ratio"))
            .map_or(RUBBER, |p| p.quantity.value);
        let h = Hanging { kind, name: test, readings, profile, poisson, width_known, weightless };
        match hanging(&h) {
            Ok((e, shape)) => {
                self.report.strips.push(shape);
                self.keep(w, e, None);
            }
            Err(why) => {
                let key = if w.values.contains_key("drop") { "drop" } else { "down" };
                self.error(w.span_of(key), format!("{}: {why}", h.name), "");
            }
        }
    }

    /// The case that a test names.
    fn case(&mut self, w: &'a Written) -> Option<Case> {
        let name = w.text("case")?.to_owned();
        let bytes = match (self.open)(&name) {
            Ok(bytes) => bytes,
            Err(e) => {
                let says = format!("`{name}` cannot be read: {e}");
                self.error(w.span_of("case"), says, "name a case file, by its path from the bench file");
                return None;
            }
        };
        // Files that the case names are looked for beside the case.
        let folder = name.rfind('/').map_or("", |i| &name[..=i]).to_owned();
        let (case, found) = read_case(&bytes, &|n: &str| (self.open)(&format!("{folder}{n}")));
        let errors = found.iter().filter(|f| f.level == Level::Error).count();
        for f in found.into_iter().filter(|f| f.level == Level::Error) {
            let file = match f.file {
                File::Case => File::Other(name.clone()),
                File::Other(n) => File::Other(format!("{folder}{n}")),
            };
            self.found.push(Finding { file, ..f });
        }
        if errors > 0 {
            self.error(w.span_of("case"), format!("`{name}` is no whole case"), "its own findings say why");
        }
        case
    }

    fn poke(&mut self, w: &'a Written) {
        let test = self.name(w);
        let Some(case) = self.case(w) else { return };
        let Some(force) = w.quantity("force") else { return };
        let force = Reading::of(format!("{test}: force"), force);
        let displacement = Reading::again(format!("{test}: displacement"), w.quantities("displacement"));
        match poked(&test, &case, &force, &displacement) {
            Ok(e) => self.keep(w, e, None),
            Err(why) => self.error(w.span_of("displacement"), format!("{test}: {why}"), ""),
        }
    }

    fn ring(&mut self, w: &'a Written) {
        let test = self.name(w);
        let frequency = Reading::again(format!("{test}: frequency"), w.quantities("frequency"));
        let whole =
            |key: &str, usual: usize| w.quantity(key).map_or(usual, |p| p.quantity.value.round() as usize);
        let order = whole("order", 1);
        let after = 1.0 / (2.0 * std::f64::consts::PI * frequency.value);
        let of = w.text("of").unwrap_or("");
        let result = if of == "case" {
            if w.text("case").is_none() {
                self.error(w.span.clone(), "of = \"case\" needs `case`", "for example `case = \"cap.toml\"`");
                return;
            }
            let Some(case) = self.case(w) else { return };
            let inverted = w.text("state") == Some("inverted");
            rings(&test, &case, &frequency, inverted, whole("waves", 2) as u32, order)
        } else {
            let mut readings = Vec::new();
            for key in ["length", "thickness", "density"] {
                let Some((id, p)) = self.get(w, &test, key) else {
                    self.error(
                        w.span.clone(),
                        format!("a strip that rings needs `{key}`"),
                        "give it here or in the strip",
                    );
                    return;
                };
                readings.push(Reading::of(id, p));
            }
            readings.push(frequency);
            let Ok(four) = <[Reading; 4]>::try_from(readings) else { return };
            strip_rings(&test, &four, of == "clamped-strip", order)
        };
        match result {
            Ok(e) => self.keep(w, e, Some(after)),
            Err(why) => self.error(w.span_of("frequency"), format!("{test}: {why}"), ""),
        }
    }

    fn hard(&mut self, w: &'a Written) {
        let test = self.name(w);
        let mut reading = Reading::again(format!("{test}: readings"), w.quantities("readings"));
        if reading.deviation == 0.0 {
            reading.deviation = USUAL_DEVIATION;
            self.report.warnings.push(format!("{test}: no error is stated; one point of hardness is taken."));
        }
        let (e, maps) = hardness(&test, &reading);
        self.report.hardness.push(maps);
        self.keep(w, e, None);
    }

    fn thick(&mut self, w: &'a Written) {
        let (arclengths, angles, rows) =
            (w.quantities("arclengths"), w.quantities("angles"), w.grid("readings"));
        if let Some(at) = arclengths.windows(2).find(|p| p[1].quantity.value <= p[0].quantity.value) {
            self.error(
                at[1].span.clone(),
                "arclengths must increase",
                "sort them, the readings' rows with them",
            );
            return;
        }
        if rows.len() != arclengths.len() {
            let says = format!("{} rows of readings for {} arclengths", rows.len(), arclengths.len());
            self.error(w.span_of("readings"), says, "one row to each arclength");
            return;
        }
        if !angles.is_empty()
            && let Some(row) = rows.iter().find(|r| r.len() != angles.len())
        {
            let says = format!("{} readings for {} angles", row.len(), angles.len());
            self.error(row[0].span.clone(), says, "one reading to each angle, in their order");
            return;
        }
        let value = |p: &Placed| p.quantity.value;
        let own = rows.iter().flatten().filter_map(|p| p.quantity.half_width).fold(0.0, f64::max);
        let stated = w.quantity("reading_error").map(value).or((own > 0.0).then_some(own));
        let readings = Readings {
            name: self.name(w),
            arclengths: arclengths.iter().map(value).collect(),
            angles: (!angles.is_empty()).then(|| angles.iter().map(value).collect()),
            rows: rows.iter().map(|r| r.iter().map(value).collect()).collect(),
            error: stated.map(|e| e / 2.0),
        };
        match thickness(&readings) {
            Ok(map) => {
                let name = &map.test;
                self.report.warnings.extend(map.notes.iter().map(|n| format!("{name}: {n}")));
                if map.scatter_chance.is_some_and(|c| c < 0.001) {
                    self.report.doubts.push(format!(
                        "{name}: the readings scatter far more than stated, so that the wall is not what these readings say it is."
                    ));
                }
                self.report.thickness.push(map);
            }
            Err(why) => self.error(w.span_of("readings"), why, ""),
        }
    }

    fn memory(&mut self, w: &'a Written, kind: &'static str) {
        if !self.whole(w) {
            return;
        }
        if self.report.memory.is_some() {
            self.error(
                w.span.clone(),
                "[relaxation] and [creep] are both given",
                "keep the one that is better",
            );
            return;
        }
        let name = w.text("table").unwrap_or("").to_owned();
        let bytes = match (self.open)(&name) {
            Ok(bytes) => bytes,
            Err(e) => {
                let says = format!("`{name}` cannot be read: {e}");
                self.error(w.span_of("table"), says, "name a CSV file, by its path from the bench file");
                return;
            }
        };
        let (readings, found) = read_memory_table(&name, &bytes);
        self.found.extend(found);
        let Some(readings) = readings else { return };
        if (kind == "creep") != (readings.column.name() == "compliance") {
            let says = format!("`{name}` holds a column `{}`", readings.column.name());
            let hint = if kind == "creep" {
                "creep wants a compliance; for a modulus write [relaxation]"
            } else {
                "relaxation wants a modulus or a ratio; for a compliance write [creep]"
            };
            self.error(w.span_of("table"), says, hint);
            return;
        }
        let accuracy = w.quantity("accuracy").map(|p| p.quantity.value);
        let asked = w.quantity("terms").map(|p| p.quantity.value.round() as usize);
        match relaxation(kind, &name, &readings, accuracy, asked) {
            Ok(m) => {
                self.report.warnings.extend(m.notes.iter().map(|n| format!("{kind}: {n}")));
                if m.terms.iter().any(|t| !t.supported) {
                    self.report
                        .doubts
                        .push(format!("{kind}: the series has terms that the readings do not support."));
                }
                self.modulus_at_once(w, kind, &name, &m);
                self.report.memory = Some(m);
            }
            Err(why) => self.error(w.span_of("table"), format!("{name}: {why}"), ""),
        }
    }

    /// A table of Young's modulus is an estimate too, once it is said how far off all of it may be together.
    fn modulus_at_once(&mut self, w: &Written, kind: &'static str, name: &str, m: &MemoryEstimate) {
        if m.column != "youngs" {
            return;
        }
        let Some(scale) = w.quantity("scale_error").map(|p| p.quantity.value / TOLERANCE_IN_DEVIATIONS)
        else {
            self.report.warnings.push(format!(
                "{kind}: its modulus at once is not counted among the tests: no `scale_error` says how far off sizes and load cell may make all of it."
            ));
            return;
        };
        let row = |input: String, effect: f64| BudgetRow {
            input,
            value: None,
            deviation: None,
            unit: "1",
            effect,
            share: 0.0,
        };
        let budget = vec![
            row(format!("{kind}: scale of the readings"), scale),
            row(format!("{kind}: readings"), m.instantaneous_relative_error),
        ];
        self.report.estimates.push(finished(kind, name, libm::log(m.instantaneous), budget));
    }

    fn together(&mut self) {
        let all = &self.report.estimates;
        let combined = combined(all);
        if let Some(c) = combined.as_ref().filter(|c| !c.agree) {
            self.report.doubts.push(format!(
                "The {} estimates of the modulus disagree (χ² {:.1} for {} degrees of freedom, chance {:.1e}): a further {:.0} % of error is added to each, until they agree (Paule and Mandel's way).",
                all.len(),
                c.chi_squared,
                c.freedom,
                c.chance,
                100.0 * c.added_deviation
            ));
        }
        self.report.combined = combined;
        self.report.case_block = self.block();
    }

    /// Tables for a case file, tolerances of two standard deviations.
    fn block(&self) -> String {
        let mut out = String::new();
        let quoted = |d: Dimension, unit: &str, value: f64, deviation: f64| {
            find_unit(unit, d).map_or_else(String::new, |u| show(value, Some(2.0 * deviation), u))
        };
        if let Some(c) = &self.report.combined {
            let unit = if c.modulus < 1e9 { "MPa" } else { "GPa" };
            out += "[material]\n";
            let e = quoted(Dimension::Pressure, unit, c.modulus, c.modulus * c.relative_deviation);
            out += &format!("youngs_modulus = \"{e}\"\n");
            if let Some(m) = self.one("material") {
                for key in ["poisson_ratio", "density"] {
                    if let Some(p) = m.quantity(key) {
                        out += &format!("{key} = \"{}\"\n", p.quantity.text.trim());
                    }
                }
            }
        }
        if let Some(m) = &self.report.memory {
            let list = |of: &dyn Fn(usize) -> String| {
                (0..m.terms.len()).map(|i| format!("\"{}\"", of(i))).collect::<Vec<_>>().join(", ")
            };
            let share = |i: usize| quoted(Dimension::Number, "", m.terms[i].share, m.terms[i].share_error);
            let time = |i: usize| {
                let t = &m.terms[i];
                quoted(Dimension::Time, "s", t.time_s, t.time_s * t.time_relative_error)
            };
            if !out.is_empty() {
                out.push('\n');
            }
            out += &format!("[memory]\nshares = [{}]\ntimes = [{}]\n", list(&share), list(&time));
        }
        for (i, t) in self.report.thickness.iter().enumerate() {
            if !out.is_empty() {
                out.push('\n');
            }
            let name = if i == 0 { "wall.csv".to_owned() } else { format!("wall-{}.csv", i + 1) };
            out += &format!("[wall]  # {}\ntable = \"{name}\"\n", t.test);
        }
        out
    }
}
