//! A table as CSV: comment lines on where it comes from, a header row, the rows.

use crate::table::{Table, Value};

/// A comment holds one line.
fn one_line(text: &str) -> String {
    text.replace("\r\n", "\\n").replace(['\n', '\r'], "\\n")
}

/// The shortest decimal that reads back as the same bits; `NaN`, `inf` and `-inf` for what has none.
fn decimal(x: f64) -> String {
    // Unlike `{}`, `{:?}` writes large and small magnitudes with an exponent, and 1 as 1.0.
    format!("{x:?}")
}

impl Table {
    /// The table as CSV (UTF-8, lines end in a line feed).
    ///
    /// First come comment lines that begin with `# `: one `key: value` per entry of the provenance, then
    /// one `column NAME [unit]: about` per column (line breaks in them as `\n`). Then a header row with the
    /// names, then the rows. Numbers are the shortest decimals that read back as the same bits (`NaN`,
    /// `inf`), flags are `true` and `false`, missing values are empty. Fields that hold a `#` are quoted.
    pub fn to_csv(&self) -> Vec<u8> {
        let mut comments = String::new();
        for (key, value) in &self.provenance {
            comments.push_str(&format!("# {}: {}\n", one_line(key), one_line(value)));
        }
        for c in &self.columns {
            let line = format!("column {} [{}]: {}", c.name, c.unit, c.about);
            comments.push_str(&format!("# {}\n", one_line(&line)));
        }
        let mut writer =
            csv::WriterBuilder::new().flexible(true).comment(Some(b'#')).from_writer(comments.into_bytes());
        let names = self.columns.iter().map(|c| c.name.clone());
        write(&mut writer, names);
        self.records(&mut writer);
        #[allow(clippy::expect_used, reason = "a vector takes all bytes")]
        writer.into_inner().expect("memory takes all bytes")
    }

    /// The rows alone, to be put behind those of another table of the same columns.
    pub fn to_csv_rows(&self) -> Vec<u8> {
        let mut writer = csv::WriterBuilder::new().flexible(true).comment(Some(b'#')).from_writer(Vec::new());
        self.records(&mut writer);
        #[allow(clippy::expect_used, reason = "a vector takes all bytes")]
        writer.into_inner().expect("memory takes all bytes")
    }

    fn records(&self, writer: &mut csv::Writer<Vec<u8>>) {
        for row in &self.rows {
            let fields = row.iter().map(|value| match value {
                Value::Number(x) => decimal(*x),
                Value::Count(n) => n.to_string(),
                Value::Text(t) => t.clone(),
                Value::Flag(b) => b.to_string(),
                Value::Missing => String::new(),
            });
            write(writer, fields);
        }
    }
}

fn write(writer: &mut csv::Writer<Vec<u8>>, fields: impl Iterator<Item = String>) {
    #[allow(clippy::expect_used, reason = "a vector takes all bytes, and records may differ in length")]
    writer.write_record(fields).expect("memory takes all bytes");
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::table::{Column, Kind};

    fn column(name: &str, unit: &str, kind: Kind) -> Column {
        Column { name: name.into(), unit: unit.into(), about: format!("about {name}"), kind }
    }

    #[test]
    fn comments_header_and_rows() {
        let table = Table {
            columns: vec![
                column("h_m", "m", Kind::Number),
                column("waves", "1", Kind::Count),
                column("word", "", Kind::Text),
                column("stays", "", Kind::Flag),
            ],
            rows: vec![
                vec![Value::Number(0.1), Value::Count(-3), Value::Text("a, \"b\"".into()), Value::Flag(true)],
                vec![Value::Missing, Value::Missing, Value::Missing, Value::Missing],
                vec![Value::Number(f64::NAN), Value::Count(0), Value::Text("# c".into()), Value::Flag(false)],
            ],
            provenance: vec![("program".into(), "p".into()), ("note".into(), "two\nlines".into())],
        };
        let expected = "# program: p\n# note: two\\nlines\n\
            # column h_m [m]: about h_m\n# column waves [1]: about waves\n\
            # column word []: about word\n# column stays []: about stays\n\
            h_m,waves,word,stays\n0.1,-3,\"a, \"\"b\"\"\",true\n,,,\nNaN,0,\"# c\",false\n";
        assert_eq!(String::from_utf8(table.to_csv()).unwrap(), expected);
    }

    #[test]
    fn numbers_read_back_bit_by_bit() {
        let xs = [0.0, -0.0, 1.0, 0.1 + 0.2, 1e300, 5e-324, f64::MAX, 1.0 / 3.0, f64::INFINITY, -2.5e-7];
        for x in xs {
            let text = decimal(x);
            assert_eq!(text.parse::<f64>().unwrap().to_bits(), x.to_bits(), "{text}");
            assert!(text.len() < 26, "{text}");
        }
        assert!(decimal(f64::NAN).parse::<f64>().unwrap().is_nan());
    }
}
