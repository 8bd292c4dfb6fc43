//! The tables of a bench file and what may stand in them: one list drives reader, hints and page.

use calotte_quantity::Dimension::{
    self, Acceleration, Angle, Curvature, Density, Force, Length, Number, Rate, Time,
};

/// What a key takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Takes {
    /// A quantity.
    Quantity(Dimension),
    /// A quantity, or a list of the same reading taken again.
    Again(Dimension),
    /// A list of quantities.
    List(Dimension),
    /// A list of lists, or a list where each row has one.
    Grid(Dimension),
    /// A text.
    Text,
    /// One of these words.
    Word(&'static [&'static str]),
}

/// A key.
pub(super) struct Key {
    pub(super) name: &'static str,
    pub(super) takes: Takes,
    /// Must stand there (or in the strip that the test names).
    pub(super) needed: bool,
    /// Least and greatest value, SI; the least itself is not allowed when it is 0.
    pub(super) allowed: [f64; 2],
}

const fn key(name: &'static str, takes: Takes, needed: bool, allowed: [f64; 2]) -> Key {
    Key { name, takes, needed, allowed }
}

const ANY: [f64; 2] = [f64::NEG_INFINITY, f64::INFINITY];
const NAME: Key = key("name", Takes::Text, false, ANY);
const STRIP: Key = key("strip", Takes::Text, false, ANY);
const WIDTH: Key = key("width", Takes::Quantity(Length), true, [0.0, 10.0]);
const THICKNESS: Key = key("thickness", Takes::Quantity(Length), true, [0.0, 1.0]);
const DENSITY: Key = key("density", Takes::Quantity(Density), true, [0.0, 1e5]);
const LENGTH: Key = key("length", Takes::Quantity(Length), true, [0.0, 100.0]);
const CLAMP: Key = key("clamp_angle", Takes::Quantity(Angle), false, [-1.0, 1.0]);
const CURL: Key = key("natural_curvature", Takes::Quantity(Curvature), false, [-1e3, 1e3]);
const AFTER: Key = key("after", Takes::Quantity(Time), false, [0.0, 1e9]);
const CASE: Key = key("case", Takes::Text, true, ANY);

/// A table.
pub(super) struct Table {
    pub(super) name: &'static str,
    /// Written `[[name]]`, as often as there are tests.
    pub(super) many: bool,
    pub(super) keys: &'static [Key],
}

