//! The typefaces that the program carries, in one place: for pictures, for pages and for measuring.

use std::sync::Arc;

use resvg::usvg::{self, fontdb};

/// DejaVu Sans.
pub fn sans() -> &'static [u8] {
    dejavu::sans::regular()
}

/// DejaVu Sans Bold, for headings; figures use no bold type.
pub fn sans_bold() -> &'static [u8] {
    dejavu::sans::bold()
}

/// DejaVu Serif.
pub fn serif() -> &'static [u8] {
    dejavu::serif::regular()
}

/// What the parser of an SVG needs: the typefaces. No typeface of the machine is looked at.
pub fn options() -> usvg::Options<'static> {
    let mut options = usvg::Options { font_family: "DejaVu Sans".to_owned(), ..usvg::Options::default() };
    let faces = options.fontdb_mut();
    for bytes in [sans(), sans_bold(), serif()] {
        let bytes: Arc<&'static [u8]> = Arc::new(bytes);
        faces.load_font_source(fontdb::Source::Binary(bytes));
    }
    faces.set_sans_serif_family("DejaVu Sans");
    faces.set_serif_family("DejaVu Serif");
    options
}
