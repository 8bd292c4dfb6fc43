//! Theory for the specimens of a logbook: margins, waits, trip loads and trip temperatures, with what the sizes' tolerances and
//! the factors sought do to them.

use calotte_answers::gauge::{Gauge, Gauges, NoReading};
use calotte_answers::{Subject, Watch, each};
use calotte_specimen::Case;

use super::belief::{Prior, Unknown};
use super::curve::Curve;
use super::likelihood::{Compared, Elastic, Known, Law, Seen, WithMargin};
use super::record::{Figure, Logbook, Outcome, Specimen, Trial};
use super::table::Table;

/// Shortest hold that the table of waits goes to, s: turning a part over takes no less.
const LEAST_HOLD: f64 = 0.01;
/// Relative step of the slope by the thickness.
const STEP: f64 = 0.005;
/// Most common part of readings of trip loads that a scatter is sought from.
const ENOUGH_LOADS: usize = 3;

/// A number compared, with where it comes from.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Number {
    /// What it is.
    pub gauge: Gauge,
    /// As the likelihood has it.
    pub compared: Compared,
    /// Lines of its trials.
    pub lines: Vec<usize>,
}

/// Theory for one specimen.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct SpecimenTheory {
    /// ln(h*/h), its slope by ln h and its standard deviation by the sizes; `None` with the reason.
    pub margin: Result<[f64; 3], String>,
    /// Numbers read and computed.
    pub numbers: Vec<Number>,
    /// Numbers read that could not be computed, with the reason.
    pub missing: Vec<(Gauge, String)>,
}

/// Theory for a logbook.
pub(crate) struct Theory<'a> {
    /// The case of the family.
    pub case: &'a Case,
    /// The logbook.
    pub book: &'a Logbook,
    /// By specimen, about the sizes as read.
    pub specimens: Vec<SpecimenTheory>,
    /// The same about walls thicker by the factor that the trials ask for, once that is known: what bends is straightened there.
    about: Option<(f64, Vec<SpecimenTheory>)>,
    /// Waits; `None` for an elastic material, or where the reason is told.
    pub table: Option<Table>,
    /// Why there is no table although the case has a memory.
    pub no_table: Option<String>,
    /// Distinct holds at the clock of the case's temperature, s.
    pub holds: Vec<f64>,
    /// Standard deviation of the margin by the numbers of the case that all specimens share.
    pub common_sd: f64,
    gauges: Gauges<'a>,
    /// For candidates, of which the margin alone counts.
    margins: Option<Gauges<'a>>,
}

/// Progress and a way to stop: told a share of the work and words, returns `false` to stop.
pub type Heed<'a> = &'a (dyn Fn(f64, &str) -> bool + Sync);

/// Inputs of the case that are thicknesses.
fn thicknesses(case: &Case) -> Vec<usize> {
    let is = |k: &str| k.contains("thickness");
    case.inputs().iter().enumerate().filter(|(_, i)| is(&i.key)).map(|(i, _)| i).collect()
}

/// Values of a specimen's own numbers.
pub(crate) fn changes(book: &Logbook, sizes: &[Figure]) -> Vec<(usize, f64)> {
    book.keys.iter().zip(sizes).map(|(k, s)| (*k, s.value)).collect()
}

/// The same with every thickness multiplied.
fn thicker(case: &Case, changes: &[(usize, f64)], factor: f64) -> Vec<(usize, f64)> {
    let mut out = changes.to_vec();
    for i in thicknesses(case) {
        match out.iter_mut().find(|c| c.0 == i) {
            Some(c) => c.1 *= factor,
            None => out.push((i, case.inputs()[i].value * factor)),
        }
    }
    out
}

/// Half-width of a size of a specimen: its own, or that of the case.
pub(crate) fn half_width(case: &Case, key: usize, size: &Figure) -> f64 {
    size.half_width.or(case.inputs()[key].half_width).unwrap_or(0.0)
}

/// How temperature moves the clock of a trial against that of the case: its times are divided by this.
pub(crate) fn clock(case: &Case, temperature: Option<f64>) -> f64 {
    let motion = case.motion();
    let shift = motion.memory.as_ref().map(|m| &m.shift);
    let factor = |t: Option<f64>| t.and_then(|t| shift?.factor(t)).unwrap_or(1.0);
    match temperature {
        Some(_) => factor(temperature) / factor(motion.surroundings.temperature),
        None => 1.0,
    }
}

