//! Series from tables: what is found again, and what is refused.

use super::*;
use crate::{File, Finding, Level, Memory, TimeShift, place};

/// Invented series; `count` times spaced evenly in the logarithm.
fn times(first: f64, last: f64, count: usize) -> Vec<f64> {
    let step = libm::log(last / first) / (count - 1) as f64;
    (0..count).map(|i| first * libm::exp(step * i as f64)).collect()
}

fn memory(terms: &[[f64; 2]]) -> Memory {
    let terms = terms.iter().map(|[share, time]| MemoryTerm { share: *share, time: *time }).collect();
    Memory { terms, shift: TimeShift::None }
}

fn table(column: MemoryColumn, times: Vec<f64>, value: impl Fn(f64) -> f64) -> MemoryTable {
    let values = times.iter().map(|t| value(*t)).collect();
    MemoryTable { column, times, values }
}

fn open(table: &MemoryTable) -> MemoryFit {
    MemoryFit::of(table, MemoryFitSettings::default()).unwrap()
}

/// Exact readings of a series give the series back: closed form.
#[test]
fn a_series_is_found_again() {
    for terms in [
        &[[0.3, 10.0]][..],
        &[[0.1, 0.5], [0.2, 20.0], [0.15, 900.0]],
        &[[0.05, 1.0], [0.04, 8.0], [0.2, 60.0], [0.01, 2000.0]],
    ] {
        let truth = memory(terms);
        let made = table(MemoryColumn::Modulus, times(0.05, 1e4, 60), |t| 2.5e6 * truth.modulus(t));
        let fit = open(&made);
        assert_eq!(fit.terms.len(), terms.len(), "{:?}", fit.terms);
        for (found, [share, time]) in fit.terms.iter().zip(terms) {
            assert!((found.share - share).abs() < 1e-6, "{found:?} {share}");
            assert!((found.time / time - 1.0).abs() < 1e-4, "{found:?} {time}");
        }
        assert!((fit.instantaneous / 2.5e6 - 1.0).abs() < 1e-6, "{}", fit.instantaneous);
        assert!(fit.rms < 1e-8 && fit.largest >= fit.rms, "{} {}", fit.rms, fit.largest);
    }
}

/// The same from creep: the compliance of the series, by its own closed form, converted back.
#[test]
fn a_series_is_found_again_from_creep() {
    let creep = Creep { instantaneous: 4e-7, terms: vec![[1e-7, 2.0], [0.5e-7, 300.0]] };
    let compliance =
        |t: f64| creep.instantaneous + creep.terms.iter().map(|[j, l]| j * -libm::expm1(-t / l)).sum::<f64>();
    let fit = open(&table(MemoryColumn::Compliance, times(0.05, 1e4, 60), compliance));
    let truth = creep.relaxation();
    assert_eq!(fit.terms.len(), 2, "{:?}", fit.terms);
    for (found, truth) in fit.terms.iter().zip(&truth) {
        assert!((found.share - truth.share).abs() < 1e-6, "{found:?} {truth:?}");
        assert!((found.time / truth.time - 1.0).abs() < 1e-4, "{found:?} {truth:?}");
    }
    assert!((fit.instantaneous * 4e-7 - 1.0).abs() < 1e-6);
    // Loss of the relaxation from the end values of the compliance: 1 − J₀/J∞, closed form.
    let loss: f64 = fit.terms.iter().map(|t| t.share).sum();
    assert!((loss - (1.0 - 4e-7 / 5.5e-7)).abs() < 1e-6, "{loss}");
}

/// A stretched exponential is no sum of few exponentials. Stated: half a per cent rms at the readings, one per cent between
/// them, with eight terms at most.
#[test]
fn a_stretched_exponential_is_fitted() {
    let modulus = |t: f64| 1e6 * (0.4 + 0.6 * libm::exp(-(t / 100.0).sqrt()));
    let given = times(0.1, 1e4, 51);
    let made = table(MemoryColumn::Youngs, given.clone(), modulus);
    let settings = MemoryFitSettings { terms: None, accuracy: 0.005 };
    let fit = MemoryFit::of(&made, settings).unwrap();
    assert!(fit.rms <= 0.005 && (2..=8).contains(&fit.terms.len()), "{} {:?}", fit.rms, fit.terms);
    let found = Memory { terms: fit.terms.clone(), shift: TimeShift::None };
    for pair in given.windows(2) {
        let t = (pair[0] * pair[1]).sqrt();
        let off = fit.instantaneous * found.modulus(t) / modulus(t) - 1.0;
        assert!(off.abs() < 0.01, "{t}: {off}");
    }
    // Fewer terms than that fit worse; more, when asked for, fit better, and never more than there are.
    let with = |n| MemoryFit::of(&made, MemoryFitSettings { terms: Some(n), accuracy: 0.0 }).unwrap();
    let (few, many) = (with(fit.terms.len() - 1), with(fit.terms.len() + 1));
    assert!(few.rms > 0.005 && many.rms < fit.rms, "{} {} {}", few.rms, fit.rms, many.rms);
    assert_eq!((few.terms.len(), many.terms.len()), (fit.terms.len() - 1, fit.terms.len() + 1));
    assert!(with(20).terms.len() <= fit.most_terms);
    // Computed values carry no noise; the usual accuracy of a bench test keeps the series short all the same.
    let usual = open(&made);
    assert!(usual.rms <= USUAL_ACCURACY && usual.terms.len() < with(20).terms.len(), "{}", usual.terms.len());
}

