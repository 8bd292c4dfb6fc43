//! Walls of layers and heat: what is read, what it changes, and what is said when it cannot be.

use std::io;

use super::tests::{CAP, clean, nothing, with_files};
use super::tests_findings::{check_one, lines, one};
use super::*;
use crate::{Layers, Pin, Property, Wall};

/// A thermal disc of two layers; invented numbers.
const DISC: &str = r#"[shape]
kind = "cap"
rim_diameter = "20 mm"
rise = "0.5 mm"
[wall]
thickness = "0.2 mm"
[layers]
thickness = ["0.08 ± 0.002 mm", "0.12 mm"]
youngs_modulus = ["140 ± 5 GPa", "170 GPa"]
poisson_ratio = [0.28, 0.3]
expansion = ["1.5 ± 0.3 ppm/K", "19 ppm/K"]
[material]
density = "8100 kg/m^3"
strain_limit = "(0.4 ± 0.1) %"
[heat]
formed_at = "25 degC"
temperature = "60 ± 2 degC"
face_difference = "2 K"
from = "0 degC"
to = "200 degC"
preload = "0.5 ± 0.1 N"
pin_gap = "0.3 mm"
pin_stiffness = "2 N/mm"
creep_from = "80 degC"
[rim]
kind = "free"
"#;

fn disc_with(from: &str, to: &str) -> String {
    assert!(DISC.contains(from), "{from}");
    DISC.replace(from, to)
}

fn without(line: &str) -> String {
    disc_with(&format!("{line}\n"), "")
}

fn layers_of(part: &Part) -> &Layers {
    part.wall.layers().unwrap()
}

fn index(case: &Case, key: &str) -> usize {
    case.inputs().iter().position(|i| i.key == key).unwrap_or_else(|| panic!("no {key}"))
}

#[test]
fn every_number_arrives_in_si() {
    let case = clean(DISC);
    let layers = layers_of(case.part());
    assert_eq!(case.part().wall.knots(), Wall::uniform(0.2e-3).knots());
    let two = &layers.layers;
    assert!((two[0].share - 0.4).abs() < 1e-15 && (two[1].share - 0.6).abs() < 1e-15);
    assert_eq!(two[0].youngs, Property::Constant(140e9));
    assert_eq!((two[0].poisson, two[1].poisson), (0.28, 0.3));
    assert_eq!(two[1].expansion, Property::Constant(19e-6));
    assert_eq!((layers.formed_at, layers.temperature, layers.face_difference), (298.15, 333.15, 2.0));
    assert_eq!((layers.flexivity, layers.extra_curvature), (0.0, 0.0));
    let heat = case.heat().unwrap();
    assert_eq!(heat.range, [Some(273.15), Some(473.15)]);
    assert_eq!((heat.preload, heat.creep_from), (0.5, Some(353.15)));
    assert_eq!(heat.pin, Some(Pin { gap: 0.3e-3, stiffness: 2e3 }));
    assert_eq!(case.strain_limit(), Some(0.004));
    assert!(case.says_heat() && !case.says_motion());
    // Means over the thickness: closed form.
    let m = case.part().material;
    assert!((m.youngs / (0.4 * 140e9 + 0.6 * 170e9) - 1.0).abs() < 1e-15);
    assert!((m.poisson - (0.4 * 0.28 + 0.6 * 0.3)).abs() < 1e-15 && m.density == Some(8100.0));
    assert!(case.notes().iter().any(|n| n.contains("mean of its layers")), "{:?}", case.notes());
    let keys: Vec<&str> = case.inputs().iter().map(|i| i.key.as_str()).collect();
    assert_eq!(
        keys,
        [
            "shape.rim_diameter",
            "shape.rise",
            "layers.thickness[1]",
            "layers.thickness[2]",
            "layers.youngs_modulus[1]",
            "layers.youngs_modulus[2]",
            "layers.poisson_ratio[1]",
            "layers.poisson_ratio[2]",
            "layers.expansion[1]",
            "layers.expansion[2]",
            "material.density",
            "material.strain_limit",
            "heat.formed_at",
            "heat.temperature",
            "heat.face_difference",
            "heat.from",
            "heat.to",
            "heat.preload",
            "heat.pin_gap",
            "heat.pin_stiffness",
            "heat.creep_from",
        ]
    );
    assert_eq!(case.inputs()[8].to_string(), "1.5 ± 0.3 ppm/K");
}

