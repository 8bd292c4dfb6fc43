//! `calotte rehearse clip` and `calotte clip` on invented clips: round trips, keys of the page, bad input.

#![allow(clippy::unwrap_used, reason = "helpers of tests, outside a #[test] function")]

mod common;

use std::collections::BTreeSet;

use calotte_lab::picture::paint;
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
    others(&folder, rows);
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

/// The same release as a GIF, and as JPEG pictures by a tilted camera: read back beside what the release itself tells.
fn others(folder: &Folder, computed: &[Value]) {
    let want = |figure: &str| {
        let row = computed.iter().find(|r| r["figure"] == figure).unwrap();
        row["computed_SI"].as_f64().unwrap()
    };
    let gif = folder.0.join("clip.gif");
    let jpeg = folder.0.join("jpeg");
    for (to, options) in [(&gif, &[][..]), (&jpeg, &["--jpeg", "92", "--tilt", "1.5 deg"][..])] {
        let to = to.to_str().unwrap();
        let made = [
            "rehearse",
            "clip",
            "cases/jumping-cap/case.toml",
            "--out",
            to,
            "--frames",
            "360",
            "--before",
            "2",
        ];
        let ran = Ran::of(&root(), &[&made[..], options].concat());
        assert_eq!(ran.code, 0, "{}", ran.err);
        let mut arguments = command(&ran.out);
        // Beside the computed figures that are known already.
        arguments.truncate(arguments.iter().position(|a| a == "--case").unwrap());
        arguments.push("--json".into());
        let arguments: Vec<&str> = arguments.iter().map(String::as_str).collect();
        let read = Ran::of(&root(), &arguments);
        assert!(read.code <= 1, "{to}: {}", read.err);
        let answer: Value = parse(&read.out);
        let figures =
            [("wait", "wait_s"), ("snap time", "snap_time_s"), ("peak speed", "peak_speed_m_per_s")];
        for (figure, key) in figures.into_iter().chain([("way", "way_m"), ("jump height", "jump_height_m")]) {
            let f = &answer["figures"][key];
            let (value, deviation) = (f["value"].as_f64().unwrap(), f["deviation"].as_f64().unwrap());
            let z = (value - want(figure)) / deviation;
            assert!(z.abs() < 3.5 && deviation < 0.15 * value, "{to}: {figure} {value} ± {deviation}, z {z}");
        }
        // With the pole alone the flight would count as way: nothing is told that hangs on it, and what to do is.
        let rim = arguments.iter().position(|a| *a == "--rim-left").unwrap();
        let alone = [&arguments[..rim], &arguments[rim + 4..]].concat();
        let read = Ran::of(&root(), &alone);
        assert_eq!(read.code, 1, "{to}: {}", read.out);
        let answer: Value = parse(&read.out);
        assert!(answer["figures"]["snap_time_s"].is_null() && answer["figures"]["way_m"].is_null(), "{to}");
        let said = answer["doubts"].to_string();
        assert!(said.contains("--rim-left"), "{said}");
    }
}

/// A picture, dark below an edge this far over its lowest row; a little noise of its own.
fn strip(number: u32, width: usize, height: usize, up: f64) -> Vec<u8> {
    let edge = (height - 1) as f64 - up;
    let mut grain = 2_654_435_761_u32.wrapping_mul(number + 1);
    let values: Vec<u8> = (0..width * height)
        .map(|k| {
            let y = (k / width) as f64;
            grain = grain.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let noise = f64::from(grain >> 16) / 65_536.0 - 0.5;
            (112.0 - 80.0 * libm::erf((y - edge) / 1.2) + 4.0 * noise) as u8
        })
        .collect();
    paint::to_png(&paint::from_bytes(width, height, &values).unwrap()).unwrap()
}

/// Closed form: growth from rest, then a damped swing about the other side.
fn motion(number: u32) -> f64 {
    let u = f64::from(number) - 60.0;
    let (way, sigma, omega, lambda) = (-50.0, 0.25, 0.2, 0.01);
    let d = way * omega * omega / (sigma * sigma + omega * omega);
    if u < 0.0 {
        return 85.0 + d * libm::exp(sigma * u);
    }
    let (c, s) = (d - way, (sigma * d + lambda * (d - way)) / omega);
    85.0 + way + libm::exp(-lambda * u) * (c * libm::cos(omega * u) + s * libm::sin(omega * u))
}

