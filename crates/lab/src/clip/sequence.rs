//! Numbered pictures as a clip: their order, and the numbers that are missing.

use std::cmp::Ordering;

/// A picture of a sequence.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Named {
    /// Name of its file.
    pub name: String,
    /// Its number: the last one in the name.
    pub number: u64,
}

/// Pictures in order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sequence {
    /// By number.
    pub pictures: Vec<Named>,
    /// Numbers that are missing between the first and the last: frames that were dropped.
    pub missing: Vec<u64>,
    /// Most common step between numbers: 1, or more where every so many-th frame was kept.
    pub step: u64,
}

/// Compares names as people order them: runs of digits by their value.
pub fn natural(a: &str, b: &str) -> Ordering {
    let (mut a, mut b) = (a.as_bytes(), b.as_bytes());
    loop {
        match (a.first(), b.first()) {
            (None, None) => return Ordering::Equal,
            (None, _) => return Ordering::Less,
            (_, None) => return Ordering::Greater,
            (Some(x), Some(y)) if x.is_ascii_digit() && y.is_ascii_digit() => {
                let run = |s: &[u8]| s.iter().take_while(|c| c.is_ascii_digit()).count();
                let (m, n) = (run(a), run(b));
                let digits = |s: &[u8], n: usize| {
                    let zeros = s[..n].iter().take_while(|c| **c == b'0').count();
                    s[zeros..n].to_vec()
                };
                let (p, q) = (digits(a, m), digits(b, n));
                match p.len().cmp(&q.len()).then(p.cmp(&q)).then(m.cmp(&n)) {
                    Ordering::Equal => (a, b) = (&a[m..], &b[n..]),
                    other => return other,
                }
            }
            (Some(x), Some(y)) => match x.cmp(y) {
                Ordering::Equal => (a, b) = (&a[1..], &b[1..]),
                other => return other,
            },
        }
    }
}

/// The last number in a name without its ending.
fn number(name: &str) -> Option<u64> {
    let stem = name.rsplit_once('.').map_or(name, |s| s.0);
    let end = stem.rfind(|c: char| c.is_ascii_digit())? + 1;
    let start = stem[..end].rfind(|c: char| !c.is_ascii_digit()).map_or(0, |i| i + 1);
    stem.get(start..end)?.parse().ok()
}

/// Whether a name fits a pattern in which `*` stands for anything and `?` for one letter.
pub fn fits(pattern: &str, name: &str) -> bool {
    let (p, n): (Vec<char>, Vec<char>) = (pattern.chars().collect(), name.chars().collect());
    // fit[j]: the pattern so far fits the first j letters.
    let mut fit = vec![false; n.len() + 1];
    fit[0] = true;
    for c in p {
        let mut next = vec![false; n.len() + 1];
        for j in 0..=n.len() {
            next[j] = match c {
                '*' => fit[j] || (j > 0 && next[j - 1]),
                '?' => j > 0 && fit[j - 1],
                c => j > 0 && fit[j - 1] && n[j - 1] == c,
            };
        }
        fit = next;
    }
    fit[n.len()]
}

/// Orders names of pictures.
///
/// # Errors
/// Names without a number, or two with the same one.
pub fn sequence(names: &[String]) -> Result<Sequence, String> {
    let mut pictures = Vec::new();
    let mut sorted: Vec<&String> = names.iter().collect();
    sorted.sort_by(|a, b| natural(a, b));
    for name in sorted {
        let number = number(name).ok_or_else(|| {
            format!("{name}: no number in its name\n  help: pictures of a clip are numbered, such as frame_0001.png; leave other pictures out by a pattern such as \"frame_*.png\"")
        })?;
        pictures.push(Named { name: name.clone(), number });
    }
    pictures.sort_by_key(|p| p.number);
    if let Some(w) = pictures.windows(2).find(|w| w[0].number == w[1].number) {
        return Err(format!(
            "{} and {}: two pictures with the number {}\n  help: one clip to a folder, or a pattern such as \"left_*.png\"",
            w[0].name, w[1].name, w[0].number
        ));
    }
    let mut steps: Vec<u64> = pictures.windows(2).map(|w| w[1].number - w[0].number).collect();
    steps.sort_unstable();
    let step = steps.get(steps.len() / 2).copied().unwrap_or(1);
    let mut missing = Vec::new();
    for w in pictures.windows(2) {
        let mut n = w[0].number + step;
        // Enough to be told; a jump of the counter is not millions of dropped frames.
        while n < w[1].number && missing.len() < 10_000 {
            missing.push(n);
            n += step;
        }
    }
    Ok(Sequence { pictures, missing, step })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(n: &[&str]) -> Vec<String> {
        n.iter().map(|s| (*s).to_owned()).collect()
    }

    #[test]
    fn numbers_are_ordered_by_value_and_gaps_told() {
        let s = sequence(&names(&["f10.png", "f9.png", "f2.png", "f3.png", "f4.png", "f5.png"])).unwrap();
        let order: Vec<u64> = s.pictures.iter().map(|p| p.number).collect();
        assert_eq!((order, s.step), (vec![2, 3, 4, 5, 9, 10], 1));
        assert_eq!(s.missing, [6, 7, 8]);
        let every = sequence(&names(&["a_000.tif", "a_004.tif", "a_008.tif", "a_016.tif"])).unwrap();
        assert_eq!((every.step, every.missing), (4, vec![12]));
        assert!(sequence(&names(&["a1.png", "b1.png"])).unwrap_err().contains("number 1"));
        assert!(sequence(&names(&["a.png"])).unwrap_err().contains("no number"));
        assert_eq!(natural("f2b", "f10a"), Ordering::Less);
        assert_eq!(number("clip2_run07.png"), Some(7));
        assert!(fits("frame_*.png", "frame_12.png") && !fits("frame_*.png", "frame_12.jpg"));
        assert!(fits("a?c*", "abc") && !fits("a?c", "ac"));
    }
}
