//! Pages filled with strips: pieces of a page as wide as its text that are never torn. A strip may ask to stay with the next one (a
//! heading, the first line of a paragraph) and may belong to a table whose head is set again on every page.

use std::rc::Rc;

use super::faces::Face;

/// A colour, red, green and blue.
pub(crate) type Ink = [u8; 3];

/// Something drawn; places from the upper left corner of the strip, points.
#[derive(Clone, Debug)]
pub(crate) enum Op {
    /// Words on their base line, belonging to a tag.
    Words { x: f32, y: f32, face: Face, size: f32, ink: Ink, text: String, tag: usize },
    /// A filled rectangle that says nothing.
    Ground { x: f32, y: f32, width: f32, height: f32, ink: Ink },
    /// A picture by its number among those of the document.
    Picture { x: f32, y: f32, scale: f32, picture: usize, tag: usize },
    /// A link over the words at this place.
    Link { x: f32, y: f32, width: f32, height: f32, to: String, alt: String, tag: usize },
}

impl Op {
    /// The same elsewhere.
    fn moved(&self, dx: f32, dy: f32) -> Self {
        let mut op = self.clone();
        match &mut op {
            Self::Words { x, y, .. }
            | Self::Ground { x, y, .. }
            | Self::Picture { x, y, .. }
            | Self::Link { x, y, .. } => {
                *x += dx;
                *y += dy;
            }
        }
        op
    }
    /// The same as decoration: what is set again on the next page is read once.
    fn decoration(&self) -> Option<Self> {
        match self {
            Self::Words { x, y, face, size, ink, text, .. } => Some(Self::Words {
                x: *x,
                y: *y,
                face: *face,
                size: *size,
                ink: *ink,
                text: text.clone(),
                tag: DECORATION,
            }),
            Self::Ground { .. } => Some(self.clone()),
            Self::Picture { .. } | Self::Link { .. } => None,
        }
    }
}

/// The tag of words that readers who do not see are not told.
pub(crate) const DECORATION: usize = usize::MAX;

/// A piece of a page.
#[derive(Clone, Debug, Default)]
pub(crate) struct Strip {
    /// Room above, left out at the top of a page, points.
    pub(crate) above: f32,
    /// Height, points.
    pub(crate) height: f32,
    /// What is drawn.
    pub(crate) ops: Vec<Op>,
    /// Whether the next strip must be on the same page.
    pub(crate) keep: bool,
    /// Head of the table it belongs to.
    pub(crate) head: Option<Rc<Strip>>,
    /// Places that links lead to.
    pub(crate) places: Vec<String>,
    /// The same in smaller sizes, the largest first, for a page that has too little room left.
    pub(crate) smaller: Vec<Strip>,
    /// What it is, for messages.
    pub(crate) what: &'static str,
}

/// A place that links lead to.
#[derive(Clone, Debug)]
pub(crate) struct Place {
    pub(crate) id: String,
    pub(crate) page: usize,
    pub(crate) y: f32,
}

/// Filled pages.
#[derive(Clone, Debug, Default)]
pub(crate) struct Filled {
    pub(crate) pages: Vec<Vec<Op>>,
    pub(crate) places: Vec<Place>,
}

/// Fills pages. `left`, `top`: corner of the text; `room`: its height, points.
///
/// # Errors
/// What and how tall the strip is that no page holds.
pub(crate) fn fill(strips: &[Strip], left: f32, top: f32, room: f32) -> Result<Filled, (&'static str, f32)> {
    let mut out = Filled { pages: vec![Vec::new()], places: Vec::new() };
    let mut y = 0.0_f32;
    let mut i = 0;
    while i < strips.len() {
        // Strips that stay together.
        let mut j = i;
        while strips[j].keep && j + 1 < strips.len() {
            j += 1;
        }
        let group = &strips[i..=j];
        let tall: f32 =
            group.iter().enumerate().map(|(k, s)| s.height + if k == 0 { 0.0 } else { s.above }).sum();
        // A group that no page holds is let go of, strip by strip.
        let group = if tall > room { &strips[i..=i] } else { group };
        let tall = if tall > room { strips[i].height } else { tall };
        if tall > room {
            return Err((strips[i].what, tall));
        }
        let gap = if y > 0.0 { group[0].above } else { 0.0 };
        let mut fitted: Vec<&Strip> = group.iter().collect();
        let over = y + gap + tall - room;
        if let Some(last) = group.last().filter(|_| over > 0.0)
            && let Some(less) = last.smaller.iter().find(|s| last.height - s.height >= over)
        {
            fitted.pop();
            fitted.push(less);
        } else if over > 0.0 {
            out.pages.push(Vec::new());
            y = 0.0;
        }
        let page = out.pages.len() - 1;
        for s in fitted {
            if y == 0.0 {
                if let Some(head) = s.head.as_ref().filter(|h| h.height + s.height <= room) {
                    let ops = head.ops.iter().filter_map(Op::decoration).map(|o| o.moved(left, top));
                    out.pages[page].extend(ops);
                    y += head.height;
                }
            } else {
                y += s.above;
            }
            out.pages[page].extend(s.ops.iter().map(|o| o.moved(left, top + y)));
            out.places.extend(s.places.iter().map(|id| Place { id: id.clone(), page, y: top + y }));
            y += s.height;
        }
        i += group.len();
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn strip(height: f32, keep: bool) -> Strip {
        Strip { height, keep, what: "strip", ..Strip::default() }
    }
    fn word(y: f32) -> Op {
        Op::Words { x: 0.0, y, face: Face::Plain, size: 9.0, ink: [0; 3], text: "w".into(), tag: 0 }
    }
    fn at(ops: &[Op]) -> Vec<f32> {
        ops.iter()
            .map(|o| match o {
                Op::Words { y, .. } => *y,
                _ => 0.0,
            })
            .collect()
    }

    #[test]
    fn a_heading_goes_to_the_next_page_with_its_text_and_heads_of_tables_are_set_again() {
        let mut strips = vec![strip(70.0, false), strip(20.0, true), strip(20.0, false)];
        strips.iter_mut().for_each(|s| s.ops.push(word(0.0)));
        let filled = fill(&strips, 0.0, 0.0, 100.0).unwrap();
        assert_eq!(filled.pages.iter().map(|p| at(p)).collect::<Vec<_>>(), [vec![0.0], vec![0.0, 20.0]]);
        let head = Rc::new(Strip { height: 10.0, ops: vec![word(0.0)], ..Strip::default() });
        let row = Strip { head: Some(Rc::clone(&head)), ops: vec![word(0.0)], ..strip(40.0, false) };
        let first = Strip { ops: vec![word(0.0)], ..strip(10.0, true) };
        let filled = fill(&[first, row.clone(), row.clone(), row], 0.0, 5.0, 100.0).unwrap();
        assert_eq!(
            filled.pages.iter().map(|p| at(p)).collect::<Vec<_>>(),
            [vec![5.0, 15.0, 55.0], vec![5.0, 15.0]]
        );
        assert_eq!(fill(&[strip(101.0, false)], 0.0, 0.0, 100.0).unwrap_err(), ("strip", 101.0));
    }
}
