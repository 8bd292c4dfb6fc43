//! The trade's own figures beside a path: a key by its forces and strain, a coned disc by the formulae of the standard and by
//! the shell at the same deflections.

use calotte_shell::{Loaded, Sample};
use calotte_solve::Work;
use calotte_solve::follow::PathPoint;
use calotte_specimen::{Control, LoadKind, Start};
use serde::Serialize;

use crate::explain::{digits, force, length};
use crate::poke::largest_strain;
use crate::poke::path::{Path, at_displacement};
use crate::poke::report::{EventKind, PokeReport};
use crate::poke::setup::Setup;
use crate::trade::coned_disc::DiscStresses;
use crate::trade::{ConedDisc, DiscReport, KeyEvents, KeyReport, Place, key, recognise};

/// Points of the standard's curve.
const CURVE: u32 = 80;
/// Young's modulus beyond which a key is no rubber key, Pa.
const METAL: f64 = 1e9;
/// Samples per element between which stresses are read.
const FINE: usize = 16;

/// What the trade would say of this path; `None` where the part or the load is another.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct Trade {
    /// A key or dome that is pressed.
    pub key: Option<KeyAnswer>,
    /// A coned disc (disc spring).
    pub coned_disc: Option<DiscAnswer>,
}

/// A key: its forces, and the strain of its wall up to the contact.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
pub struct KeyAnswer {
    /// Forces, travels and ratios.
    #[serde(flatten)]
    pub forces: KeyReport,
    /// Event at which F₁ is met.
    pub actuation_event: usize,
    /// Event at which the contact closes.
    pub contact_event: Option<usize>,
    /// Event at which the key comes back.
    pub return_event: Option<usize>,
    /// Largest strain at a face of the wall up to the contact, a number ≥ 0.
    pub peak_strain: f64,
    /// Travel at which it is met, m.
    pub peak_strain_travel_m: f64,
    /// Natural arclength at which it is met, m.
    pub peak_strain_at_m: f64,
    /// Largest strain at a face at the contact; `None` without one.
    pub contact_strain: Option<f64>,
    /// Strain that the material bears.
    pub strain_limit: Option<f64>,
    /// Peak strain over the limit.
    pub peak_share: Option<f64>,
}

/// A coned disc by the standard's formulae and by the shell.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct DiscAnswer {
    /// What the formulae say; its last row may lie at the case's stop or reach.
    pub formula: DiscReport,
    /// What the shell says at the same deflections.
    pub shell: Vec<DiscShell>,
    /// Deflection and load of the shell's first peak, m and N.
    pub shell_peak: Option<[f64; 2]>,
    /// The same of the valley after it.
    pub shell_valley: Option<[f64; 2]>,
    /// Whether the shell stays turned over; `None` when that is not known.
    pub shell_stays: Option<bool>,
    /// The formula's curve: deflections, m.
    pub curve_deflection_m: Vec<f64>,
    /// Its loads, N.
    pub curve_load_N: Vec<f64>,
}

/// The shell at one deflection of a coned disc.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[cfg_attr(test, derive(ts_rs::TS))]
#[allow(non_snake_case, reason = "unit suffixes keep their SI spelling")]
pub struct DiscShell {
    /// Deflection, m.
    pub deflection_m: f64,
    /// Load, N; `None` where the path does not reach.
    pub load_N: Option<f64>,
    /// Shell less formula, over the formula.
    pub difference: Option<f64>,
    /// Hoop stresses at the standard's corners.
    pub hoop: Option<DiscStresses>,
    /// Meridional stresses there.
    pub meridional: Option<DiscStresses>,
}

/// Reads the trade's figures of a path that was read already.
pub(super) fn read(
    setup: &Setup,
    loaded: &Loaded<'_>,
    path: &Path,
    strain_limit: Option<f64>,
    report: &mut PokeReport,
    work: &mut Work,
) {
    if setup.load.from != Start::Natural || setup.load.gravity != 0.0 {
        return;
    }
    let disc = recognise(&setup.scene.part_as_made())
        .filter(|_| setup.load.kind == LoadKind::Pole && !setup.scene.part.meridian.starts_at_pole());
    if let Some(disc) = disc {
        report.trade.coned_disc = Some(coned_disc(setup, loaded, path, &disc, report, work));
        return;
    }
    let pressed = matches!(setup.load.kind, LoadKind::Pole | LoadKind::Flat | LoadKind::Pusher { .. });
    if !pressed || !(setup.load.control == Control::Displacement || setup.load.stop.is_some()) {
        return;
    }
    match pressed_key(setup, loaded, path, strain_limit, report, work) {
        Ok(k) => report.trade.key = Some(k),
        Err(why) => report.warnings.push(format!("There are no figures of a key: {why}.")),
    }
}

