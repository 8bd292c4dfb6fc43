//! `calotte rehearse clip` and `calotte clip` on invented clips: round trips, keys of the page, bad input.

#![allow(clippy::unwrap_used, reason = "helpers of tests, outside a #[test] function")]

mod common;

use std::collections::BTreeSet;

use common::{Folder, Ran, documented, key_names, parse, root};
use serde_json::Value;

/// The command that `rehearse` says to read its clip with, its arguments apart.
fn command(said: &str) -> Vec<String> {
    let text = said[said.find("calotte clip").unwrap()..].replace("\\\n", " ");
    let mut out = vec![String::new()];
    let mut quoted = false;
    for c in text["calotte ".len()..].trim().chars() {
        match c {
            '"' => quoted = !quoted,
            ' ' if !quoted => out.push(String::new()),
            c => out.last_mut().unwrap().push(c),
        }
    }
    out.retain(|a| !a.is_empty());
    out
}

/// Invented: what is read from the clip of a computed release agrees with it, glare and dropped frames notwithstanding.
#[test]
fn a_rehearsed_clip_gives_its_release_back() {
    let folder = Folder::new();
    let to = folder.0.join("clip");
    let to = to.to_str().unwrap();
    let made =
        ["rehearse", "clip", "cases/jumping-cap/case.toml", "--out", to, "--frames", "360", "--before", "2"];
    let spoilt = ["--glare", "0.02", "--drops", "0.02"];
    let ran = Ran::of(&root(), &[&made[..], &spoilt[..]].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    let mut arguments = command(&ran.out);
    arguments.push("--json".into());
    let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
    let read = Ran::of(&root(), &arguments);
    assert!(read.code <= 1, "{}", read.err);
    let answer: Value = parse(&read.out);
    let rows = answer["comparison"]["rows"].as_array().unwrap();
    assert!(rows.len() >= 7, "{rows:?}");
    for r in rows {
        assert!(r["z"].as_f64().unwrap().abs() < 3.5, "{r}");
    }
    assert!(answer["clip"]["dropped"].as_u64().unwrap() > 0);
    // Pinned work: about one profile and one fit a frame and line.
    for l in answer["lines"].as_array().unwrap() {
        let frames = answer["clip"]["frames"].as_u64().unwrap();
        assert!(l["fits"].as_u64().unwrap() <= frames + frames / 5 + 10, "{}", l["fits"]);
        assert!(l["searches"].as_u64().unwrap() <= frames + frames / 5 + 10, "{}", l["searches"]);
    }
    let values = ["null", "pole", "rim-left", "rim-right", "pole-over-rim", "frame-rate", "shown", "--case"];
    let mut seen = BTreeSet::new();
    key_names(&answer, &[], &mut seen);
    let written: BTreeSet<String> = seen.into_iter().map(str::to_owned).collect();
    let told = documented("docs/clip.md", &values);
    // What this clip does not show: nothing was bad, nothing need be unread, and its growth has not the form of a fold just lost.
    let elsewhere = ["place", "why", "figure", "rate_per_s", "rate_deviation_per_s", "passage_s"];
    let absent: Vec<&String> =
        told.difference(&written).filter(|k| !elsewhere.contains(&k.as_str())).collect();
    let untold: Vec<&String> = written.difference(&told).collect();
    assert!(
        absent.is_empty() && untold.is_empty(),
        "documented alone: {absent:?}; answered alone: {untold:?}"
    );
}

#[test]
fn bad_clips_say_what_is_wrong() {
    let folder = Folder::new();
    std::fs::create_dir(folder.0.join("empty")).unwrap();
    std::fs::create_dir(folder.0.join("odd")).unwrap();
    folder.write("odd/frame_01.png", "no picture");
    folder.write("odd/frame_02.png", "");
    folder.write("cut.gif", "GIF89a");
    let say = |arguments: &[&str], words: &str| {
        let ran = Ran::of(&folder.0, arguments);
        assert_eq!(ran.code, 2, "{arguments:?}: {}", ran.err);
        assert!(ran.err.contains(words), "{arguments:?}: {}", ran.err);
    };
    let scale = ["--scale", "10 px/mm"];
    let with = |a: &[&'static str]| [&["clip"], a, &scale[..]].concat();
    say(&with(&["empty", "--fps", "100"]), "there is no picture");
    say(&with(&["none", "--fps", "100"]), "there is no such clip");
    say(&with(&["odd"]), "the frame rate is not known");
    say(&["clip", "odd", "--fps", "100"], "the scale is not known");
    say(&with(&["odd", "--fps", "100"]), "frame_01.png");
    say(&with(&["odd", "--fps", "0"]), "greater than 0");
    say(&with(&["cut.gif", "--fps", "100"]), "no GIF");
    say(&with(&["odd", "--fps", "100", "--line", "1,2"]), "X0,Y0,X1,Y1");
    say(&["rehearse", "clip", "none.toml", "--out", "x", "--noise", "7"], "between 0 and 1");
}
