//! The first page: the answer in a sentence, the figure that shows it, the numbers that matter.

use calotte_answers::explain::{digits, duration, energy, force, frequency, length, speed};
use calotte_answers::poke::words::quantity;
use calotte_desk::{Reply, heat, modes, poke, release, states, verdict};
use serde_json::Value;

use crate::model::KeyNumber;
use crate::sheet::apart;

/// A number in a report by its path, `margin/thickness_ratio`.
pub(crate) fn number(report: &Value, path: &str) -> Option<f64> {
    path.split('/').try_fold(report, |v, key| v.get(key)).and_then(Value::as_f64)
}
/// A text in a report.
pub(crate) fn word<'a>(report: &'a Value, key: &str) -> &'a str {
    report.get(key).and_then(Value::as_str).unwrap_or("")
}
/// The answer to a question.
pub(crate) fn of<'a>(replies: &'a [Reply], question: &str) -> Option<&'a Reply> {
    replies.iter().find(|r| r.question == question)
}

/// The answer that a reader wants first: heat for a wall of layers, the motion where the case speaks of it, the push where it has a
/// load, and else the state of the part turned inside out.
pub(crate) fn first(replies: &[Reply]) -> Option<&Reply> {
    let begun = replies.first()?;
    if begun.question != verdict::NAME {
        return Some(begun);
    }
    [heat::NAME, release::NAME, poke::NAME].iter().find_map(|q| of(replies, q)).or(Some(begun))
}

/// Kelvin as °C.
fn celsius(kelvin: f64) -> f64 {
    kelvin - 273.15
}

/// `55.7 ± 2.2` with the digits that the half-width supports.
pub(crate) fn with_half_width(value: f64, half: Option<f64>) -> String {
    match half.filter(|h| *h > 0.0 && h.is_finite()) {
        None => digits(value, 4),
        Some(h) => {
            let decimals = (1 - libm::floor(libm::log10(h)) as i32).clamp(0, 9) as usize;
            format!("{value:.decimals$} ± {h:.decimals$}")
        }
    }
}

/// The answer in one sentence or two.
pub(crate) fn answer(replies: &[Reply]) -> String {
    let Some(reply) = first(replies) else { return String::new() };
    let r = &reply.report;
    let told = apart(&reply.sheet);
    let sentence = match reply.question {
        verdict::NAME => turned(r),
        heat::NAME => heated(r).unwrap_or_else(|| told.story.first().cloned().unwrap_or_default()),
        states::NAME => {
            let fold = told
                .story
                .iter()
                .find(|s| s.starts_with("Pushed"))
                .map_or(String::new(), |s| format!(" {s}"));
            format!("{}{fold}", told.story.first().map_or("", String::as_str))
        }
        _ => told.story.first().cloned().unwrap_or_default(),
    };
    if reply.doubtful {
        return format!("This answer is doubtful, and the doubts below say why. {sentence}");
    }
    sentence
}

/// What a verdict says.
fn turned(r: &Value) -> String {
    let mut out = match word(r, "verdict") {
        "stays" => "Turned inside out, this part stays.",
        "returns" => "Turned inside out, this part comes back by itself.",
        "waits" => "Turned inside out and held, this part waits a while and then comes back.",
        _ => return "Whether this part stays turned inside out is not decided.".to_owned(),
    }
    .to_owned();
    let wall = number(r, "part/thickness_m");
    if let (Some(ratio), Some(at), Some(wall)) =
        (number(r, "margin/thickness_ratio"), number(r, "margin/threshold_thickness_m"), wall)
    {
        let apart = digits(100.0 * (ratio - 1.0).abs(), 2);
        let side = if ratio < 1.0 { "thinner" } else { "thicker" };
        out += &format!(
            " Its wall of {} is {apart} % {side} than the {} at which it goes the other way.",
            length(wall),
            length(at)
        );
    }
    if r.pointer("/margin/spread/crosses_threshold").and_then(Value::as_bool) == Some(true) {
        out += " Within the tolerances given, parts go both ways.";
    }
    out
}

/// What heat does.
fn heated(r: &Value) -> Option<String> {
    let trip = celsius(number(r, "trip/temperature_K")?);
    let [up, down] = ["trip", "reset"].map(|k| number(r, &format!("tolerance/{k}_half_width_K")));
    let on =
        |key: &str| r.pointer(&format!("/{key}/on")).and_then(Value::as_str).unwrap_or("heating").to_owned();
    let mut out = format!("On {} it trips at {} °C", on("trip"), with_half_width(trip, up));
    out += &match number(r, "reset/temperature_K") {
        Some(reset) => {
            format!(", and on {} it resets at {} °C.", on("reset"), with_half_width(celsius(reset), down))
        }
        None => ".".to_owned(),
    };
    Some(out)
}

fn key(name: &str, value: Option<String>, note: &str) -> Option<KeyNumber> {
    value.map(|value| KeyNumber { name: name.to_owned(), value, note: note.to_owned() })
}