/// One per cent of noise on a series of two terms: two terms again, shares within what the noise explains.
#[test]
fn noise_is_not_fitted() {
    let truth = memory(&[[0.2, 3.0], [0.15, 200.0]]);
    let mut x = 7_u32;
    let mut noise = || {
        let sum: f64 = (0..12)
            .map(|_| {
                x = x.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                f64::from(x) / 4_294_967_296.0
            })
            .sum();
        0.01 * (sum - 6.0)
    };
    let noisy: Vec<f64> =
        times(0.1, 3000.0, 60).iter().map(|t| truth.modulus(*t) * (1.0 + noise())).collect();
    let made = MemoryTable { column: MemoryColumn::Ratio, times: times(0.1, 3000.0, 60), values: noisy };
    let fit = open(&made);
    assert!(fit.terms.len() <= 4, "{:?}", fit.terms);
    assert!(fit.rms < 0.013 && fit.grid_rms <= fit.rms * (1.0 + 1e-9), "{} {}", fit.rms, fit.grid_rms);
    let loss: f64 = fit.terms.iter().map(|t| t.share).sum();
    assert!((loss - 0.35).abs() < 0.02, "{loss}");
}

#[test]
fn terms_outside_the_span_are_doubtful() {
    let truth = memory(&[[0.2, 0.05], [0.2, 10.0]]);
    let fit = open(&table(MemoryColumn::Ratio, times(0.1, 1000.0, 40), |t| truth.modulus(t)));
    let doubts: Vec<bool> = fit.terms.iter().map(|t| fit.doubtful(t)).collect();
    assert_eq!(doubts, [true, false], "{:?}", fit.terms);
    let [first, last] = fit.span();
    assert!((first - 0.1).abs() < 1e-12 && (last / 1000.0 - 1.0).abs() < 1e-12);
}

#[test]
fn what_gives_no_memory_is_refused() {
    let t = || times(0.1, 1000.0, 20);
    let refuse = |made: &MemoryTable| MemoryFit::of(made, MemoryFitSettings::default()).unwrap_err();
    assert_eq!(refuse(&table(MemoryColumn::Ratio, t(), |_| 1.0)), MemoryFitFailure::NoRelaxation);
    let flows = table(MemoryColumn::Modulus, t(), |t| 1e6 * libm::exp(-t / 100.0));
    assert_eq!(refuse(&flows), MemoryFitFailure::NothingLeft);
    let soft = table(MemoryColumn::Compliance, t(), |t| 1e-6 * -libm::expm1(-t / 10.0));
    assert_eq!(refuse(&soft), MemoryFitFailure::NothingAtOnce);
    for failure in
        [MemoryFitFailure::NoRelaxation, MemoryFitFailure::NothingLeft, MemoryFitFailure::NothingAtOnce]
    {
        assert!(!failure.hint().is_empty() && !failure.to_string().is_empty());
    }
}

fn said(text: &str) -> Vec<String> {
    let (made, found) = read_memory_table("relax.csv", text.as_bytes());
    assert_eq!(made.is_none(), found.iter().any(|f| f.level == Level::Error), "{found:#?}");
    let line = |f: &Finding| {
        assert_eq!(f.file, File::Other("relax.csv".to_owned()));
        let p = place(text.as_bytes(), f.span.start);
        format!("{}:{} {} | {}", p.line, p.column, f.says, f.hint.as_deref().unwrap_or(""))
    };
    found.iter().map(line).collect()
}

