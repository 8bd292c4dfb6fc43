//! `calotte`: predicts whether a snapping part stays inverted, why, and by what margin.

mod answer;
mod export;
mod ffmpeg;
mod files;
mod film;
mod findings;
mod folder;
mod heat;
mod lab;
mod looks;
mod make;
mod map;
mod memory;
mod modes;
mod paint;
mod progress;
mod provenance;
mod release;
mod report;
mod series;
mod serve;
mod size;
mod spread;
mod stop;
mod sweep;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

/// Predicts whether a snapping part, turned inside out, stays or returns, why, and by what margin.
///
/// Exit codes: 0 answered, 1 undecided, 2 bad input, 3 internal failure, 130 stopped by Ctrl-C.
#[derive(Parser)]
#[command(name = "calotte", version, arg_required_else_help = true)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Turned inside out, does this part stay, and by what margin?
    ///
    /// Of a part of lines and arcs (cones, keys, folding bowls): all stable states found, and the passes between them.
    Verdict {
        /// Case file (TOML).
        case: PathBuf,
        /// Print the whole answer as JSON (SI units in the key names) instead of words.
        #[arg(long)]
        json: bool,
        /// Write figures (SVG, PNG, PDF, CSV) and the answer as JSON into this folder.
        #[arg(long, value_name = "DIR")]
        out: Option<PathBuf>,
        #[command(flatten)]
        looks: looks::Looks,
    },
    /// What trips this part, by which route, and how does it come back?
    ///
    /// Follows the equilibrium path of the load in the case's `[load]` table (a force on the pole without one) through all
    /// its limits.
    Poke {
        /// Case file (TOML).
        case: PathBuf,
        /// Print the whole answer as JSON (SI units in the key names) instead of words.
        #[arg(long)]
        json: bool,
        /// Write figures (SVG, PNG, PDF, CSV), the path as CSV and Parquet, and the answer as JSON into this folder.
        #[arg(long, value_name = "DIR")]
        out: Option<PathBuf>,
        #[command(flatten)]
        looks: looks::Looks,
    },
    /// At which temperatures does this part trip and reset, and what moves them?
    ///
    /// Follows the equilibrium path of a wall of `[layers]` over temperature, with the device of the case's `[heat]`.
    Heat(heat::Options),
    /// At which frequencies does this part vibrate, in how many waves, and at which pressure does it buckle?
    ///
    /// Small vibrations about the natural or the inverted shape, every number of waves round the axis; nothing among the lowest
    /// is missing.
    Modes(modes::Options),
    /// Let go of the inverted part: when does it snap, how fast, what does it do then?
    ///
    /// Marches the motion after the case's `[hold]`, with its `[memory]` and `[surroundings]`, through wait, snap, ringing and
    /// flight.
    Release(release::Options),
    /// Show an answer as a film: a release, a poke with its leaps, turning inside out, modes, a cycle of heat.
    ///
    /// In section and in the round, with a clock, as GIF, animated PNG, MP4 and one page of HTML.
    Film(film::Options),
    /// Write shapes and fields of an answer for other programs: VTK XML over time, temperature or load, STL, tables.
    Export(export::Options),
    /// How many parts of a batch stay, wait, return or trip inside their window, and which tolerance matters most?
    ///
    /// Draws parts within the tolerances of the case. Thresholds and limits are followed, so that a hundred thousand parts take
    /// seconds.
    Spread(spread::Options),
    /// How do thresholds run over two numbers of the case?
    Map(map::Options),
    /// Which sizes give what is wished, or which wish stands in the way?
    ///
    /// Numbers of the case that may change within limits (`--vary`), and wishes in words (`--wish`): all solutions found, each checked
    /// by the forward question, with sensitivities and a case file.
    Size(size::Options),
    /// Vary one number of the case and answer at every point, on all cores; goes on where it was stopped.
    Series(series::Options),
    /// Questions at thousands to a hundred million points of a plan, on this machine or on a cluster; goes on where it was stopped.
    ///
    /// Grids, Latin hypercubes, Sobol points or a table; every chunk of points is a Parquet file with the same bytes whoever computes
    /// it.
    Sweep(sweep::Options),
    /// Which memory (Prony series) fits a table of relaxation or creep, and how well?
    Memory(memory::Options),
    /// Make the part: a casting mould, a guide for cutting slices from a ball, a drawing, a forming tool, a series of specimens.
    ///
    /// Solids as STL and 3MF, checked; sheets at true scale as PDF and SVG; drawings as DXF; a logbook ready to fill.
    Make(make::Options),
    /// Which modulus, memory and wall do bench tests give: droop, dead weights, ringing, hardness, callipers, relaxation?
    Bench(lab::bench::Options),
    /// What do specimens and trials say beside theory, and which specimen should be made next?
    ///
    /// Margins with their errors, chances of what happened, numbers read beside numbers computed; effective thickness, memory and
    /// modulus that the trials ask for.
    Logbook(lab::logbook::Options),
    /// Sizes of a part from a picture of it seen from the side, natural, inverted or cut, with errors.
    Side(lab::side::Options),
    /// A report about a case: a page that needs no network, a PDF, figures, sources; anyone can make it again from what it carries.
    Report(report::Options),
    /// Write a commented case file to start from.
    New {
        /// What kind of part.
        #[arg(value_enum)]
        kind: Kind,
        /// Where to write it; must not exist yet.
        #[arg(default_value = "case.toml")]
        path: PathBuf,
    },
    /// Serve a page on which a case is edited and asked, in the browser of this machine.
    ///
    /// Nothing leaves the machine. Ctrl-C ends it.
    Serve(serve::Options),
    /// Work for `serve`: jobs as lines on standard input, answers as lines on standard output.
    #[command(hide = true)]
    Worker,
    /// What moves in this clip, how fast, and does it agree with the computed release?
    ///
    /// Follows an edge through the frames and reads wait, growth, snap time, speed, ringing and jump, each with its error.
    Clip(lab::clip::Options),
    /// Make an invented measurement of a computed part, to try a set-up with.
    #[command(subcommand)]
    Rehearse(lab::rehearse::Rehearse),
    /// List the shelf of generic materials, each value with its source and spread.
    Shelf,
    /// Print the JSON schema of case files, for editors.
    Schema,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum Kind {
    /// A cap of a sphere.
    Cap,
    /// A thermal disc of two layers.
    Disc,
    /// A rubber key.
    Key,
    /// A coned disc spring.
    Cone,
    /// A folding bowl.
    Bowl,
}

