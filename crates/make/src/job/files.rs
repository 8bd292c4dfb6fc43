//! What was made, as files.

use calotte_desk::Refusal;
use calotte_solid::{Mesh, stl, three_mf};
use calotte_specimen::Case;

use crate::cautions::put_cautions;
use crate::drawing::Drawing;
use crate::guide::Guide;
use crate::mould::{Mould, Settings};
use crate::sketch::{Anchor, Layer, Page, Paper, Sketch, dxf, paragraph, svg};
use crate::tool::Tool;

/// Files with their paths.
#[derive(Default)]
pub(super) struct Files {
    pub(super) list: Vec<(String, Vec<u8>)>,
}

fn failed(says: impl std::fmt::Display) -> Refusal {
    Refusal::Failed { says: says.to_string() }
}

/// A piece as it is printed: on its larger level face, standing on the table.
fn lying(name: &str, mesh: &Mesh) -> Mesh {
    let mesh = if name == "core" { mesh.clone().turned_over() } else { mesh.clone() };
    let low = mesh.bounds().map_or(0.0, |b| b[0][2]);
    mesh.moved([0.0, 0.0, -low])
}

impl Files {
    pub(super) fn add(&mut self, path: String, content: impl Into<Vec<u8>>) {
        self.list.push((path, content.into()));
    }

    /// Pages as one PDF, and as SVG each.
    pub(super) fn pages(&mut self, path: &str, pages: &[Page]) -> Result<(), Refusal> {
        let drawn: Vec<String> = pages.iter().map(svg).collect();
        let all: Vec<calotte_paper::Page<'_>> =
            drawn.iter().zip(pages).map(|(svg, p)| calotte_paper::Page { svg, alt: &p.title }).collect();
        let title = pages.first().map_or("", |p| p.title.as_str());
        let meta = calotte_paper::Meta { title, subject: "", language: "en" };
        self.add(format!("{path}.pdf"), calotte_paper::pdf(&all, &meta).map_err(failed)?);
        let many = drawn.len() > 1;
        for (k, one) in drawn.into_iter().enumerate() {
            self.add(if many { format!("{path}-{}.svg", k + 1) } else { format!("{path}.svg") }, one);
        }
        Ok(())
    }

    pub(super) fn mould(
        &mut self,
        folder: &str,
        case: &Case,
        m: &Mould,
        s: &Settings,
        mind: &[String],
        paper: &Paper,
    ) -> Result<(), Refusal> {
        let mut laid = Vec::new();
        let mut x = 0.0;
        for p in &m.pieces {
            let mesh = lying(p.name, &p.mesh);
            self.add(
                format!("{folder}{}.stl", p.name),
                stl(&mesh, &format!("{} {}", p.name, case.title)).map_err(failed)?,
            );
            if p.name != "cast" {
                // Side by side, 10 mm apart.
                laid.push((p.name, mesh.moved([x, 0.0, 0.0])));
                x += 2.0 * m.size[0] + 10e-3;
            }
        }
        let all: Vec<(&str, &Mesh)> = laid.iter().map(|(n, m)| (*n, m)).collect();
        self.add(format!("{folder}mould.3mf"), three_mf(&all, &case.title).map_err(failed)?);
        self.pages(&format!("{folder}mould"), &[mould_page(case, m, s, mind, paper)])
    }

    pub(super) fn guide(&mut self, folder: &str, g: &Guide) -> Result<(), Refusal> {
        self.pages(&format!("{folder}guide"), &g.pages)?;
        self.add(format!("{folder}ring-stand.stl"), stl(&g.stand, "ring stand").map_err(failed)?);
        self.add(
            format!("{folder}ring-stand.3mf"),
            three_mf(&[("ring stand", &g.stand)], "ring stand").map_err(failed)?,
        );
        let mut table = String::from(
            "slice,half_angle_deg,outer_half_angle_deg,scribe_height_mm,outer_rise_mm,rise_mm,cut_diameter_mm,strip_length_mm,strip_pieces,predicted\n",
        );
        for c in &g.slices {
            table += &format!(
                "{},{:.4},{:.4},{:.4},{:.4},{:.4},{:.4},{:.4},{},{}\n",
                c.label,
                c.half_angle_rad.to_degrees(),
                c.outer_half_angle_rad.to_degrees(),
                1e3 * c.scribe_height_m,
                1e3 * c.outer_rise_m,
                1e3 * c.rise_m,
                2e3 * c.cut_radius_m,
                1e3 * c.strip_length_m,
                c.strip_pieces,
                c.predicted
            );
        }
        self.add(format!("{folder}slices.csv"), table);
        Ok(())
    }

