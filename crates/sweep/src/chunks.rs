//! Lists of chunks as people and scripts write them: `3-7,12`.

/// Reads a list of chunks, each at most `last`; in order, each once.
///
/// # Errors
/// Words on what is wrong and what would be right.
pub fn read_chunks(text: &str, last: u64) -> Result<Vec<u64>, String> {
    let mut out = Vec::new();
    for piece in text.split(',') {
        let piece = piece.trim();
        let one = |t: &str| -> Result<u64, String> {
            let plain = !t.is_empty() && t.bytes().all(|b| b.is_ascii_digit());
            let n = t.parse::<u64>().ok().filter(|_| plain);
            let n =
                n.ok_or_else(|| format!("`{piece}` is no chunk; write numbers and ranges such as 3-7,12"))?;
            if n > last {
                return Err(format!("there is no chunk {n}: the chunks are 0 to {last}"));
            }
            Ok(n)
        };
        let (a, b) = match piece.split_once('-') {
            Some((a, b)) => (one(a.trim())?, one(b.trim())?),
            None => (one(piece)?, one(piece)?),
        };
        if a > b {
            return Err(format!("`{piece}` runs backwards; write {b}-{a}"));
        }
        out.extend(a..=b);
    }
    out.sort_unstable();
    out.dedup();
    Ok(out)
}

/// Chunks in order as text, ranges where there are any.
pub fn ranges(chunks: &[u64]) -> String {
    let mut out: Vec<(u64, u64)> = Vec::new();
    for &c in chunks {
        match out.last_mut() {
            Some(last) if last.1 + 1 == c => last.1 = c,
            _ => out.push((c, c)),
        }
    }
    let told = |(a, b): &(u64, u64)| if a == b { a.to_string() } else { format!("{a}-{b}") };
    out.iter().map(told).collect::<Vec<_>>().join(",")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_and_back() {
        for (text, chunks) in [("3", vec![3]), ("3-7,12", vec![3, 4, 5, 6, 7, 12]), ("0-1,9", vec![0, 1, 9])]
        {
            assert_eq!(read_chunks(text, 12).unwrap(), chunks);
            assert_eq!(ranges(&chunks), text);
        }
        assert_eq!(read_chunks(" 4 , 2-3, 3 ", 5).unwrap(), [2, 3, 4]);
        for (text, told) in [
            ("", "no chunk"),
            ("a", "no chunk"),
            ("-3", "no chunk"),
            ("+3", "no chunk"),
            ("13", "0 to 12"),
            ("7-3", "3-7"),
        ] {
            let why = read_chunks(text, 12).unwrap_err();
            assert!(why.contains(told), "{text}: {why}");
        }
    }
}
