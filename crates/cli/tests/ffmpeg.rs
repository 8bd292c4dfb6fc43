//! Videos: what is sent to the encoder, what becomes of its failures, and, where one is installed, a real one.

#![allow(clippy::unwrap_used, reason = "helpers of tests fail by panicking")]

#[path = "../src/ffmpeg.rs"]
mod ffmpeg;

use std::path::{Path, PathBuf};
use std::process::Command;

use ffmpeg::{VideoFailure, mp4};

const SIZE: (u32, u32) = (64, 48);

/// An empty folder of the test's own.
fn folder(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("ffmpeg-{name}"));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

/// A bright square that moves over a dark ground.
fn square(i: usize) -> Vec<u8> {
    (0..48_usize)
        .flat_map(|y| (0..64_usize).map(move |x| (x, y)))
        .flat_map(|(x, y)| {
            let inside = (8 * i..8 * i + 16).contains(&x) && (16..32).contains(&y);
            if inside { [240, 240, 240] } else { [20, 20, 20] }
        })
        .collect()
}

fn names(folder: &Path) -> Vec<String> {
    let entries = std::fs::read_dir(folder).unwrap();
    let mut names: Vec<String> =
        entries.map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    names.sort();
    names
}

/// A program that stands in for the encoder: a line of shell, `$out` is the file it has to write.
#[cfg(unix)]
fn stand_in(folder: &Path, line: &str) -> PathBuf {
    use std::os::unix::fs::PermissionsExt as _;
    let program = folder.join("stand-in");
    let orders = folder.join("orders");
    let text = format!(
        "#!/bin/sh\nfor out; do :; done\nout=\"${{out#file:}}\"\necho \"$@\" > '{}'\n{line}\n",
        orders.display()
    );
    std::fs::write(&program, text).unwrap();
    std::fs::set_permissions(&program, std::fs::Permissions::from_mode(0o755)).unwrap();
    program
}

#[test]
fn an_encoder_that_is_not_there_is_named_and_nothing_is_left() {
    let folder = folder("absent");
    let path = folder.join("a.mp4");
    let failure = mp4("no-such-encoder-here".as_ref(), &path, SIZE, &[4], &mut square).unwrap_err();
    assert!(matches!(failure, VideoFailure::NotFound { .. }));
    assert!(failure.to_string().contains("`no-such-encoder-here` is not on the path"));
    assert!(names(&folder).is_empty());
}

#[test]
fn pictures_that_are_not_whole_are_refused() {
    let folder = folder("broken");
    let path = folder.join("a.mp4");
    for (size, delays) in [(SIZE, &[][..]), (SIZE, &[4, 0][..]), ((0, 48), &[4][..])] {
        let failure = mp4("no-such-encoder-here".as_ref(), &path, size, delays, &mut square).unwrap_err();
        assert!(matches!(failure, VideoFailure::Pictures), "{failure}");
    }
}

#[cfg(unix)]
#[test]
fn every_picture_is_sent_as_often_as_its_delay_asks() {
    let folder = folder("sent");
    let program = stand_in(&folder, "cat > \"$out\"");
    let path = folder.join("-a b.mp4");
    mp4(program.as_ref(), &path, SIZE, &[4, 12, 8], &mut square).unwrap();
    let want: Vec<u8> = [0, 1, 1, 1, 2, 2].iter().flat_map(|&i| square(i)).collect();
    assert!(std::fs::read(&path).unwrap() == want);
    let orders = std::fs::read_to_string(folder.join("orders")).unwrap();
    assert!(orders.contains("-pix_fmt rgb24 -s 64x48 -r 100/4 -i -") && !orders.contains("pad="), "{orders}");
    assert_eq!(names(&folder), ["-a b.mp4", "orders", "stand-in"]);
    let mut odd = |i: usize| square(i)[..63 * 47 * 3].to_vec();
    mp4(program.as_ref(), &path, (63, 47), &[4], &mut odd).unwrap();
    assert!(std::fs::read_to_string(folder.join("orders")).unwrap().contains("pad="));
}

#[cfg(unix)]
#[test]
fn a_failed_encoder_is_quoted_and_what_it_wrote_is_removed() {
    let folder = folder("failed");
    let program = stand_in(&folder, "echo half > \"$out\"; echo 'no such codec' >&2; exit 3");
    let path = folder.join("a.mp4");
    std::fs::write(&path, "older").unwrap();
    let failure = mp4(program.as_ref(), &path, SIZE, &[4; 400], &mut |_| square(0)).unwrap_err();
    assert!(matches!(&failure, VideoFailure::Refused(w) if w == "no such codec"), "{failure}");
    // A video made before stays as it is.
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "older");
    assert_eq!(names(&folder), ["a.mp4", "orders", "stand-in"]);
    let mut short = |i: usize| if i == 1 { vec![0; 5] } else { square(i) };
    let program = stand_in(&folder, "cat > \"$out\"");
    let failure = mp4(program.as_ref(), &path, SIZE, &[4, 4], &mut short).unwrap_err();
    assert!(matches!(failure, VideoFailure::Pictures), "{failure}");
    assert_eq!(std::fs::read_to_string(&path).unwrap(), "older");
}

#[test]
fn a_real_encoder_makes_a_video_that_decodes_to_the_pictures() {
    if Command::new("ffmpeg").arg("-version").output().is_err() {
        println!("skipped: no ffmpeg on the path");
        return;
    }
    let folder = folder("real");
    let path = folder.join("a.mp4");
    mp4("ffmpeg".as_ref(), &path, SIZE, &[8, 4, 4, 4], &mut square).unwrap();
    assert_eq!(names(&folder), ["a.mp4"]);
    let read = Command::new("ffmpeg")
        .args(["-v", "error", "-i"])
        .arg(&path)
        .args(["-f", "rawvideo", "-pix_fmt", "rgb24", "-"])
        .output()
        .unwrap();
    let bytes = SIZE.0 as usize * SIZE.1 as usize * 3;
    assert_eq!(read.stdout.len(), 5 * bytes, "{}", String::from_utf8_lossy(&read.stderr));
    for (frame, i) in read.stdout.chunks(bytes).zip([0, 0, 1, 2, 3]) {
        let off: u64 = frame.iter().zip(square(i)).map(|(a, b)| u64::from(a.abs_diff(b))).sum();
        assert!(off / bytes as u64 <= 6, "picture {i} is off by {} on average", off / bytes as u64);
    }
}
