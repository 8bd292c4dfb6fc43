//! A strip clamped at one end that hangs under its own weight and a weight at its tip, bent as far as it goes.

use calotte_chance::{FitSettings, NoFit, least_squares};

/// The strip in pure numbers; lengths are in strip lengths.
///
/// `θ″ = −(α (1 − s) + β) cos θ`, θ below the horizontal, `θ(0) = clamp`, `θ′(1) = natural`: the planar elastica without
/// stretch under its own weight (the heavy elastica) and a dead weight at the tip.
///
/// | symbol | code | meaning |
/// |---|---|---|
/// | α | `own` | w L³/(E I), w the weight per length |
/// | β | `tip` | F L²/(E I), F the weight at the tip |
/// | θ(0) | `clamp` | slope of the clamp below the horizontal, rad |
/// | θ′(1) | `natural` | natural curvature × L, positive: curls down |
///
/// Source: closed form of the balance of moments (Bisshopp & Drucker 1945, Quart. Appl. Math. 3, 272, for α = 0; Wang 1986, J. Appl.
/// Mech. 53, 996, for the heavy one; both from memory). Guard: `tests::small_droops`, `tests::long_bends_under_a_tip_weight`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Strip {
    /// α ≥ 0.
    pub own: f64,
    /// β ≥ 0.
    pub tip: f64,
    /// Slope of the clamp.
    pub clamp: f64,
    /// Natural curvature times length.
    pub natural: f64,
}

/// The bent strip.
#[derive(Clone, Debug, PartialEq)]
pub struct Bent {
    /// Height lost from clamp to tip, in lengths.
    pub drop: f64,
    /// Reach of the tip across, in lengths.
    pub reach: f64,
    /// Slope of the tip, rad.
    pub tip_slope: f64,
    /// Curvature at the clamp less the natural one, times length: the bending there.
    pub root_bending: f64,
    /// Places from clamp to tip: across, down, slope, curvature times length.
    pub places: Vec<[f64; 4]>,
}

/// From the tip backwards: slope and its rate; the same by the tip's slope; by the logarithm of all weight; across, down; down by the
/// tip's slope and by the logarithm of all weight.
type State = [f64; 10];
const ACROSS: usize = 6;
const DOWN: usize = 7;

impl Strip {
    /// Intervals for one passage; the layer at the clamp of a soft strip is α^(−1/3) long.
    fn steps(self) -> usize {
        let stiff = libm::cbrt(self.own + self.tip).max(1.0);
        24 * (stiff.ceil() as usize)
    }

    fn rate(self, u: f64, y: &State) -> State {
        let (sin, cos) = libm::sincos(y[0]);
        let pull = self.own * u + self.tip;
        let (bend, turn) = (-pull * cos, pull * sin);
        [y[1], bend, y[3], turn * y[2], y[5], bend + turn * y[4], cos, sin, cos * y[2], cos * y[4]]
    }

    /// One passage from tip to clamp with `n` intervals of Runge's and Kutta's fourth-order rule.
    fn pass(self, tip_slope: f64, n: usize, mut each: impl FnMut(&State)) -> State {
        let h = 1.0 / n as f64;
        let mut y: State = [0.0; 10];
        (y[0], y[1], y[2]) = (tip_slope, -self.natural, 1.0);
        each(&y);
        for k in 0..n {
            let u = k as f64 * h;
            let moved = |by: f64, rate: &State| {
                let mut z = y;
                z.iter_mut().zip(rate).for_each(|(z, r)| *z += by * r);
                z
            };
            let a = self.rate(u, &y);
            let b = self.rate(u + 0.5 * h, &moved(0.5 * h, &a));
            let c = self.rate(u + 0.5 * h, &moved(0.5 * h, &b));
            let d = self.rate(u + h, &moved(h, &c));
            for i in 0..10 {
                y[i] += h / 6.0 * (a[i] + 2.0 * b[i] + 2.0 * c[i] + d[i]);
            }
            each(&y);
        }
        y
    }

    /// Two passages, the error of the fourth order taken out (Richardson).
    fn shoot(self, tip_slope: f64) -> State {
        self.shoot_watched(tip_slope).0
    }

