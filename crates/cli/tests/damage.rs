//! Random damage to valid files: an answer or findings, never a panic, never another exit code, nothing written.

mod common;

use common::{Dice, Folder, GOOD, bytes};

/// What the random edits put in.
const SPICE: [&[u8]; 24] = [
    b"0",
    b"1",
    b"9",
    b".",
    b"-",
    b"e",
    b"\"",
    b"'",
    b"=",
    b"[",
    b"]",
    b"{",
    b"#",
    b",",
    b" ",
    b"\n",
    b"\t",
    b"\0",
    b"\xff",
    b"\xc2",
    "±".as_bytes(),
    b"1e308",
    b"nan",
    b"[[",
];

fn damage(bytes: &mut Vec<u8>, dice: &mut Dice) {
    for _ in 0..1 + dice.roll(2) {
        if bytes.is_empty() {
            return;
        }
        let at = dice.roll(bytes.len());
        let spice = SPICE[dice.roll(SPICE.len())];
        match dice.roll(12) {
            0..=4 => drop(bytes.splice(at..at + 1, spice.iter().copied())),
            5..=7 => drop(bytes.splice(at..at, spice.iter().copied())),
            8 | 9 => drop(bytes.remove(at)),
            10 => {
                // A line twice, or a line gone.
                let text = bytes.clone();
                let mut lines: Vec<&[u8]> = text.split_inclusive(|b| *b == b'\n').collect();
                let line = dice.roll(lines.len());
                if dice.roll(2) == 0 {
                    lines.insert(line, lines[line]);
                } else {
                    lines.remove(line);
                }
                *bytes = lines.concat();
            }
            _ => bytes.truncate(at),
        }
    }
}

/// Runs a case of files, one of them damaged, and counts the answered and the refused.
#[track_caller]
fn torture(files: &[(&str, Vec<u8>)], victim: usize, rounds: usize, seed: u64) -> (usize, usize) {
    let folder = Folder::new();
    let mut names: Vec<&str> = files.iter().map(|f| f.0).collect();
    names.sort_unstable();
    for (name, bytes) in files {
        folder.write(name, bytes);
    }
    let mut dice = Dice(seed);
    let (mut answered, mut refused) = (0, 0);
    for round in 0..rounds {
        let mut bytes = files[victim].1.clone();
        damage(&mut bytes, &mut dice);
        folder.write(files[victim].0, &bytes);
        let ran = folder.run(&["verdict", "case.toml"]);
        let shown = String::from_utf8_lossy(&bytes);
        match ran.code {
            0 | 1 => answered += 1,
            2 => {
                refused += 1;
                assert!(ran.out.is_empty(), "round {round}: refused, yet answered\n{shown}");
                assert!(ran.err.contains("problem"), "round {round}: refused without a word\n{shown}");
            }
            other => panic!("round {round}: exit code {other}\n{}\n{shown}", ran.err),
        }
        assert!(!ran.out.contains("NaN"), "round {round}: not a number in the answer\n{shown}");
        assert_eq!(folder.names(), names, "round {round}: something was written");
    }
    (answered, refused)
}

#[test]
fn damaged_case_files() {
    // Half of the rounds on a bare file, half on one with comments, where more survives.
    let (few, refused) = torture(&[("case.toml", GOOD.as_bytes().to_vec())], 0, 150, 7);
    assert!(few > 0 && refused > 100, "{few} answered, {refused} refused");
    let (more, refused) = torture(&[("case.toml", bytes("cases/silicone-cap-stays/case.toml"))], 0, 150, 8);
    assert!(more > few && refused > 50, "{more} answered, {refused} refused");
}

#[test]
fn damaged_tables() {
    let files = [
        ("case.toml", bytes("cases/wall-table/case.toml")),
        ("wall.csv", bytes("cases/wall-table/wall.csv")),
    ];
    let (answered, refused) = torture(&files, 1, 100, 11);
    assert!(answered > 5 && refused > 20, "{answered} answered, {refused} refused");
}

#[test]
fn damaged_profiles() {
    let files = [
        ("case.toml", bytes("cases/measured-cap/case.toml")),
        ("profile.csv", bytes("cases/measured-cap/profile.csv")),
    ];
    let (answered, refused) = torture(&files, 1, 60, 13);
    assert!(answered > 5 && refused > 10, "{answered} answered, {refused} refused");
}

#[test]
fn damaged_memories() {
    let tables = "[memory]\ntable = \"relaxation.csv\"\nshift = \"wlf\"\nc1 = 17.44\nc2 = \"51.6 K\"\nreference = \"23 degC\"\n\
        [hold]\nshape = \"flat\"\ntime = \"60 ± 1 s\"\nlet_go = \"ramp\"\nramp = \"50 ms\"\n\
        [surroundings]\ntemperature = \"30 ± 2 degC\"\ngravity = \"1 g0\"\nair_density = \"1.2 kg/m^3\"\ndrag = 1\n";
    let files = [
        ("case.toml", format!("{GOOD}{tables}").into_bytes()),
        ("relaxation.csv", bytes("cases/relaxation.csv")),
    ];
    let (answered, refused) = torture(&files, 0, 100, 17);
    assert!(answered > 0 && refused > 50, "{answered} answered, {refused} refused");
    let (answered, refused) = torture(&files, 1, 100, 19);
    assert!(answered > 5 && refused > 20, "{answered} answered, {refused} refused");
}
