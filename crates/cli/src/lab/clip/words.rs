//! A clip's answer as text and tables.

use calotte_answers::explain::{digits, duration, length};
use calotte_desk::tables::column;
use calotte_desk::{PROGRAM, Sheet, VERSION};
use calotte_lab::clip::What;
use calotte_lab::clip::report::{ClipReport, FigureReport};
use calotte_runs::{Kind, Table, Value};

/// Value and 95 % interval, to the digits that the deviation supports.
fn told(f: &FigureReport, unit: f64, name: &str) -> String {
    let (value, deviation) = (f.value / unit, f.deviation / unit);
    let places = if deviation > 0.0 {
        (1.0 - libm::floor(libm::log10(deviation))).clamp(0.0, 9.0) as usize
    } else {
        4
    };
    format!(
        "{value:.places$} ± {deviation:.places$}{name} (95 %: {:.places$} to {:.places$})",
        f.low / unit,
        f.high / unit
    )
}

fn unit(largest: f64, units: &[(f64, &'static str)]) -> (f64, &'static str) {
    units
        .iter()
        .copied()
        .find(|u| largest.abs() >= u.0)
        .unwrap_or_else(|| units.last().copied().unwrap_or((1.0, "")))
}

/// Name, figure, and the units that it may be told in, the largest first.
type Shown<'a> = (&'static str, &'a Option<FigureReport>, &'a [(f64, &'static str)]);

const TIMES: [(f64, &str); 3] = [(1.0, " s"), (1e-3, " ms"), (1e-6, " µs")];
const LENGTHS: [(f64, &str); 2] = [(1e-3, " mm"), (1e-6, " µm")];

/// The answer as text.
pub(super) fn page(name: &str, r: &ClipReport) -> String {
    let mut p = Sheet::new(&format!("CLIP: {name}"));
    let c = &r.clip;
    p.text_block(&format!(
        "{} frames of {} × {} pixels, {} apart; one pixel is {}",
        c.frames,
        c.width_px,
        c.height_px,
        duration(c.frame_spacing_s),
        length(c.scale_m_per_px)
    ));
    p.doubts(&r.doubts);
    p.head("Figures, each ± one standard deviation");
    let f = &r.figures;
    let rows: [Shown<'_>; 9] = [
        ("wait", &f.wait_s, &TIMES),
        ("growth rate", &f.growth_rate_per_s, &[(1.0, " 1/s")]),
        ("snap time", &f.snap_time_s, &TIMES),
        ("peak speed", &f.peak_speed_m_per_s, &[(1.0, " m/s")]),
        ("way", &f.way_m, &LENGTHS),
        ("ringing", &f.ringing_frequency_Hz, &[(1.0, " Hz")]),
        ("damping ratio", &f.damping_ratio, &[(1.0, "")]),
        ("jump height", &f.jump_height_m, &LENGTHS),
        ("gravity as fitted", &f.gravity_fitted_m_per_s2, &[(1.0, " m/s²")]),
    ];
    for (name, figure, units) in rows {
        if let Some(figure) = figure {
            let (unit, shown) = unit(figure.value, units);
            p.row(name, &told(figure, unit, shown));
            let most = figure.parts.iter().max_by(|a, b| a.deviation.total_cmp(&b.deviation));
            if let Some(most) = most.filter(|_| figure.parts.len() > 1) {
                p.row("", &format!("uncertain most of all by: {}", most.what));
            }
        }
    }
    if !r.unread.is_empty() {
        p.head("Not read");
        for u in &r.unread {
            p.row(u.figure, &u.why);
        }
    }
    if let Some(k) = &r.comparison {
        p.head(&format!("Beside the computed release: {}", k.title));
        let mut table =
            vec![["figure", "clip", "deviation", "computed", "z", ""].map(str::to_owned).to_vec()];
        for row in &k.rows {
            let unit = if row.unit == "1" { "" } else { row.unit };
            table.push(vec![
                if unit.is_empty() { row.figure.to_owned() } else { format!("{} ({unit})", row.figure) },
                digits(row.measured_SI, 4),
                digits(row.deviation_SI, 2),
                digits(row.computed_SI, 4),
                format!("{:+.1}", row.z),
                if row.agrees { "agrees" } else { "differs" }.to_owned(),
            ]);
        }
        p.table(table);
        p.items(&k.words);
    }
    p.head("Edges");
    for l in &r.lines {
        let place =
            format!("({:.0}, {:.0}) to ({:.0}, {:.0})", l.from_px[0], l.from_px[1], l.to_px[0], l.to_px[1]);
        let found = if l.found { ", found where the clip moves most" } else { "" };
        p.row(
            l.name,
            &format!(
                "along {place}{found}: in {} of {} frames, ± {} px each",
                l.tracked,
                c.frames,
                digits(l.deviation_px, 2)
            ),
        );
        let mut why: Vec<(&str, usize)> = Vec::new();
        for lost in &l.lost {
            match why.iter_mut().find(|w| w.0 == lost.why) {
                Some(w) => w.1 += 1,
                None => why.push((&lost.why, 1)),
            }
        }
        for (why, n) in why {
            p.row("", &format!("lost in {n}: {why}"));
        }
    }
    if r.motion == What::Pole {
        p.row(
            "rim",
            "not followed: its lines are never found, only given (`--rim-left LINE --rim-right LINE`)",
        );
    }
    if c.dropped > 0 {
        p.row("dropped frames", &format!("{} between the first and the last; they are gaps", c.dropped));
    }
    if !c.repeated.is_empty() {
        p.row(
            "repeated frames",
            &format!("{} show the frame before once more and are left out", c.repeated.len()),
        );
    }
    for b in c.bad.iter().take(10) {
        p.row("frame left out", &format!("{}: {}", b.place, b.why));
    }
    if c.bad.len() > 10 {
        p.row("", &format!("and {} more", c.bad.len() - 10));
    }
    p.head("How it was fitted");
    if let Some(g) = &r.growth {
        p.row(
            "growth",
            &format!(
                "{} frames up to {}; squares over freedom {:.2}",
                g.fit.rows,
                duration(g.fit.window_s[1]),
                g.fit.misfit
            ),
        );
        if let Some(s) = &g.slowing {
            p.row(
                "as a fold just lost",
                &format!(
                    "rate {} ± {} 1/s, passage {}; squares over freedom {:.2}",
                    digits(s.rate_per_s, 3),
                    digits(s.rate_deviation_per_s, 2),
                    duration(s.passage_s),
                    s.misfit
                ),
            );
        }
    }
    for (name, fit) in [("ringing", &r.ringing), ("flight", &r.flight)] {
        if let Some(f) = fit {
            p.row(name, &format!("{} frames; squares over freedom {:.2}", f.rows, f.misfit));
        }
    }
    p.row(
        "the motion is",
        match r.motion {
            What::Pole => "that of the pole in the picture",
            What::PoleOverRim => "that of the pole over the mean of both rims",
        },
    );
    p.list("Warnings", &r.warnings);
    p.text()
}

/// The track as a table.
pub(super) fn track(name: &str, digest: &str, r: &ClipReport) -> Table {
    let columns = vec![
        column("frame", "1", "number of the frame", Kind::Number),
        column("time_s", "s", "time from the first frame", Kind::Number),
        column("height_m", "m", "height of what the figures are of, from rest", Kind::Number),
        column("deviation_m", "m", "its standard deviation by the edge alone", Kind::Number),
        column(
            "pole_height_m",
            "m",
            "height of the pole's edge in the picture, from its first place",
            Kind::Number,
        ),
        column("pole_deviation_m", "m", "its standard deviation by the edge alone", Kind::Number),
    ];
    let t = &r.track;
    let row = |i: usize| {
        let heights = [t.height_m[i], t.deviation_m[i], t.pole_height_m[i], t.pole_deviation_m[i]];
        [t.frame[i] as f64, t.time_s[i]].into_iter().chain(heights).map(Value::Number).collect()
    };
    let provenance = [
        ("program", format!("{PROGRAM} {VERSION}")),
        ("clip", name.to_owned()),
        ("clip_digest", digest.to_owned()),
    ];
    Table {
        columns,
        rows: (0..t.frame.len()).map(row).collect(),
        provenance: provenance.map(|(k, v)| (k.to_owned(), v)).to_vec(),
    }
}