fn pressed_key(
    setup: &Setup,
    loaded: &Loaded<'_>,
    path: &Path,
    strain_limit: Option<f64>,
    report: &PokeReport,
    work: &mut Work,
) -> Result<KeyAnswer, String> {
    let find = |kind: EventKind| report.events.iter().position(|e| e.kind == kind);
    let place =
        |i: usize| Place { travel: report.events[i].displacement_SI, force: report.events[i].load_SI };
    let (peak, stop, valley) =
        (find(EventKind::LoadPeak), find(EventKind::Stop), find(EventKind::LoadValley));
    // On a falling stretch the stop alone holds it down: it comes back where the finger lets go there.
    let held = stop.filter(|i| path.rows[report.events[*i].after_row].unstable_load > 0);
    let back = report.return_trip.as_ref().map(|r| r.event).or(held);
    let events = KeyEvents {
        peak: peak.map(place),
        valley: valley.map(place),
        contact: stop.map(place),
        back: back.map(place),
        metal: setup.scene.part.material.youngs > METAL,
    };
    let rows: Vec<Place> =
        path.rows.iter().map(|r| Place { travel: r.displacement_SI, force: r.load_SI }).collect();
    let mut forces = key::read(&rows, &events).map_err(|fault| fault.words())?;
    // Rows without a refined peak are no evidence.
    let actuation_event = peak.ok_or_else(|| "the peak of the force was not found as an event".to_owned())?;
    let contact_event = stop.or(valley);
    if let Some(e) = report.events[..actuation_event].iter().find(|e| e.kind == EventKind::Sideways) {
        forces.cautions.push(format!(
            "It gives way sideways before the peak, at {}: the forces here are those of a key kept round.",
            force(e.load_SI)
        ));
    }
    let last = contact_event.map_or(path.points.len() - 1, |i| report.events[i].after_row);
    let travel = |p: &PathPoint| loaded.displacement(&p.x, p.t) - path.origin;
    let strained = |p: &PathPoint| (largest_strain(setup, loaded, &p.x), travel(p));
    let mut all: Vec<((f64, f64), f64)> = path.points[..=last].iter().map(strained).collect();
    let at_contact = contact_event.and_then(|i| {
        let to = report.events[i].displacement_SI / setup.scene.radius;
        at_displacement(setup, loaded, path, &path.points[last..], to, work)
    });
    let contact_strain = at_contact.as_ref().map(|p| strained(p).0.0);
    all.extend(at_contact.as_ref().map(strained));
    if contact_event.is_some() && at_contact.is_none() {
        forces.cautions.push(
            "The strain at the contact itself was not found: the largest is that of the path before it."
                .to_owned(),
        );
    }
    let ((peak_strain, at), moved) =
        all.into_iter().fold(((0.0, 0.0), 0.0), |a, b| if b.0.0 > a.0.0 { b } else { a });
    let limit = strain_limit.filter(|l| *l > 0.0);
    let peak_share = limit.map(|l| peak_strain / l);
    forces.cautions.push(match peak_share {
        None => "The case gives no strain limit: the strain is not judged.".to_owned(),
        Some(s) if s > 1.0 => {
            format!("The largest strain is {} times what the case says the material bears.", digits(s, 3))
        }
        Some(_) => "A strain below the limit once says nothing about wear over many strokes.".to_owned(),
    });
    forces.cautions.push(
        "Keys and domes are small parts: keep them away from small children; the maker checks the safety standard in force."
            .to_owned(),
    );
    Ok(KeyAnswer {
        forces,
        actuation_event,
        contact_event,
        return_event: back,
        peak_strain,
        peak_strain_travel_m: moved * setup.scene.radius,
        peak_strain_at_m: at * setup.scene.radius,
        contact_strain,
        strain_limit: limit,
        peak_share,
    })
}

