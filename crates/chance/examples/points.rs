//! Prints Sobol points and indices for `bench/lab/check_indices.py` to recompute with SciPy; one JSON row each.

#![allow(clippy::print_stdout, clippy::unwrap_used, reason = "a program of the bench")]

use calotte_chance::indices::{Plan, indices};
use calotte_chance::quasi::{DIMENSIONS, Sobol};

fn numbers(values: &[f64]) -> String {
    let all: Vec<String> = values.iter().map(|v| format!("{v:e}")).collect();
    format!("[{}]", all.join(", "))
}

fn main() {
    let mut sobol = Sobol::new(DIMENSIONS).unwrap();
    for i in 0..1025 {
        let point = sobol.point();
        if i < 40 || i % 111 == 0 || i == 1024 {
            println!("[\"point\", [{i}], {}]", numbers(&point));
        }
    }
    // Ishigami's function with a = 7, b = 0.1.
    let mut f = |u: &[f64]| {
        let x: Vec<f64> = u.iter().map(|u| std::f64::consts::PI * (2.0 * u - 1.0)).collect();
        let s = libm::sin(x[1]);
        libm::sin(x[0]) + 7.0 * s * s + 0.1 * x[2].powi(4) * libm::sin(x[0])
    };
    let plan = Plan { points: 4096, shifts: 16, seed: 1 };
    let found = indices(3, &[vec![0], vec![1], vec![2]], &plan, &mut f).unwrap();
    for (i, of) in found.of.iter().enumerate() {
        println!("[\"ishigami\", [{i}], {}]", numbers(&[of.first, of.first_error, of.total, of.total_error]));
    }
}
