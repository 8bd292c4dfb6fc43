//! `calotte sweep`, run: bad plans, chunks and wholes bit by bit, kills, folders of other plans, damage, a full disk, scripts.

mod common;

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use common::{Folder, GOOD, Ran, documented, key_names, parse};

const PLAN: &str = "case = \"case.toml\"\nquestions = [\"threshold\"]\nchunk = 10\ndesign = \"latin hypercube\"\npoints = 45\n\
[vary.\"wall.thickness\"]\nfrom = \"1 mm\"\nto = \"4 mm\"\n[vary.\"shape.half_angle\"]\nfrom = \"40 deg\"\nto = \"70 deg\"\n";

fn folder() -> Folder {
    let folder = Folder::new();
    folder.write("case.toml", GOOD).write("plan.toml", PLAN);
    folder
}

fn ask(folder: &Folder, arguments: &[&str]) -> Ran {
    folder.run(&[&["sweep", "plan.toml"], arguments].concat())
}

#[allow(clippy::unwrap_used, reason = "a helper of tests")]
fn shards(out: &Path) -> Vec<(String, Vec<u8>)> {
    let mut all: Vec<_> = fs::read_dir(out)
        .unwrap()
        .map(|e| e.unwrap())
        .filter(|e| e.file_name() != "_sweep")
        .map(|e| (e.file_name().into_string().unwrap(), fs::read(e.path()).unwrap()))
        .collect();
    all.sort();
    all
}

#[test]
fn bad_plans_and_options_are_shown_at_their_place() {
    let folder = folder();
    for (old, new, told) in [
        ("1 mm", "1 s", "bad.toml:7:"),
        ("wall.thickness", "wall.thikness", "did you mean `wall.thickness`?"),
        ("points = 45\n", "", "the plan has no `points`"),
        ("case.toml", "none.toml", "`none.toml` cannot be read"),
    ] {
        folder.write("bad.toml", PLAN.replacen(old, new, 1));
        let ran = folder.run(&["sweep", "bad.toml", "--out", "none"]);
        assert!(ran.code == 2 && ran.out.is_empty(), "{}", ran.out);
        assert!(ran.err.contains(told), "{new}: {}", ran.err);
    }
    // What is wrong with the case is shown in the case.
    folder
        .write("broken.toml", GOOD.replace("25 mm", "25 s"))
        .write("bad.toml", PLAN.replace("case.toml", "broken.toml"));
    let ran = folder.run(&["sweep", "bad.toml", "--out", "none"]);
    assert!(ran.code == 2 && ran.err.contains("broken.toml:4:"), "{}", ran.err);
    for (arguments, told) in [
        (&["--out", "none", "--chunks", "5"][..], "the chunks are 0 to 4"),
        (&["--out", "none", "--chunks", "3-1"], "backwards"),
        (&["--points", "45"], "0 to 44"),
        (&["--out", "none", "--csv", "none/all.csv"], "read as one of them"),
        (&["--out", "none", "--slurm", "--time", "5 mm", "--write-only"], "--time"),
        (&["--out", "none", "--slurm", "--chunks", "1"], "cannot be used with"),
        (&[], "--out"),
    ] {
        let ran = ask(&folder, arguments);
        assert!(ran.code == 2 && ran.err.contains(told), "{arguments:?}: {} {}", ran.code, ran.err);
    }
    let ran = folder.run(&["sweep", "nowhere.toml", "--out", "none"]);
    assert!(ran.code == 2 && ran.err.contains("nowhere.toml"), "{}", ran.err);
}

