//! What was made as data, SI units in the key names.

use calotte_specimen::{Case, Part};
use serde::Serialize;

use crate::drawing::{Drawing, Sizes, scale_words};
use crate::guide::{Guide, Slice};
use crate::mould::{Mould, Settings};
use crate::series::Series;
use crate::tool::Tool;

/// Version of the layout; raised when a key changes meaning or goes.
pub const SCHEMA_VERSION: u32 = 1;

/// The whole answer.
#[derive(Clone, Debug, Serialize)]
pub struct MakeReport {
    /// [`SCHEMA_VERSION`].
    pub schema_version: u32,
    /// Title of the case.
    pub title: String,
    /// What was made.
    pub what: Vec<&'static str>,
    /// The mould.
    pub mould: Option<MouldPart>,
    /// The cutting guide.
    pub guide: Option<GuidePart>,
    /// The drawing.
    pub drawing: Option<DrawingPart>,
    /// The forming tool.
    pub tool: Option<ToolPart>,
    /// The series.
    pub series: Option<SeriesPart>,
    /// What suits the part but cannot be made of it so, and why.
    pub not_made: Vec<String>,
    /// What to mind.
    pub cautions: Vec<String>,
    /// Files that `--out` writes.
    pub files: Vec<String>,
}

impl MakeReport {
    pub(super) fn new(case: &Case) -> Self {
        Self {
            schema_version: SCHEMA_VERSION,
            title: case.title.clone(),
            what: Vec::new(),
            mould: None,
            guide: None,
            drawing: None,
            tool: None,
            series: None,
            not_made: Vec::new(),
            cautions: Vec::new(),
            files: Vec::new(),
        }
    }
}

/// A mould.
#[derive(Clone, Debug, Serialize)]
pub struct MouldPart {
    /// The pieces from below upwards; what is cast comes last.
    pub pieces: Vec<PiecePart>,
    /// Heights of the parting planes over the lowest place of the cavity.
    pub parting_m: Vec<f64>,
    /// Diameter and height over all.
    pub diameter_m: f64,
    /// Height over all.
    pub height_m: f64,
    /// Volume of the cavity.
    pub cavity_m3: f64,
    /// Volume to pour.
    pub poured_m3: f64,
    /// Volume of the cast after shrinking.
    pub cast_m3: f64,
    /// Mass of the cast; `None` without a density.
    pub cast_kg: Option<f64>,
    /// Mass to pour; `None` without a density.
    pub poured_kg: Option<f64>,
    /// Linear shrinkage allowed for.
    pub shrinkage: f64,
    /// Offset of the faces.
    pub offset_m: f64,
    /// Stretch that the part needs to come off the core.
    pub stretch: f64,
    /// Whether the part was turned over.
    pub turned_over: bool,
    /// What the maker should know.
    pub notes: Vec<String>,
}

/// A piece of a mould.
#[derive(Clone, Debug, Serialize)]
pub struct PiecePart {
    /// Its name.
    pub name: &'static str,
    /// Triangles.
    pub faces: usize,
    /// Volume of the mesh.
    pub volume_m3: f64,
    /// Exact volume.
    pub exact_volume_m3: f64,
    /// Holes right through.
    pub holes: i64,
    /// Pairs of faces that were looked at for crossings; none cross.
    pub pairs_checked: usize,
}

pub(super) fn mould(m: &Mould, s: &Settings, part: &Part) -> MouldPart {
    let piece = |p: &crate::mould::Piece| PiecePart {
        name: p.name,
        faces: p.mesh.faces.len(),
        volume_m3: p.sound.volume,
        exact_volume_m3: p.exact,
        holes: (2 - p.sound.euler) / 2,
        pairs_checked: p.sound.pairs,
    };
    let cast = m.cavity * (1.0 - s.shrinkage).powi(3);
    MouldPart {
        pieces: m.pieces.iter().map(piece).collect(),
        parting_m: m.parting.clone(),
        diameter_m: 2.0 * m.size[0],
        height_m: m.size[1],
        cavity_m3: m.cavity,
        poured_m3: m.poured,
        cast_m3: cast,
        cast_kg: part.material.density.map(|d| d * cast),
        poured_kg: part.material.density.map(|d| d * m.poured),
        shrinkage: s.shrinkage,
        offset_m: s.offset,
        stretch: m.stretch,
        turned_over: m.turned,
        notes: m.notes.clone(),
    }
}