#[test]
fn tables_are_read_in_any_unit() {
    let read = |text: &str| read_memory_table("t.csv", text.as_bytes()).0.unwrap();
    let first = |text: &str| (read(text).column, read(text).times[0], read(text).values[0]);
    assert_eq!(first("time_min,modulus_MPa\n1,2\n2,1.9\n3,1.8\n4,1.7\n"), (MemoryColumn::Modulus, 60.0, 2e6));
    assert_eq!(first("time_s;youngs_kPa\n1;2\n2;1.9\n3;1.8\n4;1.7\n"), (MemoryColumn::Youngs, 1.0, 2e3));
    assert_eq!(first("ratio,time_ms\n1,5\n0.9,6\n0.8,7\n0.7,8\n"), (MemoryColumn::Ratio, 5e-3, 1.0));
    assert_eq!(first("time (h),ratio (%)\n1,90\n2,80\n3,70\n4,60\n"), (MemoryColumn::Ratio, 3600.0, 0.9));
    assert_eq!(
        first("time_s,compliance_1/MPa\n1,0.5\n2,0.6\n3,0.7\n4,0.8\n"),
        (MemoryColumn::Compliance, 1.0, 5e-7)
    );
}

#[test]
fn bad_tables_are_pointed_at() {
    let head = "time_s,modulus_MPa\n";
    let good = "1,2\n2,1.9\n3,1.8\n4,1.7\n";
    assert!(said(&format!("{head}{good}")).is_empty());
    for (text, starts, contains) in [
        (format!("{head}1,2\n2,\n3,1.8\n4,1.7\n"), "3:3 an empty field", ""),
        (format!("{head}1,2\n2\n3,1.8\n4,1.7\n"), "3:1 1 fields", ""),
        (format!("{head}1,2\n3,1.8\n2,1.9\n4,1.7\n"), "4:1 the time must increase", "sort the rows"),
        (format!("{head}1,2\n2,1.9\n2,1.8\n4,1.7\n"), "4:1 this time stands in the row before", "once"),
        (
            format!("{head}0,2\n2,1.9\n3,1.8\n4,1.7\n"),
            "2:1 a time must be greater than 0",
            "leave this row out",
        ),
        (format!("{head}1,2\n2,-1.9\n3,1.8\n4,1.7\n"), "3:1 a modulus must be greater than 0", ""),
        (format!("{head}1,2\n2,1e-99\n3,1.8\n4,1.7\n"), "3:1 a number of this size", "exponent"),
        (format!("{head}1e-9,2\n2,1.9\n3,1.8\n4e8,1.7\n"), "5:1 the readings span more than fifteen", "unit"),
        (format!("{head}1,2\n2,nan\n3,1.8\n4,1.7\n"), "3:3 the number must be finite", ""),
        (format!("{head}1,2\n2,two\n3,1.8\n4,1.7\n"), "3:3 `two` is not a number", ""),
        (format!("{head}1,2\n2,1.9\n3,1.8\n"), "4:1 3 rows; a fit needs 4", "decade"),
        (format!("{head}1,1\n2,1.1\n3,1.2\n4,1.3\n"), "5:1 the modulus grows", "compliance_1/MPa"),
        ("time_s,ratio\n1,1\n2,1.1\n3,1.2\n4,1.3\n".into(), "5:1 the ratio grows", "compliance_1/MPa"),
        (
            "time_s,compliance_1/MPa\n1,2\n2,1.9\n3,1.8\n4,1.7\n".into(),
            "5:1 the compliance falls",
            "modulus_MPa",
        ),
        (format!("time,modulus_MPa\n{good}"), "1:1 column `time` does not name its unit", "write `time_s`"),
        (format!("time_s,modulus_mm\n{good}"), "1:8 unknown unit `mm`", "write `modulus_MPa`"),
        (format!("time_s,compliance_MPa\n{good}"), "1:8 unknown unit `MPa`", "1/kPa"),
        (
            "time_s,modulus_MPa,ratio\n1,2,1\n2,1.9,1\n3,1.8,1\n4,1.7,1\n".into(),
            "1:20 `modulus` and `ratio`",
            "keep one",
        ),
        ("modulus_MPa\n2\n1\n".into(), "1:1 no column `time`", "time_s,modulus_MPa"),
        (good.to_owned(), "1:1 the first line must name", "time_s,modulus_MPa"),
        (head.to_owned(), "1:1 no rows", ""),
        (String::new(), "1:1 the file has no lines", "time_s,modulus_MPa"),
    ] {
        let all = said(&text);
        assert_eq!(all.len(), 1, "{text}: {all:#?}");
        assert!(all[0].starts_with(starts) && all[0].contains(contains), "{starts}: {}", all[0]);
    }
    let all = said(&format!("time_s,stress_MPa\n{good}"));
    assert!(all.iter().any(|l| l.contains("no column of a modulus") && l.contains("youngs_MPa")), "{all:#?}");
    let all = said(&format!("{head}1,-2\n2,1.9\n2,1.8\n1,1.7\n"));
    assert_eq!(all.len(), 3, "{all:#?}");
    let many: String = (1..=5001).map(|i| format!("{i},{}\n", 1.0 / f64::from(i))).collect();
    assert!(said(&format!("{head}{many}"))[0].contains("5001 rows; at most 5000"));
}
