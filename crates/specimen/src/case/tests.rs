//! Whole cases: what is read, and what the case answers.

use std::io;

use super::*;
use crate::Rim;

pub(super) fn nothing(_: &str) -> io::Result<Vec<u8>> {
    Err(io::Error::from(io::ErrorKind::NotFound))
}

pub(super) const CAP: &str = r#"title = "Test cap"
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
kind = "free"
"#;

/// Three straight pieces.
pub(super) const CORNERS: &str = r#"[shape]
kind = "corners"
r = ["0 mm", "3 mm", "5 mm", "6 mm"]
z = ["2 mm", "2 mm", "0 mm", "0 mm"]
[wall]
thickness = "0.4 mm"
[material]
youngs_modulus = "3 MPa"
poisson_ratio = 0.49
[rim]
kind = "ring"
"#;

/// A case without findings.
pub(super) fn clean(text: &str) -> Case {
    with_files(text, &nothing)
}

pub(super) fn with_files(text: &str, open: &dyn Fn(&str) -> io::Result<Vec<u8>>) -> Case {
    let (case, found) = read_case(text.as_bytes(), open);
    assert!(found.is_empty(), "{found:#?}");
    case.unwrap()
}

fn cap_of(part: &Part) -> crate::SphereCap {
    match &part.meridian {
        Meridian::Sphere(c) => *c,
        other => panic!("{other:?}"),
    }
}

#[test]
fn plain_cap() {
    let case = clean(CAP);
    assert_eq!((case.title.as_str(), case.shape_name()), ("Test cap", "cap of a sphere"));
    let c = cap_of(case.part());
    assert_eq!(c.radius, 0.025);
    assert!((c.half_angle - 60f64.to_radians()).abs() < 1e-15);
    assert_eq!(case.part().wall, crate::Wall::uniform(0.0021));
    assert_eq!(case.part().rim, Rim::Free);
    let keys: Vec<&str> = case.inputs().iter().map(|i| i.key.as_str()).collect();
    assert_eq!(
        keys,
        [
            "shape.radius",
            "shape.half_angle",
            "wall.thickness",
            "material.youngs_modulus",
            "material.poisson_ratio",
            "material.density"
        ]
    );
    let shown: Vec<String> = case.inputs().iter().map(Input::to_string).collect();
    assert_eq!(
        shown,
        ["25 mm", "60.0 ± 1.0 deg", "2.10 ± 0.05 mm", "1.20 ± 0.12 MPa", "0.49", "1080 kg/m^3"]
    );
    assert_eq!(case.inputs()[1].unit, "deg");
}

#[test]
fn one_input_changed() {
    let case = clean(
        &CAP.replace("radius = \"25 mm\"", "rim_diameter = \"40 mm\"")
            .replace("half_angle = \"60 ± 1 deg\"", "rise = \"10 mm\""),
    );
    let c = cap_of(case.part());
    assert!((c.radius - 0.025).abs() < 1e-16 && (libm::sin(c.half_angle) - 0.8).abs() < 1e-15);
    // Rise up, rim kept: R = (a² + H²)/2H.
    let d = cap_of(&case.part_with(1, 0.02).unwrap());
    assert!((d.radius - 0.02).abs() < 1e-16 && (d.half_angle - std::f64::consts::FRAC_PI_2).abs() < 1e-15);
    let thick = case.part_with(2, 0.003).unwrap();
    assert_eq!((thick.wall.thickness(0.0), &thick.meridian), (0.003, &case.part().meridian));
    for (i, input) in case.inputs().iter().enumerate() {
        assert_eq!(&case.part_with(i, input.value).unwrap(), case.part(), "{}", input.key);
        assert!(matches!(case.part_with(i, -1.5), Err(Impossible::OutOfRange { .. })), "{}", input.key);
    }
    assert_eq!(case.part_with(99, 1.0), Err(Impossible::NoSuchInput { input: 99, count: 6 }));
}

