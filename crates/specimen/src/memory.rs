//! Memory of the material: a Prony series for its relaxation, and how temperature shifts its times.

/// One term of a Prony series.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MemoryTerm {
    /// Share gᵢ of the instantaneous modulus that relaxes, 0 < gᵢ < 1.
    pub share: f64,
    /// Relaxation time τᵢ at the reference temperature, s.
    pub time: f64,
}

/// How temperature shifts every relaxation time: `τ(T) = a(T) τ`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TimeShift {
    /// The times hold at any temperature.
    None,
    /// `log₁₀ a = −c₁ (T − T₀)/(c₂ + T − T₀)` (Williams, Landel & Ferry 1955, J. Am. Chem. Soc. 77, 3701).
    Wlf {
        /// c₁, a pure number.
        c1: f64,
        /// c₂, K.
        c2: f64,
        /// Reference temperature T₀, K.
        reference: f64,
    },
    /// `ln a = (Q/R)(1/T − 1/T₀)`.
    Arrhenius {
        /// Activation energy Q, J/mol.
        energy: f64,
        /// Reference temperature T₀, K.
        reference: f64,
    },
}

/// Molar gas constant, J/(mol K) (exact since the SI of 2019).
pub const GAS_CONSTANT: f64 = 8.314_462_618_153_24;

impl TimeShift {
    /// The factor a(T) on every relaxation time at temperature `kelvin`; `None` outside the law's domain.
    pub fn factor(&self, kelvin: f64) -> Option<f64> {
        let a = match *self {
            Self::None => 1.0,
            Self::Wlf { c1, c2, reference } => {
                let d = kelvin - reference;
                if c2 + d <= 0.0 {
                    return None;
                }
                libm::pow(10.0, -c1 * d / (c2 + d))
            }
            Self::Arrhenius { energy, reference } => {
                if kelvin <= 0.0 {
                    return None;
                }
                libm::exp(energy / GAS_CONSTANT * (1.0 / kelvin - 1.0 / reference))
            }
        };
        (a.is_finite() && a > 0.0).then_some(a)
    }
}

/// Relaxation modulus over its instantaneous value: `G(t)/G₀ = 1 − Σ gᵢ (1 − e^{−t/τᵢ})`. The Poisson ratio is
/// taken as constant, so that every generalised stress relaxes alike; Young's modulus of the case is the
/// instantaneous one.
#[derive(Clone, Debug, PartialEq)]
pub struct Memory {
    /// The terms, in the order of their times; shares add up to less than 1.
    pub terms: Vec<MemoryTerm>,
    /// How temperature shifts the times.
    pub shift: TimeShift,
}

impl Memory {
    /// `G(t)/G₀` at the reference temperature.
    pub fn modulus(&self, t: f64) -> f64 {
        // expm1 keeps the digits of short times.
        1.0 + self.terms.iter().map(|m| m.share * libm::expm1(-t / m.time)).sum::<f64>()
    }

    /// Sum of the shares: what a fully relaxed material has lost.
    pub fn loss(&self) -> f64 {
        self.terms.iter().map(|m| m.share).sum()
    }

    /// The terms with their times at temperature `kelvin` (as they are when it is not stated); `None` outside the
    /// domain of the shift's law.
    pub fn at(&self, kelvin: Option<f64>) -> Option<Vec<MemoryTerm>> {
        let a = kelvin.map_or(Some(1.0), |k| self.shift.factor(k))?;
        Some(self.terms.iter().map(|m| MemoryTerm { share: m.share, time: a * m.time }).collect())
    }
}
