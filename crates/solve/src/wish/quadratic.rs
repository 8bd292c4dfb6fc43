//! Strictly convex quadratic programs of few unknowns, by the dual active-set method.
//!
//! Minimise ½ xᵀG x + aᵀx subject to nᵢᵀx ≥ bᵢ. Starting from the free minimum, the most violated condition is taken in, others
//! drop out where their multipliers would change sign; every step raises the objective, so the method ends.
//!
//! Source: D. Goldfarb, A. Idnani, "A numerically stable dual method for solving strictly convex quadratic programs",
//! Mathematical Programming 27 (1983) 1–33; here with full solves instead of updated factors, since there are few unknowns.

use super::dense::{dot, solve, times};

/// One condition: normalᵀ x ≥ bound.
#[derive(Clone, Debug, PartialEq)]
pub struct Half {
    /// n.
    pub normal: Vec<f64>,
    /// b.
    pub bound: f64,
}

/// The solution.
#[derive(Clone, Debug, PartialEq)]
pub struct Quadratic {
    /// x.
    pub x: Vec<f64>,
    /// Multiplier of every condition, ≥ 0; 0 for those that do not bind.
    pub multipliers: Vec<f64>,
}

/// Steps allowed.
const MOST: usize = 500;

/// Directions z = G⁻¹(n − N r) and r = (NᵀG⁻¹N)⁻¹NᵀG⁻¹n.
fn directions(
    g: &[Vec<f64>],
    halves: &[Half],
    active: &[usize],
    normal: &[f64],
) -> Option<(Vec<f64>, Vec<f64>)> {
    let inverse = |v: &[f64]| solve(g.to_vec(), v.to_vec());
    let gn = inverse(normal)?;
    let columns: Vec<Vec<f64>> = active.iter().map(|i| inverse(&halves[*i].normal)).collect::<Option<_>>()?;
    let r = if active.is_empty() {
        Vec::new()
    } else {
        let gram = active
            .iter()
            .map(|i| columns.iter().map(|c| dot(&halves[*i].normal, c)).collect())
            .collect::<Vec<Vec<f64>>>();
        let right = active.iter().map(|i| dot(&halves[*i].normal, &gn)).collect();
        solve(gram, right)?
    };
    let mut z = gn;
    for (c, f) in columns.iter().zip(&r) {
        z.iter_mut().zip(c).for_each(|(z, c)| *z -= f * c);
    }
    Some((z, r))
}

/// Solves; `None` when the conditions contradict one another, G is singular, or the steps are spent.
pub fn least(g: &[Vec<f64>], a: &[f64], halves: &[Half]) -> Option<Quadratic> {
    let minus: Vec<f64> = a.iter().map(|v| -v).collect();
    let mut x = solve(g.to_vec(), minus)?;
    let mut active: Vec<usize> = Vec::new();
    let mut u: Vec<f64> = Vec::new();
    let mut steps = 0;
    'conditions: loop {
        let slack = |x: &[f64], h: &Half| {
            let size = dot(&h.normal, &h.normal).sqrt().max(1e-300);
            (dot(&h.normal, x) - h.bound) / size
        };
        let worst = halves
            .iter()
            .enumerate()
            .filter(|(i, _)| !active.contains(i))
            .map(|(i, h)| (i, slack(&x, h)))
            .min_by(|p, q| p.1.total_cmp(&q.1))
            .filter(|w| w.1 < -1e-11);
        let Some((p, _)) = worst else {
            let mut multipliers = vec![0.0; halves.len()];
            active.iter().zip(&u).for_each(|(i, m)| multipliers[*i] = *m);
            return Some(Quadratic { x, multipliers });
        };
        let mut taken = 0.0;
        loop {
            steps += 1;
            if steps > MOST {
                return None;
            }
            let normal = &halves[p].normal;
            let (z, r) = directions(g, halves, &active, normal)?;
            let rise = dot(&z, normal);
            let free = rise > 1e-13 * dot(normal, normal).max(1e-300) / size(g);
            let full = if free { (halves[p].bound - dot(normal, &x)).max(0.0) / rise } else { f64::INFINITY };
            // The first active condition whose multiplier would become negative.
            let drop = r
                .iter()
                .zip(&u)
                .enumerate()
                .filter(|(_, (r, _))| **r > 1e-13)
                .map(|(j, (r, u))| (j, u / r))
                .min_by(|p, q| p.1.total_cmp(&q.1));
            let step = full.min(drop.map_or(f64::INFINITY, |d| d.1));
            if !step.is_finite() {
                return None;
            }
            if free {
                x.iter_mut().zip(&z).for_each(|(x, z)| *x += step * z);
            }
            u.iter_mut().zip(&r).for_each(|(u, r)| *u -= step * r);
            taken += step;
            if step == full {
                active.push(p);
                u.push(taken);
                continue 'conditions;
            }
            if let Some((j, _)) = drop {
                active.remove(j);
                u.remove(j);
            }
        }
    }
}

