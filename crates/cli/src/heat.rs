//! `calotte heat`: trip and reset of a heated part, printed or written.

use std::path::PathBuf;

use calotte_desk::Written;
use calotte_desk::heat::{DRAWS, MapOptions, Options as Asked, USUAL_GRID, ask};

use crate::answer::{not_written, read, refused, tell, want};
use crate::looks::Looks;
use crate::progress::Bars;
use crate::{End, files, folder};

/// What the command takes.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Case file (TOML) with a wall of `[layers]`.
    case: PathBuf,
    /// Also: the spread of trip and reset over this many parts drawn from the tolerances of the case.
    #[arg(long, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(DRAWS))]
    spread: Option<u32>,
    #[command(flatten)]
    map: MapArguments,
    /// Threads for `--spread` and `--map`; 0 takes every core.
    #[arg(long, default_value_t = 0)]
    threads: usize,
    /// Print the whole answer as JSON (SI units in the key names) instead of words.
    #[arg(long)]
    json: bool,
    /// Write figures (SVG, PNG, PDF, CSV), the branches (CSV and Parquet) and the answer as text and JSON into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    looks: Looks,
}

/// What the map takes.
#[derive(clap::Args)]
struct MapArguments {
    /// Also: trip, reset and delta over depth and thickness, 40 % about the part.
    #[arg(long)]
    map: bool,
    /// Ends of the map's depth: `4deg..9deg` of half-angle for a cap, `0.8..1.2` times the heights for other shapes.
    #[arg(long, value_name = "FROM..TO", requires = "map")]
    depth: Option<String>,
    /// Ends of the map's thickness, all layers by one factor.
    #[arg(long, value_name = "FROM..TO", requires = "map")]
    thickness: Option<String>,
    /// Columns and rows of the map.
    #[arg(long, value_name = "NxM", default_value = USUAL_GRID, requires = "map")]
    grid: String,
}

pub(crate) fn heat(o: &Options) -> End {
    let Some(case) = read(&o.case) else { return End::BadInput };
    let written = |option, text: &Option<String>| text.as_ref().map(|t| Written::new(option, t));
    let map = o.map.map.then(|| MapOptions {
        depth: written("--depth", &o.map.depth),
        thickness: written("--thickness", &o.map.thickness),
        grid: Written::new("--grid", &o.map.grid),
    });
    let out = o.out.as_deref();
    let bars = Bars::new();
    let found = ask(&case, &Asked { spread: o.spread, map }, want(out, o.threads, &o.looks), &bars);
    drop(bars);
    let reply = match found {
        Ok(reply) => reply,
        Err(refusal) => return refused(&refusal, &format!("{}: ", o.case.display())),
    };
    if let Some(dir) = out {
        let page = format!("{}\n", reply.sheet.text());
        let page = |()| files::write(&dir.join("answer.txt"), page.as_bytes()).map_err(|e| e.to_string());
        if let Err(e) = folder::reply(dir, &reply, &o.looks).and_then(page) {
            return not_written(dir, &e);
        }
    }
    tell(&reply, o.json, out, "Figures, heat.csv, heat.parquet, answer.txt and answer.json")
}
