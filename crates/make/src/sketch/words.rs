//! Paragraphs of words.

use super::{Anchor, Sketch};

/// Width of words, mm; errs on the side of room.
pub fn width(words: &str, size: f64) -> f64 {
    calotte_figures::text_width(words, size)
}

/// Sets words in lines no wider than `wide` (mm) from `at` (the first base line) downwards; the base line after the last.
pub fn paragraph(sketch: &mut Sketch, at: [f64; 2], size: f64, wide: f64, words: &str) -> f64 {
    let mut y = at[1];
    let mut line = String::new();
    for word in words.split_whitespace() {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if !line.is_empty() && width(&longer, size) > wide {
            sketch.text([at[0], y], size, Anchor::Start, std::mem::take(&mut line));
            y -= 1.35 * size;
            line = word.to_owned();
        } else {
            line = longer;
        }
    }
    if !line.is_empty() {
        sketch.text([at[0], y], size, Anchor::Start, line);
        y -= 1.35 * size;
    }
    y
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sketch::Mark;

    #[test]
    fn lines_keep_their_width() {
        let mut s = Sketch::default();
        let end = paragraph(&mut s, [10.0, 100.0], 3.0, 60.0, &"some words of a guide ".repeat(8));
        let lines: Vec<&String> = s
            .marks
            .iter()
            .filter_map(|(_, m)| if let Mark::Text { words, .. } = m { Some(words) } else { None })
            .collect();
        assert!(lines.len() > 3 && lines.iter().all(|l| width(l, 3.0) <= 60.0));
        assert!((end - (100.0 - 1.35 * 3.0 * lines.len() as f64)).abs() < 1e-9);
        assert_eq!(lines.iter().flat_map(|l| l.split(' ')).count(), 40);
    }
}
