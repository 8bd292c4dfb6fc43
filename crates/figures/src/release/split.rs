//! A time axis in pieces: seconds of waiting, milliseconds of snap and the ringing after it side by side, each
//! with ticks and a unit of its own, under one vertical axis.

use calotte_answers::release::report::ReleaseReport;

use super::time::{Phase, TimeUnit, snap, usable};
use crate::axis::{Axis, Frame};
use crate::ink::{self, Pen};
use crate::place::Rect;
use crate::svg::{Anchor, Point, Svg};
use crate::text::text_width;
use crate::thin::{VISIBLE, clip, thin};

/// Room between panels.
const GAP: f64 = 20.0;
/// A panel is split off when the rest is longer than this many times its length.
const MUCH_LONGER: f64 = 3.0;
/// Time shown before the snap begins and after it ends, in snap times.
const BEFORE: f64 = 1.2;
const AFTER: f64 = 0.8;
/// Whole periods of ringing that can be told apart in a panel.
const PERIODS: f64 = 14.0;
/// Width of the columns into which dense curves are gathered.
const COLUMN: f64 = 0.7;
/// Height of the strip with the names of the phases.
pub(crate) const STRIP: f64 = 18.0;

/// A stretch of time that is drawn at one scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Leg {
    pub(crate) from: f64,
    pub(crate) to: f64,
    /// Time that counts as 0 on its axis: letting go, or half-way.
    pub(crate) origin: f64,
}

/// The legs into which `first..last` is cut.
pub(crate) fn legs(report: &ReleaseReport, first: f64, last: f64) -> Vec<Leg> {
    let ringing = report.ringing.filter(|r| usable(r.from_s) && usable(r.to_s) && r.frequency_Hz > 0.0);
    let told_apart = |from: f64| ringing.map(|r| r.to_s.min(from + PERIODS / r.frequency_Hz));
    let mut cuts = Vec::new();
    let mut zero = (f64::INFINITY, 0.0);
    let mut rest = first;
    if let Some(s) = snap(report) {
        let begin = s.wait_s - BEFORE * s.snap_time_s;
        let end = s.end_s + AFTER * s.snap_time_s;
        if begin - first > MUCH_LONGER * (end - begin) {
            cuts.push(begin);
            zero = (begin, s.halfway_s);
        }
        let start = cuts.last().copied().unwrap_or(first);
        if last - end > 1.5 * (end - start) {
            cuts.push(end);
            rest = end;
        } else {
            rest = last;
        }
    }
    if let Some(to) = told_apart(rest).filter(|to| *to > rest && last - to > MUCH_LONGER * (to - rest)) {
        cuts.push(to);
    }
    cuts.retain(|c| *c > first && *c < last);
    let mut ends = cuts.clone();
    ends.push(last);
    std::iter::once(first)
        .chain(cuts)
        .zip(ends)
        .filter(|(a, b)| b > a)
        .map(|(from, to)| Leg { from, to, origin: if from >= zero.0 { zero.1 } else { 0.0 } })
        .collect()
}

/// A leg's place on the page.
#[derive(Clone, Debug)]
pub(crate) struct Panel {
    pub(crate) leg: Leg,
    pub(crate) unit: TimeUnit,
    pub(crate) left: f64,
    pub(crate) right: f64,
}

impl Panel {
    /// Page x of a time.
    pub(crate) fn x(&self, time: f64) -> f64 {
        self.left + (time - self.leg.from) / (self.leg.to - self.leg.from) * (self.right - self.left)
    }

    /// Time of a page x.
    #[cfg(test)]
    fn time(&self, x: f64) -> f64 {
        self.leg.from + (x - self.left) / (self.right - self.left) * (self.leg.to - self.leg.from)
    }

    fn axis(&self) -> Axis {
        let shown = |t: f64| (t - self.leg.origin) * self.unit.per_s;
        let wanted = ((self.right - self.left) / 44.0).max(2.0);
        let mut axis = Axis::covering(shown(self.leg.from), shown(self.leg.to), wanted);
        (axis.low, axis.high) = (shown(self.leg.from), shown(self.leg.to));
        axis
    }

    fn from(&self) -> &'static str {
        if self.leg.origin == 0.0 { "letting go" } else { "half-way" }
    }

    /// The title in full, as the data have it.
    fn whole_title(&self) -> String {
        format!("time from {} ({})", self.from(), self.unit.name)
    }

    /// The longest title for which there is room.
    fn title(&self) -> String {
        let room = self.right - self.left + GAP - 6.0;
        let name = self.unit.name;
        let long = [self.whole_title(), format!("from {} ({name})", self.from())];
        long.into_iter().find(|t| text_width(t, ink::LABEL) < room).unwrap_or_else(|| format!("({name})"))
    }
}

