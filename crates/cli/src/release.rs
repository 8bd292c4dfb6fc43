//! `calotte release`: let the part go, print or write what it does.

use std::path::{Path, PathBuf};

use calotte_answers::release::report::ReleaseReport;
use calotte_desk::Written;
use calotte_desk::release::{DRAWS, HOLDS, Options as Asked, USUAL_HOLDS, USUAL_STEPS, compute, reply};

use crate::answer::{not_written, read_to_turn, refused, tell, want};
use crate::film::video;
use crate::looks::Looks;
use crate::progress::Bars;
use crate::{End, files, folder, paint};

/// Options of the command.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Case file (TOML).
    case: PathBuf,
    /// Time followed after letting go, `80 ms` (default: through the snap and six periods of ringing).
    #[arg(long, value_name = "TIME")]
    until: Option<String>,
    /// Follow the flight until the part has landed.
    #[arg(long)]
    landing: bool,
    /// Steps allowed.
    #[arg(long, default_value_t = USUAL_STEPS, value_name = "COUNT")]
    steps: u64,
    /// Also: the wait against the hold time over this range, `0.1s..100s`.
    #[arg(long, value_name = "FROM..TO")]
    hold: Option<String>,
    /// Hold times in that range, spaced by equal ratios.
    #[arg(long, default_value_t = USUAL_HOLDS, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(HOLDS))]
    count: u32,
    /// Also: the spread of the wait over this many parts drawn from the tolerances of the case.
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(DRAWS))]
    spread: Option<u32>,
    /// Also: how delay and frequency slow down near the threshold.
    #[arg(long)]
    slowing: bool,
    /// Threads for the many releases of `--hold`, `--spread` and `--slowing`; 0 takes every core.
    #[arg(long, default_value_t = 0)]
    threads: usize,
    /// Print the whole answer as JSON (SI units in the key names) instead of words.
    #[arg(long)]
    json: bool,
    /// Write figures (SVG, PNG, PDF, CSV), the time history (CSV and Parquet) and the answer as JSON into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    looks: Looks,
    /// With `--out`: also an animation (GIF and APNG; MP4 where ffmpeg is found).
    #[arg(long, requires = "out")]
    film: bool,
}

pub(crate) fn release(o: &Options) -> End {
    let Some(case) = read_to_turn(&o.case) else { return End::BadInput };
    let written = |option, text: &Option<String>| text.as_ref().map(|t| Written::new(option, t));
    let asked = Asked {
        until: written("--until", &o.until),
        landing: o.landing,
        steps: o.steps,
        hold: written("--hold", &o.hold),
        count: o.count,
        spread: o.spread,
        slowing: o.slowing,
    };
    let out = o.out.as_deref();
    let want = want(out, o.threads, &o.looks);
    let bars = Bars::new();
    let found = compute(&case, &asked, want.threads, &bars);
    drop(bars);
    let told = found.and_then(|(whole, film)| Ok((reply(&case, &whole, film, want)?, whole.release)));
    let (reply, report) = match told {
        Ok(told) => told,
        Err(refusal) => return refused(&refusal, ""),
    };
    let mut made = Vec::new();
    if let Some(dir) = out {
        let films = |()| if o.film { films(dir, &report) } else { Ok(Vec::new()) };
        match folder::reply(dir, &reply, &o.looks).and_then(films) {
            Ok(films) => made = films,
            Err(e) => return not_written(dir, &e),
        }
    }
    let films = made.iter().map(|f| format!(", {f}")).collect::<String>();
    tell(&reply, o.json, out, &format!("Figures{films}, history.csv, history.parquet and answer.json"))
}

/// Writes the animations; the names of those made come back. Without ffmpeg there is no MP4, and that is said.
fn films(dir: &Path, report: &ReleaseReport) -> Result<Vec<String>, String> {
    use calotte_figures::animation;
    let text = |e: std::io::Error| e.to_string();
    let pictures = animation::frames(report, &animation::Setting::default());
    if pictures.is_empty() {
        return Err("there are too few shapes to make an animation of".to_owned());
    }
    let mut made = vec!["release.gif".to_owned(), "release.apng".to_owned()];
    let gif = animation::gif(&pictures).map_err(|e| e.to_string())?;
    files::write(&dir.join(&made[0]), &gif).map_err(text)?;
    let apng = animation::apng(&pictures).map_err(|e| e.to_string())?;
    files::write(&dir.join(&made[1]), &apng).map_err(text)?;
    match video(&dir.join("release.mp4"), &pictures, u64::MAX)? {
        Ok(_) => made.push("release.mp4".to_owned()),
        Err(why) => paint::complain(&format!("no MP4: {why}")),
    }
    Ok(made)
}
