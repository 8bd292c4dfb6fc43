//! Reads a plan: every finding at once, each at its place.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::io;
use std::ops::Range;

use calotte_answers::map::Quantity as Axis;
use calotte_quantity::{Dimension, Quantity, nearest};
use calotte_specimen::{Case, Entry, File, Finding, Level, Meridian, case_form, read_case};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::design::Design;
use crate::plan::{Plan, Spacing, Varied};
use crate::question::Question;
use crate::table;

/// Largest plan, bytes.
const LARGEST: usize = 1 << 20;
/// Most points of a sweep.
pub(crate) const MOST_POINTS: u64 = 1 << 40;
/// Most chunks of a sweep: each is a file of one folder.
const MOST_CHUNKS: u64 = 1_000_000;
/// Most points of a chunk: its rows are held in memory.
const MOST_IN_CHUNK: u64 = 1_000_000;
/// Points of a chunk where the plan does not say.
const USUAL_CHUNK: u64 = 1000;

const KEYS: [&str; 9] = ["title", "case", "questions", "chunk", "design", "points", "seed", "table", "vary"];
const DESIGNS: [&str; 4] = ["grid", "latin hypercube", "sobol", "table"];
const OF_A_NUMBER: [&str; 4] = ["from", "to", "count", "spacing"];

/// What reading a plan gives.
pub struct ReadPlan {
    /// The plan with its case; none when any finding, here or in the case, is an error.
    pub plan: Option<(Plan, Case)>,
    /// Findings about the plan and its table, by place.
    pub findings: Vec<Finding>,
    /// The files that the plan names, by name, as far as they were read.
    pub files: BTreeMap<String, Vec<u8>>,
    /// The case as the plan names it.
    pub case_name: Option<String>,
    /// Findings about the case and the files that it names.
    pub case_findings: Vec<Finding>,
    /// The files that the case names.
    pub case_files: BTreeMap<String, Vec<u8>>,
}

/// Reads a plan. `open` gives the bytes of a file the plan names, by the name written there; of a file that the case names, by the
/// name of the case in the plan and the name in the case.
pub fn read_plan(
    bytes: &[u8],
    open: &dyn Fn(&str) -> io::Result<Vec<u8>>,
    open_beside: &dyn Fn(&str, &str) -> io::Result<Vec<u8>>,
) -> ReadPlan {
    let mut out = ReadPlan {
        plan: None,
        findings: Vec::new(),
        files: BTreeMap::new(),
        case_name: None,
        case_findings: Vec::new(),
        case_files: BTreeMap::new(),
    };
    let start = if bytes.starts_with(b"\xef\xbb\xbf") { 3 } else { 0 };
    let text = match text_of(&bytes[start..]) {
        Ok(text) => text,
        Err(finding) => {
            out.findings.push(finding);
            return out;
        }
    };
    let (root, faults) = DeTable::parse_recoverable(text);
    let broken = !faults.is_empty();
    for fault in faults {
        let says = fault.message().lines().collect::<Vec<_>>().join("; ");
        let mut finding = Finding::error(File::Case, fault.span().unwrap_or(0..0), says);
        if fault.message().contains("quoted") {
            finding = finding.hint("texts, and numbers with a unit, stand in quotes: `from = \"1 mm\"`");
        }
        out.findings.push(finding);
    }
    let mut r = Reader { text, root: root.get_ref(), findings: Vec::new(), broken };
    r.unknown();
    let case = r.case(open, open_beside, &mut out);
    let plan = r.plan(case.as_ref(), open, &mut out);
    out.findings.append(&mut r.findings);
    // Places are of the text behind a byte order mark.
    for f in out.findings.iter_mut().filter(|f| f.file == File::Case) {
        f.span = f.span.start + start..f.span.end + start;
    }
    out.findings.sort_by(|a, b| a.file.cmp(&b.file).then(a.span.start.cmp(&b.span.start)));
    let whole = out.findings.iter().chain(&out.case_findings).all(|f| f.level != Level::Error);
    out.plan = plan.zip(case).filter(|_| whole);
    out
}

