//! `calotte release`: let the part go, print or write what it does.

mod page;
mod tables;

use std::path::{Path, PathBuf};
use std::sync::atomic::Ordering;

use calotte_answers::release::curves::{Slowing, WaitCurve, WaitSpread};
use calotte_answers::release::report::{Outcome, ReleaseReport};
use calotte_answers::release::{self as answer, Fault, Watch};
use calotte_quantity::{Dimension, Quantity};
use calotte_specimen::Case;
use serde::Serialize;

use crate::answer::read_to_turn;
use crate::ffmpeg::{self, VideoFailure};
use crate::folder;
use crate::map::ends;
use crate::provenance::Answer;
use crate::{End, files, paint, stop};

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
    #[arg(long, default_value_t = 200_000, value_name = "COUNT")]
    steps: u64,
    /// Also: the wait against the hold time over this range, `0.1s..100s`.
    #[arg(long, value_name = "FROM..TO")]
    hold: Option<String>,
    /// Hold times in that range, spaced by equal ratios.
    #[arg(long, default_value_t = 32, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(2..=10_000))]
    count: u32,
    /// Also: the spread of the wait over this many parts drawn from the tolerances of the case.
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(10..=1_000_000))]
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
    /// Write figures (SVG and PNG), the time history (CSV and Parquet) and the answer as JSON into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// With `--out`: also an animation (GIF and APNG; MP4 where ffmpeg is found).
    #[arg(long, requires = "out")]
    film: bool,
}

/// The answer with what was asked for beside it.
#[derive(Serialize)]
struct Whole {
    #[serde(flatten)]
    release: ReleaseReport,
    /// Wait against hold time.
    wait_curve: Option<WaitCurve>,
    /// Spread of the wait.
    spread: Option<WaitSpread>,
    /// Slowing down near the threshold.
    slowing: Option<Slowing>,
}

/// Distances from the threshold over which slowing down is told.
const NEAR: [f64; 2] = [1e-6, 0.1];
/// Points of it.
const NEAR_POINTS: usize = 21;

/// Why there is no answer.
enum Trouble {
    Input(String),
    Stopped,
}

impl From<Fault> for Trouble {
    fn from(f: Fault) -> Self {
        Self::Input(f.to_string())
    }
}

pub(crate) fn release(o: &Options) -> End {
    let Some(case) = read_to_turn(&o.case) else { return End::BadInput };
    let whole = match compute(o, &case) {
        Ok(whole) => whole,
        Err(Trouble::Stopped) => {
            paint::complain("stopped; nothing was written");
            return End::Stopped;
        }
        Err(Trouble::Input(why)) => {
            paint::complain(&why);
            return End::BadInput;
        }
    };
    let mut films = Vec::new();
    if let Some(dir) = &o.out {
        match write_all(dir, &case, &whole, o.film) {
            Ok(made) => films = made,
            Err(e) => {
                paint::complain(&format!("cannot write to {}: {e}", dir.display()));
                return End::BadInput;
            }
        }
    }
    let printed =
        if o.json { paint::json(&Answer::new(&case, &whole)) } else { paint::line(&page::page(&whole)) };
    if let Some(dir) = o.out.as_deref().filter(|_| !o.json) {
        let films = films.iter().map(|f| format!(", {f}")).collect::<String>();
        paint::line(&format!(
            "Figures{films}, history.csv, history.parquet and answer.json are in {}",
            dir.display()
        ));
    }
    match (printed, whole.release.outcome) {
        (End::Answered, Outcome::Undecided) => End::Undecided,
        (end, _) => end,
    }
}

