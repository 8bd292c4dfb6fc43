//! `calotte verdict`: read the case, answer, print or write.

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::path::Path;

use calotte_answers::report::{Verdict, VerdictReport};
use calotte_answers::states::lists_states;
use calotte_answers::{Detail, refuse, verdict as answer_verdict};
use calotte_specimen::{Case, read_case};

use crate::provenance::Answer;
use crate::{End, files, findings, folder, paint, states};

pub(crate) fn verdict(path: &Path, json: bool, out: Option<&Path>) -> End {
    let Some(case) = read_with_rim(path) else { return End::BadInput };
    if lists_states(case.part()) {
        return states::states(&case, json, out);
    }
    let report = answer_verdict(&case, Detail { branch: json || out.is_some(), depth: true });
    if let Some(dir) = out
        && let Err(e) = write_all(dir, &case, &report)
    {
        paint::complain(&format!("cannot write to {}: {e}", dir.display()));
        return End::BadInput;
    }
    let printed = if json {
        paint::json(&Answer::new(&case, &report))
    } else {
        paint::line(&paint::report(&case, &report))
    };
    if let Some(dir) = out.filter(|_| !json) {
        paint::line(&format!("Figures and answer.json are in {}", dir.display()));
    }
    match (printed, report.verdict) {
        (End::Answered, Verdict::Undecided) => End::Undecided,
        (end, _) => end,
    }
}

/// Reads a case, showing every finding; `None` when it cannot be used.
pub(crate) fn read(path: &Path) -> Option<Case> {
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
    findings::show(path, &bytes, &others.into_inner(), &found);
    case
}

/// The same for questions that need a rim.
pub(crate) fn read_with_rim(path: &Path) -> Option<Case> {
    let case = read(path)?;
    match refuse::no_rim(case.part()) {
        None => Some(case),
        Some(why) => {
            paint::complain(&format!("{}: {why}", path.display()));
            None
        }
    }
}

/// The same for questions about a part that is turned inside out as a whole.
pub(crate) fn read_to_turn(path: &Path) -> Option<Case> {
    let case = read_with_rim(path)?;
    match refuse::turns_in_pieces(case.part()) {
        None => Some(case),
        Some(why) => {
            paint::complain(&format!("{}: {why}", path.display()));
            None
        }
    }
}

fn write_all(dir: &Path, case: &Case, report: &VerdictReport) -> Result<(), String> {
    folder::answer(dir, &Answer::new(case, report))?;
    folder::figures(dir, calotte_figures::verdict_figures(report))
}