#[test]
fn defaults() {
    let bare = DISC.split("[heat]").next().unwrap().to_owned() + "[rim]\nkind = \"free\"\n";
    let case = clean(&bare);
    assert_eq!(case.heat(), Some(Heat::default()));
    let layers = layers_of(case.part());
    assert_eq!((layers.formed_at, layers.temperature, layers.face_difference), (293.15, 293.15, 0.0));
    assert!(!case.says_heat() && case.notes().iter().any(|n| n.contains("free of stress at 20 degC")));
    let stop = clean(&without("pin_stiffness = \"2 N/mm\""));
    assert_eq!(stop.heat().unwrap().pin, Some(Pin { gap: 0.3e-3, stiffness: f64::INFINITY }));
    let formed = clean(&without("temperature = \"60 ± 2 degC\""));
    assert_eq!(layers_of(formed.part()).temperature, 298.15);
    let plain = clean(CAP);
    assert_eq!((plain.heat(), plain.strain_limit(), plain.part().wall.layers()), (None, None, None));
}

#[test]
fn changed_numbers_change_the_wall_or_the_question() {
    let case = clean(DISC);
    let thicker = case.part_with(index(&case, "layers.thickness[1]"), 0.18e-3).unwrap();
    assert!((thicker.wall.thickness(0.0) - 0.3e-3).abs() < 1e-18);
    assert!((layers_of(&thicker).layers[0].share - 0.6).abs() < 1e-15);
    let stiffer = case.part_with(index(&case, "layers.youngs_modulus[2]"), 200e9).unwrap();
    assert_eq!(layers_of(&stiffer).layers[1].youngs, Property::Constant(200e9));
    assert!(stiffer.material.youngs > case.part().material.youngs);
    let warmer = case.part_with(index(&case, "heat.temperature"), 400.0).unwrap();
    assert_eq!((layers_of(&warmer).temperature, layers_of(&warmer).formed_at), (400.0, 298.15));
    let deeper = case.part_with_depth(0.2).unwrap();
    assert_eq!(deeper.wall.layers(), case.part().wall.layers());
    for key in ["heat.from", "heat.preload", "heat.pin_gap", "heat.creep_from", "material.strain_limit"] {
        let i = index(&case, key);
        assert!(case.moves_only(i), "{key}");
        assert_eq!(&case.part_with(i, 300.0).unwrap(), case.part(), "{key}");
    }
    for key in ["heat.temperature", "heat.formed_at", "heat.face_difference", "layers.expansion[1]"] {
        assert!(!case.moves_only(index(&case, key)), "{key}");
    }
    let pushed = case.heat_with(&[(index(&case, "heat.preload"), 2.0)]).unwrap().unwrap();
    assert_eq!((pushed.preload, pushed.range), (2.0, case.heat().unwrap().range));
    let falls = case.heat_with(&[(index(&case, "heat.to"), 250.0)]).unwrap_err();
    assert_eq!(falls, Impossible::Heat(HeatFault::RangeFalls));
    assert!(matches!(case.heat_with(&[(99, 1.0)]), Err(Impossible::NoSuchInput { .. })));
}