    pub(super) fn drawing(&mut self, folder: &str, d: &Drawing) -> Result<(), Refusal> {
        self.pages(&format!("{folder}drawing"), std::slice::from_ref(&d.page))?;
        self.add(format!("{folder}drawing.dxf"), dxf(&d.view).map_err(failed)?);
        Ok(())
    }

    pub(super) fn tool(
        &mut self,
        folder: &str,
        case: &Case,
        t: &Tool,
        mind: &[String],
        paper: &Paper,
    ) -> Result<(), Refusal> {
        self.add(format!("{folder}tool.dxf"), dxf(&t.sketch).map_err(failed)?);
        self.pages(&format!("{folder}tool"), &[tool_page(case, t, mind, paper)])
    }
}

/// Marks of a sketch fitted into a box, at a scale of one significant digit.
fn fitted(sketch: &Sketch, room: [f64; 2]) -> (Sketch, f64, [f64; 2]) {
    use crate::sketch::Mark;
    let mut low = [f64::INFINITY; 2];
    let mut high = [f64::NEG_INFINITY; 2];
    for (_, mark) in &sketch.marks {
        let points: Vec<[f64; 2]> = match mark {
            Mark::Line(ends) => ends.to_vec(),
            Mark::Path { points, .. } | Mark::Solid(points) => points.clone(),
            Mark::Arc { centre, radius, .. } => {
                vec![[centre[0] - radius, centre[1] - radius], [centre[0] + radius, centre[1] + radius]]
            }
            Mark::Text { .. } => Vec::new(),
        };
        for p in points {
            for i in 0..2 {
                low[i] = low[i].min(p[i]);
                high[i] = high[i].max(p[i]);
            }
        }
    }
    let need = (room[0] / (high[0] - low[0])).min(room[1] / (high[1] - low[1]));
    let scale =
        [20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05].into_iter().find(|s| *s <= need).unwrap_or(need);
    let at = |p: &[f64; 2]| [scale * (p[0] - low[0]), scale * (p[1] - low[1])];
    let mut out = Sketch::default();
    for (layer, mark) in &sketch.marks {
        match mark {
            Mark::Line([a, b]) => out.line(*layer, at(a), at(b)),
            Mark::Path { points, closed } => out.path(*layer, points.iter().map(at).collect(), *closed),
            Mark::Text { at: place, anchor, words, .. } => out.text(at(place), 2.6, *anchor, words.clone()),
            Mark::Arc { centre, radius, from, to } => out.arc(*layer, at(centre), scale * radius, *from, *to),
            Mark::Solid(_) => {}
        }
    }
    (out, scale, [scale * (high[0] - low[0]), scale * (high[1] - low[1])])
}

/// A sheet with a figure on top and words below.
fn sheet(head: &str, case: &Case, figure: &Sketch, lines: &[String], mind: &[String], paper: &Paper) -> Page {
    let [wide, high] = paper.size;
    let (left, right) = (Paper::MARGIN + 5.0, wide - Paper::MARGIN - 5.0);
    let mut s = Sketch::default();
    let mut y = high - Paper::MARGIN - 8.0;
    s.bold([left, y], 5.5, Anchor::Start, head);
    y = paragraph(&mut s, [left, y - 7.0], 3.2, right - left, &case.title) - 2.0;
    let (drawn, scale, size) = fitted(figure, [right - left, 0.42 * high]);
    y -= size[1];
    s.put(&drawn, [left + 0.5 * (right - left - size[0]), y]);
    y -= 6.0;
    let scale = crate::drawing::scale_words(scale);
    s.text([left, y], 2.8, Anchor::Start, format!("Section through the axis, {scale}; lengths in mm."));
    y -= 6.0;
    for line in lines {
        y = paragraph(&mut s, [left, y], 2.9, right - left, line) - 0.8;
    }
    put_cautions(&mut s, [left, y - 3.0], right - left, mind);
    Page { size: paper.size, title: format!("{head}: {}", case.title), sketch: s }
}

