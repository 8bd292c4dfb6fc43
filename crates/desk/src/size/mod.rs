//! `size`: which sizes give what is wished?

mod sheet;
mod tables;
mod vary;
mod wish;
mod words;

use std::ops::RangeInclusive;

use calotte_answers::size::report::{SizeOutcome, SizeReport};
use calotte_answers::size::{Ask, MOST_VARIED, Varied, Wanted, size};
use calotte_specimen::{Case, SIZE_DRAWS, SizeText};
use serde_json::Value;

use crate::options::{Given, Written};
use crate::provenance::with_provenance;
use crate::reply::{Refusal, Reply, Want, Watch};

/// Name of the question.
pub const NAME: &str = "size";
/// How many parts may be drawn to check a wish about a share of a batch.
pub const DRAWS: RangeInclusive<i64> = *SIZE_DRAWS.start() as i64..=*SIZE_DRAWS.end() as i64;
/// How many are drawn where nothing is said.
pub const USUAL_DRAWS: u32 = 1000;

/// What is wished, and what may change.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Options {
    /// Numbers that may change: `wall.thickness=0.5mm..4mm`.
    pub vary: Vec<Written>,
    /// Wishes in words.
    pub wishes: Vec<Written>,
    /// Parts drawn to check a wish about a share of a batch.
    pub draws: Option<u32>,
}

/// Reads the options of the page.
pub(crate) fn options(value: &Value) -> Result<Options, Refusal> {
    let given = Given::new(NAME, value, &["vary", "wish", "draws"])?;
    Ok(Options {
        vary: given.texts("vary")?.unwrap_or_default(),
        wishes: given.texts("wish")?.unwrap_or_default(),
        draws: given.count("draws", DRAWS)?.map(|n| n as u32),
    })
}

/// Why the question makes no sense for the case: it has no number to change.
///
/// # Errors
/// A [`Refusal`] that says so.
pub fn refuse(case: &Case) -> Result<(), Refusal> {
    if case.inputs().is_empty() {
        return Err(Refusal::question("the case has no number that could be changed"));
    }
    Ok(())
}

/// Numbers that may change: those of the case's table `[size]`, each replaced by an option about the same number; then the others.
fn varied(case: &Case, o: &Options) -> Result<Vec<Varied>, Refusal> {
    let read = |all: &[Written]| {
        let mut out: Vec<Varied> = Vec::new();
        for w in all {
            let one = vary::read(w, case)?;
            if out.iter().any(|v| v.given == one.given) {
                return Err(Refusal::question(format!(
                    "{} {}: `{}` is given twice",
                    w.option, w.text, one.key
                )));
            }
            out.push(one);
        }
        Ok(out)
    };
    let (mut all, asked) = (read(&of_case(case, "vary"))?, read(&o.vary)?);
    for v in asked {
        match all.iter_mut().find(|a| a.given == v.given) {
            Some(a) => *a = v,
            None => all.push(v),
        }
    }
    Ok(all)
}

/// Texts of the table `[size]`, each with its line.
fn of_case(case: &Case, key: &str) -> Vec<Written> {
    let Some(table) = case.size() else { return Vec::new() };
    let texts = if key == "vary" { &table.vary } else { &table.wishes };
    let one = |t: &SizeText| {
        Written::new(format!("line {}, column {}, `{key}`", t.place.line, t.place.column), t.text.as_str())
    };
    texts.iter().map(one).collect()
}