/// Chunks computed one by one, on any number of threads, from the plan or from its copy, are those of a whole run; the manifest and
/// the CSV hold them all.
#[test]
fn chunks_are_those_of_a_whole_run_bit_by_bit() {
    let folder = folder();
    let whole = ask(&folder, &["--out", "whole", "--threads", "2", "--csv", "all.csv"]);
    assert_eq!(whole.code, 0, "{}", whole.err);
    assert!(whole.out.contains("Complete: 45 points in 5 chunks"), "{}", whole.out);
    let one = ask(&folder, &["--out", "one", "--threads", "1", "--json"]);
    assert_eq!(one.code, 0, "{}", one.err);
    for list in ["4,1-2", "0", "3", "2-3"] {
        // From the second on from the copy alone, as on a node.
        let plan = if list == "4,1-2" { "plan.toml" } else { "parts/_sweep/plan.toml" };
        let ran = folder.run(&["sweep", plan, "--out", "parts", "--chunks", list, "--threads", "2"]);
        assert_eq!(ran.code, 0, "{}", ran.err);
    }
    let there = ask(&folder, &["--out", "parts", "--chunks", "0-4"]);
    assert!(there.out.contains("no chunk computed"), "{}", there.out);
    let all = shards(&folder.0.join("whole"));
    assert_eq!(
        all.iter().map(|s| s.0.as_str()).collect::<Vec<_>>()[..2],
        ["chunk-000000.parquet", "chunk-000001.parquet"]
    );
    assert_eq!(all.len(), 5);
    for other in ["one", "parts"] {
        assert_eq!(shards(&folder.0.join(other)), all, "{other}");
    }
    let manifest =
        |out: &str| parse(&fs::read_to_string(folder.0.join(out).join("_sweep/manifest.json")).unwrap());
    assert_eq!(manifest("parts")["complete"], false);
    let gathered = ask(&folder, &["--out", "parts", "--gather"]);
    assert_eq!(gathered.code, 0, "{}", gathered.err);
    assert_eq!(manifest("parts"), manifest("whole"));
    let chunks = manifest("whole")["chunks"].as_array().unwrap().clone();
    assert!(chunks.len() == 5 && chunks[4]["rows"] == 5 && chunks[4]["first_point"] == 40);
    let csv = fs::read_to_string(folder.0.join("all.csv")).unwrap();
    let rows: Vec<&str> = csv.lines().filter(|l| !l.starts_with('#')).collect();
    assert_eq!(
        rows[0],
        "point,wall.thickness_m,shape.half_angle_rad,thickness_ratio,threshold_thickness_m,certified,note"
    );
    assert!(
        rows.len() == 46 && rows[45].starts_with("44,") && rows[1..].iter().all(|r| r.ends_with(",true,")),
        "{}",
        rows[1]
    );
    // Numbers of a point are those of its row.
    let points = ask(&folder, &["--points", "17,44", "--json"]);
    let v = parse(&points.out);
    let value = v["points"][0]["values"][0]["value_si"].as_f64().unwrap();
    assert!(rows[18].starts_with(&format!("17,{value:?},")), "{} {value:?}", rows[18]);
    assert!(ask(&folder, &["--points", "0"]).out.contains("wall.thickness"));
}

/// A kill loses the chunk in work; the same command goes on and ends in the same bytes. Another plan is refused.
#[test]
fn a_killed_sweep_goes_on_and_other_plans_are_refused() {
    let folder = folder();
    // Verdicts take long enough to be killed among them.
    let plan = PLAN
        .replace("threshold", "verdict")
        .replace("chunk = 10", "chunk = 3")
        .replace("points = 45", "points = 24");
    folder.write("plan.toml", &plan);
    let mut running = Command::new(env!("CARGO_BIN_EXE_calotte"))
        .args(["sweep", "plan.toml", "--out", "cut", "--threads", "1"])
        .current_dir(&folder.0)
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap();
    for _ in 0..2000 {
        if folder.0.join("cut/chunk-000001.parquet").exists() {
            break;
        }
        std::thread::sleep(Duration::from_millis(5));
    }
    running.kill().unwrap();
    running.wait().unwrap();
    let before = shards(&folder.0.join("cut"));
    assert!((2..8).contains(&before.len()), "{} chunks when it was killed", before.len());
    let stamp = |name: &str| fs::metadata(folder.0.join("cut").join(name)).unwrap().modified().unwrap();
    let first = stamp("chunk-000000.parquet");
    assert_eq!(ask(&folder, &["--out", "whole"]).code, 0);
    let ran = ask(&folder, &["--out", "cut"]);
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(shards(&folder.0.join("cut")), shards(&folder.0.join("whole")));
    assert_eq!(stamp("chunk-000000.parquet"), first, "what was finished is not computed again");
    // Another plan, with and without its manifest.
    folder.write("plan.toml", plan.replace("4 mm", "5 mm"));
    for mode in [&["--out", "cut"][..], &["--out", "cut", "--gather"], &["--out", "cut", "--chunks", "0"]] {
        let ran = ask(&folder, mode);
        assert!(ran.code == 2 && ran.err.contains("holds the results of another plan"), "{}", ran.err);
        assert!(ran.err.contains("choose another --out"));
    }
    fs::remove_file(folder.0.join("cut/_sweep/manifest.json")).unwrap();
    let ran = ask(&folder, &["--out", "cut", "--gather"]);
    assert!(
        ran.code == 2 && ran.err.contains("chunk-000000.parquet belongs to another sweep"),
        "{}",
        ran.err
    );
}

