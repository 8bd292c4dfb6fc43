//! The load of a case: what is read, what is refused, and what changed numbers make of it.

use proptest::prelude::*;

use super::tests::{CAP, PROFILE, clean, nothing, profile, with_files};
use super::tests_findings::{check_one, lines, one};
use super::*;
use crate::{Control, LoadKind, Rim, Start};

/// Line 14 starts the table, line 15 holds its kind.
pub(super) const POKED: &str = r#"title = "Test cap"
[shape]
kind = "cap"
radius = "25 mm"
half_angle = "60 ± 1 deg"
[wall]
thickness = "2.10 ± 0.05 mm"
[material]
youngs_modulus = "1.2 MPa ± 10 %"
poisson_ratio = 0.49
density = "1080 kg/m^3"
[rim]
kind = "ring"
[load]
kind = "ball"
radius = "5.0 ± 0.1 mm"
from = "inverted"
control = "displacement"
weight = "-1.00 ± 0.01 g0"
stop = "12 mm"
reach = "15 ± 1 mm"
"#;

const HOLE: &str = "hole_diameter = \"8 mm\"\n[wall]";

/// The cap with this rim and this load.
fn poked(rim: &str, load: &str) -> String {
    CAP.replace("kind = \"free\"", &format!("kind = {rim}")) + "[load]\n" + load
}

fn ring(load: &str) -> String {
    poked("\"ring\"", load)
}

fn holed(load: &str) -> String {
    ring(load).replace("[wall]", HOLE)
}

fn load_of(text: &str) -> Load {
    *clean(text).load().unwrap()
}

fn index(case: &Case, key: &str) -> usize {
    case.inputs().iter().position(|i| i.key == key).unwrap()
}

#[test]
fn without_a_table_there_is_no_load() {
    let case = clean(CAP);
    assert_eq!(case.load(), None);
    assert_eq!(case.changed(&[], None).unwrap(), (case.part().clone(), Load::default()));
}

#[test]
fn a_whole_table() {
    let case = clean(POKED);
    let expected = Load {
        kind: LoadKind::Ball { radius: 0.005 },
        from: Start::Inverted,
        control: Control::Displacement,
        stop: Some(0.012),
        reach: Some(0.015),
        gravity: -9.80665,
    };
    assert_eq!(case.load(), Some(&expected));
    let keys: Vec<&str> = case.inputs().iter().skip(6).map(|i| i.key.as_str()).collect();
    assert_eq!(keys, ["load.radius", "load.weight", "load.stop", "load.reach"]);
    let shown: Vec<String> = case.inputs().iter().skip(6).map(Input::to_string).collect();
    assert_eq!(shown, ["5.00 ± 0.10 mm", "-1.000 ± 0.010 g0", "12 mm", "15.0 ± 1.0 mm"]);
}

#[test]
fn every_kind() {
    let pusher = |bonded, edge| LoadKind::Pusher { radius: 0.005, bonded, edge };
    for (rim, table, kind) in [
        ("ring", "kind = \"pole\"", LoadKind::Pole),
        ("table", "kind = \"ring\"\narc = \"8 mm\"", LoadKind::Ring { arc: 0.008 }),
        ("hinged", "kind = \"flat\"", LoadKind::Flat),
        ("clamped", "kind = \"ball\"\nradius = \"5 mm\"", LoadKind::Ball { radius: 0.005 }),
        ("ring", "kind = \"pusher\"\nradius = \"5 mm\"", pusher(false, 0.0005)),
        ("ring", "kind = \"pusher\"\nradius = \"5 mm\"\nedge = \"1 mm\"", pusher(false, 0.001)),
        ("ring", "kind = \"pusher\"\nradius = \"5 mm\"\nbonded = true", pusher(true, 0.0)),
        ("ring", "kind = \"pressure\"", LoadKind::Pressure { follows: true }),
        ("hinged", "kind = \"pressure\"\nfollows = false", LoadKind::Pressure { follows: false }),
        ("hinged", "kind = \"rim-displacement\"", LoadKind::RimDisplacement),
        ("free", "kind = \"rim-pull\"", LoadKind::RimPull),
        ("table", "kind = \"gravity\"", LoadKind::Gravity),
        ("elastic\"\naxial = \"1 N/mm/mm", "kind = \"pole\"", LoadKind::Pole),
    ] {
        let load = load_of(&poked(&format!("\"{rim}\""), table));
        assert_eq!(load, Load { kind, ..Load::default() }, "{table}");
    }
}

