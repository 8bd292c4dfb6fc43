//! Looking along faces: where they turn back, how steep they are, where air stays.

/// Where a face first gets narrower by more than a tolerance: index of the widest point before it.
pub(super) fn narrows(face: &[[f64; 2]], tolerance: f64) -> Option<usize> {
    let mut widest = 0;
    for (i, p) in face.iter().enumerate() {
        if p[0] >= face[widest][0] {
            widest = i;
        } else if face[widest][0] - p[0] > tolerance {
            return Some(widest);
        }
    }
    None
}

/// The first place from `from` on where a face that narrows going up does not: where it widens again or goes down.
pub(super) fn not_narrowing(face: &[[f64; 2]], from: usize, tolerance: f64) -> Option<[f64; 2]> {
    let mut narrowest = face[from][0];
    let mut highest = face[from][1];
    for p in &face[from..] {
        if p[0] > narrowest + tolerance || p[1] < highest - tolerance {
            return Some(*p);
        }
        narrowest = narrowest.min(p[0]);
        highest = highest.max(p[1]);
    }
    None
}

/// By how much what surrounds a face has to be stretched to be lifted off it: the widest place below over the narrowest above, less one.
pub(super) fn stretch(face: &[[f64; 2]]) -> f64 {
    let mut widest = 0.0_f64;
    let mut most = 0.0_f64;
    for p in face {
        widest = widest.max(p[0]);
        if p[0] > 0.0 {
            most = most.max(widest / p[0] - 1.0);
        }
    }
    most
}

/// Smallest angle between a face and upright where it widens, rad; pieces shorter than a hundredth of the face are passed over.
pub(super) fn steepest(face: &[[f64; 2]]) -> f64 {
    face.windows(2)
        .filter(|w| w[1][0] >= w[0][0])
        .map(|w| libm::atan2(w[1][0] - w[0][0], (w[1][1] - w[0][1]).abs()))
        .fold(f64::INFINITY, f64::min)
}

/// Radii at which an upper face has a highest place inside: where air stays when it is filled from below.
pub(super) fn tops(face: &[[f64; 2]], tolerance: f64) -> Vec<f64> {
    let mut out = Vec::new();
    let (mut top, mut low) = (0, f64::INFINITY);
    for (i, p) in face.iter().enumerate() {
        if p[1] > face[top][1] {
            top = i;
        }
        if face[top][1] - p[1] > tolerance && face[top][1] - low > tolerance {
            out.push(face[top][0]);
            (top, low) = (i, p[1]);
        }
        low = low.min(p[1]);
        if p[1] <= low {
            top = i;
        }
    }
    out
}

/// Height of a face at a radius, by chords.
pub(super) fn height(face: &[[f64; 2]], r: f64) -> Option<f64> {
    face.windows(2).find(|w| w[0][0] <= r && r <= w[1][0]).map(|w| {
        let d = w[1][0] - w[0][0];
        if d > 0.0 { w[0][1] + (w[1][1] - w[0][1]) * (r - w[0][0]) / d } else { w[0][1] }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faces_are_looked_along() {
        let bulge = [[0.0, 0.0], [1.0, 0.0], [2.0, 1.0], [1.5, 2.0], [1.0, 3.0]];
        assert_eq!(narrows(&bulge, 0.01), Some(2));
        assert_eq!(not_narrowing(&bulge, 2, 0.01), None);
        assert!((stretch(&bulge) - 1.0).abs() < 1e-12);
        let again = [[0.0, 0.0], [2.0, 1.0], [1.0, 2.0], [3.0, 3.0]];
        assert_eq!(not_narrowing(&again, 1, 0.01), Some([3.0, 3.0]));
        assert_eq!(narrows(&[[0.0, 0.0], [1.0, 2.0], [2.0, 1.0]], 0.01), None);
        assert_eq!(tops(&[[0.0, 0.0], [1.0, 2.0], [2.0, 1.0], [3.0, 4.0]], 0.01), [1.0]);
        assert_eq!(tops(&[[0.0, 0.0], [1.0, 1.0], [2.0, 2.0]], 0.01), [] as [f64; 0]);
        assert_eq!(height(&bulge, 1.5), Some(0.5));
    }
}
