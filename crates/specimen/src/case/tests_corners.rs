//! Shapes through corners: what is read, what it answers, and what is said when it cannot be. And complete spheres.

use proptest::prelude::*;

use super::tests::{CAP, clean, nothing};
use super::tests_findings::{lines, one};
use super::*;
use crate::{Corners, CornersFault};

/// A rubber key: flat top, sloping wall, foot; invented numbers.
const KEY: &str = r#"[shape]
kind = "corners"
r = ["0 mm", "3 ± 0.1 mm", "5 mm", "6 mm"]
z = ["2 mm", "2 mm", "0 mm", "0 mm"]
fillet = "0.3 mm"
[wall]
thickness = ["1.5 mm", "0.4 ± 0.02 mm", "1 mm"]
rigid = [1]
[material]
youngs_modulus = "3 MPa"
poisson_ratio = 0.49
[rim]
kind = "ring"
"#;

fn key_with(from: &str, to: &str) -> String {
    assert!(KEY.contains(from), "{from}");
    KEY.replace(from, to)
}

fn corners_of(part: &Part) -> &Corners {
    match &part.meridian {
        Meridian::Corners(c) => c,
        other => panic!("{other:?}"),
    }
}

fn index(case: &Case, key: &str) -> usize {
    case.inputs().iter().position(|i| i.key == key).unwrap_or_else(|| panic!("no {key}"))
}

#[test]
fn a_key_drawn_as_a_dome_is_turned_over() {
    let case = clean(KEY);
    assert_eq!(case.shape_name(), "straight lines and arcs");
    assert!(case.notes().iter().any(|n| n.contains("turned over")), "{:?}", case.notes());
    let c = corners_of(case.part());
    let rim = c.at(c.length());
    assert!((rim.r - 6e-3).abs() < 1e-15 && (rim.z - 2e-3).abs() < 1e-15, "{rim:?}");
    assert_eq!((c.at(0.0).z, c.pieces(), case.depth()), (0.0, 3, 1.0));
    let keys: Vec<&str> = case.inputs().iter().map(|i| i.key.as_str()).collect();
    // The pole stays on the axis, and the level first piece stays level: neither is a number to vary.
    assert_eq!(
        keys,
        [
            "shape.r[2]",
            "shape.r[3]",
            "shape.r[4]",
            "shape.z[2]",
            "shape.z[3]",
            "shape.z[4]",
            "shape.fillet",
            "wall.thickness[1]",
            "wall.thickness[2]",
            "wall.thickness[3]",
            "material.youngs_modulus",
            "material.poisson_ratio",
        ]
    );
    assert_eq!(case.inputs()[0].half_width, Some(1e-4));
}

/// Closed form: a rounding of radius R that turns by θ takes R tan θ/2 off both legs and puts Rθ in.
#[test]
fn the_wall_steps_at_corners_and_slopes_across_roundings() {
    let case = clean(KEY);
    let (c, wall) = (corners_of(case.part()), &case.part().wall);
    let turn = std::f64::consts::FRAC_PI_4;
    let first = 3e-3 - 3e-4 * libm::tan(0.5 * turn);
    assert_eq!(wall.knots()[0], (0.0, 1.5e-3));
    assert!((c.bare_span_of(0)[1] - first).abs() < 1e-15);
    assert!((c.bare_span_of(1)[0] - first - 3e-4 * turn).abs() < 1e-15);
    let middle = wall.thickness(first + 1.5e-4 * turn);
    assert!((middle - 0.95e-3).abs() < 1e-12, "{middle}");
    assert_eq!(wall.steps().count(), 2, "the ends of the stiffened stretch");
    let [stiff] = wall.stiffened() else { panic!("{:?}", wall.stiffened()) };
    assert_eq!((stiff.span, stiff.factor), (c.span_of(0), 1e4));

    let sharp = clean(&key_with("fillet = \"0.3 mm\"\n", ""));
    let wall = &sharp.part().wall;
    // A place that is off by rounding is the corner all the same.
    let c = corners_of(sharp.part());
    for s in [3e-3, 3e-3 * (1.0 + f64::EPSILON), 3e-3 * (1.0 - f64::EPSILON)] {
        assert_eq!((wall.thickness_before(s), wall.thickness(s)), (1.5e-3, 4e-4));
        assert!(c.before(s).sin.abs() < 1e-15 && (c.at(s).sin - libm::sin(turn)).abs() < 1e-15);
    }
    let ramp =
        clean(&key_with("rigid = [1]", "thickness_end = [\"1.5 mm\", \"0.8 mm\", \"1 mm\"]\nrigid = 1"));
    let [from, to] = corners_of(ramp.part()).bare_span_of(1);
    assert!((ramp.part().wall.thickness(0.5 * (from + to)) - 6e-4).abs() < 1e-15);
    assert!(ramp.inputs().iter().any(|i| i.key == "wall.thickness_end[2]"));
    let all = clean(&key_with(
        "[\"1.5 mm\", \"0.4 ± 0.02 mm\", \"1 mm\"]",
        "[\"1.5 mm\", \"0.4 mm\", \"1 mm\"]\noffset = \"0.1 mm\"",
    ));
    assert_eq!(all.part().wall.knots()[0].1, 1.6e-3);
    let listed = "[\"1 mm\", \"2 mm\"]\narc = [\"0 mm\", \"6.7 mm\"]";
    let table = clean(&key_with("[\"1.5 mm\", \"0.4 ± 0.02 mm\", \"1 mm\"]", listed));
    assert!((table.part().wall.thickness(3.35e-3) - 1.5e-3).abs() < 1e-15);
    let uniform = clean(&key_with("[\"1.5 mm\", \"0.4 ± 0.02 mm\", \"1 mm\"]", "\"0.4 mm\""));
    assert_eq!(uniform.part().wall.knots(), [(0.0, 4e-4)]);
}

