//! Published sources that the formulas rest on, as this repository names them: theory page, code heads, shelf, oracle.
//!
//! Nothing is added to what stands there. Where the repository names a work from memory the entry says so in its note, and a
//! detail that is not known (a first name, a page) is left out instead of guessed.

use std::fmt::Write as _;

/// What kind of work it is, as BibTeX calls it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// In a journal.
    Article,
    /// A book.
    Book,
    /// A report of an institution.
    Report,
    /// A standard, or a work of which no more is known.
    Other,
}

/// A published work.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Source {
    /// Its key.
    pub key: &'static str,
    /// What kind of work.
    pub kind: Kind,
    /// Authors as BibTeX writes them, `A and B`; surnames alone where the repository has no more.
    pub author: &'static str,
    /// Title; empty where it is not certain.
    pub title: &'static str,
    /// Year; 0 for a standard without one.
    pub year: u16,
    /// Journal or series.
    pub venue: &'static str,
    /// Volume.
    pub volume: &'static str,
    /// First page or article number.
    pub pages: &'static str,
    /// Doubt about details, or which part is meant.
    pub note: &'static str,
    /// What it is used for.
    pub used_for: &'static str,
}

const FROM_MEMORY: &str = "from memory";

const fn article(
    key: &'static str,
    author: &'static str,
    title: &'static str,
    year: u16,
    venue: [&'static str; 3],
    note: &'static str,
    used_for: &'static str,
) -> Source {
    Source {
        key,
        kind: Kind::Article,
        author,
        title,
        year,
        venue: venue[0],
        volume: venue[1],
        pages: venue[2],
        note,
        used_for,
    }
}

const fn work(
    kind: Kind,
    key: &'static str,
    author: &'static str,
    title: &'static str,
    year: u16,
    note: &'static str,
    used_for: &'static str,
) -> Source {
    Source { key, kind, author, title, year, venue: "", volume: "", pages: "", note, used_for }
}

/// Every source, by key.
pub const SOURCES: [Source; 25] = [
    article(
        "almen-1936",
        "Almen and Laszlo",
        "The uniform-section disk spring",
        1936,
        ["Trans. ASME", "58", "305"],
        "",
        "the trade's formulae of coned discs, set beside the shell",
    ),
    work(
        Kind::Book,
        "bathe-1976",
        "Bathe and Wilson",
        "Numerical Methods in Finite Element Analysis",
        1976,
        FROM_MEMORY,
        "the lowest vibrations by subspace iteration",
    ),
    article(
        "clopper-1934",
        "Clopper and Pearson",
        "",
        1934,
        ["Biometrika", "26", "404"],
        "title not recorded here",
        "intervals of shares of a batch",
    ),
    work(
        Kind::Other,
        "en-16984",
        "EN",
        "EN 16984",
        0,
        "standard for disc springs; from memory",
        "the trade's formulae of coned discs",
    ),
    article(
        "fritsch-1980",
        "Fritsch and Carlson",
        "Monotone piecewise cubic interpolation",
        1980,
        ["SIAM J. Numer. Anal.", "17", "238"],
        "",
        "material properties between the readings of a table",
    ),
    article(
        "gent-1958",
        "Gent",
        "",
        1958,
        ["Trans. Inst. Rubber Ind.", "34", "46"],
        "formula from memory; title not recorded here",
        "Young's modulus of an elastomer from its hardness",
    ),
    article(
        "griewank-1984",
        "Griewank and Reddien",
        "Characterization and computation of generalized turning points",
        1984,
        ["SIAM J. Numer. Anal.", "21", "176"],
        "",
        "limit points as roots of an extended system",
    ),
    work(
        Kind::Book,
        "hairer-1996",
        "Hairer and Wanner",
        "Solving Ordinary Differential Equations II",
        1996,
        "table IV.5.6 and section IV.8",
        "steps in time and their error",
    ),
    article(
        "homma-1996",
        "Homma and Saltelli",
        "",
        1996,
        ["Reliab. Eng. Syst. Saf.", "52", "1"],
        "title not recorded here",
        "total shares of a variance",
    ),
    article(
        "joe-2008",
        "Joe and Kuo",
        "",
        2008,
        ["SIAM J. Sci. Comput.", "30", "2635"],
        "direction numbers of Sobol's points; title not recorded here",
        "where in the box of tolerances parts are read",
    ),
    work(
        Kind::Other,
        "koiter-1945",
        "Koiter",
        "On the stability of elastic equilibrium",
        1945,
        "title as cited in this program",
        "how a sideways branch leaves the round path",
    ),
    work(
        Kind::Other,
        "marguerre-1938",
        "Marguerre, K.",
        "",
        1938,
        "shallow shells of large deflection: equations from memory, title not recorded here",
        "shallow shells, by which the deep ones are checked",
    ),
    article(
        "more-1983",
        "Moré and Sorensen",
        "Computing a trust region step",
        1983,
        ["SIAM J. Sci. Stat. Comput.", "4", "553"],
        "",
        "finding the inverted state by minimising energy",
    ),
    article(
        "newmark-1959",
        "Newmark",
        "",
        1959,
        ["J. Eng. Mech. Div. ASCE", "85(3)", "67"],
        "title not recorded here",
        "steps of sideways deflections in time",
    ),
    work(
        Kind::Book,
        "pogorelov-1988",
        "Pogorelov, A. V.",
        "Bendings of Surfaces and Stability of Shells",
        1988,
        "ridge; from memory, coefficient recomputed",
        "the ridge of a dimple in a held shell",
    ),
    work(
        Kind::Other,
        "reissner-1950",
        "Reissner, E.",
        "On axisymmetrical deformations of thin shells of revolution",
        1950,
        FROM_MEMORY,
        "equilibrium of a thin shell of revolution that turns as far as it likes",
    ),
    article(
        "saltelli-2010",
        "Saltelli and others",
        "",
        2010,
        ["Comput. Phys. Commun.", "181", "259"],
        "title not recorded here",
        "estimating shares of a variance",
    ),
    article(
        "sobol-1993",
        "Sobol",
        "",
        1993,
        ["Math. Model. Comput. Exp.", "1", "407"],
        "title not recorded here",
        "which tolerance the spread of a batch comes from",
    ),
    work(
        Kind::Book,
        "strogatz-1994",
        "Strogatz",
        "Nonlinear Dynamics and Chaos",
        1994,
        "section 4.3",
        "how motion slows down past a fold",
    ),
    article(
        "taffetani-2018",
        "Taffetani, M. and Jiang, X. and Holmes, D. P. and Vella, D.",
        "Static bistability of spherical caps",
        2018,
        ["Proc. R. Soc. A", "474", "20170910"],
        "threshold near lambda = 5.75 at a Poisson ratio of about 0.5; number from memory",
        "the threshold of a free cap, against which the program is checked",
    ),
    article(
        "timoshenko-1925",
        "Timoshenko",
        "Analysis of bi-metal thermostats",
        1925,
        ["J. Opt. Soc. Am.", "11", "233"],
        "",
        "how a wall of two layers bends when heated",
    ),
    work(
        Kind::Book,
        "timoshenko-1959",
        "Timoshenko and Woinowsky-Krieger",
        "Theory of Plates and Shells",
        1959,
        "articles 14 and 21; from memory",
        "stiffness of a wall of layers",
    ),
    article(
        "williams-1955",
        "Williams and Landel and Ferry",
        "",
        1955,
        ["J. Am. Chem. Soc.", "77", "3701"],
        "title not recorded here",
        "relaxation at another temperature",
    ),
    article(
        "wittrick-1953",
        "Wittrick and Myers and Blunden",
        "Stability of a bimetallic disk",
        1953,
        ["Q. J. Mech. Appl. Math.", "6", "15"],
        "",
        "trip and reset of shallow discs, against which the program is checked",
    ),
    work(
        Kind::Other,
        "zoelly-1915",
        "Zoelly",
        "Ueber ein Knickungsproblem an der Kugelschale",
        1915,
        "dissertation",
        "the pressure at which a sphere buckles, against which the program is checked",
    ),
];

/// The source of this key.
pub fn source(key: &str) -> Option<&'static Source> {
    SOURCES.binary_search_by(|s| s.key.cmp(key)).ok().map(|i| &SOURCES[i])
}