/// A frame of another size, one cut short and one that is no picture are told by their names; the others are read.
#[test]
fn spoilt_frames_are_told_and_left_out() {
    let folder = Folder::new();
    for (name, spoilt) in [("whole", false), ("spoilt", true)] {
        std::fs::create_dir(folder.0.join(name)).unwrap();
        for k in 0..260 {
            let mut picture = strip(k, if spoilt && k == 20 { 30 } else { 24 }, 120, motion(k));
            if spoilt && k == 90 {
                picture.truncate(picture.len() / 2);
            }
            if spoilt && k == 140 {
                picture = b"no picture".to_vec();
            }
            folder.write(&format!("{name}/f_{k:03}.png"), picture);
        }
    }
    let scale = ["--fps", "2000", "--scale", "5 px/mm", "--line", "12,0,12,119", "--linear", "--json"];
    let read = |name: &str| {
        let ran = Ran::of(&folder.0, &[&["clip", name, "--seated"], &scale[..]].concat());
        assert_eq!(ran.code, 0, "{} {}", ran.err, ran.out);
        parse(&ran.out)
    };
    // Not said to be seated: the figures stand under a doubt.
    let ran = Ran::of(&folder.0, &[&["clip", "whole"], &scale[..]].concat());
    assert_eq!(ran.code, 1, "{}", ran.out);
    assert!(parse(&ran.out)["doubts"].to_string().contains("--seated"), "{}", ran.out);
    let (whole, spoilt): (Value, Value) = (read("whole"), read("spoilt"));
    let bad = spoilt["clip"]["bad"].as_array().unwrap();
    let places: Vec<&str> = bad.iter().map(|b| b["place"].as_str().unwrap()).collect();
    assert_eq!(spoilt["clip"]["frames"].as_u64().unwrap(), 257, "{bad:?}");
    assert_eq!(bad.len(), 3, "{bad:?}");
    for (place, why, number, said) in [
        (places[0], &bad[0]["why"], "20", "30 × 120 pixels, while the first frame has 24 × 120"),
        (places[1], &bad[1]["why"], "f_090.png", "ends early"),
        (places[2], &bad[2]["why"], "f_140.png", "not a picture of a known format"),
    ] {
        let why = why.as_str().unwrap();
        assert!(place.contains(number) && why.contains(said), "{place}: {why}");
    }
    assert!(whole["clip"]["bad"].as_array().unwrap().is_empty());
    for key in ["snap_time_s", "way_m", "ringing_frequency_Hz"] {
        let [a, b] = [&whole, &spoilt].map(|a| {
            let f = &a["figures"][key];
            [f["value"].as_f64().unwrap(), f["deviation"].as_f64().unwrap()]
        });
        assert!((a[0] - b[0]).abs() < 2.0 * libm::hypot(a[1], b[1]), "{key}: {a:?} {b:?}");
    }
}

/// Nothing moves: told with and without a line; a video without the programs that decode it.
#[test]
fn still_clips_and_videos_without_a_decoder_say_what_would_do() {
    let folder = Folder::new();
    std::fs::create_dir(folder.0.join("still")).unwrap();
    for k in 0..40 {
        folder.write(&format!("still/f_{k:03}.png"), strip(k, 40, 120, 60.0));
    }
    let given = ["clip", "still", "--fps", "2000", "--scale", "5 px/mm", "--linear"];
    for more in [&[][..], &["--line", "20,0,20,119"][..]] {
        let ran = Ran::of(&folder.0, &[&given[..], more].concat());
        assert_eq!(ran.code, 2, "{}", ran.out);
        let said = &ran.err;
        assert!(said.contains("still: nothing moves") && said.contains("--line X0,Y0,X1,Y1"), "{said}");
    }
    for name in ["a.mp4", "no-ending"] {
        folder.write(name, [0, 0, 0, 24, b'f', b't', b'y', b'p']);
        let ran = std::process::Command::new(env!("CARGO_BIN_EXE_calotte"))
            .args(["clip", name, "--fps", "2000", "--scale", "5 px/mm"])
            .current_dir(&folder.0)
            .env("PATH", "")
            .output()
            .unwrap();
        let said = String::from_utf8(ran.stderr).unwrap();
        assert_eq!(ran.status.code(), Some(2), "{said}");
        for words in [name, "ffmpeg", "not on the path", "numbered PNG pictures", "GIF"] {
            assert!(said.contains(words), "{words}: {said}");
        }
    }
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
    say(&with(&["odd"]), "`--fps 2000`");
    say(&["clip", "odd", "--fps", "100"], "the scale is not known");
    say(&["clip", "odd", "--fps", "100"], "--scale \"10.2 ± 0.1 px/mm\"");
    say(&with(&["odd", "--fps", "100"]), "frame_01.png");
    say(&with(&["odd", "--fps", "0"]), "greater than 0");
    say(&with(&["cut.gif", "--fps", "100"]), "no GIF");
    say(&with(&["odd", "--fps", "100", "--line", "1,2"]), "X0,Y0,X1,Y1");
    say(&["rehearse", "clip", "none.toml", "--out", "x", "--noise", "7"], "between 0 and 1");
}
