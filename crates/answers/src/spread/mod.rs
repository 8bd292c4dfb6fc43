//! A batch of parts made within tolerances: how many stay, wait, return, how many trip inside their window, and which tolerance
//! matters most.
//!
//! Gauges are read exactly at a few hundred parts (followed from the part as described), a polynomial is fitted to them and held
//! against readings that it was not fitted to; drawn parts are judged by it, those too near to an edge for its error exactly.

mod batch;
mod design;
mod laws;
pub mod report;
mod surface;
#[cfg(test)]
mod tests;
pub mod words;

use calotte_chance::Stream;
use calotte_chance::indices::{self, Plan};
use calotte_chance::sample;
use calotte_solve::Work;

use self::batch::{Batch, Good, Part};
use self::design::{Found, NoSurface, Reader, Surfaces};
use self::laws::{Together, Varied, drawn};
use self::report::{
    BatchFactor, BatchGauge, BatchHistogram, BatchIndex, BatchInput, BatchKind, BatchMethod, BatchOutcome,
    BatchPair, BatchQuantile, BatchReport, BatchVerdicts, BatchWant, BatchWaves, BatchWindow,
};
use self::surface::Room;
use crate::gauge::{Gauge, Gauges};
use crate::many::Watch as Many;
use crate::poke::load_or_pole;
use crate::refuse;
use crate::report::SCHEMA_VERSION;
use crate::subject::Subject;

pub use self::laws::Law;
pub use crate::many::Watch;

/// A window for a number of the part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Window {
    /// What is read.
    pub gauge: Gauge,
    /// Ends, SI; infinite where open.
    pub ends: [f64; 2],
}

/// What is asked.
#[derive(Clone, Debug, PartialEq)]
pub struct Request {
    /// Parts to draw.
    pub count: usize,
    /// Seed of the draws.
    pub seed: u64,
    /// Distributions of numbers (place among the givens) other than the usual one.
    pub laws: Vec<(usize, Law)>,
    /// Pairs of numbers (places among the givens) with the correlation of the normal deviates behind them.
    pub together: Vec<([usize; 2], f64)>,
    /// Windows.
    pub windows: Vec<Window>,
    /// Share of good parts wanted.
    pub want: Option<f64>,
}

/// The drawn parts, for a table.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Draws {
    /// Keys of the numbers that vary.
    pub inputs: Vec<String>,
    /// What was read.
    pub gauges: Vec<Gauge>,
    /// SI unit of each.
    pub units: Vec<&'static str>,
    /// Numbers drawn, what was read (`None`: it does not do that, or is not known), what the part does, and whether it was computed
    /// exactly.
    pub rows: Vec<DrawnPart>,
}

/// A drawn part.
#[derive(Clone, Debug, PartialEq)]
pub struct DrawnPart {
    /// Its numbers, SI.
    pub numbers: Vec<f64>,
    /// What was read, SI.
    pub readings: Vec<Option<f64>>,
    /// `stays`, `waits`, `returns` or `unknown`; `good` or `bad` where no verdict is asked.
    pub kind: &'static str,
    /// Whether it lies in all windows (or stays, where there are none).
    pub good: bool,
    /// Whether its readings are exact.
    pub exact: bool,
}

/// What is said of a case in which nothing varies.
pub const NO_TOLERANCE: &str = "no number of the case has a tolerance, so all parts are alike: write for example `thickness = \"2.0 ± 0.1 mm\"`";

/// Steps of progress that a spread is told in.
pub const STEPS: usize = 100;
/// Parts drawn at most where each is computed exactly: readings followed, and not.
const DIRECT: [usize; 2] = [2000, 300];
/// Drawn parts near an edge that are computed exactly at most.
const NEAR: usize = 1500;
/// Parts in a piece of work with a stream of draws of its own.
const PIECE: usize = 1000;
/// Points of the indices.
const INDICES: [usize; 2] = [256, 16];
/// Drawn parts on which tolerances for a wanted share are sought, at most.
const WANTED: usize = 20_000;
/// Bins of a histogram.
const BINS: usize = 40;
/// Shares whose quantiles are told.
const SHARES: [f64; 7] = [0.005, 0.025, 0.25, 0.5, 0.75, 0.975, 0.995];
/// Error of the good parts' share from the surface that is doubted.
const DOUBTED: f64 = 0.01;
/// Difference of readings computed anew, over the deviation of the gauge, that is doubted.
const ANEW: f64 = 0.02;