impl Source {
    /// As printed in a list of sources.
    pub fn printed(&self) -> String {
        let mut out = self.author.replace(" and ", ", ");
        if self.year > 0 {
            let _ = write!(out, " ({})", self.year);
        }
        if !self.title.is_empty() && self.title != self.author {
            let _ = write!(out, ". {}", self.title);
        }
        if !self.venue.is_empty() {
            let _ = write!(out, ". {} {}, {}", self.venue, self.volume, self.pages);
        }
        out.push('.');
        if !self.note.is_empty() {
            let _ = write!(out, " [{}]", self.note);
        }
        out
    }

    /// As BibTeX.
    pub fn bibtex(&self) -> String {
        let kind = match self.kind {
            Kind::Article => "article",
            Kind::Book => "book",
            Kind::Report => "techreport",
            Kind::Other => "misc",
        };
        let mut out = format!("@{kind}{{{},\n", self.key);
        let year = if self.year > 0 { self.year.to_string() } else { String::new() };
        // Names of a standard's maker are no person's; braces keep them whole.
        let author = if self.key == "en-16984" { "{EN}" } else { self.author };
        for (name, value) in [
            ("author", author),
            ("title", self.title),
            ("year", &year),
            ("journal", self.venue),
            ("volume", self.volume),
            ("pages", self.pages),
            ("note", self.note),
        ] {
            if !value.is_empty() {
                let _ = writeln!(out, "  {name} = {{{value}}},");
            }
        }
        out.push_str("}\n");
        out
    }
}

