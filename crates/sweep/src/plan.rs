//! A plan as data: what is asked, which numbers vary, at which points.

use calotte_answers::map::Quantity;
use calotte_quantity::{Dimension, units};
use calotte_specimen::fingerprint;

use crate::design::Design;
use crate::question::Question;

/// How shares become values.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Spacing {
    /// Evenly.
    Even,
    /// Evenly in the logarithm.
    Logarithmic,
}

/// A number that varies.
#[derive(Clone, Debug)]
pub struct Varied {
    /// Its key in the case, or `depth`.
    pub key: String,
    /// What is changed.
    pub quantity: Quantity,
    /// What it measures.
    pub dimension: Dimension,
    /// Unit that the case writes it in.
    pub unit: String,
    /// Range, SI; none for a table.
    pub range: Option<[f64; 2]>,
    /// Spacing within it.
    pub spacing: Spacing,
}

impl Varied {
    /// SI unit.
    pub fn si(&self) -> &'static str {
        units(self.dimension).next().map_or("", |u| u.symbol)
    }

    /// Name of its column: the key with the SI unit as it stands in names, `wall.thickness_m`.
    pub fn column(&self) -> String {
        let si = self.si().replace("N/m/m", "N/m^2");
        let plain = match si.strip_prefix("1/") {
            Some(rest) => format!("per_{rest}"),
            None => si.replace('/', "_per_"),
        };
        let plain = plain.replace('^', "");
        if plain.is_empty() { self.key.clone() } else { format!("{}_{plain}", self.key) }
    }

    /// The value at a share of the range; both ends exactly.
    pub(crate) fn value(&self, share: f64) -> f64 {
        let Some([from, to]) = self.range else { return share };
        if share <= 0.0 {
            return from;
        }
        if share >= 1.0 {
            return to;
        }
        match self.spacing {
            Spacing::Even => from + share * (to - from),
            Spacing::Logarithmic => {
                let (a, b) = (libm::log(from), libm::log(to));
                libm::exp(a + share * (b - a)).clamp(from, to)
            }
        }
    }
}

/// A plan without faults.
#[derive(Clone, Debug)]
pub struct Plan {
    /// What the sweep is called; the case's title where the plan has none.
    pub title: String,
    /// What is asked, in order, each once.
    pub questions: Vec<Question>,
    /// Points of one chunk.
    pub chunk: u64,
    /// The points.
    pub design: Design,
    /// Seed of the design.
    pub seed: u64,
    /// Numbers that vary, in order.
    pub vary: Vec<Varied>,
    /// The plan file as it can stand beside copies of what it names: `case/case.toml` and `table.csv`.
    pub(crate) portable: String,
    /// The case file and the files that it names, by the names in it.
    pub(crate) case_bytes: Vec<u8>,
    pub(crate) case_files: Vec<(String, Vec<u8>)>,
    /// The table of points.
    pub(crate) table: Option<Vec<u8>>,
}

impl Plan {
    /// Everything that any row depends on but for the version of the program, one matter per line. Comments, titles and names of
    /// files do not matter.
    pub(crate) fn identity(&self, case_digest: &str) -> String {
        let questions: Vec<&str> = self.questions.iter().map(|q| q.name()).collect();
        let mut out = format!(
            "plan 1\ncase {case_digest}\nquestions {}\nchunk {}\npoints {}\n",
            questions.join(" "),
            self.chunk,
            self.design.points()
        );
        out.push_str(&match &self.design {
            Design::Grid { counts } => format!("grid {counts:?}\n"),
            Design::Hypercube { .. } => format!("latin hypercube {}\n", self.seed),
            Design::Sobol { .. } => format!("sobol {}\n", self.seed),
            Design::Table { .. } => {
                format!("table {}\n", fingerprint(self.table.as_deref().unwrap_or_default()))
            }
        });
        for v in &self.vary {
            // `{:?}` is the shortest decimal that reads back as the same bits.
            let range = v.range.map_or(String::new(), |[a, b]| format!(" {a:?} {b:?} {:?}", v.spacing));
            out.push_str(&format!("vary {}{range}\n", v.key));
        }
        out
    }
}
