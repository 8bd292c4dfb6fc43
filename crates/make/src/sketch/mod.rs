//! Drawings at true scale: lines, arcs, paths, hatches and words on layers, in millimetres with y upwards; written as SVG and DXF.

mod dxf;
mod svg;
mod words;

pub use self::dxf::dxf;
pub use self::svg::svg;
pub use self::words::{paragraph, width};

/// What a mark is for: it decides how thick it is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Layer {
    /// Edges of the part: 0.5 mm.
    Outline,
    /// Where to cut or scribe: 0.35 mm.
    Cut,
    /// Where pieces overlap or meet: 0.25 mm, dashed.
    Fold,
    /// Axes: 0.18 mm, dash-dotted.
    Centre,
    /// Dimensions: 0.18 mm.
    Dimension,
    /// Hatching of cut faces: 0.13 mm.
    Hatch,
    /// Words, frames: 0.18 mm.
    Words,
}

impl Layer {
    /// All of them.
    pub const ALL: [Self; 7] =
        [Self::Outline, Self::Cut, Self::Fold, Self::Centre, Self::Dimension, Self::Hatch, Self::Words];

    /// Name of the layer in a DXF file.
    pub fn name(self) -> &'static str {
        match self {
            Self::Outline => "OUTLINE",
            Self::Cut => "CUT",
            Self::Fold => "FOLD",
            Self::Centre => "CENTRE",
            Self::Dimension => "DIMENSION",
            Self::Hatch => "HATCH",
            Self::Words => "WORDS",
        }
    }

    /// Width of its lines, mm (ISO 128 series of line widths, from memory).
    pub fn pen(self) -> f64 {
        match self {
            Self::Outline => 0.5,
            Self::Cut => 0.35,
            Self::Fold => 0.25,
            Self::Centre | Self::Dimension | Self::Words => 0.18,
            Self::Hatch => 0.13,
        }
    }

    /// Dashes and gaps, mm; none for a full line.
    pub fn dashes(self) -> &'static [f64] {
        match self {
            Self::Fold => &[2.0, 1.0],
            Self::Centre => &[6.0, 1.0, 0.6, 1.0],
            _ => &[],
        }
    }
}

/// Which end of a text sits at its place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// Its beginning.
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// One mark; lengths in mm, angles in rad, counterclockwise from the x axis.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    /// A straight line.
    Line([[f64; 2]; 2]),
    /// An arc, counterclockwise from one angle to another.
    Arc {
        /// Its centre.
        centre: [f64; 2],
        /// Its radius.
        radius: f64,
        /// First angle.
        from: f64,
        /// Last angle, greater than the first by at most a full turn.
        to: f64,
    },
    /// Straight pieces through points.
    Path {
        /// The points.
        points: Vec<[f64; 2]>,
        /// Whether the last leads back to the first.
        closed: bool,
    },
    /// A filled polygon: an arrowhead.
    Solid(Vec<[f64; 2]>),
    /// Words.
    Text {
        /// Where its anchor sits, on the base line.
        at: [f64; 2],
        /// Height of the type (em), mm.
        size: f64,
        /// Which end sits there.
        anchor: Anchor,
        /// Turned by, rad.
        turn: f64,
        /// The words.
        words: String,
        /// Whether it stands out.
        bold: bool,
    },
}

/// A drawing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sketch {
    /// Marks from bottom to top, each on its layer.
    pub marks: Vec<(Layer, Mark)>,
}