/// The hold of a trial at the clock of the case's temperature, s.
pub(crate) fn hold_of(case: &Case, trial: &Trial) -> f64 {
    (trial.hold.unwrap_or(case.motion().hold.time) / clock(case, trial.temperature)).max(LEAST_HOLD)
}

/// Numbers of trials that theory computes.
pub(crate) fn read_of(trial: &Trial, gauge: Gauge) -> Option<Figure> {
    match gauge {
        Gauge::TripLoad => trial.trip_load,
        Gauge::TripTemperature => trial.trip_temperature,
        Gauge::ResetTemperature => trial.reset_temperature,
        _ => None,
    }
}

const NUMBERS: [Gauge; 3] = [Gauge::TripLoad, Gauge::TripTemperature, Gauge::ResetTemperature];

impl<'a> Theory<'a> {
    /// Computes everything that the likelihood needs; `Ok(None)` when stopped.
    ///
    /// # Errors
    /// Words that say which question makes no sense for the case.
    pub(crate) fn new(
        case: &'a Case,
        book: &'a Logbook,
        watch: &Watch<'_>,
        heed: Heed<'_>,
    ) -> Result<Option<Self>, String> {
        let wanted = |g: Gauge| book.trials().any(|(_, t)| read_of(t, g).is_some());
        let outcomes = book.trials().any(|(_, t)| t.outcome.is_some());
        let mut kinds: Vec<Gauge> = NUMBERS.into_iter().filter(|g| wanted(*g)).collect();
        if outcomes {
            kinds.insert(0, Gauge::Margin);
        }
        let mut work = Default::default();
        let gauges = Gauges::new(case, &kinds, &mut work)?;
        let margins = outcomes.then(|| Gauges::new(case, &[Gauge::Margin], &mut work)).transpose()?;
        if !heed(0.02, "thresholds of the specimens") {
            return Ok(None);
        }
        let specimens =
            each(book.specimens.len(), watch, |i| one(case, book, &gauges, &kinds, &book.specimens[i], 0.0));
        let Some(specimens) = specimens else { return Ok(None) };
        let mut holds: Vec<f64> = book.trials().map(|(_, t)| hold_of(case, t)).collect();
        holds.sort_by(f64::total_cmp);
        holds.dedup();
        let shared = |(i, g): (usize, &calotte_answers::Given)| {
            let half = g.half_width.filter(|h| *h > 0.0 && !book.keys.contains(&i) && !case.moves_only(i))?;
            let at =
                |by: f64| gauges.read(&[(i, g.value + by)], &mut Default::default()).into_iter().next()?.ok();
            Some(0.5 * (at(0.5 * half)? - at(-0.5 * half)?))
        };
        let common_sd = if outcomes {
            case.givens().iter().enumerate().filter_map(shared).map(|d| d * d).sum::<f64>().sqrt()
        } else {
            0.0
        };
        if !heed(0.1, "waits") {
            return Ok(None);
        }
        let mut out = Self {
            case,
            book,
            specimens,
            about: None,
            table: None,
            no_table: None,
            holds,
            common_sd,
            gauges,
            margins,
        };
        if case.motion().memory.is_some() && outcomes {
            match out.tabulate(watch) {
                Ok(Some(table)) => out.table = Some(table),
                Ok(None) => return Ok(None),
                Err(why) => out.no_table = Some(why),
            }
        }
        Ok(Some(out))
    }

    fn tabulate(&self, watch: &Watch<'_>) -> Result<Option<Table>, String> {
        let (case, book) = (self.case, self.book);
        let bounds = |of: Unknown| {
            book.settings
                .priors
                .iter()
                .find(|p| p.of == of)
                .copied()
                .unwrap_or_else(|| Prior::usual(of))
                .bounds
        };
        let mut others = Vec::new();
        for s in &book.specimens {
            let part = case.changed(&changes(book, &s.sizes), None).map_err(|e| e.to_string())?.0;
            let hold = s.trials.iter().find(|t| t.wait.is_some()).map(|t| hold_of(case, t));
            others.push((part, hold));
        }
        // Holds of the next specimen must lie in the table too.
        let mut holds = self.holds.clone();
        holds.extend(book.next.iter().filter(|n| n.0.is_none()).flat_map(|n| n.1));
        let mut table = Table::new(
            case.part(),
            case.motion(),
            &holds,
            [bounds(Unknown::Shares), bounds(Unknown::Times)],
            &others,
            watch,
        )?;
        if let Some(t) = &mut table {
            t.holds = self.holds.clone();
        }
        Ok(table)
    }

