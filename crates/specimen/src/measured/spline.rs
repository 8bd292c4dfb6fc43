//! Cubic B-splines on equal intervals, and integrals of their sine and cosine.

/// One interval: φ(u) = Σ phi[k] uᵏ with u the arclength from its start, and the curve's start point.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Piece {
    pub(super) r: f64,
    pub(super) z: f64,
    pub(super) phi: [f64; 4],
}

impl Piece {
    pub(super) fn slope(&self, u: f64) -> f64 {
        let c = &self.phi;
        c[0] + u * (c[1] + u * (c[2] + u * c[3]))
    }

    pub(super) fn curvature(&self, u: f64) -> f64 {
        let c = &self.phi;
        c[1] + u * (2.0 * c[2] + 3.0 * u * c[3])
    }

    pub(super) fn enlarged(&self, k: f64) -> Self {
        let c = &self.phi;
        Self { r: self.r * k, z: self.z * k, phi: [c[0], c[1] / k, c[2] / (k * k), c[3] / (k * k * k)] }
    }
}

/// Gauss–Legendre abscissae and weights on 0..1, ten points: exact to rounding for the integrals below
/// while φ turns by less than about π within the interval.
pub(super) const GAUSS: [(f64, f64); 10] = [
    (0.01304673574141414, 0.03333567215434407),
    (0.06746831665550775, 0.0747256745752903),
    (0.1602952158504878, 0.10954318125799102),
    (0.2833023029353764, 0.13463335965499817),
    (0.4255628305091844, 0.14776211235737644),
    (0.5744371694908156, 0.14776211235737644),
    (0.7166976970646236, 0.13463335965499817),
    (0.8397047841495122, 0.10954318125799102),
    (0.9325316833444922, 0.0747256745752903),
    (0.9869532642585859, 0.03333567215434407),
];

/// `[∫ cos φ, ∫ sin φ]` over 0..u of the cubic φ.
pub(super) fn integrate(phi: &[f64; 4], u: f64) -> [f64; 2] {
    let mut sum = [0.0; 2];
    for (x, w) in GAUSS {
        let t = u * x;
        let (sin, cos) = libm::sincos(phi[0] + t * (phi[1] + t * (phi[2] + t * phi[3])));
        sum[0] += w * cos;
        sum[1] += w * sin;
    }
    [sum[0] * u, sum[1] * u]
}

/// The four cubic B-splines that live on an interval, at 0 ≤ u ≤ 1 of it.
pub(super) fn basis(u: f64) -> [f64; 4] {
    let v = 1.0 - u;
    [
        v * v * v / 6.0,
        (4.0 + u * u * (3.0 * u - 6.0)) / 6.0,
        (1.0 + 3.0 * u * (1.0 + u * (1.0 - u))) / 6.0,
        u * u * u / 6.0,
    ]
}

/// Power coefficients on an interval of unit width, from its four B-spline coefficients.
pub(super) fn powers(c: &[f64]) -> [f64; 4] {
    [
        (c[0] + 4.0 * c[1] + c[2]) / 6.0,
        0.5 * (c[2] - c[0]),
        0.5 * (c[0] - 2.0 * c[1] + c[2]),
        (c[3] - 3.0 * c[2] + 3.0 * c[1] - c[0]) / 6.0,
    ]
}
