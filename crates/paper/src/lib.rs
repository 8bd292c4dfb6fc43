//! Figures on pages of PDF at true scale.
//!
//! [`pdf`] makes a file with one page per figure, each page as large as its figure; [`draw`] puts a figure anywhere on a
//! page that somebody else lays out. Lines stay lines, hatches stay patterns, text stays text: it can be searched and
//! copied, in the typeface that the file carries. A millimetre of a figure is a millimetre of paper. The same input gives
//! the same bytes: there is no clock and no random number in a file.
//!
//! The crate [`krilla`] writes the files; it is passed on, so that whoever lays out pages uses the same version.

mod convert;
mod fonts;
mod text;
mod walk;

use std::fmt;

use krilla::Document;
use krilla::geom::{PathBuilder, Rect, Size, Transform};
use krilla::metadata::Metadata;
use krilla::page::PageSettings;
use krilla::paint::FillRule;
use krilla::surface::Surface;
use krilla::tagging::{ContentTag, Tag, TagGroup, TagTree};
use resvg::usvg;

pub use fonts::{sans, sans_bold, serif};
pub use krilla;

/// Points (1/72 inch) per millimetre.
pub const POINTS_PER_MM: f64 = 72.0 / 25.4;
/// Points per CSS pixel (1/96 inch), the unit in which a parsed SVG measures.
const POINTS_PER_PIXEL: f64 = 72.0 / 96.0;
/// Longest side of a page, mm (200 inches, the limit that readers of PDF keep).
const LONGEST_MM: f64 = 5080.0;

/// One page: a figure and what it shows.
#[derive(Clone, Copy, Debug)]
pub struct Page<'a> {
    /// A complete SVG file.
    pub svg: &'a str,
    /// What a reader who cannot see the figure should know.
    pub alt: &'a str,
}

/// What a file says of itself.
#[derive(Clone, Copy, Debug)]
pub struct Meta<'a> {
    /// Title of the file.
    pub title: &'a str,
    /// What it is about, in a sentence; may be empty.
    pub subject: &'a str,
    /// Language as a tag: `en`.
    pub language: &'a str,
}

/// Why a page could not be made.
#[derive(Clone, Debug, PartialEq)]
pub enum PaperFailure {
    /// The text is not an SVG; the parser's words.
    NotSvg(String),
    /// The SVG holds something that is not drawn here.
    Unsupported(&'static str),
    /// A picture in the SVG cannot be read; the decoder's words.
    Picture(String),
    /// A page or a scale that cannot be: sides in mm.
    Size {
        /// Width, mm.
        width_mm: f64,
        /// Height, mm.
        height_mm: f64,
    },
    /// The file could not be written; the writer's words.
    Writing(String),
}

impl fmt::Display for PaperFailure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotSvg(why) => write!(f, "not an SVG: {why}"),
            Self::Unsupported(what) => write!(f, "the SVG holds {what}, which cannot be put on a page"),
            Self::Picture(why) => write!(f, "a picture in the SVG cannot be read: {why}"),
            Self::Size { width_mm, height_mm } => {
                write!(
                    f,
                    "a page of {width_mm:.1} mm × {height_mm:.1} mm cannot be made (sides up to {LONGEST_MM} mm)"
                )
            }
            Self::Writing(why) => write!(f, "the PDF could not be written: {why}"),
        }
    }
}

impl std::error::Error for PaperFailure {}

fn parsed(svg: &str) -> Result<usvg::Tree, PaperFailure> {
    usvg::Tree::from_str(svg, &fonts::options()).map_err(|e| PaperFailure::NotSvg(e.to_string()))
}

/// Width and height of an SVG in mm, as it says itself.
pub fn size_mm(svg: &str) -> Result<[f64; 2], PaperFailure> {
    Ok(points(&parsed(svg)?).map(|side| side / POINTS_PER_MM))
}

/// Width and height of a parsed SVG in points.
fn points(tree: &usvg::Tree) -> [f64; 2] {
    [tree.size().width(), tree.size().height()].map(|side| f64::from(side) * POINTS_PER_PIXEL)
}