/// Panels side by side under one vertical axis.
pub(crate) struct Split {
    pub(crate) panels: Vec<Panel>,
    pub(crate) top: f64,
    pub(crate) bottom: f64,
    pub(crate) up: Axis,
}

impl Split {
    /// Lays out the legs between `left` and `right`; rows (time, value) decide how wide each is: the more the value
    /// moves about in a leg, the wider.
    pub(crate) fn new(
        legs: &[Leg],
        rows: &[(f64, f64)],
        sides: (f64, f64),
        heights: (f64, f64),
        up: Axis,
    ) -> Self {
        let (low, high) =
            rows.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), r| (a.min(r.1), b.max(r.1)));
        let range = if high > low { high - low } else { 1.0 };
        let weights: Vec<f64> = legs
            .iter()
            .map(|leg| {
                let inside = |t: f64| t >= leg.from && t <= leg.to;
                let moved: f64 = rows
                    .windows(2)
                    .filter(|w| inside(w[0].0) && inside(w[1].0))
                    .map(|w| (w[1].1 - w[0].1).abs())
                    .sum();
                1.0 + 0.5 * (moved / range).min(2.0)
            })
            .collect();
        let total: f64 = weights.iter().sum();
        let room = sides.1 - sides.0 - GAP * legs.len().saturating_sub(1) as f64;
        let mut x = sides.0;
        let panels = legs
            .iter()
            .zip(&weights)
            .map(|(&leg, weight)| {
                let wide = room * weight / total;
                let far = (leg.from - leg.origin).abs().max((leg.to - leg.origin).abs());
                let panel = Panel { leg, unit: TimeUnit::suiting(far), left: x, right: x + wide };
                x += wide + GAP;
                panel
            })
            .collect();
        Self { panels, top: heights.0, bottom: heights.1, up }
    }

    /// Page y of a value.
    pub(crate) fn y(&self, value: f64) -> f64 {
        self.bottom - self.up.share(value) * (self.bottom - self.top)
    }

    /// Page place of a time and a value; `None` outside the panels.
    pub(crate) fn page(&self, time: f64, value: f64) -> Option<Point> {
        let panel = self.panels.iter().find(|p| time >= p.leg.from && time <= p.leg.to)?;
        Some((panel.x(time), self.y(value)))
    }

    /// Left and right end of all panels.
    pub(crate) fn sides(&self) -> (f64, f64) {
        let ends = |f: fn(&Panel) -> f64, p: Option<&Panel>| p.map_or(0.0, f);
        (ends(|p| p.left, self.panels.first()), ends(|p| p.right, self.panels.last()))
    }

    /// A curve as it is seen in each panel.
    pub(crate) fn curves(&self, rows: &[(f64, f64)]) -> Vec<Vec<Point>> {
        let mut out = Vec::new();
        for panel in &self.panels {
            let window = Rect {
                left: panel.left,
                top: self.top - 0.01,
                right: panel.right,
                bottom: self.bottom + 0.01,
            };
            let points: Vec<Point> = rows.iter().map(|r| (panel.x(r.0), self.y(r.1))).collect();
            for piece in clip(&points, &window) {
                out.push(thin(&gathered(&piece), VISIBLE));
            }
        }
        out
    }

    /// Light grounds of the phases and their names in a strip above the panels, where there is room for them.
    pub(crate) fn phases(&self, svg: &mut Svg, phases: &[Phase]) {
        svg.open("phases");
        for phase in phases {
            let mut widest: Option<(f64, f64)> = None;
            for panel in &self.panels {
                let (a, b) = (phase.from.max(panel.leg.from), phase.to.min(panel.leg.to));
                if b <= a {
                    continue;
                }
                let (x0, x1) = (panel.x(a), panel.x(b));
                let size = (x1 - x0, self.bottom - self.top + STRIP);
                svg.rectangle("phase", (x0, self.top - STRIP), size, phase.tint);
                if widest.is_none_or(|w| w.1 - w.0 < x1 - x0) {
                    widest = Some((x0, x1));
                }
            }
            let Some((x0, x1)) = widest.filter(|w| w.1 - w.0 > text_width(phase.name, ink::LABEL) + 4.0)
            else {
                continue;
            };
            let at = ((x0 + x1) / 2.0, self.top - 5.0);
            svg.text_on_colour("phase-name", at, ink::LABEL, Anchor::Middle, ink::INK, phase.name);
        }
        svg.close();
    }

    /// Boxes, ticks, numbers, titles, and the marks where the axis is broken.
    pub(crate) fn draw(&self, svg: &mut Svg, up_title: &str) {
        let thin_pen = Pen::solid(ink::GREY, 0.6);
        let dark = Pen::solid(ink::INK, 1.0);
        for panel in &self.panels {
            let (left, right, top, bottom) = (panel.left, panel.right, self.top, self.bottom);
            let frame = Frame { left, right, top, bottom, across: panel.axis(), up: self.up.clone() };
            svg.record.frame(&frame, &panel.whole_title(), up_title);
        }
        svg.open("axes");
        for (i, panel) in self.panels.iter().enumerate() {
            svg.line("frame", (panel.left, self.top), (panel.right, self.top), thin_pen);
            svg.line("frame", (panel.left, self.bottom), (panel.right, self.bottom), dark);
            let (first, last) = (i == 0, i + 1 == self.panels.len());
            let side = |own: bool| if own { dark } else { thin_pen };
            svg.line("frame", (panel.left, self.top), (panel.left, self.bottom), side(first));
            svg.line("frame", (panel.right, self.top), (panel.right, self.bottom), thin_pen);
            for (x, broken) in [(panel.left, !first), (panel.right, !last)] {
                if broken {
                    svg.line("break", (x - 3.0, self.bottom + 5.0), (x + 3.0, self.bottom - 5.0), dark);
                }
            }
            let axis = panel.axis();
            for (value, major) in axis.ticks_along(panel.right - panel.left) {
                let x = panel.left + axis.share(value) * (panel.right - panel.left);
                let long = if major { 6.0 } else { 3.0 };
                svg.line("tick", (x, self.bottom), (x, self.bottom + long), dark);
                let label = axis.label(value);
                let half = text_width(&label, ink::TICK) / 2.0;
                // A number beyond its panel's end would meet the neighbour's.
                let inside = x - half > panel.left - 0.4 * GAP && x + half < panel.right + 0.4 * GAP;
                if major && inside {
                    let at = (x, self.bottom + 17.5);
                    svg.text("number", at, ink::TICK, Anchor::Middle, ink::INK, &label);
                }
            }
            let at = ((panel.left + panel.right) / 2.0, self.bottom + 34.0);
            svg.text("axis-title", at, ink::LABEL, Anchor::Middle, ink::INK, &panel.title());
        }
        let (left, _) = self.sides();
        for (value, major) in self.up.ticks() {
            let y = self.y(value);
            let long = if major { 6.0 } else { 3.0 };
            svg.line("tick", (left - long, y), (left, y), dark);
            if major {
                let at = (left - 9.0, y + 3.6);
                svg.text("number", at, ink::TICK, Anchor::End, ink::INK, &self.up.label(value));
            }
        }
        let at = (left - Frame::room_left(&self.up) + 12.0, (self.top + self.bottom) / 2.0);
        svg.text_upright("axis-title", at, ink::LABEL, Anchor::Middle, ink::INK, up_title);
        svg.close();
    }
}