fn text_of(bytes: &[u8]) -> Result<&str, Finding> {
    if bytes.len() > LARGEST {
        let finding = Finding::error(File::Case, 0..0, "the plan is larger than 1 MiB");
        return Err(
            finding.hint("is this a plan? points go into a CSV file of their own, `design = \"table\"`")
        );
    }
    let text = std::str::from_utf8(bytes).map_err(|e| {
        let at = e.valid_up_to();
        Finding::error(File::Case, at..at + 1, "the file is not UTF-8 text").hint("save it as UTF-8")
    })?;
    if text.trim().is_empty() {
        let finding = Finding::error(File::Case, 0..0, "the plan is empty");
        return Err(finding.hint("docs/sweep.md shows one to start from"));
    }
    Ok(text)
}

struct Reader<'t> {
    text: &'t str,
    root: &'t DeTable<'t>,
    findings: Vec<Finding>,
    /// TOML itself is broken: what is missing may only have been lost.
    broken: bool,
}

/// A value with its place.
type At<T> = (T, Range<usize>);

impl<'t> Reader<'t> {
    fn error(&mut self, span: Range<usize>, says: impl Into<String>, hint: impl Into<String>) {
        self.findings.push(Finding::error(File::Case, span, says).hint(hint));
    }

    fn find(&self, key: &str) -> Option<&'t Spanned<DeValue<'t>>> {
        self.root.iter().find(|(name, _)| name.get_ref() == key).map(|(_, value)| value)
    }

    /// A key that must be there.
    fn missing(&mut self, key: &str, hint: &str) {
        if !self.broken && self.find(key).is_none() {
            self.error(0..0, format!("the plan has no `{key}`"), hint);
        }
    }

    fn unknown(&mut self) {
        for (name, _) in self.root {
            if !KEYS.contains(&name.get_ref().as_ref()) {
                let hint = nearest(name.get_ref(), KEYS.into_iter()).map_or_else(
                    || format!("known here: {}", KEYS.join(", ")),
                    |k| format!("did you mean `{k}`?"),
                );
                self.error(name.span(), format!("unknown key `{}`", name.get_ref()), hint);
            }
        }
    }

    /// The place inside the quotes of a text.
    fn inner(&self, value: &Spanned<DeValue<'_>>) -> Range<usize> {
        let span = value.span();
        let quoted = |q: char| {
            self.text.get(span.clone()).is_some_and(|t| t.len() >= 2 && t.starts_with(q) && t.ends_with(q))
        };
        if quoted('"') || quoted('\'') { span.start + 1..span.end - 1 } else { span }
    }

    fn text(&mut self, key: &str) -> Option<At<String>> {
        let value = self.find(key)?;
        match value.get_ref() {
            DeValue::String(t) if !t.trim().is_empty() => Some((t.to_string(), self.inner(value))),
            _ => {
                self.error(value.span(), format!("`{key}` takes a text"), format!("write `{key} = \"…\"`"));
                None
            }
        }
    }

    /// A whole number of a table of the plan, from 1 (from 0 for a seed).
    fn whole(&mut self, key: &str, value: &Spanned<DeValue<'_>>, most: u64) -> Option<At<u64>> {
        let least = u64::from(key != "seed");
        let read = match value.get_ref() {
            DeValue::Integer(i) => u64::from_str_radix(i.as_str(), i.radix()).ok(),
            _ => None,
        };
        match read.filter(|n| (least..=most).contains(n)) {
            Some(n) => Some((n, value.span())),
            None => {
                let says = format!("`{key}` takes a whole number from {least} to {most}");
                self.error(value.span(), says, format!("for example `{key} = {}`", 100.min(most)));
                None
            }
        }
    }

    fn whole_of(&mut self, key: &str, most: u64) -> Option<At<u64>> {
        let value = self.find(key)?;
        self.whole(key, value, most)
    }