    /// The same, and whether the strip on its way turns below its clamp, as it does in equilibria that wind back and forth (there are
    /// many of them when the weight is large) and not where it hangs.
    fn shoot_watched(self, tip_slope: f64) -> (State, bool) {
        let least = self.clamp - self.natural.abs() - 0.02;
        let mut under = false;
        let n = self.steps();
        let coarse = self.pass(tip_slope, n, |y| under |= y[0] < least);
        let fine = self.pass(tip_slope, 2 * n, |_| {});
        (std::array::from_fn(|i| fine[i] + (fine[i] - coarse[i]) / 15.0), under)
    }

    /// The slope of the tip at which the clamp has its own: Newton's method kept within a bracket.
    fn tip_slope(self) -> Option<f64> {
        let quarter = std::f64::consts::FRAC_PI_2;
        let mut low = self.clamp.min(0.0) - self.natural.abs() - 0.1;
        let mut high = quarter + self.clamp.abs() + self.natural.abs() + 0.1;
        let mut at = (self.clamp + self.natural + self.own / 6.0 + self.tip / 2.0).clamp(low, 0.9 * high);
        for _ in 0..100 {
            let (y, under) = self.shoot_watched(at);
            let miss = y[0] - self.clamp;
            if miss == 0.0 && !under {
                return Some(at);
            }
            if miss > 0.0 && !under {
                high = at
            } else {
                low = at
            }
            let newton = at - miss / y[2];
            let fits = !under && newton > low && newton < high;
            let next = if fits { newton } else { 0.5 * (low + high) };
            if (next - at).abs() <= 1e-14 * (1.0 + at.abs()) || next == at {
                // A soft strip's clamp feels the tip's last digits many times over.
                return (!under && miss.abs() < 1e-8 + 1e-12 * y[2].abs()).then_some(next);
            }
            at = next;
        }
        None
    }

    /// The equilibrium; `None` when none is found.
    pub fn bent(self) -> Option<Bent> {
        let slope = self.tip_slope()?;
        let end = self.shoot(slope);
        let mut places = Vec::new();
        self.pass(slope, (2 * self.steps()).max(200), |y| places.push([y[ACROSS], y[DOWN], y[0], -y[1]]));
        let [across, down] = [end[ACROSS], end[DOWN]];
        places.iter_mut().for_each(|p| (p[0], p[1]) = (across - p[0], down - p[1]));
        places.reverse();
        let bending = -end[1] - self.natural;
        Some(Bent { drop: down, reach: across, tip_slope: slope, root_bending: bending, places })
    }

    /// Height lost from clamp to tip alone.
    fn drop(self) -> Option<f64> {
        Some(self.shoot(self.tip_slope()?)[DOWN])
    }
}

/// A tip that has lost more of the length than this hangs in line with the strip, and its place says too little.
const LOWEST: f64 = 0.93;

/// What hangs on a strip, in proportion: own weight's share of all the weight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Hung {
    /// w L/(w L + F).
    pub own_share: f64,
    /// Slope of the clamp, rad.
    pub clamp: f64,
    /// Natural curvature × L.
    pub natural: f64,
}

impl Hung {
    /// The strip whose whole weight is `all` = (w L + F) L²/(E I).
    pub fn strip(self, all: f64) -> Strip {
        let own = all * self.own_share;
        Strip { own, tip: all - own, clamp: self.clamp, natural: self.natural }
    }