/// Draws a batch and judges it. The watch is told steps of [`STEPS`]; `Ok(None)` when it stopped.
///
/// # Errors
/// Words that say why the question makes no sense, and what would help.
pub fn spread(
    subject: &dyn Subject,
    request: &Request,
    watch: &Watch<'_>,
) -> Result<Option<(BatchReport, Draws)>, String> {
    let (varied, together) = varied(subject, request)?;
    let kinds = kinds(subject, request)?;
    let mut work = Work::default();
    let gauges = Gauges::new(subject, &kinds, &mut work)?;
    let still = Many { threads: watch.threads, stop: watch.stop, progress: &|_| {} };
    let mut reader =
        Reader { gauges: &gauges, varied: &varied, work, waves: BatchWaves::default(), fault: None };
    let own: Vec<f64> = varied.iter().map(|v| subject.givens()[v.place].value).collect();
    let Some(base) = reader.read(std::slice::from_ref(&own), &still) else { return Ok(None) };
    let (surfaces, why_not) = match design::surfaces(&mut reader, &together, request.seed, &still) {
        Ok(s) => (Some(s), String::new()),
        Err(NoSurface::Because(why)) => (None, why),
        Err(NoSurface::Stopped) => return Ok(None),
    };
    (watch.progress)(STEPS / 2);
    let good = Good { kinds: &kinds, windows: &request.windows };
    let batch = match &surfaces {
        Some(s) => judged(&mut reader, s, &together, request, &good, &still),
        None => computed(&mut reader, &together, request, &kinds, &still),
    };
    let Some(batch) = batch else { return Ok(None) };
    (watch.progress)(STEPS * 3 / 4);
    let mut method = BatchMethod { surface: surfaces.is_some(), why_not, ..BatchMethod::default() };
    if let Some(s) = &surfaces {
        method.degree = s.of.iter().map(surface::Surface::degree).max().unwrap_or(0);
        method.terms = s.of.iter().map(surface::Surface::terms).max().unwrap_or(0);
        (method.fitted, method.held_out) = (s.fitted, s.held_out);
        method.near = batch.parts.iter().filter(|p| p.exact).count();
    }
    let load = load_or_pole(subject.load().as_ref());
    let mut read = Vec::new();
    for (g, kind) in kinds.iter().enumerate() {
        read.push(gauge(&batch, &good, g, kind.unit(&load), base[0][g], surfaces.as_ref()));
        if let Some(s) = &surfaces {
            read[g].indices = shares_of_variance(s, g, &varied, &together, request.seed);
        }
    }
    if watch.stop.load(std::sync::atomic::Ordering::Relaxed) {
        return Ok(None);
    }
    let tightening = match &surfaces {
        Some(s) => match batch.tightened(s, &varied, &good, &still) {
            Some(t) => t,
            None => return Ok(None),
        },
        None => Vec::new(),
    };
    let want = request.want.zip(surfaces.as_ref()).map(|(w, s)| wanted(&batch, s, &varied, &good, w));
    compare(&mut method, &mut reader, &own, surfaces.as_ref(), &read);
    let mut report = BatchReport {
        schema_version: SCHEMA_VERSION,
        title: subject.title().to_owned(),
        outcome: BatchOutcome::Answered,
        explanation: Vec::new(),
        doubts: Vec::new(),
        warnings: Vec::new(),
        asked: request.count,
        drawn: batch.parts.len(),
        seed: request.seed,
        inputs: inputs(&batch, &varied, surfaces.as_ref()),
        together: together
            .iter()
            .map(|t| BatchPair { inputs: t.pair.map(|i| varied[i].key.clone()), correlation: t.correlation })
            .collect(),
        verdicts: verdicts(&batch, &kinds),
        unknown: batch.share(|p| good.unknown(p), |_| false),
        good: batch.share(|p| good.is(p), |p| p.near),
        good_means: good.words(),
        windows: request.windows.iter().map(|w| window(&batch, &good, w, &load)).collect(),
        gauges: read,
        tightening,
        want,
        waves: reader.waves,
        method,
        work: reader.work.into(),
    };
    words::say(&mut report, request.want.is_some(), reader.fault.as_deref());
    (watch.progress)(STEPS);
    let draws = draws(&batch, &varied, &kinds, &good, &load);
    Ok(Some((report, draws)))
}