#[test]
fn one_number_changed_and_depth() {
    let case = clean(KEY);
    let at_rim = |p: &Part| {
        let c = corners_of(p);
        c.at(c.length())
    };
    let wider = case.part_with(index(&case, "shape.r[4]"), 7e-3).unwrap();
    assert!((at_rim(&wider).r - 7e-3).abs() < 1e-15);
    let higher = case.part_with(index(&case, "shape.z[2]"), 3e-3).unwrap();
    assert!((at_rim(&higher).z - 3e-3).abs() < 1e-15 && corners_of(&higher).at(0.0).sin == 0.0);
    let thicker = case.part_with(index(&case, "wall.thickness[2]"), 5e-4).unwrap();
    assert_eq!(thicker.wall.knots()[2].1, 5e-4);
    let round = case.part_with(index(&case, "shape.fillet"), 0.4e-3).unwrap();
    assert!(corners_of(&round).length() < corners_of(case.part()).length());
    let large = case.part_with(index(&case, "shape.fillet"), 5e-3).unwrap_err();
    assert!(matches!(large, Impossible::Corners { fault: CornersFault::FilletTooLarge { .. }, .. }));
    let deep = case.part_with_depth(1.5).unwrap();
    assert!((at_rim(&deep).z - 3e-3).abs() < 1e-15 && deep.wall.stiffened().len() == 1);
    assert_eq!(deep.wall.stiffened()[0].span, corners_of(&deep).span_of(0));
    assert_eq!(case.part_with_depth(0.0), Err(Impossible::Depth { depth: 0.0 }));
    assert_eq!(&case.part_with_depth(1.0).unwrap(), case.part());
}

