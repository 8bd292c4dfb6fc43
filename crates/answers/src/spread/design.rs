//! Exact readings at chosen parts and the surfaces through them.

use calotte_chance::quasi::Sobol;
use calotte_solve::Work;

use super::laws::{Together, Varied, drawn};
use super::report::BatchWaves;
use super::surface::{Basis, Room, Surface};
use crate::gauge::{Gauge, Gauges, NoReading};
use crate::many::{Watch, each};

/// What was found of one part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Found {
    At(f64),
    /// The part does not do that.
    Nowhere,
    Unknown,
}

impl Found {
    pub(super) fn at(self) -> Option<f64> {
        if let Self::At(v) = self { Some(v) } else { None }
    }
}

/// Exact readings, counted.
pub(super) struct Reader<'a> {
    pub(super) gauges: &'a Gauges<'a>,
    pub(super) varied: &'a [Varied],
    pub(super) work: Work,
    pub(super) waves: BatchWaves,
    /// Why the first reading that failed did.
    pub(super) fault: Option<String>,
}

impl Reader<'_> {
    pub(super) fn changes(&self, x: &[f64]) -> Vec<(usize, f64)> {
        self.varied.iter().zip(x).map(|(v, x)| (v.place, *x)).collect()
    }

    /// Readings of parts in order; `None` when stopped.
    pub(super) fn read(&mut self, parts: &[Vec<f64>], watch: &Watch<'_>) -> Option<Vec<Vec<Found>>> {
        let all = each(parts.len(), watch, |i| {
            let mut work = Work::default();
            (self.gauges.read_in_waves(&self.changes(&parts[i]), &mut work), work)
        })?;
        let mut out = Vec::with_capacity(all.len());
        for (readings, work) in all {
            self.work += work;
            self.waves.parts += 1;
            let n = readings.iter().flatten().map(|r| r.1).find(|n| *n > 0);
            self.waves.first += usize::from(n.is_some());
            self.waves.n.extend(n);
            let found = readings.into_iter().map(|r| match r {
                Ok((v, _)) if v.is_nan() => Found::Unknown,
                Ok((v, _)) => Found::At(v),
                Err(NoReading::Nowhere(_)) => Found::Nowhere,
                Err(why) => {
                    self.fault.get_or_insert_with(|| why.to_string());
                    Found::Unknown
                }
            });
            out.push(found.collect());
        }
        self.waves.n.sort_unstable();
        self.waves.n.dedup();
        Some(out)
    }
}

/// The box of the tolerances.
pub(super) struct Frame {
    middle: Vec<f64>,
    half: Vec<f64>,
}

impl Frame {
    pub(super) fn of(varied: &[Varied]) -> Self {
        let ends: Vec<[f64; 2]> = varied.iter().map(Varied::range).collect();
        Self {
            middle: ends.iter().map(|e| 0.5 * (e[0] + e[1])).collect(),
            half: ends.iter().map(|e| (0.5 * (e[1] - e[0])).max(f64::MIN_POSITIVE)).collect(),
        }
    }

    pub(super) fn scaled(&self, x: &[f64]) -> Vec<f64> {
        x.iter().zip(self.middle.iter().zip(&self.half)).map(|(x, (m, h))| (x - m) / h).collect()
    }

    fn back(&self, z: &[f64]) -> Vec<f64> {
        z.iter().zip(self.middle.iter().zip(&self.half)).map(|(z, (m, h))| m + z * h).collect()
    }
}

/// Surfaces of every gauge.
pub(super) struct Surfaces {
    pub(super) frame: Frame,
    pub(super) of: Vec<Surface>,
    pub(super) fitted: usize,
    pub(super) held_out: usize,
    /// Numbers that change anything.
    pub(super) active: Vec<usize>,
    /// The corner at which the first gauge is least.
    pub(super) worst: Vec<f64>,
}