/// The numbers that matter, six at most.
pub(crate) fn numbers(replies: &[Reply]) -> Vec<KeyNumber> {
    let Some(reply) = first(replies) else { return Vec::new() };
    let r = &reply.report;
    let n = |path: &str| number(r, path);
    let all = match reply.question {
        verdict::NAME => of_verdict(r),
        heat::NAME => {
            let half = |k: &str| n(&format!("tolerance/{k}_half_width_K"));
            let at = |k: &str| {
                n(&format!("{k}/temperature_K"))
                    .map(|t| format!("{} °C", with_half_width(celsius(t), half(k))))
            };
            let by = "± by all tolerances of the case";
            vec![
                key("trips at", at("trip"), if half("trip").is_some() { by } else { "" }),
                key("resets at", at("reset"), if half("reset").is_some() { by } else { "" }),
                key("between the two", n("delta_K").map(|d| format!("{} K", digits(d, 4))), ""),
                key("the centre jumps", n("trip/movement_m").map(|m| length(m.abs())), "at the trip"),
                key("force on the pin", n("trip/pin_force_after_N").map(force), "just after the trip"),
                key("lost in a cycle", n("cycle/lost_J").map(energy), "energy"),
            ]
        }
        release::NAME => vec![
            key("wait", n("snap/wait_s").map(duration), "from letting go to the snap"),
            key("snap time", n("snap/snap_time_s").map(duration), ""),
            key("peak speed", n("snap/peak_speed_m_per_s").map(speed), "of the pole against the rim"),
            key("jump", n("jump/height_m").map(length), "rise of the centre of mass"),
            key("ringing", n("ringing/frequency_Hz").map(frequency), "afterwards"),
            key("energy stored", n("snap/energy_available_J").map(energy), "when the hand lets go"),
        ],
        poke::NAME => {
            let unit =
                |k: &str| r.pointer(&format!("/load/{k}")).and_then(Value::as_str).unwrap_or("").to_owned();
            let load = |path: &str| n(path).map(|v| quantity(v, &unit("load_unit")));
            let moved = |path: &str| n(path).map(|v| quantity(v, &unit("displacement_unit")));
            vec![
                key("trips at", load("by_load/load_SI"), "the load set"),
                key("travel there", moved("by_load/displacement_SI"), ""),
                key("returns at", load("return_trip/load_SI"), "taken back"),
                key(
                    "snap ratio",
                    n("snap/peak_to_contact").map(|v| format!("{} %", digits(100.0 * v, 3))),
                    "to contact or valley",
                ),
                key("work to the trip", n("by_load/work_J").map(energy), ""),
                key(
                    "initial stiffness",
                    n("initial_stiffness_SI").map(|v| {
                        format!("{} {}/{}", digits(v, 4), unit("load_unit"), unit("displacement_unit"))
                    }),
                    "",
                ),
            ]
        }
        states::NAME => vec![
            key("stable states", n("stable").map(|v| format!("{v:.0}")), "found by the search"),
            key("folds at", n("fold/fold_force_N").map(force), "pushed at the inner end"),
            key("opens at", n("fold/unfold_force_N").map(force), ""),
            key("travel to fold", n("fold/fold_travel_m").map(length), ""),
            key(
                "largest strain",
                n("fold/peak_strain").map(|v| format!("{} %", digits(100.0 * v, 3))),
                "on the way",
            ),
            key("lowest pass out of it", n("states/0/barrier_J").map(energy), "as made"),
        ],
        modes::NAME => vec![key(
            "lowest frequency",
            r.pointer("/modes/0/frequency_Hz").and_then(Value::as_f64).map(frequency),
            "",
        )],
        _ => Vec::new(),
    };
    all.into_iter().flatten().take(6).collect()
}

fn of_verdict(r: &Value) -> Vec<Option<KeyNumber>> {
    let n = |path: &str| number(r, path);
    let stored = n("inverted/stretching_energy_J").zip(n("inverted/bending_energy_J")).map(|(a, b)| a + b);
    let half = n("margin/spread/thickness_ratio_half_width");
    let by = if half.is_some() {
        "below 1 it stays; ± by the tolerances of the case"
    } else {
        "below 1 it stays"
    };
    vec![
        key("wall over threshold, h/h*", n("margin/thickness_ratio").map(|v| with_half_width(v, half)), by),
        key("threshold wall", n("margin/threshold_thickness_m").map(length), "at this depth"),
        key("depth over threshold", n("margin/depth/rise_ratio").map(|v| digits(v, 4)), "above 1 it stays"),
        key("energy barrier", n("inverted/barrier_J").map(energy), "on the round path back"),
        key("energy stored", stored.map(energy), "turned inside out"),
        key("lip", n("inverted/lip_width_m").map(length), "where the wall bends back at the rim"),
        key("largest push inside out", n("eversion/largest_force_N").map(force), "on the round path"),
        key(
            "least force after it",
            n("eversion/least_force_N").map(force),
            "above 0 nothing holds it turned",
        ),
    ]
}
