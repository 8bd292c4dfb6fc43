//! `calotte modes`: frequencies of every wave number, pressures of buckling, printed or written.

use std::path::PathBuf;

use calotte_answers::modes::{Face, Settings, State};
use calotte_desk::modes::{EACH, LOWEST, USUAL_EACH, USUAL_LOWEST, WAVES, ask};

use crate::End;
use crate::answer::{give, read, want};
use crate::looks::Looks;

/// What the command takes.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Case file (TOML).
    case: PathBuf,
    /// About the stable inverted shape instead of the natural one.
    #[arg(long)]
    inverted: bool,
    /// Lowest frequencies of all wave numbers that must surely be found.
    #[arg(long, value_name = "COUNT", default_value_t = USUAL_LOWEST, value_parser = clap::value_parser!(u16).range(LOWEST))]
    lowest: u16,
    /// Frequencies of every wave number.
    #[arg(long, value_name = "COUNT", default_value_t = USUAL_EACH, value_parser = clap::value_parser!(u16).range(EACH))]
    each: u16,
    /// Wave numbers from 0 up to this one, instead of as many as it takes.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(WAVES))]
    waves: Option<u32>,
    /// Also the pressure at which the part buckles, from the outside (the convex face) or the inside.
    #[arg(long, value_name = "FACE")]
    pressure: Option<Side>,
    /// Print the whole answer as JSON (SI units in the key names) instead of words.
    #[arg(long)]
    json: bool,
    /// Write figures (SVG, PNG, PDF, CSV), tables as CSV and Parquet, and the answer as JSON into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    looks: Looks,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum Side {
    /// The convex face of a bowl, the outside of a complete sphere.
    #[value(alias = "out")]
    Outside,
    /// The concave face.
    #[value(alias = "in")]
    Inside,
}

pub(crate) fn modes(o: &Options) -> End {
    let Some(case) = read(&o.case) else { return End::BadInput };
    let settings = Settings {
        state: if o.inverted { State::Inverted } else { State::Natural },
        count: usize::from(o.each),
        lowest: usize::from(o.lowest),
        most: o.waves,
        pressure: o.pressure.map(|p| match p {
            Side::Outside => Face::Outside,
            Side::Inside => Face::Inside,
        }),
    };
    let out = o.out.as_deref();
    give(
        ask(&case, &settings, want(out, 1, &o.looks)),
        "",
        o.json,
        out,
        &o.looks,
        "Figures, tables and answer.json",
    )
}
