//! Reports for the tests. Everything in them is INVENTED: the inverted shape is the mirror image
//! with a made-up lip, energies and branch follow made-up formulas. They exercise the drawing and
//! say nothing about any real part.

use calotte_answers::report::{
    Branch, BranchPoint, EnergyAlongArc, Evidence, InvertedState, Margin, MirrorComparison, PartSummary,
    SCHEMA_VERSION, SampledMeridian, Strains, Verdict, VerdictReport, Work,
};

/// A made-up spherical cap.
#[derive(Clone, Debug)]
pub(crate) struct Invented {
    pub(crate) title: &'static str,
    pub(crate) radius_m: f64,
    pub(crate) half_angle_deg: f64,
    pub(crate) thickness_m: f64,
    pub(crate) hole_radius_m: f64,
    /// h*/h.
    pub(crate) threshold_over_thickness: f64,
    pub(crate) inverted: bool,
    pub(crate) lip: bool,
    pub(crate) governing_n: u32,
}

impl Default for Invented {
    fn default() -> Self {
        Self {
            title: "Invented cap",
            radius_m: 0.025,
            half_angle_deg: 50.0,
            thickness_m: 0.002,
            hole_radius_m: 0.0,
            threshold_over_thickness: 1.2,
            inverted: true,
            lip: true,
            governing_n: 0,
        }
    }
}

impl Invented {
    pub(crate) fn report(&self) -> VerdictReport {
        let (radius, h) = (self.radius_m, self.thickness_m);
        let alpha = self.half_angle_deg.to_radians();
        let start = libm::asin(self.hole_radius_m / radius);
        let rows = 241;
        let length = radius * (alpha - start);
        let mut natural = SampledMeridian::default();
        for i in 0..rows {
            let phi = start + (alpha - start) * f64::from(i) / f64::from(rows - 1);
            natural.s_m.push(radius * (phi - start));
            natural.r_m.push(radius * libm::sin(phi));
            natural.z_m.push(radius * (1.0 - libm::cos(phi)));
            natural.slope_rad.push(phi);
            natural.thickness_m.push(h);
        }
        let lip = (1.2 * libm::sqrt(radius * h)).min(0.6 * length);
        let threshold = h * self.threshold_over_thickness;
        let height = radius * (libm::cos(start) - libm::cos(alpha));
        let u = libm::sqrt((1.0 - h / tip(threshold, self.governing_n)).max(0.0) / 0.7);
        let inverted = self.inverted.then(|| {
            let state = self.inverted_state(&natural, length, lip);
            InvertedState { pole_height_m: pole_height(height, u), ..state }
        });
        VerdictReport {
            schema_version: SCHEMA_VERSION,
            title: self.title.to_owned(),
            verdict: if self.inverted { Verdict::Stays } else { Verdict::Returns },
            explanation: Vec::new(),
            doubts: Vec::new(),
            warnings: Vec::new(),
            part: PartSummary {
                shape: "cap of a sphere".to_owned(),
                sphere_radius_m: radius,
                half_angle_rad: alpha,
                rim_radius_m: radius * libm::sin(alpha),
                rise_m: height,
                arc_length_m: length,
                hole_radius_m: self.hole_radius_m,
                thickness_m: h,
                thickness_ratio: h / radius,
                lambda: 0.0,
                youngs_modulus_Pa: 1.2e6,
                poisson_ratio: 0.5,
                density_kg_per_m3: None,
                rim: "free".to_owned(),
                uniform_wall: true,
                meridian: natural,
            },
            margin: Some(Margin {
                governing_n: self.governing_n,
                threshold_thickness_m: threshold,
                thickness_ratio: h / threshold,
                lambda_ratio: 1.0,
                threshold_lambda: 0.0,
                depth: None,
                depth_note: String::new(),
                spread: None,
                sensitivities: Vec::new(),
            }),
            wait: None,
            inverted,
            ripples: Vec::new(),
            eversion: None,
            ripple_bound: None,
            branch: invented_branch(threshold, height, self.governing_n),
            evidence: Evidence {
                residual: Some(0.0),
                ripple_difference: None,
                elements_coarse: 0,
                elements_fine: 0,
                threshold_difference: None,
                energy_difference: None,
                fold_bracket: None,
                fold_residual: None,
                limits: Vec::new(),
                work: Work::default(),
            },
        }
    }

