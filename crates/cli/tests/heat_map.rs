//! `calotte heat --map`, run: tables, figure, refusals.

mod common;

use common::{Folder, text};

/// A map's tables and figure are written, its points lie in the ranges, and ranges that make no sense are refused at their option.
#[test]
fn a_map_of_heat_is_written_or_refused() {
    let folder = Folder::new();
    folder.write("disc.toml", text("crates/specimen/src/case/template_disc.toml"));
    let ran = folder.run(&["heat", "disc.toml", "--map", "--grid", "5x4", "--out", "made"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("Map over depth and thickness"), "{}", ran.out);
    let read = |name: &str| std::fs::read_to_string(folder.0.join("made").join(name)).unwrap();
    let rows = |name: &str| -> Vec<String> {
        read(name).lines().filter(|l| !l.starts_with('#')).map(str::to_owned).collect()
    };
    let grid = rows("map.csv");
    assert_eq!(grid[0], "depth,thickness_m,state,trip_K,reset_K,delta_K");
    assert_eq!(grid.len(), 21);
    // Shallow and thick parts do not trip; the part itself, in the middle column, does.
    assert!(grid.iter().any(|r| r.contains(",none,")) && grid.iter().any(|r| r.contains(",trips,")));
    let curves = rows("curves.csv");
    assert_eq!(curves[0], "family,level_K,curve,depth,thickness_m");
    for r in &curves[1..] {
        let h: f64 = r.rsplit(',').next().unwrap().parse().unwrap();
        assert!((0.6 * 0.164e-3 - 1e-12..=1.4 * 0.164e-3 + 1e-12).contains(&h), "{r}");
    }
    assert!(
        curves.iter().any(|r| r.starts_with("delta,"))
            && read("heat-map.svg").contains("no trip in the range")
    );
    for (more, told) in [
        (&["--map", "--depth", "5deg..4deg"][..], "--depth"),
        (&["--map", "--depth", "0.8..1.2"][..], "--depth"),
        (&["--map", "--thickness", "1..2"][..], "--thickness"),
        (&["--map", "--grid", "1x5"][..], "--grid"),
        (&["--depth", "4deg..5deg"][..], "--map"),
    ] {
        let ran = folder.run(&[&["heat", "disc.toml", "--out", "none"], more].concat());
        assert!(ran.code == 2 && ran.err.contains(told), "{more:?}: {} {}", ran.code, ran.err);
        assert!(ran.out.is_empty() && !folder.0.join("none").exists());
    }
}
