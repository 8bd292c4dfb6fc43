//! The report: every answer in its place.

use calotte_desk::{PROGRAM, Refusal, Reply, VERSION, Watch};
use calotte_specimen::Case;
use serde_json::Value;

use crate::answers::{ReadSpecimens, answers};
use crate::book::Book;
use crate::chapters::{Shown, chapter};
use crate::closing;
use crate::lead;
use crate::measured::{self, Measurement};
use crate::model::{Block, BoxKind, Carried, Document, Inline, Line};
use crate::part::part;
use crate::request::{Request, plan};
use crate::sheet::{Told, apart};
use crate::sources::bibtex;

/// A report.
#[derive(Clone, Debug)]
pub struct Report {
    /// As a document, for its writers.
    pub document: Document,
    /// As data, for `report.json`.
    pub data: Value,
    /// Its sources as BibTeX.
    pub bibtex: String,
    /// Whether any answer is doubtful.
    pub doubtful: bool,
    /// What was asked.
    pub questions: Vec<&'static str>,
}

/// Asks everything and composes the report.
///
/// # Errors
/// A [`Refusal`] where a question makes no sense or a file is not what it should be; [`Refusal::Stopped`] when the watch stopped it.
pub fn report(
    case: &Case,
    request: &Request,
    specimens: ReadSpecimens<'_>,
    threads: usize,
    watch: &dyn Watch,
) -> Result<Report, Refusal> {
    let measurements = request.measured.iter().map(measured::read).collect::<Result<Vec<_>, _>>()?;
    let plan = plan(case, request, &measurements)?;
    let replies = answers(case, &plan, request, specimens, threads, watch)?;
    composed(case, request, &measurements, &replies)
}

/// Composes the report of answers that are there already.
fn composed(
    case: &Case,
    request: &Request,
    measurements: &[Measurement],
    replies: &[Reply],
) -> Result<Report, Refusal> {
    let told: Vec<Told> = replies.iter().map(|r| apart(&r.sheet)).collect();
    let compared = measured::compare(measurements, case, replies);
    let doubts: Vec<String> = replies
        .iter()
        .zip(&told)
        .flat_map(|(r, t)| t.doubts.iter().map(|d| format!("{}: {d}", crate::chapters::title(r.question))))
        .collect();
    let answer = lead::answer(replies);
    let data = crate::data::data(case, request, replies, &compared, &answer, &doubts)?;
    let mut book = Book::default();
    let cautions = closing::cautions(case, replies, &told);
    let shown = first_page(&mut book, replies, &doubts, &case.title);
    part(&mut book, case, &request.case_name);
    // The answer that the first page gives comes first; the others keep their order.
    let begun = lead::first(replies).map_or("", |r| r.question);
    let (ahead, behind): (Vec<_>, Vec<_>) = replies.iter().zip(&told).partition(|(r, _)| r.question == begun);
    for (reply, t) in ahead.into_iter().chain(behind) {
        chapter(&mut book, reply, t, &shown, &case.title);
    }
    measured::chapter(&mut book, measurements, &compared, case);
    closing::evidence(&mut book, replies, &told);
    closing::assumptions(&mut book, case, replies);
    closing::validity(&mut book, replies, &told);
    closing::caution_chapter(&mut book, &cautions);
    book.chapter("Sources");
    book.sources();
    let bib = bibtex(book.keys());
    book.text(Line::of("The same as a BibTeX file:"));
    book.blocks.push(Block::Files(vec![Carried {
        name: "sources.bib".to_owned(),
        media: "application/x-bibtex",
        what: "the sources above".to_owned(),
        bytes: bib.clone().into_bytes(),
    }]));
    again(&mut book, case, request);
    let document = Document {
        title: case.title.clone(),
        kind: "Report".to_owned(),
        answer,
        date: request.date.clone(),
        made_by: format!("{PROGRAM} {VERSION}, case {}", case.digest()),
        blocks: book.blocks,
        data: data.to_string(),
        one_page: false,
    };
    let doubtful = replies.iter().any(|r| r.doubtful);
    Ok(Report {
        document,
        data,
        bibtex: bib,
        doubtful,
        questions: replies.iter().map(|r| r.question).collect(),
    })
}

/// Doubts, the figure that shows the answer, the numbers that matter.
fn first_page(book: &mut Book, replies: &[Reply], doubts: &[String], case_title: &str) -> Vec<Shown> {
    book.chapter("The answer");
    let lines = |texts: &[String]| texts.iter().map(|t| Line::of(t)).collect::<Vec<_>>();
    book.aside(BoxKind::Doubt, "Doubtful: read this first", lines(doubts));
    let mut shown = Vec::new();
    if let Some(reply) = lead::first(replies) {
        book.blocks.push(Block::Numbers(lead::numbers(replies)));
        if let Some(f) = reply.figures.first() {
            let number = book.figure(reply.question, f, case_title);
            shown.push(Shown { of: (reply.question, f.name), number });
        }
    }
    shown
}

/// How anyone makes this report again.
fn again(book: &mut Book, case: &Case, r: &Request) {
    book.chapter("How to make it again");
    book.text(Line::of(
        "The HTML file of this report carries all that it was computed from. This command computes everything anew and says of every number \
         whether it is the same:",
    ));
    book.blocks.push(Block::Code {
        title: "The same report again".to_owned(),
        text: "calotte report --again report.html".to_owned(),
    });
    let mut command = format!("calotte report {}", quoted(&r.case_name));
    let mut option = |name: &str, value: &str| command += &format!(" {name} {}", quoted(value));
    if !r.with.is_empty() {
        option("--with", &r.with.join(","));
    }
    if !r.without.is_empty() {
        option("--without", &r.without.join(","));
    }
    r.measured.iter().for_each(|m| option("--measured", &m.name));
    if let Some(s) = &r.specimens {
        option("--specimens", &s.name);
    }
    if let Some(date) = &r.date {
        option("--date", date);
    }
    if r.paper == crate::request::Paper::Letter {
        option("--paper", "letter");
    }
    book.blocks.push(Block::Code { title: "The command that made it".to_owned(), text: command });
    book.facts(vec![
        ("program".to_owned(), Line::of(&format!("{PROGRAM} {VERSION}"))),
        ("case".to_owned(), Line(vec![Inline::Code(r.case_name.clone())])),
        ("fingerprint of the case".to_owned(), Line(vec![Inline::Code(case.digest())])),
    ]);
    book.text(Line::of(
        "Same program, same case, same numbers to the last bit, on any number of processors.",
    ));
    let text = case.text().trim_end().to_owned();
    book.blocks.push(Block::Code { title: format!("The case file, {}", r.case_name), text });
    let given = r.side_files.iter().chain(&r.specimens);
    for f in given {
        if let Ok(text) = std::str::from_utf8(&f.bytes) {
            book.blocks.push(Block::Code {
                title: format!("The file {}", f.name),
                text: text.trim_end().to_owned(),
            });
        }
    }
}

/// An argument as a shell takes it.
fn quoted(text: &str) -> String {
    let plain = |c: char| c.is_ascii_alphanumeric() || "._-/,=%+:".contains(c);
    if !text.is_empty() && text.chars().all(plain) {
        text.to_owned()
    } else {
        format!("'{}'", text.replace('\'', "'\\''"))
    }
}
