//! Wait against margin, tabulated from the theory once and read ten thousand times.
//!
//! For parts of one family the wait is a function of how far a part lies in its band, of the hold and of the memory. All times of
//! a memory multiplied by a factor multiply the wait of a hold that is multiplied alike (the creep has no other clock), so hold
//! and factor on the times are one number, hold/factor; the factor on the shares is the other. Both are tabulated at Chebyshev's
//! points and read by Lagrange's polynomials, the band by knots of a [`Curve`].

use calotte_answers::release::{Creep, creep, relaxed_threshold};
use calotte_answers::{Watch, each};
use calotte_specimen::{HeldShape, LetGo, Motion, Part};

use super::curve::Curve;
use super::likelihood::Law;

/// Places in the band.
const SHARES: [f64; 9] = [0.01, 0.04, 0.1, 0.2, 0.35, 0.55, 0.78, 0.93, 0.99];
/// Factors on the shares.
const FACTORS: usize = 3;
/// Holds over the factor on the times.
const HOLDS: usize = 8;
/// Places where table and theory are compared.
const CHECKS: usize = 6;

/// A table of waits for one shape.
#[derive(Clone, Debug)]
pub(crate) struct Table {
    /// Bounds of the logarithms of the factor on the shares and of hold over factor on the times.
    bounds: [[f64; 2]; 2],
    /// Chebyshev's points between them.
    nodes: [Vec<f64>; 2],
    /// Band width and ln of the waits at every pair of nodes.
    cells: Vec<(f64, [f64; SHARES.len()])>,
    /// Widths of the bands of specimens over that of the table's shape, and what to add to ln of their waits.
    pub specimens: Vec<[f64; 2]>,
    /// Holds of the trials, s, at the table's clock.
    pub holds: Vec<f64>,
    /// Largest difference of ln wait between table and theory at places between the nodes.
    pub error: f64,
    /// Waits computed.
    pub computed: usize,
}

/// Chebyshev's points on an interval.
fn nodes(count: usize, [a, b]: [f64; 2]) -> Vec<f64> {
    let angle = |k: usize| std::f64::consts::PI * (k as f64 + 0.5) / count as f64;
    (0..count).map(|k| 0.5 * (a + b) - 0.5 * (b - a) * libm::cos(angle(k))).collect()
}

/// Lagrange's polynomials of these points at `x`.
fn lagrange(nodes: &[f64], x: f64) -> Vec<f64> {
    let one = |i: usize| {
        let others = nodes.iter().enumerate().filter(|(j, _)| *j != i);
        others.map(|(_, n)| (x - n) / (nodes[i] - n)).product()
    };
    (0..nodes.len()).map(one).collect()
}

/// The motion with its memory's shares multiplied by e to `shares` and another hold.
fn motion_with(motion: &Motion, shares: f64, hold: f64) -> Motion {
    let mut m = motion.clone();
    m.hold.time = hold;
    for term in m.memory.iter_mut().flat_map(|m| &mut m.terms) {
        term.share *= libm::exp(shares);
    }
    m
}

/// Share of the modulus lost in the hold.
fn loss(motion: &Motion) -> f64 {
    let terms =
        motion.memory.as_ref().and_then(|m| m.at(motion.surroundings.temperature)).unwrap_or_default();
    -terms.iter().map(|t| t.share * libm::expm1(-motion.hold.time / t.time)).sum::<f64>()
}

/// The part with its wall multiplied.
fn scaled(part: &Part, factor: f64) -> Part {
    Part { wall: part.wall.scaled(factor), ..part.clone() }
}

fn thickness(part: &Part) -> f64 {
    part.wall.thickness(part.meridian.length())
}

/// Width of the band of waiting of the shape of `part`: from its threshold to the thickest wall that rests after the hold.
fn band(part: &Part, motion: &Motion) -> Option<f64> {
    let mut work = Default::default();
    let stays = relaxed_threshold(part, 0.0, &mut work)?;
    if motion.hold.shape == HeldShape::Mirror {
        return Some(libm::log(relaxed_threshold(part, loss(motion), &mut work)? / stays));
    }
    // The relaxed threshold belongs to a hold of the mirror image; for another the end is sought.
    let rests = |delta: f64| {
        let there = scaled(part, stays * libm::exp(delta) / thickness(part));
        match creep(&there, motion, &mut Default::default()) {
            Ok(Creep::AtOnce) => Some(false),
            Ok(Creep::Ends(_) | Creep::Stays) => Some(true),
            _ => None,
        }
    };
    let (mut low, mut high) = (0.0, 2.0 * loss(motion) + 1e-3);
    for _ in 0..10 {
        let middle = 0.5 * (low + high);
        if rests(middle)? { low = middle } else { high = middle }
    }
    (low > 0.0).then_some(0.5 * (low + high))
}

/// ln of the wait of a part of this shape at share `x` of its band.
fn log_wait(part: &Part, motion: &Motion, band: f64, x: f64) -> Option<f64> {
    let mut work = Default::default();
    let stays = relaxed_threshold(part, 0.0, &mut work)?;
    let there = scaled(part, stays * libm::exp(band * x) / thickness(part));
    let ramp = match motion.hold.let_go {
        LetGo::Ramp(r) => r,
        LetGo::AtOnce => 0.0,
    };
    match creep(&there, motion, &mut work) {
        Ok(Creep::Ends(t)) => Some(libm::log(t + ramp)),
        _ => None,
    }
}