/// Closed form: an arc that leaves the axis square and reaches (r, z) has radius (r² + z²)/2z.
#[test]
fn a_crown_leaves_the_axis_square_whatever_is_changed() {
    // Radius 25 mm, half-angle 30 deg, written with four digits, then a straight flare.
    let text =
        KEY.replace("\"0 mm\", \"3 ± 0.1 mm\", \"5 mm\", \"6 mm\"", "\"0 mm\", \"12.5 mm\", \"15 mm\"");
    let text = text.replace("\"2 mm\", \"2 mm\", \"0 mm\", \"0 mm\"", "\"0 mm\", \"3.35 mm\", \"5 mm\"");
    let text = text.replace("fillet = \"0.3 mm\"", "arc = [\"25 mm\", \"0 mm\"]");
    let text =
        text.replace("[\"1.5 mm\", \"0.4 ± 0.02 mm\", \"1 mm\"]", "\"1 mm\"").replace("rigid = [1]\n", "");
    let case = clean(&text);
    let radius = (12.5f64.powi(2) + 3.35f64.powi(2)) / 6.7 * 1e-3;
    let p = corners_of(case.part()).at(1e-3);
    assert!((p.curvature - 1.0 / radius).abs() < 1e-9 && case.notes().is_empty());
    assert!(case.inputs().iter().all(|i| !i.key.starts_with("shape.arc")));
    for (key, value) in [("shape.r[2]", 12e-3), ("shape.z[2]", 3e-3), ("shape.z[1]", 1e-4)] {
        let part = case.part_with(index(&case, key), value).unwrap();
        assert!(corners_of(&part).at(0.0).sin.abs() < 1e-9, "{key}");
    }
    assert!(corners_of(&case.part_with_depth(0.5).unwrap()).at(0.0).sin.abs() < 1e-9);
    // The dome of the same sizes is the same bowl.
    let dome = text.replace("\"0 mm\", \"3.35 mm\", \"5 mm\"", "\"5 mm\", \"1.65 mm\", \"0 mm\"");
    let dome = clean(&dome.replace("arc = [\"25 mm\"", "arc = [\"-25 mm\""));
    let (a, b) = (corners_of(case.part()), corners_of(dome.part()));
    assert!((a.length() - b.length()).abs() < 1e-15);
    assert!((a.at(14e-3).z - b.at(14e-3).z).abs() < 1e-15);

    let other = text.replace("arc = [\"25 mm\"", "arc = [\"20 mm\"");
    one(&other, "5:9 20 mm →", &["does not leave the axis square", "the radius is 25 mm"]);
    let wrong = text.replace("arc = [\"25 mm\"", "arc = [\"-25 mm\"");
    one(&wrong, "5:9 -25 mm →", &["does not leave the axis square"]);
    let level = text.replace("\"0 mm\", \"3.35 mm\"", "\"3.35 mm\", \"3.35 mm\"");
    one(&level, "5:9 25 mm →", &["must rise or fall"]);
    let exact = text.replace("arc = [\"25 mm\"", "arc = [\"25 ± 1 mm\"");
    one(&exact, "5:9 25 ± 1 mm → warning:", &["the tolerance of an arc that its end and the pole fix"]);
}

/// Loads find the pole, the hole and the rim of a part through corners.
#[test]
fn loads_on_corners() {
    let poked = |load: &str| format!("{KEY}[load]\n{load}\n");
    let length = clean(KEY).part().meridian.length();
    assert_eq!(
        clean(&poked("kind = \"ring\"\narc = \"3 mm\"")).load().unwrap().kind,
        crate::LoadKind::Ring { arc: 3e-3 }
    );
    assert!(length > 6e-3 && length < 7e-3);
    one(&poked("kind = \"ring\"\narc = \"7 mm\""), "16:8 7 mm →", &["beyond the rim"]);
    one(&poked("kind = \"pusher\"\nradius = \"6 mm\""), "16:11 6 mm →", &["reaches the rim (radius 6 mm)"]);
    let free = poked("kind = \"pole\"").replace("\"ring\"", "\"free\"");
    one(&free, "13:9 free →", &["nothing holds the rim against the push"]);
    let holed = |load: &str| poked(load).replace("r = [\"0 mm\"", "r = [\"1 mm\"");
    assert!(clean(&holed("kind = \"pole\"")).load().is_some());
    one(&holed("kind = \"ball\"\nradius = \"0.9 mm\""), "16:11 0.9 mm →", &["goes through the hole"]);
    one(&holed("kind = \"pressure\""), "15:9 pressure →", &["lets the pressure through"]);
}

#[test]
fn cones_plates_and_rings() {
    let shape = |r: &str, z: &str| {
        let text = KEY.replace("[\"0 mm\", \"3 ± 0.1 mm\", \"5 mm\", \"6 mm\"]", r);
        let text = text.replace("[\"2 mm\", \"2 mm\", \"0 mm\", \"0 mm\"]", z).replace("rigid = [1]\n", "");
        clean(&text.replace("[\"1.5 mm\", \"0.4 ± 0.02 mm\", \"1 mm\"]", "\"0.4 mm\""))
    };
    let cone = shape("[\"10 mm\", \"20 mm\"]", "[\"0 mm\", \"1 mm\"]");
    assert_eq!(cone.shape_name(), "cone");
    let plate = shape("[\"0 mm\", \"5 mm\", \"20 mm\"]", "[\"1 mm\", \"1 mm\", \"1 mm\"]");
    assert_eq!((plate.shape_name(), plate.part().meridian.arc_sphere().0), ("flat plate", f64::INFINITY));
    assert_eq!(shape("[\"10 mm\", \"20 mm\"]", "[\"0 mm\", \"0 mm\"]").shape_name(), "flat ring");
    let wavy = shape("[\"10 mm\", \"15 mm\", \"20 mm\"]", "[\"0 mm\", \"1 mm\", \"0 mm\"]");
    assert_eq!(wavy.shape_name(), "straight lines and arcs");
}

