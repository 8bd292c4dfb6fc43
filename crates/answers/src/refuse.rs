//! Parts about which a question makes no sense, and why.

use calotte_specimen::Part;

use crate::states::turning_pieces;

/// Why a part has no rim to turn over or to push from; `None` when it has one.
pub fn no_rim(part: &Part) -> Option<&'static str> {
    part.meridian.ends_at_pole().then_some(
        "a complete sphere has no rim, and so nothing to turn inside out or to push from; `calotte modes` answers for it \
         (frequencies, and with `--pressure` where it buckles)",
    )
}

/// Why a part is not turned inside out as a whole: several of its pieces turn over, each by itself. `None` when one does, or none.
pub fn turns_in_pieces(part: &Part) -> Option<String> {
    let count = turning_pieces(part);
    (count > 1).then(|| {
        format!(
            "{count} pieces of this part turn over one by one, so it has no single inverted shape; `calotte verdict` lists \
             its stable states, `calotte series` counts them over a number of the case, and `calotte poke` follows a push"
        )
    })
}