#[test]
fn sizes_on_a_face_move_with_the_thickness() {
    let mid = cap_of(clean(CAP).part());
    for (surface, sign) in [("inner", 1.0), ("outer", -1.0)] {
        let case = clean(&CAP.replace(
            "kind = \"cap\"",
            &format!("kind = \"cap\"\nsurface = \"{surface}\"\nhole_diameter = \"4 mm\""),
        ));
        let c = cap_of(case.part());
        assert!((c.radius - (0.025 + sign * 0.00105)).abs() < 1e-17);
        assert_eq!(c.half_angle, mid.half_angle);
        assert!((libm::sin(c.hole_angle) - 0.002 / 0.025).abs() < 1e-16, "the hole is measured on the face");
        assert_eq!(case.shape_name(), "spherical zone with a pole hole");
        let thick = case.inputs().iter().position(|i| i.key == "wall.thickness").unwrap();
        let c = cap_of(&case.part_with(thick, 0.004).unwrap());
        assert!((c.radius - (0.025 + sign * 0.002)).abs() < 1e-17);
    }
}

#[test]
fn depth_of_a_cap_keeps_radius_and_rim_side_of_the_wall() {
    let list = "arc = [\"0 mm\", \"10 mm\", \"26.18 mm\"]\nthickness = [\"2 mm\", \"2 ± 0.1 mm\", \"1 mm\"]\noffset = \"0 ± 0.05 mm\"";
    let case = clean(&CAP.replace("thickness = \"2.10 ± 0.05 mm\"", list));
    assert_eq!(case.depth(), cap_of(case.part()).half_angle);
    let natural = case.part().meridian.length();
    for depth in [0.7, 1.4] {
        let part = case.part_with_depth(depth).unwrap();
        let c = cap_of(&part);
        assert_eq!((c.radius, c.half_angle), (0.025, depth));
        for from_rim in [0.0, 0.003, 0.012, 0.015] {
            let (a, b) = (natural - from_rim, part.meridian.length() - from_rim);
            assert!(
                (case.part().wall.thickness(a) - part.wall.thickness(b)).abs() < 1e-12,
                "{depth} {from_rim}"
            );
        }
        assert!(part.wall.knots().iter().all(|k| k.0 >= 0.0 && k.0 <= part.meridian.length()));
    }
    let keys: Vec<&str> = case.inputs().iter().map(|i| i.key.as_str()).collect();
    assert_eq!(keys[2..6], ["wall.thickness[1]", "wall.thickness[2]", "wall.thickness[3]", "wall.offset"]);
    let thicker = case.part_with(5, 1e-4).unwrap();
    assert!((thicker.wall.thickness(0.0) - 0.0021).abs() < 1e-15);
    assert!(matches!(case.part_with(5, -1.5e-3), Err(Impossible::ThinTable { row: 3, .. })));
    assert!(matches!(case.part_with_depth(3.2), Err(Impossible::HalfAngle { .. })));
    assert_eq!(&case.part_with_depth(case.depth()).unwrap(), case.part());
}

#[test]
fn shelf_values_come_with_their_spread_and_give_way_to_numbers() {
    let text = CAP.replace(
        "youngs_modulus = \"1.2 MPa ± 10 %\"\npoisson_ratio = 0.49\ndensity = \"1080 kg/m^3\"",
        "name = \"silicone-30\"\nyoungs_modulus = \"1.5 MPa\"",
    );
    let case = clean(&text);
    let of = |key: &str| case.inputs().iter().find(|i| i.key == key).unwrap().clone();
    assert_eq!(of("material.youngs_modulus").value, 1.5e6);
    assert!(!of("material.youngs_modulus").from_shelf);
    let nu = of("material.poisson_ratio");
    assert_eq!((nu.value, nu.half_width, nu.from_shelf), (0.495, Some(0.005), true));
    assert_eq!(case.part().material.density, Some(1090.0));
    assert!(case.notes()[0].contains("from memory"), "{:?}", case.notes());
}

#[test]
fn every_rim() {
    for (word, rim) in
        [("table", Rim::Table), ("ring", Rim::Ring), ("hinged", Rim::Hinged), ("clamped", Rim::Clamped)]
    {
        assert_eq!(clean(&CAP.replace("\"free\"", &format!("\"{word}\""))).part().rim, rim);
    }
    let case =
        clean(&CAP.replace("\"free\"", "\"elastic\"\nradial = \"0.2 ± 0.1 N/mm/mm\"\nturning = \"3 N/rad\""));
    let springs = crate::RimSprings { radial: 2e5, axial: 0.0, circumferential: 0.0, turning: 3.0 };
    assert_eq!(case.part().rim, Rim::Elastic(springs));
    let i = case.inputs().iter().position(|i| i.key == "rim.turning").unwrap();
    assert!(matches!(case.part_with(i, 5.0).unwrap().rim, Rim::Elastic(k) if k.turning == 5.0));
}

