//! Sizes of functions in closed form.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};

use calotte_solve::Work;

use super::oracle::{Forward, Readings, Row};
use super::report::{SizeOutcome, SizeReport};
use super::{About, Ask, Scale, Varied, Wanted, Wish, answer};
use crate::gauge::{Gauge, NoReading};
use crate::many::Watch;

/// Wishes read from a function; `None` where there is no such part.
struct Function<F: Fn(&[f64]) -> Option<Vec<f64>> + Sync> {
    f: F,
    asked: AtomicUsize,
    /// Added to every forward answer.
    off: f64,
}

impl<F: Fn(&[f64]) -> Option<Vec<f64>> + Sync> Readings for Function<F> {
    fn read(&self, values: &[f64]) -> Row {
        self.asked.fetch_add(1, Ordering::Relaxed);
        match (self.f)(values) {
            Some(all) => all.into_iter().map(Ok).collect(),
            None => vec![Err(NoReading::Nowhere("it never does".to_owned())); 4],
        }
    }
    fn forward(&self, parts: &[Vec<f64>], _: &Watch<'_>) -> Option<Vec<Vec<Forward>>> {
        let one =
            |v| Forward { question: "function", value: Ok(v + self.off), like: None, doubts: Vec::new() };
        let all = |values: &Vec<f64>| (self.f)(values).unwrap_or_default().into_iter().map(one).collect();
        Some(parts.iter().map(all).collect())
    }
    fn draw(&self, _: &[f64], _: usize, count: usize, _: &Watch<'_>) -> Option<[usize; 2]> {
        Some([count, 0])
    }
    fn work(&self) -> Work {
        Work::default()
    }
}

fn vary(key: &str, from: f64, to: f64, here: f64) -> Varied {
    Varied { given: 0, key: key.to_owned(), scale: Scale::plain(), from, to, here }
}

fn wish(text: &str, wanted: Wanted) -> Wish {
    let about = About::Gauge(Gauge::TripLoad);
    Wish { text: text.to_owned(), about, wanted, share: None, hold: None, scale: Scale::plain() }
}

fn equal(aim: f64, half_width: f64) -> Wish {
    wish("equal", Wanted::Equal { aim, half_width })
}

fn run_with(
    vary: Vec<Varied>,
    wishes: Vec<Wish>,
    threads: usize,
    off: f64,
    f: impl Fn(&[f64]) -> Option<Vec<f64>> + Sync,
) -> (SizeReport, usize) {
    let ask = Ask { vary, wishes, draws: 100 };
    let source = Function { f, asked: AtomicUsize::new(0), off };
    let stop = AtomicBool::new(false);
    let watch = Watch { threads, stop: &stop, progress: &|_| {} };
    let report = answer("test", &ask, &source, &watch).unwrap();
    (report, source.asked.load(Ordering::Relaxed))
}

fn run(
    vary: Vec<Varied>,
    wishes: Vec<Wish>,
    f: impl Fn(&[f64]) -> Option<Vec<f64>> + Sync,
) -> (SizeReport, usize) {
    run_with(vary, wishes, 2, 0.0, f)
}

fn near(a: f64, b: f64, within: f64) -> bool {
    (a - b).abs() <= within
}

#[test]
fn a_wish_with_two_solutions_yields_both() {
    // Closed form: 4x(1 − x) = 0.75 at 1/4 and 3/4.
    let (r, asked) = run(vec![vary("x", 0.0, 1.0, 0.6)], vec![equal(0.75, 0.01)], |x| {
        Some(vec![4.0 * x[0] * (1.0 - x[0])])
    });
    assert_eq!((r.outcome, r.solutions.len()), (SizeOutcome::Met, 2), "{:?}", r.doubts);
    assert!(near(r.solutions[0].values_si[0], 0.25, 1e-5) && near(r.solutions[1].values_si[0], 0.75, 1e-5));
    // Slope 4(1 − 2x) = 2: half-width 0.01 is kept by 0.005.
    let s = &r.solutions[0];
    assert!(near(s.readings[0].slopes_si[0], 2.0, 1e-6) && near(s.keeps_si[0].unwrap(), 0.005, 1e-4));
    assert!(asked <= 46, "{asked}");
}

#[test]
fn a_pair_between_two_samples_is_found() {
    // 0.5 − (x − 0.52)² = 0.4999 at 0.51 and 0.53; the samples lie at multiples of 1/24.
    let (r, _) = run(vec![vary("x", 0.0, 1.0, 0.6)], vec![equal(0.4999, 1e-5)], |x| {
        Some(vec![0.5 - (x[0] - 0.52) * (x[0] - 0.52)])
    });
    let found: Vec<f64> = r.solutions.iter().map(|s| s.values_si[0]).collect();
    assert_eq!(found, [0.51, 0.53]);
}

