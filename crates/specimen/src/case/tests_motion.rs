//! Memory, hold and surroundings of a case: what is read, what is refused, what changed numbers make of it.

use std::io;

use super::tests::{CAP, clean, nothing, with_files};
use super::tests_findings::{check_one, lines, one};
use super::*;
use crate::{Air, HeldShape, Hold, LetGo, Memory, MemoryTerm, Motion, Rests, Surroundings, TimeShift};

/// Line 14 starts `[memory]`, line 21 `[hold]`, line 26 `[surroundings]`.
const MOVED: &str = r#"[memory]
shares = [0.10, "0.05 ± 0.01"]
times = ["1 s", "2 min"]
shift = "wlf"
c1 = 17.44
c2 = "51.6 K"
reference = "23 degC"
[hold]
time = "60 ± 1 s"
let_go = "ramp"
ramp = "50 ms"
sideways = "0.01 mm"
[surroundings]
temperature = "30 ± 2 degC"
gravity = "1 g0"
rests = "table"
air_density = "1.2 kg/m^3"
drag = 1.2
damping = "30 1/min"
"#;

fn moved() -> String {
    format!("{CAP}{MOVED}")
}

fn moved_with(from: &str, to: &str) -> String {
    assert!(MOVED.contains(from), "{from}");
    format!("{CAP}{}", MOVED.replace(from, to))
}

fn index(case: &Case, key: &str) -> usize {
    case.inputs().iter().position(|i| i.key == key).unwrap_or_else(|| panic!("no input {key}"))
}

#[test]
fn without_tables_there_is_nothing_but_the_defaults() {
    let case = clean(CAP);
    assert_eq!(case.motion(), &Motion::default());
    assert!(!case.says_motion());
    for table in ["hold", "surroundings"] {
        let case = clean(&format!("{CAP}[{table}]\n"));
        assert_eq!(case.motion(), &Motion::default());
        assert!(case.says_motion());
    }
}

#[test]
fn every_number_arrives_in_si() {
    let case = clean(&moved());
    let term = |share, time| MemoryTerm { share, time };
    let memory = Memory {
        terms: vec![term(0.1, 1.0), term(0.05, 120.0)],
        shift: TimeShift::Wlf { c1: 17.44, c2: 51.6, reference: 296.15 },
    };
    let hold = Hold { shape: HeldShape::Inverted, time: 60.0, let_go: LetGo::Ramp(0.05), sideways: 1e-5 };
    let surroundings = Surroundings {
        temperature: Some(303.15),
        gravity: 9.80665,
        rests: Rests::Table,
        air: Some(Air { density: 1.2, drag: 1.2 }),
        damping: 0.5,
    };
    assert_eq!(case.motion(), &Motion { memory: Some(memory), hold, surroundings });
    assert_eq!(case.motion_with(&[]).as_ref(), Ok(case.motion()));
    let keys: Vec<&str> = case.inputs()[6..].iter().map(|i| i.key.as_str()).collect();
    let wanted = "memory.shares[1] memory.times[1] memory.shares[2] memory.times[2] memory.c1 memory.c2 \
        memory.reference hold.time hold.ramp hold.sideways surroundings.temperature surroundings.gravity \
        surroundings.air_density surroundings.drag surroundings.damping";
    assert_eq!(keys.join(" "), wanted.split_whitespace().collect::<Vec<_>>().join(" "));
    let temperature = &case.inputs()[index(&case, "surroundings.temperature")];
    assert_eq!((temperature.half_width, temperature.to_string().as_str()), (Some(2.0), "30.0 ± 2.0 degC"));
}

#[test]
fn the_other_shapes_and_laws() {
    let held = |text: &str| clean(&format!("{CAP}[hold]\nshape = {text}\n")).motion().hold.shape.clone();
    assert_eq!(held("\"mirror\""), HeldShape::Mirror);
    assert_eq!(held("\"inverted\""), HeldShape::Inverted);
    assert_eq!(held("\"flat\""), HeldShape::Flat);
    assert_eq!(held("\"poke\"\ntravel = \"12 mm\""), HeldShape::Poke { travel: 0.012 });
    let law = "[memory]\nshares = 0.2\ntimes = \"5 s\"\nshift = \"arrhenius\"\nactivation_energy = \"80 kJ/mol\"\nreference = \"296.15 K\"\n[surroundings]\ntemperature = \"23 degC\"\n";
    let memory = clean(&format!("{CAP}{law}")).motion().memory.clone().unwrap();
    assert_eq!(memory.terms, [MemoryTerm { share: 0.2, time: 5.0 }]);
    assert_eq!(memory.shift, TimeShift::Arrhenius { energy: 8e4, reference: 296.15 });
    assert_eq!(memory.at(Some(296.15)).unwrap(), memory.terms);
}