    /// Logarithm of the whole weight by Newton's method on it and the tip's slope at once; `None` when that does not settle.
    fn together(self, drop: f64) -> Option<f64> {
        let gain = self.own_share / 8.0 + (1.0 - self.own_share) / 3.0;
        let lifted = drop - self.clamp - 0.5 * self.natural;
        if lifted < 1e-6 {
            return None;
        }
        // The linear guess, raised for deep droops.
        let mut log = libm::log(lifted / gain) - drop * drop * libm::log(1.0 - drop);
        let mut slope = (self.clamp + self.natural + 1.4 * lifted).clamp(-1.0, 1.5);
        for _ in 0..30 {
            let y = self.strip(libm::exp(log)).shoot(slope);
            let miss = [y[0] - self.clamp, y[DOWN] - drop];
            let det = y[2] * y[9] - y[4] * y[8];
            let by_slope = (miss[0] * y[9] - y[4] * miss[1]) / det;
            let by_log = (y[2] * miss[1] - miss[0] * y[8]) / det;
            if !(by_slope.is_finite() && by_log.is_finite()) {
                return None;
            }
            let shorter = (0.7 / by_log.abs()).min(0.4 / by_slope.abs()).min(1.0);
            slope -= shorter * by_slope;
            log -= shorter * by_log;
            if by_log.abs() < 1e-12 && by_slope.abs() < 1e-12 {
                return (!self.strip(libm::exp(log)).shoot_watched(slope).1).then_some(log);
            }
        }
        None
    }

    /// The whole weight, (w L + F) L²/(E I), at which the tip has lost `drop` lengths of height.
    ///
    /// # Errors
    /// Why no weight gives such a drop.
    pub fn weight_for(self, drop: f64) -> Result<f64, String> {
        let at = |log: f64| {
            self.strip(libm::exp(log))
                .drop()
                .map(|d| d - drop)
                .ok_or("no equilibrium was found for such a strip")
        };
        if drop.is_nan() || drop >= LOWEST {
            return Err(
                "the strip hangs nearly straight down: the drop of its tip no longer says how stiff it is"
                    .to_owned(),
            );
        }
        if let Some(log) = self.together(drop) {
            return Ok(libm::exp(log));
        }
        // Small droops: own weight 1/8, tip weight 1/3.
        let gain = self.own_share / 8.0 + (1.0 - self.own_share) / 3.0;
        let guess = libm::log((drop / gain).max(1e-6));
        let (mut low, mut high) = (guess - 0.5, guess + 0.5);
        let (mut below, mut above) = (at(low)?, at(high)?);
        while below > 0.0 {
            if low < -25.0 {
                return Err(
                    "the tip would hang at least that low without any weight: clamp or natural curl explain it all"
                        .to_owned(),
                );
            }
            low -= 1.5;
            below = at(low)?;
        }
        while above < 0.0 {
            if high > 6.0 {
                return Err("no weight makes the tip hang that low".to_owned());
            }
            high += 0.7;
            above = at(high)?;
        }
        // Secant steps kept in the bracket (the Illinois rule).
        for _ in 0..80 {
            let mut next = high - above * (high - low) / (above - below);
            if !(next > low && next < high) {
                next = 0.5 * (low + high);
            }
            let value = at(next)?;
            if value == 0.0 || high - low < 1e-13 {
                return Ok(libm::exp(next));
            }
            if (value > 0.0) == (above > 0.0) {
                (high, above) = (next, value);
                below *= 0.5;
            } else {
                (low, below) = (next, value);
                above *= 0.5;
            }
            if value.abs() < 1e-13 {
                return Ok(libm::exp(next));
            }
        }
        Ok(libm::exp(0.5 * (low + high)))
    }
}

/// A fitted whole profile.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct ProfileFit {
    /// ln of the whole weight, (w L + F) L²/(E I).
    pub(super) log_weight: f64,
    /// Slope of the clamp, rad.
    pub(super) clamp: f64,
    /// Standard deviation of the logarithm that the points' own errors leave, the clamp's slope unknown within its own.
    pub(super) deviation: f64,
    /// √(squares/freedom): the scatter of the points in units of the stated error.
    pub(super) scatter: f64,
    /// Distance of each point from the strip, across it, in lengths.
    pub(super) residuals: Vec<f64>,
}

