//! All stable states side by side, to one scale, rims level.

use calotte_answers::states::report::{Piece, State, StatesReport};

use super::{left_out, short, shown};
use crate::Figure;
use crate::axis::round_below;
use crate::ink::{self, Pen};
use crate::place::Rect;
use crate::section::{Extent, Section};
use crate::style::page_width;
use crate::svg::{Anchor, Key, Point, Svg};
use crate::text::{LengthUnit, number, quantity, text_width};

/// Panels in a row at most; four stand two by two.
const ACROSS: usize = 3;
/// Greatest height of one drawing, and of all rows together.
const TALL: f64 = 110.0;
const TALLEST: f64 = 300.0;
/// Room above the first drawing of a row for its name, and below it for its energy.
const ABOVE: f64 = 26.0;
const BELOW: f64 = 34.0;
const TOP: f64 = 30.0;
const FOOT: f64 = 30.0;

const WALL: Pen = Pen::solid(ink::SLATE, 0.9);
const TURNED: Pen = Pen::solid(ink::RUST, 1.6);

/// The wall of one piece in one state.
struct Drawn {
    turned: bool,
    outlines: Vec<Vec<(f64, f64)>>,
}

/// The walls of a state, piece by piece, heights over the rim; `None` without whole rows.
fn walls(state: &State, pieces: &[Piece]) -> Option<Vec<Drawn>> {
    let whole = Section::new(&state.meridian)?;
    let rim = whole.rim().z;
    let last = whole.rim().s;
    let slack = 1e-9 * last;
    let part = |span: [f64; 2], turned: bool| -> Option<Drawn> {
        // A joint belongs to both: each piece takes the station on its own side.
        let mut stations: Vec<_> = whole
            .stations
            .iter()
            .copied()
            .filter(|p| p.s >= span[0] - slack && p.s <= span[1] + slack)
            .collect();
        let own = |k: usize| (stations[k].s - stations[k.saturating_sub(1)].s).abs() > slack;
        if stations.len() > 2 && !own(1) {
            stations.remove(0);
        }
        let n = stations.len();
        if n > 2 && (stations[n - 1].s - stations[n - 2].s).abs() <= slack {
            stations.pop();
        }
        if stations.len() < 2 {
            return None;
        }
        for p in &mut stations {
            p.z -= rim;
        }
        let hole = stations[0].r > 1e-9 * last;
        let mut outlines = Section { stations }.wall(hole);
        outlines.iter_mut().flatten().for_each(|p| p.1 = -p.1);
        Some(Drawn { turned, outlines })
    };
    let drawn: Vec<Drawn> = if pieces.is_empty() {
        part([0.0, last], false).into_iter().collect()
    } else {
        pieces.iter().filter_map(|q| part(q.span_m, state.turned.contains(&q.number))).collect()
    };
    (!drawn.is_empty()).then_some(drawn)
}

