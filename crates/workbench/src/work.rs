//! What a worker process does: reads jobs as lines, answers each with lines.

use std::io::{BufRead, Write};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::mpsc::channel;
use std::sync::{Mutex, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use calotte_desk::{Refusal, Reply, Want, Watch};
use calotte_figures::Figure;
use calotte_specimen::read_case;

use crate::api::{AnswerLine, FigureLine, Job, Kind, Line, ProgressLine, Refused, TableLine, to_line};
use crate::findings;

/// Pixels of a PNG per point of the drawing: 300 an inch.
const PNG_SCALE: f64 = 300.0 / 96.0;

/// Least time between two lines about progress.
const BEAT: Duration = Duration::from_millis(100);

/// How a worker came to its end.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum WorkEnd {
    /// Nobody sends jobs any more.
    Done,
    /// A job failed in a way that leaves nothing to trust; it was said to who asked.
    Broken,
}

/// Answers jobs from `input` on `output`. Calls `left` when the input ends, also amid a job: then nobody waits for its answer, and
/// the process should end.
pub fn work(
    input: impl BufRead + Send + 'static,
    output: impl Write + Send,
    left: impl FnOnce() + Send + 'static,
) -> WorkEnd {
    let (to, jobs) = channel();
    thread::spawn(move || {
        for line in input.split(b'\n') {
            let Ok(line) = line else { break };
            if to.send(line).is_err() {
                return;
            }
        }
        left();
    });
    let out = Out(Mutex::new(output));
    for line in jobs {
        // What a job that panicked leaves behind is not used again: the process ends.
        let done = catch_unwind(AssertUnwindSafe(|| answer(&line, &out)));
        let last = match done {
            Ok(line) => line,
            Err(panic) => {
                let what = panic
                    .downcast_ref::<String>()
                    .map(String::as_str)
                    .or_else(|| panic.downcast_ref().copied());
                let says = format!("the program failed: {}", what.unwrap_or("without a word"));
                let help = "this is a fault of the program; please report it with the case";
                out.say(&Line::Refused(Refused::new(Kind::Failed, says).help(help)));
                return WorkEnd::Broken;
            }
        };
        if !out.say(&last) {
            return WorkEnd::Done;
        }
    }
    WorkEnd::Done
}

struct Out<W>(Mutex<W>);

impl<W: Write> Out<W> {
    /// Writes a line; `false` when nobody reads.
    fn say(&self, line: &Line) -> bool {
        let mut out = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        out.write_all(to_line(line).as_bytes()).and_then(|()| out.flush()).is_ok()
    }
}

/// Says how far the work is, ten times a second at most.
struct Beat<'a, W> {
    out: &'a Out<W>,
    last: Mutex<Option<Instant>>,
}

impl<W: Write + Send> Watch for Beat<'_, W> {
    fn progress(&self, share: Option<f64>, words: &str) -> bool {
        let mut last = self.last.lock().unwrap_or_else(PoisonError::into_inner);
        if last.is_some_and(|t| t.elapsed() < BEAT) {
            return true;
        }
        *last = Some(Instant::now());
        self.out.say(&Line::Progress(ProgressLine { share, words: words.to_owned() }))
    }
}

/// Works on one job; the last line is given back.
fn answer<W: Write + Send>(line: &[u8], out: &Out<W>) -> Line {
    let started = Instant::now();
    let job: Job = match serde_json::from_slice(line) {
        Ok(job) => job,
        Err(e) => return Line::Refused(Refused::new(Kind::Failed, format!("the job cannot be read: {e}"))),
    };
    // Names of files are only names here: nothing reaches a disk.
    let open = |name: &str| {
        let text = job.files.get(name).ok_or(std::io::ErrorKind::NotFound)?;
        Ok(text.clone().into_bytes())
    };
    let (case, found) = read_case(job.text.as_bytes(), &open);
    out.say(&Line::Findings(findings::lines(&job.text, &job.files, &found)));
    let Some(case) = case else {
        let errors = found.iter().filter(|f| f.level == calotte_specimen::Level::Error).count();
        let s = if errors == 1 { "" } else { "s" };
        let says = format!("{errors} problem{s} in the case; nothing was computed");
        return Line::Refused(Refused::new(Kind::Case, says));
    };
    let want = Want {
        film: job.want.film,
        figures: job.want.figures,
        tables: job.want.tables,
        threads: 1,
        ..Want::default()
    };
    let watch = Beat { out, last: Mutex::new(None) };
    match calotte_desk::ask(&case, &job.question, &job.options, want, &watch).map_err(refused) {
        Ok(reply) => envelope(reply, started).map_or_else(Line::Refused, |a| Line::Answer(Box::new(a))),
        Err(refused) => Line::Refused(refused),
    }
}

