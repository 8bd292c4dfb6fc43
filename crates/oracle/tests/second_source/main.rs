//! A second source for the tables: Chebyshev collocation of the equations they cite, written for this
//! purpose only and sharing nothing with the mechanics crates. Each test prints the digits agreed.
//!
//! Run with `cargo test -p calotte-oracle --test second_source -- --nocapture` to see them.

mod chebyshev;
mod deep;
mod dome;
mod heated;
mod ridge;
mod shallow;

use calotte_oracle::{Known, cap, dome as dome_table, heat, heat_trip, motion};
use chebyshev::Grid;
use std::f64::consts::FRAC_PI_2;

#[track_caller]
#[allow(clippy::print_stdout, reason = "a comparison shows the digits it found")]
fn compare(known: Known, computed: f64) {
    println!("{:26} {computed:.11e} agrees to {:.1} digits", known.id, known.digits(computed));
    assert!(known.agrees(computed, 0.0), "{}: computed {computed:e}, known {:e}", known.id, known.value);
}

#[test]
fn shallow_thresholds() {
    let grid = Grid::new(0.0, 1.0, 32);
    for row in cap::SHALLOW {
        compare(row.lambda, shallow::ShallowCap { nu: row.nu, loss: 0.0 }.threshold(&grid));
    }
}

#[test]
fn relaxed_thresholds() {
    let grid = Grid::new(0.0, 1.0, 32);
    for row in motion::RELAXED {
        compare(row.lambda, shallow::ShallowCap { nu: 0.3, loss: row.loss }.threshold(&grid));
    }
}

#[test]
fn deep_thresholds() {
    for row in cap::THRESHOLDS {
        let grid = Grid::new(0.0, row.alpha_deg.to_radians(), 36);
        compare(row.h_over_r, deep::DeepCap { nu: row.nu }.threshold(&grid, row.thin).p);
    }
}

#[test]
fn shape_at_a_threshold() {
    let grid = Grid::new(0.0, 60.0_f64.to_radians(), 36);
    let cap = deep::DeepCap { nu: 0.3 };
    let m = cap.measures(&grid, &cap.threshold(&grid, 0.05));
    let found = [m.pole_height, m.rim_radius, m.rim_slope, m.lip, m.rim_hoop];
    for (known, computed) in cap::FOLD_SHAPE.into_iter().zip(found) {
        compare(known, computed);
    }
}

#[test]
fn inverted_states() {
    for row in cap::STATES {
        let alpha = row.alpha_deg.to_radians();
        let cap = deep::DeepCap { nu: row.nu };
        let grid = Grid::new(0.0, alpha, 64);
        let m = cap.measures(&grid, &cap.inverted(&grid, row.h_over_r));
        compare(row.stretching, m.stretching);
        compare(row.bending, m.bending);
        compare(row.rim_slope, m.rim_slope);
        compare(row.lip, m.lip);
        compare(row.height, m.pole_height);
        compare(row.rim_radius, m.rim_radius);
        if let Some(saddle) = row.saddle {
            let grid = Grid::new(0.0, alpha, 40);
            let at = cap.saddle(&grid, row.h_over_r);
            let m = cap.measures(&grid, &at);
            compare(saddle, m.stretching + m.bending);
        }
    }
}

#[track_caller]
fn compare_trip(trip: heat_trip::Trip, found: [heated::Jump; 2]) {
    // The tables count curvature taken, the collocation curvature added.
    let [up, down] = found;
    compare(trip.taken, -up.k);
    compare(trip.reset, -down.k);
    compare(trip.before, up.before);
    compare(trip.after, up.after);
}

#[test]
fn heated_shallow_discs() {
    for row in heat_trip::SHALLOW {
        let disc = heated::ShallowDisc { nu: row.nu, lambda: row.lambda };
        let found = heated::jumps(&disc, &Grid::new(0.0, 1.0, 36));
        compare_trip(row.trip, found);
        // The way back is the mirror image.
        assert!((found[1].before + found[0].before).abs() < 1e-9);
        assert!((found[1].after + found[0].after).abs() < 1e-9);
    }
}

#[test]
fn heated_deep_discs() {
    for row in heat_trip::DEEP_DISCS {
        let alpha = row.alpha_deg.to_radians();
        let disc = heated::DeepDisc { nu: 0.3, alpha, thickness: row.h_over_r, growth: -row.growth };
        compare_trip(row.trip, heated::jumps(&disc, &Grid::new(0.0, alpha, 36)));
    }
}

/// Closed form: bending cannot tell a grown part from a small one, and stretching sees its lengths over those of the grown
/// part. So a wall that wants the strain e trips where one does that wants none and is thinner by 1 + e.
#[test]
fn growth_is_a_thinner_wall() {
    for row in heat_trip::DEEP_DISCS.iter().filter(|d| d.growth != 0.0) {
        let alpha = row.alpha_deg.to_radians();
        for (x, i) in [(row.trip.taken.value, 0), (row.trip.reset.value, 1)] {
            let thickness = row.h_over_r / (1.0 + row.growth * x);
            let disc = heated::DeepDisc { nu: 0.3, alpha, thickness, growth: 0.0 };
            let found = -heated::jumps(&disc, &Grid::new(0.0, alpha, 36))[i].k;
            assert!((found - x).abs() < 5e-10, "{found} {x}");
        }
    }
}

/// A disc barely above the least λ jumps by little, near the flat shape: two derivations of the least λ meet.
#[test]
fn folds_meet_at_the_least_lambda() {
    let least = heat::least_lambda(0.3);
    let apart = |lambda: f64| {
        let found = heated::jumps(&heated::ShallowDisc { nu: 0.3, lambda }, &Grid::new(0.0, 1.0, 28));
        found[1].k - found[0].k
    };
    // Beside a pitchfork the folds part like the distance to the power 3/2.
    let (near, nearer) = (apart(least + 0.04), apart(least + 0.02));
    println!("folds apart by {near:.3e} and {nearer:.3e}");
    assert!((near / nearer / 8.0_f64.sqrt() - 1.0).abs() < 0.02, "{}", near / nearer);
}

#[test]
fn heated_dome() {
    compare(heat::DOME_EDGE, dome::heated_edge_moment(0.3, FRAC_PI_2, 0.01, 64));
    let off = |h: f64, n: usize| {
        dome::heated_edge_moment(0.3, FRAC_PI_2, h, n) / heat::edge_moment_thin_limit(0.3) - 1.0
    };
    let (thick, thin) = (off(0.01, 64), off(0.0025, 96));
    println!("thin limit of the heated edge: off by {thick:.2e} at h/R = 1/100, {thin:.2e} at 1/400");
    assert!((thick / thin - 4.0).abs() < 0.5, "{}", thick / thin);
}

#[test]
fn ridge_of_a_dimple() {
    compare(dome_table::RIDGE_ENERGY, ridge::energy_coefficient(80, 30.0));
}

#[test]
fn clamped_dome() {
    compare(dome_table::EDGE_MOMENT, dome::edge_moment(0.3, FRAC_PI_2, 0.01, 64));
    // the error of the thin limit falls with h/R
    let limit = dome_table::edge_moment_thin_limit(0.3);
    let off = |h: f64, n: usize| dome::edge_moment(0.3, FRAC_PI_2, h, n) / limit - 1.0;
    let (thick, thin) = (off(0.01, 64), off(0.0025, 96));
    println!("thin limit of the edge moment: off by {thick:.2e} at h/R = 1/100, {thin:.2e} at 1/400");
    assert!((thick / thin - 4.0).abs() < 0.5, "{}", thick / thin);
}
