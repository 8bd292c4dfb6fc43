//! Paths, paints and pens of a parsed SVG in the words of the PDF writer.

use krilla::color::rgb;
use krilla::geom::{Path, PathBuilder, Transform};
use krilla::num::NormalizedF32;
use krilla::paint::{Fill, FillRule, LineCap, LineJoin, Paint, Pattern, Stroke, StrokeDash};
use krilla::surface::Surface;
use resvg::tiny_skia::PathSegment;
use resvg::usvg;

use crate::PaperFailure;
use crate::fonts::Fonts;
use crate::walk;

pub(crate) fn transform(t: usvg::Transform) -> Transform {
    Transform::from_row(t.sx, t.ky, t.kx, t.sy, t.tx, t.ty)
}

/// A path; `None` when it has no length.
pub(crate) fn path(data: &resvg::tiny_skia::Path) -> Option<Path> {
    let mut out = PathBuilder::new();
    for segment in data.segments() {
        match segment {
            PathSegment::MoveTo(p) => out.move_to(p.x, p.y),
            PathSegment::LineTo(p) => out.line_to(p.x, p.y),
            PathSegment::QuadTo(a, p) => out.quad_to(a.x, a.y, p.x, p.y),
            PathSegment::CubicTo(a, b, p) => out.cubic_to(a.x, a.y, b.x, b.y, p.x, p.y),
            PathSegment::Close => out.close(),
        }
    }
    out.finish()
}

pub(crate) fn share(x: f32) -> NormalizedF32 {
    NormalizedF32::new(x).unwrap_or(NormalizedF32::ONE)
}

pub(crate) fn rule(rule: usvg::FillRule) -> FillRule {
    match rule {
        usvg::FillRule::NonZero => FillRule::NonZero,
        usvg::FillRule::EvenOdd => FillRule::EvenOdd,
    }
}

fn paint(
    paint: &usvg::Paint,
    surface: &mut Surface<'_>,
    fonts: &mut Fonts<'_>,
) -> Result<Paint, PaperFailure> {
    match paint {
        usvg::Paint::Color(c) => Ok(rgb::Color::new(c.red, c.green, c.blue).into()),
        usvg::Paint::LinearGradient(_) | usvg::Paint::RadialGradient(_) => {
            Err(PaperFailure::Unsupported("a gradient"))
        }
        usvg::Paint::Pattern(pattern) => {
            let mut builder = surface.stream_builder();
            let mut tile = builder.surface();
            let drawn = walk::group(pattern.root(), &mut tile, fonts);
            tile.finish();
            drawn?;
            let rect = pattern.rect();
            let at = usvg::Transform::from_translate(rect.x(), rect.y());
            Ok(Pattern {
                stream: builder.finish(),
                transform: transform(pattern.transform().pre_concat(at)),
                width: rect.width(),
                height: rect.height(),
            }
            .into())
        }
    }
}

pub(crate) fn fill(
    fill: Option<&usvg::Fill>,
    surface: &mut Surface<'_>,
    fonts: &mut Fonts<'_>,
) -> Result<Option<Fill>, PaperFailure> {
    let Some(fill) = fill else { return Ok(None) };
    Ok(Some(Fill {
        paint: paint(fill.paint(), surface, fonts)?,
        opacity: share(fill.opacity().get()),
        rule: rule(fill.rule()),
    }))
}

pub(crate) fn stroke(
    stroke: Option<&usvg::Stroke>,
    surface: &mut Surface<'_>,
    fonts: &mut Fonts<'_>,
) -> Result<Option<Stroke>, PaperFailure> {
    let Some(stroke) = stroke else { return Ok(None) };
    Ok(Some(Stroke {
        paint: paint(stroke.paint(), surface, fonts)?,
        width: stroke.width().get(),
        miter_limit: stroke.miterlimit().get(),
        line_cap: match stroke.linecap() {
            usvg::LineCap::Butt => LineCap::Butt,
            usvg::LineCap::Round => LineCap::Round,
            usvg::LineCap::Square => LineCap::Square,
        },
        line_join: match stroke.linejoin() {
            usvg::LineJoin::Miter | usvg::LineJoin::MiterClip => LineJoin::Miter,
            usvg::LineJoin::Round => LineJoin::Round,
            usvg::LineJoin::Bevel => LineJoin::Bevel,
        },
        opacity: share(stroke.opacity().get()),
        dash: stroke
            .dasharray()
            .map(|array| StrokeDash { array: array.to_vec(), offset: stroke.dashoffset() }),
    }))
}
