//! The wall: how thick along the arc.

/// Wall thickness along the arc, metres; piecewise linear in s.
#[derive(Clone, Debug, PartialEq)]
pub struct Wall {
    knots: Vec<(f64, f64)>,
}

impl Wall {
    /// The same thickness everywhere.
    pub fn uniform(thickness: f64) -> Self {
        Self { knots: vec![(0.0, thickness)] }
    }

    /// Linear between `(s, thickness)` knots, constant beyond the first and the last.
    /// `None` unless the arclengths increase strictly and every thickness is positive and finite.
    pub fn table(knots: Vec<(f64, f64)>) -> Option<Self> {
        let rising = knots.windows(2).all(|w| w[1].0 > w[0].0);
        let sound = knots.iter().all(|k| k.0.is_finite() && k.1.is_finite() && k.1 > 0.0);
        (rising && sound && !knots.is_empty()).then_some(Self { knots })
    }

    /// Thickness at arclength `s`.
    pub fn thickness(&self, s: f64) -> f64 {
        let k = &self.knots;
        let i = k.partition_point(|p| p.0 <= s);
        match (i.checked_sub(1).map(|j| k[j]), k.get(i)) {
            (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (s - a.0) / (b.0 - a.0),
            (Some(a), None) => a.1,
            (None, Some(b)) => b.1,
            (None, None) => f64::NAN, // a wall has at least one knot
        }
    }

    /// Arclengths where the slope of the thickness jumps.
    pub fn breaks(&self) -> impl Iterator<Item = f64> + '_ {
        self.knots.iter().map(|k| k.0)
    }

    /// Whether the thickness is the same everywhere.
    pub fn is_uniform(&self) -> bool {
        self.knots.iter().all(|k| k.1 == self.knots[0].1)
    }

    /// The wall with every thickness multiplied by `factor`.
    pub fn scaled(&self, factor: f64) -> Self {
        Self { knots: self.knots.iter().map(|k| (k.0, k.1 * factor)).collect() }
    }

    /// The knots `(s, thickness)`.
    pub fn knots(&self) -> &[(f64, f64)] {
        &self.knots
    }
}