    fn inverted_state(&self, natural: &SampledMeridian, length: f64, lip: f64) -> InvertedState {
        let rows = natural.s_m.len();
        let mut m = SampledMeridian { s_m: natural.s_m.clone(), ..SampledMeridian::default() };
        let mut energy = EnergyAlongArc { s_m: natural.s_m.clone(), ..EnergyAlongArc::default() };
        let (mut r, mut z) = (natural.r_m[0], 3.0e-3);
        let cut = length - lip;
        for i in 0..rows {
            let s = natural.s_m[i];
            // Slope of the mirror image plus a made-up turn that undoes its curvature at `cut`.
            let turn = |s: f64| 0.5 * lip / self.radius_m * libm::exp((s - cut) / (0.5 * lip));
            let bend = turn(s) - turn(0.0);
            let slope = -natural.slope_rad[i] + if self.lip { bend } else { 0.0 };
            if i > 0 {
                let step = s - natural.s_m[i - 1];
                let before = m.slope_rad[i - 1];
                r += step * libm::cos((slope + before) / 2.0);
                z += step * libm::sin((slope + before) / 2.0);
            }
            m.r_m.push(r);
            m.z_m.push(z);
            m.slope_rad.push(slope);
            m.thickness_m.push(natural.thickness_m[i]);
            let y = (length - s) / lip;
            let decay = libm::exp(-1.5 * y);
            let base = 1.2e6 * libm::pow(self.thickness_m, 3.0) / (self.radius_m * self.radius_m);
            energy.stretching_J_per_m2.push(0.9 * base * decay * (1.0 + libm::cos(3.0 * y)));
            energy.bending_J_per_m2.push(base * (1.0 - 0.8 * decay * libm::cos(1.5 * y)));
        }
        let area = 2.0 * std::f64::consts::PI * self.radius_m * length;
        InvertedState {
            pole_height_m: 0.0,
            rim_radius_m: r,
            rim_slope_rad: m.slope_rad[rows - 1],
            lip_width_m: self.lip.then_some(lip),
            lip_width_over_root_Rh: None,
            curvature_sign_changes_m: if self.lip { vec![cut] } else { Vec::new() },
            stretching_energy_J: 0.2 * area * energy.bending_J_per_m2[0],
            bending_energy_J: 0.5 * area * energy.bending_J_per_m2[0],
            rim_energy_J: 0.0,
            saddle_energy_J: None,
            barrier_J: None,
            strains: Strains {
                rim_meridional: 0.0,
                rim_hoop: 0.0,
                largest_membrane: 0.0,
                largest_bending: 0.0,
                largest_surface: 0.0,
                largest_surface_at_m: 0.0,
            },
            mirror: MirrorComparison {
                energy_J: 0.0,
                energy_ratio: 1.0,
                rim_slope_change_rad: 0.0,
                rim_radius_change_m: 0.0,
                height_ratio: 1.0,
            },
            meridian: m,
            energy,
            saddle_meridian: None,
        }
    }
}

/// Tip of the made-up branch: at the threshold, or beyond it when a ripple governs.
fn tip(threshold: f64, governing_n: u32) -> f64 {
    if governing_n == 0 { threshold } else { 1.15 * threshold }
}

/// Made-up height: `u` is 1 at the thin end of the stable side, 0 at the fold, negative on saddles.
fn pole_height(height: f64, u: f64) -> f64 {
    height * (0.6 + if u > 0.0 { 0.35 * u } else { 0.5 * u })
}

/// A made-up branch: thickness is a parabola of `u` with its tip at the fold.
fn invented_branch(threshold: f64, height: f64, governing_n: u32) -> Branch {
    let steps = 40;
    let points = (0..=2 * steps)
        .map(|i| {
            let u = 1.0 - f64::from(i) / f64::from(steps);
            BranchPoint {
                thickness_m: tip(threshold, governing_n) * (1.0 - 0.7 * u * u),
                pole_height_m: pole_height(height, u),
                rim_slope_rad: 0.0,
                energy_J: 0.0,
                negative: usize::from(i > steps),
            }
        })
        .collect();
    Branch { points, fold: Some(steps as usize) }
}