#[test]
fn loads_on_a_part_with_a_hole() {
    for table in [
        "kind = \"pole\"",
        "kind = \"flat\"",
        "kind = \"pusher\"\nradius = \"5 mm\"",
        "kind = \"pusher\"\nradius = \"5 mm\"\nbonded = true",
        "kind = \"ball\"\nradius = \"5 mm\"",
        "kind = \"ring\"\narc = \"1 mm\"",
    ] {
        load_of(&holed(table));
    }
    let through = &["goes through the hole (radius 4 mm)", "more than 4 mm", "kind = \"pole\""];
    one(
        &holed("kind = \"ball\"\nradius = \"3 mm\""),
        "17:11 3 mm →",
        &[&["the ball (radius 3 mm)"], &through[..]].concat(),
    );
    for bonded in [true, false] {
        let table = format!("kind = \"pusher\"\nradius = \"3.5 mm\"\nbonded = {bonded}");
        one(&holed(&table), "17:11 3.5 mm →", through);
    }
    one(&holed("kind = \"pressure\""), "16:9 pressure →", &["lets the pressure through", "close the hole"]);
    one(
        &holed("kind = \"ring\"\narc = \"0 mm\""),
        "17:8 0 mm →",
        &["no circle between", "the edge of the hole use kind = \"pole\""],
    );
    one(
        &holed("kind = \"ring\"\narc = \"25 mm\""),
        "17:8 25 mm →",
        &["beyond the rim", "from the edge of the hole to the rim the meridian is 22.16 mm long"],
    );
}

#[test]
fn loads_on_a_measured_part() {
    let files = |_: &str| Ok(profile(1.0).into_bytes());
    let text = PROFILE.replace("\"free\"", "\"ring\"");
    for table in [
        "kind = \"ball\"\nradius = \"5 mm\"\nweight = \"1 g0\"",
        "kind = \"flat\"",
        "kind = \"pusher\"\nradius = \"5 mm\"\nbonded = true",
        "kind = \"ring\"\narc = \"5 mm\"",
    ] {
        let case = with_files(&format!("{text}[load]\n{table}"), &files);
        let (part, load) = case.changed(&[], Some(1.1)).unwrap();
        assert_eq!(Some(&load), case.load());
        assert_eq!(part, case.part_with_depth(1.1).unwrap());
    }
}

#[test]
fn keys_that_are_missing_or_misplaced() {
    one(&ring(""), "14:2 load →", &["`kind` is missing in `[load]`", "kind = \"pole\"", "rim-pull"]);
    one(&ring("kind = \"ring\""), "14:2 load →", &["`arc` is missing", "arc = \"8 mm\""]);
    one(&ring("kind = \"ball\""), "14:2 load →", &["`radius` is missing", "radius = \"5 mm\""]);
    one(&ring("kind = \"pusher\""), "14:2 load →", &["`radius` is missing"]);
    one(&ring("kind = \"bal\""), "15:9 bal →", &["`kind` cannot be \"bal\"", "did you mean \"ball\"?"]);
    one(&ring("kind = \"pole\"\nfrom = \"turned\""), "16:9 turned →", &["\"natural\", \"inverted\""]);
    one(&ring("kind = \"pole\"\ncontrol = \"force\""), "16:12 force →", &["\"load\", \"displacement\""]);
    for (line, kinds) in [
        ("radius = \"5 mm\"", "\"ball\" or \"pusher\""),
        ("arc = \"5 mm\"", "\"ring\""),
        ("bonded = true", "\"pusher\""),
        ("edge = \"1 mm\"", "\"pusher\""),
        ("follows = true", "\"pressure\""),
    ] {
        let name = line.split(' ').next().unwrap();
        let says = format!("`{name}` does not go with kind = \"pole\" | it goes with kind = {kinds}");
        one(&ring(&format!("kind = \"pole\"\n{line}")), &format!("16:1 {name} →"), &[&says]);
    }
    one(
        &ring("kind = \"pusher\"\nradius = \"5 mm\"\nbonded = true\nedge = \"1 mm\""),
        "18:1 edge →",
        &["does not go with bonded = true", "remove it"],
    );
    one(
        &ring("kind = \"pole\"\nspeed = \"1 mm\""),
        "16:1 speed →",
        &["unknown key `speed`", "known here: kind"],
    );
    one(
        &ring("kind = \"pressure\"\nfollows = \"yes\""),
        "16:11 ",
        &["`follows` takes true or false", "follows = true"],
    );
    let all =
        lines(format!("load = 3\n{}", poked("\"ring\"", "").replace("[load]\n", "")).as_bytes(), &nothing);
    check_one(&all, "1:1 load →", &["`load` is a table", "`[load]`"]);
}

