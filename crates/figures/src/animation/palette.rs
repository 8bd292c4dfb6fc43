//! The few colours of an animation, and the nearest of them to a pixel.

use resvg::tiny_skia::Pixmap;

use crate::ink;

/// Colours that are mixed where an edge is smoothed, and into how many steps.
const RAMPS: [(&str, &str, u16); 14] = [
    (ink::PAPER, ink::INK, 8),
    (ink::WALL_INVERTED, ink::INK, 6),
    (ink::PAPER, ink::WALL_INVERTED, 3),
    (ink::SHADE, ink::INK, 5),
    (ink::PAPER, ink::DEEP, 4),
    (ink::TINTS[0], ink::DEEP, 4),
    (ink::TINTS[1], ink::DEEP, 4),
    (ink::TINTS[2], ink::DEEP, 4),
    (ink::TINTS[3], ink::DEEP, 4),
    (ink::TINTS[4], ink::DEEP, 4),
    (ink::AMBER, ink::INK, 3),
    (ink::PAPER, ink::AMBER, 3),
    (ink::PAPER, ink::FAINT, 3),
    (ink::TINTS[2], ink::AMBER, 2),
];

/// Slots of the memory of colours met.
const SLOTS: usize = 1 << 14;

fn channels(hex: &str) -> [u8; 3] {
    let part = |i: usize| hex.get(i..i + 2).and_then(|h| u8::from_str_radix(h, 16).ok()).unwrap_or(0);
    [part(1), part(3), part(5)]
}

/// The colours, each once.
pub(crate) fn colours() -> Vec<[u8; 3]> {
    let mut out: Vec<[u8; 3]> = Vec::new();
    for (a, b, steps) in RAMPS {
        let (a, b) = (channels(a), channels(b));
        for k in 0..=steps {
            let mix =
                |i: usize| ((u16::from(a[i]) * (steps - k) + u16::from(b[i]) * k + steps / 2) / steps) as u8;
            let colour = [mix(0), mix(1), mix(2)];
            if !out.contains(&colour) {
                out.push(colour);
            }
        }
    }
    out
}

/// Finds nearest colours, and remembers those it has found.
pub(crate) struct Palette {
    colours: Vec<[u8; 3]>,
    met: Vec<(u32, u8)>,
}

impl Palette {
    pub(crate) fn new() -> Self {
        Self { colours: colours(), met: vec![(u32::MAX, 0); SLOTS] }
    }

    fn nearest(&self, rgb: [u8; 3]) -> u8 {
        let off = |c: &[u8; 3]| -> i32 {
            let d = |i: usize| i32::from(c[i]) - i32::from(rgb[i]);
            3 * d(0) * d(0) + 4 * d(1) * d(1) + 2 * d(2) * d(2)
        };
        (0..self.colours.len()).min_by_key(|&i| off(&self.colours[i])).unwrap_or(0) as u8
    }

    /// Indices of the colours of a picture without see-through parts.
    pub(crate) fn indices(&mut self, picture: &Pixmap) -> Vec<u8> {
        picture
            .data()
            .chunks_exact(4)
            .map(|p| {
                let key = u32::from_be_bytes([0, p[0], p[1], p[2]]);
                let slot = (key.wrapping_mul(2_654_435_761) >> 18) as usize;
                if self.met[slot].0 != key {
                    self.met[slot] = (key, self.nearest([p[0], p[1], p[2]]));
                }
                self.met[slot].1
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_fit_one_byte_and_are_found_again() {
        let all = colours();
        assert!((40..=128).contains(&all.len()), "{}", all.len());
        let palette = Palette::new();
        for (i, c) in all.iter().enumerate() {
            assert_eq!(usize::from(palette.nearest(*c)), i);
        }
        assert_eq!(all[0], [255, 255, 255]);
        assert_eq!(palette.nearest([250, 251, 252]), 0);
    }
}
