//! The document as a PDF: lines broken, pages filled, every piece tagged for readers that do not see.

mod faces;
mod flow;
mod lines;
mod set;
mod table;
mod write;

use calotte_paper::PaperFailure;

use crate::model::Document;
use crate::request::Paper;

use faces::Faces;

use lines::words_to_lines;

/// Points in a millimetre.
pub(crate) const MM: f32 = calotte_paper::POINTS_PER_MM as f32;

/// Why a PDF could not be made.
#[derive(Clone, Debug, PartialEq)]
pub enum PdfFailure {
    /// A figure or the file itself.
    Paper(PaperFailure),
    /// A link without a place.
    NoPlace(String),
    /// A sheet that does not fit on its page.
    Pages,
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
            Self::Pages => {
                write!(f, "the sheet does not fit on one page of this paper; a shorter title may help, or A4")
            }
            Self::NoFace => write!(f, "a typeface cannot be read"),
            Self::TooTall { what, height_mm, room_mm } => {
                write!(
                    f,
                    "{what} is {height_mm:.0} mm tall, and the paper has room for {room_mm:.0} mm; choose larger paper"
                )
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
    if !d.one_page {
        let numbers = set::pages(d, paper, &faces, &[], 1.0)?.chapters();
        let laid = set::pages(d, paper, &faces, &numbers, 1.0)?;
        return write::pdf(d, paper, &faces, &laid);
    }
    for share in SHARES {
        let laid = set::pages(d, paper, &faces, &[], share)?;
        if laid.filled.pages.len() == 1 {
            return write::pdf(d, paper, &faces, &laid);
        }
    }
    Err(PdfFailure::Pages)
}

/// Widths of figures tried until one page holds everything, over that of the text.
const SHARES: [f32; 9] = [0.9, 0.8, 0.72, 0.65, 0.58, 0.52, 0.47, 0.42, 0.38];
