//! `calotte film`: moving pictures of an answer, as files.

pub(crate) mod given;
mod source;

use std::path::{Path, PathBuf};

use calotte_desk::{Refusal, Sheet, Watch, facts, with_provenance};
use calotte_figures::animation::{
    Budget, Format, LONGEST, Made, NotMade, PageWords, Picture, Setting, Style, View, make,
};
use serde::Serialize;

use self::given::{bytes, formats, said, seconds, size, slow_motion};
use self::source::Source;
use crate::answer::{not_written, read, refused};
use crate::ffmpeg::{self, VideoFailure};
use crate::progress::Bars;
use crate::{End, files, paint};

/// Options of the command.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Case file (TOML).
    case: PathBuf,
    /// What is shown.
    #[arg(long, value_enum, value_name = "KIND")]
    of: Kind,
    /// How the part is shown.
    #[arg(long, value_enum, default_value_t = Look::Both)]
    look: Look,
    /// Without colours for the energy stored in the part in the round: its two faces have a colour each.
    #[arg(long)]
    plain: bool,
    /// Files to make; MP4 needs ffmpeg.
    #[arg(long, default_value = "gif,apng,mp4,html", value_name = "LIST")]
    formats: String,
    /// How long it plays, s, about; a release has stills and a fade besides.
    #[arg(long, default_value = "8", value_name = "SECONDS")]
    seconds: String,
    /// Pixels, across and down.
    #[arg(long, default_value = "640x480", value_name = "WxH")]
    size: String,
    /// Of a release and of modes: how many times slower than it happens, or what suits each stretch of it.
    #[arg(long, default_value = "auto", value_name = "auto|FACTOR")]
    slow_motion: String,
    /// Of modes: this one of the lowest alone, counted from 1 (default: the first three).
    #[arg(long, value_name = "NUMBER", value_parser = clap::value_parser!(u16).range(1..=200))]
    mode: Option<u16>,
    /// Of modes: about the stable inverted shape instead of the natural one.
    #[arg(long)]
    inverted: bool,
    /// No file is larger: colours, pictures and size are given up, in this order, until all fit.
    #[arg(long, default_value = "5MB", value_name = "BYTES")]
    most: String,
    /// Print what was made as JSON (SI units in the key names) instead of words.
    #[arg(long)]
    json: bool,
    /// Folder for the files.
    #[arg(long, default_value = "film", value_name = "DIR")]
    out: PathBuf,
}

/// What a film is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum Kind {
    /// Letting go of the inverted part.
    Release,
    /// The path of the load, with its leaps.
    Poke,
    /// Pushing it inside out.
    Turning,
    /// One period of the lowest modes.
    Modes,
    /// A cycle of heat.
    Heat,
}

impl Kind {
    fn word(self) -> &'static str {
        match self {
            Self::Release => "release",
            Self::Poke => "poke",
            Self::Turning => "turning",
            Self::Modes => "modes",
            Self::Heat => "heat",
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, clap::ValueEnum)]
enum Look {
    /// Cut along the axis.
    Section,
    /// In the round, shaded.
    Solid,
    /// Both, side by side.
    Both,
}

/// What was made, as data.
#[derive(Serialize)]
struct FilmReport {
    schema_version: u32,
    title: String,
    of: &'static str,
    look: &'static str,
    doubts: Vec<String>,
    description: String,
    closing: &'static str,
    pictures: usize,
    plays_s: f64,
    width_px: u32,
    height_px: u32,
    colours: usize,
    slowed_least: Option<f64>,
    slowed_most: Option<f64>,
    most_bytes: u64,
    reduced: Vec<String>,
    files: Vec<FileMade>,
    not_made: Vec<String>,
}

#[derive(Serialize)]
struct FileMade {
    name: String,
    format: &'static str,
    bytes: u64,
}

/// Layout of the JSON.
const SCHEMA_VERSION: u32 = 1;
/// How long a picture stays, hundredths of a second.
const DELAY_CS: u16 = 4;

/// What was asked for, read.
struct Asked {
    setting: Setting,
    formats: Vec<Format>,
    video: bool,
    most: u64,
}

