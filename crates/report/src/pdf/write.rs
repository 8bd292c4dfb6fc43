//! Laid-out pages written as a tagged PDF: outline, links, attachments, running title and page numbers.

use std::collections::BTreeMap;
use std::num::NonZeroU16;

use calotte_paper::krilla::annotation::{Annotation, LinkAnnotation, Target};
use calotte_paper::krilla::color::rgb;
use calotte_paper::krilla::destination::XyzDestination;
use calotte_paper::krilla::embed::{AssociationKind, EmbeddedFile, MimeType};
use calotte_paper::krilla::geom::{PathBuilder, Point, Rect, Size};
use calotte_paper::krilla::metadata::Metadata;
use calotte_paper::krilla::num::NormalizedF32;
use calotte_paper::krilla::outline::{Outline, OutlineNode};
use calotte_paper::krilla::page::{Page, PageSettings};
use calotte_paper::krilla::paint::{Fill, FillRule};
use calotte_paper::krilla::surface::Surface;
use calotte_paper::krilla::tagging::{
    Artifact, ArtifactType, ContentTag, Identifier, ListNumbering, Node, SpanTag, TableHeaderScope, Tag,
    TagGroup, TagTree,
};
use calotte_paper::{PaperFailure, krilla};

use super::faces::{Face, Faces};
use super::flow::{DECORATION, Ink, Op};
use super::set::{BOTTOM, Kind, Laid, SIDE, SOFT, Tagged};
use super::{MM, PdfFailure};
use crate::model::{Block, Document};
use crate::request::Paper;

/// What has been drawn of each tag, in the order of drawing.
type Drawn = BTreeMap<usize, Vec<Identifier>>;

fn paint(surface: &mut Surface<'_>, ink: Ink) {
    let [r, g, b] = ink;
    surface.set_stroke(None);
    surface.set_fill(Some(Fill {
        paint: rgb::Color::new(r, g, b).into(),
        opacity: NormalizedF32::ONE,
        rule: FillRule::NonZero,
    }));
}

fn words(
    surface: &mut Surface<'_>,
    faces: &Faces,
    at: [f32; 2],
    face: Face,
    size: f32,
    ink: Ink,
    text: &str,
) {
    // A line end is told to readers and not drawn.
    let shown = text.trim_end_matches('\n');
    paint(surface, ink);
    let glyphs = faces.glyphs(face, shown);
    surface.draw_glyphs(Point::from_xy(at[0], at[1]), &glyphs, faces.font(face), shown, size, false);
}

fn decoration(kind: ArtifactType) -> ContentTag<'static> {
    ContentTag::Artifact(Artifact::with_kind(kind))
}

/// Draws what stands on a page. What belongs to tags is noted in `drawn`.
fn content(
    surface: &mut Surface<'_>,
    ops: &[Op],
    faces: &Faces,
    pictures: &[&str],
    drawn: &mut Drawn,
) -> Result<(), PdfFailure> {
    for op in ops {
        match op {
            Op::Ground { x, y, width, height, ink } => {
                let Some(rect) = Rect::from_xywh(*x, *y, *width, *height) else { continue };
                let mut path = PathBuilder::new();
                path.push_rect(rect);
                let Some(path) = path.finish() else { continue };
                surface.start_tagged(decoration(ArtifactType::Layout));
                paint(surface, *ink);
                surface.draw_path(&path);
                surface.end_tagged();
            }
            Op::Words { x, y, face, size, ink, text, tag } => {
                let decorates = *tag == DECORATION;
                let content = if decorates {
                    decoration(ArtifactType::PaginationOther)
                } else {
                    ContentTag::Span(SpanTag::empty())
                };
                let id = surface.start_tagged(content);
                words(surface, faces, [*x, *y], *face, *size, *ink, text);
                surface.end_tagged();
                if !decorates {
                    drawn.entry(*tag).or_default().push(id);
                }
            }
            Op::Picture { x, y, scale, picture, tag } => {
                let svg = pictures.get(*picture).copied().unwrap_or("");
                let id = surface.start_tagged(ContentTag::Other);
                let at = [f64::from(*x / MM), f64::from(*y / MM)];
                let done = calotte_paper::draw(surface, svg, at, f64::from(*scale));
                surface.end_tagged();
                drawn.entry(*tag).or_default().push(id);
                done?;
            }
            Op::Link { .. } => {}
        }
    }
    Ok(())
}