pub(super) const PROFILE: &str = r#"[shape]
kind = "meridian"
file = "profile.csv"
position_sd = "0.02 mm"
[wall]
thickness = "2 mm"
[material]
name = "silicone-30"
[rim]
kind = "free"
"#;

/// A sphere of 25 mm to 50 degrees, every point moved across by turns, as a dome.
pub(super) fn profile(sign: f64) -> String {
    let mut out = "\u{feff}r_mm;z_mm\n# invented for this test\n".to_owned();
    for i in 0..41 {
        let t = f64::from(i) / 40.0 * 50f64.to_radians();
        let radius = 25.0 + if i % 2 == 0 { 0.01 } else { -0.01 };
        let (r, z) = (radius * libm::sin(t), 25.0 - radius * libm::cos(t));
        out.push_str(&format!("{r:.5};{:.5}\r\n", sign * z));
    }
    out
}

#[test]
fn measured_profile() {
    let files =
        |name: &str| if name == "profile.csv" { Ok(profile(-1.0).into_bytes()) } else { nothing(name) };
    let case = with_files(PROFILE, &files);
    assert_eq!((case.shape_name(), case.depth()), ("measured meridian", 1.0));
    let (radius, angle) = case.part().meridian.arc_sphere();
    assert!((radius - 0.025).abs() < 1e-4 && (angle - 50f64.to_radians()).abs() < 5e-3, "{radius} {angle}");
    assert!(case.notes().iter().any(|n| n.contains("dome")), "{:?}", case.notes());
    assert!((5e-6..1.5e-5).contains(&case.fit().unwrap().rms_m));
    let rise = |p: &Part| p.meridian.at(p.meridian.length()).z;
    let deeper = case.part_with_depth(1.1).unwrap();
    assert!((rise(&deeper) / rise(case.part()) - 1.1).abs() < 1e-3);
    let rim = |p: &Part| p.meridian.at(p.meridian.length()).r;
    assert!((rim(&deeper) - rim(case.part())).abs() < 2e-5);
    // Refitting at the natural depth is the natural curve.
    let near = case.part_with_depth(1.0 + 1e-12).unwrap();
    assert!((near.meridian.length() - case.part().meridian.length()).abs() < 1e-11);
}

#[test]
fn measured_scale_and_face() {
    let files = |_: &str| Ok(profile(1.0).into_bytes());
    let mid = with_files(PROFILE, &files);
    let scaled = PROFILE.replace("[wall]", "scale = \"1.02 ± 0.01\"\n[wall]");
    let case = with_files(&scaled, &files);
    assert_eq!(case.inputs()[0].key, "shape.scale");
    assert!((case.part().meridian.length() / mid.part().meridian.length() - 1.02).abs() < 1e-13);
    let back = case.part_with(0, 1.0).unwrap();
    assert_eq!(back.meridian.length(), mid.part().meridian.length());
    for (surface, sign) in [("inner", 1.0), ("outer", -1.0)] {
        let case =
            with_files(&PROFILE.replace("[wall]", &format!("surface = \"{surface}\"\n[wall]")), &files);
        let (a, b) = (case.part().meridian.clone(), &mid.part().meridian);
        // A parallel curve at distance d is longer by d times its turn.
        let turn = |m: &Meridian| libm::atan2(m.at(m.length()).sin, m.at(m.length()).cos);
        assert!((turn(&a) - turn(b)).abs() < 1e-6);
        assert!((a.length() - b.length() - sign * 0.001 * turn(b)).abs() < 1e-8, "{surface}");
    }
}

#[test]
fn wall_from_a_file() {
    let files = |_: &str| Ok(b"thickness (um), arc [cm]\n2000, 0\n1800, 1\n1000, 2.618\n".to_vec());
    let case = with_files(&CAP.replace("thickness = \"2.10 ± 0.05 mm\"", "table = \"wall.csv\""), &files);
    assert!((case.part().wall.thickness(0.005) - 0.0019).abs() < 1e-15);
    assert!(!case.part().wall.is_uniform());
}

