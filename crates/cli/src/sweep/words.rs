//! What a sweep says: points, chunks, what is there.

use std::path::Path;

use calotte_desk::{PROGRAM, Sheet, VERSION};
use calotte_sweep::{Gathered, Place, Sweep, ranges};
use serde_json::{Map, Value, json};

use crate::{End, paint};

/// What every summary begins with.
pub(super) fn facts(sweep: &Sweep<'_>) -> Map<String, Value> {
    let facts = json!({
        "provenance": { "program": PROGRAM, "version": VERSION, "case_digest": sweep.case().digest() },
        "schema_version": 1,
        "title": sweep.plan().title,
        "plan_digest": sweep.digest(),
        "point_count": sweep.points(),
        "points_per_chunk": sweep.job().chunk,
        "chunk_count": sweep.chunks(),
    });
    if let Value::Object(map) = facts { map } else { Map::new() }
}

pub(super) fn say(sweep: &Sweep<'_>, more: Value) -> End {
    let mut all = facts(sweep);
    if let Value::Object(more) = more {
        all.extend(more);
    }
    paint::json(&all)
}

/// "1 point", "12 points".
pub(super) fn count(n: u64, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}

pub(super) fn points(sweep: &Sweep<'_>, points: &[u64], as_json: bool) -> End {
    let found: Vec<_> = points.iter().filter_map(|k| sweep.point(*k)).collect();
    if as_json {
        return say(sweep, json!({ "points": found }));
    }
    let asked: Vec<&str> = sweep.plan().questions.iter().map(|q| q.name()).collect();
    let mut sheet = Sheet::new(&format!("SWEEP: {}", sweep.plan().title));
    sheet.text_block(&format!(
        "{} in {}; asked at each: {}.",
        count(sweep.points(), "point"),
        count(sweep.chunks(), "chunk"),
        asked.join(", ")
    ));
    let mut head = vec!["point".to_owned(), "chunk".to_owned()];
    head.extend(sweep.plan().vary.iter().map(|v| v.key.clone()));
    let mut rows = vec![head];
    for p in &found {
        let mut row = vec![p.point.to_string(), p.chunk.to_string()];
        row.extend(p.values.iter().map(|v| v.shown.clone()));
        rows.push(row);
    }
    sheet.table(rows);
    for p in found.iter().filter(|p| p.note.is_some()) {
        sheet.item(&format!("Point {}: there is no such part: {}", p.point, p.note.as_deref().unwrap_or("")));
    }
    paint::line(&sheet.text())
}

/// What is said of a damaged shard.
pub(super) fn damaged(d: &calotte_sweep::Damaged) -> String {
    format!("chunk {} was damaged and is set aside as {}: {}", d.chunk, d.set_aside, d.why)
}

/// After some chunks were computed.
pub(super) fn computed(sweep: &Sweep<'_>, asked: &[u64], computed: &[u64], as_json: bool) -> End {
    if as_json {
        return say(sweep, json!({ "asked_chunks": asked.len(), "computed_chunks": computed }));
    }
    let there = asked.len() - computed.len();
    let there = if there == 0 { String::new() } else { format!("; {there} of those asked for were there") };
    let which = if computed.is_empty() {
        "no chunk computed".to_owned()
    } else {
        format!("computed chunks {}", ranges(computed))
    };
    paint::line(&format!("SWEEP: {}: {which}{there}", sweep.plan().title))
}

/// After all shards were looked at.
pub(super) fn gathered(
    sweep: &Sweep<'_>,
    place: &Place,
    g: &Gathered,
    csv: Option<&Path>,
    as_json: bool,
) -> End {
    for d in &g.damaged {
        paint::complain(&damaged(d));
    }
    for name in &g.strange {
        paint::complain(&format!("{name} in {} is no chunk of this sweep", place.out.display()));
    }
    let complete = g.missing.is_empty();
    let end = |printed: End| if complete || printed != End::Answered { printed } else { End::Undecided };
    if as_json {
        let more = json!({
            "complete": complete,
            "whole_chunks": g.whole,
            "missing_chunks": g.missing,
            "damaged": g.damaged,
            "strange_files": g.strange,
            "computed_points": g.points,
            "points_with_note": g.with_note,
            "bytes": g.bytes,
            "counts": g.counts,
        });
        return end(say(sweep, more));
    }
    let mut sheet = Sheet::new(&format!("SWEEP: {}", sweep.plan().title));
    if complete {
        sheet.text_block(&format!(
            "Complete: {} in {}, {}.",
            count(g.points, "point"),
            count(g.whole, "chunk"),
            size(g.bytes)
        ));
    } else {
        sheet.text_block(&format!(
            "Not complete: {} of {} are there, {} of {}.",
            g.whole,
            count(sweep.chunks(), "chunk"),
            g.points,
            count(sweep.points(), "point")
        ));
        sheet.row("missing chunks", &g.missing_ranges());
    }
    for q in &sweep.plan().questions {
        let of: Vec<String> = g
            .counts
            .iter()
            .filter(|c| c.question == q.name())
            .map(|c| format!("{} {}", c.points, c.answer))
            .collect();
        if !of.is_empty() {
            sheet.row(q.name(), &of.join(", "));
        }
    }
    if g.with_note > 0 {
        sheet.row("with a note", &format!("{}: the column `note` says why", count(g.with_note, "point")));
    }
    let mut last =
        format!("The chunks are in {}, the manifest in {}", place.out.display(), place.manifest().display());
    match csv {
        Some(path) if complete => last.push_str(&format!(", all points in {}", path.display())),
        Some(path) => {
            last.push_str(&format!("; {} is not written before all chunks are there", path.display()))
        }
        None => {}
    }
    sheet.text_block(&format!("{last}."));
    if !complete {
        sheet.text_block(
            "The same command without --gather computes what is missing; with --slurm it submits it.",
        );
    }
    end(paint::line(&sheet.text()))
}

/// Bytes for people.
fn size(bytes: u64) -> String {
    match bytes {
        0..10_000 => format!("{bytes} bytes"),
        10_000..10_000_000 => format!("{:.0} kB", bytes as f64 / 1e3),
        10_000_000..10_000_000_000 => format!("{:.0} MB", bytes as f64 / 1e6),
        _ => format!("{:.1} GB", bytes as f64 / 1e9),
    }
}
