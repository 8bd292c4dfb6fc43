//! What the pages claim about the worked cases holds.

mod common;

use common::{CASES, Folder, GOOD, MAP, Ran, json, root, text};

/// The README's first command runs, and the answer it shows is the one that is printed.
#[test]
fn readme_shows_the_real_answer() {
    let page = text("README.md");
    let commands: Vec<&str> = page
        .split("```sh\n")
        .nth(1)
        .unwrap()
        .lines()
        .take_while(|l| *l != "```")
        .map(|l| l.split('#').next().unwrap().trim())
        .collect();
    let [job, tests] = commands[..] else { panic!("two commands, not {commands:?}") };
    assert_eq!(tests, "cargo test --workspace");
    let arguments: Vec<&str> = job.strip_prefix("cargo run -- ").unwrap().split(' ').collect();
    let ran = Ran::of(&root(), &arguments);
    assert_eq!(ran.code, 0, "{}", ran.err);
    let lines = shown_and_printed(&page, 1, &ran.out);
    assert!(lines > 30, "{lines}");
}

/// Counts the lines of an excerpt (the n-th of a page); each must be printed, in this order.
#[track_caller]
#[allow(clippy::unwrap_used, reason = "a helper of tests")]
fn shown_and_printed(page: &str, n: usize, out: &str) -> usize {
    let shown = page.split("```text\n").nth(n).unwrap().split("\n```").next().unwrap();
    let mut rest = out.lines();
    let mut lines = 0;
    for line in shown.lines().filter(|l| !l.is_empty() && *l != "...") {
        assert!(rest.any(|l| l == line), "the page shows a line that is not printed here: {line}");
        lines += 1;
    }
    lines
}

/// The same for poke, release and map; the README names the commands of the first two, the page of cases the map's.
#[test]
fn readme_shows_a_real_poke_release_and_map() {
    let page = text("README.md");
    for (n, command) in [(2, "poke cases/key-dome/case.toml"), (3, "release cases/jumping-cap/case.toml")] {
        assert!(page.contains(&format!("`cargo run --release -- {command}`")));
        let ran = Ran::of(&root(), &command.split(' ').collect::<Vec<_>>());
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert!(shown_and_printed(&page, n, &ran.out) > 8);
    }
    let (name, options) = MAP;
    let case = format!("cases/{name}/case.toml");
    let arguments: Vec<&str> = ["map", &case].iter().chain(options).copied().collect();
    let command = format!("cargo run --release -- {} --out map\n", arguments.join(" "));
    assert!(text("cases/README.md").contains(&command), "no {command}");
    let ran = Ran::of(&root(), &arguments);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(shown_and_printed(&page, 4, &ran.out) > 8);
    for (n, command) in
        [(5, "heat cases/propagator-cutout/case.toml"), (6, "verdict cases/camp-bowl/case.toml")]
    {
        assert!(page.contains(&format!("`cargo run --release -- {command}`")));
        let ran = Ran::of(&root(), &command.split(' ').collect::<Vec<_>>());
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert!(shown_and_printed(&page, n, &ran.out) > 5);
    }
}

/// The page on memory shows the real answer, and its block for the case file is one that a case takes.
#[test]
fn the_page_on_memory_shows_the_real_answer() {
    let page = text("docs/memory.md");
    let command = "memory cases/relaxation.csv --accuracy 0.3%";
    assert!(page.contains(&format!("cargo run --release -- {command}\n")));
    let ran = Ran::of(&root(), &command.split(' ').collect::<Vec<_>>());
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(shown_and_printed(&page, 1, &ran.out) > 20);
    assert!(text("cases/relaxation.csv").starts_with("# Invented"));
    let folder = Folder::new();
    folder.write("case.toml", format!("{GOOD}\n{}", &ran.out[ran.out.find("[memory]").unwrap()..]));
    folder.write("relaxation.csv", text("cases/relaxation.csv"));
    let with_table = GOOD.replace("1.2 MPa", "1.29 MPa") + "[memory]\ntable = \"relaxation.csv\"\n";
    folder.write("table.toml", with_table);
    for case in ["case.toml", "table.toml"] {
        let ran = folder.run(&["verdict", case]);
        assert_eq!((ran.code, ran.err.as_str()), (0, ""), "{case}");
    }
    let answer = folder.run(&["verdict", "case.toml", "--json"]);
    let without = folder.write("plain.toml", GOOD).run(&["verdict", "plain.toml", "--json"]);
    let margin = |out: &str| common::parse(out)["margin"]["thickness_ratio"].clone();
    assert_eq!(margin(&answer.out), margin(&without.out), "memory moves no elastic margin");
}

