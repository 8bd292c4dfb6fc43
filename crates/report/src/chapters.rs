//! One chapter for each question: what happens in sentences, the figures, the numbers.

use calotte_desk::{Reply, heat, map, modes, poke, release, size, spread, states, verdict};

use crate::book::Book;
use crate::model::{Inline, Line};
use crate::sheet::{Piece, Told, pieces};

/// The title of a question's chapter.
pub(crate) fn title(question: &str) -> &'static str {
    match question {
        verdict::NAME => "Turned inside out",
        states::NAME => "Stable states",
        heat::NAME => "Heated",
        poke::NAME => "Pushed",
        release::NAME => "Let go",
        map::NAME => "Thresholds over depth and thickness",
        spread::NAME => "A batch of parts",
        modes::NAME => "Vibrations",
        size::NAME => "Sizes that give what is wished",
        _ => "An answer",
    }
}

/// What was asked, in a sentence.
fn asked(question: &str) -> &'static str {
    match question {
        verdict::NAME => "Turned inside out, does the part stay, and by what margin?",
        states::NAME => "In which shapes does the part rest by itself, and what lies between them?",
        heat::NAME => "At which temperatures does the part trip and reset, and what moves them?",
        poke::NAME => "What trips the part, by which route, and how does it come back?",
        release::NAME => {
            "The inverted part is let go: when does it snap, how fast, and what does it do then?"
        }
        map::NAME => "On which side of the threshold do parts of other depth and thickness lie?",
        spread::NAME => "Of many parts made within the tolerances, how many behave as this one?",
        modes::NAME => "At which frequencies does the part vibrate, and in how many waves?",
        size::NAME => "Which sizes give what the case file wishes?",
        _ => "",
    }
}

/// Where a figure stands that was set before.
pub(crate) struct Shown {
    /// Question and name of the figure.
    pub(crate) of: (&'static str, &'static str),
    /// Its number.
    pub(crate) number: usize,
}

/// Widths for a table of so many columns: the first may be longer.
fn widths(rows: &[Vec<Line>], heads: &[String]) -> Vec<u32> {
    (0..heads.len())
        .map(|i| {
            let cells = rows.iter().filter_map(|r| r.get(i)).map(|c| c.words().chars().count());
            let longest = cells.chain(std::iter::once(heads[i].chars().count())).max().unwrap_or(1);
            longest.clamp(3, 44) as u32
        })
        .collect()
}

/// Sets the pieces of a section of a sheet.
pub(crate) fn set(book: &mut Book, caption: &str, said: &[calotte_desk::Block]) {
    for piece in pieces(said) {
        match piece {
            Piece::Text(line) => book.text(line),
            Piece::Items(items) => book.list(items),
            Piece::Facts(rows) => book.facts(rows),
            Piece::Table { heads, rows } => {
                let widths = widths(&rows, &heads);
                let heads: Vec<&str> = heads.iter().map(String::as_str).collect();
                book.table(caption, true, &heads, &widths, rows);
            }
        }
    }
}

/// Writes the chapter of an answer.
pub(crate) fn chapter(book: &mut Book, reply: &Reply, told: &Told, shown: &[Shown], case_title: &str) {
    book.chapter(title(reply.question));
    book.text(Line(vec![Inline::Strong(asked(reply.question).to_owned())]));
    // The title of an answer with its first lines, where they say more than the part.
    for line in
        told.intro.iter().skip(usize::from(reply.question != heat::NAME && reply.question != map::NAME))
    {
        let fresh = !line.starts_with("cap of a sphere;");
        if fresh {
            let mut letters = line.trim_end_matches('.').chars();
            let first: String = letters.next().map_or(String::new(), |c| c.to_uppercase().collect());
            book.text(Line::of(&format!("{first}{}.", letters.as_str())));
        }
    }
    // A list of states or sizes is one; what happens is told.
    if [states::NAME, size::NAME].contains(&reply.question) {
        book.list(told.story.iter().map(|s| Line::of(s)).collect());
    } else {
        told.story.chunks(3).for_each(|s| book.text(Line::of(&s.join(" "))));
    }
    for f in &reply.figures {
        match shown.iter().find(|s| s.of == (reply.question, f.name)) {
            Some(s) => book.text(Line(vec![
                Inline::Link { to: format!("figure-{}", s.number), text: format!("Figure {}", s.number) },
                Inline::Text(" on the first page shows it.".to_owned()),
            ])),
            None => {
                book.figure(reply.question, f, case_title);
            }
        }
    }
    // Where curves begin and end is for programs, and in the data; a reader has the figure.
    for s in told.sections.iter().filter(|s| !s.head.starts_with("Curves (")) {
        book.section(&s.head);
        set(book, &s.head, &s.said);
    }
    if !told.words.is_empty() {
        book.section("What the words mean");
        let split = |w: &String| match w.split_once(": ") {
            Some((name, rest)) => (name.to_owned(), Line::of(rest)),
            None => (String::new(), Line::of(w)),
        };
        book.facts(told.words.iter().map(split).collect());
    }
}