    /// Computes everything again about walls thicker by e to `about`, for [`Self::known`]; `false` when stopped.
    pub(crate) fn straighten(&mut self, about: f64, watch: &Watch<'_>) -> bool {
        let (case, book, gauges) = (self.case, self.book, &self.gauges);
        let found = each(book.specimens.len(), watch, |i| {
            one(case, book, gauges, gauges.kinds(), &book.specimens[i], about)
        });
        let told = found.is_some();
        self.about = found.map(|f| (about, f));
        told
    }

    /// Specimens as the likelihood sees them, in the order of the logbook; without a margin their outcomes do not count. What goes
    /// straight with ln k does so about the sizes as read, or where [`Self::straighten`] was told.
    pub(crate) fn known(&self) -> Vec<Known> {
        let (about, specimens) = self.about.as_ref().map_or((0.0, &self.specimens), |(a, s)| (*a, s));
        let one = |(s, t): (&Specimen, &SpecimenTheory)| {
            let trials: Vec<Seen> = match &t.margin {
                Ok(_) => s.trials.iter().filter_map(|t| self.seen(t)).collect(),
                Err(_) => Vec::new(),
            };
            // Without a margin there are neither trials nor numbers that go with one: only numbers that do not.
            let [margin, by_thickness, size_sd] = t.margin.clone().unwrap_or(Known::NO_MARGIN);
            let back = |c: &Compared| Compared { computed: c.computed - c.slopes[0] * about, ..*c };
            let numbers = t.numbers.iter().map(|n| back(&n.compared)).collect();
            Known { margin: margin - by_thickness * about, by_thickness, size_sd, trials, numbers }
        };
        self.book.specimens.iter().zip(specimens).map(one).collect()
    }

    /// A trial as the likelihood sees it; `None` without an outcome.
    pub(crate) fn seen(&self, trial: &Trial) -> Option<Seen> {
        let set = &self.book.settings;
        let clock = clock(self.case, trial.temperature);
        let watched = trial.watched.unwrap_or(set.watched);
        let hold = self.holds.iter().position(|h| *h == hold_of(self.case, trial))?;
        let between = match (trial.outcome?, self.table.is_some()) {
            (Outcome::Stays, _) => [watched, f64::INFINITY],
            // Without a memory in the theory nothing waits: what is known is that it did not stay.
            (_, false) => [0.0, watched],
            (Outcome::Returns, true) => [0.0, set.at_once],
            (Outcome::Waits, true) => [set.at_once, watched.max(2.0 * set.at_once)],
        };
        let wait = trial.wait.filter(|w| self.table.is_some() && w.value > 0.0).map(|w| {
            let half = w.half_width.map_or(set.wait_error, |h| h / w.value);
            [libm::log(w.value / clock), 0.5 * half]
        });
        let wait = wait.filter(|_| trial.outcome == Some(Outcome::Waits));
        Some(Seen { hold, between: between.map(|t| t / clock), wait })
    }

    /// The law of waits.
    pub(crate) fn law(&self) -> &dyn Law {
        match &self.table {
            Some(table) => table,
            None => &Elastic,
        }
    }

    /// The curve for a candidate.
    pub(crate) fn curve(&self, hold: f64, log_shares: f64, log_times: f64) -> Curve {
        self.table.as_ref().map_or_else(Curve::elastic, |t| t.curve_of(None, hold, log_shares, log_times))
    }

    /// What is sought: what the trials can tell, with what is held of it beforehand.
    pub(crate) fn priors(&self) -> Vec<Prior> {
        let book = self.book;
        let margins = self.specimens.iter().filter(|s| s.margin.is_ok()).count() > 0
            && book.trials().any(|(_, t)| t.outcome.is_some());
        let told = self.about.as_ref().map_or(&self.specimens, |a| &a.1);
        let loads = told.iter().flat_map(|s| &s.numbers).filter(|n| n.gauge == Gauge::TripLoad).count();
        let waits = |read: bool| {
            let is = |t: &Trial| t.outcome == Some(Outcome::Waits) && (!read || t.wait.is_some());
            self.table.is_some() && book.trials().any(|(_, t)| is(t))
        };
        let numbers = told.iter().any(|s| !s.numbers.is_empty());
        let sought = |u: Unknown| match u {
            Unknown::Thickness => margins || numbers,
            Unknown::Scatter => margins,
            Unknown::Youngs => loads > 0,
            Unknown::Shares => waits(false),
            Unknown::Times => waits(true),
            Unknown::TripScatter => loads >= ENOUGH_LOADS,
        };
        let held = |u: Unknown| {
            let mut p =
                book.settings.priors.iter().find(|p| p.of == u).copied().unwrap_or_else(|| Prior::usual(u));
            if let (Unknown::Shares, Some(t)) = (u, &self.table) {
                p.bounds[1] = p.bounds[1].min(t.share_bounds()[1]);
            }
            p
        };
        Unknown::ALL.into_iter().filter(|u| sought(*u)).map(held).collect()
    }