/// A closed outline without its edges on the axis.
fn off_axis(outline: &[[f64; 2]], side: f64) -> Vec<Vec<[f64; 2]>> {
    let n = outline.len();
    let on = |i: usize| outline[i % n][0] == 0.0 && outline[(i + 1) % n][0] == 0.0;
    let mm = |i: usize| [1e3 * side * outline[i % n][0], 1e3 * outline[i % n][1]];
    match (0..n).find(|i| on(*i)) {
        Some(k) => {
            // From behind one edge on the axis to the next.
            let mut out = vec![vec![mm(k + 1)]];
            for i in k + 1..k + n {
                if on(i) {
                    out.push(Vec::new());
                } else if let Some(last) = out.last_mut() {
                    if last.is_empty() {
                        last.push(mm(i));
                    }
                    last.push(mm(i + 1));
                }
            }
            out.retain(|path| path.len() > 1);
            out
        }
        None => vec![(0..=n).map(mm).collect()],
    }
}

fn mould_page(case: &Case, m: &Mould, s: &Settings, mind: &[String], paper: &Paper) -> Page {
    let mut figure = Sketch::default();
    for p in &m.pieces {
        let layer = if p.name == "cast" { Layer::Cut } else { Layer::Outline };
        for side in [1.0, -1.0] {
            for path in off_axis(&p.outline, side) {
                figure.path(layer, path, false);
            }
        }
        if p.name != "cast" {
            // Its name near the outer edge, half-way up what is there.
            let edge = 1e3 * m.size[0];
            let at_edge: Vec<f64> =
                p.outline.iter().filter(|q| q[0] == m.size[0]).map(|q| 1e3 * q[1]).collect();
            let middle = at_edge.iter().sum::<f64>() / at_edge.len().max(1) as f64;
            figure.text([0.83 * edge, middle], 2.6, Anchor::Middle, p.name);
        }
    }
    let planes: Vec<String> = m.parting.iter().map(|z| format!("{:.2} mm", 1e3 * z)).collect();
    let names: Vec<&str> = m.pieces.iter().filter(|p| p.name != "cast").map(|p| p.name).collect();
    let mut lines = vec![
        format!(
            "Pieces: {}; {:.1} mm across and {:.1} mm high; parting {} over the lowest place of the cavity. Coloured: what is cast.",
            names.join(", "),
            2e3 * m.size[0],
            1e3 * m.size[1],
            planes.join(" and ")
        ),
        format!(
            "Cavity {:.3} cm³, to pour {:.3} cm³. Shrinkage {:.2} % and an offset of {:.3} mm are in it.",
            1e6 * m.cavity,
            1e6 * m.poured,
            1e2 * s.shrinkage,
            1e3 * s.offset
        ),
        "Release agent on every face; pins and sockets meet in one way only; pour through the channel until every vent shows resin; cut off what stood in channel, vents and flash.".to_owned(),
    ];
    lines.extend(m.notes.iter().cloned());
    sheet("Casting mould", case, &figure, &lines, mind, paper)
}

fn tool_page(case: &Case, t: &Tool, mind: &[String], paper: &Paper) -> Page {
    let mut lines = vec![format!(
        "Flat blank: diameter {:.3} mm{}.",
        2e3 * t.blank_radius,
        if t.blank_hole > 0.0 {
            format!(" with a hole of {:.3} mm", 2e3 * t.blank_hole)
        } else {
            String::new()
        }
    )];
    lines.extend(t.notes.iter().cloned());
    sheet("Forming tool", case, &t.sketch, &lines, mind, paper)
}