    /// One of some words.
    fn word<'w>(&mut self, key: &str, (word, span): At<String>, all: &[&'w str]) -> Option<At<&'w str>> {
        let found = all.iter().find(|a| **a == word.replace(['-', '_'], " "));
        if found.is_none() {
            let list = all.iter().map(|a| format!("\"{a}\"")).collect::<Vec<_>>().join(", ");
            let near = nearest(&word, all.iter().copied());
            let hint = near.map_or_else(|| format!("one of {list}"), |n| format!("did you mean \"{n}\"?"));
            self.error(span.clone(), format!("`{key}` cannot be \"{word}\""), hint);
        }
        Some((*found?, span))
    }

    fn case(
        &mut self,
        open: &dyn Fn(&str) -> io::Result<Vec<u8>>,
        beside: &dyn Fn(&str, &str) -> io::Result<Vec<u8>>,
        out: &mut ReadPlan,
    ) -> Option<Case> {
        self.missing("case", "name the case file, relative to the plan: `case = \"case.toml\"`");
        let (name, span) = self.text("case")?;
        let bytes = match open(&name) {
            Ok(bytes) => bytes,
            Err(e) => {
                let hint = "the name is relative to the plan; `calotte new cap` writes a case to start from";
                self.error(span, format!("`{name}` cannot be read: {e}"), hint);
                return None;
            }
        };
        let files = RefCell::new(BTreeMap::new());
        let (case, found) = read_case(&bytes, &|other| {
            let content = beside(&name, other)?;
            files.borrow_mut().insert(other.to_owned(), content.clone());
            Ok(content)
        });
        if found.iter().any(|f| f.level == Level::Error) {
            self.findings.push(Finding::error(
                File::Case,
                span,
                format!("`{name}` is no whole case: see there"),
            ));
        }
        out.files.insert(name.clone(), bytes);
        out.case_name = Some(name);
        out.case_findings = found;
        out.case_files = files.into_inner();
        case
    }

    fn questions(&mut self, case: Option<&Case>) -> Vec<Question> {
        const EXAMPLE: &str = "`questions = [\"threshold\"]`";
        let names = Question::ALL.map(Question::name);
        self.missing("questions", &format!("say what is asked: {EXAMPLE}; there are {}", names.join(", ")));
        let Some(value) = self.find("questions") else { return Vec::new() };
        let DeValue::Array(all) = value.get_ref() else {
            self.error(value.span(), "`questions` takes a list of texts", format!("for example {EXAMPLE}"));
            return Vec::new();
        };
        let mut out = Vec::new();
        for one in all {
            let DeValue::String(t) = one.get_ref() else {
                self.error(one.span(), "`questions` takes a list of texts", format!("for example {EXAMPLE}"));
                continue;
            };
            let span = self.inner(one);
            let Some((name, span)) = self.word("questions", (t.to_string(), span), &names) else { continue };
            let Some(q) = Question::ALL.into_iter().find(|q| q.name() == name) else { continue };
            if out.contains(&q) {
                self.error(span, format!("\"{name}\" is asked twice"), "name each question once");
                continue;
            }
            if let Some(Err(why)) = case.map(|c| q.refuse(c)) {
                let hint = "ask another question, or change the case";
                self.error(span, format!("\"{name}\" makes no sense for this case: {}", why.line()), hint);
            }
            out.push(q);
        }
        if all.is_empty() {
            self.error(value.span(), "nothing is asked", format!("for example {EXAMPLE}"));
        }
        out
    }

    fn plan(
        &mut self,
        case: Option<&Case>,
        open: &dyn Fn(&str) -> io::Result<Vec<u8>>,
        out: &mut ReadPlan,
    ) -> Option<Plan> {
        let title = if self.find("title").is_some() { self.text("title").map(|t| t.0) } else { None };
        let questions = self.questions(case);
        let chunk = self.whole_of("chunk", MOST_IN_CHUNK);
        let chunk_at = chunk.as_ref().map(|c| c.1.clone());
        // A chunk that is wrong is told already; what else is wrong shall be too.
        let chunk = chunk.map_or(USUAL_CHUNK, |c| c.0);
        let list = DESIGNS.map(|d| format!("\"{d}\"")).join(", ");
        self.missing("design", &format!("say how the points lie: `design = \"grid\"`; there are {list}"));
        let design = self.text("design").and_then(|t| self.word("design", t, &DESIGNS));
        let seed = self.whole_of("seed", i64::MAX as u64);
        let points = self.whole_of("points", MOST_POINTS);
        let (vary, counts) = self.vary(case, design.as_ref().map(|d| d.0));
        let (kind, kind_at) = design?;
        // What belongs to another design is a mistake, not something to pass over.
        for (key, of) in [("points", &DESIGNS[1..3]), ("table", &DESIGNS[3..]), ("vary", &DESIGNS[..3])] {
            if let Some(value) = self.find(key).filter(|_| !of.contains(&kind)) {
                let list = of.iter().map(|d| format!("\"{d}\"")).collect::<Vec<_>>().join(" or ");
                let span = if key == "vary" { self.name_span(key) } else { value.span() };
                self.error(
                    span,
                    format!("a design \"{kind}\" has no `{key}`"),
                    format!("take it out, or write `design = {list}`"),
                );
            }
        }
        if let Some((_, span)) = seed.clone().filter(|_| !matches!(kind, "latin hypercube" | "sobol")) {
            let says = format!("a seed changes nothing of a design \"{kind}\"");
            self.findings.push(Finding::warning(File::Case, span, says));
        }
        let seed = seed.map_or(1, |s| s.0);
        let (mut vary, mut table) = (vary, None);
        let design = match kind {
            "table" => {
                self.missing(
                    "table",
                    "name the CSV file of the points, relative to the plan: `table = \"points.csv\"`",
                );
                let (name, span) = self.text("table")?;
                let bytes = match open(&name) {
                    Ok(bytes) => bytes,
                    Err(e) => {
                        self.error(
                            span,
                            format!("`{name}` cannot be read: {e}"),
                            "the name is relative to the plan",
                        );
                        return None;
                    }
                };
                let found = table::read(&name, &bytes, case?);
                out.files.insert(name, bytes.clone());
                out.findings.extend(found.findings);
                table = Some(bytes);
                vary = found.vary;
                Design::Table { rows: found.rows }
            }
            _ => {
                if vary.is_empty() && self.find("vary").is_none() && !self.broken {
                    let hint = "say what varies: `[vary.\"wall.thickness\"]` with `from = \"1 mm\"`, `to = \"4 mm\"`";
                    self.error(0..0, "no number varies", hint);
                }
                if kind == "grid" {
                    Design::Grid { counts }
                } else {
                    self.missing("points", &format!("a design \"{kind}\" needs how many: `points = 10000`"));
                    let points = points.as_ref()?.0;
                    match kind {
                        "sobol" => Design::sobol(points, vary.len(), seed),
                        _ => Design::hypercube(points, vary.len(), seed),
                    }
                    .or_else(|| {
                        let most = calotte_chance::quasi::DIMENSIONS;
                        let says =
                            format!("Sobol's sequence has {most} dimensions; {} numbers vary", vary.len());
                        self.error(kind_at.clone(), says, "write `design = \"latin hypercube\"`");
                        None
                    })?
                }
            }
        };
        let total = design.points();
        if total > MOST_POINTS {
            self.error(
                kind_at,
                format!("{total} points; at most {MOST_POINTS} (2^40) are taken"),
                "make the counts smaller",
            );
        } else if total.div_ceil(chunk) > MOST_CHUNKS {
            let chunks = total.div_ceil(chunk);
            let says = format!(
                "{total} points in chunks of {chunk} are {chunks} files; at most {MOST_CHUNKS} are made"
            );
            let least = total.div_ceil(MOST_CHUNKS);
            self.error(chunk_at.unwrap_or(kind_at), says, format!("write `chunk = {least}` or more"));
        }
        if self.findings.iter().any(|f| f.level == Level::Error) || vary.is_empty() || questions.is_empty() {
            return None;
        }
        let case = case?;
        let name = out.case_name.clone()?;
        Some(Plan {
            title: title.unwrap_or_else(|| case.title.clone()),
            questions,
            chunk,
            design,
            seed,
            vary,
            portable: self.portable(),
            case_bytes: out.files.get(&name)?.clone(),
            case_files: out.case_files.iter().map(|(k, v)| (k.clone(), v.clone())).collect(),
            table,
        })
    }

    fn name_span(&self, key: &str) -> Range<usize> {
        self.root.iter().find(|(name, _)| name.get_ref() == key).map_or(0..0, |(name, _)| name.span())
    }

    /// The plan's text with the names of copies in it.
    fn portable(&self) -> String {
        let mut changes: Vec<(Range<usize>, &str)> =
            [("case", "\"case/case.toml\""), ("table", "\"table.csv\"")]
                .into_iter()
                .filter_map(|(key, copy)| Some((self.find(key)?.span(), copy)))
                .collect();
        changes.sort_by_key(|c| std::cmp::Reverse(c.0.start));
        let mut out = self.text.to_owned();
        for (span, copy) in changes {
            out.replace_range(span, copy);
        }
        out
    }

    /// Numbers that vary, in the order of the file, and the counts of a grid.
    fn vary(&mut self, case: Option<&Case>, design: Option<&str>) -> (Vec<Varied>, Vec<u64>) {
        let Some(value) = self.find("vary") else { return (Vec::new(), Vec::new()) };
        let DeValue::Table(all) = value.get_ref() else {
            let hint = "write `[vary.\"wall.thickness\"]` on a line of its own";
            self.error(value.span(), "`vary` is a table of tables", hint);
            return (Vec::new(), Vec::new());
        };
        let mut numbers: Vec<_> = all.iter().collect();
        numbers.sort_by_key(|(name, _)| name.span().start);
        let (mut vary, mut counts) = (Vec::new(), Vec::new());
        for (name, value) in numbers {
            if let Some((number, count)) = self.number(name.get_ref(), &name.span(), value, case, design) {
                vary.push(number);
                counts.push(count);
            }
        }
        (vary, counts)
    }

    fn number(
        &mut self,
        key: &str,
        at: &Range<usize>,
        value: &'t Spanned<DeValue<'t>>,
        case: Option<&Case>,
        design: Option<&str>,
    ) -> Option<(Varied, u64)> {
        let DeValue::Table(inside) = value.get_ref() else {
            let hint = format!("write `[vary.\"{key}\"]` with `from` and `to`");
            self.error(at.clone(), format!("`{key}` takes a table"), hint);
            return None;
        };
        let get = |k: &str| inside.iter().find(|(n, _)| n.get_ref() == k).map(|(_, v)| v);
        let mut bad = false;
        for (name, inner) in inside {
            if OF_A_NUMBER.contains(&name.get_ref().as_ref()) {
                continue;
            }
            bad = true;
            let hint = if matches!(inner.get_ref(), DeValue::Table(_)) {
                format!("a key with a point stands in quotes: `[vary.\"{key}.{}\"]`", name.get_ref())
            } else {
                let near = nearest(name.get_ref(), OF_A_NUMBER.into_iter());
                near.map_or_else(
                    || format!("known here: {}", OF_A_NUMBER.join(", ")),
                    |n| format!("did you mean `{n}`?"),
                )
            };
            self.error(name.span(), format!("unknown key `{}` of `{key}`", name.get_ref()), hint);
        }
        if bad {
            return None;
        }
        let spacing = match get("spacing").map(|v| (v.get_ref(), v.span())) {
            None => Some(Spacing::Even),
            Some((DeValue::String(t), span)) => {
                let word = self.word("spacing", (t.to_string(), span), &["even", "logarithmic"]);
                word.map(|w| if w.0 == "even" { Spacing::Even } else { Spacing::Logarithmic })
            }
            Some((_, span)) => {
                self.error(
                    span,
                    "`spacing` takes a text",
                    "write `spacing = \"even\"` or `spacing = \"logarithmic\"`",
                );
                None
            }
        };
        let grid = design == Some("grid");
        let count = match get("count") {
            Some(v) if grid => self.whole("count", v, MOST_POINTS).and_then(|(n, span)| {
                if n == 1 {
                    self.error(span, "a grid of one value varies nothing", "write `count = 2` or more");
                }
                (n > 1).then_some(n)
            }),
            Some(v) => {
                if let Some(design) = design {
                    let hint = "take it out, or write `design = \"grid\"`";
                    self.error(v.span(), format!("a design \"{design}\" has no `count`"), hint);
                }
                None
            }
            None => {
                if grid {
                    let hint = "say how many values it takes, both ends included: `count = 40`";
                    self.error(at.clone(), format!("`{key}` has no `count`, which a grid needs"), hint);
                }
                None
            }
        };
        let case = case?;
        let (quantity, dimension, unit) = match find_key(key, case) {
            Ok(found) => found,
            Err((says, hint)) => {
                self.error(at.clone(), says, hint);
                return None;
            }
        };
        let mut ends = [None; 2];
        for (i, end) in ["from", "to"].into_iter().enumerate() {
            match get(end) {
                Some(v) => ends[i] = self.quantity(end, v, dimension),
                None => {
                    let usual = if unit.is_empty() { "1".to_owned() } else { format!("\"1 {unit}\"") };
                    self.error(
                        at.clone(),
                        format!("`{key}` has no `{end}`"),
                        format!("for example `{end} = {usual}`"),
                    );
                }
            }
        }
        let [from, to] = [ends[0]?, ends[1]?];
        if from >= to {
            let span = get("from").map_or(at.clone(), Spanned::span);
            self.error(span, format!("the range of `{key}` is empty"), "`from` must be less than `to`");
            return None;
        }
        let spacing = spacing?;
        if spacing == Spacing::Logarithmic && from <= 0.0 {
            let span = get("from").map_or(at.clone(), Spanned::span);
            self.error(
                span,
                "a logarithmic spacing needs values greater than 0",
                "write `spacing = \"even\"`",
            );
            return None;
        }
        let number =
            Varied { key: key.to_owned(), quantity, dimension, unit, range: Some([from, to]), spacing };
        Some((number, count.unwrap_or(1)))
    }

    fn quantity(&mut self, key: &str, value: &Spanned<DeValue<'_>>, dimension: Dimension) -> Option<f64> {
        let text = match value.get_ref() {
            DeValue::String(t) => t.to_string(),
            DeValue::Integer(i) => i.to_string(),
            DeValue::Float(x) => x.as_str().to_owned(),
            _ => {
                self.error(
                    value.span(),
                    format!("`{key}` takes {}", dimension.noun()),
                    "for example `from = \"1 mm\"`",
                );
                return None;
            }
        };
        let span = self.inner(value);
        match Quantity::parse(&text, dimension) {
            Ok(q) if q.half_width.is_some() => {
                self.error(span, format!("`{key}` has a tolerance"), "an end of a range is a number alone");
                None
            }
            Ok(q) => Some(q.value),
            Err(e) => {
                let exact = self.text.get(span.clone()) == Some(text.as_str());
                let at = if exact { span.start + e.at.start..span.start + e.at.end } else { span };
                let hint = e.hint().unwrap_or_else(|| format!("write {}", dimension.noun()));
                self.error(at, format!("`{key}`: {e}"), hint);
                None
            }
        }
    }
}

