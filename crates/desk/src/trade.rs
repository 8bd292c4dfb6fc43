//! The trade's figures of a poke: keys and coned discs.

use calotte_answers::explain::{digits, force, length};
use calotte_answers::poke::trade::{DiscAnswer, Trade};
use calotte_answers::trade::GRAM_FORCE;
use calotte_answers::trade::coned_disc::{DiscExtreme, DiscStresses};

use crate::sheet::Sheet;

/// The trade's figures, where the part has any.
pub(crate) fn trade(p: &mut Sheet, trade: &Trade) {
    let share = |v: f64| format!("{} %", digits(100.0 * v, 3));
    let both = |n: f64| format!("{} ({} gf)", force(n), digits(n / GRAM_FORCE, 3));
    if let Some(k) = &trade.key {
        let f = &k.forces;
        p.head("Key, as the trade states it");
        p.row(
            "actuation force F1",
            &format!("{} at {}", both(f.actuation_force_N), length(f.actuation_travel_m)),
        );
        if let (Some(n), Some(by), Some(s)) = (f.contact_force_N, &f.contact_by, f.stroke_m) {
            p.row("contact force F2", &format!("{} at the {by}; stroke {}", both(n), length(s)));
        }
        if let (Some(n), Some(s)) = (f.return_force_N, f.return_travel_m) {
            p.row("return force F3", &format!("{} at {}", both(n), length(s)));
        }
        if let Some(v) = f.snap_ratio {
            let back = f.return_ratio.map_or(String::new(), |v| format!("; {} to return", share(v)));
            p.row("snap ratio", &format!("{} to contact{back}", share(v)));
        }
        let of = k
            .peak_share
            .zip(k.strain_limit)
            .map_or(String::new(), |(s, limit)| format!("; {} of the limit of {}", share(s), share(limit)));
        p.row(
            "largest strain",
            &format!(
                "{} at {}, {} from the inner end along the arc{of}",
                share(k.peak_strain),
                length(k.peak_strain_travel_m),
                length(k.peak_strain_at_m)
            ),
        );
        if let Some(e) = k.contact_strain {
            p.row("strain at the contact", &share(e));
        }
        p.items(&f.cautions);
    }
    if let Some(d) = &trade.coned_disc {
        coned_disc(p, d);
    }
}

/// A coned disc: formula and shell side by side.
fn coned_disc(p: &mut Sheet, d: &DiscAnswer) {
    let f = &d.formula;
    p.head("Coned disc, formula beside shell");
    p.row(
        "De, Di, t, h0",
        &format!(
            "{}, {}, {}, {}; h0/t = {}",
            length(f.outer_diameter_m),
            length(f.inner_diameter_m),
            length(f.thickness_m),
            length(f.height_m),
            digits(f.height_over_thickness, 4)
        ),
    );
    let stress = |v: f64| digits(v * 1e-6, 4);
    let last = f.rows.last().map_or(1.0, |r| r.share);
    for (row, shell) in f.rows.iter().zip(&d.shell) {
        let own = match (shell.load_N, shell.difference) {
            (Some(n), Some(x)) => format!("{} ({:+.1} %)", force(n), 100.0 * x),
            _ => "not followed so far".to_owned(),
        };
        p.row(
            &format!("{} h0 = {}", digits(row.share, 3), length(row.deflection_m)),
            &format!("formula {}, shell {own}", force(row.load_N)),
        );
        // The makers look at three quarters of the height; the last row is as far as it is driven.
        let looked_at = (row.share - 0.75).abs() < 1e-9 || (row.share - last).abs() < 1e-9;
        if !looked_at {
            continue;
        }
        let five = |s: &DiscStresses| [s.om_Pa, s.i_Pa, s.ii_Pa, s.iii_Pa, s.iv_Pa].map(stress).join(", ");
        p.row("OM, I, II, III, IV (MPa)", &five(&row.stresses));
        if let Some(s) = &shell.hoop {
            p.row("shell, hoop", &five(s));
        }
        if let Some(s) = &shell.meridional {
            p.row("shell, meridional", &five(s));
        }
    }
    let place = |at: Option<[f64; 2]>| {
        at.map_or("none".to_owned(), |[s, n]| format!("{} at {}", force(n), length(s)))
    };
    let formula = |e: Option<DiscExtreme>| place(e.map(|e| [e.deflection_m, e.load_N]));
    p.row("peak of the load", &format!("formula {}, shell {}", formula(f.peak), place(d.shell_peak)));
    p.row("valley", &format!("formula {}, shell {}", formula(f.valley), place(d.shell_valley)));
    let word = |s: Option<bool>| match s {
        Some(true) => "yes",
        Some(false) => "no",
        None => "not known",
    };
    p.row("stays turned over", &format!("formula {}, shell {}", word(Some(f.stays)), word(d.shell_stays)));
    p.items(&f.cautions);
}
