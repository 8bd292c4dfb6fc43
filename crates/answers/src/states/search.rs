//! The search: every way of turning the pieces over as a start, then pushes from every state found.

use calotte_shell::{FoldedPiece, Loaded, Model, Push, folded, natural};
use calotte_solve::follow::{self, PathEnd, PathPoint, Settings, Watch};
use calotte_solve::minimise::{self, minimise};
use calotte_solve::potential::{Potential, norm};
use calotte_solve::{Band, Work};
use calotte_specimen::{Meridian, Part};

/// Most pieces of which every combination is tried; of more, runs of neighbours only.
const ALL_OF: usize = 6;
/// States are the same when they differ by less than this, over the rise.
const SAME: f64 = 1e-5;
/// A push that has grown to so many times the force of the first yielding is given up: the part locks that way.
const STIFF: f64 = 12.0;
/// So is one that has stored so many times the energy of the highest state known.
const HIGH: f64 = 5.0;
/// States kept at most.
const MOST: usize = 40;

/// How a push is followed.
#[derive(Clone, Copy, Debug)]
struct Pace {
    points: u32,
    turn: f64,
}

const QUICK: Pace = Pace { points: 180, turn: 0.4 };
const PATIENT: Pace = Pace { points: 600, turn: 0.2 };

/// A piece that can be turned over or not.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Part1 {
    /// Over R.
    pub(crate) span: [f64; 2],
    pub(crate) rise: f64,
    pub(crate) turns: bool,
    pub(crate) stiffness: f64,
}

/// Pieces of a meridian; anything but lines and arcs is one piece.
pub(crate) fn pieces(part: &Part, radius: f64) -> Vec<Part1> {
    let m = &part.meridian;
    let spans: Vec<[f64; 2]> = match m {
        Meridian::Corners(c) => (0..c.pieces()).map(|i| c.span_of(i)).collect(),
        _ => vec![[0.0, m.length()]],
    };
    let rise = |[a, b]: [f64; 2]| m.before(b).z - m.at(a).z;
    let most = spans.iter().map(|s| rise(*s).abs()).fold(0.0, f64::max);
    spans
        .into_iter()
        .map(|[a, b]| {
            let own = rise([a, b]);
            let stiffness = part.wall.stiffness(0.5 * (a + b));
            // A slope under a degree, or a small share of the height, turns nothing over.
            let turns = stiffness == 1.0 && own.abs() > 0.0175 * (b - a) && own.abs() > 0.15 * most;
            Part1 { span: [a / radius, b / radius], rise: own / radius, turns, stiffness }
        })
        .collect()
}

/// A minimum among round shapes.
#[derive(Clone, Debug)]
pub(crate) struct Found {
    pub(crate) x: Vec<f64>,
    pub(crate) energy: f64,
}

/// A way between two of them.
#[derive(Clone, Debug)]
pub(crate) struct Passage {
    pub(crate) from: usize,
    pub(crate) to: usize,
    pub(crate) node: usize,
    pub(crate) force: f64,
    pub(crate) travel: f64,
    pub(crate) pass: f64,
    pub(crate) unstable: usize,
    pub(crate) peak_strain: f64,
}

/// What the search did.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct Tally {
    pub(crate) starts: usize,
    pub(crate) failed: usize,
    pub(crate) paths: usize,
    pub(crate) points: usize,
    pub(crate) cut_short: usize,
    pub(crate) full: bool,
}

/// The search on one mesh.
pub(crate) struct Search<'a> {
    pub(crate) model: &'a Model,
    /// The same with soft joints.
    soft: Model,
    pub(crate) pieces: &'a [Part1],
    /// Height of the natural part over R.
    pub(crate) tall: f64,
    /// Energy that counts as nothing, over E R³: that of a wall bent by a millionth of its thickness.
    pub(crate) nothing: f64,
    pub(crate) states: Vec<Found>,
    pub(crate) ways: Vec<Passage>,
    pub(crate) tally: Tally,
}