/// Fits points (across, down, in lengths) of standard deviation `error` each; `clamp` is the slope of the clamp and its deviation,
/// `start` the logarithm of the whole weight to start from.
///
/// # Errors
/// Why not.
pub(super) fn fit_profile(
    hung: Hung,
    points: &[[f64; 2]],
    error: f64,
    clamp: [f64; 2],
    start: Option<f64>,
) -> Result<ProfileFit, String> {
    let free = clamp[1] > 0.0;
    let mut miss = |p: &[f64], out: &mut Vec<f64>| {
        let slope = if free { p[1] } else { clamp[0] };
        let Some(bent) = Hung { clamp: slope, ..hung }.strip(libm::exp(p[0])).bent() else { return false };
        out.extend(points.iter().map(|q| across(&bent, *q) / error));
        if free {
            out.push((slope - clamp[0]) / clamp[1]);
        }
        true
    };
    // The lowest point as if it were the tip.
    let far = points.iter().copied().fold([0.0; 2], |a, b| if b[0] + b[1] > a[0] + a[1] { b } else { a });
    let reach = (far[0] * far[0] + far[1] * far[1]).sqrt().clamp(0.05, 1.0);
    let start =
        start.unwrap_or_else(|| libm::log(hung.weight_for((far[1] / reach).clamp(1e-3, 0.9)).unwrap_or(1.0)));
    let start: Vec<f64> = [start, clamp[0]][..if free { 2 } else { 1 }].to_vec();
    let scales = [1.0, clamp[1].max(1e-3)];
    let settings = FitSettings { difference: 1e-4, tolerance: 1e-7, ..FitSettings::default() };
    let fit = least_squares(&start, &scales[..start.len()], &mut miss, &settings).map_err(|e| match e {
        NoFit::TooFew { .. } => "too few points for a profile".to_owned(),
        NoFit::Untold { .. } => "the points do not tell how stiff the strip is".to_owned(),
        NoFit::Start | NoFit::Unfinished { .. } => "no bent strip runs through these points".to_owned(),
    })?;
    let count = points.len();
    let squares: f64 = fit.residuals[..count].iter().map(|r| r * r).sum();
    let scatter = if count > 1 { (squares / (count - 1) as f64).sqrt() } else { 1.0 };
    Ok(ProfileFit {
        log_weight: fit.at[0],
        clamp: if free { fit.at[1] } else { clamp[0] },
        deviation: fit.deviation(0),
        scatter,
        residuals: fit.residuals[..count].iter().map(|r| r * error).collect(),
    })
}