fn refused(refusal: Refusal) -> Refused {
    match refusal {
        Refusal::Question { says, help } => Refused { kind: Kind::Question, says, help },
        Refusal::Stopped => Refused::new(Kind::Stopped, "it was stopped"),
        Refusal::Failed { says } => Refused::new(Kind::Failed, says),
    }
}

fn envelope(reply: Reply, started: Instant) -> Result<AnswerLine, Refused> {
    let failed = |what: &str, e: String| Refused::new(Kind::Failed, format!("{what} cannot be written: {e}"));
    let figures: Result<Vec<_>, _> = reply.figures.into_iter().map(figure).collect();
    let tables: Result<Vec<_>, _> = reply
        .tables
        .into_iter()
        .map(|(name, table)| {
            Ok(TableLine {
                name,
                csv: String::from_utf8(table.to_csv()).map_err(|e| failed("a table", e.to_string()))?,
            })
        })
        .collect();
    Ok(AnswerLine {
        question: reply.question.to_owned(),
        sheet: serde_json::to_value(&reply.sheet).map_err(|e| failed("the sheet", e.to_string()))?,
        report: reply.report,
        doubtful: reply.doubtful,
        film: reply
            .film
            .map(|f| serde_json::to_value(f).map_err(|e| failed("the film", e.to_string())))
            .transpose()?,
        figures: figures.map_err(|e| failed("a figure", e))?,
        tables: tables?,
        seconds: started.elapsed().as_secs_f64(),
    })
}

fn figure(f: Figure) -> Result<FigureLine, String> {
    let png = calotte_figures::png(&f.svg, PNG_SCALE).map_err(|e| e.to_string())?;
    Ok(FigureLine {
        name: f.name.to_owned(),
        png: STANDARD.encode(png),
        svg: f.svg,
        alt: f.alt,
        caption: f.caption,
    })
}

/// A job as a worker reads it.
pub(crate) fn job_line(question: &str, ask: &crate::api::Ask) -> Result<String, serde_json::Error> {
    let job = Job {
        question: question.to_owned(),
        text: ask.text.clone(),
        files: ask.files.clone(),
        options: ask.options.clone(),
        want: ask.want,
    };
    Ok(serde_json::to_string(&job)? + "\n")
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeMap;
    use std::io::{BufReader, Cursor};

    const GOOD: &str = "title = \"Test\"\n[shape]\nkind = \"cap\"\nradius = \"25 mm\"\nhalf_angle = \"60 deg\"\n[wall]\nthickness = \"2.1 mm\"\n\
        [material]\nyoungs_modulus = \"1.2 MPa\"\npoisson_ratio = 0.49\n[rim]\nkind = \"free\"\n";

    fn said(question: &str, text: &str, options: serde_json::Value) -> Vec<serde_json::Value> {
        let job = Job {
            question: question.into(),
            text: text.into(),
            files: BTreeMap::new(),
            options,
            want: crate::api::Wants::default(),
        };
        let line = serde_json::to_string(&job).unwrap() + "\n";
        let mut out = Vec::new();
        assert_eq!(work(BufReader::new(Cursor::new(line)), &mut out, || ()), WorkEnd::Done);
        String::from_utf8(out).unwrap().lines().map(|l| serde_json::from_str(l).unwrap()).collect()
    }

    #[test]
    fn a_look_is_answered() {
        let lines = said("look", GOOD, serde_json::json!({}));
        assert_eq!(lines[0]["findings"], serde_json::json!([]));
        let answer = &lines.last().unwrap()["answer"];
        assert_eq!(answer["question"], "look");
        assert!(answer["report"]["part"].is_object(), "{answer}");
    }

    #[test]
    fn a_case_with_errors_is_refused_after_its_findings() {
        let lines = said("look", &GOOD.replace("25 mm", "25 m m"), serde_json::Value::Null);
        assert_eq!(lines[0]["findings"][0]["key"], "shape.radius");
        assert_eq!(lines[1]["refused"]["kind"], "case");
        assert_eq!(lines.len(), 2);
    }

    #[test]
    fn unknown_questions_and_options_are_refused() {
        assert_eq!(said("lock", GOOD, serde_json::json!({}))[1]["refused"]["kind"], "question");
        let lines = said("look", GOOD, serde_json::json!({"x": 1}));
        assert_eq!(lines[1]["refused"]["kind"], "question");
    }
}
