//! Wrap strips at true scale: paper that lies round a ball so that one edge marks a circle of it.
//!
//! The strip touches the ball along the circle of colatitude α (from the pole of the slice): it is part of the cone that touches there,
//! laid flat. On a ball of outer radius R the cone's slant length to the circle is l = R |tan α|, its flat sector spans 2π |cos α|, and
//! the marking edge is as long as the circle, 2π R sin α (closed form). Below the equator the cone opens the other way. The strip lies
//! on the side away from the slice, so that the edge can be traced from above. Paper of thickness t lies with its middle at R + t/2.

use std::f64::consts::{FRAC_PI_2, PI, TAU};

use crate::sketch::{Anchor, Layer, Paper, Sketch};

/// A strip as it is printed; lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Strip {
    /// Length of the marking edge, all pieces together.
    pub length: f64,
    /// Its radius when flat; infinite for a straight strip.
    pub radius: f64,
    /// Angle that it spans when flat, rad; 0 for a straight strip.
    pub span: f64,
    /// Width.
    pub wide: f64,
    /// Whether the marking edge is the inner arc.
    pub inner: bool,
    /// Pieces that it is printed in.
    pub pieces: usize,
    /// What one piece takes on paper, the tab included.
    pub room: [f64; 2],
}

/// Most pieces of a strip.
pub const MOST_PIECES: usize = 12;
/// Length of the tab on which pieces overlap, mm.
pub const TAB: f64 = 8.0;
/// Height that a page keeps for its heading and the calibration bars, mm.
const RESERVED: f64 = 80.0;
/// A piece is drawn straight where its arc leaves the chord by less than this, mm: finer than any printer.
const STRAIGHT: f64 = 5e-3;

/// Why a strip does not fit.
#[derive(Clone, Debug, PartialEq)]
pub struct TooLong {
    /// What is wrong.
    pub says: String,
    /// What would work.
    pub help: String,
}

/// Flat geometry of a strip round the circle of colatitude `angle` (rad) of a ball of radius `radius` (mm, to the middle of the paper).
fn cone(radius: f64, angle: f64) -> (f64, f64, f64) {
    let length = TAU * radius * libm::sin(angle);
    let slant = radius * libm::tan(angle).abs();
    let span = if slant.is_finite() { length / slant } else { 0.0 };
    (length, slant, span)
}

/// Box of a piece of an arc: width and height of the annular sector of angle `span` that stands with its middle upright.
fn sector(inner: f64, outer: f64, span: f64) -> [f64; 2] {
    let half = 0.5 * span;
    let wide = 2.0 * outer * if half < FRAC_PI_2 { libm::sin(half) } else { 1.0 };
    let low = if half < FRAC_PI_2 { inner * libm::cos(half) } else { outer * libm::cos(half) };
    [wide, outer - low]
}

/// The strip for a slice of half-angle `angle` (rad, on the outer surface) of a ball of outer radius `radius` (mm), on paper of thickness
/// `thick` (mm), in as few pieces as fit, or in `pieces`.
///
/// # Errors
/// [`TooLong`] with what would work.
pub fn strip(
    radius: f64,
    angle: f64,
    wide: f64,
    thick: f64,
    paper: &Paper,
    pieces: Option<usize>,
) -> Result<Strip, TooLong> {
    let (length, slant, full) = cone(radius + 0.5 * thick, angle);
    let inner = angle <= FRAC_PI_2;
    // Beyond the equator the strip reaches towards the apex, and may not reach past it.
    let wide = if inner { wide } else { wide.min(0.6 * slant) };
    let of = |pieces: usize| {
        let part = length / pieces as f64;
        let (mark, span) = (slant, (part + TAB) / slant);
        if full == 0.0 || part * span / 8.0 < STRAIGHT {
            return ([part + TAB, wide], 0.0);
        }
        let (a, b) = if inner { (mark, mark + wide) } else { (mark - wide, mark) };
        (sector(a, b, span.min(TAU)), full)
    };
    let room = paper.room();
    let fits = |n: usize| {
        let b = of(n).0;
        b[0] <= room[0] && b[1] + RESERVED <= room[1]
    };
    let least = (1..=MOST_PIECES).find(|n| fits(*n));
    let says = |n: usize| {
        let b = of(n).0;
        format!(
            "the strip for half-angle {:.1}° is {length:.1} mm long; in {n} {} it takes {:.0} mm by {:.0} mm, and {} paper has {:.0} mm by {:.0} mm within its margins",
            angle.to_degrees(),
            if n == 1 { "piece" } else { "pieces" },
            b[0],
            b[1] + RESERVED,
            paper.name,
            room[0],
            room[1]
        )
    };
    let larger = Paper::ALL.iter().find(|p| {
        let r = p.room();
        let b = of(pieces.unwrap_or(MOST_PIECES)).0;
        b[0] <= r[0] && b[1] + RESERVED <= r[1]
    });
    let or_paper = larger.map_or(String::new(), |p| format!("`--paper {}`", p.name));
    let n = match (pieces, least) {
        (Some(n), _) if (1..=MOST_PIECES).contains(&n) && fits(n) => n,
        (Some(n), _) if !(1..=MOST_PIECES).contains(&n) => {
            return Err(TooLong {
                says: format!("a strip in {n} pieces cannot be made"),
                help: format!("1 to {MOST_PIECES} pieces can"),
            });
        }
        (Some(n), Some(least)) => {
            let or = if or_paper.is_empty() { String::new() } else { format!(" or {or_paper}") };
            return Err(TooLong { says: says(n), help: format!("`--strip-pieces {least}`{or} would do") });
        }
        (None, Some(least)) => least,
        (_, None) => {
            let help = if or_paper.is_empty() {
                "scribe it from the ring stand, or give a smaller ball".to_owned()
            } else {
                format!("{or_paper} would do")
            };
            return Err(TooLong { says: says(pieces.unwrap_or(MOST_PIECES)), help });
        }
    };
    let (box_of, span) = of(n);
    Ok(Strip {
        length,
        radius: if span == 0.0 { f64::INFINITY } else { slant },
        span,
        wide,
        inner,
        pieces: n,
        room: box_of,
    })
}

