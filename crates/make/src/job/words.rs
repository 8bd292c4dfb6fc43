//! What was made, in words.

use calotte_desk::Sheet;
use calotte_specimen::Case;

use super::report::MakeReport;

fn mm(v: f64) -> String {
    format!("{:.3} mm", 1e3 * v)
}

fn volume(v: f64, mass: Option<f64>) -> String {
    let mass = mass.map_or(String::new(), |m| format!(", {:.3} g", 1e3 * m));
    format!("{:.4} cm³{mass}", 1e6 * v)
}

fn percent(v: f64) -> String {
    format!("{}{:.1} %", if v < 0.0 { "−" } else { "+" }, 1e2 * v.abs())
}

pub(super) fn sheet(case: &Case, r: &MakeReport) -> Sheet {
    let mut p = Sheet::new(&format!("MAKE: {}", case.title));
    p.text_block(&format!("made: {}", r.what.join(", ")));
    p.list("Not made", &r.not_made);
    if let Some(m) = &r.mould {
        p.head("Mould");
        let names: Vec<&str> = m.pieces.iter().map(|p| p.name).filter(|n| *n != "cast").collect();
        p.row("pieces", &names.join(", "));
        p.row("over all", &format!("diameter {}, height {}", mm(m.diameter_m), mm(m.height_m)));
        let planes: Vec<String> = m.parting_m.iter().map(|z| mm(*z)).collect();
        p.row("parting", &format!("{} over the lowest place of the cavity", planes.join(" and ")));
        p.row("cast", &volume(m.cast_m3, m.cast_kg));
        p.row("to pour", &volume(m.poured_m3, m.poured_kg));
        p.row("allowed for", &format!("shrinkage {:.2} %, offset {}", 1e2 * m.shrinkage, mm(m.offset_m)));
        if m.turned_over {
            p.item("The part stands with its rim upwards: it was turned over.");
        }
        p.items(&m.notes);
        let mut rows = vec![
            ["mesh", "triangles", "volume", "off the exact volume", "holes through"]
                .map(str::to_owned)
                .to_vec(),
        ];
        for q in &m.pieces {
            rows.push(vec![
                q.name.to_owned(),
                q.faces.to_string(),
                format!("{:.4} cm³", 1e6 * q.volume_m3),
                format!("{:.4} %", 1e2 * (q.volume_m3 / q.exact_volume_m3 - 1.0)),
                q.holes.to_string(),
            ]);
        }
        p.table(rows);
        p.text_block("Every mesh is closed, faces outwards, and crosses itself nowhere (exact signs).");
    }
    if let Some(g) = &r.guide {
        p.head("Cutting guide");
        p.row(
            "ring stand",
            &format!("{} high, edge of diameter {}", mm(g.stand_height_m), mm(2.0 * g.stand_edge_radius_m)),
        );
        p.row("ball's centre", &format!("{} over the table", mm(g.centre_height_m)));
        p.row("sheets", &g.pages.to_string());
        let mut rows = vec![
            ["slice", "half-angle", "scribe at", "outer rise", "cut diameter", "strip", "predicted"]
                .map(str::to_owned)
                .to_vec(),
        ];
        for c in &g.slices {
            rows.push(vec![
                c.label.clone(),
                format!("{:.2}°", c.half_angle_rad.to_degrees()),
                mm(c.scribe_height_m),
                mm(c.outer_rise_m),
                mm(2.0 * c.cut_radius_m),
                format!("{} in {}", mm(c.strip_length_m), c.strip_pieces),
                c.predicted.clone(),
            ]);
        }
        p.table(rows);
        p.items(&g.notes);
    }
    if let Some(d) = &r.drawing {
        p.head("Drawing");
        p.row("scale", &d.scale);
        let hole =
            if d.sizes.hole_m > 0.0 { format!(", hole {}", mm(d.sizes.hole_m)) } else { String::new() };
        p.row(
            "over all",
            &format!("diameter {}, height {}{hole}", mm(d.sizes.diameter_m), mm(d.sizes.height_m)),
        );
    }
    if let Some(t) = &r.tool {
        p.head("Forming tool");
        let hole =
            if t.blank_hole_m > 0.0 { format!(", hole {}", mm(t.blank_hole_m)) } else { String::new() };
        let mass = t.blank_kg.map_or(String::new(), |m| format!(", {:.4} g", 1e3 * m));
        p.row("flat blank", &format!("diameter {}{hole}{mass}", mm(t.blank_diameter_m)));
        if let Some(r) = t.tightest_radius_over_thickness {
            p.row("tightest bend", &format!("{r:.1} times the thickness"));
        }
        p.items(&t.notes);
    }
    if let Some(s) = &r.series {
        p.head("Series");
        p.row("varies", &format!("{}; threshold at {}", s.varies, s.threshold));
        p.row(
            "scatter",
            &format!(
                "{:.2} % of the margin from specimen to specimen, {:.2} % common to all",
                1e2 * s.scatter,
                1e2 * s.doubt
            ),
        );
        p.row("what it will tell", &format!("{:.2} bits on average about how far theory is off", s.bits));
        let mut rows =
            vec![["label", "make", "margin", "predicted", "chance to stay"].map(str::to_owned).to_vec()];
        for m in &s.specimens {
            rows.push(vec![
                m.label.clone(),
                m.value.clone(),
                percent(m.margin),
                m.predicted.to_owned(),
                format!("{:.0} %", 1e2 * m.chance_stays),
            ]);
        }
        p.table(rows);
        p.items(&s.notes);
    }
    p.list("Mind", &r.cautions);
    p
}
