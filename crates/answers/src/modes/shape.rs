//! What a mode moves: fields along the meridian, shares of energy, nodal circles.

use calotte_shell::{Harmonics, Sample};

use crate::modes::report::{Kind, Place, Shape};
use crate::modes::stage::Stage;

/// Samples in each element.
pub(crate) const PER_ELEMENT: usize = 4;
/// A field smaller than this share of the largest is at rest.
const STILL: f64 = 1e-5;
/// A stretch at an end on which the field stays below this share of the largest is held.
const HELD: f64 = 0.05;

/// Reads modes of one stage.
pub(crate) struct Reader<'a> {
    stage: &'a Stage,
    samples: Vec<Sample>,
    /// Mass of each sample's stretch of wall.
    weights: Vec<f64>,
    /// The wall without supports at its thickness, and as it would bend were bending twice as stiff.
    bare: [Harmonics<'a>; 2],
}

/// What is read from a vector.
pub(crate) struct Reading {
    pub(crate) shape: Shape,
    pub(crate) kind: Kind,
    pub(crate) bending_share: f64,
    pub(crate) normal_share: f64,
    pub(crate) around_share: f64,
    /// Arclengths over R.
    pub(crate) circles: Vec<f64>,
}

impl<'a> Reader<'a> {
    /// `bare` is the stage without supports.
    pub(crate) fn new(stage: &'a Stage, bare: &'a Stage) -> Self {
        let samples = stage.model.profile(&stage.x, PER_ELEMENT).samples;
        let part = stage.model.part();
        let radius = stage.model.radius();
        let weights = (0..samples.len())
            .map(|i| {
                let from = samples[i.saturating_sub(1)].s;
                let to = samples[(i + 1).min(samples.len() - 1)].s;
                let natural = part.meridian.at(samples[i].s * radius).r / radius;
                0.5 * (to - from) * natural * samples[i].thickness
            })
            .collect();
        let root = std::f64::consts::SQRT_2;
        let bare = [1.0, root].map(|f| Harmonics::new(&bare.model, &bare.x, f * bare.t));
        Self { stage, samples, weights, bare }
    }

    /// Where the columns of shapes are taken; heights from the rim.
    pub(crate) fn place(&self) -> Place {
        let r = self.stage.model.radius();
        let column = |f: fn(&Sample) -> f64, by: f64| self.samples.iter().map(|s| f(s) * by).collect();
        Place {
            s_m: column(|s| s.s, r),
            r_m: column(|s| s.r, r),
            z_m: column(|s| s.z, r),
            slope_rad: column(|s| s.slope, 1.0),
        }
    }

    /// Fields of a vector, the largest displacement 1 and positive where the largest field peaks.
    pub(crate) fn shape(&self, vector: &[f64], n: u32) -> Shape {
        let fields = self.stage.model.ripple_samples(vector, n, PER_ELEMENT);
        let mut out = Shape::default();
        for (f, p) in fields.iter().zip(&self.samples) {
            let (sin, cos) = libm::sincos(p.slope);
            out.across.push(f[3] * cos - f[1] * sin);
            out.along.push(f[1] * cos + f[3] * sin);
            out.around.push(f[2]);
        }
        let length = |i: usize| libm::hypot(out.across[i], out.along[i]).max(out.around[i].abs());
        let largest = (0..fields.len()).map(length).fold(f64::MIN_POSITIVE, f64::max);
        let peak = [&out.across, &out.along, &out.around]
            .into_iter()
            .flatten()
            .fold(0.0_f64, |a, b| if b.abs() > a.abs() { *b } else { a });
        let by = peak.signum() / largest;
        for column in [&mut out.across, &mut out.along, &mut out.around] {
            column.iter_mut().for_each(|v| *v *= by);
        }
        out
    }

    /// Everything about a vector.
    pub(crate) fn read(&self, vector: &[f64], n: u32) -> Reading {
        let shape = self.shape(vector, n);
        let energy = |f: &[f64]| -> f64 { f.iter().zip(&self.weights).map(|(v, w)| v * v * w).sum() };
        let parts = [&shape.across, &shape.along, &shape.around].map(|f| energy(f));
        let total: f64 = parts.iter().sum();
        let y = self.stage.model.ripple_nodal(vector, n);
        let [once, twice] = [0, 1].map(|i| {
            let k = self.bare[i].stiffness(n);
            let mut ky = vec![0.0; y.len()];
            k.multiply(&y, &mut ky);
            y.iter().zip(&ky).map(|(a, b)| a * b).sum::<f64>()
        });
        let bending = twice - once;
        let bending_share = bending / once;
        let around_share = parts[2] / total;
        let kind = if n == 0 && around_share > 0.5 {
            Kind::Torsion
        } else if bending_share >= 0.5 {
            Kind::Bending
        } else {
            Kind::Stretching
        };
        let main = (0..3).fold(0, |a, b| if parts[b] > parts[a] { b } else { a });
        let circles = self.circles([&shape.across, &shape.along, &shape.around][main]);
        Reading { circles, kind, bending_share, normal_share: parts[0] / total, around_share, shape }
    }

    /// Where a field changes sign. Its zeros at the ends are left out, and so is a stretch at an end on which the field is
    /// all but held (a rim on a ring slides a little, which moves its zero inwards by a hair).
    fn circles(&self, field: &[f64]) -> Vec<f64> {
        let largest = field.iter().fold(0.0_f64, |a, b| a.max(b.abs()));
        let mut zeros = Vec::new();
        // Largest value on each stretch between zeros.
        let mut stretches = vec![0.0_f64];
        let mut last: Option<usize> = None;
        for (i, v) in field.iter().enumerate() {
            if v.abs() < STILL * largest {
                continue;
            }
            if let Some(j) = last
                && field[j] * v < 0.0
            {
                let share = field[j] / (field[j] - v);
                zeros.push(self.samples[j].s + share * (self.samples[i].s - self.samples[j].s));
                stretches.push(0.0);
            }
            if let Some(s) = stretches.last_mut() {
                *s = s.max(v.abs());
            }
            last = Some(i);
        }
        if stretches.last().is_some_and(|s| *s < HELD * largest) {
            zeros.pop();
        }
        if stretches.first().is_some_and(|s| *s < HELD * largest) && !zeros.is_empty() {
            zeros.remove(0);
        }
        zeros
    }
}
