//! `calotte spread`: a batch of parts made within the tolerances of the case.

use std::path::PathBuf;

use calotte_desk::spread::{COUNT, Options as Asked, USUAL_COUNT, USUAL_SEED, ask};
use calotte_desk::{Refusal, Written};

use crate::answer::{give, read, refused, want};
use crate::looks::Looks;
use crate::progress::Bars;
use crate::{End, files};

/// What the command takes.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Case file (TOML).
    case: PathBuf,
    /// Parts to draw.
    #[arg(long, value_name = "COUNT", default_value_t = USUAL_COUNT, value_parser = clap::value_parser!(u32).range(COUNT))]
    count: u32,
    /// Seed of the draws: the same seed, the same parts.
    #[arg(long, value_name = "N", default_value_t = USUAL_SEED)]
    seed: u64,
    /// How a number is distributed, `wall.thickness=uniform`: cut-normal (the usual: the tolerance is two standard deviations and
    /// the cut), uniform, triangular, normal, log-normal, measured values `2.01;2.03;1.98`, or a column of a CSV file
    /// `FILE.csv:COLUMN`. May be given several times.
    #[arg(long, value_name = "KEY=HOW")]
    distribution: Vec<String>,
    /// What a good part does, `"trip load"=3.0N..3.4N` or `margin=0.05..`: margin, waiting margin, wait, trip load, trip
    /// temperature, reset temperature, delta, snap ratio, peak strain or mass. May be given several times.
    #[arg(long, value_name = "GAUGE=FROM..TO")]
    window: Vec<String>,
    /// Two numbers that vary together, with their correlation, `shape.radius,wall.thickness=0.8`. May be given several times.
    #[arg(long, value_name = "KEY,KEY=R")]
    together: Vec<String>,
    /// Also: the tolerances that give this share of good parts, `99%`.
    #[arg(long, value_name = "SHARE")]
    want: Option<String>,
    /// Threads; 0 takes every core. The answer does not depend on it.
    #[arg(long, default_value_t = 0)]
    threads: usize,
    /// Print the whole answer as JSON (SI units in the key names) instead of words.
    #[arg(long)]
    json: bool,
    /// Write figures (SVG, PNG, PDF, CSV), the drawn parts as CSV and Parquet, and the answer as JSON into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    looks: Looks,
}

pub(crate) fn spread(o: &Options) -> End {
    let Some(case) = read(&o.case) else { return End::BadInput };
    let distributions = match o.distribution.iter().map(|d| distribution(d)).collect::<Result<_, _>>() {
        Ok(found) => found,
        Err(refusal) => return refused(&refusal, ""),
    };
    let written = |option, all: &[String]| all.iter().map(|t| Written::new(option, t)).collect();
    let asked = Asked {
        count: o.count,
        seed: o.seed,
        distributions,
        windows: written("--window", &o.window),
        together: written("--together", &o.together),
        want: o.want.as_ref().map(|w| Written::new("--want", w)),
    };
    let out = o.out.as_deref();
    let bars = Bars::new();
    let reply = ask(&case, &asked, want(out, o.threads, &o.looks), &bars);
    drop(bars);
    give(reply, "", o.json, out, &o.looks, "Figures, draws.csv, draws.parquet and answer.json")
}

/// A distribution as the desk takes it: a column of a file becomes its values.
fn distribution(text: &str) -> Result<Written, Refusal> {
    const OPTION: &str = "--distribution";
    let as_it_is = || Ok(Written::new(OPTION, text));
    let Some((key, what)) = text.split_once('=') else { return as_it_is() };
    let (file, column) = match what.rsplit_once(".csv") {
        Some((stem, "")) => (format!("{stem}.csv"), None),
        Some((stem, rest)) if rest.starts_with(':') => (format!("{stem}.csv"), Some(&rest[1..])),
        _ => return as_it_is(),
    };
    let wrong = |says: String, help: String| Refusal::with_help(format!("{OPTION} {text}: {says}"), help);
    let bytes = files::read(std::path::Path::new(&file)).map_err(|e| {
        wrong(
            format!("{file} cannot be read: {e}"),
            "a table of measured values is a CSV file with a row of heads".to_owned(),
        )
    })?;
    let mut table = csv::ReaderBuilder::new()
        .comment(Some(b'#'))
        .trim(csv::Trim::All)
        .flexible(true)
        .from_reader(&bytes[..]);
    let heads: Vec<String> = table
        .headers()
        .map_err(|e| {
            wrong(format!("{file}: {e}"), "a table of measured values is a CSV file in UTF-8".to_owned())
        })?
        .iter()
        .map(str::to_owned)
        .collect();
    let at = match column {
        None => Some(0),
        Some(name) => heads.iter().position(|h| h == name),
    };
    let Some(at) = at.filter(|i| *i < heads.len()) else {
        return Err(wrong(
            format!("{file} has no column `{}`", column.unwrap_or("")),
            format!("its columns are {}", heads.join(", ")),
        ));
    };
    let mut values = Vec::new();
    for row in table.records() {
        let row = row.map_err(|e| {
            wrong(format!("{file}: {e}"), "every row is a line of values parted by commas".to_owned())
        })?;
        // A gap is no value.
        values.extend(row.get(at).filter(|v| !v.is_empty()).map(str::to_owned));
    }
    if values.len() < 2 {
        return Err(wrong(
            format!("{file} has {} measured values in that column", values.len()),
            "two or more say how a number varies".to_owned(),
        ));
    }
    Ok(Written::new(OPTION, format!("{key}={}", values.join(";"))))
}
