//! `calotte side`: the sizes of a part from a picture of it seen from the side.

use std::path::{Path, PathBuf};

use calotte_desk::misread;
use calotte_desk::tables::column;
use calotte_desk::{PROGRAM, VERSION};
use calotte_lab::picture::{Decoded, Light, decode};
use calotte_lab::side::{CaseWords, Fault, Scale, Settings, SideReport, Turn, case_file, look, profile_csv};
use calotte_quantity::{Dimension, Quantity};
use calotte_runs::{Kind, Table, Value};
use calotte_specimen::fingerprint;

use super::{rehearse_side, side_words};
use crate::answer::{not_written, read_to_turn, read_with_rim};
use crate::looks::Looks;
use crate::provenance::TableAnswer;
use crate::{End, files, folder, paint};

/// Options of the command.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// The picture: PNG, JPEG, TIFF, BMP, GIF or PNM.
    picture: PathBuf,
    /// The scale: `120,800 1720,805 = 80 ± 0.05 mm` (two points in pixels and the length between them), `20.05 ± 0.02 px/mm`, `600 dpi`,
    /// or the part's own rim, `rim 38.3 ± 0.05 mm`.
    #[arg(long)]
    scale: String,
    /// The part is turned inside out.
    #[arg(long)]
    inverted: bool,
    /// The part is cut through its axis and the cut face is seen.
    #[arg(long, conflicts_with = "inverted")]
    section: bool,
    /// Look only in this box, pixels.
    #[arg(long, value_name = "X,Y,WIDTH,HEIGHT")]
    crop: Option<String>,
    /// Lay the computed shape of this case over the picture.
    #[arg(long, value_name = "CASE")]
    case: Option<PathBuf>,
    /// Distance from the camera to the part, `1.5 m`: gives sizes to what one picture cannot show.
    #[arg(long, value_name = "LENGTH")]
    distance: Option<String>,
    /// The picture's numbers are proportional to light (a scanner's or camera's linear file); otherwise they are taken as sRGB.
    #[arg(long)]
    linear: bool,
    /// Wall thickness for the case file, where the picture does not tell it: `2.1 ± 0.05 mm`.
    #[arg(long, value_name = "LENGTH")]
    thickness: Option<String>,
    /// Material of the shelf for the case file.
    #[arg(long, value_name = "NAME")]
    material: Option<String>,
    /// Print the whole answer as JSON (SI units in the key names) instead of words.
    #[arg(long)]
    json: bool,
    /// Write figures (SVG, PNG, PDF, CSV), profile.csv, points.csv, a case file and the answer as JSON into this folder.
    #[arg(long, value_name = "DIR")]
    out: Option<PathBuf>,
    #[command(flatten)]
    looks: Looks,
}

fn length(name: &str, text: &str) -> Result<f64, String> {
    let q = Quantity::parse(text, Dimension::Length)
        .map_err(|e| misread(&format!("{name} {text}"), &e).to_string())?;
    if q.value > 0.0 { Ok(q.value) } else { Err(format!("{name} {text}: it must be greater than 0")) }
}

fn crop(text: &str) -> Result<[f64; 4], String> {
    let numbers: Vec<f64> = text.split(',').filter_map(|t| t.trim().parse().ok()).collect();
    <[f64; 4]>::try_from(numbers)
        .map_err(|_| format!("--crop {text}: write four numbers, x,y,width,height in pixels\n  help: for example `--crop 100,50,800,600`"))
}

fn settings(o: &Options) -> Result<Settings, String> {
    let scale =
        Scale::read(&o.scale).map_err(|e| format!("--scale {}: {e}\n  help: {}", o.scale, e.hint()))?;
    if let Some(t) = &o.thickness {
        length("--thickness", t)?;
    }
    if let Some(m) =
        o.material.as_ref().filter(|m| !calotte_specimen::shelf().iter().any(|s| s.key == m.as_str()))
    {
        return Err(format!(
            "--material {m}: the shelf has no such material\n  help: `calotte shelf` lists them"
        ));
    }
    Ok(Settings {
        scale,
        turn: if o.inverted { Turn::Inverted } else { Turn::Natural },
        section: o.section,
        crop: o.crop.as_deref().map(crop).transpose()?,
        distance: o.distance.as_deref().map(|d| length("--distance", d)).transpose()?,
        computed: None,
    })
}

