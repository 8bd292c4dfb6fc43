//! `calotte clip`: the motion in a clip, its figures with their errors, and a computed release beside it.

mod given;
pub(super) mod source;
mod words;

use std::path::{Path, PathBuf};

use calotte_desk::release::{Options as Asked, compute};
use calotte_desk::{PROGRAM, VERSION, Watch};
use calotte_figures::{ClipDrawing, clip_figures};
use calotte_lab::clip::report::{ClipReport, Stated, report, tell};
use calotte_lab::clip::{Pace, Place, Role, Session, Sized, Stirring, TrackSettings, Watched, compare};
use calotte_lab::picture::Light;
use calotte_quantity::Dimension;
use serde::Serialize;

use crate::answer::read_to_turn;
use crate::looks::Looks;
use crate::progress::Bars;
use crate::{End, folder, paint};
use source::{Source, source};

/// Options of the command.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// The clip: a folder of numbered pictures, a pattern such as "run_*.png", a GIF, or a video (through ffmpeg where it is
    /// installed).
    clip: PathBuf,
    /// Frames taken a second, `2000` or `2000 ± 1`.
    #[arg(long, value_name = "RATE")]
    fps: Option<String>,
    /// For a clip that carries times: how many times slower than it happened it plays.
    #[arg(long, value_name = "FACTOR")]
    slow: Option<String>,
    /// Scale: `10.2 ± 0.1 px/mm`, `0.098 mm/px`, or two points in pixels and the length between them,
    /// `X0,Y0,X1,Y1 = 50.0 ± 0.1 mm`.
    #[arg(long, value_name = "SCALE")]
    scale: Option<String>,
    /// Line across the pole, in pixels from the left and the top (default: upright, where the clip moves most).
    #[arg(long, value_name = "X0,Y0,X1,Y1")]
    line: Option<String>,
    /// Which edge along the line: 1 is the first from its start.
    #[arg(long, default_value_t = 1, value_name = "N", value_parser = clap::value_parser!(u8).range(1..=20))]
    edge: u8,
    /// Line across the rim on the left; with `--rim-right` heights are those of the pole over the rim.
    #[arg(long, value_name = "X0,Y0,X1,Y1", requires = "rim_right")]
    rim_left: Option<String>,
    /// Line across the rim on the right.
    #[arg(long, value_name = "X0,Y0,X1,Y1", requires = "rim_left")]
    rim_right: Option<String>,
    /// The rim stays in its place throughout (clamped, or seen not to jump): the pole followed alone then tells the way.
    #[arg(long, conflicts_with = "rim_left")]
    seated: bool,
    /// When the part was let go, from the first frame: `3 ± 1 ms`, `-2.1 s` (default: with the first frame, give or take one).
    #[arg(long, value_name = "TIME", allow_hyphen_values = true)]
    let_go: Option<String>,
    /// Exposure of a frame, `0.1 ms` (default: anything up to the time between frames).
    #[arg(long, value_name = "TIME")]
    shutter: Option<String>,
    /// Local gravity.
    #[arg(long, value_name = "ACCELERATION", default_value = "9.807 ± 0.03 m/s^2")]
    gravity: String,
    /// Grey values are proportional to light already (many high-speed cameras); by default they are taken for sRGB.
    #[arg(long)]
    linear: bool,
    /// Case file: the computed release is laid over the clip.
    #[arg(long, value_name = "CASE")]
    case: Option<PathBuf>,
    /// Print the whole answer as JSON (SI units in the key names) instead of words.
    #[arg(long)]
    json: bool,
    /// Write figures (SVG, PNG, PDF, CSV), the track (CSV and Parquet), answer.json and answer.txt into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    looks: Looks,
}

/// The answer with what produced it.
#[derive(Serialize)]
struct Answer<'a> {
    provenance: Provenance<'a>,
    #[serde(flatten)]
    report: &'a ClipReport,
}

#[derive(Serialize)]
struct Provenance<'a> {
    program: &'static str,
    version: &'static str,
    clip: &'a str,
    clip_digest: &'a str,
}

/// Frames looked at, at most about, to find where the clip moves.
const LOOKED: usize = 150;

enum Stop {
    Bad(String),
    Stopped,
}