impl Strip {
    /// Length of one piece without its tab.
    pub fn piece(&self) -> f64 {
        self.length / self.pieces as f64
    }

    /// One piece (from 0), its box's lower left corner at the origin: the marking edge on [`Layer::Cut`], the other edges on
    /// [`Layer::Words`], the tab on [`Layer::Fold`], marks every 30° round the axis.
    pub fn draw(&self, piece: usize, label: &str) -> Sketch {
        let mut s = Sketch::default();
        let (part, tab) = (self.piece(), TAB);
        // Places by arclength from the beginning of the piece and height from the marking edge, away from the slice.
        let total = part + tab;
        let at: Box<dyn Fn(f64, f64) -> [f64; 2]> = if self.radius.is_infinite() {
            let wide = self.wide;
            Box::new(move |x, y| [x, wide - y])
        } else {
            let (radius, inner, wide, room) = (self.radius, self.inner, self.wide, self.room);
            let span = total / radius;
            Box::new(move |x, y| {
                // The middle of the piece is the highest place; the apex lies below. Inner arcs mark from below.
                let angle = FRAC_PI_2 + 0.5 * span - x / radius;
                let r = if inner { radius + y } else { radius - y };
                let outer = if inner { radius + wide } else { radius };
                let (sin, cos) = libm::sincos(angle);
                [0.5 * room[0] + r * cos, room[1] - outer + r * sin]
            })
        };
        let edge = |s: &mut Sketch, layer: Layer, from: f64, to: f64, y: f64| {
            if self.radius.is_infinite() {
                s.line(layer, at(from, y), at(to, y));
            } else {
                let centre = [
                    0.5 * self.room[0],
                    self.room[1] - if self.inner { self.radius + self.wide } else { self.radius },
                ];
                let angle = |x: f64| FRAC_PI_2 + 0.5 * total / self.radius - x / self.radius;
                let r = if self.inner { self.radius + y } else { self.radius - y };
                s.arc(layer, centre, r, angle(to), angle(from));
            }
        };
        edge(&mut s, Layer::Cut, 0.0, part, 0.0);
        edge(&mut s, Layer::Fold, part, total, 0.0);
        edge(&mut s, Layer::Words, 0.0, total, self.wide);
        s.line(Layer::Words, at(0.0, 0.0), at(0.0, self.wide));
        s.line(Layer::Fold, at(part, 0.0), at(part, self.wide));
        s.line(Layer::Words, at(total, 0.0), at(total, self.wide));
        // Marks every 30° round the axis, numbered through all pieces.
        let step = self.length / 12.0;
        for k in 0..12 {
            let x = f64::from(k) * step - piece as f64 * part;
            if x < -1e-9 || x >= part - 1e-9 {
                continue;
            }
            s.line(Layer::Dimension, at(x, 0.0), at(x, 0.27 * self.wide));
            let (a, b) = (at(x, 0.0), at(x, self.wide));
            let along = libm::atan2(b[1] - a[1], b[0] - a[0]) + FRAC_PI_2;
            let upright = if libm::cos(along) < 0.0 { along + PI } else { along };
            if step > 7.0 {
                let size = 2.2_f64.min(0.28 * self.wide);
                // The first stands clear of the end.
                let beside = if x < 3.0 { 3.2 } else { 0.0 };
                // The middle of the figures lies there, not their base line.
                let place = at(x + beside, 0.44 * self.wide);
                let (sin, cos) = libm::sincos(upright);
                s.turned_text(
                    [place[0] + 0.36 * size * sin, place[1] - 0.36 * size * cos],
                    size,
                    Anchor::Middle,
                    upright,
                    format!("{}°", 30 * k),
                );
            }
        }
        let middle = at(0.5 * part, 0.72 * self.wide);
        let (a, b) = (at(0.5 * part, 0.0), at(0.5 * part, self.wide));
        let along = libm::atan2(b[1] - a[1], b[0] - a[0]) + FRAC_PI_2;
        let upright = if libm::cos(along) < 0.0 { along + PI } else { along };
        // Words go where they are not wider than the piece.
        let size = (0.22 * self.wide).min(2.6);
        if crate::sketch::width(label, size) < 0.8 * part {
            s.turned_text(middle, size, Anchor::Middle, upright, label);
        }
        s
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sketch::Mark;

    fn a4() -> Paper {
        Paper::named("A4").unwrap()
    }

    /// Closed form: 2πR sin α along the edge, sector 2π cos α. α = 60°, R = 30: edge 163.24 mm, slant 51.96 mm, sector 180°.
    #[test]
    fn a_strip_is_as_long_as_its_circle() {
        let s = strip(30.0, 60.0_f64.to_radians(), 12.0, 0.0, &a4(), None).unwrap();
        assert!((s.length - TAU * 30.0 * 0.75_f64.sqrt()).abs() < 1e-9);
        assert!((s.radius - 30.0 * 3.0_f64.sqrt()).abs() < 1e-9 && (s.span - PI).abs() < 1e-12);
        assert_eq!((s.pieces, s.inner), (1, true));
        // The drawn edge is that long, whatever the number of pieces.
        for (angle, pieces) in [(60.0_f64, 1), (60.0, 3), (90.0, 2), (89.99, 2), (118.0, 2), (25.0, 1)] {
            let s = strip(30.0, angle.to_radians(), 12.0, 0.0, &a4(), Some(pieces)).unwrap();
            let drawn: f64 = (0..pieces)
                .flat_map(|k| s.draw(k, "x").marks)
                .map(|(layer, mark)| match mark {
                    Mark::Line([a, b]) if layer == Layer::Cut => libm::hypot(b[0] - a[0], b[1] - a[1]),
                    Mark::Arc { radius, from, to, .. } if layer == Layer::Cut => radius * (to - from),
                    _ => 0.0,
                })
                .sum();
            assert!((drawn - s.length).abs() < 1e-9, "{angle} {pieces}: {drawn} {}", s.length);
            assert!((s.length - TAU * 30.0 * libm::sin(angle.to_radians())).abs() < 1e-9);
            // All of a piece lies in its box.
            for (_, mark) in s.draw(0, "label").marks {
                let Mark::Line(ends) = mark else { continue };
                for p in ends {
                    assert!(
                        (0..2).all(|i| p[i] >= -1e-6 && p[i] <= s.room[i] + 1e-6),
                        "{angle}: {p:?} {:?}",
                        s.room
                    );
                }
            }
        }
    }

    /// Marks on neighbouring pieces are a twelfth of the circle apart through the joint.
    #[test]
    fn paper_counts_with_its_middle() {
        let s = strip(30.0, 1.0, 12.0, 0.1, &a4(), None).unwrap();
        assert!((s.length - TAU * 30.05 * libm::sin(1.0)).abs() < 1e-9);
    }

    #[test]
    fn what_is_too_long_is_said() {
        let e = strip(60.0, 80.0_f64.to_radians(), 12.0, 0.1, &a4(), Some(1)).unwrap_err();
        assert!(e.says.contains("mm long") && e.help.contains("--strip-pieces 3"), "{e:?}");
        let s = strip(60.0, 80.0_f64.to_radians(), 12.0, 0.1, &a4(), None).unwrap();
        assert!(s.pieces == 3 && s.room[0] <= 190.0);
        let e = strip(600.0, 80.0_f64.to_radians(), 12.0, 0.1, &a4(), None).unwrap_err();
        assert!(e.help.contains("--paper") || e.help.contains("ring stand"), "{e:?}");
        assert!(strip(60.0, 1.0, 12.0, 0.1, &a4(), Some(0)).unwrap_err().help.contains("pieces can"));
    }
}