#[test]
fn every_fault_points_at_its_entry() {
    let r = "[\"0 mm\", \"3 ± 0.1 mm\", \"5 mm\", \"6 mm\"]";
    let z = "[\"2 mm\", \"2 mm\", \"0 mm\", \"0 mm\"]";
    one(&key_with("\"5 mm\"", "\"0 mm\""), "3:29 0 mm →", &["corner 3 lies on the axis", "from the axis"]);
    one(&key_with("\"5 mm\"", "\"-5 mm\""), "3:29 -5 mm →", &["must be 0 or greater"]);
    let same = KEY.replace("\"5 mm\", \"6 mm\"", "\"5 mm\", \"5 mm\"");
    one(&same, "3:37 5 mm →", &["corners 3 and 4 are one place"]);
    let small = key_with("fillet = \"0.3 mm\"", "arc = [\"0 mm\", \"1 mm\", \"0 mm\"]");
    one(&small, "5:17 1 mm →", &["too small", "at least 1.414 mm"]);
    one(&key_with("0.3 mm", "5 mm"), "5:11 5 mm →", &["does not fit", "at most", "share its length"]);
    let each = key_with("\"0.3 mm\"", "[\"0 mm\", \"0.3 mm\", \"5 mm\", \"0 mm\"]");
    one(&each, "5:30 5 mm →", &["rounding of corner 3"]);
    let ends = key_with("\"0.3 mm\"", "[\"0.1 mm\", \"0.3 mm\", \"0.1 mm\", \"0 mm\"]");
    one(&ends, "5:12 0.1 mm →", &["an end of the meridian cannot be rounded"]);
    let at_arc = key_with("fillet = \"0.3 mm\"", "fillet = \"0.3 mm\"\narc = [\"0 mm\", \"9 mm\", \"0 mm\"]");
    one(&at_arc, "5:11 0.3 mm →", &["corner 2 lies at the end of an arc", "as a list with 0"]);
    let back = key_with(r, "[\"0 mm\", \"3 mm\", \"2 mm\", \"6 mm\"]")
        .replace(z, "[\"0 mm\", \"0 mm\", \"0 mm\", \"0 mm\"]");
    one(&back, "3:15 3 mm →", &["turns back on itself at corner 2"]);
    let cross = key_with(r, "[\"1 mm\", \"5 mm\", \"5 mm\", \"3 mm\", \"3 mm\"]")
        .replace(z, "[\"0 mm\", \"0 mm\", \"1 mm\", \"1 mm\", \"-1 mm\"]");
    let cross = cross
        .replace("[\"1.5 mm\", \"0.4 ± 0.02 mm\", \"1 mm\"]", "\"0.4 mm\"")
        .replace("fillet = \"0.3 mm\"\n", "");
    one(&cross, "3:39 3 mm →", &["pieces 1 and 4 of the meridian cross or touch"]);
    one(
        &key_with(z, "[\"2 mm\", \"1 mm\", \"0 mm\", \"0 mm\"]"),
        "4:15 1 mm →",
        &["must leave square", "the first two heights equal"],
    );
    // An arc that bulges over the axis.
    let over = key_with(r, "[\"1 mm\", \"1 mm\", \"5 mm\", \"6 mm\"]")
        .replace(z, "[\"-3 mm\", \"3 mm\", \"4 mm\", \"5 mm\"]");
    let over = over
        .replace("fillet = \"0.3 mm\"", "arc = [\"-3.05 mm\", \"0 mm\", \"0 mm\"]")
        .replace("\"1.5 mm\"", "\"0.1 mm\"");
    one(&over, "3:15 1 mm →", &["piece 1 of the meridian reaches the axis"]);
}