impl<'a> Search<'a> {
    pub(crate) fn new(model: &'a Model, pieces: &'a [Part1]) -> Self {
        let part = model.part();
        let nothing = 1e-6 * (part.wall.thickness(part.meridian.length()) / model.radius()).powi(3);
        let tall = pieces.iter().map(|p| p.rise.abs()).sum::<f64>().max(1e-3);
        let soft = model.with_joints_times(1e-4);
        Self {
            model,
            soft,
            pieces,
            tall,
            nothing,
            states: Vec::new(),
            ways: Vec::new(),
            tally: Tally::default(),
        }
    }

    /// Minimises every folded start.
    pub(crate) fn fold_all(&mut self, work: &mut Work) {
        let start = natural(self.model);
        self.settle(start, work);
        let able: Vec<usize> = (0..self.pieces.len()).filter(|i| self.pieces[*i].turns).collect();
        let h = |s: f64| {
            let part = self.model.part();
            part.wall.thickness(s * self.model.radius()) / self.model.radius()
        };
        let r = |s: f64| self.model.part().meridian.at(s * self.model.radius()).r / self.model.radius();
        for turned in combinations(able.len()) {
            let pieces: Vec<FoldedPiece> = self
                .pieces
                .iter()
                .enumerate()
                .map(|(i, p)| FoldedPiece {
                    span: p.span,
                    turned: able.iter().position(|a| *a == i).is_some_and(|k| turned[k]),
                    stiffness: p.stiffness,
                })
                .collect();
            // A lip as wide as the wall wants, and a narrower one for short pieces.
            for share in [0.7, 0.35] {
                let x = folded(self.model, &pieces, |s| share * (r(s) * h(s)).sqrt());
                if self.settle(x, work).is_some() {
                    break;
                }
            }
        }
    }

    /// Minimises from `x`; the index of the state.
    fn settle(&mut self, x: Vec<f64>, work: &mut Work) -> Option<usize> {
        self.tally.starts += 1;
        // Without stress Newton is there at once.
        let found = match follow::shift_to(self.model, &x, 1.0, 1.0, 8, work) {
            Some((y, energy, 0)) if distance(self.model, &x, &y) < 1e-3 * self.tall => Some((y, energy)),
            _ => self.downhill(x, work),
        };
        let kept = found.filter(|(x, _)| self.sound(x)).and_then(|(x, energy)| self.keep(x, energy));
        if kept.is_none() {
            self.tally.failed += 1;
        }
        kept
    }

    /// Downhill with soft joints, which are then stiffened step by step.
    fn downhill(&self, x: Vec<f64>, work: &mut Work) -> Option<(Vec<f64>, f64)> {
        let set =
            minimise::Settings { iterations: 80, radius: 0.3 * self.tall, ..minimise::Settings::default() };
        let mut x = lowest(&self.soft, x, &set, work)?;
        let mut energy = f64::NAN;
        for factor in [1e-3, 1e-2, 1e-1, 1.0] {
            let model = self.model.with_joints_times(factor);
            match follow::shift_to(&model, &x, 1.0, 1.0, 20, work) {
                Some((y, e, 0)) => (x, energy) = (y, e),
                // Stiffer joints moved it too far for Newton, or off a ridge: downhill again.
                _ => {
                    let y = lowest(&model, x, &set, work)?;
                    let (y, e, negative) = follow::shift_to(&model, &y, 1.0, 1.0, 20, work)?;
                    if negative > 0 {
                        return None;
                    }
                    (x, energy) = (y, e);
                }
            }
        }
        Some((x, energy))
    }

    /// Whether a state is a shape that a part can have: no wall through another, no slope beyond half a turn from the natural one.
    fn sound(&self, x: &[f64]) -> bool {
        let p = self.model.profile(x, 4);
        let n = self.model.profile(&natural(self.model), 4);
        let turned = |(a, b): (&calotte_shell::Sample, &calotte_shell::Sample)| {
            (a.slope - b.slope).abs() < std::f64::consts::PI
        };
        p.samples.iter().zip(&n.samples).all(turned) && !p.crosses_itself()
    }

    fn known(&self, x: &[f64]) -> Option<usize> {
        self.states.iter().position(|s| distance(self.model, &s.x, x) < SAME * self.tall)
    }