fn varied(subject: &dyn Subject, request: &Request) -> Result<(Vec<Varied>, Vec<Together>), String> {
    let givens = subject.givens();
    let mut varied = Vec::new();
    for (place, g) in givens.iter().enumerate() {
        let law = request.laws.iter().rev().find(|l| l.0 == place).map(|l| l.1.clone());
        let half = g.half_width.unwrap_or(0.0);
        let law = match law {
            Some(Law::Measured(v)) if v.is_empty() || v.iter().any(|x| !x.is_finite()) => {
                return Err(format!("`{}`: a table of measured values needs numbers", g.key));
            }
            Some(Law::LogNormal) if g.value == 0.0 => {
                return Err(format!(
                    "`{}`: a number that is 0 has no logarithm; choose another distribution",
                    g.key
                ));
            }
            Some(law) if half > 0.0 || matches!(law, Law::Measured(_)) => law,
            Some(law) => {
                return Err(format!(
                    "`{}` has no tolerance for a distribution `{}`: write for example `\"2.0 ± 0.1 mm\"` in the case",
                    g.key,
                    law.name()
                ));
            }
            None if half > 0.0 => Law::CutNormal,
            None => continue,
        };
        varied.push(Varied { place, key: g.key.clone(), value: g.value, half, law });
    }
    if varied.is_empty() {
        return Err(NO_TOLERANCE.to_owned());
    }
    let mut together = Vec::new();
    let mut taken = Vec::new();
    for ([a, b], correlation) in &request.together {
        let find = |p: &usize| varied.iter().position(|v| v.place == *p);
        let (Some(i), Some(j)) = (find(a), find(b)) else {
            return Err("numbers that vary together both need a tolerance or measured values".to_owned());
        };
        if i == j || taken.contains(&i) || taken.contains(&j) {
            return Err("a number varies together with one other number, once".to_owned());
        }
        if correlation.is_nan() || correlation.abs() >= 1.0 {
            return Err("a correlation lies between -1 and 1, without the ends".to_owned());
        }
        taken.extend([i, j]);
        together.push(Together { pair: [i, j], correlation: *correlation });
    }
    Ok((varied, together))
}

/// What is read: the margins where turning inside out makes sense and heat is not the question, and what windows are about.
fn kinds(subject: &dyn Subject, request: &Request) -> Result<Vec<Gauge>, String> {
    let asked = |g: Gauge| request.windows.iter().any(|w| w.gauge == g);
    let part = subject.part();
    let turns = refuse::no_rim(part).is_none() && refuse::turns_in_pieces(part).is_none();
    let usual = turns && subject.heat().is_none();
    let mut kinds = Vec::new();
    if usual && Gauges::senseless(subject, Gauge::Margin).is_none() {
        kinds.push(Gauge::Margin);
        if Gauges::senseless(subject, Gauge::WaitingMargin).is_none() {
            kinds.push(Gauge::WaitingMargin);
        }
    }
    for g in Gauge::ALL {
        if asked(g) && !kinds.contains(&g) {
            kinds.push(g);
        }
    }
    if kinds.is_empty() {
        return Err(format!(
            "nothing says which parts are good: give a window, for example `\"trip temperature\"=85degC..95degC`; windows are about {}",
            Gauge::ALL.map(Gauge::name).join(", ")
        ));
    }
    Ok(kinds)
}