#[test]
fn lists_of_unequal_length_and_keys_out_of_place() {
    one(&key_with("z = [\"2 mm\", ", "z = ["), "4:5 [", &["3 heights for 4 corners"]);
    one(&key_with("\"0.3 mm\"", "[\"0 mm\", \"0 mm\"]"), "5:10 [", &["2 roundings for 4 corners"]);
    one(&key_with("fillet = \"0.3 mm\"", "arc = [\"0 mm\"]"), "5:7 [", &["1 arcs for 3 pieces"]);
    one(&key_with("[\"1.5 mm\", ", "["), "7:13 [", &["2 thicknesses for 3 pieces"]);
    let end = key_with("rigid = [1]", "thickness_end = [\"1 mm\"]");
    one(&end, "8:17 [", &["1 thicknesses for 3 pieces"]);
    let scalar = key_with("z = [\"2 mm\", \"2 mm\", \"0 mm\", \"0 mm\"]", "z = \"2 mm\"");
    one(&scalar, "4:5 \"2 mm\" →", &["`z` takes a list", "z = [\"0 mm\""]);
    one(&key_with("rigid = [1]", "rigid = [1, 4]"), "8:13 4 →", &["there is no piece 4", "3 pieces"]);
    one(&key_with("rigid = [1]", "rigid = [1, 1]"), "8:13 1 →", &["piece 1 is listed twice"]);
    one(&key_with("rigid = [1]", "rigid = [1, 2, 3]"), "8:1 rigid →", &["nothing is left that bends"]);
    one(&key_with("rigid = [1]", "rigid = [1.5]"), "8:10 1.5 →", &["a whole number"]);
    one(
        &CAP.replace("[material]", "rigid = [1]\n[material]"),
        "8:1 rigid →",
        &["goes with shape kind = \"corners\""],
    );
    let end = CAP.replace("[material]", "thickness_end = [\"1 mm\"]\n[material]");
    one(&end, "8:1 thickness_end →", &["one for each piece"]);
    one(
        &CAP.replace("[wall]", "fillet = \"1 mm\"\n[wall]"),
        "6:1 fillet →",
        &["it goes with kind = \"corners\""],
    );
    one(
        &key_with("kind = \"corners\"", "kind = \"corners\"\nsurface = \"inner\""),
        "3:12 inner →",
        &["mid-surface"],
    );
    one(
        &key_with("r = [\"0 mm\", \"3 ± 0.1 mm\", \"5 mm\", \"6 mm\"]\n", ""),
        "1:2 shape →",
        &["`r` is missing"],
    );
    let bare = "[shape]\nkind = \"corners\"\nr = [\"1 mm\"]\nz = [\"1 mm\"]\n";
    let bare = format!("{bare}[wall]\nthickness = \"1 mm\"\n{}", KEY.split_once("rigid = [1]\n").unwrap().1);
    one(&bare, "3:5 [", &["at least two corners"]);
    let narrow = key_with("\"6 mm\"", "\"5 mm\"").replace("\"0 mm\", \"3 ± 0.1 mm\"", "\"6 mm\", \"7 mm\"");
    let narrow = narrow.replace(
        "z = [\"2 mm\", \"2 mm\", \"0 mm\", \"0 mm\"]",
        "z = [\"0 mm\", \"1 mm\", \"2 mm\", \"3 mm\"]",
    );
    let all = lines(narrow.as_bytes(), &nothing);
    assert!(
        all.iter().any(|l| l.contains("warning") && l.contains("nearer to the axis (5 mm) than the first")),
        "{all:#?}"
    );
    one(
        &key_with("\"0 mm\", \"3 ± 0.1", "\"0 ± 0.1 mm\", \"3 ± 0.1"),
        "3:7 0 ± 0.1 mm → warning:",
        &["of a pole is not used"],
    );
    one(&key_with("z = [\"2 mm\"", "z = [\"2 ± 0.1 mm\""), "4:7 2 ± 0.1 mm → warning:", &["is not used"]);
    one(&key_with("\"3 ± 0.1 mm\"", "\"3 ± 4 mm\""), "3:15 3 ± 4 mm → warning:", &["the tolerance reaches"]);
}

#[test]
fn many_corners() {
    let list = |n: usize| (0..n).map(|i| format!("\"{i} mm\"")).collect::<Vec<_>>().join(", ");
    let text = |n: usize| {
        let text = key_with("\"0 mm\", \"3 ± 0.1 mm\", \"5 mm\", \"6 mm\"", &list(n));
        let text = text.replace("\"2 mm\", \"2 mm\", \"0 mm\", \"0 mm\"", &vec!["\"1 mm\""; n].join(", "));
        text.replace("[\"1.5 mm\", \"0.4 ± 0.02 mm\", \"1 mm\"]", "\"1 mm\"")
            .replace("rigid = [1]", "rigid = [1, 25]")
    };
    assert_eq!(clean(&text(200)).part().wall.stiffened().len(), 2);
    one(&text(201), "3:5 [", &["201 corners; at most 200 are taken"]);
}

