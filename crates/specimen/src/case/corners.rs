//! Shapes through corners: the lists of the case file, and from their numbers to a meridian.

use super::build::{Shape, Slot, Surface};
use super::draft::Value;
use super::impossible::{Impossible, mm};
use super::resolve::Resolver;
use crate::{Corner, Corners, CornersFault};

/// How corners are rounded.
#[derive(Clone, Debug)]
pub(super) enum Fillets {
    /// One radius for every corner between the ends.
    All(Slot),
    /// One for each corner.
    Each(Vec<Slot>),
}

/// The lists without their numbers.
#[derive(Clone, Debug)]
pub(super) struct CornersPlan {
    pub(super) r: Vec<Slot>,
    pub(super) z: Vec<Slot>,
    pub(super) fillets: Fillets,
    /// One for each piece; that of an arc from a pole tells its sign alone, see [`CornersPlan::corners`].
    pub(super) arc: Vec<Slot>,
    /// Drawn as a dome: turned over.
    pub(super) turned: bool,
}

/// Most corners of a shape.
const MOST_CORNERS: usize = 200;
/// How far the stated radius of an arc from a pole may be off the one that leaves the axis square.
const CROWN_OFF: f64 = 0.02;

/// Radius (m) of the arc that leaves the axis square and reaches `dr` outwards and `dz` up or down: (dr² + dz²)/2|dz|, signed as
/// dz; infinite when it stays level.
fn crown_radius(dr: f64, dz: f64) -> f64 {
    if dz == 0.0 { f64::INFINITY } else { 0.5 * (dr * dr + dz * dz) / dz }
}

impl CornersPlan {
    /// The meridian with these input values and every height times `depth`, the inner end at height 0. Roundings and arcs keep
    /// their radii, but for an arc from a pole: its radius follows from its end, so that it leaves the axis square whatever
    /// number is changed.
    pub(super) fn corners(&self, values: &[f64], depth: f64) -> Result<Corners, Impossible> {
        let count = self.r.len();
        let sign = if self.turned { -1.0 } else { 1.0 };
        let r: Vec<f64> = self.r.iter().map(|s| s.of(values)).collect();
        let first = self.z[0].of(values);
        let z: Vec<f64> = self.z.iter().map(|s| sign * depth * (s.of(values) - first)).collect();
        let rounding = |i: usize| match &self.fillets {
            Fillets::All(_) if i == 0 || i + 1 == count => 0.0,
            Fillets::All(slot) => slot.of(values),
            Fillets::Each(slots) => slots[i].of(values),
        };
        let mut all = Vec::with_capacity(count);
        for i in 0..count {
            let arc = match self.arc.get(i).map(|slot| slot.of(values)) {
                Some(arc) if i == 0 && r[0] == 0.0 && arc != 0.0 => {
                    let radius = crown_radius(r[1], z[1] - z[0]);
                    if !radius.is_finite() {
                        return Err(self.fault(CornersFault::PoleSlope { slope: 0.0 }));
                    }
                    radius
                }
                Some(arc) => sign * arc,
                None => 0.0,
            };
            all.push(Corner { r: r[i], z: z[i], fillet: rounding(i), arc });
        }
        Corners::new(&all).map_err(|fault| self.fault(fault))
    }

    fn fault(&self, fault: CornersFault) -> Impossible {
        let key = fault.key(matches!(self.fillets, Fillets::All(_)));
        Impossible::Corners { fault, key }
    }
}

