/// Isotropic elastic constants.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Material {
    /// Young's modulus E, Pa, > 0.
    pub youngs: f64,
    /// Poisson ratio ν, −1 < ν ≤ 0.5.
    pub poisson: f64,
    /// Mass density, kg/m³; `None` when the case does not give it (frequencies are then in units of
    /// `√(E/ρ)/R`).
    pub density: Option<f64>,
}