/// Largest entry.
fn size(g: &[Vec<f64>]) -> f64 {
    g.iter().flatten().fold(1e-300_f64, |m, v| m.max(v.abs()))
}

/// Damped update of an estimate of a Hessian by a step s and the change y of the gradient, so that it stays positive definite.
///
/// θ = 1 where sᵀy ≥ 0.2 sᵀBs, else 0.8 sᵀBs/(sᵀBs − sᵀy); r = θy + (1 − θ)Bs; B ← B − Bs sᵀB/(sᵀBs) + r rᵀ/(sᵀr).
/// Source: M. J. D. Powell, "A fast algorithm for nonlinearly constrained optimization calculations", Lecture Notes in
/// Mathematics 630 (1978) 144–157.
pub(super) fn update(b: &mut [Vec<f64>], s: &[f64], y: &[f64]) {
    let bs = times(b, s);
    let sbs = dot(s, &bs);
    if sbs.is_nan() || sbs <= 0.0 {
        return;
    }
    let sy = dot(s, y);
    let theta = if sy >= 0.2 * sbs { 1.0 } else { 0.8 * sbs / (sbs - sy) };
    let r: Vec<f64> = y.iter().zip(&bs).map(|(y, b)| theta * y + (1.0 - theta) * b).collect();
    let sr = dot(s, &r);
    if !(sr > 0.0 && sr.is_finite()) {
        return;
    }
    for i in 0..s.len() {
        for j in 0..s.len() {
            b[i][j] += r[i] * r[j] / sr - bs[i] * bs[j] / sbs;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn half(normal: &[f64], bound: f64) -> Half {
        Half { normal: normal.to_vec(), bound }
    }

    #[test]
    fn the_nearest_point_of_a_wedge() {
        // Closed form: nearest to (0, 0) with x + y ≥ 2 and x ≥ 1.5 is (1.5, 0.5); multipliers from 2x = Σ uᵢ nᵢ.
        let g = [vec![2.0, 0.0], vec![0.0, 2.0]];
        let q = least(&g, &[0.0, 0.0], &[half(&[1.0, 1.0], 2.0), half(&[1.0, 0.0], 1.5)]).unwrap();
        assert!((q.x[0] - 1.5).abs() < 1e-12 && (q.x[1] - 0.5).abs() < 1e-12, "{q:?}");
        assert!((q.multipliers[0] - 1.0).abs() < 1e-12 && (q.multipliers[1] - 2.0).abs() < 1e-12, "{q:?}");
    }

    #[test]
    fn a_condition_taken_in_first_drops_out() {
        let g = [vec![1.0, 0.0], vec![0.0, 1.0]];
        let all = [half(&[0.0, 1.0], 1.0), half(&[3.0, 1.0], 7.0), half(&[1.0, 0.0], 3.0)];
        let q = least(&g, &[0.0, 0.0], &all).unwrap();
        assert!((q.x[0] - 3.0).abs() < 1e-12 && (q.x[1] - 1.0).abs() < 1e-12, "{q:?}");
        assert_eq!(q.multipliers[1], 0.0);
    }

    #[test]
    fn contradictions_are_told() {
        let g = [vec![1.0]];
        assert!(least(&g, &[0.0], &[half(&[1.0], 1.0), half(&[-1.0], 0.0)]).is_none());
        assert!(least(&[vec![0.0]], &[1.0], &[]).is_none());
    }
}