pub(crate) fn side(o: &Options) -> End {
    let name = o.picture.display().to_string();
    let bad = |why: &str| {
        paint::complain(why);
        End::BadInput
    };
    let mut set = match settings(o) {
        Ok(set) => set,
        Err(why) => return bad(&why),
    };
    let bytes = match files::read(&o.picture) {
        Ok(bytes) => bytes,
        Err(e) => return bad(&format!("{name}: cannot be read: {e}\n  help: give the file of a picture")),
    };
    let light = if o.linear { Light::AsStored } else { Light::Srgb };
    let decoded = match decode(&bytes, light) {
        Ok(d) => d,
        Err(e) => return bad(&format!("{name}: {e}\n  help: {}", e.hint())),
    };
    if let Some(path) = &o.case {
        let case = if o.inverted { read_to_turn(path) } else { read_with_rim(path) };
        let Some(case) = case else { return End::BadInput };
        let Some(shape) = rehearse_side::computed(&case, o.inverted) else {
            return bad(&format!(
                "{}: this part has no inverted shape that was found\n  help: `calotte verdict` says why",
                path.display()
            ));
        };
        set.computed = Some((if o.inverted { "inverted" } else { "natural" }.to_owned(), shape));
    }
    let mut report = match look(&decoded.gray, &set) {
        Ok(r) => r,
        Err(why) => {
            let place = if matches!(why, Fault::Scale(_) | Fault::ScaleOutside { .. }) {
                "--scale"
            } else {
                name.as_str()
            };
            return bad(&format!("{place}: {why}\n  help: {}", why.hint()));
        }
    };
    notes(&decoded, o, &mut report);
    give(o, &name, &bytes, &decoded, &report)
}

/// What the file itself adds to the warnings.
fn notes(d: &Decoded, o: &Options, r: &mut SideReport) {
    if !o.linear {
        // In sRGB the middle of an edge between dark and light lies at another grey than in light.
        r.warnings.push(format!(
            "The picture's numbers were taken as sRGB. If they are proportional to light (`--linear`), every edge lies up to {:.2} px \
             further out than read.",
            0.8 * r.picture.blur_px
        ));
    }
    if r.scale.pixels_per_m.sd == 0.0 {
        r.warnings.push(
            "The scale has no tolerance and is taken as exact: what is not known of it is in no error. `--scale \"15 ± 0.02 px/mm\"` says it."
                .into(),
        );
    }
    if d.transparent {
        r.warnings.push("Transparent pixels were laid on white.".into());
    }
}

fn give(o: &Options, name: &str, bytes: &[u8], decoded: &Decoded, r: &SideReport) -> End {
    let digest = fingerprint(bytes);
    let words =
        CaseWords { picture: name.to_owned(), thickness: o.thickness.clone(), material: o.material.clone() };
    let case = case_file(r, &words);
    if let Some(dir) = &o.out
        && let Err(e) = write_all(dir, name, &digest, decoded, r, case.as_deref(), &o.looks)
    {
        return not_written(dir, &e);
    }
    let printed = if o.json {
        paint::json(&TableAnswer::new(name, &digest, r))
    } else {
        paint::line(&side_words::page(name, r))
    };
    if let Some(dir) = o.out.as_ref().filter(|_| !o.json) {
        let made = match &case {
            Some(_) => "Figures, case.toml, profile.csv, points.csv and answer.json",
            None => "Figures, profile.csv, points.csv and answer.json",
        };
        paint::line(&format!("{made} are in {}", dir.display()));
        if case.is_none() && r.view == "natural" {
            paint::line(
                "No case.toml: the picture does not tell the wall's thickness; give it with --thickness.",
            );
        }
    }
    match printed {
        End::Answered if !r.doubts.is_empty() => End::Undecided,
        end => end,
    }
}

fn write_all(
    dir: &Path,
    name: &str,
    digest: &str,
    decoded: &Decoded,
    r: &SideReport,
    case: Option<&str>,
    looks: &Looks,
) -> Result<(), String> {
    folder::answer(dir, &TableAnswer::new(name, digest, r))?;
    let write = |file: &str, bytes: &[u8]| files::write(&dir.join(file), bytes).map_err(|e| e.to_string());
    write("profile.csv", profile_csv(r).as_bytes())?;
    write("points.csv", &points(name, digest, r).to_csv())?;
    write("answer.txt", side_words::page(name, r).as_bytes())?;
    if let Some(case) = case {
        write("case.toml", case.as_bytes())?;
    }
    folder::draw(dir, looks, || calotte_figures::side_figures(r, &decoded.gray, name))
}

/// Every edge of the meridian.
fn points(name: &str, digest: &str, r: &SideReport) -> Table {
    let columns = vec![
        column("x_px", "px", "column in the picture", Kind::Number),
        column("y_px", "px", "row in the picture", Kind::Number),
        column("r_m", "m", "distance from the axis, negative on the left", Kind::Number),
        column("z_m", "m", "height over the pole", Kind::Number),
        column("standard_error_m", "m", "standard error across the outline", Kind::Number),
        column("arc_m", "m", "arclength from the pole", Kind::Number),
        column("residual_m", "m", "distance outward from the chosen shape", Kind::Number),
    ];
    let provenance = [
        ("program", format!("{PROGRAM} {VERSION}")),
        ("picture", name.to_owned()),
        ("picture_digest", digest.to_owned()),
    ];
    Table {
        columns,
        rows: r
            .points
            .iter()
            .map(|p| {
                [p.x_px, p.y_px, p.r_m, p.z_m, p.standard_error_m, p.arc_m, p.residual_m]
                    .map(Value::Number)
                    .to_vec()
            })
            .collect(),
        provenance: provenance.map(|(k, v)| (k.to_owned(), v)).to_vec(),
    }
}