/// A damaged chunk is set aside, told of and computed again; the others are kept.
#[test]
fn damaged_chunks_are_set_aside() {
    let folder = folder();
    assert_eq!(ask(&folder, &["--out", "out"]).code, 0);
    let (out, all) = (folder.0.join("out"), shards(&folder.0.join("out")));
    let (cut, gone, flipped) = (out.join(&all[1].0), out.join(&all[3].0), out.join(&all[4].0));
    fs::write(&cut, &all[1].1[..100]).unwrap();
    fs::remove_file(&gone).unwrap();
    let mut bytes = all[4].1.clone();
    let middle = bytes.len() / 3;
    bytes[middle] ^= 1;
    fs::write(&flipped, bytes).unwrap();
    let ran = ask(&folder, &["--out", "out", "--gather", "--json"]);
    assert_eq!(ran.code, 1, "{}", ran.err);
    let v = parse(&ran.out);
    assert_eq!(
        (v["complete"].as_bool(), v["missing_chunks"].to_string()),
        (Some(false), "[1,3,4]".to_owned())
    );
    assert_eq!(v["damaged"].as_array().unwrap().len(), 2);
    assert!(ran.err.contains("chunk 1 was damaged and is set aside"), "{}", ran.err);
    assert_eq!(fs::read_dir(out.join("_sweep/set-aside")).unwrap().count(), 2);
    let told = ask(&folder, &["--out", "out", "--gather"]);
    assert!(
        told.code == 1 && told.out.contains("missing chunks") && told.out.contains("1,3-4"),
        "{}",
        told.out
    );
    assert_eq!(ask(&folder, &["--out", "out"]).code, 0);
    assert_eq!(shards(&out), all);
}

/// Where no more can be written, the chunk in work is lost with a word, and the others stay: files are held to few bytes here, as a
/// full disk would.
#[cfg(unix)]
#[test]
fn a_full_disk_is_told_and_finished_chunks_stay() {
    let folder = folder();
    assert_eq!(ask(&folder, &["--out", "out", "--chunks", "0"]).code, 0);
    let kept = fs::read(folder.0.join("out/chunk-000000.parquet")).unwrap();
    let script = "trap '' XFSZ; ulimit -f 2; exec \"$0\" sweep plan.toml --out out";
    let ran = Command::new("sh")
        .args(["-c", script, env!("CARGO_BIN_EXE_calotte")])
        .current_dir(&folder.0)
        .stdin(Stdio::null())
        .output()
        .unwrap();
    let err = String::from_utf8(ran.stderr).unwrap();
    assert_eq!(ran.status.code(), Some(2), "{err}");
    // Whichever is finished first: several threads work on neighbouring chunks.
    assert!(err.contains("_sweep/tmp/chunk-00000") && err.contains("finished chunks are kept"), "{err}");
    assert_eq!(shards(&folder.0.join("out")), [("chunk-000000.parquet".to_owned(), kept)]);
    assert_eq!(ask(&folder, &["--out", "out"]).code, 0);
}

