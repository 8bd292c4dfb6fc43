//! Which margins test theory best: those whose outcomes, stay or not, tell most about how far theory is off.
//!
//! A specimen of margin m stays with chance Φ((m + f)/σ): f is how far theory is off, the same for all, held beforehand to be normal
//! with deviation τ; σ is what scatters from specimen to specimen. What n outcomes tell of f is the mutual information
//! I = H(Y) − E H(Y | f) (Lindley 1956, Annals of Mathematical Statistics 27, 986), here in bits, all 2ⁿ outcomes counted. The best
//! margins lie in pairs ± a, since f does; they are sought by a pattern search from even quantiles of what is expected.

use calotte_chance::normal;

/// Most specimens of a series.
pub const MOST: usize = 12;
/// Most nodes of f over ± 5 τ.
const NODES: f64 = 1001.0;

/// f at equal steps, no wider than half the scatter over which outcomes turn, with weights.
fn nodes(sigma: f64, tau: f64) -> Vec<(f64, f64)> {
    let count = (20.0 * tau / sigma).ceil().clamp(81.0, NODES) as usize;
    let all: Vec<(f64, f64)> = (0..count)
        .map(|k| 10.0 * (k as f64 / (count - 1) as f64 - 0.5))
        .map(|u| (tau * u, normal::density(u)))
        .collect();
    let sum: f64 = all.iter().map(|n| n.1).sum();
    all.into_iter().map(|(f, w)| (f, w / sum)).collect()
}

fn entropy(p: f64) -> f64 {
    if p > 0.0 { -p * libm::log2(p) } else { 0.0 }
}

/// What the outcomes of specimens with these margins tell, bits.
pub fn information(margins: &[f64], sigma: f64, tau: f64) -> f64 {
    let nodes = nodes(sigma, tau);
    let count = 1_usize << margins.len();
    let mut joint = vec![0.0; count];
    let mut within = 0.0;
    let mut chances = vec![0.0; count];
    for (f, weight) in nodes {
        // All outcomes, one specimen after the other.
        chances[0] = 1.0;
        for (i, m) in margins.iter().enumerate() {
            let stays = normal::below((m + f) / sigma);
            within += weight * (entropy(stays) + entropy(1.0 - stays));
            for k in (0..1_usize << i).rev() {
                chances[k | (1 << i)] = chances[k] * stays;
                chances[k] *= 1.0 - stays;
            }
        }
        joint.iter_mut().zip(&chances).for_each(|(j, c)| *j += weight * c);
    }
    (joint.into_iter().map(entropy).sum::<f64>() - within).max(0.0)
}

/// Margins in pairs, with nought in the middle of an odd number, largest first.
fn spread(halves: &[f64], count: usize) -> Vec<f64> {
    let mut out: Vec<f64> = halves.iter().flat_map(|a| [*a, -a]).collect();
    if count % 2 == 1 {
        out.push(0.0);
    }
    out.sort_by(|a, b| b.total_cmp(a));
    out
}

/// The best margins for `count` specimens (2 to [`MOST`]), largest first.
pub fn best(count: usize, sigma: f64, tau: f64) -> Vec<f64> {
    let scale = libm::hypot(sigma, tau);
    let pairs = count / 2;
    let mut halves: Vec<f64> =
        (0..pairs).map(|k| -scale * normal::quantile((k as f64 + 0.5) / count as f64)).collect();
    let value = |h: &[f64]| information(&spread(h, count), sigma, tau);
    let mut best = value(&halves);
    let mut step = 0.3 * scale;
    while step > 0.01 * scale {
        let mut better = false;
        for i in 0..pairs {
            for d in [step, -step] {
                let mut tried = halves.clone();
                tried[i] = (tried[i] + d).max(0.0);
                let v = value(&tried);
                if v > best + 1e-9 {
                    (best, halves, better) = (v, tried, true);
                }
            }
        }
        if !better {
            step *= 0.5;
        }
    }
    spread(&halves, count)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One specimen at the threshold that hardly scatters tells one bit, one far away none; two cut the normal distribution into three.
    /// Closed form, less what the scatter takes: σ φ(m/τ)/τ ∫ H(Φ(t)) dt per cut, the integral by the midpoint rule here.
    #[test]
    fn information_is_bounded() {
        let (sigma, tau) = (1e-3, 0.04);
        let turn = |t: f64| entropy(normal::below(t)) + entropy(normal::below(-t));
        let integral: f64 = (0..4000).map(|k| 0.005 * turn(-10.0 + 0.005 * (f64::from(k) + 0.5))).sum();
        let taken = |m: f64| sigma * normal::density(m / tau) / tau * integral;
        let one = information(&[0.0], sigma, tau);
        assert!((one - (1.0 - taken(0.0))).abs() < 1e-3, "{one} {}", 1.0 - taken(0.0));
        assert!(information(&[0.5], sigma, tau) < 1e-9);
        let two = information(&[0.02, -0.02], sigma, tau);
        let p = normal::below(-0.5);
        let exact = 2.0 * entropy(p) + entropy(1.0 - 2.0 * p) - 2.0 * taken(0.02);
        assert!((two - exact).abs() < 2e-3, "{two} {exact}");
    }

    /// Without scatter the best margins cut what is expected into equal parts. Closed form: quantiles of the normal distribution.
    #[test]
    fn the_best_margins_cut_evenly() {
        let found = best(3, 2e-3, 0.04);
        let third = -0.04 * normal::quantile(0.25);
        assert!(
            (found[0] - third).abs() < 0.15 * third && found[1] == 0.0 && found[2] == -found[0],
            "{found:?} {third}"
        );
        // No neighbour is better.
        let top = information(&found, 2e-3, 0.04);
        for d in [0.8, 1.25] {
            assert!(information(&found.iter().map(|m| m * d).collect::<Vec<_>>(), 2e-3, 0.04) < top);
        }
        for count in [2, 6, 7] {
            let found = best(count, 0.02, 0.04);
            assert_eq!(found.len(), count);
            assert!(found[0] > 0.01 && (found[0] + found[count - 1]).abs() < 1e-12);
        }
    }
}
