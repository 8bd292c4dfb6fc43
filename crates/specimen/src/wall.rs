//! The wall: how thick along the arc, of what layers, and where it is stiffened.

use std::sync::Arc;

use crate::Layers;
use crate::corners::SLACK;

/// A stretch whose modulus is many times that of the wall: as good as rigid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stiffened {
    /// From and to this arclength, m.
    pub span: [f64; 2],
    /// Factor on every modulus.
    pub factor: f64,
}

/// Wall thickness along the arc, metres; piecewise linear in s, steps allowed.
#[derive(Clone, Debug, PartialEq)]
pub struct Wall {
    knots: Vec<(f64, f64)>,
    layers: Option<Arc<Layers>>,
    stiffened: Vec<Stiffened>,
}

impl Wall {
    /// The same thickness everywhere.
    pub fn uniform(thickness: f64) -> Self {
        Self::of(vec![(0.0, thickness)])
    }

    fn of(knots: Vec<(f64, f64)>) -> Self {
        Self { knots, layers: None, stiffened: Vec::new() }
    }

    /// Linear between `(s, thickness)` knots, constant beyond the first and the last.
    /// `None` unless the arclengths increase strictly and every thickness is positive and finite.
    pub fn table(knots: Vec<(f64, f64)>) -> Option<Self> {
        let rising = knots.windows(2).all(|w| w[1].0 > w[0].0);
        if rising { Self::stepped(knots) } else { None }
    }

    /// The same with steps: two knots may lie at one arclength, the thickness before it and the one after.
    /// `None` when more than two do, arclengths fall, or a thickness is not positive and finite.
    pub fn stepped(knots: Vec<(f64, f64)>) -> Option<Self> {
        let rising = knots.windows(2).all(|w| w[1].0 >= w[0].0) && knots.windows(3).all(|w| w[2].0 > w[0].0);
        let sound = knots.iter().all(|k| k.0.is_finite() && k.1.is_finite() && k.1 > 0.0);
        (rising && sound && !knots.is_empty()).then_some(Self::of(knots))
    }

    /// The same wall made of these layers.
    pub fn with_layers(mut self, layers: Option<Arc<Layers>>) -> Self {
        self.layers = layers;
        self
    }

    /// The same wall with stretches made stiff.
    pub fn with_stiffened(mut self, stiffened: Vec<Stiffened>) -> Self {
        self.stiffened = stiffened;
        self
    }

    /// The layers, if it has any.
    pub fn layers(&self) -> Option<&Layers> {
        self.layers.as_deref()
    }

    /// The layers, shared with another wall.
    pub fn layers_shared(&self) -> Option<Arc<Layers>> {
        self.layers.clone()
    }

    /// The same wall at another temperature (K); unchanged without layers.
    pub fn at_temperature(&self, temperature: f64) -> Self {
        let layers = self.layers.as_ref().map(|l| Arc::new(Layers { temperature, ..(**l).clone() }));
        Self { layers, ..self.clone() }
    }

    /// Stretches made stiff.
    pub fn stiffened(&self) -> &[Stiffened] {
        &self.stiffened
    }

    /// Factor on every modulus at arclength `s`.
    pub fn stiffness(&self, s: f64) -> f64 {
        self.stiffened.iter().find(|p| s > p.span[0] && s < p.span[1]).map_or(1.0, |p| p.factor)
    }

    /// Thickness at arclength `s`; at a step the one after it.
    pub fn thickness(&self, s: f64) -> f64 {
        self.between(self.knots.partition_point(|p| p.0 <= s * (1.0 + SLACK)), s)
    }

    /// Thickness at arclength `s`; at a step the one before it.
    pub fn thickness_before(&self, s: f64) -> f64 {
        self.between(self.knots.partition_point(|p| p.0 < s * (1.0 - SLACK)), s)
    }

    fn between(&self, i: usize, s: f64) -> f64 {
        let k = &self.knots;
        match (i.checked_sub(1).map(|j| k[j]), k.get(i)) {
            (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (s - a.0) / (b.0 - a.0),
            (Some(a), None) => a.1,
            (None, Some(b)) => b.1,
            (None, None) => f64::NAN, // a wall has at least one knot
        }
    }

    /// Arclengths where the thickness or its slope jumps, or stiffening begins or ends.
    pub fn breaks(&self) -> impl Iterator<Item = f64> + '_ {
        self.knots.iter().map(|k| k.0).chain(self.stiffened.iter().flat_map(|p| p.span))
    }

    /// Arclengths where the wall itself jumps: steps of thickness, ends of stiffening.
    pub fn steps(&self) -> impl Iterator<Item = f64> + '_ {
        let steps = self.knots.windows(2).filter(|w| w[0].0 == w[1].0 && w[0].1 != w[1].1).map(|w| w[0].0);
        steps.chain(self.stiffened.iter().flat_map(|p| p.span))
    }

    /// Whether it is the same everywhere.
    pub fn is_uniform(&self) -> bool {
        self.knots.iter().all(|k| k.1 == self.knots[0].1) && self.stiffened.is_empty()
    }

    /// The wall with every thickness multiplied by `factor`.
    pub fn scaled(&self, factor: f64) -> Self {
        Self { knots: self.knots.iter().map(|k| (k.0, k.1 * factor)).collect(), ..self.clone() }
    }

    /// The knots `(s, thickness)`.
    pub fn knots(&self) -> &[(f64, f64)] {
        &self.knots
    }
}
