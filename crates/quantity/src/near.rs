//! Which known word was probably meant.

/// The candidate nearest to `word`: first one that differs only in letter case or in `-`, `_` and
/// blanks, else the one fewest single-letter edits away (at most a third of its length, and two for
/// short words). `None` when nothing is near.
pub fn nearest<'a>(word: &str, known: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let word: Vec<char> = word.chars().take(64).collect();
    let fold = |w: &[char]| -> String {
        w.iter().filter(|c| !matches!(c, '-' | '_' | ' ')).flat_map(|c| c.to_lowercase()).collect()
    };
    let folded = fold(&word);
    let mut best: Option<(usize, &str)> = None;
    for k in known {
        let letters: Vec<char> = k.chars().collect();
        let far = if fold(&letters) == folded { 0 } else { edits(&word, &letters) };
        let allowed = if letters.len() <= 3 { 1 } else { (letters.len() / 3).max(2) };
        if far <= allowed && best.is_none_or(|b| far < b.0) {
            best = Some((far, k));
        }
    }
    best.map(|b| b.1)
}

/// Insertions, deletions, replacements and swaps of neighbours.
fn edits(a: &[char], b: &[char]) -> usize {
    let width = b.len() + 1;
    let mut before: Vec<usize> = vec![0; width];
    let mut above: Vec<usize> = (0..width).collect();
    for i in 1..=a.len() {
        let mut row = vec![i; width];
        for j in 1..width {
            let change = usize::from(a[i - 1] != b[j - 1]);
            row[j] = (above[j] + 1).min(row[j - 1] + 1).min(above[j - 1] + change);
            if i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1] {
                row[j] = row[j].min(before[j - 2] + 1);
            }
        }
        before = std::mem::replace(&mut above, row);
    }
    above[width - 1]
}
