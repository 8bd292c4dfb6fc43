//! A drawing as DXF (AutoCAD 2010 format, millimetres): what sheets, lasers and lathes take. Words use the signs of the format for
//! diameter, degree and plus-minus, which every reader knows.

use ::dxf::entities::{Arc, Circle, Entity, EntityCommon, EntityType, Line, LwPolyline, Solid, Text};
use ::dxf::enums::{AcadVersion, HorizontalTextJustification, Units};
use ::dxf::tables::{Layer as Table, LineType};
use ::dxf::{Color, Drawing, LwPolylineVertex, Point};
use std::f64::consts::TAU;

use super::{Anchor, Layer, Mark, Sketch};

fn point(p: [f64; 2]) -> Point {
    Point::new(p[0], p[1], 0.0)
}

/// The signs of the format.
fn signs(words: &str) -> String {
    words.replace('⌀', "%%c").replace('°', "%%d").replace('±', "%%p").replace('\n', " ")
}

/// A colour of the format's numbered ones.
fn colour(layer: Layer) -> u8 {
    match layer {
        Layer::Outline | Layer::Words | Layer::Fold => 7,
        Layer::Cut => 1,
        Layer::Centre | Layer::Dimension => 5,
        Layer::Hatch => 8,
    }
}

fn entity(mark: &Mark) -> EntityType {
    match mark {
        Mark::Line([a, b]) => EntityType::Line(Line::new(point(*a), point(*b))),
        Mark::Arc { centre, radius, from, to } if to - from >= TAU - 1e-12 => {
            EntityType::Circle(Circle::new(point(*centre), *radius))
        }
        Mark::Arc { centre, radius, from, to } => {
            let degrees = |a: f64| a.rem_euclid(TAU).to_degrees();
            EntityType::Arc(Arc::new(point(*centre), *radius, degrees(*from), degrees(*to)))
        }
        Mark::Path { points, closed } => {
            let vertices = points.iter().map(|p| LwPolylineVertex { x: p[0], y: p[1], ..Default::default() });
            let mut line = LwPolyline { vertices: vertices.collect(), ..Default::default() };
            line.set_is_closed(*closed);
            EntityType::LwPolyline(line)
        }
        Mark::Solid(points) => {
            let at = |i: usize| point(points[i.min(points.len() - 1)]);
            EntityType::Solid(Solid {
                first_corner: at(0),
                second_corner: at(1),
                third_corner: at(2),
                fourth_corner: at(3),
                ..Default::default()
            })
        }
        Mark::Text { at, size, anchor, turn, words, .. } => {
            let justified = match anchor {
                Anchor::Start => HorizontalTextJustification::Left,
                Anchor::Middle => HorizontalTextJustification::Center,
                Anchor::End => HorizontalTextJustification::Right,
            };
            EntityType::Text(Text {
                location: point(*at),
                second_alignment_point: point(*at),
                horizontal_text_justification: justified,
                // Height of capitals, not of the em.
                text_height: 0.73 * size,
                rotation: turn.to_degrees(),
                value: signs(words),
                ..Default::default()
            })
        }
    }
}

/// The same without the day and hour at which it was written, in whose stead stands the first day of 1970: the same drawing gives the same
/// bytes, anywhere. A value stands two lines below its name.
fn undated(file: &[u8]) -> Result<Vec<u8>, String> {
    let text = std::str::from_utf8(file).map_err(|e| e.to_string())?;
    let mut out = String::with_capacity(text.len());
    let mut until = None;
    for (i, line) in text.split_inclusive('\n').enumerate() {
        if until == Some(i) {
            let end = &line[line.trim_end().len()..];
            out.push_str("2440587.5");
            out.push_str(end);
        } else {
            out.push_str(line);
        }
        if ["$TDCREATE", "$TDUCREATE", "$TDUPDATE", "$TDUUPDATE"].contains(&line.trim()) {
            until = Some(i + 2);
        }
    }
    Ok(out.into_bytes())
}

/// The drawing as a DXF file.
///
/// # Errors
/// The writer's words.
pub fn dxf(sketch: &Sketch) -> Result<Vec<u8>, String> {
    let mut drawing = Drawing::new();
    drawing.header.version = AcadVersion::R2010;
    drawing.header.default_drawing_units = Units::Millimeters;
    // The same bytes for the same drawing: no drawn identities.
    drawing.header.fingerprint_guid = Default::default();
    drawing.header.version_guid = Default::default();
    for (name, dashes) in [("DASHED", Layer::Fold), ("CENTRELINE", Layer::Centre)] {
        let pattern: Vec<f64> =
            dashes.dashes().iter().enumerate().map(|(i, d)| if i % 2 == 0 { *d } else { -d }).collect();
        drawing.add_line_type(LineType {
            name: name.to_owned(),
            element_count: pattern.len() as i32,
            total_pattern_length: pattern.iter().map(|d| d.abs()).sum(),
            dash_dot_space_lengths: pattern,
            ..Default::default()
        });
    }
    for layer in Layer::ALL {
        let line_type_name = match layer {
            Layer::Fold => "DASHED",
            Layer::Centre => "CENTRELINE",
            _ => "CONTINUOUS",
        };
        drawing.add_layer(Table {
            name: layer.name().to_owned(),
            color: Color::from_index(colour(layer)),
            line_type_name: line_type_name.to_owned(),
            ..Default::default()
        });
    }
    for (layer, mark) in &sketch.marks {
        let common = EntityCommon { layer: layer.name().to_owned(), ..Default::default() };
        drawing.add_entity(Entity { common, specific: entity(mark) });
    }
    drawing.normalize();
    let mut out = Vec::new();
    drawing.save(&mut out).map_err(|e| e.to_string())?;
    undated(&out)
}