#[test]
fn shares_and_walls_that_vary() {
    let varying = disc_with(
        "thickness = \"0.2 mm\"",
        "arc = [\"0 mm\", \"10.02 mm\"]\nthickness = [\"0.2 mm\", \"0.1 mm\"]",
    );
    let varying = varying
        .replace("thickness = [\"0.08 ± 0.002 mm\", \"0.12 mm\"]", "share = [\"1/3\", \"66.7 ± 1 %\"]");
    let varying = varying.replace("66.7 ± 1 %", "66.7 %");
    let case = clean(&varying);
    let shares: Vec<f64> = layers_of(case.part()).layers.iter().map(|l| l.share).collect();
    assert!((shares[0] - 1.0 / 3.0).abs() < 1e-3 && (shares.iter().sum::<f64>() - 1.0).abs() < 1e-15);
    assert_eq!(case.part().wall.knots().len(), 2);
    let moved = case.part_with(index(&case, "layers.share[1]"), 0.667).unwrap();
    assert!((layers_of(&moved).layers[0].share - 0.5).abs() < 1e-15);
    // Without [wall] the layers are the wall, on either face too.
    let alone = clean(&without("[wall]\nthickness = \"0.2 mm\""));
    assert_eq!(alone.part(), clean(DISC).part());
    let inner = clean(&disc_with("kind = \"cap\"", "kind = \"cap\"\nsurface = \"inner\""));
    let (mid, off) = (alone.part().meridian.arc_sphere().0, inner.part().meridian.arc_sphere().0);
    assert!((off - mid - 0.1e-3).abs() < 1e-12);
}

#[test]
fn one_layer_by_its_flexivity() {
    let text =
        CAP.replace("[rim]", "[layers]\nflexivity = \"15 ± 1 ppm/K\"\nextra_curvature = \"-2 1/m\"\n[rim]");
    let case = clean(&text);
    let layers = layers_of(case.part());
    assert_eq!((layers.flexivity, layers.extra_curvature, layers.layers.len()), (15e-6, -2.0, 1));
    let one_layer = &layers.layers[0];
    assert_eq!((one_layer.share, one_layer.poisson), (1.0, 0.49));
    assert_eq!(
        (one_layer.youngs.clone(), one_layer.expansion.clone()),
        (Property::Constant(1.2e6), Property::Constant(0.0))
    );
    assert_eq!(case.part().material.youngs, 1.2e6);
    // The material's constants reach the layer.
    let soft = case.part_with(index(&case, "material.youngs_modulus"), 1e6).unwrap();
    assert_eq!(layers_of(&soft).layers[0].youngs, Property::Constant(1e6));
    let plain = clean(&CAP.replace("[rim]", "[layers]\nexpansion = \"300 ppm/K\"\n[rim]"));
    assert_eq!(layers_of(plain.part()).layers[0].expansion, Property::Constant(3e-4));
}

const MODULI: &str = "temperature_degC,youngs_1_GPa\n-50,150\n20,140\n300,120\n";
const EXPANSIONS: &str =
    "temperature_degC,expansion_1_ppm/K,expansion_2_ppm/K\n-50,1,18\n20,1.5,19\n300,5,20\n";

fn tabulated() -> String {
    let tables = "moduli = \"moduli.csv\"\nexpansions = \"expansions.csv\"\n[material]";
    without("expansion = [\"1.5 ± 0.3 ppm/K\", \"19 ppm/K\"]").replace("[material]", tables)
}

fn tables<'t>(moduli: &'t str, expansions: &'t str) -> impl Fn(&str) -> io::Result<Vec<u8>> + 't {
    move |name| match name {
        "moduli.csv" => Ok(moduli.as_bytes().to_vec()),
        "expansions.csv" => Ok(expansions.as_bytes().to_vec()),
        _ => nothing(name),
    }
}

#[test]
fn properties_over_temperature() {
    let case = with_files(&tabulated(), &tables(MODULI, EXPANSIONS));
    let layers = layers_of(case.part());
    assert_eq!(layers.known_between(), [223.15, 573.15]);
    let [youngs, _] = layers.layers[0].youngs.at(293.15);
    assert!((youngs - 140e9).abs() < 1.0);
    assert_eq!(layers.layers[1].youngs, Property::Constant(170e9));
    assert!((layers.layers[1].expansion.at(293.15)[0] - 19e-6).abs() < 1e-18);
    // The mean is taken at the part's temperature.
    let want = 0.4 * layers.layers[0].youngs.at(333.15)[0] + 0.6 * 170e9;
    assert!((case.part().material.youngs / want - 1.0).abs() < 1e-15);
    // The replaced entry is no number to vary; the other is.
    let keys: Vec<&str> = case.inputs().iter().map(|i| i.key.as_str()).collect();
    assert!(!keys.contains(&"layers.youngs_modulus[1]") && keys.contains(&"layers.youngs_modulus[2]"));
    let hot = case.part_with(index(&case, "heat.temperature"), 600.0).unwrap_err();
    assert!(
        matches!(hot, Impossible::Heat(HeatFault::OutsideTable { key: "heat.temperature", .. })),
        "{hot:?}"
    );
    let other = with_files(&tabulated(), &tables(&MODULI.replace("120", "110"), EXPANSIONS));
    assert_ne!(case.digest(), other.digest());
}

