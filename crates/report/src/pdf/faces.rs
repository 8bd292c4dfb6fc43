//! The typefaces of a page and how wide their letters are. Letters stand by their own advances, without kerning, so that what is
//! measured is what is drawn.

use std::cell::RefCell;
use std::collections::BTreeMap;

use calotte_paper::krilla::text::{Font, GlyphId, KrillaGlyph};

use super::PdfFailure;

/// A typeface.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Face {
    Plain,
    Bold,
    Mono,
}

/// A typeface as measured and as drawn.
struct Read {
    measured: ttf_parser::Face<'static>,
    drawn: Font,
}

/// All typefaces of a page.
pub(crate) struct Faces {
    read: [Read; 3],
    known: RefCell<BTreeMap<(Face, char), (u16, f32)>>,
}

fn read(bytes: &'static [u8]) -> Result<Read, PdfFailure> {
    let measured = ttf_parser::Face::parse(bytes, 0).map_err(|_| PdfFailure::NoFace)?;
    let drawn = Font::new(bytes.into(), 0).ok_or(PdfFailure::NoFace)?;
    Ok(Read { measured, drawn })
}

impl Faces {
    pub(crate) fn new() -> Result<Self, PdfFailure> {
        let read = [
            read(dejavu::sans::regular())?,
            read(dejavu::sans::bold())?,
            read(dejavu::sans_mono::regular())?,
        ];
        Ok(Self { read, known: RefCell::default() })
    }

    fn of(&self, face: Face) -> &Read {
        match face {
            Face::Plain => &self.read[0],
            Face::Bold => &self.read[1],
            Face::Mono => &self.read[2],
        }
    }

    /// Glyph and advance over the size of the type; a letter that the face lacks is shown as its empty box.
    fn letter(&self, face: Face, c: char) -> (u16, f32) {
        if let Some(found) = self.known.borrow().get(&(face, c)) {
            return *found;
        }
        let measured = &self.of(face).measured;
        let glyph = measured.glyph_index(c).unwrap_or_default();
        let advance =
            f32::from(measured.glyph_hor_advance(glyph).unwrap_or(0)) / f32::from(measured.units_per_em());
        self.known.borrow_mut().insert((face, c), (glyph.0, advance));
        (glyph.0, advance)
    }

    /// Width of a text, points.
    pub(crate) fn width(&self, face: Face, size: f32, text: &str) -> f32 {
        text.chars().map(|c| self.letter(face, c).1).sum::<f32>() * size
    }

    /// What is drawn of a text.
    pub(crate) fn glyphs(&self, face: Face, text: &str) -> Vec<KrillaGlyph> {
        let one = |(at, c): (usize, char)| {
            let (glyph, advance) = self.letter(face, c);
            KrillaGlyph::new(
                GlyphId::new(u32::from(glyph)),
                advance,
                0.0,
                0.0,
                0.0,
                at..at + c.len_utf8(),
                None,
            )
        };
        text.char_indices().map(one).collect()
    }

    pub(crate) fn font(&self, face: Face) -> Font {
        self.of(face).drawn.clone()
    }
}