fn coned_disc(
    setup: &Setup,
    loaded: &Loaded<'_>,
    path: &Path,
    disc: &ConedDisc,
    report: &PokeReport,
    work: &mut Work,
) -> DiscAnswer {
    let mut formula = disc.report();
    for s in [setup.load.stop, setup.load.reach].into_iter().flatten() {
        formula.rows.push(disc.row(s));
    }
    formula.rows.sort_by(|a, b| a.deflection_m.total_cmp(&b.deflection_m));
    formula.rows.dedup_by(|a, b| (a.share - b.share).abs() < 1e-9);
    let r = setup.scene.radius;
    let shell: Vec<DiscShell> = formula
        .rows
        .iter()
        .map(|row| {
            let s = row.deflection_m;
            let point = at_displacement(setup, loaded, path, &path.points, s / r, work);
            let load = point.as_ref().map(|p| setup.load_si(loaded.load(&p.x, p.t)));
            let stresses = point.map(|p| face_stresses(setup, loaded, &p.x));
            DiscShell {
                deflection_m: s,
                load_N: load,
                difference: load.map(|l| l / row.load_N - 1.0),
                hoop: stresses.map(|s| s[0]),
                meridional: stresses.map(|s| s[1]),
            }
        })
        .collect();
    if let Some(s) = shell.iter().find(|s| s.load_N.is_none()) {
        formula.cautions.push(format!(
            "The path was not followed to a deflection of {}: the shell says nothing there.",
            length(s.deflection_m)
        ));
    }
    let at = report.events.iter().position(|e| e.kind == EventKind::LoadPeak);
    let valley = at.and_then(|i| report.events[i..].iter().find(|e| e.kind == EventKind::LoadValley));
    let far = path.rows.iter().map(|p| p.displacement_SI).fold(0.0, f64::max);
    let curve: Vec<f64> = (0..=CURVE).map(|i| far * f64::from(i) / f64::from(CURVE)).collect();
    DiscAnswer {
        formula,
        shell,
        shell_peak: at.map(|i| [report.events[i].displacement_SI, report.events[i].load_SI]),
        shell_valley: valley.map(|e| [e.displacement_SI, e.load_SI]),
        shell_stays: report.stays_afterwards,
        curve_load_N: curve.iter().map(|s| disc.load(*s)).collect(),
        curve_deflection_m: curve,
    }
}

/// Hoop and meridional stresses at the standard's corners: `σ = E/(1−ν²) (ε + ν ε′)` with the strains `ε + yκ` of a face,
/// y = +h/2 on the convex one of the natural bowl, on which the inner edge is pushed.
fn face_stresses(setup: &Setup, loaded: &Loaded<'_>, x: &[f64]) -> [DiscStresses; 2] {
    let part = &setup.scene.part;
    let profile = loaded.model().profile(x, FINE);
    let (inner, rim) = (profile.inner(), profile.rim());
    let natural = |s: &Sample| part.meridian.at(s.s * setup.scene.radius).r;
    let (a, b) = (natural(inner), natural(rim));
    // OM lies over the circle that does not stretch while the section turns.
    let centre = (b - a) / libm::log(b / a);
    let all = &profile.samples;
    let i = all.partition_point(|s| natural(s) < centre).clamp(1, all.len() - 1);
    let (p, q) = (natural(&all[i - 1]), natural(&all[i]));
    let u = (centre - p) / (q - p);
    let face = |s: &Sample, side: f64| {
        let y = 0.5 * side * s.thickness * setup.scene.own;
        [0, 1].map(|k| s.strain[k] + y * s.bending[k])
    };
    let om = [face(&all[i - 1], 1.0), face(&all[i], 1.0)];
    let om = [0, 1].map(|k| om[0][k] + u * (om[1][k] - om[0][k]));
    let m = &part.material;
    let unit = m.youngs / (1.0 - m.poisson * m.poisson);
    let stress = |e: [f64; 2], k: usize| unit * (e[k] + m.poisson * e[1 - k]);
    // Strains are (meridional, hoop).
    [1, 0].map(|k| DiscStresses {
        om_Pa: stress(om, k),
        i_Pa: stress(face(inner, 1.0), k),
        ii_Pa: stress(face(inner, -1.0), k),
        iii_Pa: stress(face(rim, -1.0), k),
        iv_Pa: stress(face(rim, 1.0), k),
    })
}
