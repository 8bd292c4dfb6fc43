//! The verification page: every known answer of the oracle beside what the program computes.

mod compute;
mod coned;
mod heat;
mod modes;
mod motion;
mod page;
mod pressed;
mod push;

pub(crate) use page::{PATH, render};

/// A computed value for a known answer.
pub(crate) struct Computed {
    /// The oracle's key.
    pub(crate) id: &'static str,
    /// What the program finds.
    pub(crate) value: f64,
    /// Relative error that the computation claims for itself.
    pub(crate) claims: f64,
}

/// Computes every row. Deterministic.
pub(crate) fn computed() -> Vec<Computed> {
    let mut out = compute::rows();
    out.extend(push::rows());
    out.extend(pressed::rows());
    out.extend(modes::rows());
    out.extend(motion::rows());
    out.extend(heat::rows());
    out
}

#[cfg(test)]
mod tests {
    use super::computed;
    use calotte_oracle::sections;

    /// The program agrees with every known answer to the digits printed and the accuracy claimed.
    #[test]
    fn every_known_answer_is_met() {
        let computed = computed();
        let mut seen = 0;
        for known in sections().iter().flat_map(|s| &s.rows) {
            let Some(c) = computed.iter().find(|c| c.id == known.id) else {
                assert!(super::page::elsewhere(known.id).is_some(), "{} is computed nowhere", known.id);
                continue;
            };
            seen += 1;
            assert!(
                known.agrees(c.value, c.claims),
                "{}: computed {:e}, known {:e}, digits {:.1}",
                known.id,
                c.value,
                known.value,
                known.digits(c.value)
            );
        }
        assert_eq!(seen, computed.len());
        let kept = std::fs::read_to_string(crate::root().join(super::page::PATH)).unwrap();
        assert!(
            kept == super::render(&computed),
            "{} is stale: run `cargo xtask verification`",
            super::page::PATH
        );
    }
}