/// Parts judged by the surfaces, those near an edge or out of the box exactly.
fn judged(
    reader: &mut Reader<'_>,
    s: &Surfaces,
    together: &[Together],
    request: &Request,
    good: &Good<'_>,
    watch: &Many<'_>,
) -> Option<Batch> {
    let varied = reader.varied;
    let edges: Vec<Vec<f64>> = (0..good.kinds.len()).map(|g| good.edges(g)).collect();
    let pieces = request.count.div_ceil(PIECE);
    let found = crate::many::each(pieces, watch, |piece| {
        let mut stream = Stream::of(request.seed, piece as u64);
        let mut room = Room::default();
        let count = PIECE.min(request.count - piece * PIECE);
        (0..count)
            .map(|_| {
                let u: Vec<f64> = varied.iter().map(|_| stream.unit()).collect();
                let x = drawn(varied, together, &u);
                let (values, inside) = s.at(&x, &mut room);
                let close = |g: usize| edges[g].iter().any(|e| (values[g] - e).abs() <= s.of[g].error);
                let near = !inside || (0..values.len()).any(close);
                Part { x, found: values.into_iter().map(Found::At).collect(), near, exact: false }
            })
            .collect::<Vec<Part>>()
    })?;
    let mut parts: Vec<Part> = found.into_iter().flatten().collect();
    let near: Vec<usize> = (0..parts.len()).filter(|i| parts[*i].near).take(NEAR).collect();
    let places: Vec<Vec<f64>> = near.iter().map(|i| parts[*i].x.clone()).collect();
    let exact = reader.read(&places, watch)?;
    for (i, found) in near.into_iter().zip(exact) {
        parts[i] = Part { found, near: false, exact: true, x: std::mem::take(&mut parts[i].x) };
    }
    Some(Batch { parts })
}

/// Fewer parts, each computed exactly.
fn computed(
    reader: &mut Reader<'_>,
    together: &[Together],
    request: &Request,
    kinds: &[Gauge],
    watch: &Many<'_>,
) -> Option<Batch> {
    let most = DIRECT[usize::from(!kinds.iter().all(|k| reader.gauges.follows(*k)))];
    let mut stream = Stream::of(request.seed, 0);
    let varied = reader.varied;
    let parts: Vec<Vec<f64>> = (0..request.count.min(most))
        .map(|_| {
            let u: Vec<f64> = varied.iter().map(|_| stream.unit()).collect();
            drawn(varied, together, &u)
        })
        .collect();
    let found = reader.read(&parts, watch)?;
    let part = |(x, found)| Part { x, found, near: false, exact: true };
    Some(Batch { parts: parts.into_iter().zip(found).map(part).collect() })
}

fn inputs(batch: &Batch, varied: &[Varied], s: Option<&Surfaces>) -> Vec<BatchInput> {
    let one = |(j, v): (usize, &Varied)| {
        let x: Vec<f64> = batch.parts.iter().map(|p| p.x[j]).collect();
        BatchInput {
            input: v.key.clone(),
            value_SI: v.value,
            half_width_SI: v.half,
            distribution: v.law.name().to_owned(),
            mean_SI: sample::mean(&x),
            deviation_SI: sample::deviation(&x).unwrap_or(0.0),
            matters: s.is_none_or(|s| s.active.contains(&j)),
        }
    };
    varied.iter().enumerate().map(one).collect()
}

fn verdicts(batch: &Batch, kinds: &[Gauge]) -> Option<BatchVerdicts> {
    if kinds[0] != Gauge::Margin {
        return None;
    }
    let waits = kinds.contains(&Gauge::WaitingMargin);
    let share = |kind: &str| batch.share(|p| p.kind(kinds) == kind, |p| p.near);
    Some(BatchVerdicts {
        stays: share("stays"),
        waits: waits.then(|| share("waits")),
        returns: share("returns"),
    })
}

fn window(batch: &Batch, good: &Good<'_>, w: &Window, load: &calotte_specimen::Load) -> BatchWindow {
    let g = good.kinds.iter().position(|k| *k == w.gauge).unwrap_or(0);
    let all = batch.parts.len().max(1) as f64;
    let share = |f: &dyn Fn(Found) -> bool| batch.parts.iter().filter(|p| f(p.found[g])).count() as f64 / all;
    BatchWindow {
        gauge: w.gauge.name().to_owned(),
        unit: w.gauge.unit(load).to_owned(),
        from_SI: Some(w.ends[0]).filter(|v| v.is_finite()),
        to_SI: Some(w.ends[1]).filter(|v| v.is_finite()),
        inside: batch.share(|p| good.inside(p, w), |p| p.near),
        below: share(&|f| f.at().is_some_and(|v| v < w.ends[0])),
        above: share(&|f| f.at().is_some_and(|v| v > w.ends[1])),
        nowhere: share(&|f| f == Found::Nowhere),
    }
}

