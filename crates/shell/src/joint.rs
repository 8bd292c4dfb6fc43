//! Joints: places where slope, curvature or wall jump.
//!
//! Both sides of a joint have a node of their own at one place. Where only the curvature jumps they share the tangent. Where the
//! slope or the wall jumps, each side stretches by itself and the angle between the tangents is held by a turning spring of
//! stiffness [`RIGID`] · D/h per length, D and h those of the softer side: as much as a piece of its wall of length h/[`RIGID`] gives
//! way. With the stiffer side's, rounding in a spring beside a rigid piece would drown the forces of the soft wall.

use calotte_solve::{Jet, Scalar};
use calotte_specimen::Part;

use crate::model::{DOF, Model};
use crate::springs::turning;

/// How many times stiffer than a wall as long as it is thick a rigid joint is.
const RIGID: f64 = 1e6;

/// One joint of a model.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Joint {
    /// Its second node; the first is the one before.
    pub(crate) node: usize,
    /// Natural jump of the slope angle.
    pub(crate) turn: f64,
    /// 2π r₀ · turning stiffness per length over E R³ at thickness factor 1 (it grows as t²); `None` where the tangent is shared.
    pub(crate) stiffness: Option<f64>,
}

pub(crate) fn joints_of(part: &Part, radius: f64, nodes: &[f64]) -> Vec<Joint> {
    let tiny = 1e-9 * part.meridian.length();
    let known = part.meridian.joints();
    let steps: Vec<f64> = part.wall.steps().collect();
    let nu = part.material.poisson;
    let twice = (1..nodes.len()).filter(|i| nodes[*i] == nodes[*i - 1]);
    twice
        .map(|node| {
            let s = nodes[node] * radius;
            let near = |p: f64| (p - s).abs() < tiny;
            let turn = known.iter().find(|j| near(j.s)).map_or(0.0, |j| j.turn);
            let stiff = turn != 0.0 || steps.iter().any(|p| near(*p));
            let side = |h: f64, at: f64| part.wall.stiffness(at) * (h / radius).powi(2);
            let softer = side(part.wall.thickness_before(s), s - 2.0 * tiny)
                .min(side(part.wall.thickness(s), s + 2.0 * tiny));
            let r = part.meridian.at(s).r / radius;
            let rigid = RIGID * softer / (12.0 * (1.0 - nu * nu));
            Joint { node, turn, stiffness: stiff.then_some(2.0 * std::f64::consts::PI * r * rigid) }
        })
        .collect()
}

/// An angle brought into (−π, π].
fn wrapped(angle: f64) -> f64 {
    let turn = 2.0 * std::f64::consts::PI;
    angle - turn * (angle / turn).round()
}

impl Joint {
    /// Places of `ℓr′, ℓz′` of both sides in a full nodal vector.
    fn places(&self) -> [usize; 4] {
        let (a, b) = (DOF * (self.node - 1), DOF * self.node);
        [a + 1, a + 4, b + 1, b + 4]
    }

    /// Turning beyond the natural angle.
    pub(crate) fn angle(&self, q: &[f64]) -> f64 {
        let [a, b, c, d] = self.places().map(|i| q[i]);
        let own = libm::atan2(a * d - b * c, a * c + b * d);
        wrapped(own - self.turn)
    }

    /// Gradient of the turning in the four slopes, and its second derivatives: (aa, ab, bb) of either side.
    fn derivatives(&self, q: &[f64]) -> ([f64; 4], [[f64; 3]; 2]) {
        let [a, b, c, d] = self.places().map(|i| q[i]);
        let ((g, h), (k, l)) = (turning(a, b), turning(c, d));
        ([-g[0], -g[1], k[0], k[1]], [h.map(|v| -v), l])
    }
}

impl Model {
    /// The same model with the turning springs of its joints multiplied by `factor`. Searches from far away like soft joints: a rigid
    /// one is a narrow valley.
    pub fn with_joints_times(&self, factor: f64) -> Model {
        let mut out = self.clone();
        for j in &mut out.joints {
            j.stiffness = j.stiffness.map(|k| k * factor);
        }
        out
    }

    fn stiff_joints(&self) -> impl Iterator<Item = (&Joint, f64)> {
        self.joints.iter().filter_map(|j| j.stiffness.map(|k| (j, k)))
    }

    /// Energy of the joints over E R³ t.
    pub(crate) fn joint_energy(&self, q: &[f64], t: f64) -> f64 {
        self.stiff_joints().map(|(j, k)| 0.5 * t * t * k * j.angle(q).powi(2)).sum()
    }

    /// Adds `w` times the gradient of the joints' energy (before t²) to a full nodal vector.
    pub(crate) fn joint_forces(&self, q: &[f64], w: f64, full: &mut [f64]) {
        for (j, k) in self.stiff_joints() {
            let (g, _) = j.derivatives(q);
            let moment = w * k * j.angle(q);
            for (i, g) in j.places().into_iter().zip(g) {
                full[i] += moment * g;
            }
        }
    }

    /// Adds the joint that element `e` is to its matrix, over t.
    pub(crate) fn add_joint(&self, e: usize, q: &[f64], t: f64, k: &mut [[f64; 12]; 12]) {
        let Some((j, stiff)) = self.stiff_joints().find(|(j, _)| j.node == e + 1) else { return };
        let (g, h) = j.derivatives(q);
        let (w, angle) = (t * t * stiff, j.angle(q));
        let local = [1, 4, DOF + 1, DOF + 4];
        for a in 0..4 {
            for b in 0..4 {
                let mut v = g[a] * g[b];
                if a / 2 == b / 2 {
                    v += angle * h[a / 2][a % 2 + b % 2];
                }
                k[local[a]][local[b]] += w * v;
            }
        }
    }

    /// Adds the joints' shares of the derivatives along `dq`: in t, of that along dq, and the third.
    pub(crate) fn joint_directional(
        &self,
        q: &[f64],
        dq: &[f64],
        t: f64,
        slope: &mut [f64],
        slope_v: &mut [f64],
        third: &mut [f64],
    ) {
        for (j, k) in self.stiff_joints() {
            let at = j.places();
            let jets = at.map(|i| Jet { v: q[i], d1: dq[i], d2: 0.0 });
            let (g, h) = j.derivatives(q);
            let second = |a: usize| {
                let [x, y] = [dq[at[2 * a]], dq[at[2 * a + 1]]];
                h[a][0] * x * x + 2.0 * h[a][1] * x * y + h[a][2] * y * y
            };
            let angle =
                Jet { v: j.angle(q), d1: (0..4).map(|i| g[i] * dq[at[i]]).sum(), d2: second(0) + second(1) };
            let side = |a: Jet, b: Jet| {
                let m = Jet::constant(1.0) / (a * a + b * b);
                [-(b * m), a * m]
            };
            let ([g0, g1], [g2, g3]) = (side(jets[0], jets[1]), side(jets[2], jets[3]));
            for (i, g) in at.into_iter().zip([-g0, -g1, g2, g3]) {
                let f = angle * g * k;
                slope[i] += 2.0 * t * f.v;
                slope_v[i] += 2.0 * t * f.d1;
                third[i] += t * t * f.d2;
            }
        }
    }
}
