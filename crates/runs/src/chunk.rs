//! The file of one finished chunk: every bit of its rows, and enough to tell a whole chunk of this run
//! from anything else.
//!
//! Little-endian throughout: mark, fingerprint of the run, first point, rows, bytes of the cells, the
//! cells, checksum of all before it. A cell is a tag and what the tag calls for.

use std::ops::Range;

use crate::files::checksum;
use crate::table::Value;

/// First bytes; the digit is the version of the format, as in the manifest.
const MARK: &[u8; 8] = b"calrun1\n";

/// Bytes before the cells.
const HEAD: usize = 40;

/// Bytes after the cells.
const TAIL: usize = 8;

/// Why bytes are not the chunk that was asked for.
#[derive(Debug, PartialEq)]
pub(crate) enum Wrong {
    /// It is whole, and of another run.
    Foreign,
    /// It is not whole, in words.
    Damaged(&'static str),
}

/// The chunk with the points of `range` as it lies on the disk.
pub(crate) fn write(fingerprint: u64, range: &Range<u64>, rows: &[Vec<Value>]) -> Vec<u8> {
    let mut out = Vec::with_capacity(HEAD + TAIL + 9 * rows.iter().map(Vec::len).sum::<usize>());
    out.extend_from_slice(MARK);
    for n in [fingerprint, range.start, range.end - range.start, 0] {
        out.extend_from_slice(&n.to_le_bytes());
    }
    for value in rows.iter().flatten() {
        match value {
            Value::Missing => out.push(0),
            Value::Number(x) => {
                out.push(1);
                out.extend_from_slice(&x.to_bits().to_le_bytes());
            }
            Value::Count(n) => {
                out.push(2);
                out.extend_from_slice(&n.to_le_bytes());
            }
            Value::Text(t) => {
                out.push(3);
                out.extend_from_slice(&(t.len() as u64).to_le_bytes());
                out.extend_from_slice(t.as_bytes());
            }
            Value::Flag(b) => out.push(4 + u8::from(*b)),
        }
    }
    let length = (out.len() - HEAD) as u64;
    out[HEAD - 8..HEAD].copy_from_slice(&length.to_le_bytes());
    let sum = checksum(&out);
    out.extend_from_slice(&sum.to_le_bytes());
    out
}

/// Takes values off the front of bytes.
struct Reader<'a>(&'a [u8]);

impl<'a> Reader<'a> {
    fn take(&mut self, n: usize) -> Option<&'a [u8]> {
        let (front, rest) = self.0.split_at_checked(n)?;
        self.0 = rest;
        Some(front)
    }

    fn word(&mut self) -> Option<[u8; 8]> {
        self.take(8)?.try_into().ok()
    }

    fn number(&mut self) -> Option<u64> {
        self.word().map(u64::from_le_bytes)
    }

    fn value(&mut self) -> Option<Value> {
        Some(match *self.take(1)?.first()? {
            0 => Value::Missing,
            1 => Value::Number(f64::from_bits(self.number()?)),
            2 => Value::Count(i64::from_le_bytes(self.word()?)),
            3 => {
                let length = usize::try_from(self.number()?).ok()?;
                Value::Text(std::str::from_utf8(self.take(length)?).ok()?.to_owned())
            }
            4 => Value::Flag(false),
            5 => Value::Flag(true),
            _ => return None,
        })
    }
}