#[test]
fn numbers_of_a_load() {
    one(&ring("kind = \"ring\"\narc = \"-1 mm\""), "16:8 -1 mm →", &["must be 0 or greater"]);
    one(&ring("kind = \"ball\"\nradius = \"0 mm\""), "16:11 0 mm →", &["must be greater than 0"]);
    one(&ring("kind = \"ball\"\nradius = \"50 m\""), "16:11 50 m → warning:", &["unusual", "unit"]);
    one(&ring("kind = \"pole\"\nstop = \"0 mm\""), "16:9 0 mm →", &["must be greater than 0"]);
    one(&ring("kind = \"pole\"\nreach = \"-1 mm\""), "16:10 -1 mm →", &["must be greater than 0"]);
    one(&ring("kind = \"pole\"\nweight = \"1 mm\""), "16:13 mm →", &["an acceleration is wanted", "g0"]);
    one(&ring("kind = \"pole\"\nweight = \"9.81\""), "16:11 9.81 →", &["write `9.81 m/s^2`"]);
    one(&ring("kind = \"pole\"\nweight = \"2000 m/s^2\""), "16:11 2000 m/s^2 → warning:", &["unusual"]);
    one(
        &ring("kind = \"pole\"\nstop = \"20 mm\"\nreach = \"12 mm\""),
        "16:9 20 mm → warning:",
        &["the stop at 20 mm lies beyond the reach of 12 mm", "raise `reach`"],
    );
    one(
        &ring("kind = \"ring\"\narc = \"26.0 ± 0.5 mm\"").replace("60 ± 1 deg", "60 deg"),
        "16:8 26.0 ± 0.5 mm → warning:",
        &["the tolerance reaches 26.5 mm", "beyond the rim"],
    );
    one(
        &poked("\"table\"", "kind = \"pole\"\nweight = \"0 ± 1 m/s^2\""),
        "16:11 0 ± 1 m/s^2 → warning:",
        &["the tolerance reaches -1 m/s^2", "off its table"],
    );
}

#[test]
fn places_and_sizes_off_the_part() {
    one(
        &ring("kind = \"ring\"\narc = \"0 mm\""),
        "16:8 0 mm →",
        &["no circle between", "to push the pole use kind = \"pole\""],
    );
    one(
        &ring("kind = \"ring\"\narc = \"30 mm\""),
        "16:8 30 mm →",
        &["at arc 30 mm lies beyond the rim", "from the pole to the rim the meridian is 26.18 mm long"],
    );
    let exact = ring("kind = \"ring\"\narc = \"25 mm\"").replace("60 ± 1 deg", "1 rad");
    one(&exact, "16:8 25 mm →", &["at arc 25 mm is the rim itself", "the meridian is 25 mm long"]);
    one(
        &ring("kind = \"pusher\"\nradius = \"22 mm\""),
        "16:11 22 mm →",
        &["the pusher (radius 22 mm) reaches the rim (radius 21.65 mm)", "kind = \"flat\""],
    );
    one(
        &ring("kind = \"pusher\"\nradius = \"5 mm\"\nedge = \"5 mm\""),
        "17:9 5 mm →",
        &["a rounding of 5 mm leaves no flat", "kind = \"ball\""],
    );
}

