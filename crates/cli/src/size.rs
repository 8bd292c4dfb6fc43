//! `calotte size`: which sizes give what is wished, printed or written.

use std::path::{Path, PathBuf};

use calotte_answers::size::report::SizeReport;
use calotte_desk::Written;
use calotte_desk::size::{DRAWS, Options as Asked, compute, reply};

use crate::answer::{not_written, read, refused, tell, want};
use crate::looks::Looks;
use crate::progress::Bars;
use crate::{End, files, folder};

/// What the command takes.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Case file (TOML).
    case: PathBuf,
    /// A number of the case that may change, with its limits: `wall.thickness=0.5mm..4mm`. Up to five times; comes before what the
    /// case's table `[size]` says of that number.
    #[arg(long, value_name = "KEY=FROM..TO")]
    vary: Vec<String>,
    /// What is wished, in words: `stays`, `margin >= 10 %`, `trip load = 3.2 N ± 0.2 N`, `wait = 2 s after a 5 s hold`,
    /// `margin >= 0 % for 99 % of the batch`, `smallest mass`. May be given several times; comes before what the case's table `[size]`
    /// wishes of the same number.
    #[arg(long, value_name = "WISH")]
    wish: Vec<String>,
    /// Parts drawn from the tolerances to check a wish about a share of a batch (else what the case's `[size]` says, or 1000).
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(DRAWS))]
    draws: Option<u32>,
    /// Threads; 0 takes every core.
    #[arg(long, default_value_t = 0)]
    threads: usize,
    /// Print the whole answer as JSON (SI units in the key names) instead of words.
    #[arg(long)]
    json: bool,
    /// Write a case file for each solution, figures (SVG, PNG, PDF, CSV), tables (CSV and Parquet) and the answer as text and JSON into this
    /// folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    looks: Looks,
}

pub(crate) fn size(o: &Options) -> End {
    let Some(case) = read(&o.case) else { return End::BadInput };
    let written =
        |option: &'static str, all: &[String]| all.iter().map(|t| Written::new(option, t)).collect();
    let asked =
        Asked { vary: written("--vary", &o.vary), wishes: written("--wish", &o.wish), draws: o.draws };
    let out = o.out.as_deref();
    let want = want(out, o.threads, &o.looks);
    let bars = Bars::new();
    let found = compute(&case, &asked, want.threads, &bars);
    drop(bars);
    let told = found.and_then(|report| Ok((reply(&case, &report, want)?, report)));
    let (reply, report) = match told {
        Ok(told) => told,
        Err(refusal) => return refused(&refusal, &format!("{}: ", o.case.display())),
    };
    let mut made = String::new();
    if let Some(dir) = out {
        let page = format!("{}\n", reply.sheet.text());
        let page = |()| files::write(&dir.join("answer.txt"), page.as_bytes()).map_err(|e| e.to_string());
        match folder::reply(dir, &reply, &o.looks).and_then(page).and_then(|()| cases(dir, &report)) {
            Ok(0) => {}
            Ok(1) => "solution-1.toml, ".clone_into(&mut made),
            Ok(n) => made = format!("solution-1.toml to solution-{n}.toml, "),
            Err(e) => return not_written(dir, &e),
        }
    }
    tell(&reply, o.json, out, &format!("{made}figures, tables, answer.txt and answer.json"))
}

/// Writes a case file for each solution; how many there are.
fn cases(dir: &Path, report: &SizeReport) -> Result<usize, String> {
    let mut count = 0;
    for (k, text) in report.solutions.iter().enumerate().filter_map(|(k, s)| Some((k, s.case_toml.as_ref()?)))
    {
        files::write(&dir.join(format!("solution-{}.toml", k + 1)), text.as_bytes())
            .map_err(|e| e.to_string())?;
        count += 1;
    }
    Ok(count)
}