/// Lays links over a page.
fn links(
    page: &mut Page<'_>,
    ops: &[Op],
    place: &dyn Fn(&str) -> Option<(usize, f32)>,
    drawn: &mut Drawn,
) -> Result<(), PdfFailure> {
    for op in ops {
        let Op::Link { x, y, width, height, to, alt, tag } = op else { continue };
        let (target, top) = place(to).ok_or_else(|| PdfFailure::NoPlace(to.clone()))?;
        let Some(rect) = Rect::from_xywh(*x, *y, *width, *height) else { continue };
        let there = XyzDestination::new(target, Point::from_xy(0.0, (top - 12.0).max(0.0)));
        let link = LinkAnnotation::new(rect, Target::Destination(there.into()));
        let id = page.add_tagged_annotation(Annotation::new_link(link, Some(alt.clone())));
        drawn.entry(*tag).or_default().push(id);
    }
    Ok(())
}

/// The tag and all that is inside it.
fn group(at: usize, tags: &[Tagged], drawn: &Drawn) -> TagGroup {
    let one = NonZeroU16::MIN;
    let tag = &tags[at];
    let mut group = match &tag.kind {
        Kind::Heading(level, title) => {
            TagGroup::new(Tag::Hn(NonZeroU16::new(*level).unwrap_or(one), Some(title.clone())))
        }
        Kind::Paragraph => TagGroup::new(Tag::P),
        Kind::List => TagGroup::new(Tag::L(ListNumbering::None)),
        Kind::Item => TagGroup::new(Tag::LI),
        Kind::Label => TagGroup::new(Tag::Lbl),
        Kind::Body => TagGroup::new(Tag::LBody),
        Kind::Table => TagGroup::new(Tag::Table),
        Kind::Row => TagGroup::new(Tag::TR),
        Kind::ColumnHead => TagGroup::new(Tag::TH(TableHeaderScope::Column)),
        Kind::RowHead => TagGroup::new(Tag::TH(TableHeaderScope::Row)),
        Kind::Cell => TagGroup::new(Tag::TD),
        Kind::Figure(alt) => TagGroup::new(Tag::Figure(Some(alt.clone()))),
        Kind::Caption => TagGroup::new(Tag::Caption),
        Kind::Code => TagGroup::new(Tag::Code),
        Kind::Contents => TagGroup::new(Tag::TOC),
        Kind::ContentsItem => TagGroup::new(Tag::TOCI),
        Kind::Link => TagGroup::new(Tag::Link),
        Kind::Note => TagGroup::new(Tag::Note),
    };
    for id in drawn.get(&at).into_iter().flatten() {
        group.push(*id);
    }
    for inside in &tag.inside {
        group.push(Node::Group(self::group(*inside, tags, drawn)));
    }
    group
}

/// The tree of tags.
fn tree(laid: &Laid, drawn: &Drawn) -> TagTree {
    let mut tree = TagTree::new().with_lang(Some("en".to_owned()));
    for root in &laid.roots {
        tree.push(Node::Group(group(*root, &laid.tags, drawn)));
    }
    tree
}

/// Bookmarks: chapters with their sections.
fn outline(laid: &Laid, place: &dyn Fn(&str) -> Option<(usize, f32)>) -> Outline {
    let mut outline = Outline::new();
    let mut open: Option<OutlineNode> = None;
    for (level, text, id) in laid.headings.iter().filter(|h| h.0 > 1) {
        let Some((page, y)) = place(id) else { continue };
        let node = OutlineNode::new(
            text.clone(),
            XyzDestination::new(page, Point::from_xy(0.0, (y - 12.0).max(0.0))),
        );
        match (&mut open, level) {
            (Some(chapter), 3) => chapter.push_child(node),
            _ => {
                if let Some(done) = open.replace(node) {
                    outline.push_child(done);
                }
            }
        }
    }
    if let Some(done) = open {
        outline.push_child(done);
    }
    outline
}