#[test]
fn changed_numbers_change_the_motion_and_never_the_part() {
    let case = clean(&moved());
    let (share, time, hold) =
        (index(&case, "memory.shares[1]"), index(&case, "memory.times[2]"), index(&case, "hold.time"));
    let motion = case.motion_with(&[(share, 0.2), (time, 60.0), (hold, 5.0)]).unwrap();
    let memory = motion.memory.unwrap();
    assert_eq!((memory.terms[0].share, memory.terms[1].time, motion.hold.time), (0.2, 60.0, 5.0));
    for (i, input) in case.inputs().iter().enumerate() {
        let value = input.value * 1.0001;
        let moves = !["shape", "wall", "material"].contains(&input.key.split('.').next().unwrap());
        assert_eq!(case.moves_only(i), moves, "{}", input.key);
        assert_eq!(&case.part_with(i, value).unwrap() == case.part(), moves, "{}", input.key);
        let same = &case.motion_with(&[(i, value)]).unwrap() == case.motion();
        assert_eq!(same, !moves, "{}", input.key);
    }
    let fault = |i, value| match case.motion_with(&[(i, value)]) {
        Err(Impossible::Motion(fault)) => fault,
        other => panic!("{other:?}"),
    };
    assert!(
        matches!(fault(share, 0.96), MotionFault::SharesReachOne { key, .. } if key == "memory.shares[2]")
    );
    assert!(matches!(fault(time, 0.5), MotionFault::TimesFall { key } if key == "memory.times[2]"));
    // WLF holds above T₀ − c₂ = 244.55 K only: closed form.
    let temperature = index(&case, "surroundings.temperature");
    assert!(matches!(fault(temperature, 244.5), MotionFault::OutsideShift { .. }));
    assert!(case.motion_with(&[(temperature, 260.0)]).is_ok());
    assert!(matches!(case.motion_with(&[(share, -0.1)]), Err(Impossible::OutOfRange { .. })));
    assert!(matches!(case.motion_with(&[(hold, -1.0)]), Err(Impossible::OutOfRange { .. })));
    assert!(matches!(case.motion_with(&[(99, 1.0)]), Err(Impossible::NoSuchInput { .. })));
}

