//! Modes of every wave number: how far n goes, and that nothing is missing.

use calotte_shell::Harmonics;
use calotte_solve::Work;
use calotte_solve::spectrum::{self, Pair, Settings as Pairs, Spectrum};

use crate::modes::Settings;
use crate::modes::stage::Stage;

/// Wave numbers examined at most.
const MOST: u32 = 400;

/// The modes of one wave number.
pub(crate) struct Wave {
    pub(crate) n: u32,
    pub(crate) pairs: Vec<Pair>,
    pub(crate) rigid: usize,
    pub(crate) certified: bool,
}

/// Every wave number examined.
pub(crate) struct Waves {
    pub(crate) waves: Vec<Wave>,
    /// Wave numbers whose modes could not be computed.
    pub(crate) failed: Vec<u32>,
    /// The value up to which nothing is missing.
    pub(crate) sure_below: f64,
    pub(crate) counted_to: u32,
    pub(crate) complete: bool,
    pub(crate) bound: f64,
}

fn of(h: &Harmonics<'_>, n: u32, count: usize, work: &mut Work) -> Option<Wave> {
    let (k, m, null) = h.motion(n);
    let set = Pairs { count, ..Pairs::default() };
    let Spectrum { pairs, certified, .. } = spectrum::lowest(&k, &m, &null, &set, work)?;
    Some(Wave { n, pairs, rigid: null.len(), certified })
}

/// The `k`-th lowest value of all.
fn kth(waves: &[Wave], k: usize) -> Option<f64> {
    let mut all: Vec<f64> = waves.iter().flat_map(|w| w.pairs.iter().map(|p| p.value)).collect();
    all.sort_by(f64::total_cmp);
    all.get(k.checked_sub(1)?).copied()
}

/// Modes of n = 0, 1, 2, … until the lowest `set.lowest` of all are surely among them: beyond twice the estimate of
/// [`Stage::wave_bound`] no count is taken, up to it every n is counted.
pub(crate) fn search(stage: &Stage, set: &Settings, stressed: bool, work: &mut Work) -> Waves {
    let h = stage.harmonics();
    let mut out = Waves {
        waves: Vec::new(),
        failed: Vec::new(),
        sure_below: f64::NEG_INFINITY,
        counted_to: 0,
        complete: true,
        bound: 0.0,
    };
    let mut n = 0;
    while n <= set.most.unwrap_or(MOST) {
        match of(&h, n, set.count, work) {
            Some(w) => out.waves.push(w),
            None => out.failed.push(n),
        }
        out.counted_to = n;
        n += 1;
        let Some(top) = kth(&out.waves, set.lowest).filter(|_| set.most.is_none()) else { continue };
        out.bound = stage.wave_bound(top, stressed);
        let last = out.waves.last().and_then(|w| w.pairs.first()).map_or(f64::NEG_INFINITY, |p| p.value);
        if f64::from(n) <= out.bound || last <= top {
            continue;
        }
        // Nothing lower among more waves?
        let to = ((2.0 * out.bound).ceil() as u32).min(MOST);
        let stray = (n..=to).find(|n| h.count_below(*n, top, work) != Some(0));
        out.counted_to = out.counted_to.max(stray.map_or(to, |s| s - 1));
        if stray.is_none() {
            break;
        }
    }
    out.complete = out.failed.is_empty() && (set.most.is_some() || n <= MOST);
    // A wave number may have more modes below the last of the lowest than were computed.
    if let Some(top) = kth(&out.waves, set.lowest) {
        for w in &mut out.waves {
            if w.pairs.last().is_some_and(|p| p.value > top) {
                continue;
            }
            let nulls = if top > 0.0 { w.rigid } else { 0 };
            let more = h.count_below(w.n, top, work).map(|c| c.saturating_sub(nulls) + 1);
            if let Some(wider) = more.filter(|m| *m > w.pairs.len()).and_then(|m| of(&h, w.n, m, work)) {
                *w = wider;
            }
        }
    }
    out.sure_below = out
        .waves
        .iter()
        .map(|w| w.pairs.last().map_or(f64::NEG_INFINITY, |p| p.value))
        .fold(f64::INFINITY, f64::min);
    out
}

/// The same wave numbers, with as many modes each, on another mesh: values alone.
pub(crate) fn again(stage: &Stage, waves: &[Wave], work: &mut Work) -> Vec<Option<Vec<f64>>> {
    let h = stage.harmonics();
    waves
        .iter()
        .map(|w| of(&h, w.n, w.pairs.len(), work).map(|w| w.pairs.iter().map(|p| p.value).collect()))
        .collect()
}
