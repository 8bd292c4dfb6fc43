//! The wall of a case: one thickness, a list, or a table.

use std::ops::Range;

use super::build::{Plan, Slot, Surface, Thickness};
use super::draft::Value;
use super::resolve::{Resolver, falls};

impl Resolver<'_> {
    pub(super) fn wall(&mut self, surface: Surface) -> Option<Thickness> {
        let (listed, table) = (self.draft.has("wall.thickness"), self.draft.has("wall.table"));
        if !listed && !table {
            self.missing(
                "wall.thickness",
                "write `thickness = \"2.1 mm\"`, or name a CSV file: `table = \"wall.csv\"`",
            );
            return None;
        }
        if listed && table {
            let span = self.draft.fields.get("wall.table").map_or(0..0, |f| f.key_span.clone());
            self.draft.error(span, "`thickness` and `table` exclude each other").hint =
                Some("keep one of them".to_owned());
            return None;
        }
        let uniform = listed && !matches!(self.draft.fields["wall.thickness"].value, Value::Numbers(_));
        let misplaced: &[&str] = match (uniform, table) {
            (true, _) => &["wall.arc", "wall.offset"],
            (false, true) => &["wall.arc"],
            (false, false) => &[],
        };
        for key in misplaced {
            let Some(field) = self.draft.fields.get(*key) else { continue };
            let (span, name) = (field.key_span.clone(), field.key.name);
            let goes =
                if *key == "wall.arc" { "a list of thicknesses" } else { "a list or table of thicknesses" };
            self.draft.error(span, format!("`{name}` goes with {goes}")).hint = Some("remove it".to_owned());
        }
        if uniform {
            return self.input("wall.thickness").map(Thickness::Uniform);
        }
        if surface != Surface::Mid {
            let span = self.draft.span("shape.surface").unwrap_or(0..0);
            let says = "with a varying wall the sizes must belong to the mid-surface";
            self.draft.error(span, says).hint = Some(
                "set surface = \"mid\" and give mid-surface sizes: the mean of the inner and the outer ones; or give one thickness".to_owned(),
            );
        }
        let knots = if table { self.table_knots() } else { self.listed_knots() }?;
        let offset = self.input("wall.offset").unwrap_or(Slot::Fixed(0.0));
        Some(Thickness::Table { knots, offset })
    }

    fn listed_knots(&mut self) -> Option<Vec<(f64, Slot)>> {
        let thickness = self.draft.numbers("wall.thickness")?.to_vec();
        if !self.draft.has("wall.arc") {
            self.missing("wall.arc", "say where: `arc = [\"0 mm\", \"20 mm\"]`, from the pole to the rim");
            return None;
        }
        let Some(arc) = self.draft.numbers("wall.arc").map(<[_]>::to_vec) else {
            if self.draft.number("wall.arc").is_some() {
                let span = self.draft.span("wall.arc").unwrap_or(0..0);
                self.draft.error(span, "`arc` takes a list, one place for each thickness");
            }
            return None;
        };
        if arc.len() != thickness.len() || arc.is_empty() {
            let span = self.draft.span("wall.arc").unwrap_or(0..0);
            let says = format!("{} places for {} thicknesses", arc.len(), thickness.len());
            self.draft.error(span, says).hint = Some("one place for each thickness".to_owned());
            return None;
        }
        for (q, span) in arc.iter().filter(|a| a.0.half_width.is_some()) {
            let says = format!("the tolerance of a place is not used (`{}`)", q.text);
            self.draft.warning(span.clone(), says);
        }
        let values: Vec<f64> = arc.iter().map(|a| a.0.value).collect();
        let places: Vec<Range<usize>> = arc.iter().map(|a| a.1.clone()).collect();
        for i in falls(&values) {
            self.draft.error(places[i].clone(), "the places must increase").hint =
                Some("list them from the pole to the rim".to_owned());
        }
        let mut knots = Vec::new();
        for (i, (s, (q, _))) in values.into_iter().zip(&thickness).enumerate() {
            knots.push((s, self.push_input(format!("wall.thickness[{}]", i + 1), q)));
        }
        Some(knots)
    }

    /// A thickness table should reach from end to end of the meridian.
    pub(super) fn check_coverage(&mut self, plan: &Plan, length: f64) {
        let Thickness::Table { knots, .. } = &plan.wall else { return };
        let (Some(first), Some(last)) = (knots.first(), knots.last()) else { return };
        let span = ["wall.arc", "wall.table"].into_iter().find_map(|k| self.draft.span(k)).unwrap_or(0..0);
        if first.0 > 0.02 * length || (last.0 / length - 1.0).abs() > 0.02 {
            let says = format!(
                "thicknesses from {:.3} to {:.3} mm along a meridian of {:.3} mm",
                first.0 * 1e3,
                last.0 * 1e3,
                length * 1e3
            );
            self.draft.warning(span, says).hint = Some(
                "beyond its ends the first and the last thickness go on; what lies past the rim is not used"
                    .to_owned(),
            );
        }
    }
}
