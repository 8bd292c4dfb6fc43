//! Heated free discs that trip and reset.
//!
//! The wall of such a disc, when heated, wants to lose the curvature x/R in both directions. Deep caps: the measure of
//! [`crate::cap`] with `κ_s = φ′ − φ₀′ + x/R`, `κ_θ = (sin φ − sin φ₀)/r₀ + x/R`, and, where the wall grows too, with the
//! wanted strain taken off both strains. Without growth the equations are the same for the mirror image when x becomes
//! 2 − x, shallow or deep, so trip and reset lie alike about the flat disc and their sum is 2. With growth it is not.
//!
//! All are axisymmetric folds of the branch that starts without stress; sideways modes were not looked for.

use crate::{Known, Slack, Status};

const WITTRICK: &str = "Wittrick, Myers & Blunden 1953, Stability of a bimetallic disk, Q. J. Mech. Appl. Math. 6, 15 \
    (equations: Marguerre 1938 with a wanted curvature); recomputed by Chebyshev collocation";
const DEEP: &str = "recomputed from the stated equations (Chebyshev collocation, three resolutions)";

const fn found(id: &'static str, what: &'static str, value: f64, digit: f64, source: &'static str) -> Known {
    Known { id, what, value, unit: "1", within: Slack::Absolute(digit), source, status: Status::Recomputed }
}

/// Trip and reset of a disc.
#[derive(Clone, Copy, Debug)]
pub struct Trip {
    /// x at the trip: the curvature that heat takes from the wall, times R.
    pub taken: Known,
    /// x at the reset.
    pub reset: Known,
    /// Height of the rim over the pole just before the trip, over that of the natural disc.
    pub before: Known,
    /// The same after the trip; negative: inverted.
    pub after: Known,
}

impl Trip {
    /// Its four rows.
    pub const fn rows(&self) -> [Known; 4] {
        [self.taken, self.reset, self.before, self.after]
    }
}

/// A shallow disc. Heights at the reset are those of the trip with the other sign.
#[derive(Clone, Copy, Debug)]
pub struct ShallowDisc {
    /// Poisson ratio.
    pub nu: f64,
    /// λ.
    pub lambda: f64,
    /// Trip and reset.
    pub trip: Trip,
}

/// A disc of any depth, ν = 0.3.
#[derive(Clone, Copy, Debug)]
pub struct DeepDisc {
    /// Half-angle, degrees.
    pub alpha_deg: f64,
    /// h/R.
    pub h_over_r: f64,
    /// Strain that the wall wants in both directions over x; h/3R for two equal layers of which the convex one does not
    /// expand.
    pub growth: f64,
    /// Trip and reset.
    pub trip: Trip,
}

macro_rules! trip {
    ($id:literal, $what:literal, $source:expr, $taken:expr, $reset:expr, $before:expr, $after:expr) => {
        Trip {
            taken: found(
                concat!("heat/", $id, "-trip"),
                concat!($what, ": trip, curvature taken × R."),
                $taken,
                6e-11,
                $source,
            ),
            reset: found(
                concat!("heat/", $id, "-reset"),
                concat!($what, ": reset, curvature taken × R."),
                $reset,
                6e-11,
                $source,
            ),
            before: found(
                concat!("heat/", $id, "-before"),
                concat!($what, ": height just before the trip over the natural height."),
                $before,
                6e-9,
                $source,
            ),
            after: found(
                concat!("heat/", $id, "-after"),
                concat!($what, ": height after the trip over the natural height."),
                $after,
                6e-9,
                $source,
            ),
        }
    };
}

macro_rules! shallow {
    ($id:literal, $say:literal, $nu:expr, $lambda:expr, $($value:expr),+) => {
        ShallowDisc { nu: $nu, lambda: $lambda, trip: trip!($id, $say, WITTRICK, $($value),+) }
    };
}

macro_rules! deep {
    ($id:literal, $say:literal, $alpha_deg:expr, $h_over_r:expr, $growth:expr, $($value:expr),+) => {
        DeepDisc {
            alpha_deg: $alpha_deg,
            h_over_r: $h_over_r,
            growth: $growth,
            trip: trip!($id, $say, DEEP, $($value),+),
        }
    };
}

