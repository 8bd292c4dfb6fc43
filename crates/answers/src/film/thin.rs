//! Which rows of a long answer become frames.

use std::collections::BTreeSet;

/// At most `most` of the rows `0..count`, evenly spread, the first, the last and those of `keep` among them.
pub(crate) fn thinned(count: usize, most: usize, keep: impl IntoIterator<Item = usize>) -> Vec<usize> {
    if count <= most {
        return (0..count).collect();
    }
    let ends = [0, count - 1];
    let kept: BTreeSet<usize> = ends.into_iter().chain(keep).filter(|i| *i < count).take(most).collect();
    let with = |stride: usize| -> BTreeSet<usize> {
        kept.iter().copied().chain((0..count).step_by(stride)).collect()
    };
    let mut stride = count.div_ceil(most - kept.len() + 1);
    while with(stride).len() > most && stride < count {
        stride += 1;
    }
    let all = with(stride);
    if all.len() > most { kept.into_iter().collect() } else { all.into_iter().collect() }
}

#[cfg(test)]
mod tests {
    use super::thinned;

    #[test]
    fn keeps_what_matters() {
        assert_eq!(thinned(5, 240, []), [0, 1, 2, 3, 4]);
        for count in [241, 500, 2000] {
            let keep = [7, 8, 199, 200, count - 2];
            let rows = thinned(count, 240, keep);
            assert!(rows.len() <= 240 && rows.len() > 110, "{count}: {}", rows.len());
            assert!(rows.windows(2).all(|w| w[0] < w[1]) && rows[0] == 0 && rows.ends_with(&[count - 1]));
            assert!(keep.iter().all(|k| rows.contains(k)));
        }
        // More to keep than there is room for: the first ones, and no more than asked for.
        assert!(thinned(1000, 240, 0..900).len() <= 240);
    }
}
