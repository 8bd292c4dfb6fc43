//! Reading a case, answering with what the desk says, printing or writing it; and the commands that need no more.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::Path;

use calotte_answers::Detail;
use calotte_answers::states::lists_states;
use calotte_desk::{Refusal, Reply, Want, poke as poked, release, states, verdict as turned};
use calotte_runs::cores;
use calotte_specimen::{Case, read_case};

use crate::looks::Looks;
use crate::{End, files, findings, folder, paint};

pub(crate) fn verdict(path: &Path, json: bool, out: Option<&Path>, looks: &Looks) -> End {
    let Some(case) = read_with_rim(path) else { return End::BadInput };
    let reply = if lists_states(case.part()) {
        states::ask(&case, want(out, 1, looks))
    } else {
        turned::ask(&case, &Detail { branch: json, depth: true }, want(out, 1, looks))
    };
    give(reply, "", json, out, looks, "Figures and answer.json")
}

pub(crate) fn poke(path: &Path, json: bool, out: Option<&Path>, looks: &Looks) -> End {
    let Some(case) = read_with_rim(path) else { return End::BadInput };
    let reply = poked::ask(&case, poked::Options::default(), want(out, 1, looks));
    give(reply, "", json, out, looks, "Figures, path.csv, path.parquet and answer.json")
}

/// Files that a case names, with their content.
pub(crate) type Beside = Vec<(String, Vec<u8>)>;

/// Reads a case, showing every finding; `None` when it cannot be used.
pub(crate) fn read(path: &Path) -> Option<Case> {
    read_with_files(path).map(|(case, _)| case)
}

/// The same with the files that it names, and their content.
pub(crate) fn read_with_files(path: &Path) -> Option<(Case, Beside)> {
    let bytes = match files::read(path) {
        Ok(bytes) => bytes,
        Err(e) => {
            paint::complain(&format!(
                "{}: cannot be read: {e}\n  help: `calotte new cap` writes a case to start from",
                path.display()
            ));
            return None;
        }
    };
    let folder = path.parent().unwrap_or(Path::new(""));
    let others = RefCell::new(BTreeMap::new());
    let (case, found) = read_case(&bytes, &|name| {
        let content = files::read(&folder.join(name))?;
        others.borrow_mut().insert(name.to_owned(), content.clone());
        Ok(content)
    });
    let others = others.into_inner();
    findings::show(path, &bytes, &others, &found);
    Some((case?, others.into_iter().collect()))
}

/// The same for questions that need a rim.
pub(crate) fn read_with_rim(path: &Path) -> Option<Case> {
    read_for(path, poked::refuse)
}

/// The same for questions about a part that is turned inside out as a whole.
pub(crate) fn read_to_turn(path: &Path) -> Option<Case> {
    read_for(path, release::refuse_to_turn)
}

/// The same where a question makes sense.
fn read_for(path: &Path, refuse: fn(&Case) -> Result<(), Refusal>) -> Option<Case> {
    let case = read(path)?;
    match refuse(&case) {
        Ok(()) => Some(case),
        Err(why) => {
            paint::complain(&format!("{}: {why}", path.display()));
            None
        }
    }
}

/// What is wanted of an answer: what is written, where it is written.
pub(crate) fn want(out: Option<&Path>, threads: usize, looks: &Looks) -> Want {
    let threads = cores(threads);
    Want { film: false, figures: out.is_some(), style: looks.style(), tables: out.is_some(), threads }
}

/// Says why there is no answer; `place` stands before what is wrong with the question.
pub(crate) fn refused(refusal: &Refusal, place: &str) -> End {
    match refusal {
        Refusal::Stopped => {
            paint::complain("stopped; nothing was written");
            End::Stopped
        }
        Refusal::Question { .. } => {
            paint::complain(&format!("{place}{refusal}"));
            End::BadInput
        }
        Refusal::Failed { says } => {
            paint::complain(says);
            End::Failure
        }
    }
}

/// Writes and prints an answer, or says why there is none. `made`: what is in the folder then.
pub(crate) fn give(
    reply: Result<Reply, Refusal>,
    place: &str,
    json: bool,
    out: Option<&Path>,
    looks: &Looks,
    made: &str,
) -> End {
    let reply = match reply {
        Ok(reply) => reply,
        Err(refusal) => return refused(&refusal, place),
    };
    if let Some(dir) = out
        && let Err(e) = folder::reply(dir, &reply, looks)
    {
        return not_written(dir, &e);
    }
    tell(&reply, json, out, made)
}

/// Says that a folder could not be written to.
pub(crate) fn not_written(dir: &Path, why: &str) -> End {
    paint::complain(&format!("cannot write to {}: {why}", dir.display()));
    End::BadInput
}

/// Prints an answer, and where it was written.
pub(crate) fn tell(reply: &Reply, json: bool, out: Option<&Path>, made: &str) -> End {
    let printed = if json { paint::json(&reply.report) } else { paint::line(&reply.sheet.text()) };
    if let Some(dir) = out.filter(|_| !json) {
        paint::line(&format!("{made} are in {}", dir.display()));
    }
    match printed {
        End::Answered if reply.doubtful => End::Undecided,
        end => end,
    }
}