/// Shallow discs.
#[rustfmt::skip] // a table
pub const SHALLOW: [ShallowDisc; 8] = [
    shallow!("0.3-4", "Shallow disc, λ = 4, ν = 0.3", 0.3, 4.0, 1.1438343192, 0.8561656808, 0.33866498, -0.69951266),
    shallow!("0.3-5", "Shallow disc, λ = 5, ν = 0.3", 0.3, 5.0, 1.7277601310, 0.2722398690, 0.47446388, -0.96419943),
    shallow!("0.3-6", "Shallow disc, λ = 6, ν = 0.3", 0.3, 6.0, 2.2626586180, -0.2626586180, 0.57400423, -1.01873215),
    shallow!("0.3-8", "Shallow disc, λ = 8, ν = 0.3", 0.3, 8.0, 3.2731858742, -1.2731858742, 0.66757282, -1.04501689),
    shallow!("1-3-4", "Shallow disc, λ = 4, ν = 1/3", 1.0 / 3.0, 4.0, 1.1366149048, 0.8633850952, 0.33398768, -0.69013711),
    shallow!("1-3-5", "Shallow disc, λ = 5, ν = 1/3", 1.0 / 3.0, 5.0, 1.7105574730, 0.2894425270, 0.47145582, -0.96116652),
    shallow!("1-3-6", "Shallow disc, λ = 6, ν = 1/3", 1.0 / 3.0, 6.0, 2.2351486459, -0.2351486459, 0.57163272, -1.01712271),
    shallow!("1-3-8", "Shallow disc, λ = 8, ν = 1/3", 1.0 / 3.0, 8.0, 3.2232616791, -1.2232616791, 0.66608829, -1.04420909),
];

/// Discs of any depth.
#[rustfmt::skip] // a table
pub const DEEP_DISCS: [DeepDisc; 8] = [
    deep!("20-0.005", "Disc of 20°, h/R = 0.005, ν = 0.3", 20.0, 0.005, 0.0, 3.7793965812, -1.7793965812, 0.69618741, -1.04652777),
    deep!("20-0.01", "Disc of 20°, h/R = 0.01, ν = 0.3", 20.0, 0.01, 0.0, 2.4425684085, -0.4425684085, 0.60341600, -1.02532880),
    deep!("20-0.02", "Disc of 20°, h/R = 0.02, ν = 0.3", 20.0, 0.02, 0.0, 1.4176064300, 0.5823935700, 0.42259774, -0.88497162),
    deep!("45-0.03", "Disc of 45°, h/R = 0.03, ν = 0.3", 45.0, 0.03, 0.0, 3.4417435459, -1.4417435459, 0.69604577, -1.03190349),
    deep!("45-0.06", "Disc of 45°, h/R = 0.06, ν = 0.3", 45.0, 0.06, 0.0, 2.1995865704, -0.1995865704, 0.58751808, -1.01138768),
    deep!("45-0.1", "Disc of 45°, h/R = 0.1, ν = 0.3", 45.0, 0.1, 0.0, 1.4426189442, 0.5573810558, 0.44492547, -0.90617565),
    deep!("45-0.06-grows", "Disc of 45°, h/R = 0.06, ν = 0.3, wall growing by 0.02 x", 45.0, 0.06, 0.02, 2.2670584699, -0.1937282995, 0.62537276, -1.06006706),
    deep!("45-0.06-shrinks", "Disc of 45°, h/R = 0.06, ν = 0.3, wall shrinking by 0.02 x", 45.0, 0.06, -0.02, 2.1341508462, -0.2057928830, 0.55171826, -0.96525209),
];

/// Every row.
pub fn rows() -> Vec<Known> {
    let trips = SHALLOW.iter().map(|d| d.trip).chain(DEEP_DISCS.iter().map(|d| d.trip));
    trips.flat_map(|t| t.rows()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Trip and reset lie alike about the flat disc where the wall does not grow, and not where it does.
    #[test]
    fn trip_and_reset_are_mirror_images() {
        let sum = |t: &Trip| t.taken.value + t.reset.value;
        assert!(SHALLOW.iter().all(|d| (sum(&d.trip) - 2.0).abs() < 1e-9));
        assert!(DEEP_DISCS.iter().all(|d| ((sum(&d.trip) - 2.0).abs() < 1e-9) == (d.growth == 0.0)));
    }
}
