//! Wait against margin, tabulated from the theory once and read ten thousand times.
//!
//! For parts of one family the wait is a function of how far a part lies in its band, of the hold and of the memory. All times of
//! a memory multiplied by a factor multiply the wait of a hold that is multiplied alike (the creep has no other clock), so hold
//! and factor on the times are one number, hold/factor; the factor on the shares is the other. Both are tabulated at Chebyshev's
//! points and read by Lagrange's polynomials.
//!
//! The width of the band is tabulated over the share of the modulus that is lost in the hold, which is known in closed form and
//! carries nearly all of it. A memory of several times makes the wait run through several powers of the place in the band, one after
//! the other: as a function of the place it bends sharply, the place as a function of the wait does not. So every cell holds places
//! over waits, come to from the computed waits by monotone cubics.

use calotte_answers::release::{Creep, creep, relaxed_threshold};
use calotte_answers::{Watch, each};
use calotte_specimen::{HeldShape, LetGo, Motion, Part};

use super::curve::Curve;
use super::likelihood::Law;

/// Places in the band.
const SHARES: [f64; 11] = [0.01, 0.03, 0.06, 0.1, 0.16, 0.24, 0.35, 0.5, 0.7, 0.9, 0.99];
/// Factors on the shares.
const FACTORS: usize = 3;
/// Holds over the factor on the times.
const HOLDS: usize = 8;
/// Waits, by equal ratios, over which places are tabulated.
const WAITS: usize = 36;
/// A hand is gone before the memory has done much when it takes no more than this share of the memory's shortest time.
const BRIEF: f64 = 0.15;
/// Halvings by which the end of a band is sought.
const HALVINGS: u32 = 13;
/// Places where table and theory are compared.
const CHECKS: usize = 12;

/// A table of waits for one shape.
#[derive(Clone, Debug)]
pub(crate) struct Table {
    /// Bounds of the logarithms of the factor on the shares and of hold over factor on the times.
    bounds: [[f64; 2]; 2],
    /// Chebyshev's points between them.
    nodes: [Vec<f64>; 2],
    /// Shares and times of the memory at factors of 1.
    terms: Vec<[f64; 2]>,
    /// How long the hand lets go, s: every wait contains it, whatever the memory.
    ramp: f64,
    /// ln of the waits of a cell, without the ramp.
    waits: Vec<f64>,
    /// At every pair of nodes: ln of the width of the band over the share lost, and ln(x/(1 − x)) of the places at those waits.
    cells: Vec<(f64, Vec<f64>)>,
    /// Widths of the bands of specimens over that of the table's shape, and what to add to ln of their waits.
    pub specimens: Vec<[f64; 2]>,
    /// Specimens of which one of the two was not found: they are read with those of the table's shape.
    pub unlikened: usize,
    /// Holds of the trials, s, at the table's clock.
    pub holds: Vec<f64>,
    /// Largest difference of ln wait between table and theory, at margins between the nodes.
    pub error: f64,
    /// What the weight of the parts does, as a margin; 0 for parts that bear none, `None` where it moves the part of the case out of
    /// its band.
    pub weight: Option<f64>,
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

/// The motion without gravity: the table is that of weightless parts, and what the weight does is a shift of the margin.
fn weightless(motion: &Motion) -> Motion {
    let mut m = motion.clone();
    m.surroundings.gravity = 0.0;
    m
}

/// Shares and times of the memory at the temperature of the surroundings; none outside the domain of its law of shift.
fn terms(motion: &Motion) -> Option<Vec<[f64; 2]>> {
    let terms = motion.memory.as_ref()?.at(motion.surroundings.temperature)?;
    Some(terms.iter().map(|t| [t.share, t.time]).collect())
}

/// How long the hand lets go, s.
fn ramp(motion: &Motion) -> f64 {
    match motion.hold.let_go {
        LetGo::Ramp(r) => r,
        LetGo::AtOnce => 0.0,
    }
}

/// Share of the modulus lost in a hold.
fn lost(terms: &[[f64; 2]], hold: f64) -> f64 {
    -terms.iter().map(|[share, time]| share * libm::expm1(-hold / time)).sum::<f64>()
}

/// The part with its wall multiplied.
fn scaled(part: &Part, factor: f64) -> Part {
    Part { wall: part.wall.scaled(factor), ..part.clone() }
}

fn thickness(part: &Part) -> f64 {
    part.wall.thickness(part.meridian.length())
}

/// A shape with its threshold.
struct Shape<'a> {
    part: &'a Part,
    /// Thickness up to which it stays, m.
    stays: f64,
}

impl<'a> Shape<'a> {
    fn of(part: &'a Part) -> Option<Self> {
        Some(Self { part, stays: relaxed_threshold(part, 0.0, &mut Default::default())? })
    }

    /// The part so far beyond its threshold.
    fn beyond(&self, margin: f64) -> Part {
        scaled(self.part, self.stays * libm::exp(margin) / thickness(self.part))
    }
}