impl Surfaces {
    /// Values of all gauges, and whether the place lies in the box.
    pub(super) fn at(&self, x: &[f64], room: &mut Room) -> (Vec<f64>, bool) {
        let mut z = self.frame.scaled(x);
        let inside = z.iter().all(|z| z.abs() <= 1.0 + 1e-9);
        z.iter_mut().for_each(|z| *z = z.clamp(-1.0, 1.0));
        (self.of.iter().map(|s| s.at(&z, room)).collect(), inside)
    }
}

/// Parts drawn that surfaces are held against.
const DRAWN_OUT: usize = 32;
/// Corners of the box that they are held against, at most.
const CORNERS: usize = 16;
/// Readings fitted to at most, where they are followed and where each needs a path of its own.
const MOST: [usize; 2] = [640, 160];
/// Largest degree.
const DEGREE: usize = 7;
/// Error over the deviation of a gauge that ends refinement.
const TARGET: f64 = 2e-3;
/// Error over it beyond which a surface is of no use.
const USELESS: f64 = 0.1;
/// Change of a reading, relative, below which a number does nothing.
const NOTHING: f64 = 1e-9;

/// Why there are no surfaces.
pub(super) enum NoSurface {
    Stopped,
    Because(String),
}

/// Reads the design and fits.
pub(super) fn surfaces(
    reader: &mut Reader<'_>,
    together: &[Together],
    seed: u64,
    watch: &Watch<'_>,
) -> Result<Surfaces, NoSurface> {
    let kinds = reader.gauges.kinds().to_vec();
    if kinds.contains(&Gauge::Wait) {
        return Err(NoSurface::Because(
            "a wait ends where staying begins, and no smooth surface does that".to_owned(),
        ));
    }
    let frame = Frame::of(reader.varied);
    let count = reader.varied.len();
    // The middle and both ends of every number alone.
    let mut places = vec![vec![0.0; count]];
    for j in 0..count {
        for end in [-1.0, 1.0] {
            let mut z = vec![0.0; count];
            z[j] = end;
            places.push(z);
        }
    }
    let mut values = read(reader, &frame, &places, watch)?;
    let swing = |j: usize, g: usize| 0.5 * (values[2 * j + 2][g] - values[2 * j + 1][g]);
    let moved = |j: usize, g: usize| {
        let here = values[0][g];
        let most = [1, 2].map(|e| (values[2 * j + e][g] - here).abs()).into_iter().fold(0.0, f64::max);
        most > NOTHING * here.abs().max(1e-6)
    };
    let active: Vec<usize> = (0..count).filter(|j| (0..kinds.len()).any(|g| moved(*j, g))).collect();
    // Half of what a number does over its whole range is about what its deviation does.
    let sizes: Vec<f64> = (0..kinds.len())
        .map(|g| (0..count).map(|j| 0.25 * swing(j, g) * swing(j, g)).sum::<f64>().sqrt())
        .collect();
    let signs: Vec<f64> = (0..count).map(|j| if swing(j, 0) > 0.0 { -1.0 } else { 1.0 }).collect();
    let mut held: Vec<Vec<f64>> = corners(&active, &signs, count, seed);
    reader.waves.corners += held.len();
    let wanted = if active.is_empty() { 1 } else { DRAWN_OUT };
    let mut points = Sobol::shifted(count, seed, 1).ok_or_else(too_many)?;
    held.extend((0..wanted).map(|_| {
        let x = drawn(reader.varied, together, &points.point());
        frame.scaled(&x).iter().map(|z| z.clamp(-1.0, 1.0)).collect::<Vec<f64>>()
    }));
    let known = read(reader, &frame, &held, watch)?;
    let most = MOST[usize::from(!kinds.iter().all(|k| reader.gauges.follows(*k)))];
    let mut points = Sobol::shifted(count, seed, 0).ok_or_else(too_many)?;
    let mut best: Vec<Option<Surface>> = vec![None; kinds.len()];
    for degree in 2..=DEGREE {
        let terms = Basis::count(active.len(), degree);
        let needed = 2 * terms;
        if needed > most && degree > 2 {
            break;
        }
        if needed > places.len() {
            let more: Vec<Vec<f64>> = (places.len()..needed)
                .map(|_| {
                    let point = points.point();
                    // Numbers that do nothing stay where they are.
                    (0..count).map(|j| if active.contains(&j) { 2.0 * point[j] - 1.0 } else { 0.0 }).collect()
                })
                .collect();
            values.extend(read(reader, &frame, &more, watch)?);
            places.extend(more);
        }
        let mut room = Room::default();
        for (g, best) in best.iter_mut().enumerate() {
            let readings: Vec<f64> = values.iter().map(|v| v[g]).collect();
            let Some(mut s) = Surface::fit(Basis::new(&active, degree), &places, &readings) else { continue };
            let apart = held.iter().zip(&known).map(|(z, k)| (s.at(z, &mut room) - k[g]).abs());
            // Rounding and the accuracy of the readings are the least that is claimed.
            s.error = (2.0 * apart.fold(0.0, f64::max)).max(1e-9 * values[0][g].abs());
            if best.as_ref().is_none_or(|b| s.error < b.error) {
                *best = Some(s);
            }
        }
        let good = |(b, size): (&Option<Surface>, &f64)| b.as_ref().is_some_and(|b| b.error <= TARGET * size);
        if best.iter().zip(&sizes).all(good) {
            break;
        }
    }
    let mut of = Vec::new();
    for ((b, size), kind) in best.into_iter().zip(&sizes).zip(&kinds) {
        let Some(s) = b else {
            return Err(NoSurface::Because(format!("no surface could be fitted to the {}", kind.name())));
        };
        if s.error > USELESS * size && *size > 0.0 {
            return Err(NoSurface::Because(format!(
                "the {} is no smooth function of the numbers: a surface misses it by up to {} of its deviation",
                kind.name(),
                crate::explain::digits(s.error / size, 2)
            )));
        }
        of.push(s);
    }
    let worst = frame.back(&held[0]);
    Ok(Surfaces { fitted: places.len(), held_out: held.len(), frame, of, active, worst })
}