fn asked(o: &Options) -> Result<Asked, Refusal> {
    let (width, height) = size(&o.size)?;
    let seconds = seconds(&o.seconds)?;
    let slowed = slow_motion(&o.slow_motion)?;
    let timed = matches!(o.of, Kind::Release | Kind::Modes);
    if slowed.is_some() && !timed {
        return Err(Refusal::with_help(
            format!("--slow-motion: a film of {} has no time that could be slowed", o.of.word()),
            "its clock is the load, the temperature or the way; `--seconds` says how long it plays",
        ));
    }
    if (o.mode.is_some() || o.inverted) && o.of != Kind::Modes {
        return Err(Refusal::question("--mode and --inverted are for films of modes alone"));
    }
    let (formats, video) = formats(&o.formats)?;
    let pictures = (seconds * 100.0 / f64::from(DELAY_CS)).round().max(2.0) as usize;
    Ok(Asked {
        setting: Setting { width, height, pictures, delay_cs: DELAY_CS, slowed },
        formats,
        video,
        most: bytes("--most", &o.most)?,
    })
}

/// Runs the command.
pub(crate) fn film(o: &Options) -> End {
    let asked = match asked(o) {
        Ok(asked) => asked,
        Err(why) => return refused(&why, ""),
    };
    let Some(case) = read(&o.case) else { return End::BadInput };
    let bars = Bars::new();
    let mode = o.mode.map(usize::from);
    let source = match Source::ask(&case, o.of, mode, o.inverted, &bars) {
        Ok(source) => source,
        Err(why) => {
            drop(bars);
            return refused(&why, &format!("{}: ", o.case.display()));
        }
    };
    let style = Style {
        view: match o.look {
            Look::Section => View::Section,
            Look::Solid => View::Solid,
            Look::Both => View::Both,
        },
        energy: !o.plain,
        colours: 255,
    };
    let notes = vec![format!("Computed by calotte {} from {}.", calotte_desk::VERSION, case.digest())];
    let words =
        PageWords { title: format!("{}: {}", case.title, o.of.word()), notes, ..PageWords::default() };
    let budget = Budget { formats: asked.formats.clone(), most: asked.most };
    let play = |s: &Setting| source.play(s);
    let watch = &mut |share: f64, words: &str| bars.progress(Some(share), words);
    let made = make(&play, &asked.setting, &style, &budget, &words, watch);
    drop(bars);
    let made = match made {
        Ok(made) => made,
        Err(why) => return not_made(o, &asked, why),
    };
    let (files, not_made) = match write(o, &asked, &made) {
        Ok(written) => written,
        Err(why) => return not_written(&o.out, &why),
    };
    if files.is_empty() {
        return End::BadInput;
    }
    let Some(first) = made.pictures.first() else { return End::Failure };
    let slowed = || made.pictures.iter().filter_map(|p| p.slowed);
    let report = FilmReport {
        schema_version: SCHEMA_VERSION,
        title: case.title.clone(),
        of: o.of.word(),
        look: match o.look {
            Look::Section => "section",
            Look::Solid => "solid",
            Look::Both => "both",
        },
        doubts: source.doubts(),
        description: made.alt.clone(),
        closing: made.closing,
        pictures: made.pictures.len(),
        plays_s: made.pictures.iter().map(|p| f64::from(p.delay_cs)).sum::<f64>() / 100.0,
        width_px: first.width,
        height_px: first.height,
        colours: first.colour_count(),
        slowed_least: slowed().reduce(f64::min),
        slowed_most: slowed().reduce(f64::max),
        most_bytes: asked.most,
        reduced: made.reduced.clone(),
        files,
        not_made,
    };
    tell(o, &case, &report)
}

/// Says why there is no film.
fn not_made(o: &Options, asked: &Asked, why: NotMade) -> End {
    let refusal = match why {
        NotMade::Stopped => Refusal::Stopped,
        NotMade::Failed(e) => Refusal::Failed { says: e.to_string() },
        NotMade::TooLarge { least } => Refusal::with_help(
            format!("--most {}: the smallest film that could be made has {}", said(asked.most), said(least)),
            format!(
                "ask for `--most {}`, for fewer `--seconds`, or for a smaller `--size`",
                said((least as f64 * 1.02) as u64 + 1000)
            ),
        ),
        NotMade::Nothing if asked.setting.slowed.is_some() => Refusal::with_help(
            format!(
                "--slow-motion {}: the film would last longer than {LONGEST} s, or show nothing",
                o.slow_motion
            ),
            "ask for a smaller factor, or for `--slow-motion auto`",
        ),
        NotMade::Nothing => Refusal::with_help(
            format!(
                "no film of {} can be made: too few shapes were found, or {} leaves no room",
                o.of.word(),
                o.size
            ),
            format!(
                "`calotte {}` says what was found; sizes from 320x240 have room for everything",
                ask_first(o.of)
            ),
        ),
    };
    refused(&refusal, "")
}

