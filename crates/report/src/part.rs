//! The chapter about the part: what it is, every number with its tolerance and where it came from.

use calotte_answers::beforehand::load_words;
use calotte_answers::explain::{degrees, digits, length};
use calotte_desk::look::look;
use calotte_specimen::{Case, Input, case_form};

use crate::book::Book;
use crate::model::Line;

/// What a key measures, in the words of the case file's own help; the key without its table where there are none.
fn meaning(key: &str) -> String {
    let (table, rest) = key.split_once('.').unwrap_or(("", key));
    let name = rest.split('[').next().unwrap_or(rest);
    let form = case_form();
    let found = form.iter().filter(|t| t.name == table).flat_map(|t| &t.keys).find(|k| k.name == name);
    let says = found.map_or(name, |k| k.says.as_str());
    let listed = rest.contains('[');
    let short = says
        .split(|c| ".;:(".contains(c) || listed && c == ',')
        .next()
        .unwrap_or(says)
        .trim()
        .replace('`', "");
    let place = rest.split_once('[').and_then(|p| p.1.strip_suffix(']'));
    place.map_or(short.clone(), |n| format!("{short}, number {n}"))
}

/// Where a number came from.
fn origin(i: &Input, case_name: &str) -> String {
    if i.from_shelf { "the shelf".to_owned() } else { case_name.to_owned() }
}

/// The number alone and its tolerance.
fn value_and_tolerance(i: &Input) -> (String, String) {
    let whole = i.to_string().replace("^3", "³").replace("^2", "²");
    match i.half_width {
        None => (whole, "none given".to_owned()),
        Some(_) => match whole.split_once(" ± ") {
            Some((value, rest)) => {
                let unit = rest.split_once(' ').map_or("", |p| p.1);
                let value = if unit.is_empty() { value.to_owned() } else { format!("{value} {unit}") };
                (value, format!("± {rest}"))
            }
            None => (whole.clone(), whole),
        },
    }
}

/// Writes the chapter.
pub(crate) fn part(book: &mut Book, case: &Case, case_name: &str) {
    book.chapter("The part");
    let seen = look(case);
    let p = &seen.part;
    let layers = match seen.layers {
        0 => String::new(),
        n => format!(" Its wall has {n} layers."),
    };
    let wall = if p.uniform_wall {
        format!("a wall of {}", length(p.thickness_m))
    } else {
        format!("a wall that is {} thick at the rim", length(p.thickness_m))
    };
    let kind = match p.shape.as_str() {
        "straight lines and arcs" => "A part of straight lines and arcs".to_owned(),
        "measured meridian" => "A part with a measured meridian".to_owned(),
        "straight generator" => "A part with a straight generator".to_owned(),
        other => format!("A {other}"),
    };
    // A complete sphere has no rim circle.
    let closed = case.part().meridian.ends_at_pole();
    let held = if closed { "nothing holds it".to_owned() } else { format!("its rim is {}", rim(&p.rim)) };
    book.text(Line::of(&format!("{kind} with {wall}; {held}.{layers} The case file says:")));
    let rows = case.inputs().iter().map(|i| {
        let (value, tolerance) = value_and_tolerance(i);
        vec![
            Line::of(&format!("{} (`{}`)", meaning(&i.key), i.key)),
            Line::of(&value),
            Line::of(&tolerance),
            Line::of(&origin(i, case_name)),
        ]
    });
    book.table(
        "Every number that entered, with its tolerance and where it came from. A tolerance counts as two standard deviations.",
        false,
        &["what", "value", "tolerance", "from"],
        &[46, 20, 17, 17],
        rows.collect(),
    );
    book.section("As computed");
    let mut facts = Vec::new();
    let mut add = |name: &str, value: String| facts.push((name.to_owned(), Line::of(&value)));
    if p.sphere_radius_m.is_finite() {
        add("radius of the middle of the wall", length(p.sphere_radius_m));
        add("half-angle", degrees(p.half_angle_rad));
    }
    if closed {
        add("diameter of the middle of the wall", length(p.rise_m));
    } else {
        add("rim radius, rise", format!("{}, {}", length(p.rim_radius_m), length(p.rise_m)));
    }
    if p.hole_radius_m > 0.0 {
        add("radius of the hole", length(p.hole_radius_m));
    }
    add("length of the meridian", length(p.arc_length_m));
    add(if closed { "wall" } else { "wall at the rim" }, length(p.thickness_m));
    if p.sphere_radius_m.is_finite() {
        add("wall over radius, h/R", digits(p.thickness_ratio, 3));
        add("shallowness λ", format!("{}: its length in widths of the lip", digits(p.lambda, 4)));
    }
    add(
        "Young's modulus, Poisson ratio",
        format!("{} MPa, {}", digits(p.youngs_modulus_Pa / 1e6, 4), digits(p.poisson_ratio, 3)),
    );
    if let Some(density) = p.density_kg_per_m3 {
        add("density", format!("{} kg/m³", digits(density, 4)));
    }
    if let Some(load) = case.load() {
        add("load", load_words(case.part(), load));
    }
    book.facts(facts);
    let notes: Vec<Line> = case.notes().iter().map(|n| Line::of(n)).collect();
    if !notes.is_empty() {
        book.section("Decided on the way");
        book.list(notes);
    }
}

/// How the rim is held, in a sentence.
fn rim(word: &str) -> String {
    match word {
        "free" => "free: nothing holds it".to_owned(),
        "ring" => "held by a ring, on which it slides and turns".to_owned(),
        "table" => "on a table without friction".to_owned(),
        other => other.to_owned(),
    }
}
