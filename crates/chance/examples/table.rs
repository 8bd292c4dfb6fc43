//! Prints a table of shares, quantiles, intervals and fits as JSON lines, for `bench/lab/check_chance.py` to recompute.
//!
//! Each line is a list: name, arguments, value.
#![expect(clippy::print_stdout, reason = "the table is what this example is for")]

use calotte_chance::{
    FitSettings, Loss, beta, binomial, chi_squared, fisher, gamma, normal, robust, sample, student, york,
};

/// Any number as JSON that Python reads, infinities included.
fn text(x: f64) -> String {
    if x.is_nan() {
        "NaN".to_owned()
    } else if x.is_infinite() {
        if x > 0.0 { "Infinity" } else { "-Infinity" }.to_owned()
    } else {
        format!("{x:e}")
    }
}

fn row(name: &str, arguments: &[f64], values: &[f64]) {
    let list = |v: &[f64]| v.iter().map(|x| text(*x)).collect::<Vec<_>>().join(", ");
    println!("[\"{name}\", [{}], [{}]]", list(arguments), list(values));
}

fn main() {
    let shapes = [1e-3, 0.5, 1.0, 3.7, 25.0, 400.0, 2e4];
    let places = [1e-6, 0.1, 0.8, 1.0, 1.3, 3.0, 40.0];
    let shares = [1e-12, 1e-4, 0.025, 0.3, 0.5, 0.9, 0.975, 0.999_999];
    for a in shapes {
        for k in places {
            row("gamma", &[a, a * k], &[gamma::below(a, a * k), gamma::above(a, a * k)]);
        }
        for p in shares {
            row("chi_squared quantile", &[p, a], &[chi_squared::quantile(p, a)]);
            if a > 0.1 {
                row("student quantile", &[p, a], &[student::quantile(p, a)]);
            }
        }
        for x in [-50.0_f64, -2.0, -0.3, -1e-6, 0.7, 12.0] {
            if a > 0.1 {
                row("student", &[x, a], &[student::below(x, a)]);
            }
        }
        for b in shapes {
            for x in [1e-9, 0.01, 0.3, 0.5, 0.97] {
                row("beta", &[a, b, x], &[beta::below(a, b, x), beta::above(a, b, x)]);
            }
            if a > 0.1 && b > 0.1 {
                for p in [0.01, 0.5, 0.95] {
                    row("fisher quantile", &[p, a, b], &[fisher::quantile(p, a, b)]);
                }
            }
        }
    }
    for p in shares {
        row("normal quantile", &[p], &[normal::quantile(p)]);
    }
    for (k, n) in [(0, 5), (3, 10), (17, 20), (100, 1000), (1000, 1000)] {
        row("clopper-pearson", &[k as f64, n as f64, 0.95], &binomial::interval(k, n, 0.95));
        row("wilson", &[k as f64, n as f64, 0.95], &binomial::wilson(k, n, 0.95));
    }
    // Pearson's readings with York's weights, and a made-up line with wild readings.
    let x = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4];
    let y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
    let sx: Vec<f64> = (0..10).map(|i| 0.03 + 0.1 * f64::from(i)).collect();
    let sy: Vec<f64> = (0..10).map(|i| 1.0 - 0.09 * f64::from(i)).collect();
    let readings: Vec<york::Reading> = (0..10)
        .map(|i| york::Reading { x: x[i], y: y[i], x_deviation: sx[i], y_deviation: sy[i], correlation: 0.0 })
        .collect();
    let arguments = [&x[..], &y, &sx, &sy].concat();
    if let Some(l) = york::line(&readings) {
        row("york", &arguments, &[l.slope, l.intercept, l.slope_deviation, l.intercept_deviation, l.squares]);
    }
    let wild: Vec<f64> = y.iter().enumerate().map(|(i, y)| if i == 3 { y + 5.0 } else { *y }).collect();
    let mut miss = |p: &[f64], out: &mut Vec<f64>| {
        out.extend(x.iter().zip(&wild).map(|(x, y)| (p[0] + p[1] * x - y) / 0.2));
        true
    };
    let arguments = [&x[..], &wild].concat();
    for (name, loss) in [("huber", Loss::Huber(1.5)), ("cauchy", Loss::Cauchy(1.5))] {
        if let Ok(f) = robust(&[6.0, -0.5], &[1.0, 0.1], &mut miss, loss, Some(1.0), &FitSettings::default())
        {
            row(name, &arguments, &f.at);
        }
    }
    let v = sample::sorted(&y);
    row("quantiles", &y, &[0.0, 0.1, 0.5, 0.77, 1.0].map(|p| sample::quantile(&v, p)));
}