/// What a key of the case stands for: what is changed, what it measures, in which unit.
///
/// # Errors
/// What is wrong, and what would do.
pub fn find_key(key: &str, case: &Case) -> Result<(Axis, Dimension, String), (String, String)> {
    if key == "depth" {
        // As on the axes of a map: the half-angle of a cap, a factor on the heights of other shapes.
        let cap = matches!(case.part().meridian, Meridian::Sphere(_));
        let (dimension, unit) = if cap { (Dimension::Angle, "deg") } else { (Dimension::Number, "") };
        return Ok((Axis::Depth, dimension, unit.to_owned()));
    }
    if let Some(i) = case.inputs().iter().position(|i| i.key == key) {
        let input = &case.inputs()[i];
        return Ok((Axis::Given(i), input.dimension, input.unit.clone()));
    }
    let keys = || case.inputs().iter().map(|i| i.key.as_str()).chain(["depth"]);
    let all = || format!("numbers of this case: {}", keys().collect::<Vec<_>>().join(", "));
    let form = case_form();
    let known = form.iter().find_map(|t| {
        t.keys
            .iter()
            .find(|k| if t.name.is_empty() { k.name == key } else { format!("{}.{}", t.name, k.name) == key })
    });
    Err(match known.map(|k| k.takes) {
        Some(Entry::Text | Entry::Flag | Entry::Choice | Entry::Texts) => {
            (format!("`{key}` is no number, so it cannot vary"), all())
        }
        Some(_) if keys().any(|k| k.starts_with(&format!("{key}["))) => {
            (format!("`{key}` is a list in this case"), format!("name one of its numbers, `{key}[1]`"))
        }
        Some(_) => (format!("the case does not give `{key}`"), format!("write it into the case; {}", all())),
        None => {
            let near = nearest(key, keys()).map(|near| format!("did you mean `{near}`?"));
            (format!("the case has no number `{key}`"), near.unwrap_or_else(all))
        }
    })
}
