//! The document as a PDF: lines broken, pages filled, every piece tagged for readers that do not see.

mod faces;
mod flow;
mod set;
mod write;

use calotte_paper::PaperFailure;

use crate::model::Document;
use crate::request::Paper;

use faces::Faces;

pub(crate) use set::words_to_lines;


/// Points in a millimetre.
pub(crate) const MM: f32 = calotte_paper::POINTS_PER_MM as f32;

/// Why a PDF could not be made.
#[derive(Clone, Debug, PartialEq)]
pub enum PdfFailure {
    /// A figure or the file itself.
    Paper(PaperFailure),
    /// A link without a place.
    NoPlace(String),
    /// A typeface that cannot be read: never with those that the program carries.
    NoFace,
    /// Something that is taller than a page.
    TooTall {
        /// What it is.
        what: String,
        /// Its height, mm.
        height_mm: f64,
        /// Height of the page without its margins, mm.
        room_mm: f64,
    },
}

impl std::fmt::Display for PdfFailure {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Paper(why) => write!(f, "{why}"),
            Self::NoPlace(id) => write!(f, "a link leads to `{id}`, which is nowhere"),
            Self::NoFace => write!(f, "a typeface cannot be read"),
            Self::TooTall { what, height_mm, room_mm } => {
                write!(f, "{what} is {height_mm:.0} mm tall, and the paper has room for {room_mm:.0} mm; choose larger paper")
            }
        }
    }
}

impl std::error::Error for PdfFailure {}

impl From<PaperFailure> for PdfFailure {
    fn from(why: PaperFailure) -> Self {
        Self::Paper(why)
    }
}

/// The document as a PDF on this paper.
///
/// # Errors
/// [`PdfFailure`] where a figure is no figure or too tall for the paper.
pub fn pdf(d: &Document, paper: Paper) -> Result<Vec<u8>, PdfFailure> {
    let faces = Faces::new()?;
    // Page numbers of the contents are known only when the pages are filled; digits do not move them.
    let numbers = set::pages(d, paper, &faces, &[])?.chapters();
    let laid = set::pages(d, paper, &faces, &numbers)?;
    write::pdf(d, paper, &faces, &laid)
}