fn too_many() -> NoSurface {
    NoSurface::Because(format!(
        "more than {} numbers vary, too many for a surface",
        calotte_chance::quasi::DIMENSIONS
    ))
}

/// Corners of the box: the one at which the first gauge is least to first order, then all of few numbers or some of many.
fn corners(active: &[usize], signs: &[f64], count: usize, seed: u64) -> Vec<Vec<f64>> {
    let corner = |sign: &dyn Fn(usize, usize) -> f64| {
        let mut z = vec![0.0; count];
        active.iter().enumerate().for_each(|(k, j)| z[*j] = sign(k, *j));
        z
    };
    let mut out = vec![corner(&|_, j| signs[j])];
    let mut stream = calotte_chance::Stream::of(seed, u64::MAX);
    let all = 1usize.checked_shl(active.len() as u32).unwrap_or(usize::MAX);
    for i in 0..all.min(CORNERS) {
        let bits = if all <= CORNERS { i as u64 } else { stream.next() };
        let z = corner(&|k, _| if bits >> (k % 64) & 1 == 1 { 1.0 } else { -1.0 });
        if !out.contains(&z) {
            out.push(z);
        }
    }
    out
}

/// Readings at places of the box, all of which must be there.
fn read(
    reader: &mut Reader<'_>,
    frame: &Frame,
    places: &[Vec<f64>],
    watch: &Watch<'_>,
) -> Result<Vec<Vec<f64>>, NoSurface> {
    let parts: Vec<Vec<f64>> = places.iter().map(|z| frame.back(z)).collect();
    let found = reader.read(&parts, watch).ok_or(NoSurface::Stopped)?;
    found
        .into_iter()
        .map(|f| f.into_iter().map(|v| v.at().filter(|v| v.is_finite())).collect::<Option<Vec<f64>>>())
        .collect::<Option<Vec<Vec<f64>>>>()
        .ok_or_else(|| {
            NoSurface::Because(match &reader.fault {
                Some(why) => format!("at some place within the tolerances there is no reading ({why})"),
                None => "at some place within the tolerances the part does not do what is read".to_owned(),
            })
        })
}
