//! From the parsed SVG to drawing: groups, paths, pictures.

use krilla::geom::{Path, PathBuilder, Size};
use krilla::image::Image;
use krilla::paint::FillRule;
use krilla::surface::Surface;
use resvg::tiny_skia::Transform;
use resvg::usvg::{self, BlendMode, ImageKind, Node, PaintOrder};

use crate::PaperFailure;
use crate::convert;
use crate::fonts::Fonts;
use crate::text;

/// Draws a group with everything in it. Whatever happens, the surface has as many states open afterwards as before.
pub(crate) fn group(
    group: &usvg::Group,
    surface: &mut Surface<'_>,
    fonts: &mut Fonts<'_>,
) -> Result<(), PaperFailure> {
    if !group.filters().is_empty() {
        return Err(PaperFailure::Unsupported("a filter"));
    }
    if group.mask().is_some() {
        return Err(PaperFailure::Unsupported("a mask"));
    }
    if group.blend_mode() != BlendMode::Normal {
        return Err(PaperFailure::Unsupported("a blend mode"));
    }
    let clips = group.clip_path().map_or(Ok(Vec::new()), clips)?;
    let mut open = 1 + clips.len();
    surface.push_transform(&convert::transform(group.transform()));
    for (clip, rule) in &clips {
        surface.push_clip_path(clip, rule);
    }
    // Opacity is that of the group as one picture, not of each thing in it.
    if group.opacity() != usvg::Opacity::ONE {
        surface.push_opacity(convert::share(group.opacity().get()));
        open += 1;
    }
    let drawn = group.children().iter().try_for_each(|child| match child {
        Node::Group(inner) => self::group(inner, surface, fonts),
        Node::Path(p) => path(p, surface, fonts),
        Node::Image(image) => picture(image, surface, fonts),
        Node::Text(t) => text::text(t, surface, fonts),
    });
    (0..open).for_each(|_| surface.pop());
    drawn
}

/// The clips that a clip path means, each to be applied inside the one before.
fn clips(clip: &usvg::ClipPath) -> Result<Vec<(Path, FillRule)>, PaperFailure> {
    let mut out = clip.clip_path().map_or(Ok(Vec::new()), clips)?;
    let mut edge = PathBuilder::new();
    // A clip without a shape hides everything; a point does so too.
    edge.move_to(0.0, 0.0);
    edge.line_to(0.0, 0.0);
    let mut rules = Vec::new();
    shapes(clip.root(), clip.transform(), &mut edge, &mut rules)?;
    let rule = match rules.as_slice() {
        [] => FillRule::NonZero,
        [one] => *one,
        many if many.iter().all(|r| *r == FillRule::NonZero) => FillRule::NonZero,
        // One path with the even-odd rule would cut holes where shapes overlap.
        _ => return Err(PaperFailure::Unsupported("a clip of several shapes with the even-odd rule")),
    };
    out.extend(edge.finish().map(|path| (path, rule)));
    Ok(out)
}

fn shapes(
    group: &usvg::Group,
    at: Transform,
    edge: &mut PathBuilder,
    rules: &mut Vec<FillRule>,
) -> Result<(), PaperFailure> {
    use resvg::tiny_skia::PathSegment;
    if group.clip_path().is_some() {
        return Err(PaperFailure::Unsupported("a clip within a clip's shape"));
    }
    let at = at.pre_concat(group.transform());
    for child in group.children() {
        match child {
            Node::Group(inner) => shapes(inner, at, edge, rules)?,
            Node::Path(p) if p.is_visible() => {
                let Some(data) = p.data().clone().transform(at) else { continue };
                for segment in data.segments() {
                    match segment {
                        PathSegment::MoveTo(p) => edge.move_to(p.x, p.y),
                        PathSegment::LineTo(p) => edge.line_to(p.x, p.y),
                        PathSegment::QuadTo(a, p) => edge.quad_to(a.x, a.y, p.x, p.y),
                        PathSegment::CubicTo(a, b, p) => edge.cubic_to(a.x, a.y, b.x, b.y, p.x, p.y),
                        PathSegment::Close => edge.close(),
                    }
                }
                rules.push(p.fill().map_or(FillRule::NonZero, |f| convert::rule(f.rule())));
            }
            Node::Path(_) => {}
            Node::Image(_) | Node::Text(_) => {
                return Err(PaperFailure::Unsupported("a clip made of letters or pictures"));
            }
        }
    }
    Ok(())
}

/// Draws fill and stroke of a path in their order.
fn path(path: &usvg::Path, surface: &mut Surface<'_>, fonts: &mut Fonts<'_>) -> Result<(), PaperFailure> {
    if !path.is_visible() {
        return Ok(());
    }
    match path.paint_order() {
        PaintOrder::FillAndStroke => paths(path, path.fill(), path.stroke(), surface, fonts),
        PaintOrder::StrokeAndFill => {
            paths(path, None, path.stroke(), surface, fonts)?;
            paths(path, path.fill(), None, surface, fonts)
        }
    }
}

pub(crate) fn paths(
    path: &usvg::Path,
    fill: Option<&usvg::Fill>,
    stroke: Option<&usvg::Stroke>,
    surface: &mut Surface<'_>,
    fonts: &mut Fonts<'_>,
) -> Result<(), PaperFailure> {
    let fill = convert::fill(fill, surface, fonts)?;
    let stroke = convert::stroke(stroke, surface, fonts)?;
    // Without either, the writer would fill in black.
    if (fill.is_some() || stroke.is_some())
        && let Some(path) = convert::path(path.data())
    {
        surface.set_fill(fill);
        surface.set_stroke(stroke);
        surface.draw_path(&path);
    }
    Ok(())
}

fn picture(
    image: &usvg::Image,
    surface: &mut Surface<'_>,
    fonts: &mut Fonts<'_>,
) -> Result<(), PaperFailure> {
    if !image.is_visible() {
        return Ok(());
    }
    let read = match image.kind() {
        ImageKind::JPEG(d) => Image::from_jpeg(d.clone().into(), false),
        ImageKind::PNG(d) => Image::from_png(d.clone().into(), false),
        ImageKind::GIF(d) => Image::from_gif(d.clone().into(), false),
        ImageKind::WEBP(d) => Image::from_webp(d.clone().into(), false),
        ImageKind::SVG(inner) => return group(inner.root(), surface, fonts),
    };
    let pixels = read.map_err(PaperFailure::Picture)?;
    if let Some(size) = Size::from_wh(image.size().width(), image.size().height()) {
        surface.draw_image(pixels, size);
    }
    Ok(())
}