/// A cutting guide.
#[derive(Clone, Debug, Serialize)]
pub struct GuidePart {
    /// Height of the ring stand.
    pub stand_height_m: f64,
    /// Radius of its edge.
    pub stand_edge_radius_m: f64,
    /// Height of the ball's centre over the table.
    pub centre_height_m: f64,
    /// Sheets of paper.
    pub pages: usize,
    /// The slices.
    pub slices: Vec<Slice>,
    /// What the maker should know.
    pub notes: Vec<String>,
}

pub(super) fn guide(g: &Guide) -> GuidePart {
    GuidePart {
        stand_height_m: g.ring[0],
        stand_edge_radius_m: g.ring[1],
        centre_height_m: g.centre,
        pages: g.pages.len(),
        slices: g.slices.clone(),
        notes: g.notes.clone(),
    }
}

/// A drawing.
#[derive(Clone, Debug, Serialize)]
pub struct DrawingPart {
    /// Paper over part, in words.
    pub scale: String,
    /// Overall sizes.
    #[serde(flatten)]
    pub sizes: Sizes,
}

pub(super) fn drawing(d: &Drawing) -> DrawingPart {
    DrawingPart { scale: scale_words(d.scale), sizes: d.sizes }
}

/// A forming tool.
#[derive(Clone, Debug, Serialize)]
pub struct ToolPart {
    /// Diameter of the blank.
    pub blank_diameter_m: f64,
    /// Diameter of its hole; 0 without one.
    pub blank_hole_m: f64,
    /// Mass of the blank; `None` without a density.
    pub blank_kg: Option<f64>,
    /// Least radius of curvature over thickness; `None` where nothing is curved.
    pub tightest_radius_over_thickness: Option<f64>,
    /// What the maker should know.
    pub notes: Vec<String>,
}

pub(super) fn tool(t: &Tool, part: &Part) -> ToolPart {
    let area = std::f64::consts::PI * (t.blank_radius * t.blank_radius - t.blank_hole * t.blank_hole);
    let even = part.wall.is_uniform();
    ToolPart {
        blank_diameter_m: 2.0 * t.blank_radius,
        blank_hole_m: 2.0 * t.blank_hole,
        blank_kg: part.material.density.filter(|_| even).map(|d| d * area * part.wall.thickness(0.0)),
        tightest_radius_over_thickness: t.tightest.is_finite().then_some(t.tightest),
        notes: t.notes.clone(),
    }
}

/// A series.
#[derive(Clone, Debug, Serialize)]
pub struct SeriesPart {
    /// Key of the number that varies.
    pub varies: String,
    /// Its value at the threshold, SI.
    pub threshold_si: f64,
    /// The same in words.
    pub threshold: String,
    /// Scatter of margins, standard deviation.
    pub scatter: f64,
    /// How far all margins may be off together, standard deviation.
    pub doubt: f64,
    /// What the outcomes tell, bits on average.
    pub bits: f64,
    /// The specimens.
    pub specimens: Vec<MemberPart>,
    /// What the maker should know.
    pub notes: Vec<String>,
}

/// A specimen of a series.
#[derive(Clone, Debug, Serialize)]
pub struct MemberPart {
    /// Its label.
    pub label: String,
    /// The number that varies, SI.
    pub value_si: f64,
    /// The same in words.
    pub value: String,
    /// ln(h*/h).
    pub margin: f64,
    /// What is predicted.
    pub predicted: &'static str,
    /// Chance that it stays.
    pub chance_stays: f64,
}

pub(super) fn series(case: &Case, input: usize, s: &Series) -> SeriesPart {
    let i = &case.inputs()[input];
    let member = |m: &crate::series::Member| MemberPart {
        label: m.label.clone(),
        value_si: m.value,
        value: i.show(m.value, i.half_width),
        margin: m.margin,
        predicted: m.outcome.word(),
        chance_stays: m.stays,
    };
    SeriesPart {
        varies: i.key.clone(),
        threshold_si: s.threshold,
        threshold: i.show(s.threshold, None),
        scatter: s.sigma,
        doubt: s.tau,
        bits: s.bits,
        specimens: s.members.iter().map(member).collect(),
        notes: s.notes.clone(),
    }
}