/// A BibTeX file of these sources.
pub fn bibtex(keys: &[&str]) -> String {
    let entries: Vec<String> = keys.iter().filter_map(|k| source(k)).map(Source::bibtex).collect();
    entries.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Kind, key and fields of an entry.
    type Entry = (String, String, Vec<(String, String)>);

    /// Entries of a BibTeX text: kind, key, fields. Braces must close.
    fn parse(text: &str) -> Vec<Entry> {
        let mut out = Vec::new();
        for entry in text.split('@').skip(1) {
            let (kind, rest) = entry.split_once('{').unwrap();
            assert_eq!(entry.matches('{').count(), entry.matches('}').count(), "{entry}");
            let body = rest.trim_end().strip_suffix('}').unwrap();
            let (key, body) = body.split_once(',').unwrap();
            let fields = body.trim().lines().map(|l| {
                let (name, value) = l.trim().trim_end_matches(',').split_once(" = ").unwrap();
                let value = value.strip_prefix('{').unwrap().strip_suffix('}').unwrap();
                (name.to_owned(), value.to_owned())
            });
            out.push((kind.to_owned(), key.to_owned(), fields.collect()));
        }
        out
    }

    #[test]
    fn keys_are_sorted_and_the_bibtex_can_be_read_again() {
        assert!(SOURCES.windows(2).all(|w| w[0].key < w[1].key));
        let keys: Vec<&str> = SOURCES.iter().map(|s| s.key).collect();
        let read = parse(&bibtex(&keys));
        assert_eq!(read.len(), SOURCES.len());
        for ((kind, key, fields), s) in read.iter().zip(&SOURCES) {
            assert_eq!(key, s.key);
            let field = |name: &str| fields.iter().find(|f| f.0 == name).map(|f| f.1.as_str());
            assert!(field("author").is_some_and(|a| !a.is_empty()), "{key}");
            assert_eq!(field("title").unwrap_or(""), s.title, "{key}");
            assert_eq!(field("year").unwrap_or("0"), s.year.to_string(), "{key}");
            // An article names its place, whatever else is not known; what has no title says so.
            assert!(kind != "article" || field("journal").is_some(), "{key}");
            assert!(!s.title.is_empty() || s.note.contains("title not recorded"), "{key}");
        }
    }

    #[test]
    fn every_source_is_named_where_the_program_says_what_it_rests_on() {
        let theory = include_str!("../../../docs/theory.md");
        let others = [
            include_str!("../../../docs/case-file.md"),
            include_str!("../../../docs/spread.md"),
            include_str!("../../../docs/trade.md"),
            include_str!("../../../docs/bench-tests.md"),
            include_str!("../../chance/src/indices.rs"),
            include_str!("../../chance/src/quasi.rs"),
            include_str!("../../solve/src/spectrum.rs"),
            include_str!("../../solve/src/minimise.rs"),
            include_str!("../../oracle/src/heat_trip.rs"),
            include_str!("../../oracle/src/motion.rs"),
            include_str!("../../oracle/src/natural.rs"),
            include_str!("../../oracle/src/layered.rs"),
            include_str!("../../oracle/src/dome.rs"),
        ];
        for s in &SOURCES {
            let first = s.author.split([' ', ',']).next().unwrap();
            let year = s.year.to_string();
            let here = |text: &str| {
                text.lines().collect::<Vec<_>>().windows(2).any(|l| {
                    let both = l.concat();
                    both.contains(first) && (s.year == 0 || both.contains(&year))
                })
            };
            assert!(here(theory) || others.iter().any(|t| here(t)), "{}: named nowhere", s.key);
        }
    }
}
