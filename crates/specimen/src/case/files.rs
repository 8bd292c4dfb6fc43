//! The parts of a case that come from CSV files.

use calotte_quantity::Dimension;

use super::build::{Shape, Slot};
use super::finding::{File, Finding};
use super::resolve::{Resolver, falls};
use super::table::{Columns, Wanted, read_columns};
use crate::measured::{FitFailure, MeasuredMeridian, ProfilePoints};

const MOST_POINTS: usize = 5_000;

fn mm(x: f64) -> String {
    calotte_quantity::find_unit("mm", Dimension::Length)
        .map_or_else(String::new, |u| calotte_quantity::show(x, None, u))
}

impl Resolver<'_> {
    pub(super) fn columns(&mut self, path: &str, wanted: &[&'static str]) -> Option<(String, Columns)> {
        let (name, bytes) = self.open(path)?;
        let wanted: Vec<Wanted> = wanted.iter().map(|w| Wanted::length(w)).collect();
        let (columns, found) = read_columns(&name, &bytes, &wanted);
        self.draft.findings.extend(found);
        columns.map(|c| (name, c))
    }

    pub(super) fn table_knots(&mut self) -> Option<Vec<(f64, Slot)>> {
        let (name, columns) = self.columns("wall.table", &["arc", "thickness"])?;
        let file = || File::Other(name.clone());
        let [arc, thickness] = [&columns.values[0], &columns.values[1]];
        let found = &mut self.draft.findings;
        for i in falls(arc) {
            let finding =
                Finding::error(file(), columns.rows[i].clone(), "the arc must increase from row to row");
            found.push(finding.hint("list the rows from the pole to the rim, each place once"));
        }
        for (i, row) in columns.rows.iter().enumerate() {
            if arc[i] < 0.0 {
                found.push(Finding::error(file(), row.clone(), "the arc counts from the pole: 0 or greater"));
            }
            if thickness[i] <= 0.0 {
                found.push(Finding::error(file(), row.clone(), "a thickness must be greater than 0"));
            }
        }
        Some(arc.iter().copied().zip(thickness.iter().map(|h| Slot::Fixed(*h))).collect())
    }

    pub(super) fn measured(&mut self) -> Option<Shape> {
        self.missing("shape.file", "name the CSV file of the profile: `file = \"profile.csv\"`");
        self.missing(
            "shape.position_sd",
            "how far a point may be off, one standard deviation; for a side view about one pixel: `position_sd = \"0.02 mm\"`",
        );
        let hole = self.draft.flag("shape.hole").unwrap_or(false);
        let columns =
            if self.draft.has("shape.file") { self.columns("shape.file", &["r", "z"]) } else { None };
        let scale = self.input("shape.scale").unwrap_or(Slot::Fixed(1.0));
        let position_sd = self.draft.number("shape.position_sd")?.value;
        let (name, mut columns) = columns?;
        if position_sd <= 0.0 {
            return None;
        }
        let points = self.oriented(&name, &mut columns, position_sd, hole)?;
        let curve = match MeasuredMeridian::fit(&points) {
            Ok(curve) => curve,
            Err(failure) => {
                let hint = match failure {
                    FitFailure::TooFewPoints { .. } => "measure more points; thirty or more are good",
                    FitFailure::NoRise { .. } => {
                        "list the points from the pole (or the hole's edge) to the rim"
                    }
                    FitFailure::NotConverged { .. } => "look at the points for outliers and for their order",
                };
                let span = self.draft.span("shape.file").unwrap_or(0..0);
                self.draft.error(span, failure.to_string()).hint = Some(hint.to_owned());
                return None;
            }
        };
        self.judge(&name, &columns, &curve, position_sd);
        Some(Shape::Measured { points, curve: Box::new(curve), scale })
    }

    /// The points as a bowl, from the pole to the rim.
    fn oriented(&mut self, name: &str, c: &mut Columns, sd: f64, hole: bool) -> Option<ProfilePoints> {
        let file = || File::Other(name.to_owned());
        let count = c.rows.len();
        let everything = c.rows.first().map_or(0, |r| r.start)..c.rows.last().map_or(0, |r| r.end);
        if count > MOST_POINTS {
            let says = format!("{count} points; at most {MOST_POINTS} are taken");
            self.draft.findings.push(Finding::error(file(), everything, says).hint("thin them out"));
            return None;
        }
        let widest = c.values[0].iter().fold(0.0, |m: f64, r| m.max(*r));
        if let Some(i) = c.values[0].iter().position(|r| *r < -5.0 * sd) {
            let finding = Finding::error(file(), c.rows[i].clone(), "a negative radius");
            self.draft.findings.push(finding.hint(
                "give one half of the profile, r from the axis; average the two halves if you have both",
            ));
            return None;
        }
        let near_axis = |r: f64| r <= (0.1 * widest).max(3.0 * sd);
        if !hole && !near_axis(c.values[0][0]) && near_axis(c.values[0][count - 1]) {
            c.values.iter_mut().for_each(|v| v.reverse());
            c.rows.reverse();
            self.notes.push(format!("`{name}` runs from rim to pole; its order was turned round"));
        }
        let first = c.values[0][0];
        if !hole && !near_axis(first) {
            let says = format!("the profile starts {} from the axis: its pole is missing", mm(first));
            let finding = Finding::error(file(), c.rows[0].clone(), says);
            self.draft
                .findings
                .push(finding.hint("measure up to the pole; or, if there is a hole, write `hole = true`"));
            return None;
        }
        if hole && first <= 3.0 * sd {
            let says = format!(
                "with hole = true the first point is the hole's edge, and it lies on the axis ({})",
                mm(first)
            );
            self.draft
                .findings
                .push(Finding::error(file(), c.rows[0].clone(), says).hint("write `hole = false`"));
            return None;
        }
        let last = c.values[0][count - 1];
        if hole && last < first {
            let says = format!(
                "the last point, the rim, is nearer to the axis ({}) than the first ({})",
                mm(last),
                mm(first)
            );
            let finding = Finding::warning(file(), c.rows[count - 1].clone(), says);
            self.draft.findings.push(finding.hint("list the points from the hole's edge to the rim"));
        }
        let dome = c.values[1][count - 1] < c.values[1][0];
        if dome {
            self.notes.push(format!("`{name}` shows a dome; it was turned over into a bowl, which is the natural shape all the same"));
        }
        let sign = if dome { -1.0 } else { 1.0 };
        let points = c.values[0].iter().zip(&c.values[1]).map(|(r, z)| [*r, sign * z]).collect();
        Some(ProfilePoints { points, position_sd: sd, hole })
    }

    /// Whether the curve fits as well as the stated sd says.
    fn judge(&mut self, name: &str, c: &Columns, curve: &MeasuredMeridian, sd: f64) {
        let fit = *curve.report();
        let span = self.draft.span("shape.position_sd").unwrap_or(0..0);
        let file = File::Other(name.to_owned());
        self.notes.push(format!(
            "`{name}`: slope spline of {} interval{} through {} points; rms distance {}, largest {}; reduced chi-square {:.2}; slope at the rim {:.3} ± {:.3} deg (1 sd)",
            fit.intervals,
            if fit.intervals == 1 { "" } else { "s" },
            fit.points,
            mm(fit.rms_m),
            mm(fit.largest_m),
            fit.reduced_chi2,
            curve.slope(curve.length()).to_degrees(),
            fit.rim_slope_sd.to_degrees(),
        ));
        if let Some(i) = fit.out_of_order {
            let finding = Finding::error(
                file,
                c.rows[i].clone(),
                "this point lies behind an earlier one along the profile",
            );
            self.draft.findings.push(
                finding.hint("list the points in order, from the pole (or the hole's edge) to the rim"),
            );
            return;
        }
        let says = format!(
            "the smooth curve misses the points by {} rms (largest {}), {:.1} times the stated sd",
            mm(fit.rms_m),
            mm(fit.largest_m),
            fit.reduced_chi2.sqrt()
        );
        if fit.reduced_chi2 > 9.0 {
            self.draft.error(span, says).hint =
                Some("look for outliers and kinks, or state how far the points are really off".to_owned());
        } else if fit.reduced_chi2 > 2.25 {
            self.draft.warning(span, says).hint = Some("the stated sd looks too small".to_owned());
        } else if fit.largest_m > 4.5 * sd {
            let says = format!(
                "this point is {} off the smooth curve, {:.1} times the stated sd",
                mm(fit.largest_m),
                fit.largest_m / sd
            );
            self.draft
                .findings
                .push(Finding::warning(file, c.rows[fit.largest_at].clone(), says).hint("an outlier?"));
        }
    }
}
