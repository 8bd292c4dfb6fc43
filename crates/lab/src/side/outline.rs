//! Outlines that computed parts show from the side: what a distant camera sees of a body of revolution.

/// The two faces of a wall about a meridian: `[r, z]` from the pole to the rim of the face on the side of the normal
/// (−sin φ, cos φ), then of the other one. `shape` holds r, z, slope φ and thickness.
pub fn faces(shape: &[[f64; 4]]) -> [Vec<[f64; 2]>; 2] {
    [0.5, -0.5].map(|side| {
        let face = |s: &[f64; 4]| {
            let (sin, cos) = libm::sincos(s[2]);
            [(s[0] - side * s[3] * sin).max(0.0), s[1] + side * s[3] * cos]
        };
        shape.iter().map(face).collect()
    })
}

/// The outline of the whole body seen from the side, as a closed polygon of `[x, z]`: at every distance x from the axis the highest
/// and the lowest point seen, the camera raised by `elevation` (rad) over the horizon. `meridian` is the closed meridian of the body.
pub fn whole(meridian: &[[f64; 2]], elevation: f64, steps: usize) -> Vec<[f64; 2]> {
    let (se, ce) = libm::sincos(elevation.abs());
    let widest = meridian.iter().map(|p| p[0]).fold(0.0, f64::max);
    let (mut top, mut bottom) = (Vec::new(), Vec::new());
    let mut columns: Vec<f64> = (0..=steps)
        .map(|k| widest * libm::sin(0.5 * std::f64::consts::PI * k as f64 / steps as f64))
        .chain(meridian.iter().map(|p| p[0]))
        .collect();
    columns.sort_by(f64::total_cmp);
    columns.dedup_by(|a, b| (*a - *b).abs() < 1e-9 * widest);
    for x in columns {
        let (mut high, mut low) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut see = |z: f64, r: f64| {
            let bow = se * (r * r - x * x).max(0.0).sqrt();
            high = high.max(z * ce + bow);
            low = low.min(z * ce - bow);
        };
        for (k, p) in meridian.iter().enumerate() {
            let q = meridian[(k + 1) % meridian.len()];
            if p[0] >= x * (1.0 - 1e-12) {
                see(p[1], p[0]);
            }
            let (dr, dz) = (q[0] - p[0], q[1] - p[1]);
            if (p[0] - x) * (q[0] - x) < 0.0 {
                see(p[1] + (x - p[0]) / dr * dz, x);
            }
            // Between both ends the circles of a piece of a cone touch their envelope where r = x/√(1 − g²) (closed form).
            let g = se * dr / (ce * dz);
            if g != 0.0 && g.abs() < 1.0 {
                let r = x / (1.0 - g * g).sqrt();
                if (p[0] - r) * (q[0] - r) < 0.0 {
                    see(p[1] + (r - p[0]) / dr * dz, r);
                }
            }
        }
        if high.is_finite() {
            top.push([x, high]);
            bottom.push([x, low]);
        }
    }
    let mirrored = |line: &[[f64; 2]]| line.iter().map(|p| [-p[0], p[1]]).collect::<Vec<_>>();
    let mut out: Vec<[f64; 2]> = mirrored(&top).into_iter().rev().chain(top.iter().copied()).collect();
    out.extend(bottom.iter().rev().copied());
    out.extend(mirrored(&bottom));
    out
}

/// The outline of the cut face of a part cut through its axis: the crescent between both faces.
pub fn section(outer: &[[f64; 2]], inner: &[[f64; 2]]) -> Vec<[f64; 2]> {
    let mirrored = |line: &[[f64; 2]]| line.iter().rev().map(|p| [-p[0], p[1]]).collect::<Vec<_>>();
    let mut out = mirrored(outer);
    out.extend(outer);
    out.extend(inner.iter().rev());
    out.extend(mirrored(inner).into_iter().rev());
    out
}
