//! A series of an invented cap.

use super::*;
use calotte_answers::gauge::{Gauge, Gauges};
use calotte_specimen::read_case;

const CASE: &str = r#"
title = "Invented cap"
[shape]
kind = "cap"
radius = "25.0 ± 0.1 mm"
half_angle = "60 ± 0.5 deg"
[wall]
thickness = "2.40 ± 0.05 mm"
[material]
youngs_modulus = "1.2 MPa"
poisson_ratio = "0.49"
[rim]
kind = "free"
"#;

fn case() -> Case {
    read_case(CASE.as_bytes(), &|_| Err(std::io::Error::other("no files"))).0.unwrap()
}

fn ask(case: &Case, name: &str, count: usize) -> Ask {
    let input = which(case, name).unwrap();
    Ask { input, count, doubt: 0.04, scatter: 0.003, step: usual_step(case, input) }
}

#[test]
fn a_series_straddles_the_threshold() {
    let case = case();
    let mut work = Work::default();
    for name in ["thickness", "depth"] {
        let s = series(&case, &ask(&case, name, 6), &mut work).unwrap();
        assert_eq!(s.members.len(), 6);
        let stays = s.members.iter().filter(|m| m.outcome == Outcome::Stays).count();
        assert_eq!(stays, 3, "{name}");
        assert!(s.members.windows(2).all(|w| w[0].margin > w[1].margin), "{name}");
        for m in &s.members {
            // Each is asked again as a case of its own: the same margin, from nothing known before.
            let (one, _) = read_case(m.case_toml.as_bytes(), &|_| Err(std::io::Error::other("no files")));
            let one = one.unwrap();
            let again = Gauges::new(&one, &[Gauge::Margin], &mut work).unwrap().read_anew(&[], &mut work);
            let again = *again[0].as_ref().unwrap();
            assert!((again - m.margin).abs() < 2e-3, "{name} {}: {again} {}", m.label, m.margin);
            assert_eq!(m.stays > 0.5, m.margin > 0.0);
        }
        // The threshold's own margin is nought, and thinner or deeper parts stay.
        let thick = name == "thickness";
        assert_eq!(s.members[0].value < s.threshold, thick);
        assert!(s.bits > 1.0 && s.bits < 3.0, "{}", s.bits);
    }
}

/// The margin over the thickness of a cap is ln h* − ln h to a part in ten, so own tolerance 2 % (two deviations) gives σ of 1 %.
#[test]
fn scatter_and_doubt_are_told() {
    let case = case();
    let s = series(&case, &ask(&case, "thickness", 4), &mut Work::default()).unwrap();
    let own = 0.5 * 0.05 / 2.4;
    assert!((s.sigma / libm::hypot(own, 0.003) - 1.0).abs() < 0.15, "{}", s.sigma);
    assert!(s.tau > 0.04 && s.tau < 0.05, "{}", s.tau);
}

#[test]
fn what_cannot_be_is_said() {
    let case = case();
    let mut work = Work::default();
    let bad = series(&case, &ask(&case, "thickness", 13), &mut work).unwrap_err();
    assert!(bad.help.contains("2 to 12"), "{bad:?}");
    let bad = series(&case, &ask(&case, "material.youngs_modulus", 4), &mut work).unwrap_err();
    assert!(bad.says.contains("hardly moves"), "{bad:?}");
    assert!(which(&case, "colour").unwrap_err().help.contains("shape.half_angle"));
}

/// A memory whose hold is that of the mirror image: parts just beyond the threshold wait, by the same bounds as the verdict's band.
#[test]
fn parts_with_a_memory_wait_or_are_not_called_returning() {
    let memory = "\n[memory]\nshares = [0.1]\ntimes = [\"1 s\"]\n[hold]\ntime = \"10 s\"\nshape = ";
    let with = |shape: &str| {
        let text = format!("{CASE}{memory}\"{shape}\"\n");
        read_case(text.as_bytes(), &|_| Err(std::io::Error::other("no files"))).0.unwrap()
    };
    let case = with("mirror");
    let s = series(&case, &ask(&case, "thickness", 6), &mut Work::default()).unwrap();
    let words: Vec<&str> = s.members.iter().map(|m| m.outcome.word()).collect();
    assert_eq!(words[..3], ["stays"; 3]);
    assert!(words[3..].contains(&"waits") && !words.contains(&"does not stay"), "{words:?}");
    let case = with("inverted");
    let s = series(&case, &ask(&case, "thickness", 4), &mut Work::default()).unwrap();
    assert_eq!(s.members[3].outcome, Outcome::DoesNotStay);
    assert!(s.notes.iter().any(|n| n.contains("calotte release")), "{:?}", s.notes);
}
