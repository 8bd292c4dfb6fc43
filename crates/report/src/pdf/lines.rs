//! Running text broken into lines.

use super::faces::{Face, Faces};
use crate::model::{Inline, Line};

/// A run of words of one look.
#[derive(Clone, Debug)]
pub(super) struct Run {
    pub(super) text: String,
    pub(super) face: Face,
    pub(super) link: Option<String>,
}

/// Words broken into lines no wider than `width`; a word that is wider is broken where it must. A line is broken behind a space
/// only, wherever the look changes.
pub(super) fn lines_of(faces: &Faces, runs: &[Run], size: f32, width: f32) -> Vec<Vec<Run>> {
    let mut words: Vec<Vec<Run>> = Vec::new();
    let mut open = false;
    for run in runs {
        // A word keeps the space behind it, so that copied text has it.
        for piece in run.text.split_inclusive(' ') {
            let piece = Run { text: piece.to_owned(), ..run.clone() };
            let ends = piece.text.ends_with(' ');
            match words.last_mut() {
                Some(word) if open => word.push(piece),
                _ => words.push(vec![piece]),
            }
            open = !ends;
        }
    }
    let wide = |r: &Run, text: &str| {
        faces.width(r.face, if r.face == Face::Mono { MONO * size } else { size }, text)
    };
    let shown = |word: &[Run]| {
        let last = word.len().saturating_sub(1);
        let one = |(i, r): (usize, &Run)| wide(r, if i == last { r.text.trim_end() } else { &r.text });
        word.iter().enumerate().map(one).sum::<f32>()
    };
    let mut lines: Vec<Vec<Run>> = vec![Vec::new()];
    let mut x = 0.0;
    let add = |lines: &mut Vec<Vec<Run>>, piece: Run| {
        let Some(line) = lines.last_mut() else { return };
        match line.last_mut() {
            Some(last) if last.face == piece.face && last.link == piece.link => {
                last.text.push_str(&piece.text)
            }
            _ => line.push(piece),
        }
    };
    for word in words {
        if x > 0.0 && x + shown(&word) > width {
            lines.push(Vec::new());
            x = 0.0;
        }
        let fits = x + shown(&word) <= width;
        for piece in word {
            if fits {
                x += wide(&piece, &piece.text);
                add(&mut lines, piece);
                continue;
            }
            // Wider than a line: letter by letter.
            for c in piece.text.chars() {
                let letter = Run { text: c.to_string(), ..piece.clone() };
                let w = wide(&letter, &letter.text);
                if x > 0.0 && x + w > width && c != ' ' {
                    lines.push(Vec::new());
                    x = 0.0;
                }
                x += w;
                add(&mut lines, letter);
            }
        }
    }
    lines
}

/// Size of letters of one width beside the others'.
pub(super) const MONO: f32 = 0.92;

pub(super) fn runs_of(line: &Line, plain: Face) -> Vec<Run> {
    let one = |i: &Inline| {
        let (text, face, link) = match i {
            Inline::Text(t) => (t.clone(), plain, None),
            Inline::Strong(t) => (t.clone(), Face::Bold, None),
            Inline::Code(t) => (t.clone(), Face::Mono, None),
            Inline::Link { to, text } => (text.clone(), plain, Some(to.clone())),
            Inline::Cite(n) => (format!("[{n}]"), plain, Some(format!("source-{n}"))),
        };
        Run { text, face, link }
    };
    line.0.iter().map(one).filter(|r| !r.text.is_empty()).collect()
}

/// Lines of plain words in one face.
pub(crate) fn words_to_lines(faces: &Faces, text: &str, face: Face, size: f32, width: f32) -> Vec<String> {
    let run = Run { text: text.to_owned(), face, link: None };
    lines_of(faces, &[run], size, width)
        .into_iter()
        .map(|l| l.into_iter().map(|r| r.text).collect::<String>().trim_end().to_owned())
        .collect()
}