impl Kind {
    /// Name of its template.
    fn word(self) -> &'static str {
        match self {
            Self::Cap => "cap",
            Self::Disc => "disc",
            Self::Key => "key",
            Self::Cone => "cone",
            Self::Bowl => "bowl",
        }
    }
    /// The command that answers what one first asks about it.
    fn ask(self) -> &'static str {
        match self {
            Self::Cap | Self::Bowl => "verdict",
            Self::Disc => "heat",
            Self::Key | Self::Cone => "poke",
        }
    }
}

/// How a run ended, as an exit code.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum End {
    Answered,
    Undecided,
    BadInput,
    Failure,
    /// Stopped by Ctrl-C; finished pieces are kept.
    Stopped,
}

fn main() -> ExitCode {
    let end = match Arguments::parse().command {
        Command::Verdict { case, json, out, looks } => answer::verdict(&case, json, out.as_deref(), &looks),
        Command::Poke { case, json, out, looks } => answer::poke(&case, json, out.as_deref(), &looks),
        Command::Heat(options) => heat::heat(&options),
        Command::Modes(options) => modes::modes(&options),
        Command::Release(options) => release::release(&options),
        Command::Film(options) => film::film(&options),
        Command::Export(options) => export::export(&options),
        Command::Spread(options) => spread::spread(&options),
        Command::Map(options) => map::map(&options),
        Command::Size(options) => size::size(&options),
        Command::Series(options) => series::series(&options),
        Command::Sweep(options) => sweep::sweep(&options),
        Command::Memory(options) => memory::memory(&options),
        Command::Make(options) => make::make(&options),
        Command::Bench(options) => lab::bench::bench(&options),
        Command::Clip(options) => lab::clip::clip(&options),
        Command::Side(options) => lab::side::side(&options),
        Command::Rehearse(what) => lab::rehearse::rehearse(&what),
        Command::Logbook(options) => lab::logbook::logbook(&options),
        Command::Report(options) => report::report(&options),
        Command::New { kind, path } => files::new_case(kind.word(), kind.ask(), &path),
        Command::Serve(options) => serve::serve(options),
        Command::Worker => serve::worker(),
        Command::Shelf => paint::shelf(),
        Command::Schema => paint::line(&calotte_specimen::json_schema()),
    };
    // A figure that was asked for and could not be drawn is bad input, whatever the answer says.
    let end = if looks::any_left_out() && matches!(end, End::Answered | End::Undecided) {
        End::BadInput
    } else {
        end
    };
    ExitCode::from(match end {
        End::Answered => 0,
        End::Undecided => 1,
        End::BadInput => 2,
        End::Failure => 3,
        End::Stopped => 130,
    })
}