/// Every table; the first stands at the top of the file, without a name.
pub(super) static TABLES: [Table; 11] = [
    Table {
        name: "",
        many: false,
        keys: &[
            key("title", Takes::Text, false, ANY),
            key("gravity", Takes::Quantity(Acceleration), false, [0.0, 100.0]),
        ],
    },
    Table {
        name: "material",
        many: false,
        keys: &[
            NAME,
            key("density", Takes::Quantity(Density), false, [0.0, 1e5]),
            key("poisson_ratio", Takes::Quantity(Number), false, [-0.99, 0.5]),
        ],
    },
    Table {
        name: "strip",
        many: true,
        keys: &[
            key("name", Takes::Text, true, ANY),
            WIDTH,
            THICKNESS,
            key("density", Takes::Quantity(Density), false, [0.0, 1e5]),
            CURL,
        ],
    },
    Table {
        name: "droop",
        many: true,
        keys: &[
            NAME,
            STRIP,
            key("width", Takes::Quantity(Length), false, [0.0, 10.0]),
            THICKNESS,
            DENSITY,
            LENGTH,
            key("drop", Takes::Again(Length), false, [0.0, 100.0]),
            key("across", Takes::List(Length), false, [-100.0, 100.0]),
            key("down", Takes::List(Length), false, [-100.0, 100.0]),
            key("point_error", Takes::Quantity(Length), false, [0.0, 1.0]),
            CLAMP,
            CURL,
            AFTER,
        ],
    },
    Table {
        name: "cantilever",
        many: true,
        keys: &[
            NAME,
            STRIP,
            WIDTH,
            THICKNESS,
            key("density", Takes::Quantity(Density), false, [0.0, 1e5]),
            LENGTH,
            key("weight", Takes::Quantity(Force), true, [0.0, 1e6]),
            key("drop", Takes::Again(Length), true, [0.0, 100.0]),
            CLAMP,
            CURL,
            AFTER,
        ],
    },
    Table {
        name: "poke",
        many: true,
        keys: &[
            NAME,
            CASE,
            key("force", Takes::Quantity(Force), true, [0.0, 1e9]),
            key("displacement", Takes::Again(Length), true, [0.0, 100.0]),
            AFTER,
        ],
    },
    Table {
        name: "ringing",
        many: true,
        keys: &[
            NAME,
            key("of", Takes::Word(&["clamped-strip", "free-strip", "case"]), true, ANY),
            STRIP,
            key("length", Takes::Quantity(Length), false, [0.0, 100.0]),
            key("thickness", Takes::Quantity(Length), false, [0.0, 1.0]),
            key("density", Takes::Quantity(Density), false, [0.0, 1e5]),
            key("frequency", Takes::Again(Rate), true, [0.0, 1e9]),
            key("order", Takes::Quantity(Number), false, [0.5, 5.0]),
            key("case", Takes::Text, false, ANY),
            key("state", Takes::Word(&["natural", "inverted"]), false, ANY),
            key("waves", Takes::Quantity(Number), false, [-0.5, 60.0]),
        ],
    },
    Table {
        name: "hardness",
        many: true,
        keys: &[NAME, key("readings", Takes::Again(Number), true, [5.0, 95.0]), AFTER],
    },
    Table {
        name: "thickness",
        many: true,
        keys: &[
            NAME,
            key("arclengths", Takes::List(Length), true, [-1e-9, 100.0]),
            key("angles", Takes::List(Angle), false, [-13.0, 13.0]),
            key("readings", Takes::Grid(Length), true, [0.0, 1.0]),
            key("reading_error", Takes::Quantity(Length), false, [0.0, 0.1]),
        ],
    },
    Table { name: "relaxation", many: false, keys: &FROM_TABLE },
    Table { name: "creep", many: false, keys: &FROM_TABLE },
];

static FROM_TABLE: [Key; 4] = [
    key("table", Takes::Text, true, ANY),
    key("accuracy", Takes::Quantity(Number), false, [0.0, 1.0]),
    key("terms", Takes::Quantity(Number), false, [0.5, 20.0]),
    key("scale_error", Takes::Quantity(Number), false, [0.0, 1.0]),
];

/// The table of this name.
pub(super) fn table(name: &str) -> Option<&'static Table> {
    TABLES.iter().find(|t| t.name == name)
}

impl Takes {
    /// An example of what stands behind the key.
    pub(super) fn example(self, name: &str) -> String {
        let one = |d: Dimension| match d {
            Length => "\"2.10 ± 0.05 mm\"",
            Angle => "\"90 deg\"",
            Density => "\"1080 ± 20 kg/m^3\"",
            Force => "\"20 ± 0.1 gf\"",
            Rate => "\"41.5 ± 0.5 Hz\"",
            Acceleration => "\"9.81 m/s^2\"",
            Time => "\"60 s\"",
            Curvature => "\"0 ± 0.5 1/m\"",
            _ => "\"42 ± 1\"",
        };
        match self {
            Self::Quantity(d) => format!("{name} = {}", one(d)),
            Self::Again(d) => format!("{name} = {0}, or [{0}, {0}] for readings taken again", one(d)),
            Self::List(d) => format!("{name} = [{0}, {0}]", one(d)),
            Self::Grid(d) => format!("{name} = [[{0}, {0}], [{0}, {0}]]", one(d)),
            Self::Text => format!("{name} = \"…\""),
            Self::Word(words) => format!("{name} = \"{}\"", words[0]),
        }
    }
}
