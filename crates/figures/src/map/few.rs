//! Some of very many points, by chance, so that they lie as all do. Every so many-th would not: points of a grid or of a low-discrepancy
//! sequence that are that far apart in number stand in one corner or on a few lines.

/// Bits mixed so that neighbouring numbers share nothing (the finaliser of MurmurHash3, 32 bits).
fn mixed(k: u32) -> u32 {
    let mut z = k ^ 0x9e37_79b9;
    z = (z ^ (z >> 16)).wrapping_mul(0x85eb_ca6b);
    z = (z ^ (z >> 13)).wrapping_mul(0xc2b2_ae35);
    z ^ (z >> 16)
}

/// Which of `count` things are taken so that `most` are, in order, every choice as likely (selection sampling: Knuth, The Art of Computer
/// Programming 2, section 3.4.2, algorithm S); the same ones each time, and all where there are no more.
pub(super) fn few(count: usize, most: usize) -> impl Iterator<Item = usize> {
    let mut wanted = most.min(count) as u64;
    (0..count).filter(move |&k| {
        let left = (count - k) as u64;
        // The share of 2³² that is mixed in, of those left: below what is still wanted.
        let takes = u128::from(left) * u128::from(mixed(k as u32)) < u128::from(wanted) << 32;
        wanted -= u64::from(takes);
        takes
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn as_many_as_wanted_and_all_where_there_are_few() {
        assert_eq!(few(7, 9).collect::<Vec<_>>(), [0, 1, 2, 3, 4, 5, 6]);
        assert_eq!(few(7, 7).count(), 7);
        assert_eq!(few(0, 4).count(), 0);
        for (count, most) in [(8, 7), (4001, 4000), (9000, 4000), (1_000_000, 4000), (100, 0)] {
            assert_eq!(few(count, most).count(), most, "{most} of {count}");
        }
        assert_eq!(few(9000, 40).collect::<Vec<_>>(), few(9000, 40).collect::<Vec<_>>());
    }

    /// In every residue class and every stretch as many as chance would have: 4000 in sixteen boxes are 250 each, give or take 15; five
    /// standard deviations are allowed.
    #[test]
    fn no_stretch_and_no_residue_is_favoured() {
        for count in [65_536_usize, 100_000, 1_000_000] {
            for of in [|k, _| k % 16, |k, n| k * 16 / n, |k: usize, _| k / 256 % 16] {
                let mut boxes = [0_i32; 16];
                few(count, 4000).for_each(|k| boxes[of(k, count)] += 1);
                assert!(boxes.iter().all(|b| (b - 250).abs() < 5 * 15), "{count}: {boxes:?}");
            }
        }
    }
}