fn gauge(
    batch: &Batch,
    good: &Good<'_>,
    g: usize,
    unit: &str,
    here: Found,
    s: Option<&Surfaces>,
) -> BatchGauge {
    let known: Vec<f64> =
        batch.parts.iter().filter_map(|p| p.found[g].at()).filter(|v| v.is_finite()).collect();
    let sorted = sample::sorted(&known);
    let any = !sorted.is_empty();
    BatchGauge {
        gauge: good.kinds[g].name().to_owned(),
        unit: unit.to_owned(),
        as_described_SI: here.at().filter(|v| v.is_finite()),
        mean_SI: any.then(|| sample::mean(&known)),
        deviation_SI: sample::deviation(&known),
        quantiles: SHARES
            .iter()
            .filter(|_| any)
            .map(|share| BatchQuantile { share: *share, at_SI: sample::quantile(&sorted, *share) })
            .collect(),
        edges_SI: good.edges(g),
        surface_error_SI: s.map(|s| s.of[g].error),
        indices: Vec::new(),
        histogram: histogram(batch, good, g, &sorted),
    }
}

fn histogram(batch: &Batch, good: &Good<'_>, g: usize, sorted: &[f64]) -> BatchHistogram {
    let (Some(first), Some(last)) = (sorted.first(), sorted.last()) else { return BatchHistogram::default() };
    if last <= first {
        return BatchHistogram::default();
    }
    let width = (last - first) / BINS as f64;
    let ends: Vec<f64> =
        (0..=BINS).map(|i| if i == BINS { *last } else { first + width * i as f64 }).collect();
    let kinds: &[&str] = if good.kinds[0] == Gauge::Margin {
        &["stays", "waits", "returns", "unknown"]
    } else {
        &["good", "bad", "unknown"]
    };
    let mut counts = vec![vec![0; BINS]; kinds.len()];
    for p in &batch.parts {
        let Some(v) = p.found[g].at().filter(|v| v.is_finite()) else { continue };
        let bin = (((v - first) / width) as usize).min(BINS - 1);
        let kind = good.kind(p);
        if let Some(k) = kinds.iter().position(|k| *k == kind) {
            counts[k][bin] += 1;
        }
    }
    let kinds = kinds
        .iter()
        .zip(counts)
        .filter(|(_, c)| c.iter().any(|n| *n > 0))
        .map(|(kind, counts)| BatchKind { kind: (*kind).to_owned(), counts })
        .collect();
    BatchHistogram { ends_SI: ends, kinds }
}

/// Sobol indices of a gauge from its surface; numbers that vary together share theirs.
fn shares_of_variance(
    s: &Surfaces,
    g: usize,
    varied: &[Varied],
    together: &[Together],
    seed: u64,
) -> Vec<BatchIndex> {
    // Numbers that do nothing need no dimension.
    let does = |j: &usize| s.active.contains(j) || together.iter().any(|t| t.pair.contains(j));
    let columns: Vec<usize> = (0..varied.len()).filter(does).collect();
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for (k, j) in columns.iter().enumerate() {
        let partner = together.iter().find(|t| t.pair[1] == *j || t.pair[0] == *j);
        let other = partner.map(|t| t.pair[0] + t.pair[1] - j);
        let first = other.and_then(|o| columns[..k].iter().position(|c| *c == o));
        match first.and_then(|f| groups.iter_mut().find(|g| g.contains(&f))) {
            Some(group) => group.push(k),
            None => groups.push(vec![k]),
        }
    }
    let mut room = Room::default();
    let plan = Plan { points: INDICES[0], shifts: INDICES[1], seed };
    let mut whole = vec![0.5; varied.len()];
    let found = indices::indices(columns.len(), &groups, &plan, &mut |u| {
        columns.iter().zip(u).for_each(|(j, u)| whole[*j] = *u);
        let x = drawn(varied, together, &whole);
        s.at(&x, &mut room).0[g]
    });
    let Some(found) = found else { return Vec::new() };
    let mut out: Vec<BatchIndex> = groups
        .iter()
        .zip(&found.of)
        .map(|(group, i)| BatchIndex {
            inputs: group.iter().map(|k| varied[columns[*k]].key.clone()).collect(),
            first: i.first,
            first_error: i.first_error,
            total: i.total,
            total_error: i.total_error,
        })
        .collect();
    out.sort_by(|a, b| b.total.total_cmp(&a.total));
    out
}