/// The figure; `None` without a stable state that has a shape.
pub(super) fn figure(report: &StatesReport) -> Option<Figure> {
    let panels: Vec<(usize, &State, Vec<Drawn>)> =
        shown(report).into_iter().filter_map(|(i, s)| Some((i, s, walls(s, &report.pieces)?))).collect();
    if panels.is_empty() {
        return None;
    }
    let extent = Extent::of(panels.iter().flat_map(|p| p.2.iter()).flat_map(|d| d.outlines.iter()));
    let most = (page_width() / 180.0).floor().max(1.0) as usize;
    let columns = if panels.len() == 4 { 2 } else { panels.len().min(ACROSS) }.min(most);
    let rows = panels.len().div_ceil(columns);
    let cell = page_width() / columns as f64;
    let scale =
        ((cell - 44.0) / (2.0 * extent.half_width)).min(TALL.min(TALLEST / rows as f64) / extent.height());
    if !(scale.is_finite() && scale > 0.0) {
        return None;
    }
    let bands: Vec<Extent> = panels
        .chunks(columns)
        .map(|row| Extent::of(row.iter().flat_map(|p| p.2.iter()).flat_map(|d| d.outlines.iter())))
        .collect();
    let deep = |band: &Extent| ABOVE + scale * band.height() + BELOW;
    let height = TOP + bands.iter().map(deep).sum::<f64>() + FOOT;
    let mut svg = Svg::new(page_width(), height);
    for (k, (i, state, drawn)) in panels.iter().enumerate() {
        let axis = cell * ((k % columns) as f64 + 0.5);
        let band = bands[k / columns];
        let top = TOP + bands[..k / columns].iter().map(deep).sum::<f64>();
        let zero = top + ABOVE - scale * band.low;
        let page = |p: &(f64, f64)| -> Point { (axis + scale * p.0, zero + scale * p.1) };
        svg.open(&format!("state-{}", i + 1));
        let side = scale * extent.half_width + 10.0;
        let window =
            Rect::around([(axis - cell / 2.0, top), (axis + cell / 2.0, top + deep(&band))].into_iter());
        let unit = LengthUnit::for_length(2.0 * extent.half_width);
        let per = scale / unit.per_m;
        svg.record.section(window, (axis, zero), (per, per), unit.name, &format!("state {}", i + 1));
        svg.line("rim-plane", (axis - side, zero), (axis + side, zero), Pen::solid(ink::FAINT, 0.6));
        for piece in drawn {
            // A thin wall is all outline, so the outline carries the colour.
            let (class, fill, pen) =
                if piece.turned { ("turned", ink::AMBER, TURNED) } else { ("wall", ink::WALL_NATURAL, WALL) };
            for line in &piece.outlines {
                let points: Vec<Point> = line.iter().map(page).collect();
                svg.polygon(class, &points, fill, pen);
            }
        }
        let long = format!("{}: {}", i + 1, state.name);
        let fits = text_width(&long, ink::LABEL) < cell - 8.0;
        let title = if fits { long } else { format!("{}: {}", i + 1, short(&state.name)) };
        svg.text("panel", (axis, top + 12.0), ink::LABEL, Anchor::Middle, ink::INK, &title);
        let below = top + ABOVE + scale * band.height() + 18.0;
        let stored = if state.energy_J == 0.0 { "0 J".to_owned() } else { quantity(state.energy_J, "J") };
        svg.text("stored", (axis, below), ink::LABEL, Anchor::Middle, ink::INK, &stored);
        svg.close();
    }
    let any = panels.iter().any(|p| !p.1.turned.is_empty());
    let mut entries = vec![(Key::Patch(ink::WALL_NATURAL), "as made".to_owned())];
    if any {
        entries.push((Key::Patch(ink::AMBER), "piece turned over".to_owned()));
    }
    svg.open("legend");
    svg.legend_above((12.0, 20.0), page_width() - 10.0, &entries);
    svg.close();
    scale_bar(&mut svg, height - 12.0, scale, extent);
    let told = format!("{} stable states", panels.len());
    let told = if panels.len() == 1 { "one stable state".to_owned() } else { told };
    let list: Vec<String> = panels
        .iter()
        .map(|(i, s, _)| format!("{} {} ({})", i + 1, s.name, quantity(s.energy_J, "J")))
        .collect();
    let caption = format!(
        "{}. Sections of {told}, to one scale, rims level (thin line); below each the elastic energy that it stores.{}",
        report.title,
        left_out(report, panels.len())
    );
    let alt = format!("Sections of {told}: {}.", list.join("; "));
    let title = format!("{}: stable states", report.title);
    Some(Figure::new("states", svg.finish(&title, &alt), alt, caption))
}

fn scale_bar(svg: &mut Svg, y: f64, scale: f64, extent: Extent) {
    let unit = LengthUnit::for_length(2.0 * extent.half_width);
    let per_unit = scale / unit.per_m;
    let size = round_below(110.0 / per_unit);
    let (x0, x1) = (14.0, 14.0 + size * per_unit);
    svg.open("scale");
    svg.line("scale-bar", (x0, y - 4.0), (x1, y - 4.0), Pen::solid(ink::INK, 1.4));
    for x in [x0, x1] {
        svg.line("scale-end", (x, y - 8.0), (x, y), Pen::solid(ink::INK, 1.4));
    }
    let label = format!("{} {}", number(size, 1), unit.name);
    svg.text("scale-label", (x1 + 7.0, y), ink::LABEL, Anchor::Start, ink::INK, &label);
    svg.close();
}