#[test]
fn rims_that_cannot_take_the_load() {
    let pushes = [
        "kind = \"pole\"",
        "kind = \"ring\"\narc = \"8 mm\"",
        "kind = \"flat\"",
        "kind = \"ball\"\nradius = \"5 mm\"",
        "kind = \"pusher\"\nradius = \"5 mm\"",
        "kind = \"gravity\"",
        "kind = \"pressure\"",
    ];
    for table in pushes {
        let says = "nothing holds the rim against the push | use rim kind = \"ring\" or \"table\"";
        one(&poked("\"free\"", table), "13:9 free →", &[says]);
    }
    for table in &pushes[..6] {
        let rim = "\"elastic\"\nradial = \"1 N/mm/mm\"";
        one(
            &poked(rim, table),
            "13:9 elastic →",
            &["nothing holds the rim", "give the rim an `axial` spring"],
        );
    }
    one(
        &poked("\"elastic\"\naxial = \"1 N/mm/mm\"", "kind = \"pressure\""),
        "16:9 pressure →",
        &["a rim that keeps its height", "use rim kind = \"ring\", \"table\", \"hinged\" or \"clamped\""],
    );
    one(
        &poked("\"free\"", "kind = \"rim-pull\"\nweight = \"1 g0\""),
        "13:9 free →",
        &["nothing holds the rim against the weight"],
    );
    for rim in ["free", "table", "ring", "elastic\"\naxial = \"1 N/mm/mm"] {
        let line = if rim.contains("axial") { 16 } else { 15 };
        let start = format!("{line}:9 rim-displacement →");
        let hint =
            "use rim kind = \"hinged\" or \"clamped\"; a rim that slides takes load kind = \"rim-pull\"";
        one(
            &poked(&format!("\"{rim}\""), "kind = \"rim-displacement\""),
            &start,
            &["nothing grips the rim", hint],
        );
    }
    for rim in ["hinged", "clamped", "elastic\"\naxial = \"1 N/mm/mm"] {
        let line = if rim.contains("axial") { 16 } else { 15 };
        let start = format!("{line}:9 rim-pull →");
        let hint =
            "\"free\", \"table\" or \"ring\"; a rim that is gripped takes load kind = \"rim-displacement\"";
        one(&poked(&format!("\"{rim}\""), "kind = \"rim-pull\""), &start, &["cannot be pulled", hint]);
    }
    // A spring written wrongly is one finding, not two.
    one(
        &poked("\"elastic\"\naxial = \"1 mm\"", "kind = \"pole\""),
        "14:12 mm →",
        &["a stiffness per length"],
    );
}

#[test]
fn the_load_of_the_template() {
    let text = new_cap_template();
    let (start, table) = text.split_once("# [load]\n").unwrap();
    let table: String = table
        .lines()
        .take_while(|l| !l.is_empty())
        .map(|l| l.strip_prefix("# ").unwrap().to_owned() + "\n")
        .collect();
    let case = clean(&format!("{}[load]\n{table}", start.replace("kind = \"free\"", "kind = \"ring\"")));
    assert_eq!(case.load().unwrap().kind, LoadKind::Ball { radius: 0.005 });
    assert_eq!(case.load().unwrap().gravity, 9.80665);
}

