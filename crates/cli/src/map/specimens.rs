//! Measured specimens from a CSV file.

use std::path::Path;

use calotte_answers::map::report::Observed;
use calotte_answers::map::{AxisSpec, Measured, Quantity};
use calotte_desk::misread;
use calotte_quantity as q;
use calotte_specimen::{Case, Meridian};

use crate::files;

/// Reads specimens; a problem names its line.
pub(super) fn read(path: &Path, axes: &[AxisSpec; 2], case: &Case) -> Result<Vec<Measured>, String> {
    let shown = path.display().to_string();
    let bytes = files::read(path).map_err(|e| format!("{shown}: cannot be read: {e}"))?;
    from_bytes(&shown, &bytes, axes, case)
}

/// The same of a file that was read already; `shown` is its name.
pub(crate) fn from_bytes(
    shown: &str,
    bytes: &[u8],
    axes: &[AxisSpec; 2],
    case: &Case,
) -> Result<Vec<Measured>, String> {
    let mut reader =
        csv::ReaderBuilder::new().comment(Some(b'#')).trim(csv::Trim::All).flexible(false).from_reader(bytes);
    let head = reader.headers().map_err(|e| format!("{shown}: {e}"))?.clone();
    let names: Vec<&str> = head.iter().collect();
    let column = |key: &str| names.iter().position(|n| *n == key);
    let place = |a: &AxisSpec| {
        column(&a.key).ok_or_else(|| {
            format!(
                "{shown}:1: no column `{}`\n  help: the first line names the columns: name,{},{},observed",
                a.key, axes[0].key, axes[1].key
            )
        })
    };
    let at = [place(&axes[0])?, place(&axes[1])?];
    let (name, observed) = (column("name"), column("observed"));
    if let Some(other) =
        names.iter().find(|n| !["name", "observed"].contains(*n) && !axes.iter().any(|a| a.key == **n))
    {
        return Err(format!(
            "{shown}:1: the column `{other}` is not known\n  help: columns are name, {}, {}, observed",
            axes[0].key, axes[1].key
        ));
    }
    let mut out = Vec::new();
    for record in reader.records() {
        let record = record.map_err(|e| format!("{shown}: {e}"))?;
        let line = record.position().map_or(0, csv::Position::line);
        let mut values = [0.0; 2];
        let mut half_widths = [None; 2];
        for i in 0..2 {
            let dimension = match axes[i].quantity {
                Quantity::Depth if matches!(case.part().meridian, Meridian::Sphere(_)) => q::Dimension::Angle,
                Quantity::Depth => q::Dimension::Number,
                Quantity::Given(k) => case.inputs()[k].dimension,
            };
            let text = record.get(at[i]).unwrap_or("");
            let read = q::Quantity::parse(text, dimension)
                .map_err(|e| misread(&format!("{shown}:{line}: `{}`", axes[i].key), &e).to_string())?;
            if read.value <= 0.0 {
                return Err(format!("{shown}:{line}: `{}` must be greater than 0", axes[i].key));
            }
            values[i] = read.value;
            half_widths[i] = read.half_width;
        }
        let seen = match observed.and_then(|k| record.get(k)).unwrap_or("") {
            "" => None,
            "stays" => Some(Observed::Stays),
            "returns" => Some(Observed::Returns),
            "waits" => Some(Observed::Waits),
            other => {
                return Err(format!(
                    "{shown}:{line}: observed `{other}`\n  help: write stays, returns or waits, or leave it empty"
                ));
            }
        };
        let name = name.and_then(|k| record.get(k)).filter(|n| !n.is_empty());
        out.push(Measured {
            name: name.map_or_else(|| format!("line {line}"), str::to_owned),
            values,
            half_widths,
            observed: seen,
        });
    }
    if out.is_empty() {
        return Err(format!("{shown}: no specimens in it"));
    }
    Ok(out)
}