    /// Margin, slope by thickness and standard deviation by the sizes for a part of the family.
    pub(crate) fn margin_of(&self, sizes: &[Figure]) -> Result<[f64; 3], String> {
        let specimen = Specimen { name: String::new(), line: 0, sizes: sizes.to_vec(), trials: Vec::new() };
        let gauges = self.margins.as_ref().ok_or("no outcome was noted")?;
        one(self.case, self.book, gauges, gauges.kinds(), &specimen, 0.0).margin
    }
}

/// Theory for one specimen, about walls e to `about` times as thick as read.
fn one(
    case: &Case,
    book: &Logbook,
    gauges: &Gauges<'_>,
    kinds: &[Gauge],
    specimen: &Specimen,
    about: f64,
) -> SpecimenTheory {
    let mut work = Default::default();
    let as_read = changes(book, &specimen.sizes);
    let here = if about == 0.0 { as_read } else { thicker(case, &as_read, libm::exp(about)) };
    let mut at = |changes: &[(usize, f64)]| gauges.read(changes, &mut work);
    // Trip loads are compared in their logarithms.
    let scale = |g: Gauge, r: Result<f64, NoReading>| match r {
        Ok(v) if g == Gauge::TripLoad && v > 0.0 => Ok(libm::log(v)),
        Ok(v) if g == Gauge::TripLoad => Err(format!("the computed trip load is {v}")),
        Ok(v) => Ok(v),
        Err(e) => Err(e.to_string()),
    };
    let mut read = |changes: &[(usize, f64)]| -> Vec<Result<f64, String>> {
        at(changes).into_iter().zip(kinds).map(|(r, g)| scale(*g, r)).collect()
    };
    let base = read(&here);
    let thick = [1.0 + STEP, 1.0 - STEP].map(|f| read(&thicker(case, &here, f)));
    // One standard deviation of each size up and down.
    let loose = book.keys.iter().zip(&specimen.sizes).map(|(k, s)| (*k, half_width(case, *k, s)));
    let sides: Vec<(usize, [Readings; 2])> = loose
        .filter(|(_, half)| *half > 0.0)
        .map(|(key, half)| {
            let moved = |by: f64| {
                let mut c = here.clone();
                c.iter_mut().filter(|c| c.0 == key).for_each(|c| c.1 += by);
                c
            };
            (key, [0.5 * half, -0.5 * half].map(|by| read(&moved(by))))
        })
        .collect();
    let about = About { base: &base, thick: &thick, sides: &sides, case };
    let place = |g: Gauge| kinds.iter().position(|k| *k == g);
    let at = place(Gauge::Margin);
    let margin = match at {
        Some(k) => about.all(&|r| r[k].clone()).map(|all| [all.value, all.by_thickness, all.deviation()]),
        None => Err("no outcome was noted".to_owned()),
    };
    let mut numbers = Vec::new();
    let mut missing = Vec::new();
    for gauge in NUMBERS {
        let readings: Vec<(usize, Figure)> =
            specimen.trials.iter().filter_map(|t| Some((t.line, read_of(t, gauge)?))).collect();
        let (Some(k), false) = (place(gauge), readings.is_empty()) else { continue };
        let load = gauge == Gauge::TripLoad;
        let compared = || -> Result<Compared, String> {
            let plain = about.all(&|r| r[k].clone())?;
            let margins =
                at.filter(|_| margin.is_ok()).map(|at| about.all(&|r| r[at].clone())).transpose()?;
            let (with_margin, direct, left) = match (&margins, at) {
                (None, _) | (_, None) => {
                    let with = WithMargin::Straight { per: 0.0, from: 0.0 };
                    (with, plain.by_thickness, plain.deviation())
                }
                (Some(margins), Some(at)) => {
                    if load && margins.value <= 0.0 {
                        return Err("by its sizes it does not stay".to_owned());
                    }
                    // A load vanishes at the threshold in proportion to the margin: their quotient goes straight with it.
                    let over = |r: &Readings| match (&r[k], &r[at]) {
                        (Ok(f), Ok(m)) if load && *m > 0.0 => Ok(f - libm::log(*m)),
                        (Ok(_), Ok(_)) if load => Err("by its sizes it does not stay".to_owned()),
                        (Ok(v), _) => Ok(*v),
                        (Err(e), _) => Err(e.clone()),
                    };
                    let rest = about.all(&over)?;
                    // Regression on the margin: what sizes do to both.
                    let (shared, square) = (rest.product(margins), margins.product(margins));
                    let per =
                        if square > 0.0 { shared / square } else { rest.by_thickness / margins.by_thickness };
                    let left = (rest.product(&rest) - per * shared).max(0.0).sqrt();
                    let from = margins.value;
                    let with = if load {
                        WithMargin::Vanishing { per, from }
                    } else {
                        WithMargin::Straight { per, from }
                    };
                    (with, rest.by_thickness - per * margins.by_thickness, left)
                }
            };
            let [read, read_sd] = together(&readings, load, book);
            Ok(Compared {
                read,
                read_sd,
                computed: plain.value,
                slopes: [direct, f64::from(u8::from(load))],
                size_sd: [plain.deviation(), left],
                with_margin,
                scatters: load,
            })
        };
        match compared() {
            Ok(compared) => {
                let lines = readings.iter().map(|r| r.0).collect();
                numbers.push(Number { gauge, compared, lines });
            }
            Err(e) => missing.push((gauge, e)),
        }
    }
    SpecimenTheory { margin, numbers, missing }
}