/// The question as asked of a case, with notes about what was taken where nothing is said. Options come before what the case's table
/// `[size]` says: a number, or a wish about the same number of the part, takes the place of the table's; all others are added.
fn read(case: &Case, o: &Options) -> Result<(Ask, Vec<String>), Refusal> {
    let all = varied(case, o)?;
    if all.is_empty() {
        let keys: Vec<&str> = case.inputs().iter().map(|i| i.key.as_str()).collect();
        return Err(Refusal::with_help(
            "nothing may change, so nothing can be sized",
            format!(
                "give one to {MOST_VARIED} numbers with limits, for example `--vary {key}=FROM..TO`, or in the case file \
                 `[size]` with `vary = [\"{key} = FROM..TO\"]`; numbers of this case: {}",
                keys.join(", "),
                key = keys.first().unwrap_or(&"KEY")
            ),
        ));
    }
    if all.len() > MOST_VARIED {
        let name = o.vary.first().map_or("vary", |w| w.option.as_ref());
        return Err(Refusal::question(format!(
            "{name}: {} numbers may change; at most {MOST_VARIED} can",
            all.len()
        )));
    }
    let one =
        |list: &[Written]| list.iter().map(|w| wish::read(w, case, &all)).collect::<Result<Vec<_>, _>>();
    let (mut wished, asked) = (one(&of_case(case, "wishes"))?, one(&o.wishes)?);
    wished.retain(|(w, _)| !asked.iter().any(|(a, _)| a.about == w.about));
    wished.extend(asked);
    if wished.is_empty() {
        return Err(Refusal::with_help("nothing is wished", wish::EXAMPLES));
    }
    let mut notes = Vec::new();
    let mut wishes = Vec::new();
    for (wish, note) in wished {
        notes.extend(note);
        wishes.push(wish);
    }
    let best = wishes.iter().filter(|w| matches!(w.wanted, Wanted::Smallest | Wanted::Largest)).count();
    if best > 2 {
        return Err(Refusal::with_help(
            format!("{best} wishes ask for the smallest or largest; at most two can compete"),
            "turn the others into limits, for example `margin >= 10 %`",
        ));
    }
    let draws = o.draws.or(case.size().and_then(|t| t.draws)).unwrap_or(USUAL_DRAWS);
    Ok((Ask { vary: all, wishes, draws: draws as usize }, notes))
}

/// Computes the answer.
///
/// # Errors
/// A [`Refusal`] where the question makes no sense, an option is wrong, or the watch stopped it.
pub fn compute(case: &Case, o: &Options, threads: usize, watch: &dyn Watch) -> Result<SizeReport, Refusal> {
    refuse(case)?;
    let (ask, notes) = read(case, o)?;
    if !watch.progress(None, "setting up") {
        return Err(Refusal::Stopped);
    }
    let stop = std::sync::atomic::AtomicBool::new(false);
    let progress = |done: usize| {
        if !watch.progress(None, &format!("{done} parts read")) {
            stop.store(true, std::sync::atomic::Ordering::Relaxed);
        }
    };
    let many = calotte_answers::release::Watch { threads: threads.max(1), stop: &stop, progress: &progress };
    let mut report = size(case, &ask, &many)?.ok_or(Refusal::Stopped)?;
    report.warnings.splice(0..0, notes);
    // A hold that a wish states belongs to the part that meets it.
    let held: Vec<(usize, f64)> = case
        .inputs()
        .iter()
        .position(|i| i.key == "hold.time")
        .zip(ask.wishes.iter().find_map(|w| w.hold))
        .into_iter()
        .collect();
    let mut unwritten = None;
    for s in &mut report.solutions {
        let changes: Vec<(usize, f64)> =
            ask.vary.iter().zip(&s.values_si).map(|(v, x)| (v.given, *x)).chain(held.clone()).collect();
        match case.rewritten(&changes) {
            Ok(text) => s.case_toml = Some(text),
            Err(why) => unwritten = Some(why),
        }
    }
    report.warnings.extend(unwritten.map(|why| format!("No case file is written for the solutions: {why}.")));
    Ok(report)
}