impl Resolver<'_> {
    /// Number of pieces of a shape through corners; `None` for another kind, or when the list is not there.
    pub(super) fn pieces(&self) -> Option<usize> {
        if self.draft.text("shape.kind") != Some("corners") {
            return None;
        }
        self.draft.numbers("shape.r")?.len().checked_sub(1).filter(|n| *n > 0)
    }

    pub(super) fn corners(&mut self, surface: Surface) -> Option<Shape> {
        if surface != Surface::Mid {
            let span = self.draft.span("shape.surface").unwrap_or(0..0);
            self.draft.error(span, "corners must belong to the mid-surface").hint =
                Some("set surface = \"mid\" and give the corners of the middle of the wall".to_owned());
        }
        self.missing(
            "shape.r",
            "list the corners' distances from the axis, from the inner end to the rim: `r = [\"0 mm\", \"8 mm\", \"10 mm\"]`",
        );
        self.missing("shape.z", "list the corners' heights: `z = [\"0 mm\", \"0 mm\", \"4 mm\"]`");
        let lists = ["shape.r", "shape.z"].map(|p| self.draft.numbers(p).map(<[_]>::to_vec));
        let [Some(r), Some(z)] = lists else { return None };
        if r.len() < 2 {
            let span = self.draft.span("shape.r").unwrap_or(0..0);
            self.draft.error(span, CornersFault::TooFew.to_string()).hint =
                Some(CornersFault::TooFew.hint().to_owned());
            return None;
        }
        let count = r.len();
        if count > MOST_CORNERS {
            let span = self.draft.span("shape.r").unwrap_or(0..0);
            self.draft.error(span, format!("{count} corners; at most {MOST_CORNERS} are taken")).hint =
                Some("a measured profile goes into a file, with kind = \"meridian\"".to_owned());
            return None;
        }
        let mut fits = self.of_length("shape.z", z.len(), count, "heights", "corners");
        if let Some(all) = self.draft.numbers("shape.fillet").map(<[_]>::len) {
            fits &= self.of_length("shape.fillet", all, count, "roundings", "corners");
        }
        if let Some(all) = self.draft.numbers("shape.arc").map(<[_]>::len) {
            fits &= self.of_length("shape.arc", all, count - 1, "arcs", "pieces");
        }
        if !fits || self.is_wrong("shape.fillet") || self.is_wrong("shape.arc") {
            return None;
        }
        let pole = r[0].0.value == 0.0;
        let crown = pole && self.draft.numbers("shape.arc").is_some_and(|a| a[0].0.value != 0.0);
        let level = pole && !crown && z[0].0.value == z[1].0.value;
        // A pole stays a pole whatever number is changed, and the meridian leaves it square.
        if pole {
            self.unused_tolerance("shape.r[1]", &r[0].0, "of a pole");
        }
        if level {
            self.unused_tolerance("shape.z[1]", &z[0].0, "of a level first piece's inner end");
        }
        let r: Vec<Slot> =
            r.iter().enumerate().map(|(i, (q, _))| self.entry("shape.r", i, q, pole)).collect();
        let mut z: Vec<Slot> =
            z.iter().enumerate().map(|(i, (q, _))| self.entry("shape.z", i, q, level)).collect();
        if level {
            z[0] = z[1];
        }
        let fillets = self.fillets(count)?;
        let arc = self.arcs(count - 1, crown);
        let value = |r: &Self, s: Slot| s.of(&r.values());
        let (inner, rim) = (value(self, z[0]), value(self, z[count - 1]));
        let turned = rim < inner;
        if turned {
            self.notes.push(
                "the corners show a dome; it was turned over into a bowl, which is the natural shape all the same"
                    .to_owned(),
            );
        }
        let widths = [value(self, r[0]), value(self, r[count - 1])];
        if widths[1] < widths[0] {
            let says = format!(
                "the last corner, the rim, is nearer to the axis ({}) than the first ({})",
                mm(widths[1]),
                mm(widths[0])
            );
            let span = self.draft.span(&format!("shape.r[{count}]")).unwrap_or(0..0);
            self.draft.warning(span, says).hint =
                Some("list the corners from the inner end to the rim".to_owned());
        }
        if crown {
            let (dr, dz) = (value(self, r[1]), value(self, z[1]) - value(self, z[0]));
            self.judge_crown(crown_radius(dr, dz), value(self, arc[0]));
        }
        Some(Shape::Corners(CornersPlan { r, z, fillets, arc, turned }))
    }

    /// Whether a list is as long as another; said when it is not.
    pub(super) fn of_length(&mut self, path: &str, len: usize, wanted: usize, what: &str, of: &str) -> bool {
        if len == wanted {
            return true;
        }
        let span = self.draft.span(path).unwrap_or(0..0);
        self.draft.error(span, format!("{len} {what} for {wanted} {of}")).hint =
            Some(format!("one for each of the {wanted} {of}"));
        false
    }

    /// Whether a key is written, but not as it should be; its finding is made.
    pub(super) fn is_wrong(&self, path: &str) -> bool {
        self.draft.fields.get(path).is_some_and(|f| matches!(f.value, Value::Wrong))
    }

    pub(super) fn unused_tolerance(&mut self, path: &str, q: &calotte_quantity::Quantity, of: &str) {
        if q.half_width.is_some() {
            let span = self.draft.span(path).unwrap_or(0..0);
            self.draft.warning(span, format!("the tolerance {of} is not used (`{}`)", q.text));
        }
    }

    /// Entry `i` (from 0) of a list as an input; the first one as it stands when `fixed`.
    fn entry(&mut self, list: &str, i: usize, q: &calotte_quantity::Quantity, fixed: bool) -> Slot {
        if fixed && i == 0 { Slot::Fixed(q.value) } else { self.push_input(format!("{list}[{}]", i + 1), q) }
    }

    fn fillets(&mut self, count: usize) -> Option<Fillets> {
        let Some(each) = self.draft.numbers("shape.fillet").map(<[_]>::to_vec) else {
            return Some(Fillets::All(self.input("shape.fillet").unwrap_or(Slot::Fixed(0.0))));
        };
        let mut sound = true;
        for end in [0, count - 1] {
            if each[end].0.value != 0.0 {
                self.draft.error(each[end].1.clone(), "an end of the meridian cannot be rounded").hint =
                    Some("write 0 for the first and the last corner: `\"0 mm\"`".to_owned());
                sound = false;
            }
        }
        let slot = |r: &mut Self, i: usize, q| match i == 0 || i + 1 == count {
            true => Slot::Fixed(0.0),
            false => r.push_input(format!("shape.fillet[{}]", i + 1), q),
        };
        let slots = each.iter().enumerate().map(|(i, (q, _))| slot(self, i, q)).collect();
        sound.then_some(Fillets::Each(slots))
    }

    fn arcs(&mut self, pieces: usize, crown: bool) -> Vec<Slot> {
        let Some(all) = self.draft.numbers("shape.arc").map(<[_]>::to_vec) else {
            return vec![Slot::Fixed(0.0); pieces];
        };
        if crown {
            self.unused_tolerance("shape.arc[1]", &all[0].0, "of an arc that its end and the pole fix");
        }
        // A straight piece stays straight: a radius of 0 is no number to vary.
        let slot = |r: &mut Self, i: usize, q: &calotte_quantity::Quantity| match q.value == 0.0 {
            true => Slot::Fixed(0.0),
            false => r.entry("shape.arc", i, q, crown),
        };
        all.iter().enumerate().map(|(i, (q, _))| slot(self, i, q)).collect()
    }

    /// An arc from a pole must be the one that leaves the axis square, to the digits that people write.
    fn judge_crown(&mut self, square: f64, stated: f64) {
        if square.is_finite() && (stated / square - 1.0).abs() <= CROWN_OFF {
            return;
        }
        let span = self.draft.span("shape.arc[1]").unwrap_or(0..0);
        let (says, hint) = match square.is_finite() {
            true => (
                format!("an arc of radius {} from the pole does not leave the axis square", mm(stated)),
                format!("to this second corner the radius is {}", mm(square)),
            ),
            false => (
                "an arc from the pole must rise or fall".to_owned(),
                "give the second corner another height, or make the piece straight with 0".to_owned(),
            ),
        };
        self.draft.error(span, says).hint = Some(hint);
    }
}