#[test]
fn digest_changes_with_every_file() {
    let (a, b) = (clean(CAP).digest(), clean(&CAP.replace("25 mm", "25.0 mm")).digest());
    assert!(a.len() == 16 && a != b);
    assert_eq!(a, clean(CAP).digest());
    let up = with_files(PROFILE, &|_: &str| Ok(profile(1.0).into_bytes())).digest();
    let other =
        with_files(PROFILE, &|_: &str| Ok(profile(1.0).replace("test", "Test").into_bytes())).digest();
    assert_ne!(up, other);
}

#[test]
fn template_is_clean() {
    let case = clean(new_cap_template());
    assert!(case.title.contains("invented"));
    assert_eq!(case.shape_name(), "cap of a sphere");
}

/// Every template is clean as it stands and with any one of its commented lines made live, but for those that name a file or
/// stand for other lines.
#[test]
fn every_template_is_clean() {
    let shapes = TEMPLATES.map(|kind| {
        let text = new_template(kind).unwrap();
        let case = clean(text);
        assert!(case.title.contains("(invented numbers)"), "{kind}");
        if kind != "cap" {
            for line in text.lines().filter(|l| l.starts_with("# ") && l.contains(" = ")) {
                if [".csv", "flexivity", "arc = "].iter().any(|w| line.contains(w)) {
                    continue;
                }
                let live = text.replace(line, line.trim_start_matches("# "));
                if line.contains("pin_stiffness") {
                    let (_, found) = read_case(live.as_bytes(), &nothing);
                    assert!(found[0].says.contains("needs `pin_gap`"));
                } else {
                    clean(&live);
                }
            }
        }
        case.shape_name().to_owned()
    });
    let lines = "straight lines and arcs";
    assert_eq!(shapes, ["cap of a sphere", "cap of a sphere", lines, "cone", lines]);
    let disc = clean(new_template("disc").unwrap());
    assert!(disc.heat().is_some() && disc.part().wall.layers().is_some());
    assert_eq!(new_template("ball"), None);
}

#[test]
fn schema_is_fresh() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../schema/case.schema.json");
    if std::env::var_os("UPDATE_SCHEMA").is_some() {
        std::fs::create_dir_all(concat!(env!("CARGO_MANIFEST_DIR"), "/../../schema")).unwrap();
        std::fs::write(path, json_schema()).unwrap();
    }
    let kept = std::fs::read_to_string(path).unwrap_or_default();
    assert!(kept == json_schema(), "schema/case.schema.json is stale: run this test with UPDATE_SCHEMA=1");
}

#[test]
fn every_example_of_the_key_table_parses() {
    for key in keys::KEYS {
        if let keys::Takes::Number(d) = key.takes {
            let q = calotte_quantity::Quantity::parse(key.example, d).unwrap();
            assert!(
                key.range.allows(q.value) && q.value >= key.usual.0 && q.value <= key.usual.1,
                "{}",
                key.path()
            );
        }
    }
}

