//! Words that several answers share.

use calotte_answers::explain::{degrees, digits, length};
use calotte_answers::report::PartSummary;

/// The part in one line.
pub(crate) fn part_words(s: &PartSummary) -> String {
    if s.sphere_radius_m.is_infinite() {
        return format!(
            "{}; rim radius {}, wall {} (h/a {}), ν {}, rim {}",
            s.shape,
            length(s.rim_radius_m),
            length(s.thickness_m),
            digits(s.thickness_m / s.rim_radius_m, 3),
            digits(s.poisson_ratio, 3),
            s.rim
        );
    }
    format!(
        "{}; radius {}, half-angle {}, rise {}, wall {} (h/R {}), ν {}, rim {}, λ {}",
        s.shape,
        length(s.sphere_radius_m),
        degrees(s.half_angle_rad),
        length(s.rise_m),
        length(s.thickness_m),
        digits(s.thickness_ratio, 3),
        digits(s.poisson_ratio, 3),
        s.rim,
        digits(s.lambda, 4)
    )
}