#[test]
fn layers_from_the_shelf() {
    let named = |names: &str| {
        let text = without("youngs_modulus = [\"140 ± 5 GPa\", \"170 GPa\"]")
            .replace("poisson_ratio = [0.28, 0.3]\n", "");
        text.replace("expansion = [\"1.5 ± 0.3 ppm/K\", \"19 ppm/K\"]", names)
    };
    let case = clean(&named("name = [\"invar-36\", \"Iron with 22 % nickel, 3 % chromium\"]"));
    let layers = &layers_of(case.part()).layers;
    assert_eq!(layers[0].youngs, Property::Constant(141e9));
    assert_eq!(layers[1].expansion, Property::Constant(18.7 * 1e-6));
    let low = &case.inputs()[index(&case, "layers.expansion[1]")];
    assert!(low.from_shelf && low.to_string() == "1.4 ± 0.6 ppm/K", "{low}");
    assert_eq!(case.inputs()[index(&case, "layers.youngs_modulus[2]")].to_string(), "178 ± 12 GPa");
    assert!(case.notes().iter().any(|n| n.contains("layers from the shelf")));
    let own =
        clean(&named("name = [\"invar-36\", \"nickel-iron-22\"]\nexpansion = [\"1.2 ppm/K\", \"18 ppm/K\"]"));
    assert_eq!(layers_of(own.part()).layers[0].expansion, Property::Constant(1.2e-6));
    one(
        &named("name = [\"invar-36\", \"nickel-iron-23\"]"),
        "9:22 nickel-iron-23 →",
        &["not on the shelf", "did you mean `nickel-iron-22`?"],
    );
    one(&named("name = [\"invar-36\"]"), "9:8 [", &["1 names for 2 layers"]);
    one(&named("name = [\"invar-36\", 3]"), "9:21 3 →", &["`name` takes texts", "nickel-iron-22"]);
    one(
        &named("name = [\"invar-36\", \"silicone-30\"]"),
        "7:2 layers →",
        &["1 of 2 layers have no expansion"],
    );
    one(&named("name = true"), "9:8 true →", &["`name` takes a list of texts"]);
    let alone = CAP.replace("[rim]", "[layers]\nname = [\"brass\", \"brass\"]\n[rim]");
    let all = lines(alone.as_bytes(), &nothing);
    assert!(all.iter().any(|l| l.starts_with("13:8 [") && l.contains("nothing says how thick")), "{all:#?}");
}

#[track_caller]
fn bad_tables(text: &str, moduli: &str, expansions: &str, start: &str, contains: &[&str]) {
    check_one(&lines(text.as_bytes(), &tables(moduli, expansions)), start, contains);
}

