//! The wall of a case: one thickness, a list, or a table.

use super::build::{Plan, Slot, Surface, Thickness};
use super::draft::Value;
use super::keys::Range;
use super::layers::LayersPlan;
use super::resolve::{Resolver, falls};

impl Resolver<'_> {
    pub(super) fn wall(&mut self, surface: Surface, layers: Option<&LayersPlan>) -> Option<Thickness> {
        if let Some(wall) = self.wall_of_layers(layers) {
            return Some(wall);
        }
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
        let pieces = self.pieces().filter(|_| listed && !uniform && !self.draft.has("wall.arc"));
        self.check_pieces_only(pieces.is_some());
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
        // Through corners that is said of the shape.
        if surface != Surface::Mid && self.draft.text("shape.kind") != Some("corners") {
            let span = self.draft.span("shape.surface").unwrap_or(0..0);
            let says = "with a varying wall the sizes must belong to the mid-surface";
            self.draft.error(span, says).hint = Some(
                "set surface = \"mid\" and give mid-surface sizes: the mean of the inner and the outer ones; or give one thickness".to_owned(),
            );
        }
        if let Some(pieces) = pieces {
            return self.by_pieces(pieces);
        }
        let knots = if table { self.table_knots() } else { self.listed_knots() }?;
        let offset = self.input("wall.offset").unwrap_or(Slot::Fixed(0.0));
        Some(Thickness::Table { knots, offset })
    }

    /// `thickness_end` goes with one thickness for each piece.
    fn check_pieces_only(&mut self, by_pieces: bool) {
        let Some(field) = self.draft.fields.get("wall.thickness_end").filter(|_| !by_pieces) else { return };
        let span = field.key_span.clone();
        self.draft
            .error(
                span,
                "`thickness_end` goes with a list of thicknesses, one for each piece between corners",
            )
            .hint = Some("give shape kind = \"corners\" and `thickness` as a list without `arc`".to_owned());
    }

    fn by_pieces(&mut self, pieces: usize) -> Option<Thickness> {
        let start = self.draft.numbers("wall.thickness")?.to_vec();
        let end = self.draft.numbers("wall.thickness_end").map(<[_]>::to_vec);
        if self.is_wrong("wall.thickness_end") {
            return None;
        }
        let mut fits = self.of_length("wall.thickness", start.len(), pieces, "thicknesses", "pieces");
        if let Some(end) = &end {
            fits &= self.of_length("wall.thickness_end", end.len(), pieces, "thicknesses", "pieces");
        }
        if !fits {
            return None;
        }
        let mut ends = Vec::with_capacity(pieces);
        for (i, (q, _)) in start.iter().enumerate() {
            let one = self.push_input(format!("wall.thickness[{}]", i + 1), q);
            let other = match &end {
                Some(end) => self.push_input(format!("wall.thickness_end[{}]", i + 1), &end[i].0),
                None => one,
            };
            ends.push([one, other]);
        }
        let offset = self.input("wall.offset").unwrap_or(Slot::Fixed(0.0));
        Some(Thickness::Pieces { ends, offset })
    }

    /// Pieces (from 0) that are as good as rigid; `None` when what is written is wrong and said.
    pub(super) fn rigid(&mut self) -> Option<Vec<usize>> {
        let Some(field) = self.draft.fields.get("wall.rigid") else { return Some(Vec::new()) };
        let key_span = field.key_span.clone();
        let listed = match &field.value {
            Value::Numbers(all) => all.clone(),
            Value::Number(q) => vec![(q.clone(), field.span.clone())],
            _ => return None,
        };
        if self.draft.text("shape.kind").is_some_and(|k| k != "corners") {
            self.draft.error(key_span, "`rigid` goes with shape kind = \"corners\"").hint =
                Some("it numbers the pieces between corners".to_owned());
            return None;
        }
        let pieces = self.pieces()?;
        let mut out: Vec<usize> = Vec::new();
        let mut sound = true;
        for (q, span) in listed {
            if q.half_width.is_some() {
                self.draft
                    .warning(span.clone(), format!("the tolerance of a count is not used (`{}`)", q.text));
            }
            if !Range::Ordinal.allows(q.value) {
                return None; // said with all numbers out of their range
            }
            // Checked to be a whole number.
            let piece = q.value as usize;
            if piece > pieces {
                let noun = if pieces == 1 { "piece" } else { "pieces" };
                self.draft
                    .error(span, format!("there is no piece {piece}: the corners make {pieces} {noun}"))
                    .hint = Some("pieces are counted from 1 at the inner end".to_owned());
                sound = false;
            } else if out.contains(&(piece - 1)) {
                self.draft.error(span, format!("piece {piece} is listed twice")).hint =
                    Some("remove one of them".to_owned());
                sound = false;
            } else {
                out.push(piece - 1);
            }
        }
        if sound && out.len() == pieces {
            self.draft.error(key_span, "every piece is rigid: nothing is left that bends").hint =
                Some("leave out the pieces that bend".to_owned());
            return None;
        }
        out.sort_unstable();
        sound.then_some(out)
    }

    fn listed_knots(&mut self) -> Option<Vec<(f64, Slot)>> {
        let thickness = self.draft.numbers("wall.thickness")?.to_vec();
        if !self.draft.has("wall.arc") {
            if self.draft.text("shape.kind") == Some("corners") {
                return None; // the corners themselves are missing or wrong, and said
            }
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
        let places: Vec<std::ops::Range<usize>> = arc.iter().map(|a| a.1.clone()).collect();
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
