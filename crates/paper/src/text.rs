//! Text as text: letters of a typeface, in runs, with the words they stand for.

use krilla::geom::Point;
use krilla::surface::Surface;
use krilla::text::{Font, GlyphId, KrillaGlyph};
use resvg::tiny_skia::Transform;
use resvg::usvg::layout::{PositionedGlyph, Span};
use resvg::usvg::{self, Node, PaintOrder};

use crate::PaperFailure;
use crate::convert;
use crate::fonts::Fonts;
use crate::walk;

/// Draws a text. Its outline, if it has one, is drawn as shapes, so that the words are in the file once.
pub(crate) fn text(
    text: &usvg::Text,
    surface: &mut Surface<'_>,
    fonts: &mut Fonts<'_>,
) -> Result<(), PaperFailure> {
    let outline_first = text.layouted().iter().any(|s| s.paint_order == PaintOrder::StrokeAndFill);
    if outline_first {
        outlines(text.flattened(), surface, fonts)?;
    }
    for span in text.layouted().iter().filter(|s| s.visible) {
        letters(span, surface, fonts)?;
    }
    if !outline_first {
        outlines(text.flattened(), surface, fonts)?;
    }
    Ok(())
}

/// The strokes round letters.
fn outlines(
    group: &usvg::Group,
    surface: &mut Surface<'_>,
    fonts: &mut Fonts<'_>,
) -> Result<(), PaperFailure> {
    surface.push_transform(&convert::transform(group.transform()));
    let drawn = group.children().iter().try_for_each(|child| match child {
        Node::Group(inner) => outlines(inner, surface, fonts),
        Node::Path(p) if p.is_visible() => walk::paths(p, None, p.stroke(), surface, fonts),
        _ => Ok(()),
    });
    surface.pop();
    drawn
}

/// Where a letter stands: position, direction and size, without the scale of the typeface's own units.
fn place(glyph: &PositionedGlyph, upem: f32) -> Transform {
    let em = upem / glyph.font_size();
    glyph.transform().pre_concat(Transform::from_scale(em, em))
}

/// Letters that stand on one line in one typeface.
struct Run<'a> {
    font: Font,
    at: Transform,
    /// Each letter with its place along the line.
    glyphs: Vec<(&'a PositionedGlyph, f32)>,
}

fn runs<'a>(span: &'a Span, fonts: &mut Fonts<'_>) -> Vec<Run<'a>> {
    let mut out: Vec<Run<'a>> = Vec::new();
    let mut face = None;
    for glyph in &span.positioned_glyphs {
        let Some(font) = fonts.get(glyph.font) else { continue };
        let at = place(glyph, font.units_per_em());
        // Beside the run's first letter: no turn, no stretch, on the same base line.
        let along = out.last().filter(|_| face == Some(glyph.font)).and_then(|run| {
            let t = run.at.invert()?.pre_concat(at);
            let straight =
                [t.sx - 1.0, t.ky, t.kx, t.sy - 1.0].iter().all(|x| x.abs() < 1e-4) && t.ty.abs() < 1e-3;
            let onward = run.glyphs.last().is_some_and(|g| t.tx >= g.1);
            (straight && onward).then_some(t.tx)
        });
        match (along, out.last_mut()) {
            (Some(x), Some(run)) => run.glyphs.push((glyph, x)),
            _ => out.push(Run { font, at, glyphs: vec![(glyph, 0.0)] }),
        }
        face = Some(glyph.font);
    }
    out
}

fn letters(span: &Span, surface: &mut Surface<'_>, fonts: &mut Fonts<'_>) -> Result<(), PaperFailure> {
    let Some(fill) = convert::fill(span.fill.as_ref(), surface, fonts)? else { return Ok(()) };
    let size = span.font_size.get();
    for run in runs(span, fonts) {
        let mut words = String::new();
        let mut range = 0..0;
        let mut set = Vec::new();
        for (i, (glyph, x)) in run.glyphs.iter().enumerate() {
            // A second letter of the same character (an accent) stands for the same words.
            if !glyph.text.is_empty() {
                range = words.len()..words.len() + glyph.text.len();
                words.push_str(&glyph.text);
            }
            let advance = run.glyphs.get(i + 1).map_or(0.0, |next| next.1 - x) / size;
            let id = GlyphId::new(glyph.id.0);
            set.push(KrillaGlyph::new(id, advance, 0.0, 0.0, 0.0, range.clone(), None));
        }
        surface.push_transform(&convert::transform(run.at));
        surface.set_fill(Some(fill.clone()));
        surface.set_stroke(None);
        surface.draw_glyphs(Point::from_xy(0.0, 0.0), &set, run.font, &words, size, false);
        surface.pop();
    }
    Ok(())
}