#[test]
fn tables_that_do_not_do() {
    let text = tabulated();
    let moduli = |from: &str, to: &str| MODULI.replace(from, to);
    bad_tables(&text, &moduli("20,140", "-60,140"), EXPANSIONS, "moduli.csv:3:1 ", &["must increase"]);
    bad_tables(
        &text,
        &moduli("140", "-140"),
        EXPANSIONS,
        "moduli.csv:3:1 ",
        &["a modulus must be greater than 0"],
    );
    bad_tables(&text, &moduli("-50,", "-300,"), EXPANSIONS, "moduli.csv:2:1 ", &["above absolute zero"]);
    bad_tables(
        &text,
        "temperature_degC,youngs_1_GPa\n20,140\n",
        EXPANSIONS,
        "moduli.csv:2:1 ",
        &["one row is no table"],
    );
    let wrong = lines(text.as_bytes(), &tables("temperature_degC,modulus_GPa\n0,1\n9,1\n", EXPANSIONS));
    assert!(
        wrong
            .iter()
            .any(|l| l.contains("no column `youngs_1`") && l.contains("temperature_degC,youngs_1_MPa")),
        "{wrong:#?}"
    );
    bad_tables(&text, &moduli("GPa", "Gpa"), EXPANSIONS, "moduli.csv:1:18 ", &["unknown unit `Gpa`"]);
    // A third layer there is none of.
    let third = MODULI.replace("youngs_1_GPa", "youngs_1_GPa,youngs_3_GPa").replace("0\n", "0,1\n");
    bad_tables(&text, &third, EXPANSIONS, "moduli.csv:1:31 youngs_3_GPa → warning:", &["is not used"]);
    let part = "temperature_degC,expansion_1_ppm/K\n-50,1\n300,5\n";
    bad_tables(&text, MODULI, part, "7:2 layers →", &["1 of 2 layers have no expansion"]);
    // Temperatures that the tables do not reach.
    bad_tables(
        &text,
        &moduli("300,", "180,"),
        EXPANSIONS,
        "21:7 200 degC →",
        &["`heat.to`: at 201 degC", "from -50 degC to 180 degC"],
    );
    bad_tables(&text, &moduli("-50,", "19,"), EXPANSIONS, "20:9 0 degC →", &["`heat.from`"]);
    bad_tables(
        &text,
        &moduli("-50,150\n20,140\n300,120", "70,150\n300,120"),
        "temperature_degC,expansion_1_1/K,expansion_2_1/K\n-50,1e-6,1e-6\n60,1e-6,1e-6\n",
        "11:11 moduli.csv →",
        &["no temperature in common"],
    );
    let formed = text.replace("formed_at = \"25 degC\"\n", "").replace("from = \"0 degC\"\n", "");
    let all = lines(formed.as_bytes(), &tables(&moduli("-50,150\n20,140", "30,150\n40,140"), EXPANSIONS));
    check_one(
        &all,
        "11:11 moduli.csv →",
        &["`heat.formed_at`: at 20 degC", "20 degC is taken when it is left out"],
    );
    check_one(
        &lines(text.as_bytes(), &|n: &str| {
            tables(MODULI, EXPANSIONS)(if n == "moduli.csv" { "" } else { n })
        }),
        "11:11 moduli.csv →",
        &["there is no file"],
    );
}