impl From<String> for Stop {
    fn from(why: String) -> Self {
        Self::Bad(why)
    }
}

pub(crate) fn clip(o: &Options) -> End {
    let bars = Bars::new();
    let found = run(o, &bars);
    drop(bars);
    let (report, session) = match found {
        Ok(found) => found,
        Err(Stop::Bad(why)) => {
            paint::complain(&why);
            return End::BadInput;
        }
        Err(Stop::Stopped) => {
            paint::complain("stopped");
            return End::Stopped;
        }
    };
    let name = o.clip.display().to_string();
    let digest = session.digest();
    let provenance = Provenance { program: PROGRAM, version: VERSION, clip: &name, clip_digest: &digest };
    let answer = Answer { provenance, report: &report };
    let text = words::page(&name, &report);
    if let Some(dir) = &o.out
        && let Err(e) = write_all(dir, &name, &answer, &text, &session, &o.looks)
    {
        paint::complain(&format!("cannot write to {}: {e}", dir.display()));
        return End::BadInput;
    }
    let printed = if o.json { paint::json(&answer) } else { paint::line(&text) };
    if let Some(dir) = o.out.as_ref().filter(|_| !o.json) {
        paint::line(&format!(
            "Figures, track.csv, track.parquet, answer.json and answer.txt are in {}",
            dir.display()
        ));
    }
    match printed {
        End::Answered if !report.doubts.is_empty() => End::Undecided,
        end => end,
    }
}

fn write_all(
    dir: &Path,
    name: &str,
    answer: &Answer<'_>,
    text: &str,
    session: &Session,
    looks: &Looks,
) -> Result<(), String> {
    folder::answer(dir, answer)?;
    crate::files::write(&dir.join("answer.txt"), text.as_bytes()).map_err(|e| e.to_string())?;
    folder::table(dir, "track", &words::track(name, &session.digest(), answer.report))?;
    let drawing = ClipDrawing { strip: session.strip(), along: session.along(), report: answer.report };
    folder::draw(dir, looks, || clip_figures(&drawing, name))
}