#[test]
fn an_arc_narrower_than_half_the_wall_is_refused() {
    let tight = key_with("fillet = \"0.3 mm\"", "arc = [\"0 mm\", \"1.5 mm\", \"0 mm\"]");
    let tight = tight.replace("0.4 ± 0.02 mm", "3.2 mm");
    let all = lines(tight.as_bytes(), &nothing);
    assert!(all.iter().any(|l| l.starts_with("7:") && l.contains("too thick")), "{all:#?}");
}

#[test]
fn complete_spheres() {
    let ball = CAP.replace("60 ± 1 deg", "180 deg");
    let case = clean(&ball);
    assert!(case.part().meridian.ends_at_pole());
    assert_eq!(case.shape_name(), "complete sphere");
    let from_rise = clean(&ball.replace("radius", "rise"));
    assert!((from_rise.part().meridian.arc_sphere().0 - 12.5e-3).abs() < 1e-15);
    one(&ball.replace("[wall]", "hole_diameter = \"4 mm\"\n[wall]"), "6:18 4 mm →", &["complete sphere"]);
    one(&ball.replace("radius", "rim_diameter"), "4:17 25 mm →", &["complete sphere", "radius or rise"]);
    assert!(clean(CAP).part_with_depth(std::f64::consts::PI).unwrap().meridian.ends_at_pole());
}

/// Templates of devices, with files beside them for those that name some.
const DEVICES: [&str; 5] = ["disc", "key", "cone", "bowl", "disc with tables"];

fn device(which: usize) -> String {
    match new_template(DEVICES[which]) {
        Some(text) => text.to_owned(),
        None => {
            let text = new_template("disc").unwrap();
            text.replace("# moduli", "moduli").replace("# expansions", "expansions").replace("# pin", "pin")
        }
    }
}

fn device_files(name: &str) -> std::io::Result<Vec<u8>> {
    match name {
        "moduli.csv" => Ok(b"temperature_degC,youngs_1_GPa\n-50,150\n250,130\n".to_vec()),
        "expansions.csv" => Ok(b"temperature_degC,expansion_1_ppm/K\n-50,1\n250,4\n".to_vec()),
        _ => nothing(name),
    }
}

proptest! {
    /// Whatever is cut out of a device, put into it or repeated: findings that lie inside the file, and a case exactly when
    /// none is an error (`lines` checks both).
    #[test]
    fn any_damage_to_a_device_is_survived(
        from in 0..2400usize,
        count in 0..12usize,
        put in "[\\PC\n\"=\\[\\]{}0-9.±%-]{0,6}",
        which in 0..DEVICES.len(),
    ) {
        let text = device(which);
        let bytes = text.as_bytes();
        let from = from % bytes.len();
        let to = (from + count).min(bytes.len());
        lines(&[&bytes[..from], put.as_bytes(), &bytes[to..]].concat(), &device_files);
    }

    /// Any number of a device changed to anything: a part that is whole, or a reason.
    #[test]
    fn any_number_of_a_device_may_change(
        value in prop_oneof![-1e-2..3e-2f64, 0.0..500.0f64, Just(0.0), Just(1e300), Just(f64::INFINITY), Just(f64::NAN)],
        which in 0..DEVICES.len(),
        depth in proptest::option::of(-0.5..4.0f64),
    ) {
        let (case, found) = read_case(device(which).as_bytes(), &device_files);
        prop_assert!(found.is_empty(), "{found:?}");
        let case = case.unwrap();
        for i in 0..case.inputs().len() {
            match case.changed(&[(i, value)], depth) {
                Ok((part, _)) => {
                    let end = part.meridian.length();
                    prop_assert!(end > 0.0, "{} {value}", case.inputs()[i].key);
                    for s in [0.0, 0.3 * end, end] {
                        prop_assert!(part.wall.thickness(s) > 0.0);
                    }
                    prop_assert!(part.material.youngs > 0.0);
                }
                Err(impossible) => drop((impossible.to_string(), impossible.hint(), impossible.keys().len())),
            }
            drop(case.heat_with(&[(i, value)]));
        }
    }
}