/// Width of the band of waiting of a shape: from its threshold to the thickest wall that rests after the hold.
fn band(shape: &Shape<'_>, motion: &Motion) -> Option<f64> {
    let terms = terms(motion)?;
    let loss = lost(&terms, motion.hold.time);
    let shortest = terms.iter().map(|t| t[1]).fold(f64::INFINITY, f64::min);
    if motion.hold.shape == HeldShape::Mirror && ramp(motion) < BRIEF * shortest {
        let rests = relaxed_threshold(shape.part, loss, &mut Default::default())?;
        return Some(libm::log(rests / shape.stays));
    }
    // The relaxed threshold belongs to a hold of the mirror image and a hand that goes before the memory has done much; for
    // another the end is sought.
    let rests = |delta: f64| match creep(&shape.beyond(delta), motion, &mut Default::default()) {
        Ok(Creep::AtOnce) => Some(false),
        Ok(Creep::Ends(_) | Creep::Stays) => Some(true),
        _ => None,
    };
    let (mut low, mut high) = (0.0, 2.0 * loss + 1e-3);
    for _ in 0..HALVINGS {
        let middle = 0.5 * (low + high);
        if rests(middle)? { low = middle } else { high = middle }
    }
    (low > 0.0).then_some(0.5 * (low + high))
}

/// ln of the wait of a part of this shape so far beyond its threshold, without the ramp of the hand.
fn log_wait(shape: &Shape<'_>, motion: &Motion, beyond: f64) -> Option<f64> {
    match creep(&shape.beyond(beyond), motion, &mut Default::default()) {
        Ok(Creep::Ends(t)) => Some(libm::log(t)),
        _ => None,
    }
}

fn logit(x: f64) -> f64 {
    libm::log(x / (1.0 - x))
}