/// Points of a curve so dense that several share a column: the first, the extremes and the last of each column.
fn gathered(points: &[Point]) -> Vec<Point> {
    let mut out: Vec<Point> = Vec::new();
    let column = |p: &Point| (p.0 / COLUMN).floor();
    for group in points.chunk_by(|a, b| column(a) == column(b)) {
        if group.len() <= 4 {
            out.extend_from_slice(group);
            continue;
        }
        let extreme = |sign: f64| {
            (0..group.len()).max_by(|&i, &j| (sign * group[i].1).total_cmp(&(sign * group[j].1))).unwrap_or(0)
        };
        let mut keep = [0, extreme(1.0), extreme(-1.0), group.len() - 1];
        keep.sort_unstable();
        out.extend(keep.iter().map(|&i| group[i]));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dense_curves_keep_their_extremes() {
        let wave: Vec<Point> = (0..20_000)
            .map(|i| (f64::from(i) * 0.01, 50.0 + 40.0 * libm::sin(f64::from(i) * 0.37)))
            .collect();
        let few = gathered(&wave);
        assert!(few.len() < 1300, "{}", few.len());
        let top = |p: &[Point]| p.iter().map(|p| p.1).fold(0.0, f64::max);
        assert_eq!(top(&few), top(&wave));
    }

    #[test]
    fn a_leg_moved_through_more_is_wider_and_times_come_back() {
        let legs = [Leg { from: 0.0, to: 10.0, origin: 0.0 }, Leg { from: 10.0, to: 10.01, origin: 10.005 }];
        let rows = [(0.0, 5.0), (10.0, 4.0), (10.01, -5.0)];
        let split = Split::new(&legs, &rows, (50.0, 650.0), (20.0, 300.0), Axis::covering(-6.0, 6.0, 5.0));
        let wide = |i: usize| split.panels[i].right - split.panels[i].left;
        assert!(wide(1) > 1.2 * wide(0) && (wide(0) + wide(1) + GAP - 600.0).abs() < 1e-9);
        assert_eq!((split.panels[0].unit.name, split.panels[1].unit.name), ("s", "ms"));
        let p = &split.panels[1];
        assert!((p.time(p.x(10.004)) - 10.004).abs() < 1e-9);
        assert!(split.page(10.02, 0.0).is_none());
    }
}