/// Running title and page number, read by nobody who is read to.
fn margins(surface: &mut Surface<'_>, d: &Document, faces: &Faces, size: [f32; 2], number: [usize; 2]) {
    let [w, h] = size;
    let side = SIDE * MM;
    let small = 7.2;
    if number[0] > 1 {
        surface.start_tagged(decoration(ArtifactType::Header));
        let title = super::words_to_lines(faces, &d.title, Face::Plain, small, w - 2.0 * side);
        words(
            surface,
            faces,
            [side, 13.0 * MM],
            Face::Plain,
            small,
            SOFT,
            title.first().map_or("", String::as_str),
        );
        surface.end_tagged();
    }
    surface.start_tagged(decoration(ArtifactType::Footer));
    let y = h - 0.55 * BOTTOM * MM;
    words(surface, faces, [side, y], Face::Plain, small, SOFT, &d.made_by);
    let text = format!("{} of {}", number[0], number[1]);
    let width = faces.width(Face::Plain, small, &text);
    words(surface, faces, [w - side - width, y], Face::Plain, small, SOFT, &text);
    surface.end_tagged();
}

/// Files that the document carries, and its data.
fn attach(document: &mut krilla::Document, d: &Document) {
    let carried = d.blocks.iter().flat_map(|b| match b {
        Block::Files(files) => files.as_slice(),
        _ => &[],
    });
    let files = carried.map(|f| (f.name.as_str(), f.media, f.what.as_str(), f.bytes.clone()));
    let data = (!d.data.is_empty()).then(|| {
        (
            "report.json",
            "application/json",
            "the data of this report and all that is needed to make it again",
            d.data.clone().into_bytes(),
        )
    });
    for (name, media, what, bytes) in files.chain(data) {
        document.embed_file(EmbeddedFile {
            path: name.to_owned(),
            mime_type: MimeType::new(media),
            description: Some(what.to_owned()),
            association_kind: AssociationKind::Supplement,
            data: bytes.into(),
            modification_date: None,
            compress: Some(true),
            location: None,
        });
    }
}

/// The file.
pub(crate) fn pdf(d: &Document, paper: Paper, faces: &Faces, laid: &Laid) -> Result<Vec<u8>, PdfFailure> {
    let [w, h] = paper.size_mm().map(|mm| mm as f32 * MM);
    let bad = PaperFailure::Size { width_mm: paper.size_mm()[0], height_mm: paper.size_mm()[1] };
    let size = Size::from_wh(w, h).ok_or(bad)?;
    let mut document = krilla::Document::new();
    let pictures: Vec<&str> = d.pictures().map(|p| p.svg.as_str()).collect();
    let place = |id: &str| laid.filled.places.iter().find(|p| p.id == id).map(|p| (p.page, p.y));
    let mut done = Drawn::new();
    let count = laid.filled.pages.len();
    for (i, ops) in laid.filled.pages.iter().enumerate() {
        let mut page = document.start_page_with(PageSettings::new(size));
        // A page has one surface.
        let mut surface = page.surface();
        let set = content(&mut surface, ops, faces, &pictures, &mut done);
        margins(&mut surface, d, faces, [w, h], [i + 1, count]);
        surface.finish();
        set?;
        links(&mut page, ops, &place, &mut done)?;
        page.finish();
    }
    document.set_tag_tree(tree(laid, &done));
    document.set_outline(outline(laid, &place));
    attach(&mut document, d);
    document.set_metadata(
        Metadata::new()
            .title(format!("{}: {}", d.kind, d.title))
            .description(d.answer.clone())
            .language("en".to_owned())
            .creator(d.made_by.clone()),
    );
    document.finish().map_err(|e| PaperFailure::Writing(format!("{e:?}")).into())
}