#[test]
fn memory_findings() {
    let check =
        |from: &str, to: &str, start: &str, contains: &[&str]| one(&moved_with(from, to), start, contains);
    check("0.10,", "-0.10,", "15:11 -0.10 →", &["greater than 0 and less than 1"]);
    check("0.10,", "0,", "15:11 0 →", &["greater than 0 and less than 1"]);
    check("0.10,", "1.0,", "15:11 1.0 →", &["greater than 0 and less than 1"]);
    check("0.10,", "0.95,", "15:18 0.05 ± 0.01 →", &["add up to 1.0000", "share of the instantaneous"]);
    check("\"1 s\"", "\"0 s\"", "16:11 0 s →", &["greater than 0"]);
    check("\"1 s\"", "\"2 min\"", "16:20 2 min →", &["must increase", "fastest to the slowest"]);
    check("\"1 s\"", "\"1 h\"", "16:18 2 min →", &["must increase"]);
    check("\"1 s\"", "1", "16:10 1 →", &["a time needs a unit", "write, in quotes, `1 s`"]);
    check("[\"1 s\", \"2 min\"]", "[\"1 s\"]", "16:9 [\"1 s\"] →", &["1 times for 2 shares"]);
    check(
        "times = [\"1 s\", \"2 min\"]\n",
        "",
        "14:2 memory →",
        &["`times` is missing", "one relaxation time"],
    );
    check("c1 = 17.44\n", "", "14:2 memory →", &["`c1` is missing", "17.44"]);
    check("c2 = \"51.6 K\"\n", "", "14:2 memory →", &["`c2` is missing", "51.6 K"]);
    check("reference = \"23 degC\"\n", "", "14:2 memory →", &["`reference` is missing", "23 degC"]);
    check("\"23 degC\"", "\"23 degC ± 5 %\"", "20:26 % →", &["per cent of a temperature", "23 ± 2 degC"]);
    check("\"23 degC\"", "\"-300 degC\"", "20:14 -300 degC →", &["absolute zero"]);
    check("c1 = 17.44", "c1 = -17.44", "18:6 -17.44 →", &["greater than 0"]);
    check("\"wlf\"", "\"wfl\"", "17:10 wfl →", &["did you mean \"wlf\"?"]);
    check(
        "\"30 ± 2 degC\"",
        "\"-40 degC\"",
        "27:16 -40 degC →",
        &["does not reach -40 degC", "above -28.6 degC"],
    );
    check(
        "temperature = \"30 ± 2 degC\"\n",
        "",
        "17:10 wlf →",
        &["warning", "reference temperature", "[surroundings]"],
    );
    check(
        "c1 = 17.44",
        "activation_energy = \"80 kJ/mol\"\nc1 = 17.44",
        "18:1 activation_energy →",
        &["does not go with shift = \"wlf\"", "shift = \"arrhenius\""],
    );
    let none = moved_with("shift = \"wlf\"\nc1 = 17.44\nc2 = \"51.6 K\"\n", "");
    one(
        &none,
        "17:1 reference →",
        &["does not go with shift = \"none\", the default", "\"wlf\" or \"arrhenius\""],
    );
    one(&format!("{CAP}[memory]\n"), "14:2 memory →", &["`shares` is missing", "shelf = true"]);
    // Both ends of a tolerance must be possible too.
    check("0.05 ± 0.01", "0.05 ± 0.06", "15:18 0.05 ± 0.06 →", &["warning", "the tolerance reaches"]);
    check(
        "0.10,",
        "\"0.8 ± 0.18\",",
        "15:12 0.8 ± 0.18 →",
        &["warning", "the tolerance reaches 0.98", "add up to"],
    );
    let all = lines(
        moved_with("0.10,", "-0.10,").replace("17.44", "0").replace("60 ± 1 s", "-1 s").as_bytes(),
        &nothing,
    );
    assert_eq!(all.len(), 3, "{all:#?}");
}

#[test]
fn memory_from_the_shelf() {
    let stocked = |name: &str, memory: &str| {
        CAP.replace("[material]", &format!("[material]\nname = \"{name}\"")) + "[memory]\n" + memory
    };
    let case = clean(&stocked("silicone-30", "shelf = true"));
    let on_shelf = crate::find_on_shelf("silicone-30").unwrap().memory;
    let terms = &case.motion().memory.as_ref().unwrap().terms;
    assert_eq!(terms.len(), on_shelf.len());
    for (i, (t, (g, time))) in terms.iter().zip(&on_shelf).enumerate() {
        assert_eq!((t.share, t.time), (g.value, *time));
        let share = &case.inputs()[index(&case, &format!("memory.shares[{}]", i + 1))];
        assert_eq!((share.half_width, share.from_shelf), (Some(g.half_width), true));
    }
    assert!(case.notes().iter().any(|n| n.contains("measure your own")), "{:?}", case.notes());
    one(&stocked("brass", "shelf = true"), "16:9 true →", &["no memory for `brass`", "leave `[memory]` out"]);
    one(&stocked("stuff", "shelf = true"), "16:9 true →", &["`stuff` is not on the shelf", "silicone-30"]);
    one(
        &format!("{CAP}[memory]\nshelf = true"),
        "15:9 true →",
        &["needs a material of the shelf", "silicone-30"],
    );
    one(
        &stocked("silicone-30", "shelf = true\nshares = 0.1"),
        "17:1 shares →",
        &["does not go with shelf = true", "keep one"],
    );
    one(&stocked("silicone-30", "shelf = false"), "15:2 memory →", &["`shares` is missing"]);
}

/// Invented readings: Young's modulus 1.2 MPa, of which 0.2 relaxes in 5 s and 0.1 in 200 s.
fn relaxing() -> String {
    let truth = Memory {
        terms: vec![MemoryTerm { share: 0.2, time: 5.0 }, MemoryTerm { share: 0.1, time: 200.0 }],
        shift: TimeShift::None,
    };
    let row = |i: i32| {
        let t = 0.1 * libm::pow(10.0, 0.1 * f64::from(i));
        format!("{t:.9},{:.12}\n", 1.2 * truth.modulus(t))
    };
    format!("time_s,youngs_MPa\n{}", (0..=50).map(row).collect::<String>())
}