/// The answer as it is given.
///
/// # Errors
/// [`Refusal::Failed`] when the report cannot be told as JSON, which none does.
pub fn reply(case: &Case, report: &SizeReport, want: Want) -> Result<Reply, Refusal> {
    Ok(Reply {
        question: NAME,
        sheet: sheet::sheet(report),
        report: with_provenance(case, report)?,
        doubtful: report.outcome == SizeOutcome::Undecided,
        film: None,
        figures: if want.figures {
            calotte_figures::laid_out(&want.style, || calotte_figures::size_figures(report))
        } else {
            Vec::new()
        },
        tables: if want.tables { tables::all(case, report) } else { Vec::new() },
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use calotte_specimen::{new_cap_template, read_case};

    fn case(table: &str) -> Case {
        let text = format!("{}\n{table}", new_cap_template());
        let (case, found) = read_case(text.as_bytes(), &|_| Err(std::io::ErrorKind::NotFound.into()));
        case.unwrap_or_else(|| panic!("{found:?}"))
    }

    const TABLE: &str = "[size]\nvary = [\"wall.thickness = 1..4 mm\", \"shape.half_angle = 40 deg..70 deg\"]\n\
        wishes = [\"margin >= 10 %\", \"margin <= 20 %\", \"smallest mass\"]\ndraws = 300\n";

    fn options(vary: &[&str], wishes: &[&str]) -> Options {
        let all =
            |option: &'static str, texts: &[&str]| texts.iter().map(|t| Written::new(option, *t)).collect();
        Options { vary: all("--vary", vary), wishes: all("--wish", wishes), draws: None }
    }

    fn told(ask: &Ask) -> (Vec<(&str, f64)>, Vec<&str>) {
        (
            ask.vary.iter().map(|v| (v.key.as_str(), v.to)).collect(),
            ask.wishes.iter().map(|w| w.text.as_str()).collect(),
        )
    }

    #[test]
    fn the_table_is_enough_and_options_come_before_it() {
        let case = case(TABLE);
        let (ask, _) = read(&case, &Options::default()).unwrap();
        let deg70 = 70f64.to_radians();
        assert_eq!(
            told(&ask),
            (
                vec![("wall.thickness", 0.004), ("shape.half_angle", deg70)],
                vec!["margin >= 10 %", "margin <= 20 %", "smallest mass"]
            )
        );
        assert_eq!(ask.draws, 300);
        let o = options(&["wall.thickness=1mm..3mm", "shape.radius=20mm..30mm"], &["margin = 12 % ± 1 %"]);
        let (ask, _) = read(&case, &Options { draws: Some(500), ..o }).unwrap();
        assert_eq!(
            told(&ask),
            (
                vec![("wall.thickness", 0.003), ("shape.half_angle", deg70), ("shape.radius", 0.03)],
                vec!["smallest mass", "margin = 12 % ± 1 %"]
            )
        );
        assert_eq!(ask.draws, 500);
    }

    #[test]
    fn faults_in_the_table_are_placed() {
        let first = case("[size]\n").text().lines().count();
        for (from, to, says) in [
            (
                "1..4 mm",
                "4..1 mm",
                format!("line {}, column 10, `vary` wall.thickness = 4..1 mm: the range is empty", first + 1),
            ),
            (
                "1..4 mm",
                "1 mm",
                format!("line {}, column 10, `vary` wall.thickness = 1 mm: limits are missing", first + 1),
            ),
            (
                "smallest mass",
                "smallest maas",
                format!(
                    "line {}, column 48, `wishes` \"smallest maas\": column 10: nothing is called `maas`",
                    first + 2
                ),
            ),
            ("shape.half_angle = 40 deg..70 deg", "wall.thickness = 1..2 mm", "is given twice".to_owned()),
        ] {
            assert!(TABLE.contains(from), "{from}");
            let refusal = read(&case(&TABLE.replace(from, to)), &Options::default()).unwrap_err().to_string();
            assert!(refusal.contains(&says), "{says}: {refusal}");
        }
        let bare = read(&case(""), &Options::default()).unwrap_err().to_string();
        assert!(bare.contains("nothing may change") && bare.contains("`[size]`"), "{bare}");
        let half = read(&case("[size]\nvary = \"wall.thickness = 1..4 mm\"\n"), &Options::default());
        assert!(half.unwrap_err().to_string().contains("nothing is wished"));
    }
}