fn run(o: &Options, watch: &dyn Watch) -> Result<(ClipReport, Session), Stop> {
    let number = |option: &str, text: &Option<String>, kind, example: &str| {
        text.as_ref().map(|t| given::positive(option, t, kind, example)).transpose()
    };
    let pace = Pace {
        rate: number("--fps", &o.fps, Dimension::Number, "2000")?,
        slow: number("--slow", &o.slow, Dimension::Number, "40")?,
    };
    let scale = o.scale.as_ref().ok_or_else(|| {
        "the scale is not known\n  help: `--scale \"10.2 ± 0.1 px/mm\"`, or two points in pixels and the length between them: `--scale \"100,400,600,400 = 50.0 ± 0.1 mm\"`".to_owned()
    })?;
    let scale = given::scale(scale)?;
    let gravity = given::positive("--gravity", &o.gravity, Dimension::Acceleration, "9.81 m/s^2")?;
    let shutter = number("--shutter", &o.shutter, Dimension::Time, "\"0.1 ms\"")?.map(|s| s.value);
    let let_go = o.let_go.as_deref().map(given::moment).transpose()?;
    let line = o.line.as_ref().map(|l| given::line("--line", l)).transpose()?;
    let rims = match (&o.rim_left, &o.rim_right) {
        (Some(l), Some(r)) => Some([given::line("--rim-left", l)?, given::line("--rim-right", r)?]),
        _ => None,
    };
    let from = source(&o.clip)?;
    if pace.rate.is_none() && pace.slow.is_none() {
        return Err(Stop::Bad("the frame rate is not known\n  help: `--fps 2000` is the number of frames taken a second; for a GIF or video, `--slow 40` says how many times slower than it happened it plays (`--slow 1`: as it happened)".to_owned()));
    }
    // A case that cannot be used is told before any frame is read.
    let case = match &o.case {
        Some(path) => Some(
            read_to_turn(path)
                .ok_or_else(|| Stop::Bad(format!("{}: not used; nothing was read", path.display())))?,
        ),
        None => None,
    };
    let light = if o.linear { Light::AsStored } else { Light::Srgb };
    let found = line.is_none();
    let line = match line {
        Some(line) => line,
        None => find(&from, light, watch, &o.clip)?,
    };
    let settings = TrackSettings { nth: usize::from(o.edge), ..TrackSettings::default() };
    let mut lines = vec![Watched { role: Role::Pole, line, found, settings }];
    for (role, line) in [Role::RimLeft, Role::RimRight].into_iter().zip(rims.into_iter().flatten()) {
        lines.push(Watched { role, line, found: false, settings: TrackSettings::default() });
    }
    let mut session = Session::new(&lines);
    let total = from.count();
    for (k, frame) in from.frames(light, 1)?.enumerate() {
        session.see(frame).map_err(|e| format!("{}: {e}", o.clip.display()))?;
        let share = total.map(|n| k as f64 / n.max(1) as f64);
        if k % 16 == 0 && !watch.progress(share, "following edges") {
            return Err(Stop::Stopped);
        }
    }
    if session.seen() == 0 {
        return Err(Stop::Bad(match session.first_bad() {
            Some(bad) => format!("no frame can be used; the first: {bad}"),
            None => format!("{}: there is no frame in it", o.clip.display()),
        }));
    }
    let step = from.order().map_or(1, |s| s.step);
    let motion = session.motion(step, &pace).map_err(|e| format!("{}: {e}", o.clip.display()))?;
    let spacing = motion.clock.spacing;
    // With the first frame, give or take one: even over two frames.
    let let_go = let_go.unwrap_or(Sized { value: 0.0, deviation: spacing / libm::sqrt(3.0) });
    let upright = line.direction()[1].abs() > 0.98;
    let place = Place { scale, gravity };
    let told = tell(motion, place, &Stated { let_go: Some(let_go), shutter, upright, seated: o.seated })
        .map_err(|e| format!("{}: {e}", o.clip.display()))?;
    let mut report = report(&session, from.order(), &told);
    if o.let_go.is_none() && report.figures.wait_s.is_some() {
        report.warnings.push("The wait counts from the first frame; if the part was let go at another moment, say when: `--let-go TIME`.".to_owned());
    }
    for (what, share, example) in [
        ("scale", scale.deviation, "--scale \"10.2 ± 0.1 px/mm\""),
        ("frame rate", told.motion.clock.share, "--fps \"2000 ± 1\""),
    ] {
        if share == 0.0 {
            report.warnings.push(format!(
                "The {what} has no tolerance and is taken as exact: what is not known of it is in no error. `{example}` says it."
            ));
        }
    }
    if let Some(case) = case {
        let (whole, _) = compute(&case, &Asked::default(), 1, watch).map_err(|e| Stop::Bad(e.to_string()))?;
        match compare(&told, &whole.release) {
            Ok(c) => report.comparison = Some(c),
            Err(why) => report.doubts.push(format!("The release cannot be laid over the clip: {why}.")),
        }
    }
    Ok((report, session))
}

/// The upright line where the clip moves most.
fn find(
    from: &Source,
    light: Light,
    watch: &dyn Watch,
    path: &Path,
) -> Result<calotte_lab::clip::Line, Stop> {
    let every = from.count().map_or(1, |n| n.div_ceil(LOOKED).max(1));
    let mut stirring: Option<Stirring> = None;
    for (k, frame) in from.frames(light, every)?.enumerate() {
        if let Ok(still) = frame {
            stirring
                .get_or_insert_with(|| Stirring::new(still.gray.width(), still.gray.height()))
                .see(&still.gray);
        }
        let share = from.count().map(|n| (k * every) as f64 / n.max(1) as f64);
        if k % 16 == 0 && !watch.progress(share, "looking for what moves") {
            return Err(Stop::Stopped);
        }
    }
    let Some(stirring) = stirring else {
        return Err(Stop::Bad(match from.frames(light, 1)?.find_map(Result::err) {
            Some(bad) => format!("no frame can be used; the first: {bad}"),
            None => format!("{}: there is no frame in it", path.display()),
        }));
    };
    stirring.upright().ok_or_else(|| {
        Stop::Bad(format!(
            "{}: nothing moves in this clip\n  help: does it show the snap? `--line X0,Y0,X1,Y1` chooses a line by hand",
            path.display()
        ))
    })
}
