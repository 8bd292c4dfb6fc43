//! What may change in a case and what is wished of it, as written: the table `[size]`.

use std::ops::RangeInclusive;

use calotte_quantity::nearest;

use super::draft::Value;
use super::finding::{Place, place};
use super::resolve::Resolver;

/// How many parts may be drawn to check a wish about a share of a batch.
pub const SIZE_DRAWS: RangeInclusive<u32> = 100..=100_000;

/// A text of the table and where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SizeText {
    /// As written.
    pub text: String,
    /// Where it begins in the case file.
    pub place: Place,
}

/// The table `[size]`. Numbers that may change are numbers of the case; their limits and the wishes are read by the question.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct SizeTable {
    /// `wall.thickness = 1 mm..4 mm`.
    pub vary: Vec<SizeText>,
    /// `margin >= 10 %`.
    pub wishes: Vec<SizeText>,
    /// Parts drawn to check a wish about a share of a batch; `None` when the case does not say.
    pub draws: Option<u32>,
}

impl Resolver<'_> {
    /// The table, once all inputs are known.
    pub(super) fn size_table(&mut self) -> Option<SizeTable> {
        self.draft.tables.get("size")?;
        let texts = |path: &str| match self.draft.fields.get(path).map(|f| &f.value) {
            Some(Value::Texts(all)) => all.clone(),
            _ => Vec::new(),
        };
        let (vary, wishes) = (texts("size.vary"), texts("size.wishes"));
        for (text, span) in &vary {
            let key = text.split('=').next().unwrap_or_default().trim();
            if self.inputs.iter().any(|i| i.key == key) {
                continue;
            }
            let keys = || self.inputs.iter().map(|i| i.key.as_str());
            let hint = nearest(key, keys()).map_or_else(
                || format!("numbers of this case: {}", keys().collect::<Vec<_>>().join(", ")),
                |near| format!("did you mean `{near}`?"),
            );
            let says = format!("`vary`: the case has no number `{key}`");
            self.draft.error(span.clone(), says).hint = Some(hint);
        }
        let bytes = self.bytes;
        let placed = |all: Vec<(String, std::ops::Range<usize>)>| {
            all.into_iter().map(|(text, span)| SizeText { text, place: place(bytes, span.start) }).collect()
        };
        // Checked to be a whole number in its range.
        let draws = self.draft.number("size.draws").map(|q| q.value as u32);
        Some(SizeTable { vary: placed(vary), wishes: placed(wishes), draws })
    }
}