fn compute(o: &Options, case: &Case) -> Result<Whole, Trouble> {
    let until = match &o.until {
        None => None,
        Some(text) => {
            let read = Quantity::parse(text, Dimension::Time).map_err(|e| {
                let help = e.hint().map_or(String::new(), |h| format!("\n  help: {h}"));
                Trouble::Input(format!("--until {text}: {e}{help}"))
            })?;
            if !(read.value > 0.0 && read.value.is_finite()) {
                return Err(Trouble::Input(format!(
                    "--until {text}: a time is greater than 0, for example `80 ms`"
                )));
            }
            Some(read.value)
        }
    };
    let holds = match &o.hold {
        None => None,
        Some(text) => Some(ends(text, "--hold", Dimension::Time).map_err(Trouble::Input)?),
    };
    let flag = stop::watch();
    let ask = answer::Ask { until, landing: o.landing, steps: o.steps, ..answer::Ask::default() };
    let bar = paint::spinner("marching");
    let mut release = answer::release(case, case.motion(), &ask, &mut |t| {
        bar.set_message(calotte_answers::explain::duration(t));
        bar.tick();
        !flag.load(Ordering::Relaxed)
    })?;
    bar.finish_and_clear();
    if flag.load(Ordering::Relaxed) {
        return Err(Trouble::Stopped);
    }
    if !case.says_motion() {
        release.warnings.insert(
            0,
            "The case has none of the tables [memory], [hold] and [surroundings]: the material is taken as elastic, and the part \
             let go at once at its inverted equilibrium (or in the shape of its threshold), floating."
                .into(),
        );
    }
    let threads = match o.threads {
        0 => std::thread::available_parallelism().map_or(1, usize::from),
        n => n,
    };
    let bars = |what: &str, count: usize| paint::bar(what, count as u64);
    let curve_bar = bars("holds", o.count as usize);
    let wait_curve = match holds {
        None => None,
        Some(range) => {
            let progress = |n: usize| curve_bar.set_position(n as u64);
            let watch = Watch { threads, stop: &flag, progress: &progress };
            Some(answer::wait_curve(case, range, o.count as usize, &watch)?.ok_or(Trouble::Stopped)?)
        }
    };
    curve_bar.finish_and_clear();
    let drawn = o.spread.unwrap_or(0) as usize;
    let spread_bar = bars("draws", drawn);
    let spread = match o.spread {
        None => None,
        Some(_) => {
            let progress = |n: usize| spread_bar.set_position(n as u64);
            let watch = Watch { threads, stop: &flag, progress: &progress };
            Some(answer::wait_spread(case, drawn, &watch)?.ok_or(Trouble::Stopped)?)
        }
    };
    spread_bar.finish_and_clear();
    let slowing = if o.slowing {
        let bar = bars("distances", 3 * NEAR_POINTS);
        let progress = |n: usize| bar.set_position(n as u64);
        let watch = Watch { threads, stop: &flag, progress: &progress };
        Some(answer::slowing(case, NEAR, NEAR_POINTS, &watch)?.ok_or(Trouble::Stopped)?)
    } else {
        None
    };
    Ok(Whole { release, wait_curve, spread, slowing })
}

/// Writes everything; the names of the films made come back.
fn write_all(dir: &Path, case: &Case, whole: &Whole, film: bool) -> Result<Vec<String>, String> {
    folder::answer(dir, &Answer::new(case, whole))?;
    let mut all = vec![("history", tables::history(case, &whole.release))];
    all.extend(whole.wait_curve.as_ref().map(|c| ("wait", tables::wait(case, c))));
    all.extend(whole.spread.as_ref().map(|s| ("draws", tables::draws(case, s))));
    all.extend(whole.slowing.as_ref().map(|s| ("slowing", tables::slowing(case, s))));
    for (name, table) in all {
        folder::table(dir, name, &table)?;
    }
    let title = &whole.release.title;
    let mut figures = calotte_figures::release_figures(&whole.release);
    figures.extend(whole.wait_curve.as_ref().and_then(|c| calotte_figures::wait_figure(c, title)));
    figures.extend(whole.spread.as_ref().and_then(|s| calotte_figures::spread_figure(s, title)));
    figures.extend(whole.slowing.as_ref().and_then(|s| calotte_figures::slowing_figure(s, title)));
    folder::figures(dir, figures)?;
    if film { films(dir, &whole.release) } else { Ok(Vec::new()) }
}

/// Writes the animations; the names of those made come back. Without ffmpeg there is no MP4, and that is said.
fn films(dir: &Path, report: &ReleaseReport) -> Result<Vec<String>, String> {
    use calotte_figures::animation;
    let text = |e: std::io::Error| e.to_string();
    let pictures = animation::frames(report, &animation::Setting::default());
    let Some(first) = pictures.first() else {
        return Err("there are too few shapes to make an animation of".to_owned());
    };
    let mut made = vec!["release.gif".to_owned(), "release.apng".to_owned()];
    let gif = animation::gif(&pictures).map_err(|e| e.to_string())?;
    files::write(&dir.join(&made[0]), &gif).map_err(text)?;
    let apng = animation::apng(&pictures).map_err(|e| e.to_string())?;
    files::write(&dir.join(&made[1]), &apng).map_err(text)?;
    let delays: Vec<u16> = pictures.iter().map(|p| p.delay_cs).collect();
    let size = (first.width, first.height);
    let video = dir.join("release.mp4");
    match ffmpeg::mp4("ffmpeg".as_ref(), &video, size, &delays, &mut |i| pictures[i].rgb()) {
        Ok(()) => made.push("release.mp4".to_owned()),
        Err(e @ VideoFailure::NotFound { .. }) => paint::complain(&format!("no MP4: {e}")),
        Err(e) => return Err(e.to_string()),
    }
    Ok(made)
}