/// The script for a cluster: written alone, tasks of several chunks, what is missing alone; without Slurm a clear word.
#[test]
fn scripts_for_a_cluster() {
    let folder = folder();
    assert_eq!(ask(&folder, &["--out", "out", "--chunks", "1"]).code, 0);
    let more = [
        "--out",
        "out",
        "--slurm",
        "--array-max",
        "3",
        "--simultaneous",
        "2",
        "--time",
        "90 min",
        "--sbatch",
        "--mem=1G",
    ];
    let ran = ask(&folder, &[&more[..], &["--write-only"]].concat());
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.out.contains("4 missing chunks in 2 tasks") && ran.out.contains("sbatch out/_sweep/job.sh"),
        "{}",
        ran.out
    );
    let script = fs::read_to_string(folder.0.join("out/_sweep/job.sh")).unwrap();
    for line in [
        "#SBATCH --array=0-1%2",
        "#SBATCH --time=0-01:30:00",
        "#SBATCH --mem=1G",
        "#SBATCH --requeue",
        "#SBATCH --cpus-per-task=1",
    ] {
        assert!(script.lines().any(|l| l == line), "{line}\n{script}");
    }
    assert_eq!(fs::read_to_string(folder.0.join("out/_sweep/tasks-001.txt")).unwrap(), "0,2\n3-4\n");
    // The script does what it says where Slurm's part is played by the shell.
    let run = |task: &str| {
        let ran = Command::new("bash")
            .arg("out/_sweep/job.sh")
            .env("SLURM_ARRAY_TASK_ID", task)
            .current_dir(&folder.0)
            .output()
            .unwrap();
        assert_eq!(ran.status.code(), Some(0), "{}", String::from_utf8_lossy(&ran.stderr));
    };
    run("0");
    run("1");
    let done = ask(&folder, &[&more[..], &["--json"]].concat());
    assert_eq!(parse(&done.out)["submitted_chunks"], 0, "{} {}", done.out, done.err);
    assert_eq!(ask(&folder, &["--out", "out", "--gather"]).code, 0);
    // No sbatch to be found.
    let ran = Command::new(env!("CARGO_BIN_EXE_calotte"))
        .args(["sweep", "plan.toml", "--out", "other", "--slurm"])
        .env("PATH", "/nonexistent")
        .current_dir(&folder.0)
        .output()
        .unwrap();
    let err = String::from_utf8(ran.stderr).unwrap();
    assert!(
        ran.status.code() == Some(2) && err.contains("no `sbatch` here") && err.contains("--write-only"),
        "{err}"
    );
}

#[test]
fn keys_of_a_sweep_are_those_of_its_page() {
    let folder = folder();
    let mut seen = BTreeSet::new();
    let whole = ask(&folder, &["--out", "out", "--json"]);
    fs::write(folder.0.join("out/chunk-000000.parquet"), b"no").unwrap();
    let answers: Vec<serde_json::Value> = [
        whole,
        ask(&folder, &["--out", "out", "--gather", "--json"]),
        ask(&folder, &["--out", "out", "--chunks", "0", "--json"]),
        ask(&folder, &["--points", "3", "--json"]),
        ask(&folder, &["--out", "out2", "--slurm", "--write-only", "--json"]),
    ]
    .iter()
    .map(|ran| parse(&ran.out))
    .chain([parse(&fs::read_to_string(folder.0.join("out/_sweep/manifest.json")).unwrap())])
    .collect();
    answers.iter().for_each(|v| key_names(v, &["provenance"], &mut seen));
    let written: BTreeSet<String> = seen.into_iter().map(str::to_owned).collect();
    assert_eq!(documented("docs/sweep.md", &["null"]), written, "docs/sweep.md (left), answers (right)");
}