/// Readings of one part, loads as logarithms.
type Readings = Vec<Result<f64, String>>;

/// Readings of a part and of its neighbours.
struct About<'a> {
    case: &'a Case,
    base: &'a Readings,
    /// With walls thicker and thinner by [`STEP`].
    thick: &'a [Readings; 2],
    /// With each size one standard deviation up and down.
    sides: &'a [(usize, [Readings; 2])],
}

/// A number of a part with its changes.
struct Changes {
    value: f64,
    /// Per ln of the thickness.
    by_thickness: f64,
    /// By one standard deviation of each size.
    by_size: Vec<f64>,
}

impl Changes {
    fn product(&self, other: &Self) -> f64 {
        self.by_size.iter().zip(&other.by_size).map(|(a, b)| a * b).sum()
    }

    fn deviation(&self) -> f64 {
        self.product(self).sqrt()
    }
}

impl About<'_> {
    /// A number with its changes, from both sides, or from one where the other part does not have it.
    fn all(&self, of: &dyn Fn(&Readings) -> Result<f64, String>) -> Result<Changes, String> {
        let value = of(self.base)?;
        let change = |[up, down]: &[Readings; 2], what: &str| match (of(up), of(down)) {
            (Ok(a), Ok(b)) => Ok(0.5 * (a - b)),
            (Ok(a), Err(_)) => Ok(a - value),
            (Err(_), Ok(b)) => Ok(value - b),
            (Err(e), Err(_)) => Err(format!("how it goes with {what} could not be computed: {e}")),
        };
        let by_thickness = change(self.thick, "the thickness")? / STEP;
        let by_size =
            self.sides.iter().map(|(key, both)| change(both, &format!("`{}`", self.case.inputs()[*key].key)));
        Ok(Changes { value, by_thickness, by_size: by_size.collect::<Result<_, _>>()? })
    }
}

/// Readings of one number of one specimen as one, weighted by their errors; loads as logarithms.
fn together(readings: &[(usize, Figure)], load: bool, book: &Logbook) -> [f64; 2] {
    let mut weights = 0.0;
    let mut sum = 0.0;
    for (_, r) in readings {
        let half = r.half_width.unwrap_or(if load {
            book.settings.trip_error * r.value
        } else {
            book.settings.temperature_error
        });
        let (value, sd) =
            if load { (libm::log(r.value), 0.5 * half / r.value) } else { (r.value, 0.5 * half) };
        weights += 1.0 / (sd * sd);
        sum += value / (sd * sd);
    }
    [sum / weights, 1.0 / weights.sqrt()]
}
