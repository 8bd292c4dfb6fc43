//! A film as one page that needs nothing else: pictures as changes from one to the next, packed, with a player.

use std::io::Write;

use base64::Engine;
use base64::engine::general_purpose::STANDARD;

use super::Picture;
use super::changes::{changed, table};
use super::encode::{AnimationFailure, size};
use crate::svg::escape;

/// The player and its looks.
const PLAYER: &str = include_str!("player.js");
const STYLE: &str = include_str!("player.css");

/// Words of the page.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PageWords {
    /// Heading.
    pub title: String,
    /// What a reader who cannot see the film should know.
    pub alt: String,
    /// Lines below the film: what was reduced, where it comes from.
    pub notes: Vec<String>,
}

/// One HTML file with the film in it: play and pause, a slider, speeds, keys; a reader who prefers reduced motion gets it paused.
///
/// Pixels are palette indices, the changed rectangle of each picture, in one zlib stream that the browser unpacks.
///
/// # Errors
/// [`AnimationFailure`] when the pictures do not fit together or cannot be packed.
pub fn page(pictures: &[Picture], words: &PageWords) -> Result<String, AnimationFailure> {
    let size = size(pictures)?;
    let failed = |e: std::io::Error| AnimationFailure::Encoding(e.to_string());
    let mut packer = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::best());
    let mut frames = Vec::new();
    for (i, picture) in pictures.iter().enumerate() {
        let part = changed(i.checked_sub(1).map(|k| &pictures[k]), picture, size);
        packer.write_all(&part.pixels).map_err(failed)?;
        let told = [&picture.words, &picture.clock].map(|t| text(t));
        frames.push(format!(
            "[{},{},{},{},{},{},{}]",
            part.left, part.top, part.width, part.height, picture.delay_cs, told[0], told[1]
        ));
    }
    let pixels = STANDARD.encode(packer.finish().map_err(failed)?);
    let poster = STANDARD.encode(poster(&pictures[0], size)?);
    let colours = STANDARD.encode(table(&pictures[0]));
    let (title, alt) = (escape(&words.title), escape(&words.alt));
    let notes: String =
        words.notes.iter().map(|n| format!("<p class=\"note\">{}</p>\n", escape(n))).collect();
    let (width, height) = size;
    Ok(format!(
        "<!doctype html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n\
         <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\">\n<title>{title}</title>\n\
         <style>\n{STYLE}</style>\n</head>\n<body>\n<main>\n<h1>{title}</h1>\n\
         <figure>\n<canvas id=\"film\" width=\"{width}\" height=\"{height}\" role=\"img\" aria-label=\"{alt}\" hidden></canvas>\n\
         <img id=\"still\" width=\"{width}\" height=\"{height}\" alt=\"{alt}\" src=\"data:image/png;base64,{poster}\">\n\
         <div class=\"bar\" id=\"bar\" hidden>\n\
         <button id=\"play\" type=\"button\">Play</button>\n\
         <input id=\"at\" type=\"range\" min=\"0\" max=\"{last}\" value=\"0\" step=\"1\" aria-label=\"Picture\">\n\
         <label>Speed <select id=\"speed\"><option value=\"0.25\">¼ ×</option><option value=\"0.5\">½ ×</option>\
         <option value=\"1\" selected>1 ×</option><option value=\"2\">2 ×</option></select></label>\n</div>\n\
         <figcaption><span id=\"words\"></span> <span id=\"clock\"></span></figcaption>\n</figure>\n\
         <p>{alt}</p>\n{notes}\
         <p class=\"note\" id=\"keys\">Keys: space plays and pauses, ← and → step, Home and End jump.</p>\n\
         <noscript><p class=\"note\">The film needs scripts; the picture is its first.</p></noscript>\n</main>\n\
         <script>\n\"use strict\";\nconst FRAMES=[{frames}];\nconst COLOURS=\"{colours}\";\nconst PIXELS=\"{pixels}\";\n{PLAYER}</script>\n\
         </body>\n</html>\n",
        last = pictures.len() - 1,
        frames = frames.join(",\n"),
    ))
}

/// A text of a script, which cannot end the script.
fn text(plain: &str) -> String {
    let mut out = String::from("\"");
    for c in plain.chars() {
        match c {
            '"' | '\\' => out.extend(['\\', c]),
            c if c < ' ' || c == '<' || c == '\u{2028}' || c == '\u{2029}' => {
                out.push_str(&format!("\\u{:04x}", c as u32));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

/// A picture as a PNG of its own.
fn poster(picture: &Picture, size: (u16, u16)) -> Result<Vec<u8>, AnimationFailure> {
    let failed = |e: png::EncodingError| AnimationFailure::Encoding(e.to_string());
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, u32::from(size.0), u32::from(size.1));
    encoder.set_color(png::ColorType::Indexed);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_palette(table(picture));
    let mut writer = encoder.write_header().map_err(failed)?;
    writer.write_image_data(&picture.pixels).map_err(failed)?;
    writer.finish().map_err(failed)?;
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_cannot_leave_their_script() {
        assert_eq!(text("</script>\"\\\n"), "\"\\u003c/script>\\\"\\\\\\u000a\"");
    }
}