/// The rows of the chunk with the points of `range`, each with one value for each of `columns`.
pub(crate) fn read(
    bytes: &[u8],
    fingerprint: u64,
    range: &Range<u64>,
    columns: usize,
) -> Result<Vec<Vec<Value>>, Wrong> {
    let truncated = || Wrong::Damaged("it is truncated");
    let strange = || Wrong::Damaged("its cells are not those of the columns");
    let mut reader = Reader(bytes);
    if reader.take(MARK.len()).ok_or_else(truncated)? != MARK {
        return Err(Wrong::Damaged("it is no chunk of a run"));
    }
    let owner = reader.number().ok_or_else(truncated)?;
    let start = reader.number().ok_or_else(truncated)?;
    let count = reader.number().ok_or_else(truncated)?;
    let length = reader.number().ok_or_else(truncated)?;
    let due = usize::try_from(length).ok().and_then(|n| n.checked_add(HEAD + TAIL));
    match due {
        Some(due) if due == bytes.len() => {}
        Some(due) if due < bytes.len() => return Err(Wrong::Damaged("it is too long")),
        _ => return Err(truncated()),
    }
    let (before, sum) = bytes.split_at(bytes.len() - TAIL);
    if sum != checksum(before).to_le_bytes() {
        return Err(Wrong::Damaged("its checksum is wrong"));
    }
    if owner != fingerprint {
        return Err(Wrong::Foreign);
    }
    if start != range.start || count != range.end - range.start {
        return Err(Wrong::Damaged("it holds other points than its name says"));
    }
    reader.0 = &before[HEAD..];
    let mut rows = Vec::new();
    for _ in range.clone() {
        let row: Option<Vec<Value>> = (0..columns).map(|_| reader.value()).collect();
        rows.push(row.ok_or_else(strange)?);
    }
    if reader.0.is_empty() { Ok(rows) } else { Err(strange()) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rows() -> Vec<Vec<Value>> {
        vec![
            vec![Value::Number(0.1), Value::Count(i64::MIN), Value::Text("α\n".into()), Value::Flag(true)],
            vec![Value::Missing, Value::Missing, Value::Missing, Value::Missing],
            vec![Value::Number(-0.0), Value::Count(7), Value::Text(String::new()), Value::Flag(false)],
        ]
    }

    #[test]
    fn rows_round_trip() {
        let bytes = write(9, &(6..9), &rows());
        assert_eq!(read(&bytes, 9, &(6..9), 4), Ok(rows()));
        let again = write(9, &(6..9), &read(&bytes, 9, &(6..9), 4).unwrap());
        assert_eq!(again, bytes);
    }

    #[test]
    fn every_bit_of_a_nan_is_kept() {
        for bits in [0x7ff8_0000_0000_0001, 0xfff8_dead_beef_0000, 0x7ff0_0000_0000_0000, 1] {
            let bytes = write(0, &(0..1), &[vec![Value::Number(f64::from_bits(bits))]]);
            match read(&bytes, 0, &(0..1), 1).unwrap()[0][0] {
                Value::Number(x) => assert_eq!(x.to_bits(), bits),
                ref other => panic!("{other:?}"),
            }
        }
    }

    #[test]
    fn truncation_anywhere_and_any_wrong_byte_show() {
        let bytes = write(9, &(6..9), &rows());
        for end in 0..bytes.len() {
            let result = read(&bytes[..end], 9, &(6..9), 4);
            assert_eq!(result, Err(Wrong::Damaged("it is truncated")), "{end}");
        }
        for at in 0..bytes.len() {
            for bit in 0..8 {
                let mut wrong = bytes.clone();
                wrong[at] ^= 1 << bit;
                let result = read(&wrong, 9, &(6..9), 4);
                assert!(matches!(result, Err(Wrong::Damaged(_))), "{at}: {result:?}");
            }
        }
        let mut longer = bytes.clone();
        longer.push(0);
        assert_eq!(read(&longer, 9, &(6..9), 4), Err(Wrong::Damaged("it is too long")));
    }

    #[test]
    fn other_runs_points_and_columns_show() {
        let bytes = write(9, &(6..9), &rows());
        assert_eq!(read(&bytes, 8, &(6..9), 4), Err(Wrong::Foreign));
        assert!(matches!(read(&bytes, 9, &(3..6), 4), Err(Wrong::Damaged(_))));
        assert!(matches!(read(&bytes, 9, &(6..9), 3), Err(Wrong::Damaged(_))));
        assert!(matches!(read(&bytes, 9, &(6..9), 5), Err(Wrong::Damaged(_))));
    }
}