impl Table {
    /// Tabulates for the shape of `part`; `others` are the parts of the specimens with the hold of their first wait, where one was
    /// read. `Ok(None)` when stopped.
    ///
    /// # Errors
    /// What could not be computed.
    pub(crate) fn new(
        part: &Part,
        motion: &Motion,
        holds: &[f64],
        [share_bounds, time_bounds]: [[f64; 2]; 2],
        others: &[(Part, Option<f64>)],
        watch: &Watch<'_>,
    ) -> Result<Option<Self>, String> {
        let whole: f64 = motion.memory.as_ref().map_or(0.0, |m| m.terms.iter().map(|t| t.share).sum());
        // Shares add up to less than 1; beyond 0.9 a material has hardly a shape of its own.
        let shares = [share_bounds[0], share_bounds[1].min(libm::log(0.9 / whole))];
        let shortest = holds.iter().copied().fold(f64::INFINITY, f64::min);
        let longest = holds.iter().copied().fold(0.0, f64::max);
        let times = [libm::log(shortest) - time_bounds[1], libm::log(longest) - time_bounds[0]];
        let bounds = [shares, [times[0] - 0.05, times[1] + 0.05]];
        let grid: Vec<[f64; 2]> = nodes(FACTORS, bounds[0])
            .into_iter()
            .flat_map(|f| nodes(HOLDS, bounds[1]).into_iter().map(move |h| [f, h]))
            .collect();
        let cells = each(grid.len(), watch, |i| {
            let m = motion_with(motion, grid[i][0], libm::exp(grid[i][1]));
            let band = band(part, &m)?;
            let mut waits = [0.0; SHARES.len()];
            for (w, x) in waits.iter_mut().zip(SHARES) {
                *w = log_wait(part, &m, band, x)?;
            }
            Some((band, waits))
        });
        let Some(cells) = cells else { return Ok(None) };
        let failed = cells.iter().filter(|c| c.is_none()).count();
        let Some(cells) = cells.into_iter().collect::<Option<Vec<_>>>() else {
            return Err(format!("for {failed} of {} holds and memories no wait was found", grid.len()));
        };
        let nodes = [nodes(FACTORS, bounds[0]), nodes(HOLDS, bounds[1])];
        let mut out = Self {
            bounds,
            nodes,
            cells,
            specimens: Vec::new(),
            holds: holds.to_vec(),
            error: 0.0,
            computed: grid.len() * SHARES.len(),
        };
        let own = each(others.len(), watch, |i| {
            let (other, hold) = &others[i];
            let hold = hold.unwrap_or(longest);
            let m = motion_with(motion, 0.0, hold);
            let base = out.raw(0.0, libm::log(hold));
            let width = band(other, &m);
            let wait = width.filter(|_| others[i].1.is_some()).and_then(|b| log_wait(other, &m, b, 0.5));
            let by = wait.zip(base.log_wait(-0.5 * base.band())).map_or(0.0, |(w, t)| w - t[0]);
            [width.map_or(1.0, |b| b / base.band()), by]
        });
        let Some(own) = own else { return Ok(None) };
        out.computed += others.iter().filter(|o| o.1.is_some()).count();
        out.specimens = own;
        // Between the nodes, at fixed places spread by the golden section.
        let checks = each(CHECKS, watch, |k| {
            let at = |j: f64| (0.5 + (k as f64 + 1.0) * j) % 1.0;
            let pick = |[a, b]: [f64; 2], u: f64| a + (b - a) * u;
            let (f, h) = (pick(bounds[0], at(0.618_034)), pick(bounds[1], at(0.414_214)));
            let x = 0.03 + 0.9 * at(0.732_051);
            let m = motion_with(motion, f, libm::exp(h));
            let curve = out.raw(f, h);
            let band = band(part, &m)?;
            let theory = log_wait(part, &m, band, x)?;
            Some((curve.log_wait(-x * curve.band())?[0] - theory).abs())
        });
        let Some(checks) = checks else { return Ok(None) };
        out.computed += CHECKS;
        out.error = checks.into_iter().flatten().fold(0.0, f64::max);
        Ok(Some(out))
    }

    /// The curve of the table's own shape at a factor on the shares and a hold over the factor on the times; waits in units of
    /// that factor.
    fn raw(&self, log_shares: f64, log_hold: f64) -> Curve {
        let place = |i: usize, x: f64| x.clamp(self.bounds[i][0], self.bounds[i][1]);
        let f = lagrange(&self.nodes[0], place(0, log_shares));
        let h = lagrange(&self.nodes[1], place(1, log_hold));
        let mut band = 0.0;
        let mut waits = [0.0; SHARES.len()];
        for (i, f) in f.iter().enumerate() {
            for (j, h) in h.iter().enumerate() {
                let (b, w) = &self.cells[i * HOLDS + j];
                band += f * h * b;
                waits.iter_mut().zip(w).for_each(|(sum, w)| *sum += f * h * w);
            }
        }
        Curve::new(band, &SHARES, &waits)
    }

    /// Bounds of the logarithm of the factor on the shares.
    pub(crate) fn share_bounds(&self) -> [f64; 2] {
        self.bounds[0]
    }

    /// The curve of a specimen after any hold, s.
    pub(crate) fn curve_of(
        &self,
        specimen: Option<usize>,
        hold: f64,
        log_shares: f64,
        log_times: f64,
    ) -> Curve {
        let raw = self.raw(log_shares, libm::log(hold) - log_times);
        let [width, by] = specimen.and_then(|i| self.specimens.get(i)).copied().unwrap_or([1.0, 0.0]);
        raw.likened(width, by + log_times)
    }
}

impl Law for Table {
    fn curve(&self, specimen: usize, hold: usize, log_shares: f64, log_times: f64) -> Curve {
        self.curve_of(Some(specimen), self.holds[hold], log_shares, log_times)
    }
}
