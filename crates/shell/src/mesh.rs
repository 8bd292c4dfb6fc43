//! Elements along the arc, graded to the edge length √(Rh) at free or held edges.

use calotte_specimen::{Meridian, Part};

/// How a mesh is graded.
#[derive(Clone, Copy, Debug)]
pub struct Grading {
    /// Element length at an edge, in units of √(Rh) there.
    pub edge: f64,
    /// Ratio of neighbouring element lengths away from an edge, > 1.
    pub growth: f64,
    /// Longest element as a share of the sphere radius (an angle, for a cap).
    pub longest: f64,
    /// Thickness factor for which the edge length is taken.
    pub thickness_factor: f64,
    /// Shortest element at a pole as a share of √(Rh), for a load there (its slope goes as x ln x).
    pub pole: Option<f64>,
}

impl Default for Grading {
    fn default() -> Self {
        Self { edge: 0.55, growth: 1.35, longest: 0.2, thickness_factor: 1.0, pole: None }
    }
}

/// Node arclengths, in metres, first at the pole or hole edge, last at the rim.
#[derive(Clone, Debug, PartialEq)]
pub struct Mesh {
    /// Increasing arclengths.
    pub nodes: Vec<f64>,
}

/// Places where slope, curvature or wall jump: edges inside the part.
fn joints(part: &Part) -> Vec<f64> {
    let mut places: Vec<f64> = part.meridian.joints().iter().map(|j| j.s).collect();
    places.extend(part.wall.steps());
    places
}

/// Second principal radius of curvature r/|sin φ₀| beside arclength `s`, the smaller of both sides.
fn bend_radius(part: &Part, s: f64) -> f64 {
    let sides = [part.meridian.before(s), part.meridian.at(s)];
    sides.iter().map(|p| p.r / p.sin.abs()).fold(f64::INFINITY, f64::min)
}

impl Mesh {
    /// A graded mesh for `part`, whose sphere radius is `radius` (m).
    pub fn graded(part: &Part, radius: f64, g: &Grading) -> Self {
        let length = part.meridian.length();
        let inner_edges = joints(part);
        let composed = matches!(part.meridian, Meridian::Corners(_));
        let size_at = |s: f64| {
            let h = |at: f64| part.wall.thickness(at) * g.thickness_factor;
            let from_edge = |distance: f64, edge: f64| {
                // Lines and arcs have an edge length of their own everywhere; a flat piece none.
                let own = if composed { radius.min(bend_radius(part, edge)) } else { radius };
                g.edge * (own * h(edge)).sqrt() + (g.growth - 1.0) / g.growth.sqrt() * distance
            };
            let mut size = g.longest * radius;
            for edge in &inner_edges {
                size = size.min(from_edge((s - edge).abs(), *edge));
            }
            if let Some(share) = g.pole {
                let edge = (radius * part.wall.thickness(0.0) * g.thickness_factor).sqrt();
                size = size.min(share * edge + 0.6 * s);
            }
            if !part.meridian.ends_at_pole() {
                size = size.min(from_edge(length - s, length));
            }
            if !part.meridian.starts_at_pole() {
                size = size.min(from_edge(s, 0.0));
            }
            size
        };
        let mut breaks: Vec<f64> = part.meridian.breaks();
        breaks.extend(part.wall.breaks());
        let tiny = 1e-9 * length;
        breaks.retain(|s| *s > tiny && *s < length - tiny);
        breaks.extend([0.0, length]);
        breaks.sort_by(f64::total_cmp);
        breaks.dedup_by(|a, b| (*a - *b).abs() < tiny);
        let mut nodes = vec![0.0];
        for w in breaks.windows(2) {
            // Spread nodes so that each element holds the same share of ∫ ds/size.
            let (a, b) = (w[0], w[1]);
            // A mesh graded to a pole varies over many scales.
            let fine = if g.pole.is_some() { 4000 } else { 300 };
            let mut share = vec![0.0];
            for i in 0..fine {
                let s = a + (b - a) * (i as f64 + 0.5) / fine as f64;
                share.push(share[i] + (b - a) / fine as f64 / size_at(s));
            }
            let total = share[fine];
            // A piece between joints bends by itself.
            let least = if inner_edges.is_empty() { 1.0 } else { 2.0 };
            let count = (total - 1e-6).ceil().max(least) as usize;
            let mut i = 0;
            for e in 1..count {
                let want = total * e as f64 / count as f64;
                while share[i + 1] < want {
                    i += 1;
                }
                let f = (want - share[i]) / (share[i + 1] - share[i]);
                nodes.push(a + (b - a) * (i as f64 + f) / fine as f64);
            }
            nodes.push(b);
        }
        // A whole part has at least three elements, or a fold cannot form.
        let mut mesh = Self { nodes };
        while mesh.elements() < 3 {
            mesh = mesh.bisected();
        }
        mesh
    }

    /// `count` equal elements.
    pub fn uniform(part: &Part, count: usize) -> Self {
        let length = part.meridian.length();
        Self { nodes: (0..=count).map(|i| length * i as f64 / count as f64).collect() }
    }

    /// Number of elements.
    pub fn elements(&self) -> usize {
        self.nodes.len() - 1
    }

    /// Every element halved; the interpolation space contains the old one.
    pub fn bisected(&self) -> Self {
        self.refined(&vec![true; self.elements()])
    }

    /// The marked elements halved.
    pub fn refined(&self, marked: &[bool]) -> Self {
        let mut nodes = vec![self.nodes[0]];
        for (w, m) in self.nodes.windows(2).zip(marked) {
            if *m {
                nodes.push(0.5 * (w[0] + w[1]));
            }
            nodes.push(w[1]);
        }
        Self { nodes }
    }
}
