//! The typefaces that a file carries.

use std::collections::BTreeMap;

use krilla::text::Font;
use resvg::usvg::{self, fontdb};

/// What the parser of an SVG needs: the typefaces.
pub(crate) fn options() -> usvg::Options<'static> {
    calotte_figures::typeface::options()
}

fn face(bytes: &'static [u8]) -> Option<Font> {
    Font::new(bytes.into(), 0)
}

/// DejaVu Sans, in which figures are set; `None` never happens with the typeface that the program carries.
pub fn sans() -> Option<Font> {
    face(calotte_figures::typeface::sans())
}

/// DejaVu Sans Bold, for headings.
pub fn sans_bold() -> Option<Font> {
    face(calotte_figures::typeface::sans_bold())
}

/// DejaVu Serif.
pub fn serif() -> Option<Font> {
    face(calotte_figures::typeface::serif())
}

/// The faces that one SVG uses, each read once.
pub(crate) struct Fonts<'a> {
    faces: &'a fontdb::Database,
    read: BTreeMap<fontdb::ID, Option<Font>>,
}

impl<'a> Fonts<'a> {
    pub(crate) fn new(faces: &'a fontdb::Database) -> Self {
        Self { faces, read: BTreeMap::new() }
    }

    pub(crate) fn get(&mut self, id: fontdb::ID) -> Option<Font> {
        let read =
            || self.faces.with_face_data(id, |data, index| Font::new(data.to_vec().into(), index)).flatten();
        self.read.entry(id).or_insert_with(read).clone()
    }
}