#[test]
fn layers_that_do_not_do() {
    one(
        &disc_with("0.12 mm", "0.13 mm"),
        "8:13 [",
        &["the layers add up to 0.21 mm, the wall is 0.2 mm", "leave out the wall's"],
    );
    one(
        &disc_with("\"0.2 mm\"", "\"0.2 ± 0.01 mm\""),
        "6:14 0.2 ± 0.01 mm → warning:",
        &["of a wall whose layers are given"],
    );
    let list = disc_with(
        "thickness = \"0.2 mm\"",
        "arc = [\"0 mm\", \"10.02 mm\"]\nthickness = [\"0.2 mm\", \"0.1 mm\"]",
    );
    one(&list, "9:1 thickness →", &["do not go with a wall that varies", "`share`"]);
    let shares = |s: &str| disc_with("thickness = [\"0.08 ± 0.002 mm\", \"0.12 mm\"]", s);
    one(&shares("share = [0.5, 0.4]"), "8:9 [", &["add up to 0.9000, not 1"]);
    one(&shares("share = [0.5, -0.5]"), "8:15 -0.5 →", &["greater than 0"]);
    one(
        &disc_with(
            "youngs_modulus = [\"140 ± 5 GPa\"",
            "share = [0.4, 0.6]\nyoungs_modulus = [\"140 ± 5 GPa\"",
        ),
        "9:1 share →",
        &["exclude each other"],
    );
    one(&disc_with("[\"140 ± 5 GPa\", ", "["), "9:18 [", &["1 values for 2 layers"]);
    one(&disc_with("[0.28, 0.3]", "[0.28, 0.3, 0.3]"), "10:17 [", &["3 values for 2 layers"]);
    one(
        &disc_with("[\"1.5 ± 0.3 ppm/K\", \"19 ppm/K\"]", "\"19 ppm/K\""),
        "11:14 19 ppm/K →",
        &["1 values for 2 layers"],
    );
    one(
        &without("expansion = [\"1.5 ± 0.3 ppm/K\", \"19 ppm/K\"]"),
        "7:2 layers →",
        &["`expansion` is missing", "convex face"],
    );
    one(
        &disc_with("[material]", "flexivity = \"15 ppm/K\"\n[material]"),
        "12:1 flexivity →",
        &["does not go with 2 layers"],
    );
    one(&disc_with("\"19 ppm/K\"", "\"19 mm\""), "11:37 mm →", &["an expansion per kelvin is wanted"]);
    one(
        &disc_with("density", "youngs_modulus = \"150 GPa\"\ndensity"),
        "13:1 youngs_modulus → warning:",
        &["is not used: every layer has its own"],
    );
    let many = shares("share = [0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.1, 0.2]");
    one(&many, "8:9 [", &["9 layers; 1 to 8 are taken"]);
    one(&CAP.replace("[rim]", "[layers]\n[rim]"), "12:2 layers →", &["`expansion` is missing"]);
    let lost = "[layers]\nexpansion = [\"1 ppm/K\", \"19 ppm/K\"]\n[rim]";
    one(
        &CAP.replace("[rim]", lost),
        "13:13 [",
        &["nothing says how thick the layers are", "share = [0.5, 0.5]"],
    );
    // The material lends what the layers lack.
    let lent = without("youngs_modulus = [\"140 ± 5 GPa\", \"170 GPa\"]");
    one(&lent, "11:2 material →", &["`youngs_modulus` is missing"]);
    one(&disc_with("(0.4 ± 0.1) %", "0.4 % ± 0.1 %"), "14:29 %", &["two ways"]);
    one(&disc_with("(0.4 ± 0.1) %", "-1 %"), "14:17 -1 % →", &["greater than 0"]);
}

#[test]
fn heat_that_does_not_do() {
    one(
        &CAP.replace("[rim]", "[heat]\nfrom = \"0 degC\"\n[rim]"),
        "12:2 heat →",
        &["needs a wall of `[layers]`", "flexivity"],
    );
    one(&disc_with("to = \"200 degC\"", "to = \"0 degC\""), "20:7 0 degC →", &["`to` must be above `from`"]);
    one(&without("pin_gap = \"0.3 mm\""), "22:1 pin_stiffness →", &["needs `pin_gap`"]);
    one(&disc_with("0.3 mm", "-0.3 mm"), "22:12 -0.3 mm →", &["0 or greater"]);
    one(&disc_with("60 ± 2 degC", "-300 degC"), "17:16 -300 degC →", &["above absolute zero"]);
    let all = lines(disc_with("\"2 K\"", "\"900 K\"").as_bytes(), &nothing);
    assert!(
        all.len() == 2 && all[0].contains("unusual") == all[1].contains("at or below absolute zero")
            || all.iter().any(|l| l.contains("at or below absolute zero")),
        "{all:#?}"
    );
    one(&disc_with("\"0.5 ± 0.1 N\"", "\"0.5 mm\""), "21:16 mm →", &["a force is wanted"]);
    let both = disc_with("[rim]", "[surroundings]\ntemperature = \"23 degC\"\n[rim]");
    one(
        &both,
        "26:16 23 degC → warning:",
        &["`[heat]` has the part at 60 degC, `[surroundings]` at 23 degC"],
    );
    // A load that needs a density finds it in the material still.
    let weighed =
        disc_with("kind = \"free\"", "kind = \"table\"\n[load]\nkind = \"pole\"\nweight = \"1 g0\"");
    assert!(clean(&weighed).load().is_some());
    let light = weighed.replace("density = \"8100 kg/m^3\"\n", "");
    one(&light, "28:1 weight →", &["needs a density"]);
}