/// Distance of a point from the strip, positive below it; beyond its ends from the straight line that goes on.
fn across(bent: &Bent, [x, y]: [f64; 2]) -> f64 {
    let near = |p: &&[f64; 4]| (p[0] - x) * (p[0] - x) + (p[1] - y) * (p[1] - y);
    let Some(p) = bent.places.iter().min_by(|a, b| near(a).total_cmp(&near(b))) else { return f64::NAN };
    let (sin, cos) = libm::sincos(p[2]);
    let (dx, dy) = (x - p[0], y - p[1]);
    let along = dx * cos + dy * sin;
    let step = 1.0 / (bent.places.len() - 1) as f64;
    // Between places the strip is an arc; past the ends it is straight.
    let curved = if along.abs() <= step { 0.5 * p[3] * along * along } else { 0.0 };
    dy * cos - dx * sin - curved
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Closed form for small droops: w L⁴/(8 E I), F L³/(3 E I), and the tip's slope w L³/6 E I, F L²/2 E I.
    #[test]
    fn small_droops() {
        for (own, tip) in [(1e-4, 0.0), (0.0, 1e-4), (1e-4, 3e-4)] {
            let b = Strip { own, tip, clamp: 0.0, natural: 0.0 }.bent().unwrap();
            assert!((b.drop / (own / 8.0 + tip / 3.0) - 1.0).abs() < 1e-7, "{b:?}");
            assert!((b.tip_slope / (own / 6.0 + tip / 2.0) - 1.0).abs() < 1e-7);
            assert!((b.root_bending / (own / 2.0 + tip) - 1.0).abs() < 1e-7);
        }
        // A curled strip without weight is an arc; closed form.
        let b = Strip { own: 0.0, tip: 0.0, clamp: 0.1, natural: 0.6 }.bent().unwrap();
        let y = (libm::cos(0.1) - libm::cos(0.7)) / 0.6;
        assert!((b.drop - y).abs() < 1e-12 && (b.tip_slope - 0.7).abs() < 1e-12, "{} {y}", b.drop);
    }

    /// Bisshopp & Drucker 1945 in closed form with elliptic integrals, recomputed from the stated equations by SciPy's `ellipk`,
    /// `ellipkinc`, `ellipe`, `ellipeinc` (`bench/lab/check_bench.py` does it again): drop and reach at β = 1, 2, 5, 10.
    #[test]
    fn long_bends_under_a_tip_weight() {
        for (tip, drop, reach) in TABLE {
            let b = Strip { own: 0.0, tip, clamp: 0.0, natural: 0.0 }.bent().unwrap();
            assert!(
                (b.drop - drop).abs() < 1e-9 && (b.reach - reach).abs() < 1e-9,
                "{tip}: {} {}",
                b.drop,
                b.reach
            );
        }
    }

    const TABLE: [(f64, f64, f64); 4] = [
        (1.0, 0.301_720_773_800, 0.943_566_763_717),
        (2.0, 0.493_457_480_397, 0.839_358_279_175),
        (5.0, 0.713_791_523_612, 0.612_371_639_276),
        (10.0, 0.810_609_024_880, 0.445_004_402_246),
    ];

    /// First integral of the tip-loaded strip: ½ θ′² = β (sin θ_tip − sin θ), closed form; and far finer passages.
    #[test]
    fn the_passage_is_exact_enough() {
        for own in [0.0, 3.0, 60.0, 120.0] {
            let s = Strip { own, tip: 2.0, clamp: 0.05, natural: -0.2 };
            let slope = s.tip_slope().unwrap();
            let rough = s.shoot(slope);
            let n = s.steps();
            let (a, b) = (s.pass(slope, 8 * n, |_| {}), s.pass(slope, 16 * n, |_| {}));
            // What the passage is off by, as an error of the tip's slope and of the drop at the clamp's own slope.
            let better = |i: usize| b[i] + (b[i] - a[i]) / 15.0;
            let tip = (rough[0] - better(0)) / rough[2];
            let drop = rough[DOWN] - better(DOWN) - rough[8] * tip;
            assert!(tip.abs() < 1e-9 && drop.abs() < 1e-9, "{own}: {tip} {drop}");
        }
        let b = Strip { own: 0.0, tip: 4.0, clamp: 0.0, natural: 0.0 }.bent().unwrap();
        let left = 0.5 * b.root_bending * b.root_bending;
        assert!((left - 4.0 * libm::sin(b.tip_slope)).abs() < 1e-9);
    }

    #[test]
    fn the_weight_comes_back_from_the_drop() {
        for own_share in [0.0, 0.4, 1.0] {
            for all in [1e-3, 0.5, 3.0, 20.0, 60.0, 120.0] {
                let hung = Hung { own_share, clamp: 0.02, natural: 0.01 };
                let drop = hung.strip(all).drop().unwrap();
                let found = hung.weight_for(drop);
                if drop < LOWEST {
                    let found = found.unwrap_or_else(|e| panic!("{own_share} {all} {drop}: {e}"));
                    assert!((found / all - 1.0).abs() < 1e-6, "{own_share} {all}: {found}");
                } else {
                    assert!(found.unwrap_err().contains("straight down"));
                }
            }
        }
        let curled = Hung { own_share: 1.0, clamp: 0.3, natural: 0.0 };
        assert!(curled.weight_for(0.1).unwrap_err().contains("explain it all"));
    }

    #[test]
    fn a_profile_gives_weight_and_clamp_back() {
        let hung = Hung { own_share: 1.0, clamp: 0.03, natural: 0.0 };
        let bent = hung.strip(6.0).bent().unwrap();
        let points: Vec<[f64; 2]> = bent.places.iter().skip(9).step_by(23).map(|p| [p[0], p[1]]).collect();
        let fit = fit_profile(hung, &points, 1e-3, [0.0, 0.05], None).unwrap();
        assert!((fit.log_weight - libm::log(6.0)).abs() < 2e-3 && (fit.clamp - 0.03).abs() < 1e-3, "{fit:?}");
        assert!(fit.scatter < 0.1);
    }
}