/// Tolerances for a share of good parts.
fn wanted(batch: &Batch, s: &Surfaces, varied: &[Varied], good: &Good<'_>, wanted: f64) -> BatchWant {
    let parts = &batch.parts[..batch.parts.len().min(WANTED)];
    let mut room = Room::default();
    let mut yields = |factors: &dyn Fn(usize) -> f64| {
        let hits = parts.iter().filter(|p| {
            let x: Vec<f64> =
                p.x.iter().enumerate().map(|(j, x)| varied[j].tightened(*x, factors(j))).collect();
            good.is_at(&s.at(&x, &mut room).0)
        });
        hits.count() as f64 / parts.len().max(1) as f64
    };
    let met = yields(&|_| 1.0) >= wanted;
    // The largest factor found by halving; the share of good parts grows as tolerances shrink about a good middle.
    let mut search = |which: Option<usize>| {
        let factor = |f: f64| move |j: usize| if which.is_none_or(|w| w == j) { f } else { 1.0 };
        if met {
            return Some(1.0);
        }
        let (mut low, mut high) = (0.0, 1.0);
        if yields(&factor(low)) < wanted {
            return None;
        }
        for _ in 0..12 {
            let mid = 0.5 * (low + high);
            if yields(&factor(mid)) >= wanted { low = mid } else { high = mid }
        }
        Some(low).filter(|f| *f > 0.0)
    };
    let all = search(None);
    let alone = s
        .active
        .iter()
        .map(|j| {
            let factor = search(Some(*j));
            BatchFactor {
                input: varied[*j].key.clone(),
                factor,
                half_width_SI: factor.map(|f| f * varied[*j].half).filter(|h| *h > 0.0),
            }
        })
        .collect();
    BatchWant { wanted, met, all, alone, parts: parts.len() }
}

/// The part as described and the worst corner, computed anew.
fn compare(
    method: &mut BatchMethod,
    reader: &mut Reader<'_>,
    own: &[f64],
    s: Option<&Surfaces>,
    read: &[BatchGauge],
) {
    let places = std::iter::once(own).chain(s.map(|s| s.worst.as_slice()));
    for x in places {
        let changes = reader.changes(x);
        let followed = reader.gauges.read(&changes, &mut reader.work);
        let anew = reader.gauges.read_anew(&changes, &mut reader.work);
        for ((f, a), g) in followed.iter().zip(&anew).zip(read) {
            let scale = g.deviation_SI.filter(|d| *d > 0.0).unwrap_or(f64::INFINITY);
            let apart = match (f, a) {
                (Ok(f), Ok(a)) if f.is_finite() => (f - a).abs() / scale,
                (Err(_), Err(_)) | (Ok(_), Ok(_)) => 0.0,
                _ => f64::INFINITY,
            };
            method.anew_difference = method.anew_difference.max(apart);
        }
        method.anew += 1;
    }
}

fn draws(
    batch: &Batch,
    varied: &[Varied],
    kinds: &[Gauge],
    good: &Good<'_>,
    load: &calotte_specimen::Load,
) -> Draws {
    Draws {
        inputs: varied.iter().map(|v| v.key.clone()).collect(),
        gauges: kinds.to_vec(),
        units: kinds.iter().map(|k| k.unit(load)).collect(),
        rows: batch
            .parts
            .iter()
            .map(|p| DrawnPart {
                numbers: p.x.clone(),
                readings: p.found.iter().map(|f| f.at()).collect(),
                kind: good.kind(p),
                good: good.is(p),
                exact: p.exact,
            })
            .collect(),
    }
}