#[test]
fn the_page_on_the_case_file_is_true() {
    let page = include_str!("../../../../docs/case-file.md");
    let example = page.split("```toml\n").nth(1).and_then(|p| p.split("```").next()).unwrap();
    clean(example);
    for part in page.split("```toml\n[wall]\n").skip(1) {
        let wall = part.split("```").next().unwrap();
        if wall.contains("rigid") {
            clean(&CORNERS.replace("thickness = \"0.4 mm\"\n", wall));
            continue;
        }
        let files = |_: &str| Ok(b"arc_mm,thickness_mm\n0,2\n26.18,1.8\n".to_vec());
        with_files(&CAP.replace("thickness = \"2.10 ± 0.05 mm\"", wall), &files);
    }
    for part in page.split("```toml\n[shape]\n").skip(1) {
        let shape = part.split("```").next().unwrap();
        let (before, after) = (CORNERS.find("[shape]").unwrap(), CORNERS.find("[wall]").unwrap());
        clean(&format!("{}[shape]\n{shape}{}", &CORNERS[..before], &CORNERS[after..]));
    }
    for part in page.split("```toml\n[load]\n").skip(1) {
        let load = part.split("```").next().unwrap();
        let rim = if load.contains("rim-displacement") { "hinged" } else { "ring" };
        let case = clean(&format!("{}[load]\n{load}", CAP.replace("\"free\"", &format!("\"{rim}\""))));
        assert!(case.load().is_some());
    }
    for table in ["memory", "hold", "surroundings"] {
        let examples: Vec<&str> = page.split(&format!("```toml\n[{table}]\n")).skip(1).collect();
        assert!(!examples.is_empty(), "{table}");
        for part in examples {
            let inside = part.split("```").next().unwrap();
            let around =
                if inside.contains("shift") { "[surroundings]\ntemperature = \"25 degC\"\n" } else { "" };
            assert!(clean(&format!("{CAP}[{table}]\n{inside}{around}")).says_motion());
        }
    }
    let tables = |name: &str| {
        let header = if name == "moduli.csv" { "youngs_1_GPa" } else { "expansion_2_ppm/K" };
        Ok(format!("temperature_degC,{header}\n0,19\n200,20\n").into_bytes())
    };
    let layered = |inside: &str| CAP.replace("[material]", &format!("[layers]\n{inside}[material]"));
    for part in page.split("```toml\n[layers]\n").skip(1) {
        let inside = part.split("```").next().unwrap();
        let mut text = layered(inside);
        if inside.contains("\nyoungs_modulus") || inside.contains("\nname") {
            text = text.replace("youngs_modulus = \"1.2 MPa ± 10 %\"\npoisson_ratio = 0.49\n", "");
        }
        if inside.contains("thickness = [") {
            text = text.replace("[wall]\nthickness = \"2.10 ± 0.05 mm\"\n", "");
        }
        assert!(with_files(&text, &tables).part().wall.layers().is_some());
    }
    for part in page.split("```toml\n[heat]\n").skip(1) {
        let inside = part.split("```").next().unwrap();
        assert!(clean(&format!("{}[heat]\n{inside}", layered("expansion = \"12 ppm/K\"\n"))).says_heat());
    }
    for (page, count) in [(page, 1), (include_str!("../../../../docs/size.md"), 1)] {
        let examples: Vec<&str> = page.split("```toml\n[size]\n").skip(1).collect();
        assert_eq!(examples.len(), count);
        for part in examples {
            let inside = part.split("```").next().unwrap();
            assert!(clean(&format!("{CAP}[size]\n{inside}")).size().is_some_and(|t| t.vary.len() == 2));
        }
    }
    let words = [
        keys::SHAPES,
        keys::LOADS,
        keys::STARTS,
        keys::CONTROLS,
        keys::RIMS,
        keys::SHIFTS,
        keys::HELD,
        keys::LET_GO,
        keys::RESTS,
    ]
    .concat();
    assert!(words.iter().all(|w| page.contains(&format!("`\"{w}\"`"))), "{words:?}");
    for key in keys::KEYS {
        assert!(page.contains(&format!("`{}`", key.name)), "{} is not described", key.path());
    }
    let unit = |name: &str, d| calotte_quantity::find_unit(name, d).unwrap();
    for m in crate::shelf() {
        let prefix = if m.youngs_modulus.value > 1e9 { "GPa" } else { "MPa" };
        let say = |v: &crate::Stated, u| show(v.value, Some(v.half_width), u);
        let line = format!(
            "| `{}` | {} | {} | {} | {} |\n",
            m.key,
            m.name,
            say(&m.youngs_modulus, unit(prefix, Dimension::Pressure)),
            say(&m.poisson_ratio, unit("", Dimension::Number)),
            say(&m.density, unit("kg/m^3", Dimension::Density)).trim_end_matches(" kg/m^3"),
        );
        assert!(page.contains(&line), "{line}");
        if let Some(a) = &m.expansion {
            let line = format!("| `{}` | {} |\n", m.key, say(a, unit("ppm/K", Dimension::Expansion)));
            assert!(page.contains(&line), "{line}");
        }
        let shares: Vec<String> = m.memory.iter().map(|(g, _)| format!("{:.2}", g.value)).collect();
        let line = format!("| `{}` | {} |\n", m.key, shares.join(", "));
        assert_eq!(page.contains(&line), !m.memory.is_empty(), "{line}");
        assert!(
            m.memory
                .iter()
                .zip([0.1, 10.0, 1000.0])
                .all(|((g, t), at)| *t == at && g.half_width == 0.5 * g.value)
        );
    }
}