#[test]
fn limits_give_stretches_and_the_least_change() {
    // x² ≥ 0.25 and 1/x ≥ 1.25 where x > 0.1: from 0.5 to 0.8.
    let wishes = vec![wish("a", Wanted::AtLeast(0.25)), wish("b", Wanted::AtLeast(1.25))];
    let (r, _) =
        run(vec![vary("x", 0.0, 1.0, 0.9)], wishes, |x| (x[0] > 0.1).then(|| vec![x[0] * x[0], 1.0 / x[0]]));
    let set = r.set.unwrap();
    assert!(near(set.intervals_si[0][0], 0.5, 1e-6) && near(set.intervals_si[0][1], 0.8, 1e-6));
    assert_eq!((set.freedom, r.solutions.len()), (1, 1));
    assert!(near(r.solutions[0].values_si[0], 0.8, 1e-5) && r.solutions[0].readings[1].binds);
}

#[test]
fn two_exact_wishes_of_two_numbers() {
    // x² + y² = 1.25 and x + y = 1.5: (1, 0.5) and (0.5, 1).
    let both = vec![vary("x", 0.0, 2.0, 0.3), vary("y", 0.0, 2.0, 0.9)];
    let (r, asked) = run(both, vec![equal(1.25, 0.01), equal(1.5, 0.01)], |v| {
        Some(vec![v[0] * v[0] + v[1] * v[1], v[0] + v[1]])
    });
    let mut found: Vec<Vec<f64>> = r.solutions.iter().map(|s| s.values_si.clone()).collect();
    found.sort_by(|a, b| a[0].total_cmp(&b[0]));
    assert_eq!(found.len(), 2, "{found:?}");
    assert!(near(found[0][0], 0.5, 1e-4) && near(found[1][0], 1.0, 1e-4), "{found:?}");
    assert!(asked < 450, "{asked}");
}

#[test]
fn one_exact_wish_of_two_numbers_is_a_curve() {
    // xy = 0.5 in [0.2, 2]²: from (0.25, 2) to (2, 0.25); nearest to (1, 1) is (√½, √½).
    let both = vec![vary("x", 0.2, 2.0, 1.0), vary("y", 0.2, 2.0, 1.0)];
    let (r, asked) = run(both, vec![equal(0.5, 0.01)], |v| Some(vec![v[0] * v[1]]));
    let set = r.set.as_ref().unwrap();
    assert_eq!((r.solutions.len(), set.curves.len()), (1, 1));
    let s = &r.solutions[0].values_si;
    assert!(near(s[0], 0.5_f64.sqrt(), 1e-4) && near(s[1], 0.5_f64.sqrt(), 1e-4), "{s:?}");
    for e in &set.extents_si {
        assert!(near(e[0], 0.25, 1e-4) && near(e[1], 2.0, 1e-6), "{e:?}");
    }
    assert!(set.curves[0].points_si.iter().all(|p| near(p[0] * p[1], 0.5, 1e-4)));
    assert!(set.curves[0].ends.iter().all(|e| e.contains("limit")), "{:?}", set.curves[0].ends);
    assert!(asked < 450, "{asked}");
}

#[test]
fn a_closed_curve_closes() {
    let both = vec![vary("x", 0.0, 2.0, 1.7), vary("y", 0.0, 2.0, 1.0)];
    let (r, _) = run(both, vec![equal(0.25, 0.01)], |v| {
        Some(vec![(v[0] - 1.0) * (v[0] - 1.0) + (v[1] - 1.0) * (v[1] - 1.0)])
    });
    let set = r.set.as_ref().unwrap();
    assert_eq!((set.curves.len(), set.curves[0].closed), (1, true), "{:?}", set.curves);
    assert!(near(set.extents_si[0][0], 0.5, 0.01) && near(set.extents_si[1][1], 1.5, 0.01));
}

#[test]
fn the_smallest_has_its_price() {
    // x + y least with xy ≥ 0.04: x = y = 0.2, and d(x + y)/d(0.04) = 1/0.2.
    let both = vec![vary("x", 0.05, 0.45, 0.4), vary("y", 0.05, 0.45, 0.3)];
    let wishes = vec![wish("sum", Wanted::Smallest), wish("product", Wanted::AtLeast(0.04))];
    let (r, asked) = run(both, wishes, |v| Some(vec![v[0] + v[1], v[0] * v[1]]));
    assert_eq!((r.outcome, r.solutions.len()), (SizeOutcome::Met, 1), "{:?}", r.doubts);
    let s = &r.solutions[0];
    assert!(near(s.values_si[0], 0.2, 2e-3) && near(s.values_si[1], 0.2, 2e-3), "{:?}", s.values_si);
    assert!(s.readings[1].binds && near(s.readings[1].price_si.unwrap(), 5.0, 0.02), "{:?}", s.readings);
    assert!(asked < 600, "{asked}");
}

