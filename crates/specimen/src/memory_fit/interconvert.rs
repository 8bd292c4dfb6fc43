//! From creep to relaxation, exactly.

use crate::MemoryTerm;

/// Creep compliance `J(t) = J₀ + Σ Jᵢ (1 − e^{−t/λᵢ})`.
#[derive(Clone, Debug, PartialEq)]
pub struct Creep {
    /// Instantaneous compliance J₀, 1/Pa, > 0.
    pub instantaneous: f64,
    /// Jᵢ (1/Pa, > 0) and λᵢ (s, > 0), times increasing.
    pub terms: Vec<[f64; 2]>,
}

impl Creep {
    /// The relaxation that belongs to it, as shares of `1/J₀`.
    ///
    /// The Carson transforms of relaxation and creep are reciprocal, `Ĝ(s) Ĵ(s) = 1`. With `x = −s` the zeros of
    /// `Ĵ = J₀ + Σ Jᵢ/(1 − λᵢ x)` are the rates `1/τₖ`. `Ĵ` grows between its poles `1/λᵢ`, so that one zero lies between
    /// each two of them and one beyond the last. The residues give `gₖ = J₀ τₖ / Σᵢ Jᵢ λᵢ/(1 − λᵢ xₖ)²`.
    ///
    /// Source: recomputed from the stated equations. Guard: `tests::standard_linear_solid`, `tests::stress_of_a_creep_test_stays_one`.
    pub fn relaxation(&self) -> Vec<MemoryTerm> {
        // Rates of the poles, increasing: the slowest first.
        let mut terms = self.terms.clone();
        terms.sort_by(|a, b| b[1].total_cmp(&a[1]));
        let mut out: Vec<MemoryTerm> = (0..terms.len()).map(|k| self.zero(&terms, k)).collect();
        out.reverse();
        out
    }

    /// The zero between pole k and the next one, as a term of the relaxation.
    fn zero(&self, terms: &[[f64; 2]], k: usize) -> MemoryTerm {
        let near = |pole: usize, d: f64| -> Vec<f64> {
            // 1 − λᵢ x at x = (1 + d)/λ_pole, without cancellation at that pole.
            let at = terms[pole][1];
            terms.iter().map(|[_, l]| (at - l) / at - d * (l / at)).collect()
        };
        let value = |pole: usize, d: f64| -> f64 {
            self.instantaneous + terms.iter().zip(near(pole, d)).map(|(t, w)| t[0] / w).sum::<f64>()
        };
        let gap = terms.get(k + 1).map(|next| terms[k][1] / next[1] - 1.0);
        // Counted from the pole that is nearer.
        let (pole, sign, most) = match gap {
            Some(gap) if value(k, 0.5 * gap) < 0.0 => {
                (k + 1, -1.0, 0.5 * gap * terms[k + 1][1] / terms[k][1])
            }
            Some(gap) => (k, 1.0, 0.5 * gap),
            None => (k, 1.0, f64::MAX.sqrt()),
        };
        // Bits of positive floats are in order: 64 halvings reach neighbours.
        let (mut low, mut high) = (f64::MIN_POSITIVE.to_bits(), most.to_bits());
        while high - low > 1 {
            let middle = low + (high - low) / 2;
            let below = value(pole, sign * f64::from_bits(middle)) < 0.0;
            // From the left pole the value grows with the distance, from the right one it falls.
            if below == (sign > 0.0) { low = middle } else { high = middle }
        }
        let d = sign * f64::from_bits(high);
        let time = terms[pole][1] / (1.0 + d);
        let slope: f64 = terms.iter().zip(near(pole, d)).map(|([j, l], w)| j * l / (w * w)).sum();
        MemoryTerm { share: self.instantaneous * time / slope, time }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One term: τ = λ J₀/(J₀ + J₁), so τ_creep = τ_relax/(1 − g), g = J₁/(J₀ + J₁): closed form.
    #[test]
    fn standard_linear_solid() {
        for (j0, j1, lambda) in [(1.0, 0.25, 10.0), (2e-6, 1e-9, 1e-3), (1e-9, 5e-9, 1e5), (1.0, 1e-12, 1.0)]
        {
            let found = Creep { instantaneous: j0, terms: vec![[j1, lambda]] }.relaxation()[0];
            let g = j1 / (j0 + j1);
            assert!((found.share / g - 1.0).abs() < 1e-13, "{found:?} {g}");
            assert!((lambda * (1.0 - g) / found.time - 1.0).abs() < 1e-13, "{found:?}");
        }
    }

    /// `∫₀ᵗ G(t − s) dJ(s) = 1` at every t: closed form of the hereditary law; the integral by Simpson's rule.
    #[test]
    fn stress_of_a_creep_test_stays_one() {
        let terms = vec![[0.3e-6, 0.5], [0.2e-6, 4.0], [0.001e-6, 5.0], [0.5e-6, 300.0]];
        let creep = Creep { instantaneous: 1e-6, terms: terms.clone() };
        let memory = crate::Memory { terms: creep.relaxation(), shift: crate::TimeShift::None };
        let total: f64 = 1e-6 + terms.iter().map(|t| t[0]).sum::<f64>();
        assert!((1.0 - memory.loss() - 1e-6 / total).abs() < 1e-14, "G∞ J∞ = 1");
        let modulus = |t: f64| 1e6 * memory.modulus(t);
        for t in [0.1, 1.0, 10.0, 100.0] {
            let rate = |s: f64| terms.iter().map(|[j, l]| j / l * libm::exp(-s / l)).sum::<f64>();
            let n = 20_000;
            let h = t / f64::from(n);
            let integral: f64 = (0..=n)
                .map(|i| {
                    let weight = if i == 0 || i == n {
                        1.0
                    } else if i % 2 == 1 {
                        4.0
                    } else {
                        2.0
                    };
                    let s = f64::from(i) * h;
                    weight * modulus(t - s) * rate(s)
                })
                .sum::<f64>()
                * h
                / 3.0;
            let stress = modulus(t) * 1e-6 + integral;
            assert!((stress - 1.0).abs() < 1e-9, "{t}: {stress}");
        }
    }

    #[test]
    fn zeros_and_poles_take_turns() {
        let terms = vec![[1e-9, 1.0], [1.0, 1.000_001], [1e-6, 1e6], [3.0, 1e7]];
        let found = Creep { instantaneous: 0.5, terms: terms.clone() }.relaxation();
        for (k, term) in found.iter().enumerate() {
            assert!(term.time < terms[k][1] && (k == 0 || term.time > terms[k - 1][1]), "{found:?}");
            assert!(term.share > 0.0);
        }
    }
}