/// The page on releases shows real answers; its second command also writes what the page says it writes.
#[test]
fn the_page_on_releases_shows_real_answers() {
    let page = text("docs/release.md");
    let commands: Vec<Vec<&str>> = page
        .split("```sh\n")
        .skip(1)
        .map(|block| block.split('\n').next().unwrap())
        .map(|line| line.strip_prefix("cargo run --release -- ").unwrap().split(' ').collect())
        .collect();
    let [first, second] = &commands[..] else { panic!("two commands, not {commands:?}") };
    let ran = Ran::of(&root(), first);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    assert!(shown_and_printed(&page, 1, &ran.out) > 40);
    let folder = Folder::new();
    let (out, options) = second.split_last().unwrap();
    assert_eq!(options.last(), Some(&"--out"), "the folder `{out}` comes last");
    let mut arguments = options.to_vec();
    arguments.push(folder.0.to_str().unwrap());
    let ran = Ran::of(&root(), &arguments);
    assert!(ran.code == 0 && (ran.err.is_empty() || ran.err.starts_with("no MP4: ")), "{}", ran.err);
    assert!(shown_and_printed(&page, 2, &ran.out) > 20);
    let shown = page.split("\n## Tables, figures, films\n").nth(1).unwrap().split("\n## ").next().unwrap();
    let told: Vec<&str> = shown.split('`').skip(1).step_by(2).collect();
    for name in folder.names() {
        let (stem, kind) = name.split_once('.').unwrap();
        let whole = matches!(name.as_str(), "release.gif" | "release.apng" | "release.mp4");
        let known = if whole { told.contains(&name.as_str()) } else { told.contains(&stem) };
        assert!(known || name == "answer.json", "the page does not tell of {name} ({kind})");
    }
    for (table, columns) in [("history", 15), ("wait", 4), ("draws", 3)] {
        let csv = std::fs::read_to_string(folder.0.join(format!("{table}.csv"))).unwrap();
        let names: Vec<&str> = csv.lines().find(|l| !l.starts_with('#')).unwrap().split(',').collect();
        let row =
            shown.lines().find(|l| l.starts_with(&format!("| `{table}` |")) && l.contains("_s`")).unwrap();
        let last = row.trim_end_matches(" |").rsplit(" | ").next().unwrap();
        let listed: Vec<&str> = last.split(", ").map(|c| c.trim_matches('`')).collect();
        assert!(names == listed && names.len() == columns, "{table}: {names:?}, not {listed:?}");
    }
}

/// The table of cases names every case, its verdict and its margin.
#[test]
fn table_of_cases_is_true() {
    let page = text("cases/README.md");
    let rows: Vec<Vec<&str>> = page
        .lines()
        .filter(|l| l.starts_with("| ["))
        .map(|l| l.split('|').map(str::trim).collect())
        .collect();
    let folders = std::fs::read_dir(root().join("cases")).unwrap();
    let folders: Vec<String> = folders
        .map(|f| f.unwrap())
        .filter(|f| f.path().join("case.toml").exists())
        .map(|f| f.file_name().into_string().unwrap())
        .collect();
    assert_eq!(rows.len(), folders.len());
    for name in &folders {
        let (plain, page) = (format!("[{name}]({name}/case.toml)"), format!("[{name}]({name}/README.md)"));
        assert!(rows.iter().any(|r| r[1] == plain || r[1] == page), "no row for {name}");
    }
    for (name, _) in CASES {
        // Devices have a table of their own, and pages that a test of theirs holds.
        let link = format!("[{name}]({name}/case.toml)");
        let Some(row) = rows.iter().find(|r| r[1] == link) else { continue };
        let answer = json(name);
        assert_eq!(row[3], answer["verdict"].as_str().unwrap(), "{name}");
        let margin = answer["margin"]["thickness_ratio"].as_f64().map_or("–".into(), |x| format!("{x:.2}"));
        assert_eq!(row[4], margin, "{name}");
        assert!(answer["title"].as_str().unwrap().contains("invented"), "{name} hides that it is invented");
    }
}

/// The twins lie on both sides of the threshold, by more than their tolerances.
#[test]
fn twins_straddle_the_threshold() {
    let (a, b, c) =
        (json("silicone-cap-stays"), json("silicone-cap-thicker"), json("silicone-cap-shallower"));
    let spread = |v: &serde_json::Value, key: &str| v["margin"]["spread"][key].as_f64().unwrap();
    assert!(spread(&a, "thickness_ratio_high") < 1.0);
    assert!(spread(&b, "thickness_ratio_low") > 1.0);
    assert!(spread(&c, "thickness_ratio_low") > 1.0);
    let part = |v: &serde_json::Value, key: &str| v["part"][key].as_f64().unwrap();
    assert!((part(&b, "thickness_m") / part(&a, "thickness_m") - 1.1).abs() < 1e-12, "10 % thicker");
    assert!(
        (part(&b, "sphere_radius_m") / part(&a, "sphere_radius_m") - 1.0).abs() < 1e-12,
        "same mid-surface"
    );
    assert!((part(&b, "half_angle_rad") / part(&a, "half_angle_rad") - 1.0).abs() < 1e-12, "same depth");
    assert!((part(&c, "thickness_m") / part(&a, "thickness_m") - 1.0).abs() < 1e-12, "same thickness");
    assert!(part(&c, "half_angle_rad") < part(&a, "half_angle_rad"), "shallower");
}

/// The recipe in the measured case's comment makes its points.
#[test]
#[allow(
    clippy::disallowed_methods,
    reason = "the points are rounded to 0.001; the last bits of sin and cos do not show"
)]
fn measured_points_follow_their_recipe() {
    let mut x = 20_261_125_u32;
    let mut noise = || {
        let sum: f64 = (0..12)
            .map(|_| {
                x = x.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                f64::from(x) / 4_294_967_296.0
            })
            .sum();
        0.02 * (sum - 6.0)
    };
    let kept = text("cases/measured-cap/profile.csv");
    let mut rows = kept.lines();
    assert_eq!(rows.next(), Some("r_mm,z_mm"));
    for i in 0..61 {
        let t = (62.0 * f64::from(i) / 60.0).to_radians();
        let made = [26.0 * t.sin() + noise(), 22.0 * (1.0 - t.cos()) + noise()];
        let row: Vec<f64> = rows.next().unwrap().split(',').map(|x| x.parse().unwrap()).collect();
        assert!((0..2).all(|k| (row[k] - made[k]).abs() < 0.000_501), "point {i}: {row:?}, not {made:?}");
    }
    assert_eq!(rows.next(), None);
}
