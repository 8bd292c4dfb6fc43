//! Bad input: every problem at its place, exit code 2, nothing written, never a panic.

mod common;

use common::{Folder, GOOD};

#[track_caller]
fn refused(case: impl AsRef<[u8]>, parts: &[&str]) {
    let folder = Folder::new();
    folder.write("case.toml", case);
    let ran = folder.run(&["verdict", "case.toml", "--out", "made"]);
    assert_eq!(ran.code, 2, "{}{}", ran.out, ran.err);
    assert_eq!(ran.out, "");
    for part in parts {
        assert!(ran.err.contains(part), "no `{part}` in\n{}", ran.err);
    }
    assert_eq!(folder.names(), ["case.toml"], "something was written");
}

fn with(from: &str, to: &str) -> String {
    assert!(GOOD.contains(from));
    GOOD.replace(from, to)
}

#[test]
fn keys_and_syntax() {
    refused(
        with("thickness =", "thicknes ="),
        &["case.toml:7:1", "thicknes", "help: did you mean `thickness`?"],
    );
    refused(with("[rim]\nkind = \"free\"\n", ""), &["rim"]);
    refused(with("\"2.1 mm\"", "\"2.1 mm"), &["case.toml:7"]);
    refused(with("kind = \"free\"", "kind = \"fre\""), &["case.toml:12:9", "did you mean"]);
    refused(with("title = \"Test\"", "title = 3"), &["case.toml:1:9"]);
}

#[test]
fn numbers_and_units() {
    refused(with("\"2.1 mm\"", "\"2.1\""), &["case.toml:7:14", "mm"]);
    refused(with("\"2.1 mm\"", "\"2.1 MPa\""), &["case.toml:7:18", "length"]);
    refused(with("\"2.1 mm\"", "\"-2.1 mm\""), &["case.toml:7:14"]);
    refused(with("\"2.1 mm\"", "\"inf mm\""), &["case.toml:7:14"]);
    refused(with("= 0.49", "= nan"), &["case.toml:10:17"]);
    refused(with("= 0.49", "= 0.6"), &["case.toml:10:17", "0.5"]);
    refused(with("= 0.49", "= -1"), &["case.toml:10:17", "-1"]);
    refused(with("1.2 MPa", "1.2 MPA"), &["case.toml:9:", "did you mean `MPa`"]);
    refused(with("\"25 mm\"", "\"25,0 mm\""), &["case.toml:4:"]);
}

#[test]
fn geometry() {
    refused(with("half_angle = \"60 ± 1 deg\"\n", ""), &["case.toml:2:2", "one more size", "add one of"]);
    refused(with("half_angle", "rise = \"10 mm\"\nhalf_angle"), &["case.toml:5:1"]);
    refused(with("half_angle = \"60 ± 1 deg\"", "rim_diameter = \"60 mm\""), &["case.toml:5:"]);
    refused(with("60 ± 1 deg", "190 deg"), &["case.toml:5:"]);
    refused(with("2.1 mm", "60 mm"), &["case.toml:7:"]);
    refused(with("half_angle", "hole_diameter = \"50 mm\"\nhalf_angle"), &["case.toml:5:"]);
}

#[test]
fn walls() {
    let list = "arc = [\"0 mm\", \"9 mm\", \"5 mm\"]\nthickness = [\"2 mm\", \"2 mm\", \"2 mm\"]";
    refused(with("thickness = \"2.1 mm\"", list), &["case.toml:7:"]);
    refused(with("thickness = \"2.1 mm\"", "table = \"none.csv\""), &["case.toml:7:", "none.csv"]);
}

#[test]
fn files() {
    refused("", &["case.toml:1:1", "empty"]);
    refused(b"title = \"\xff\xfe\"\n", &["case.toml:1:", "UTF-8"]);
    refused("# much\n".repeat(200_000), &["case.toml:1:1", "MiB"]);
    let folder = Folder::new();
    let ran = folder.run(&["verdict", "absent.toml"]);
    assert_eq!(ran.code, 2);
    assert!(ran.err.contains("absent.toml") && ran.err.contains("help:"));
    let ran = folder.run(&["verdict", "."]);
    assert_eq!(ran.code, 2, "{}", ran.err);
}

#[test]
fn all_problems_at_once() {
    let case =
        with("25 mm", "25 mn").replace("2.1 mm", "-2 mm").replace("0.49", "0.7").replace("free", "fixed");
    refused(case, &["case.toml:4:", "case.toml:7:", "case.toml:10:", "case.toml:12:", "4 problems"]);
}

/// Random damage to a valid file: an answer or findings, never a panic, never another exit code.
#[test]
fn damaged_files_never_panic() {
    let mut state = 7_u64;
    let mut roll = |n: usize| {
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as usize % n
    };
    let folder = Folder::new();
    let (mut answered, mut refused) = (0, 0);
    for _ in 0..120 {
        let mut bytes = GOOD.as_bytes().to_vec();
        for _ in 0..1 + roll(3) {
            let at = roll(bytes.len());
            match roll(4) {
                0 => bytes[at] = b"0123456789\"=.-[] #\xffe\n"[roll(20)],
                1 => drop(bytes.remove(at)),
                2 => bytes.insert(at, b"0123456789\"=.-[] #\xc2e\n"[roll(20)]),
                _ => bytes.truncate(at.max(1)),
            }
        }
        folder.write("case.toml", &bytes);
        let ran = folder.run(&["verdict", "case.toml"]);
        match ran.code {
            0 | 1 => answered += 1,
            2 => refused += 1,
            other => panic!("exit code {other}: {}", ran.err),
        }
    }
    assert!(answered > 5 && refused > 20, "{answered} {refused}");
}

/// A reader that goes away early is no failure.
#[test]
fn a_closed_pipe_is_quiet() {
    use std::process::{Command, Stdio};
    let folder = Folder::new();
    folder.write("case.toml", GOOD);
    let mut child = Command::new(env!("CARGO_BIN_EXE_calotte"))
        .args(["verdict", "case.toml", "--json"])
        .current_dir(&folder.0)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    let done = child.wait_with_output().unwrap();
    assert_eq!(String::from_utf8_lossy(&done.stderr), "");
    assert_eq!(done.status.code(), Some(0));
}
