//! What changes from one picture to the next.

use super::Picture;

/// A rectangle of pixels with its content.
pub(super) struct Part {
    pub(super) left: u16,
    pub(super) top: u16,
    pub(super) width: u16,
    pub(super) height: u16,
    pub(super) pixels: Vec<u8>,
}

/// The index that lets the picture before show through: the one after the colours.
pub(super) fn through(picture: &Picture) -> u8 {
    picture.colours.len() as u8
}

/// The colours and one more that is never seen.
pub(super) fn table(picture: &Picture) -> Vec<u8> {
    let mut table = picture.colours.concat();
    table.extend([255; 3]);
    table
}

/// What differs from the picture before: the smallest rectangle, one pixel when nothing does. Pixels in it that stay as
/// they are are see-through, which packs well.
pub(super) fn changed(before: Option<&Picture>, now: &Picture, (width, height): (u16, u16)) -> Part {
    let w = usize::from(width);
    let row = |y: u16| usize::from(y) * w..(usize::from(y) + 1) * w;
    let Some(before) = before else {
        return Part { left: 0, top: 0, width, height, pixels: now.pixels.clone() };
    };
    let (mut left, mut right, mut top, mut bottom) = (width, 0, height, 0);
    for y in 0..height {
        let (a, b) = (&before.pixels[row(y)], &now.pixels[row(y)]);
        let differ = |x: &u16| a[usize::from(*x)] != b[usize::from(*x)];
        if let (Some(first), Some(last)) = ((0..width).find(differ), (0..width).rev().find(differ)) {
            left = left.min(first);
            right = right.max(last + 1);
            top = top.min(y);
            bottom = y + 1;
        }
    }
    if right <= left {
        (left, right, top, bottom) = (0, 1, 0, 1);
    }
    let through = through(now);
    let mut pixels = Vec::new();
    for y in top..bottom {
        let (a, b) = (&before.pixels[row(y)], &now.pixels[row(y)]);
        pixels.extend((left..right).map(usize::from).map(|x| if a[x] == b[x] { through } else { b[x] }));
    }
    Part { left, top, width: right - left, height: bottom - top, pixels }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;

    pub(in super::super) fn picture(pixels: Vec<u8>) -> Picture {
        Picture {
            width: 4,
            height: 3,
            pixels,
            delay_cs: 4,
            time_s: 0.0,
            phase: "snap",
            slowed: None,
            words: String::new(),
            clock: String::new(),
            colours: std::sync::Arc::new(vec![[0; 3]; 9]),
        }
    }

    #[test]
    fn only_what_changes_is_stored() {
        let a = picture(vec![0; 12]);
        let mut b = a.clone();
        (b.pixels[5], b.pixels[10]) = (7, 8);
        let part = changed(Some(&a), &b, (4, 3));
        assert_eq!((part.left, part.top, part.width, part.height), (1, 1, 2, 2));
        assert_eq!(part.pixels, [7, through(&a), through(&a), 8]);
        assert_eq!(changed(Some(&a), &a, (4, 3)).pixels, [through(&a)]);
    }
}