#[test]
fn memory_from_a_table() {
    let text = |more: &str| format!("{CAP}[memory]\ntable = \"relax.csv\"\n{more}");
    let with = |csv: String| move |_: &str| -> io::Result<Vec<u8>> { Ok(csv.clone().into_bytes()) };
    let good = with(relaxing());
    let case = with_files(&text(""), &good);
    let fit = case.memory_fit().unwrap();
    let terms = &case.motion().memory.as_ref().unwrap().terms;
    assert_eq!((terms, terms.len()), (&fit.terms, 2));
    for (t, (share, time)) in terms.iter().zip([(0.2, 5.0), (0.1, 200.0)]) {
        assert!((t.share - share).abs() < 1e-6 && (t.time / time - 1.0).abs() < 1e-4, "{t:?}");
    }
    let notes = case.notes().join(" ");
    assert!(notes.contains("2 terms through 51 readings") && notes.contains("1.2 MPa"), "{notes}");
    assert!(clean(CAP).memory_fit().is_none());
    let other = with_files(&text(""), &with(relaxing() + "20000,0.84\n"));
    assert_ne!(case.digest(), other.digest());

    let check = |more: &str, csv: String, start: &str, contains: &[&str]| {
        check_one(&lines(text(more).as_bytes(), &with(csv)), start, contains);
    };
    assert_eq!(with_files(&text("terms = 2\n"), &good).motion().memory.as_ref().unwrap().terms.len(), 2);
    let broad = |t: f64| 0.2 + 0.4 * libm::exp(-t) + 0.4 * libm::exp(-t / 1e3);
    let rows: String = (0..=50)
        .map(|i| 0.1 * libm::pow(10.0, 0.1 * f64::from(i)))
        .map(|t| format!("{t:.9},{:.9}\n", broad(t)))
        .collect();
    check(
        "terms = 1\n",
        format!("time_s,ratio\n{rows}"),
        "16:9 1 →",
        &["warning", "misses the readings", "leave `terms` out"],
    );
    let jumps = "time_s,ratio\n1,1.2\n2,0.7\n3,1\n4,0.7\n5,1\n6,0.7\n7,1\n8,0.7\n".to_owned();
    check("", jumps, "15:10 relax.csv →", &["warning", "misses the readings", "outliers"]);
    check("terms = 20\n", relaxing(), "16:9 20 →", &["warning", "tell 2 terms apart, not 20"]);
    check("terms = 2.5\n", relaxing(), "16:9 2.5 →", &["a whole number from 1 to 20"]);
    check("terms = 0\n", relaxing(), "16:9 0 →", &["a whole number from 1 to 20"]);
    check("terms = \"2 ± 1\"\n", relaxing(), "16:10 2 ± 1 →", &["warning", "tolerance of a count"]);
    check("shares = 0.1\n", relaxing(), "16:1 shares →", &["does not go with `table`", "keep one"]);
    check("times = \"1 s\"\n", relaxing(), "16:1 times →", &["does not go with `table`"]);
    let soft = relaxing().replace("youngs_MPa", "youngs_kPa");
    check("", soft, "9:19 1.2 MPa ± 10 % →", &["warning", "0.0012 MPa", "before anything relaxes"]);
    check(
        "",
        "time_s,ratio\n1,1\n2,1\n3,1\n4,1\n".into(),
        "15:10 relax.csv →",
        &["no relaxation", "leave it out"],
    );
    let mut holed: Vec<String> = relaxing().lines().map(str::to_owned).collect();
    holed[7] = holed[7].split_once(',').unwrap().0.to_owned() + ",";
    check("", holed.join("\n"), "relax.csv:8:", &["an empty field"]);
    one(&text(""), "15:10 relax.csv →", &["there is no file `relax.csv`"]);
    one(
        &format!("{CAP}[memory]\nshares = 0.1\ntimes = \"1 s\"\nterms = 1"),
        "17:1 terms →",
        &["goes with `table`"],
    );
    let both = CAP.replace("[material]", "[material]\nname = \"silicone-30\"")
        + "[memory]\nshelf = true\ntable = \"relax.csv\"\n";
    check_one(&lines(both.as_bytes(), &good), "17:1 table →", &["does not go with shelf = true"]);
}