/// The command that answers what the film shows.
fn ask_first(of: Kind) -> &'static str {
    if of == Kind::Turning { "verdict" } else { of.word() }
}

/// Writes the films; what was made, and what was not, with reasons.
fn write(o: &Options, asked: &Asked, made: &Made) -> Result<(Vec<FileMade>, Vec<String>), String> {
    std::fs::create_dir_all(&o.out).map_err(|e| e.to_string())?;
    let name = |ending: &str| format!("{}.{ending}", o.of.word());
    let mut out = Vec::new();
    for (format, bytes) in &made.files {
        let name = name(format.ending());
        files::write(&o.out.join(&name), bytes).map_err(|e| e.to_string())?;
        out.push(FileMade { name, format: format.ending(), bytes: bytes.len() as u64 });
    }
    let mut not_made = Vec::new();
    if asked.video {
        let name = name("mp4");
        match video(&o.out.join(&name), &made.pictures, asked.most)? {
            Ok(bytes) => out.push(FileMade { name, format: "mp4", bytes }),
            Err(why) => {
                paint::complain(&format!("no MP4: {why}"));
                not_made.push(format!("MP4: {why}"));
            }
        }
    }
    Ok((out, not_made))
}

/// An MP4 of pictures: its bytes, or why there is none.
pub(crate) fn video(path: &Path, pictures: &[Picture], most: u64) -> Result<Result<u64, String>, String> {
    let Some(first) = pictures.first() else { return Err("there is no picture".to_owned()) };
    let delays: Vec<u16> = pictures.iter().map(|p| p.delay_cs).collect();
    let size = (first.width, first.height);
    match ffmpeg::mp4("ffmpeg".as_ref(), path, size, &delays, &mut |i| pictures[i].rgb()) {
        Ok(()) => {
            let bytes = std::fs::metadata(path).map_err(|e| e.to_string())?.len();
            if bytes > most {
                std::fs::remove_file(path).map_err(|e| e.to_string())?;
                return Ok(Err(format!("it would have {}, more than {}", said(bytes), said(most))));
            }
            Ok(Ok(bytes))
        }
        Err(e @ VideoFailure::NotFound { .. }) => Ok(Err(e.to_string())),
        Err(e) => Err(e.to_string()),
    }
}

/// Prints what was made.
fn tell(o: &Options, case: &calotte_specimen::Case, r: &FilmReport) -> End {
    let value = match with_provenance(case, r) {
        Ok(value) => value,
        Err(why) => return refused(&why, ""),
    };
    let printed = if o.json { paint::json(&value) } else { paint::line(&sheet(o, r, &facts(case)).text()) };
    match printed {
        End::Answered if !r.doubts.is_empty() => End::Undecided,
        end => end,
    }
}

fn sheet(o: &Options, r: &FilmReport, _facts: &[(String, String)]) -> Sheet {
    let mut p = Sheet::new(&format!("FILM of {}: {}", r.of, r.title));
    p.text_block(&r.description);
    p.doubts(&r.doubts);
    p.head("Film");
    p.row(
        "pictures",
        &format!("{} of {}x{} pixels, {} colours", r.pictures, r.width_px, r.height_px, r.colours),
    );
    p.row("plays", &format!("{:.1} s, over and over; {}", r.plays_s, r.closing));
    let times = |x: f64| {
        if x >= 1.0 { format!("slowed {} ×", digits(x)) } else { format!("sped up {} ×", digits(1.0 / x)) }
    };
    match (r.slowed_least, r.slowed_most) {
        (Some(a), Some(b)) if (a / b - 1.0).abs() < 1e-6 => p.row("time", &times(a)),
        (Some(a), Some(b)) => {
            p.row("time", &format!("from {} to {}; every picture says", times(a), times(b)))
        }
        _ => p.row("time", "none: the clock is what is set"),
    }
    if r.reduced.is_empty() {
        p.row("given up", &format!("nothing: every file has at most {}", said(r.most_bytes)));
    } else {
        p.row(
            "given up",
            &format!("{}, so that every file has at most {}", r.reduced.join(", "), said(r.most_bytes)),
        );
    }
    p.head(&format!("Files in {}", o.out.display()));
    for f in &r.files {
        p.row(&f.name, &said(f.bytes));
    }
    for n in &r.not_made {
        p.row("not made", n);
    }
    p
}

fn digits(x: f64) -> String {
    calotte_answers::explain::digits(x, 3)
}