impl Sketch {
    /// Adds a straight line.
    pub fn line(&mut self, layer: Layer, a: [f64; 2], b: [f64; 2]) {
        self.marks.push((layer, Mark::Line([a, b])));
    }
    /// Adds an arc.
    pub fn arc(&mut self, layer: Layer, centre: [f64; 2], radius: f64, from: f64, to: f64) {
        self.marks.push((layer, Mark::Arc { centre, radius, from, to }));
    }
    /// Adds a path.
    pub fn path(&mut self, layer: Layer, points: Vec<[f64; 2]>, closed: bool) {
        self.marks.push((layer, Mark::Path { points, closed }));
    }
    /// Adds words.
    pub fn text(&mut self, at: [f64; 2], size: f64, anchor: Anchor, words: impl Into<String>) {
        self.turned_text(at, size, anchor, 0.0, words);
    }
    /// Adds words that stand out.
    pub fn bold(&mut self, at: [f64; 2], size: f64, anchor: Anchor, words: impl Into<String>) {
        let words = words.into();
        self.marks.push((Layer::Words, Mark::Text { at, size, anchor, turn: 0.0, words, bold: true }));
    }
    /// Adds words at an angle.
    pub fn turned_text(
        &mut self,
        at: [f64; 2],
        size: f64,
        anchor: Anchor,
        turn: f64,
        words: impl Into<String>,
    ) {
        let words = words.into();
        self.marks.push((Layer::Words, Mark::Text { at, size, anchor, turn, words, bold: false }));
    }
    /// Adds an arrowhead whose tip lies at `tip` and points along an angle.
    pub fn arrow(&mut self, tip: [f64; 2], along: f64) {
        let (sin, cos) = libm::sincos(along);
        // Three long, one wide: a usual arrowhead.
        let at = |d: f64, w: f64| [tip[0] - d * cos - w * sin, tip[1] - d * sin + w * cos];
        self.marks.push((Layer::Dimension, Mark::Solid(vec![tip, at(2.4, 0.4), at(2.4, -0.4)])));
    }
    /// Adds all marks of another, moved.
    pub fn put(&mut self, other: &Self, by: [f64; 2]) {
        let at = |p: &[f64; 2]| [p[0] + by[0], p[1] + by[1]];
        for (layer, mark) in &other.marks {
            let moved = match mark {
                Mark::Line(ends) => Mark::Line(ends.map(|p| at(&p))),
                Mark::Arc { centre, radius, from, to } => {
                    Mark::Arc { centre: at(centre), radius: *radius, from: *from, to: *to }
                }
                Mark::Path { points, closed } => {
                    Mark::Path { points: points.iter().map(at).collect(), closed: *closed }
                }
                Mark::Solid(points) => Mark::Solid(points.iter().map(at).collect()),
                Mark::Text { at: place, size, anchor, turn, words, bold } => Mark::Text {
                    at: at(place),
                    size: *size,
                    anchor: *anchor,
                    turn: *turn,
                    words: words.clone(),
                    bold: *bold,
                },
            };
            self.marks.push((*layer, moved));
        }
    }
}

/// A sheet of paper.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paper {
    /// Its name.
    pub name: &'static str,
    /// Width and height, mm.
    pub size: [f64; 2],
}

impl Paper {
    /// Margin that every printer leaves free, mm.
    pub const MARGIN: f64 = 10.0;
    /// Sheets that are known, small ones first (ISO 216; letter and tabloid by common practice).
    pub const ALL: [Self; 5] = [
        Self { name: "a5", size: [148.0, 210.0] },
        Self { name: "letter", size: [215.9, 279.4] },
        Self { name: "a4", size: [210.0, 297.0] },
        Self { name: "tabloid", size: [279.4, 431.8] },
        Self { name: "a3", size: [297.0, 420.0] },
    ];
    /// The one of that name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|p| p.name == name.trim().to_lowercase())
    }
    /// Width and height within the margins, mm.
    pub fn room(&self) -> [f64; 2] {
        self.size.map(|v| v - 2.0 * Self::MARGIN)
    }
}

/// A sheet with what is drawn on it; the origin is its lower left corner.
#[derive(Clone, Debug, PartialEq)]
pub struct Page {
    /// Its size.
    pub size: [f64; 2],
    /// What it is, for readers who cannot see it.
    pub title: String,
    /// The drawing.
    pub sketch: Sketch,
}
