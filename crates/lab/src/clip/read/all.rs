//! Everything that a motion says, in the order in which one reading needs another.

use calotte_chance::sample::{quantile, robust_deviation, sorted};

use super::growth::{Growth, growth};
use super::jump::{Jump, jump};
use super::ringing::{Ringing, ringing};
use super::settle::{flight, held, main_move_over, tail};
use super::snap::{Levels, Snap, half_row, snap};
use super::{Figure, LET_GO, Row};

/// What is known beside the rows.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Asked {
    /// When the part was let go, s from the first frame, and its deviation; `None` where the clip does not say.
    pub let_go: Option<[f64; 2]>,
    /// Shortest and longest exposure of a frame, s.
    pub exposed: [f64; 2],
    /// Gravity in the unit of the rows per s²; `None` where the line is not upright.
    pub gravity: Option<f64>,
    /// Whether the rows are of one edge alone and the part may leave its place: its flight is then in them.
    pub alone: bool,
}

/// A figure that cannot be read, and why.
#[derive(Clone, Debug, PartialEq)]
pub struct Unread {
    /// Its name.
    pub figure: &'static str,
    /// Why.
    pub why: String,
}

/// What was read.
#[derive(Clone, Debug, Default)]
pub struct Readings {
    /// Factor on the errors of the places that their own scatter asks for, at least 1.
    pub scatter: f64,
    /// Levels before and after.
    pub levels: Option<Levels>,
    /// Time from letting go to the beginning of the snap, s.
    pub wait: Option<Figure>,
    /// Growth of the instability.
    pub growth: Option<Growth>,
    /// Snap.
    pub snap: Option<Snap>,
    /// Ringing.
    pub ringing: Option<Ringing>,
    /// Jump.
    pub jump: Option<Jump>,
    /// Why there are not two levels between which it goes; nothing that is counted from them is then read.
    pub unsettled: Option<String>,
    /// The rest.
    pub unread: Vec<Unread>,
}

/// Figures that are counted from the levels before and after the snap.
const BETWEEN_LEVELS: [&str; 6] = ["wait", "growth rate", "snap time", "peak speed", "way", "ringing"];
/// What to do where the part takes its pole along.
const FOLLOW_RIM: &str =
    "follow the rim as well (`--rim-left LINE --rim-right LINE`), so that the heights are those over the rim";

/// The factor on the errors that third differences ask for: for a smooth motion x₀ − 3x₁ + 3x₂ − x₃ is noise alone.
fn scatter(rows: &[Row]) -> f64 {
    let scaled: Vec<f64> = rows
        .windows(4)
        .filter(|w| {
            let gaps: [f64; 3] = std::array::from_fn(|i| w[i + 1].t - w[i].t);
            gaps.iter().all(|g| (g / gaps[0] - 1.0).abs() < 0.01)
        })
        .map(|w| {
            let noise = w[0].e * w[0].e + 9.0 * w[1].e * w[1].e + 9.0 * w[2].e * w[2].e + w[3].e * w[3].e;
            (w[0].x - 3.0 * w[1].x + 3.0 * w[2].x - w[3].x) / noise.sqrt()
        })
        .collect();
    if scaled.len() < 20 { 1.0 } else { robust_deviation(&scaled).max(1.0) }
}

fn median(values: impl Iterator<Item = f64>) -> f64 {
    quantile(&sorted(&values.collect::<Vec<_>>()), 0.5)
}

/// Mean of rows weighted by their errors, with a deviation that covers their scatter.
fn mean(rows: &[Row]) -> [f64; 2] {
    let weight: f64 = rows.iter().map(|r| 1.0 / (r.e * r.e)).sum();
    let middle = rows.iter().map(|r| r.x / (r.e * r.e)).sum::<f64>() / weight;
    let squares: f64 = rows.iter().map(|r| ((r.x - middle) / r.e) * ((r.x - middle) / r.e)).sum();
    let factor = (squares / (rows.len().max(2) - 1) as f64).max(1.0);
    [middle, (factor / weight).sqrt()]
}