/// The points of a sweep over a map: every one that is there, as computed, on the right side of the curve that the map follows by
/// itself.
#[test]
fn a_map_takes_a_sweep() {
    let folder = folder();
    assert_eq!(ask(&folder, &["--out", "swept"]).code, 0);
    let ran = folder.run(&["map", "--sweep", "swept", "--json", "--out", "mapped"]);
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let map = parse(&ran.out);
    let keys: Vec<_> = (0..2).map(|i| map["axes"][i]["key"].as_str().unwrap().to_owned()).collect();
    assert_eq!(keys, ["shape.half_angle", "wall.thickness"]);
    assert_eq!(map["axes"][1]["low_si"].as_f64(), Some(1e-3));
    let points = &map["points"];
    let column = |of: &serde_json::Value, key: &str| -> Vec<f64> {
        of[key].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect()
    };
    let (x, y, ratio) = (column(points, "x_si"), column(points, "y_si"), column(points, "thickness_ratio"));
    assert_eq!((x.len(), points["planned"].as_u64()), (45, Some(45)));
    // The threshold of the map, between its points, against h* of every point of the sweep.
    let curve = &map["threshold"][0];
    let (cx, cy) = (column(curve, "x_si"), column(curve, "y_si"));
    let mut compared = 0;
    for k in 0..45 {
        let verdict = points["verdicts"][k].as_str().unwrap();
        assert_eq!(verdict, if ratio[k] < 1.0 { "stays" } else { "returns" });
        let Some(i) = (1..cx.len()).find(|i| (cx[i - 1] - x[k]) * (cx[*i] - x[k]) <= 0.0) else { continue };
        let share = (x[k] - cx[i - 1]) / (cx[i] - cx[i - 1]);
        let threshold = cy[i - 1] + share * (cy[i] - cy[i - 1]);
        // A chord of the curve lies off it by a few thousandths.
        assert!((y[k] / threshold / ratio[k] - 1.0).abs() < 5e-3, "{k}: {} {}", y[k] / threshold, ratio[k]);
        compared += 1;
    }
    assert!(compared > 35, "{compared}");
    let svg = fs::read_to_string(folder.0.join("mapped/map.svg")).unwrap();
    let stays = points["verdicts"].as_array().unwrap().iter().filter(|v| *v == "stays").count();
    assert_eq!(svg.matches("swept-stays").count(), stays);

    // A missing chunk is told, a damaged one refused.
    fs::remove_file(folder.0.join("swept/chunk-000001.parquet")).unwrap();
    let ran = folder.run(&["map", "--sweep", "swept"]);
    let said = ran.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        ran.code == 0 && said.contains("points 35: ") && said.contains("10 of the plan are missing"),
        "{said}"
    );
    fs::write(folder.0.join("swept/chunk-000001.parquet"), "spoilt").unwrap();
    let ran = folder.run(&["map", "--sweep", "swept"]);
    assert!(
        ran.code == 2 && ran.err.contains("chunk-000001.parquet") && ran.err.contains("--gather"),
        "{}",
        ran.err
    );
    // Axes that the sweep does not vary, too few numbers, other questions, no sweep at all.
    let ran = folder.run(&["map", "--sweep", "swept", "--x", "depth"]);
    assert!(ran.code == 2 && ran.err.contains("does not vary `depth`"), "{}", ran.err);
    let one = PLAN.split("[vary.\"shape").next().unwrap();
    for (plan, told) in [
        (one.to_owned(), "the sweep varies 1: wall.thickness"),
        (PLAN.replace("threshold", "poke"), "neither for the threshold nor for the verdict"),
    ] {
        folder.write("plan.toml", plan);
        assert_eq!(ask(&folder, &["--out", "other", "--chunks", "0"]).code, 0);
        let ran = folder.run(&["map", "--sweep", "other"]);
        assert!(ran.code == 2 && ran.err.contains(told), "{}", ran.err);
        fs::remove_dir_all(folder.0.join("other")).unwrap();
    }
    let ran = folder.run(&["map", "--sweep", "none"]);
    assert!(ran.code == 2 && ran.err.contains("plan.toml"), "{}", ran.err);
    let ran = folder.run(&["map", "case.toml", "--sweep", "swept"]);
    assert!(ran.code == 2 && ran.err.contains("cannot be used with"), "{}", ran.err);
}
