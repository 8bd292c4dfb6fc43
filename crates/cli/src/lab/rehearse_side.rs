//! `calotte rehearse side`: an invented side view of a computed part, with blur, noise, tilt and dust as asked.

use std::path::PathBuf;

use calotte_answers::Detail;
use calotte_answers::film::{Film, natural};
use calotte_answers::verdict_with_film;
use calotte_desk::misread;
use calotte_lab::picture::paint as painted;
use calotte_lab::side::{Support, View, rehearse};
use calotte_quantity::{Dimension, Quantity};
use calotte_specimen::Case;

use crate::answer::{read_to_turn, read_with_rim};
use crate::{End, files, paint};

/// Options of the command.
#[derive(clap::Args)]
pub(crate) struct Options {
    /// Case file (TOML) of the part.
    case: PathBuf,
    /// Where to write the picture: `.png`, `.jpg` or `.jpeg`.
    #[arg(long, value_name = "FILE")]
    out: PathBuf,
    /// Show the computed inverted shape.
    #[arg(long)]
    inverted: bool,
    /// Show the face of the part cut through its axis.
    #[arg(long)]
    section: bool,
    /// Pixels a millimetre.
    #[arg(long, default_value_t = 15.0, value_name = "PX")]
    scale: f64,
    /// Turn of the axis in the picture, `1 deg`.
    #[arg(long, default_value = "0 deg", value_name = "ANGLE", allow_hyphen_values = true)]
    tilt: String,
    /// Height of the camera over the rim's plane, `1 deg`.
    #[arg(long, default_value = "0 deg", value_name = "ANGLE", allow_hyphen_values = true)]
    camera: String,
    /// Blur of the lens, pixels.
    #[arg(long, default_value_t = 1.0, value_name = "PX")]
    blur: f64,
    /// Noise of a pixel, as a share of white.
    #[arg(long, default_value_t = 0.01, value_name = "SHARE")]
    noise: f64,
    /// How much brighter the right of the background is than its left, as a share.
    #[arg(long, default_value_t = 0.1, value_name = "SHARE", allow_hyphen_values = true)]
    gradient: f64,
    /// Specks of dust.
    #[arg(long, default_value_t = 0, value_name = "COUNT", value_parser = clap::value_parser!(u32).range(0..=10_000))]
    dust: u32,
    /// What holds the part.
    #[arg(long, value_enum, default_value = "nothing")]
    held: Held,
    /// A light part on a dark background.
    #[arg(long)]
    light: bool,
    /// Quality of a JPEG, 1 to 100.
    #[arg(long, default_value_t = 90, value_name = "QUALITY", value_parser = clap::value_parser!(u8).range(1..=100))]
    jpeg: u8,
    /// Seed of everything drawn.
    #[arg(long, default_value_t = 1, value_name = "NUMBER")]
    seed: u64,
}

#[derive(Clone, Copy, clap::ValueEnum)]
enum Held {
    /// Nothing that is seen.
    Nothing,
    /// A table under the rim.
    Table,
    /// A stick from the rim's side.
    Stick,
}

/// Most pixels of an invented picture.
const MOST: f64 = 24e6;

/// r, z, slope and thickness of a film's shape `name`, from the pole to the rim.
pub(super) fn shape(film: &Film, name: &str) -> Option<Vec<[f64; 4]>> {
    let f = film.frames.iter().find(|f| f.name == name)?;
    Some((0..f.r_m.len()).map(|k| [f.r_m[k], f.z_m[k], f.slope_rad[k], film.thickness_m[k]]).collect())
}

/// The computed shape of a case, natural or inverted; `None` where it has no inverted one.
pub(super) fn computed(case: &Case, inverted: bool) -> Option<Vec<[f64; 4]>> {
    if inverted {
        let (_, film) = verdict_with_film(case, Detail { branch: false, depth: false });
        shape(&film, "inverted")
    } else {
        shape(&natural(case.part()), "natural")
    }
}

fn angle(name: &str, text: &str) -> Result<f64, String> {
    let q = Quantity::parse(text, Dimension::Angle)
        .map_err(|e| misread(&format!("{name} {text}"), &e).to_string())?;
    if q.value.abs() < 0.8 { Ok(q.value) } else { Err(format!("{name} {text}: it must be less than 45 deg")) }
}

fn view(o: &Options) -> Result<View, String> {
    let bounds = [
        ("--scale", o.scale, 0.1, 1e4),
        ("--blur", o.blur, 0.0, 20.0),
        ("--noise", o.noise, 0.0, 1.0),
        ("--gradient", o.gradient, -1.0, 1.0),
    ];
    if let Some((name, value, low, high)) = bounds.iter().find(|b| !(b.2..=b.3).contains(&b.1)) {
        return Err(format!("{name} {value}: it lies between {low} and {high}"));
    }
    Ok(View {
        density: 1e3 * o.scale,
        tilt: angle("--tilt", &o.tilt)?,
        elevation: angle("--camera", &o.camera)?,
        blur: o.blur,
        noise: o.noise,
        gradient: o.gradient,
        dust: o.dust as usize,
        support: match o.held {
            Held::Nothing => Support::None,
            Held::Table => Support::Table,
            Held::Stick => Support::Stick,
        },
        section: o.section,
        light_part: o.light,
        seed: o.seed,
        shift: [0.0; 2],
    })
}

pub(super) fn side(o: &Options) -> End {
    let bad = |why: &str| {
        paint::complain(why);
        End::BadInput
    };
    let view = match view(o) {
        Ok(v) => v,
        Err(why) => return bad(&why),
    };
    let case = if o.inverted { read_to_turn(&o.case) } else { read_with_rim(&o.case) };
    let Some(case) = case else { return End::BadInput };
    let Some(shape) = computed(&case, o.inverted) else {
        return bad(&format!(
            "{}: this part has no inverted shape that was found\n  help: `calotte verdict` says why; leave --inverted out",
            o.case.display()
        ));
    };
    let widest = shape.iter().map(|s| s[0]).fold(0.0, f64::max);
    if (2.2 * widest * view.density) * (2.2 * widest * view.density) > MOST {
        return bad(&format!(
            "--scale {}: the picture would have more than {:.0} million pixels",
            o.scale,
            MOST / 1e6
        ));
    }
    let made = rehearse(&shape, &view);
    let ending = o.out.extension().map(|e| e.to_string_lossy().to_ascii_lowercase());
    let bytes = match ending.as_deref() {
        Some("png") => painted::to_png(&made.picture),
        Some("jpg" | "jpeg") => painted::to_jpeg(&made.picture, o.jpeg),
        _ => return bad(&format!("--out {}: the name must end in .png, .jpg or .jpeg", o.out.display())),
    };
    let written = bytes.and_then(|b| files::write(&o.out, &b).map_err(|e| e.to_string()));
    if let Err(why) = written {
        return bad(&format!("cannot write {}: {why}", o.out.display()));
    }
    let [a, b] = made.marks;
    paint::line(&format!(
        "Wrote an invented picture of {} × {} pixels. Measure it with:\n  calotte side {} --scale \"{:.1},{:.1} {:.1},{:.1} = {:.4} mm\"{}{}",
        made.picture.width(),
        made.picture.height(),
        o.out.display(),
        a[0],
        a[1],
        b[0],
        b[1],
        1e3 * made.length_m,
        if o.inverted { " --inverted" } else { "" },
        if o.section { " --section" } else { "" },
    ))
}