#[test]
fn hold_findings() {
    let hold =
        |text: &str, start: &str, contains: &[&str]| one(&format!("{CAP}[hold]\n{text}"), start, contains);
    hold("shape = \"mirrored\"", "15:10 mirrored →", &["did you mean \"mirror\"?"]);
    hold("shape = \"poke\"", "14:2 hold →", &["`travel` is missing", "12 mm"]);
    hold("shape = \"poke\"\ntravel = \"0 mm\"", "16:11 0 mm →", &["greater than 0"]);
    hold("travel = \"12 mm\"", "15:1 travel →", &["shape = \"inverted\", the default", "shape = \"poke\""]);
    hold("shape = \"flat\"\nfile = \"a.csv\"", "16:1 file →", &["shape = \"flat\"", "shape = \"given\""]);
    hold("shape = \"given\"", "14:2 hold →", &["`file` is missing", "former.csv"]);
    hold("shape = \"given\"\nfile = \"a.csv\"", "16:9 a.csv →", &["no file `a.csv`"]);
    hold("time = \"-1 s\"", "15:9 -1 s →", &["0 or greater", "for example `time = \"60 s\"`"]);
    hold("time = \"1 mm\"", "15:11 mm →", &["a time is wanted", "s, ms, us, min, h"]);
    hold("let_go = \"ramp\"", "14:2 hold →", &["`ramp` is missing", "50 ms"]);
    hold("let_go = \"ramp\"\nramp = \"0 s\"", "16:9 0 s →", &["greater than 0"]);
    hold("ramp = \"1 s\"", "15:1 ramp →", &["let_go = \"at once\", the default", "let_go = \"ramp\""]);
    hold("let_go = \"at once\"\nramp = \"1 s\"", "16:1 ramp →", &["does not go with let_go = \"at once\""]);
    hold("sideways = \"-1 mm\"", "15:13 -1 mm →", &["0 or greater"]);
}

#[test]
fn a_hand_takes_its_usual_time_from_a_foreign_shape() {
    let let_go = |text: &str| {
        let (case, findings) =
            read_case(format!("{CAP}[hold]\n{text}").as_bytes(), &|_| Err(io::ErrorKind::NotFound.into()));
        assert!(findings.is_empty(), "{findings:?}");
        case.unwrap().motion().hold.let_go
    };
    assert_eq!(let_go("shape = \"mirror\""), LetGo::Ramp(0.05));
    assert_eq!(let_go("shape = \"flat\""), LetGo::Ramp(0.05));
    assert_eq!(let_go("shape = \"inverted\""), LetGo::AtOnce);
    assert_eq!(let_go("time = \"1 s\""), LetGo::AtOnce);
    assert_eq!(let_go("shape = \"mirror\"\nlet_go = \"at once\""), LetGo::AtOnce);
}

#[test]
fn surroundings_findings() {
    let around = |text: &str, start: &str, contains: &[&str]| {
        one(&format!("{CAP}[surroundings]\n{text}"), start, contains);
    };
    around("temperature = \"23\"", "15:16 23 →", &["a temperature needs a unit", "23 degC"]);
    around("temperature = \"2300 degC\"", "15:16 2300 degC →", &["warning", "unusual"]);
    around("gravity = \"-1 g0\"", "15:12 -1 g0 →", &["0 or greater"]);
    around("air_density = \"1.2 kg/m^3\"", "15:1 air_density →", &["needs `drag`", "both or neither"]);
    around("drag = 1.2", "15:1 drag →", &["needs `air_density`", "1.2 kg/m^3"]);
    around("air_density = \"0 kg/m^3\"\ndrag = 1", "15:16 0 kg/m^3 →", &["greater than 0"]);
    around("air_density = \"1 kg/m^3\"\ndrag = -1", "16:8 -1 →", &["0 or greater"]);
    around("damping = \"-1 1/s\"", "15:12 -1 1/s →", &["0 or greater"]);
    let on_ring = CAP.replace("\"free\"", "\"ring\"") + "[surroundings]\nrests = \"table\"";
    one(&on_ring, "15:10 table →", &["nothing else holds", "kind = \"free\""]);
    clean(&on_ring.replace("\"ring\"", "\"table\""));
}