#[test]
fn weight() {
    let without = |load: &str| ring(load).replace("density = \"1080 kg/m^3\"\n", "");
    let hint = "add `density = \"1080 kg/m^3\"` to `[material]`";
    one(&without("kind = \"gravity\""), "14:9 gravity →", &["gravity needs a density", hint]);
    one(&without("kind = \"pole\"\nweight = \"1 g0\""), "15:1 weight →", &["weight needs a density", hint]);
    one(
        &ring("kind = \"gravity\"\nweight = \"1 g0\""),
        "16:1 weight →",
        &["does not go with kind = \"gravity\"", "keep one of the two"],
    );
    let on_table = |from: &str, weight: &str| {
        poked("\"table\"", &format!("kind = \"pole\"\nfrom = \"{from}\"\nweight = \"{weight}\""))
    };
    assert_eq!(load_of(&on_table("natural", "1 g0")).gravity, 9.80665);
    assert_eq!(load_of(&on_table("inverted", "-1 g0")).gravity, -9.80665);
    one(
        &on_table("natural", "-1 g0"),
        "17:11 -1 g0 →",
        &["a weight of -9.807 m/s^2 lifts the part off", "the natural part needs 0 or more"],
    );
    one(&on_table("inverted", "1 g0"), "17:11 1 g0 →", &["the inverted part needs 0 or less"]);
}

#[test]
fn a_rim_that_rules_the_load_out_is_said_with_everything_else() {
    let text = poked("\"free\"", "kind = \"ball\"\nradius = \"5\"").replace("25 mm", "25");
    let all = lines(text.as_bytes(), &nothing);
    let starts: Vec<&str> = all.iter().map(|l| l.split(' ').next().unwrap()).collect();
    assert_eq!(starts, ["4:11", "13:9", "16:11"], "{all:#?}");
}

#[test]
fn numbers_changed_together() {
    let case = clean(&ring("kind = \"ring\"\narc = \"20 mm\"\nweight = \"1 g0\""));
    let [radius, angle, thickness, arc, weight] =
        ["shape.radius", "shape.half_angle", "wall.thickness", "load.arc", "load.weight"]
            .map(|k| index(&case, k));
    let (part, load) = case.changed(&[(radius, 0.03), (thickness, 0.003), (weight, 0.0)], None).unwrap();
    assert_eq!(part.meridian.length(), 0.03 * case.depth());
    assert_eq!((part.wall.thickness(0.0), part.rim), (0.003, Rim::Ring));
    assert_eq!(load, Load { gravity: 0.0, ..*case.load().unwrap() });
    // A single change is the one that `part_with` makes; the later of two counts.
    let (part, _) = case.changed(&[(thickness, 0.001), (thickness, 0.003)], None).unwrap();
    assert_eq!(part, case.part_with(thickness, 0.003).unwrap());
    // Depth replaces the half-angle, and every place keeps its arclength.
    let (part, load) = case.changed(&[(angle, 1.2)], Some(0.9)).unwrap();
    assert_eq!(part, case.part_with_depth(0.9).unwrap());
    assert_eq!(load.kind, LoadKind::Ring { arc: 0.02 });
    let (part, _) = case.changed(&[(angle, 1.2)], Some(case.depth())).unwrap();
    assert_eq!(&part, case.part());
    let off = Err(Impossible::Load(LoadFault::ArcOffPart { arc: 0.02, length: 0.025 * 0.7, hole: false }));
    assert_eq!(case.changed(&[], Some(0.7)), off);
    assert_eq!(case.changed(&[(angle, 0.7)], None), off);
    assert!(matches!(
        case.changed(&[(arc, 0.03)], None),
        Err(Impossible::Load(LoadFault::ArcOffPart { .. }))
    ));
    assert!(matches!(case.changed(&[(arc, -0.03)], None), Err(Impossible::OutOfRange { .. })));
    assert!(matches!(case.changed(&[(99, 0.03)], None), Err(Impossible::NoSuchInput { .. })));
    assert!(matches!(case.changed(&[], Some(f64::NAN)), Err(Impossible::Depth { .. })));
    // The part alone does not ask whether the load still acts.
    assert_eq!(case.part_with_depth(0.7).unwrap().meridian.length(), 0.025 * 0.7);
    for i in [arc, weight] {
        assert_eq!(&case.part_with(i, 0.0261).unwrap(), case.part());
    }
}

