//! The manifest of a run: which job the chunks beside it belong to.
//!
//! Text in lines: the version of the format, everything that makes the run what it is, and a checksum of
//! the lines before it.

use std::path::Path;

use crate::failure::Failure;
use crate::files::checksum;
use crate::job::Job;

/// First line, up to the version.
const FORMAT: &str = "calotte run, format ";

/// Version of the manifest and of the chunks.
const VERSION: &str = "1";

/// Key of the last line.
const CHECKSUM: &str = "checksum: ";

/// Characters of a line that are shown when it differs.
const SHOWN: usize = 120;

/// Everything that makes `job` the run it is. Two jobs have the same text just if they are the same run.
fn body(job: &Job) -> String {
    let plain =
        |t: &str| t.replace('\\', "\\\\").replace('\n', "\\n").replace('\r', "\\r").replace('\t', "\\t");
    let mut out = format!("{FORMAT}{VERSION}\npoints: {}\npoints per chunk: {}\n", job.points, job.chunk);
    for line in job.identity.split('\n') {
        out.push_str(&format!("identity: {}\n", plain(line)));
    }
    for c in &job.columns {
        out.push_str(&format!("column: {}\t{}\t{}\n", plain(&c.name), plain(&c.unit), c.kind.word()));
    }
    out
}

/// The manifest of `job` as it lies on the disk.
pub(crate) fn write(job: &Job) -> String {
    let body = body(job);
    format!("{body}{CHECKSUM}{:016x}\n", checksum(body.as_bytes()))
}

/// A number that stands for the run in its chunks.
pub(crate) fn fingerprint(job: &Job) -> u64 {
    checksum(body(job).as_bytes())
}

/// Whether `bytes`, read from `path`, are the manifest of `job`.
pub(crate) fn compare(path: &Path, bytes: &[u8], job: &Job) -> Result<(), Failure> {
    let damaged = |what: &str| Failure::Damaged { path: path.to_owned(), what: what.into() };
    let foreign = |what: String| Failure::Foreign { path: path.to_owned(), what };
    let text = std::str::from_utf8(bytes).map_err(|_| damaged("it is not text"))?;
    let (first, _) = text.split_once('\n').ok_or_else(|| damaged("it is no manifest of a run"))?;
    let version = first.strip_prefix(FORMAT).ok_or_else(|| damaged("it is no manifest of a run"))?;
    if version != VERSION {
        return Err(foreign(format!("its format is {}, this program writes {VERSION}", shown(version))));
    }
    let end = text.rfind(CHECKSUM).filter(|at| text[..*at].ends_with('\n'));
    let (there, sum) = text.split_at(end.ok_or_else(|| damaged("it is truncated"))?);
    if sum != format!("{CHECKSUM}{:016x}\n", checksum(there.as_bytes())) {
        return Err(damaged("its checksum is wrong"));
    }
    match difference(there, &body(job)) {
        None => Ok(()),
        Some(what) => Err(foreign(what)),
    }
}

/// The first line in which two bodies differ, in words.
fn difference(there: &str, here: &str) -> Option<String> {
    let (mut a, mut b) = (there.lines(), here.lines());
    loop {
        match (a.next(), b.next()) {
            (None, None) => return None,
            (a, b) if a == b => {}
            (a, b) => {
                let quoted = |l: Option<&str>| l.map_or("nothing".into(), |l| format!("`{}`", shown(l)));
                return Some(format!("it says {} where this run has {}", quoted(a), quoted(b)));
            }
        }
    }
}

/// A line as far as it fits a message.
fn shown(line: &str) -> String {
    let mut out: String = line.chars().take(SHOWN).collect();
    if out.len() < line.len() {
        out.push('…');
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::{Column, Kind};

    fn job() -> Job {
        let column = Column { name: "a".into(), unit: "m".into(), about: "A.".into(), kind: Kind::Number };
        Job {
            name: "grid".into(),
            identity: "version 1\ncase\t\\ 7f".into(),
            columns: vec![column],
            points: 10,
            chunk: 3,
            provenance: Vec::new(),
        }
    }

    #[test]
    fn every_part_of_a_job_that_matters_shows() {
        let path = Path::new("manifest");
        let text = write(&job());
        assert!(compare(path, text.as_bytes(), &job()).is_ok());
        type Change = fn(&mut Job);
        let changes: [(Change, &str); 6] = [
            (|j| j.points = 11, "points: 11"),
            (|j| j.chunk = 4, "points per chunk: 4"),
            (|j| j.identity = "version 2\ncase\t\\ 7f".into(), "identity: version 2"),
            (|j| j.identity.push_str("\nmore"), "identity: more"),
            (|j| j.columns[0].unit = "mm".into(), "a\tmm\tnumber"),
            (|j| j.columns[0].kind = Kind::Count, "a\tm\tcount"),
        ];
        for (change, part) in changes {
            let mut other = job();
            change(&mut other);
            match compare(path, text.as_bytes(), &other) {
                Err(Failure::Foreign { what, .. }) => assert!(what.contains(part), "{what}"),
                other => panic!("{other:?}"),
            }
            assert_ne!(fingerprint(&job()), fingerprint(&other));
        }
        let mut worded = job();
        worded.columns[0].about = "Other words.".into();
        worded.provenance.push(("a".into(), "b".into()));
        assert!(compare(path, text.as_bytes(), &worded).is_ok());
    }

    #[test]
    fn truncation_anywhere_and_any_wrong_byte_show() {
        let path = Path::new("manifest");
        let text = write(&job());
        for end in 0..text.len() {
            let result = compare(path, &text.as_bytes()[..end], &job());
            assert!(matches!(result, Err(Failure::Damaged { .. })), "{end}: {result:?}");
        }
        for at in 0..text.len() {
            let mut bytes = text.clone().into_bytes();
            bytes[at] ^= 1;
            assert!(compare(path, &bytes, &job()).is_err(), "{at}");
        }
        let newer = text.replacen("format 1", "format 2", 1);
        match compare(path, newer.as_bytes(), &job()) {
            Err(Failure::Foreign { what, .. }) => assert!(what.contains("format is 2"), "{what}"),
            other => panic!("{other:?}"),
        }
    }
}