/// Draws an SVG on a surface whose unit is the point (1/72 inch), as krilla's pages have it, with its upper left corner
/// at `at_mm` from the upper left corner of the surface and its own size in mm times `scale`.
///
/// What the SVG draws outside its own page is cut off. Opens no tagged section: callers who make tagged files open theirs
/// round the call. Fill and stroke of the surface are left as drawing left them.
pub fn draw(surface: &mut Surface<'_>, svg: &str, at_mm: [f64; 2], scale: f64) -> Result<(), PaperFailure> {
    let tree = parsed(svg)?;
    let [width, height] = points(&tree).map(|side| side * scale / POINTS_PER_MM);
    let sane = at_mm.iter().all(|x| x.is_finite())
        && [width, height].iter().all(|x| (0.01..=LONGEST_MM).contains(x));
    if !sane {
        return Err(PaperFailure::Size { width_mm: width, height_mm: height });
    }
    let stretch = (POINTS_PER_PIXEL * scale) as f32;
    let [x, y] = at_mm.map(|mm| (mm * POINTS_PER_MM) as f32);
    surface.push_transform(&Transform::from_row(stretch, 0.0, 0.0, stretch, x, y));
    let mut edge = PathBuilder::new();
    if let Some(r) = Rect::from_xywh(0.0, 0.0, tree.size().width(), tree.size().height()) {
        edge.push_rect(r);
    }
    let clip = edge.finish();
    if let Some(clip) = &clip {
        surface.push_clip_path(clip, &FillRule::NonZero);
    }
    let drawn = walk::group(tree.root(), surface, &mut fonts::Fonts::new(tree.fontdb()));
    if clip.is_some() {
        surface.pop();
    }
    surface.pop();
    drawn
}

/// One figure as a PDF of its own, which says what it is about.
pub fn figure(figure: &calotte_figures::Figure) -> Result<Vec<u8>, PaperFailure> {
    let title = figure.caption.split_once(". ").map_or(figure.caption.as_str(), |(title, _)| title);
    let title = format!("{title}: {}", figure.name);
    let meta = Meta { title: &title, subject: &figure.caption, language: "en" };
    pdf(&[Page { svg: &figure.svg, alt: &figure.alt }], &meta)
}

/// A PDF with one page per figure, each as large as its figure in mm; every page is tagged as a figure with its words.
pub fn pdf(pages: &[Page<'_>], meta: &Meta<'_>) -> Result<Vec<u8>, PaperFailure> {
    let mut document = Document::new();
    let mut tree = TagTree::new().with_lang(Some(meta.language.to_owned()));
    for page in pages {
        let [width, height] = size_mm(page.svg)?.map(|mm| mm * POINTS_PER_MM);
        let bad = PaperFailure::Size { width_mm: width / POINTS_PER_MM, height_mm: height / POINTS_PER_MM };
        let size = Size::from_wh(width as f32, height as f32).ok_or(bad)?;
        let mut sheet = document.start_page_with(PageSettings::new(size));
        let mut surface = sheet.surface();
        let mark = surface.start_tagged(ContentTag::Other);
        let drawn = draw(&mut surface, page.svg, [0.0, 0.0], 1.0);
        surface.end_tagged();
        surface.finish();
        sheet.finish();
        drawn?;
        let alt = Some(page.alt.to_owned()).filter(|alt| !alt.is_empty());
        let mut figure = TagGroup::new(Tag::Figure(alt));
        figure.push(mark);
        tree.push(figure);
    }
    document.set_tag_tree(tree);
    document.set_metadata(
        Metadata::new()
            .title(meta.title.to_owned())
            .description(meta.subject.to_owned())
            .language(meta.language.to_owned())
            .creator(concat!("calotte ", env!("CARGO_PKG_VERSION")).to_owned()),
    );
    document.finish().map_err(|e| PaperFailure::Writing(e.to_string()))
}