#[test]
fn sizes_of_a_changed_load() {
    let case = clean(&ring("kind = \"pusher\"\nradius = \"5 mm\""));
    let (_, load) = case.changed(&[(index(&case, "load.radius"), 0.008)], None).unwrap();
    assert_eq!(load.kind, LoadKind::Pusher { radius: 0.008, bonded: false, edge: 0.1 * 0.008 });
    let wide = case.changed(&[(index(&case, "load.radius"), 0.03)], None);
    assert!(matches!(wide, Err(Impossible::Load(LoadFault::PusherBeyondRim { .. }))));
    let soft = clean(&poked("\"elastic\"\naxial = \"1 N/mm/mm\"", "kind = \"pole\""));
    let loose = soft.changed(&[(index(&soft, "rim.axial"), 0.0)], None);
    let says = loose.unwrap_err();
    assert_eq!(says, Impossible::Load(LoadFault::NothingHolds { against: "push", elastic: true }));
    assert_eq!((says.keys(), says.hint().is_some()), (vec!["rim.kind", "rim"], true));
}

/// Lines that tables of loads are put together from, good and bad.
const LINES: [&str; 26] = [
    "arc = \"8 mm\"",
    "arc = \"0 mm\"",
    "arc = \"26.1 ± 1 mm\"",
    "arc = [\"8 mm\"]",
    "radius = \"5 ± 0.1 mm\"",
    "radius = \"3 mm\"",
    "radius = \"21.6 ± 1 mm\"",
    "radius = \"1e300 mm\"",
    "radius = 5",
    "bonded = true",
    "bonded = false",
    "bonded = \"no\"",
    "edge = \"1 mm\"",
    "edge = \"1e-300 mm\"",
    "follows = false",
    "follows = 1",
    "weight = \"1 ± 2 g0\"",
    "weight = \"-9.81 m/s^2\"",
    "weight = \"0 g0\"",
    "weight = \"1 g\"",
    "stop = \"5 ± 6 mm\"",
    "reach = \"4 mm\"",
    "from = \"inverted\"",
    "from = 1",
    "control = \"displacement\"",
    "control = \"\"",
];

proptest! {
    /// Whatever a table of loads holds: findings inside the file, a case exactly when none is an error
    /// (`lines` checks both), and a load on every part that its inputs can make.
    #[test]
    fn any_table_is_survived(
        kind in 0..keys::LOADS.len() + 2,
        rim in 0..keys::RIMS.len(),
        picks in proptest::collection::vec(0..LINES.len(), 0..5),
        hole in any::<bool>(),
        dense in any::<bool>(),
        value in prop_oneof![-1e-2..3e-2f64, Just(0.0), Just(f64::INFINITY), Just(f64::NAN)],
        depth in proptest::option::of(-0.5..4.0f64),
    ) {
        let kind = match keys::LOADS.get(kind) {
            Some(kind) => format!("kind = \"{kind}\"\n"),
            None if kind == keys::LOADS.len() => String::new(),
            None => "kind = true\n".to_owned(),
        };
        let table: Vec<&str> = picks.into_iter().map(|i| LINES[i]).collect();
        let mut text = poked(&format!("\"{}\"", keys::RIMS[rim]), &(kind + &table.join("\n")));
        text = text.replace("\"elastic\"", "\"elastic\"\naxial = \"1 N/m/m\"");
        text = if hole { text.replace("[wall]", HOLE) } else { text };
        text = if dense { text } else { text.replace("density = \"1080 kg/m^3\"\n", "") };
        lines(text.as_bytes(), &nothing);
        let (case, _) = read_case(text.as_bytes(), &nothing);
        let Some(case) = case else { return Ok(()) };
        prop_assert_eq!(case.changed(&[], None).unwrap(), (case.part().clone(), *case.load().unwrap()));
        for i in 0..case.inputs().len() {
            match case.changed(&[(i, value)], depth) {
                Ok((part, load)) => {
                    prop_assert!(part.meridian.length() > 0.0 && load.gravity.is_finite());
                }
                Err(impossible) => drop((impossible.to_string(), impossible.hint(), impossible.keys().len())),
            }
        }
    }
}