/// Reads a motion. `edge` are the places of the followed edge itself, upwards positive, for the flight; `rows` the motion that
/// snaps (the same, or the edge over the rim), by time.
///
/// # Errors
/// In words, when nothing moves.
pub fn read(rows: &[Row], edge: &[Row], asked: &Asked) -> Result<Readings, String> {
    if rows.len() < 20 {
        return Err(format!("the edge is found in {} frames only; 20 at least are needed", rows.len()));
    }
    let factor = scatter(rows);
    let scaled = |rows: &[Row]| -> Vec<Row> { rows.iter().map(|r| Row { e: factor * r.e, ..*r }).collect() };
    let (rows, edge) = (scaled(rows), scaled(edge));
    let mut out = Readings { scatter: factor, ..Readings::default() };
    let mut unread = |figure, why: String| out.unread.push(Unread { figure, why });
    // The main move: the largest step over a few rows.
    let noise = median(rows.iter().map(|r| r.e));
    let spread = rows.iter().fold([f64::INFINITY, f64::NEG_INFINITY], |b, r| [b[0].min(r.x), b[1].max(r.x)]);
    if spread[1] - spread[0] < 12.0 * noise {
        return Err(format!(
            "nothing moves: the edge stays within {:.1} of its own standard deviations\n  help: does the line lie on the part? `--line X0,Y0,X1,Y1` chooses another one, `--edge 2` the second edge along it",
            (spread[1] - spread[0]) / noise
        ));
    }
    let steepest = (2..rows.len() - 2)
        .map(|i| (i, ((rows[i + 2].x - rows[i - 2].x) / (rows[i + 2].t - rows[i - 2].t)).abs()))
        .fold((2, 0.0), |b, s| if s.1 > b.1 { s } else { b })
        .0;
    // Before: the first tenth of the rows up to there; after: all of them.
    let before = &rows[..(steepest / 10).clamp(3, 400).min(rows.len())];
    let rest = mean(before);
    let still: Vec<Row> = edge.iter().filter(|r| r.t <= before[before.len() - 1].t).copied().collect();
    // What is thrown after the main move.
    let thrown = asked.gravity.filter(|_| !still.is_empty()).and_then(|g| {
        let over = rows[main_move_over(&rows, steepest)?].t;
        flight(&edge[edge.partition_point(|r| r.t < over)..], mean(&still), g)
    });
    let (levels, rung, settled) = settle(&rows, rest, steepest, noise);
    out.levels = Some(levels);
    let unsettled = if asked.alone && thrown.is_some() {
        Some(format!(
            "the part leaves its place, and its flight would count as way: the pole is followed alone; {FOLLOW_RIM}"
        ))
    } else {
        settled.err().map(|why| {
            let rim = if asked.alone { format!("; if it jumps, {FOLLOW_RIM}") } else { String::new() };
            format!("{why}: let the clip go on until it has come to rest{rim}")
        })
    };
    if let Some(why) = unsettled {
        BETWEEN_LEVELS.iter().for_each(|figure| unread(figure, why.clone()));
        if thrown.is_none() {
            unread("jump height", "after the snap no flight can be told from other motion".to_owned());
        }
        out.jump = thrown;
        out.unsettled = Some(why);
        return Ok(out);
    }
    let half = half_row(&rows, &levels);
    let grown = half
        .ok_or_else(|| "the half of the way is not seen".to_owned())
        .and_then(|h| growth(&rows, levels.rest[0], levels.way(), h));
    match grown {
        Ok(g) => out.growth = Some(g),
        Err(why) => unread("growth rate", why),
    }
    match snap(&rows, &levels, asked.exposed) {
        Ok(s) => {
            match asked.let_go {
                Some([t, d]) if t < s.begins.value => {
                    let value = s.begins.value - t;
                    let wait = Figure { value, parts: s.begins.parts.clone() };
                    out.wait = Some(wait.with(LET_GO, d));
                }
                Some(_) => {
                    unread(
                        "wait",
                        "the moment of letting go lies after the beginning of the snap".to_owned(),
                    );
                }
                None => unread("wait", "when the part was let go is not known: `--let-go TIME`".to_owned()),
            }
            out.snap = Some(s);
        }
        Err(why) => {
            for figure in ["wait", "snap time", "peak speed"] {
                unread(figure, why.clone());
            }
        }
    }
    match rung {
        Ok(r) => out.ringing = Some(r),
        Err(why) => unread("ringing", why),
    }
    // The flight needs the edge itself, and its own rest.
    let after = out.snap.as_ref().map(|s| s.ends.value);
    match (after, asked.gravity) {
        (Some(t), Some(g)) => {
            let later = &edge[edge.partition_point(|r| r.t < t)..];
            let found = if still.is_empty() {
                Err("the edge is not seen at rest".to_owned())
            } else {
                jump(later, mean(&still), g)
            };
            match found {
                Ok(j) => out.jump = Some(j),
                Err(why) => unread("jump height", why),
            }
        }
        (None, _) => unread("jump height", "the snap cannot be read".to_owned()),
        (_, None) => unread(
            "jump height",
            "the line is not upright, or the rim is said to stay in its place".to_owned(),
        ),
    }
    Ok(out)
}

/// Levels before and after the snap through row `steepest`, the ringing about the latter, and whether they are levels at all.
fn settle(
    rows: &[Row],
    rest: [f64; 2],
    steepest: usize,
    noise: f64,
) -> (Levels, Result<Ringing, String>, Result<(), String>) {
    let mut levels = Levels { rest, end: [median(rows[steepest..].iter().map(|r| r.x)), noise] };
    let mut rung = Err("the snap is not over before the clip is".to_owned());
    if levels.way().abs() < 8.0 * noise {
        return (
            levels,
            rung,
            Err("the edge ends where it began: it does not snap over for good".to_owned()),
        );
    }
    // The end of the snap needs the level about which it rings, and ringing begins there: twice.
    let mut after: &[Row] = &[];
    for _ in 0..2 {
        let Some(half) = half_row(rows, &levels) else { break };
        let done = |r: &Row| (r.x - levels.rest[0]) / levels.way();
        let Some(end) = (half..rows.len()).find(|i| done(&rows[*i]) >= 0.9) else { break };
        after = &rows[end..];
        rung = ringing(after);
        match &rung {
            Ok(r) => levels.end = r.level,
            Err(_) => {
                // It may creep to its end: the last third, if that is level.
                let tail = tail(after);
                if tail.len() >= 3 {
                    levels.end = mean(tail);
                }
                break;
            }
        }
    }
    // Where no end is seen, the snap itself says so.
    let settled = if after.is_empty() { Ok(()) } else { held(after, &levels, rung.as_ref().ok()) };
    (levels, rung, settled)
}
