//! The sheet of a series: what to make, what is predicted, room to note what happened, labels to cut out.

use super::Series;
use crate::cautions::put_cautions;
use crate::sketch::{Anchor, Layer, Page, Paper, Sketch, paragraph, width};

/// The sheet. `size` writes the number that varies, with its unit.
pub fn page(
    title: &str,
    what: &str,
    series: &Series,
    size: &dyn Fn(f64) -> String,
    cautions: &[String],
    paper: &Paper,
) -> Page {
    let [wide, high] = paper.size;
    let (left, right) = (Paper::MARGIN + 5.0, wide - Paper::MARGIN - 5.0);
    let mut s = Sketch::default();
    let mut y = high - Paper::MARGIN - 8.0;
    s.bold([left, y], 5.5, Anchor::Start, "Series on both sides of the threshold");
    y -= 7.0;
    y = paragraph(&mut s, [left, y], 3.2, right - left, title);
    y = paragraph(
        &mut s,
        [left, y - 1.0],
        3.0,
        right - left,
        &format!(
            "The {what} varies, all else as in the case. The threshold lies at {}. Sizes were chosen so that what happens tells most about theory: {:.1} bits on average. Margin: ln of threshold over wall thickness, above 0 a part stays. Chance: with tolerances, scatter and the doubt of theory.",
            size(series.threshold),
            series.bits
        ),
    ) - 3.0;
    let heads = ["", what, "margin", "predicted", "chance", "made as", "what happened"];
    let shares = [0.0, 0.06, 0.24, 0.34, 0.46, 0.58, 0.74];
    let at = |k: usize| left + shares[k] * (right - left);
    let rule = |s: &mut Sketch, y: f64| s.line(Layer::Words, [left, y], [right, y]);
    rule(&mut s, y + 4.5);
    for (k, head) in heads.iter().enumerate() {
        s.bold([at(k), y], 2.8, Anchor::Start, *head);
    }
    y -= 2.2;
    rule(&mut s, y);
    for m in &series.members {
        y -= 6.5;
        let cells = [
            m.label.clone(),
            size(m.value),
            format!("{}{:.1} %", if m.margin < 0.0 { "−" } else { "+" }, 1e2 * m.margin.abs()),
            m.outcome.word().to_owned(),
            format!("{:.0} % stay", 1e2 * m.stays),
        ];
        for (k, cell) in cells.iter().enumerate() {
            s.text([at(k), y], 3.0, Anchor::Start, cell.clone());
        }
        y -= 2.0;
        rule(&mut s, y);
    }
    y -= 8.0;
    s.bold([left, y], 3.4, Anchor::Start, "Labels");
    y -= 3.0;
    let (w, h) = (44.0, 12.0);
    let columns = ((right - left) / w).floor().max(1.0) as usize;
    for (k, m) in series.members.iter().enumerate() {
        let (x, top) = (left + (k % columns) as f64 * w, y - (k / columns) as f64 * h);
        s.path(Layer::Fold, vec![[x, top], [x + w, top], [x + w, top - h], [x, top - h]], true);
        s.bold([x + 2.0, top - 7.8], 6.0, Anchor::Start, m.label.clone());
        let words = size(m.value);
        let type_size = (2.8_f64).min(2.8 * (w - 16.0) / width(&words, 2.8).max(1.0));
        s.text([x + 14.0, top - 5.0], type_size, Anchor::Start, words);
        s.text([x + 14.0, top - 9.0], 2.4, Anchor::Start, "date:");
    }
    y -= (series.members.len().div_ceil(columns)) as f64 * h + 7.0;
    put_cautions(&mut s, [left, y], right - left, cautions);
    Page { size: paper.size, title: format!("Series: {title}"), sketch: s }
}
