//! `calotte make`: moulds, cutting guides, drawings, forming tools and series of specimens.

use std::path::{Path, PathBuf};

use calotte_desk::{Refusal, misread};
use calotte_make::guide::Choice;
use calotte_make::job::{Ask, SeriesAsk, What, make as made, paper, suits};
use calotte_make::mould::Settings;
use calotte_quantity::{Dimension, Quantity};

use crate::answer::{Beside, not_written, read_with_files, refused};
use crate::{End, files, paint};

/// What the command takes.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Case file (TOML).
    case: PathBuf,
    /// What to make, with commas between: mould, guide, drawing, tool, series. Without it, what suits the part: a drawing always; a mould
    /// and, for a cap of a sphere, a cutting guide of what is not metal; a forming tool of what is.
    #[arg(long, value_name = "LIST")]
    what: Option<String>,
    /// Write the files, answer.json and answer.txt into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    /// Print the whole answer as JSON (SI units in the key names) instead of words.
    #[arg(long)]
    json: bool,
    /// Sheet that is printed on: a5, letter, a4, tabloid, a3.
    #[arg(long, value_name = "NAME", default_value = "a4")]
    paper: String,

    /// Mould: linear shrinkage of what is cast, as its data sheet says.
    #[arg(long, value_name = "SHARE", default_value = "0 %", help_heading = "Mould")]
    shrinkage: String,
    /// Mould: move both faces of the cavity outwards (a coat, what the machine adds to walls).
    #[arg(
        long,
        value_name = "LENGTH",
        default_value = "0 mm",
        allow_hyphen_values = true,
        help_heading = "Mould"
    )]
    offset: String,
    /// Mould: least material round the cavity.
    #[arg(long, value_name = "LENGTH", default_value = "5 mm", help_heading = "Mould")]
    mould_wall: String,
    /// Mould: draft of pins and channel, and least draft of the part that is not remarked on.
    #[arg(long, value_name = "ANGLE", default_value = "2 deg", help_heading = "Mould")]
    draft: String,
    /// Mould: diameter of the channel at its narrow end.
    #[arg(long, value_name = "LENGTH", default_value = "3 mm", help_heading = "Mould")]
    channel: String,
    /// Mould: number of vents at the rim.
    #[arg(long, value_name = "COUNT", default_value_t = 6, help_heading = "Mould")]
    vents: u32,
    /// Mould: gap at the rim through which air leaves.
    #[arg(long, value_name = "LENGTH", default_value = "0.1 mm", help_heading = "Mould")]
    flash: String,
    /// Mould: thickness of the disc through which a part with a hole is filled.
    #[arg(long, value_name = "LENGTH", default_value = "0.4 mm", help_heading = "Mould")]
    gate: String,
    /// Mould: diameter of the registration pins at their foot.
    #[arg(long, value_name = "LENGTH", default_value = "5 mm", help_heading = "Mould")]
    pin: String,
    /// Mould: play of the pins in their sockets.
    #[arg(long, value_name = "LENGTH", default_value = "0.15 mm", help_heading = "Mould")]
    play: String,
    /// Mould: thinnest wall that the machine makes; what would be thinner is refused.
    #[arg(long, value_name = "LENGTH", default_value = "0.8 mm", help_heading = "Mould")]
    thinnest: String,
    /// Mould: how far flat faces of the mesh may leave the true ones.
    #[arg(long, value_name = "LENGTH", default_value = "0.01 mm", help_heading = "Mould")]
    tolerance: String,

    /// Guide: half-angles of the slices (of the middle surface), with commas between; that of the part where none are given.
    #[arg(long, value_name = "ANGLES", help_heading = "Cutting guide")]
    slices: Option<String>,
    /// Guide: width of the wrap strips.
    #[arg(long, value_name = "LENGTH", default_value = "12 mm", help_heading = "Cutting guide")]
    strip_width: String,
    /// Guide: pieces of each strip; as few as fit the paper where none are given.
    #[arg(long, value_name = "COUNT", help_heading = "Cutting guide")]
    strip_pieces: Option<usize>,
    /// Guide: thickness of the paper, which makes strips a little longer.
    #[arg(long, value_name = "LENGTH", default_value = "0.1 mm", help_heading = "Cutting guide")]
    paper_thickness: String,
    /// Guide: radius of the ring stand's edge over that of the ball.
    #[arg(long, value_name = "RATIO", default_value_t = 0.7, help_heading = "Cutting guide")]
    ring: f64,

    /// Series: what varies: thickness, depth, or a key of the case.
    #[arg(long, value_name = "KEY", default_value = "thickness", help_heading = "Series")]
    vary: String,
    /// Series: how many specimens.
    #[arg(long, value_name = "COUNT", default_value_t = 6, help_heading = "Series")]
    count: usize,
    /// Series: how far theory is held to be off beforehand, one standard deviation of the thickness that acts.
    #[arg(long, value_name = "SHARE", default_value = "4 %", help_heading = "Series")]
    doubt: String,
    /// Series: sizes are rounded to multiples of this (0.01 mm, 0.1 deg where nothing is said).
    #[arg(long, value_name = "SIZE", help_heading = "Series")]
    step: Option<String>,
    /// Series: a mould for each specimen too.
    #[arg(long, help_heading = "Series")]
    moulds: bool,
}