    fn keep(&mut self, x: Vec<f64>, energy: f64) -> Option<usize> {
        if let Some(i) = self.known(&x) {
            return Some(i);
        }
        if self.states.len() >= MOST {
            self.tally.full = true;
            return None;
        }
        self.states.push(Found { x, energy });
        Some(self.states.len() - 1)
    }

    /// Pushes every state, those found on the way included, at the inner end and at every joint between pieces, both ways.
    pub(crate) fn push_all(&mut self, work: &mut Work) {
        let nodes = self.places();
        let mut at = 0;
        while at < self.states.len() {
            self.push_from(at, &nodes, QUICK, work);
            at += 1;
            if at == self.states.len() {
                // States without a way out are pushed again, further and in smaller steps; that may find more states.
                for lonely in 0..at {
                    if at == self.states.len() && self.ways.iter().all(|w| w.from != lonely) {
                        self.push_from(lonely, &nodes, PATIENT, work);
                    }
                }
            }
        }
    }

    fn push_from(&mut self, from: usize, nodes: &[usize], pace: Pace, work: &mut Work) {
        for &node in nodes {
            for sign in [1.0, -1.0] {
                self.push(from, node, sign, pace, work);
            }
        }
    }

    /// Nodes that are pushed: the inner end, and the outer end of every piece that turns.
    fn places(&self) -> Vec<usize> {
        let nodes = self.model.nodes();
        let mut out = vec![0];
        for p in self.pieces.iter().filter(|p| p.turns) {
            let near = (0..nodes.len())
                .min_by(|a, b| (nodes[*a] - p.span[1]).abs().total_cmp(&(nodes[*b] - p.span[1]).abs()));
            out.extend(near.filter(|i| self.model.height_of(*i).is_some()));
        }
        out.dedup();
        out
    }

    fn push(&mut self, from: usize, node: usize, sign: f64, pace: Pace, work: &mut Work) {
        let Some(top) = self.model.height_of(node) else { return };
        let start = self.states[from].clone();
        let mut along = vec![0.0; start.x.len()];
        along[top] = sign;
        let Some(unit) = self.unit(&start.x, &along, work) else { return };
        let loaded = Loaded::new(self.model, 1.0, unit, Push::Along(along));
        let set = Settings {
            step: 0.03 * self.tall,
            longest: 0.5 * self.tall,
            shortest: 1e-8,
            weight: 0.3 * self.tall,
            corrections: 8,
            points: pace.points,
            cosine: 0.4,
            turn: pace.turn,
        };
        let Some(first) = follow::start(&loaded, start.x.clone(), 0.0, true, set.weight, work) else {
            return;
        };
        self.tally.paths += 1;
        let mut crossings: Vec<(usize, PathPoint)> = Vec::new();
        let mut points = vec![first.clone()];
        let far = 2.3 * self.tall;
        let (model, tall) = (self.model, self.tall);
        let mut arrived = false;
        // Only a state that holds something tells how much is much.
        let highest = self.states.iter().map(|s| s.energy).filter(|e| *e > self.nothing).fold(0.0, f64::max);
        let (_, end) = follow::follow(&loaded, first, &set, work, |here, next| {
            points.push(next.clone());
            if points.len() > 2 && here.t * next.t < 0.0 {
                let near = if here.t.abs() < next.t.abs() { here } else { next };
                // A path may come back to where it started.
                let away = distance(model, &near.x, &start.x) > 1e-2 * tall;
                arrived |= away && here.negative == 0 && next.negative == 0;
                crossings.push((points.len() - 1, near.clone()));
            }
            let elastic = next.energy + next.t * loaded.unit() * loaded.displacement(&next.x, next.t);
            let gone = (next.x[top] - start.x[top]).abs() > far
                || next.t.abs() > STIFF
                || (highest > 0.0 && elastic > start.energy + HIGH * highest);
            let stop = gone || arrived || crossings.len() >= 7 || model.profile(&next.x, 1).crosses_itself();
            if stop { Watch::Stop } else { Watch::Go }
        });
        self.tally.points += points.len();
        self.tally.cut_short += usize::from(end != PathEnd::Stopped);
        let mut pass: Option<(f64, usize)> = None;
        for (row, near) in crossings {
            let Some((x, energy, negative)) = follow::shift_to(&loaded, &near.x, near.t, 0.0, 12, work)
            else {
                continue;
            };
            if negative > 0 {
                pass = pass.filter(|p| p.0 > energy).or(Some((energy, negative)));
                continue;
            }
            if !self.sound(&x) {
                break;
            }
            let Some(to) = self.keep(x, energy) else { break };
            let Some((height, unstable)) = pass.filter(|_| to != from) else { continue };
            // The first peak of the push on the way is what trips it.
            let way = &points[..=row];
            let peak = match way.windows(2).find(|w| w[0].dt > 0.0 && w[1].dt < 0.0) {
                Some(w) => follow::locate(&loaded, &w[0], &w[1], &set, 1e-6, work, |p, _| Some(p.dt))
                    .map_or_else(|| w[usize::from(w[1].t > w[0].t)].clone(), |l| l.point),
                None => way[way.len() - 1].clone(),
            };
            let peak_strain = way
                .iter()
                .step_by(1 + way.len() / 24)
                .map(|p| face_strain(model, &p.x).0)
                .fold(0.0, f64::max);
            self.ways.push(Passage {
                from,
                to,
                node,
                force: sign * unit * peak.t,
                travel: peak.x[top] - start.x[top],
                pass: height - start.energy,
                unstable,
                peak_strain,
            });
            break;
        }
    }