/// The mirror image of the test cap: z from 12.5 mm at the pole to 0 at the rim.
fn former(change: impl Fn(usize, &mut [f64; 2])) -> Vec<u8> {
    let mut text = "r_mm,z_mm\n".to_owned();
    for i in 0..=12 {
        let t = f64::from(i) * 5f64.to_radians();
        let mut p = [25.0 * libm::sin(t), 25.0 * libm::cos(t) - 12.5];
        change(i as usize, &mut p);
        text += &format!("{:.4},{:.4}\n", p[0], p[1]);
    }
    text.into_bytes()
}

#[test]
fn a_former_is_read_and_judged() {
    let text = format!("{CAP}[hold]\nshape = \"given\"\nfile = \"former.csv\"\n");
    let with = |bytes: Vec<u8>| move |_: &str| -> io::Result<Vec<u8>> { Ok(bytes.clone()) };
    let good = with_files(&text, &with(former(|_, _| {})));
    let HeldShape::Given(points) = &good.motion().hold.shape else { panic!("{:?}", good.motion()) };
    assert_eq!((points.len(), points[0], points[12]), (13, [0.0, 0.0125], [0.0216506, 0.0]));
    let longer = with_files(&text, &with(former(|_, p| p[1] *= 1.01)));
    assert_ne!(good.digest(), longer.digest());

    let check = |bytes: Vec<u8>, start: &str, contains: &[&str]| {
        check_one(&lines(text.as_bytes(), &with(bytes)), start, contains);
    };
    check(
        former(|i, p| {
            if i == 6 {
                *p = [0.003, 0.0]
            }
        }),
        "former.csv:8:1",
        &["behind", "in order"],
    );
    let with_blank = String::from_utf8(former(|_, _| {})).unwrap().replace("21.6506,0.0000", "21.6506,");
    check(with_blank.into_bytes(), "former.csv:14:9", &["an empty field"]);
    check(
        former(|i, p| {
            if i == 0 {
                p[0] = -3.0
            }
        }),
        "former.csv:2:1",
        &["a negative radius", "from the axis"],
    );
    let ring = former(|i, p| *p = [10.0 + i as f64, 0.0]);
    let all = lines(text.as_bytes(), &with(ring));
    assert!(
        all.iter().any(|l| l.contains("starts 10 mm from the axis") && l.contains("up to the pole")),
        "{all:#?}"
    );
    let mut back: Vec<String> =
        String::from_utf8(former(|_, _| {})).unwrap().lines().map(str::to_owned).collect();
    back[1..].reverse();
    check(back.join("\n").into_bytes(), "former.csv:2:1", &["from the axis", "the other way round"]);
    check(b"r_mm,z_mm\n0,1\n20,0\n25,0\n".to_vec(), "former.csv:2:1", &["3 points", "needs 5"]);
    check(
        b"r_cm,z_cm\n0,1\n0.6,1\n1.2,1\n1.8,1\n2.4,1\n3.0,1\n".to_vec(),
        "16:9 former.csv",
        &["warning", "30 mm", "26.18 mm", "the unit"],
    );
    let gap = b"r_mm,z_mm\n0,12\n4,12\n8,12\n20,12\n24,12\n".to_vec();
    check(gap, "former.csv:5:1", &["warning", "a gap of 12 mm"]);
    check(b"r_mm,z_mm\n0,12\n6,12\n6,12\n12,12\n18,12\n24,12\n".to_vec(), "former.csv:4:1", &["once more"]);
}

#[test]
fn the_motion_of_the_template() {
    let text = new_cap_template();
    let start = text.find("# [memory]").unwrap();
    let tables: String = text[start..]
        .lines()
        .filter(|l| {
            !l.contains("shelf =") && !l.contains("table = \"") && l.contains(" = ") || l.contains('[')
        })
        .map(|l| l.strip_prefix("# ").unwrap().to_owned() + "\n")
        .collect();
    let case = clean(&format!("{}{tables}", &text[..start]));
    let motion = case.motion();
    assert_eq!(motion.memory.as_ref().unwrap().terms.len(), 2);
    assert_eq!((motion.hold.let_go, motion.surroundings.rests), (LetGo::Ramp(0.05), Rests::Table));
    let instead = "[memory]\nshelf = true\n";
    assert!(clean(&format!("{}{instead}", &text[..start])).motion().memory.is_some());
}