/// A number of an option, SI.
fn number(option: &str, text: &str, kind: Dimension) -> Result<f64, Refusal> {
    Quantity::parse(text, kind).map(|q| q.value).map_err(|e| misread(&format!("{option} {text}"), &e))
}

fn asked(o: &Options, case: &calotte_specimen::Case, beside: Beside) -> Result<Ask, Refusal> {
    let what = match &o.what {
        None => Vec::new(),
        Some(list) => list
            .split(',')
            .map(|name| {
                What::named(name).ok_or_else(|| {
                    let names: Vec<&str> = What::ALL.iter().map(|w| w.name()).collect();
                    Refusal::with_help(
                        format!("--what {list}: `{}` cannot be made", name.trim()),
                        format!("one of {}", names.join(", ")),
                    )
                })
            })
            .collect::<Result<_, _>>()?,
    };
    let length = |option: &str, text: &str| number(option, text, Dimension::Length);
    let mould = Settings {
        wall: length("--mould-wall", &o.mould_wall)?,
        draft: number("--draft", &o.draft, Dimension::Angle)?,
        shrinkage: number("--shrinkage", &o.shrinkage, Dimension::Number)?,
        offset: length("--offset", &o.offset)?,
        channel: 0.5 * length("--channel", &o.channel)?,
        vents: o.vents,
        flash: length("--flash", &o.flash)?,
        gate: length("--gate", &o.gate)?,
        pin: 0.5 * length("--pin", &o.pin)?,
        play: length("--play", &o.play)?,
        thinnest: length("--thinnest", &o.thinnest)?,
        tolerance: length("--tolerance", &o.tolerance)?,
        ..Settings::default()
    };
    let guide = Choice {
        paper: paper(&o.paper)?,
        wide: 1e3 * length("--strip-width", &o.strip_width)?,
        thick: 1e3 * length("--paper-thickness", &o.paper_thickness)?,
        pieces: o.strip_pieces,
        ring: o.ring,
    };
    let slices = o
        .slices
        .iter()
        .flat_map(|l| l.split(','))
        .map(|t| number("--slices", t.trim(), Dimension::Angle))
        .collect::<Result<_, _>>()?;
    let step = match &o.step {
        None => None,
        Some(text) => {
            let input = calotte_make::series::which(case, &o.vary)
                .map_err(|e| Refusal::with_help(format!("--vary: {}", e.says), e.help))?;
            Some(number("--step", text, case.inputs()[input].dimension)?)
        }
    };
    let doubt = number("--doubt", &o.doubt, Dimension::Number)?;
    let series = SeriesAsk { vary: o.vary.clone(), count: o.count, doubt, step, moulds: o.moulds };
    Ok(Ask { what, mould, guide, slices, series, beside })
}

pub(crate) fn make(o: &Options) -> End {
    let Some((case, beside)) = read_with_files(&o.case) else { return End::BadInput };
    let place = format!("{}: ", o.case.display());
    let made = match asked(o, &case, beside).and_then(|ask| made(&case, &ask)) {
        Ok(made) => made,
        Err(refusal) => return refused(&refusal, &place),
    };
    if let Some(dir) = &o.out {
        let text = format!("{}\n", made.sheet.text());
        if let Err(e) = write(dir, &made.files, &made.report, &text) {
            return not_written(dir, &e);
        }
    }
    if o.json {
        return paint::json(&made.report);
    }
    let end = paint::line(&made.sheet.text());
    match &o.out {
        Some(dir) => paint::line(&format!(
            "{} files, answer.txt and answer.json are in {}",
            made.files.len(),
            dir.display()
        )),
        None => {
            let more =
                if suits(&case).len() < What::ALL.len() { "; `--what` chooses what is made" } else { "" };
            paint::line(&format!("Nothing was written: `--out DIR` writes {} files{more}.", made.files.len()))
        }
    };
    end
}

fn write(
    dir: &Path,
    made: &[(String, Vec<u8>)],
    report: &serde_json::Value,
    text: &str,
) -> Result<(), String> {
    crate::folder::answer(dir, report)?;
    files::write(&dir.join("answer.txt"), text.as_bytes()).map_err(|e| e.to_string())?;
    for (path, content) in made {
        let to = dir.join(path);
        if let Some(parent) = to.parent() {
            std::fs::create_dir_all(parent).map_err(|e| e.to_string())?;
        }
        files::write(&to, content).map_err(|e| e.to_string())?;
    }
    Ok(())
}