#[test]
fn the_wish_in_the_way_is_named_with_its_number() {
    // x ≥ 0.8 and x² ≤ 0.25: with the other kept, x² reaches 0.64 and x reaches 0.5.
    let wishes = vec![wish("x", Wanted::AtLeast(0.8)), wish("square", Wanted::AtMost(0.25))];
    let (r, _) = run(vec![vary("x", 0.0, 1.0, 0.9)], wishes, |v| Some(vec![v[0], v[0] * v[0]]));
    assert_eq!(r.outcome, SizeOutcome::Unmet);
    let o = r.obstacle.unwrap();
    assert!(near(o.rows[0].best_si.unwrap(), 0.5, 1e-4) && near(o.rows[0].short_si.unwrap(), 0.3, 1e-4));
    assert!(near(o.rows[1].best_si.unwrap(), 0.64, 1e-4) && near(o.rows[1].short_si.unwrap(), 0.39, 1e-4));
    // In hundredths of each limit: 0.3/0.008 against 0.39/0.0025.
    assert_eq!(o.culprit, Some(0));
    assert!(r.explanation[0].contains("stands in the way"), "{:?}", r.explanation);
}

#[test]
fn a_limit_of_the_range_is_told() {
    let (r, _) = run(vec![vary("x", 0.0, 1.0, 0.5)], vec![equal(3.0, 0.1)], |v| Some(vec![2.0 * v[0]]));
    let row = &r.obstacle.as_ref().unwrap().rows[0];
    assert!(near(row.best_si.unwrap(), 2.0, 1e-9) && near(row.short_si.unwrap(), 0.9, 1e-9));
    assert_eq!(row.at_limit, [1]);
    assert!(r.explanation[0].contains("x stands at its upper limit of 1"), "{:?}", r.explanation);
}

#[test]
fn what_never_happens_is_told() {
    let (r, _) = run(vec![vary("x", 0.0, 1.0, 0.5)], vec![equal(3.0, 0.1)], |_| None);
    assert_eq!(r.outcome, SizeOutcome::Unmet);
    assert!(r.explanation[0].contains("it never does"), "{:?}", r.explanation);
}

#[test]
fn two_wishes_that_compete_have_a_front() {
    // x² + y² against (x − 1)² + y²: y = 0, and √first + √second = 1.
    let both = vec![vary("x", -0.5, 1.5, 0.2), vary("y", -0.5, 1.0, 0.3)];
    let wishes = vec![wish("first", Wanted::Smallest), wish("second", Wanted::Smallest)];
    let (r, asked) = run(both, wishes, |v| {
        let y = v[1] * v[1];
        Some(vec![v[0] * v[0] + y, (v[0] - 1.0) * (v[0] - 1.0) + y])
    });
    let f = r.front.as_ref().unwrap();
    assert_eq!(f.points.len(), 11, "{:?}", r.evidence);
    for p in &f.points {
        let [a, b] = p.readings_si;
        assert!(near(a.max(0.0).sqrt() + b.max(0.0).sqrt(), 1.0, 2e-3), "{p:?}");
    }
    // Farthest from the chord where both are 1/4; there one costs the other as much as it gains.
    let knee = &f.points[f.knee.unwrap()];
    assert!(near(knee.readings_si[0], 0.25, 0.05), "{knee:?}");
    let [a, b] = knee.readings_si;
    assert!(near(knee.rate_si.unwrap(), -(b / a).sqrt(), 0.05), "{knee:?}");
    assert!(asked < 900, "{asked}");
}

#[test]
fn threads_change_nothing() {
    let ask = |threads| {
        let both = vec![vary("x", 0.05, 0.45, 0.4), vary("y", 0.05, 0.45, 0.3)];
        let wishes = vec![wish("sum", Wanted::Smallest), wish("product", Wanted::AtLeast(0.04))];
        let (r, asked) =
            run_with(both, wishes, threads, 0.0, |v| Some(vec![v[0] + v[1], libm::sin(v[0]) * v[1]]));
        (serde_json::to_string(&r).unwrap(), asked)
    };
    assert_eq!(ask(1), ask(3));
}

#[test]
fn a_forward_answer_that_disagrees_is_a_doubt() {
    let (r, _) =
        run_with(vec![vary("x", 0.0, 1.0, 0.5)], vec![equal(1.0, 0.1)], 1, 0.05, |v| Some(vec![2.0 * v[0]]));
    assert_eq!(r.outcome, SizeOutcome::Undecided);
    assert!(r.doubts[0].contains("function says 1.05"), "{:?}", r.doubts);
}