    /// The force that would move its circle by a fifth of the height, were the part linear at this state.
    fn unit(&self, x: &[f64], along: &[f64], work: &mut Work) -> Option<f64> {
        let n = x.len();
        let (mut g, mut h) = (vec![0.0; n], Band::new(n, self.model.half_bandwidth()));
        self.model.assemble(x, 1.0, &mut g, &mut h);
        let mut moved = along.to_vec();
        h.factor().ok()?.solve(&mut moved);
        work.factorisations += 1;
        work.solves += 1;
        let compliance: f64 = moved.iter().zip(along).map(|(a, b)| a * b).sum();
        (compliance.abs() > 0.0 && compliance.is_finite()).then(|| 0.2 * self.tall / compliance.abs())
    }
}

/// Downhill as far as it goes. Towards a state without stress no step gains a share of what is left, and the search ends without
/// saying that it is there; Newton then tells.
fn lowest(model: &Model, x: Vec<f64>, set: &minimise::Settings, work: &mut Work) -> Option<Vec<f64>> {
    match minimise(model, x, 1.0, set, work) {
        Ok(m) => Some(m.x),
        Err(minimise::Failure::Spent { best, .. } | minimise::Failure::Stalled { best, .. }) => Some(best),
        Err(_) => None,
    }
}

/// Which of `count` pieces are turned: every combination but none, or every run of neighbours when they are many.
fn combinations(count: usize) -> Vec<Vec<bool>> {
    if count <= ALL_OF {
        return (1..1_usize << count).map(|k| (0..count).map(|i| k >> i & 1 == 1).collect()).collect();
    }
    let run = |a: usize, b: usize| (0..count).map(|i| i >= a && i <= b).collect();
    (0..count).flat_map(|a| (a..count).map(move |b| (a, b))).map(|(a, b)| run(a, b)).collect()
}

/// Distance of two states in the metric's norm.
fn distance(model: &Model, a: &[f64], b: &[f64]) -> f64 {
    let d: Vec<f64> = a.iter().zip(b).map(|(x, y)| x - y).collect();
    norm(model.metric(), &d)
}

/// Largest strain at a face and where (over R): `|ε| + h|κ|/2` in either direction; heat's own strains are not taken off.
pub(crate) fn face_strain(model: &Model, x: &[f64]) -> (f64, f64) {
    let samples = model.profile(x, 3).samples;
    samples
        .iter()
        .map(|s| {
            let face = |i: usize| s.strain[i].abs() + 0.5 * s.thickness * s.bending[i].abs();
            (face(0).max(face(1)), s.s)
        })
        .fold((0.0, 0.0), |a, b| if b.0 > a.0 { b } else { a })
}