/// Values at `at` of the monotone cubics (Fritsch & Carlson 1980, SIAM J. Numer. Anal. 17, 238, with the slopes of Fritsch & Butland
/// 1984) through knots of falling `x`, straight beyond the ends; `None` where x does not fall.
fn monotone(knots: &[[f64; 2]], at: &[f64]) -> Option<Vec<f64>> {
    let n = knots.len();
    if n < 3 || knots.windows(2).any(|k| k[1][0] >= k[0][0]) {
        return None;
    }
    let step: Vec<f64> = knots.windows(2).map(|k| k[1][0] - k[0][0]).collect();
    let chord: Vec<f64> = knots.windows(2).zip(&step).map(|(k, h)| (k[1][1] - k[0][1]) / h).collect();
    let inner = |i: usize| {
        let (a, b) = (chord[i - 1], chord[i]);
        if a * b <= 0.0 {
            return 0.0;
        }
        let (v, w) = (2.0 * step[i] + step[i - 1], step[i] + 2.0 * step[i - 1]);
        (v + w) / (v / a + w / b)
    };
    let slope = |i: usize| match i {
        0 => chord[0],
        i if i == n - 1 => chord[n - 2],
        i => inner(i),
    };
    let value = |x: f64| {
        let end = if x >= knots[0][0] { Some(0) } else { (x <= knots[n - 1][0]).then_some(n - 1) };
        if let Some(i) = end {
            return knots[i][1] + slope(i) * (x - knots[i][0]);
        }
        let i = knots.partition_point(|k| k[0] > x) - 1;
        let (h, u) = (step[i], (x - knots[i][0]) / step[i]);
        let (a, b) = (knots[i][1], knots[i + 1][1]);
        let (da, db) = (slope(i) * h, slope(i + 1) * h);
        let rise = b - a;
        a + u * (da + u * (3.0 * rise - 2.0 * da - db + u * (da + db - 2.0 * rise)))
    };
    Some(at.iter().map(|x| value(*x)).collect())
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
        let heavy = motion;
        let motion = &weightless(motion);
        let terms = terms(motion).ok_or("the memory is not known at the temperature of the case")?;
        let whole: f64 = terms.iter().map(|t| t[0]).sum();
        let shape = Shape::of(part).ok_or("the shape of the case has no threshold")?;
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
        let computed = each(grid.len(), watch, |i| {
            let m = motion_with(motion, grid[i][0], libm::exp(grid[i][1]));
            let band = band(&shape, &m)?;
            let knots: Option<Vec<[f64; 2]>> =
                SHARES.iter().map(|x| Some([log_wait(&shape, &m, band * x)?, logit(*x)])).collect();
            Some((band, knots?))
        });
        let Some(computed) = computed else { return Ok(None) };
        let failed = computed.iter().filter(|c| c.is_none()).count();
        let Some(computed) = computed.into_iter().collect::<Option<Vec<_>>>() else {
            return Err(format!("for {failed} of {} holds and memories no wait was found", grid.len()));
        };
        let all = computed.iter().flat_map(|c| &c.1).map(|k| k[0]);
        let ends = all.fold([f64::INFINITY, f64::NEG_INFINITY], |[a, b], w| [a.min(w), b.max(w)]);
        let waits: Vec<f64> =
            (0..WAITS).map(|i| ends[0] + (ends[1] - ends[0]) * i as f64 / (WAITS - 1) as f64).collect();
        let cell = |([f, h], (band, knots)): (&[f64; 2], (f64, Vec<[f64; 2]>))| {
            let loss = libm::exp(*f) * lost(&terms, libm::exp(*h));
            Some((libm::log(band / loss), monotone(&knots, &waits)?))
        };
        let cells: Option<Vec<_>> = grid.iter().zip(computed).map(cell).collect();
        let cells = cells.ok_or("waits do not fall as the part goes further beyond its threshold")?;
        let nodes = [nodes(FACTORS, bounds[0]), nodes(HOLDS, bounds[1])];
        let mut out = Self {
            bounds,
            nodes,
            terms,
            ramp: ramp(motion),
            waits,
            cells,
            specimens: Vec::new(),
            unlikened: 0,
            holds: holds.to_vec(),
            error: 0.0,
            weight: Some(0.0),
            computed: grid.len() * SHARES.len(),
        };
        if heavy.surroundings.gravity > 0.0 {
            let hold = (shortest * longest).sqrt();
            let curve = out.raw(0.0, libm::log(hold));
            let beyond = 0.5 * curve.band();
            let wait = log_wait(&shape, &motion_with(heavy, 0.0, hold), beyond);
            out.weight = wait.map(|w| curve.margin_of(libm::exp(w)) + beyond);
        }
        let own = each(others.len(), watch, |i| {
            let (other, read) = &others[i];
            let hold = read.unwrap_or(longest);
            let m = motion_with(motion, 0.0, hold);
            let base = out.raw(0.0, libm::log(hold));
            let shape = Shape::of(other)?;
            let band = band(&shape, &m)?;
            let by = match read {
                None => 0.0,
                Some(_) => log_wait(&shape, &m, 0.5 * band)? - base.log_wait(-0.5 * base.band())?[0],
            };
            Some([band / base.band(), by])
        });
        let Some(own) = own else { return Ok(None) };
        out.computed += others.iter().filter(|o| o.1.is_some()).count();
        out.unlikened = own.iter().filter(|o| o.is_none()).count();
        out.specimens = own.into_iter().map(|o| o.unwrap_or([1.0, 0.0])).collect();
        // Between the nodes, at fixed places spread by the golden section.
        let checks = each(CHECKS, watch, |k| {
            let at = |j: f64| (0.5 + (k as f64 + 1.0) * j) % 1.0;
            let pick = |[a, b]: [f64; 2], u: f64| a + (b - a) * u;
            let (f, h) = (pick(bounds[0], at(0.618_034)), pick(bounds[1], at(0.414_214)));
            let m = motion_with(motion, f, libm::exp(h));
            let beyond = band(&shape, &m)? * (0.03 + 0.9 * at(0.732_051));
            // At one margin: an error of the band is one of the wait.
            Some((out.raw(f, h).log_wait(-beyond)?[0] - log_wait(&shape, &m, beyond)?).abs())
        });
        let Some(checks) = checks else { return Ok(None) };
        out.computed += CHECKS;
        let Some(checks) = checks.into_iter().collect::<Option<Vec<f64>>>() else {
            return Err("the table of waits could not be held against theory between its nodes".to_owned());
        };
        out.error = checks.into_iter().fold(0.0, f64::max);
        Ok(Some(out))
    }

    /// The curve of the table's own shape at a factor on the shares and a hold over the factor on the times; waits in units of
    /// that factor, without the ramp.
    fn raw(&self, log_shares: f64, log_hold: f64) -> Curve {
        let place = |i: usize, x: f64| x.clamp(self.bounds[i][0], self.bounds[i][1]);
        let (log_shares, log_hold) = (place(0, log_shares), place(1, log_hold));
        let f = lagrange(&self.nodes[0], log_shares);
        let h = lagrange(&self.nodes[1], log_hold);
        let mut band = log_shares + libm::log(lost(&self.terms, libm::exp(log_hold)));
        let mut places = vec![0.0; WAITS];
        for (i, f) in f.iter().enumerate() {
            for (j, h) in h.iter().enumerate() {
                let (b, c) = &self.cells[i * HOLDS + j];
                let weight = f * h;
                band += weight * b;
                places.iter_mut().zip(c).for_each(|(sum, c)| *sum += weight * c);
            }
        }
        // From long waits, near the threshold, to short ones.
        let knots = places.iter().zip(&self.waits).rev().map(|(c, w)| [*c, *w]);
        Curve::through(libm::exp(band), knots)
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
        raw.likened(width, by + log_times).after(self.ramp).shifted(self.weight.unwrap_or(0.0))
    }
}

impl Law for Table {
    fn curve(&self, specimen: usize, hold: usize, log_shares: f64, log_times: f64) -> Curve {
        self.curve_of(Some(specimen), self.holds[hold], log_shares, log_times)
    }
}
