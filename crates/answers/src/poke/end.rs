//! Why the path of a poked part ended, in words.

/// Why a path ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum End {
    FirstPeak,
    Stop,
    Reach,
    PlateAtRim,
    RimMoved,
    LostByPusher,
    AgainstThePush,
    SelfContact,
    Budget,
    NoFurther,
}

impl End {
    pub(crate) fn words(self) -> &'static str {
        match self {
            Self::FirstPeak => "the load passed its first peak",
            Self::Stop => "the stop was met",
            Self::Reach => "the travel asked for was reached",
            Self::PlateAtRim => "the plate reached the plane of the rim",
            Self::RimMoved => "the rim had moved by a third of the radius",
            Self::LostByPusher => "the pusher lost the part, which goes on by itself",
            Self::AgainstThePush => "the part moved against the push",
            Self::SelfContact => "the wall met itself, which the model does not know",
            Self::Budget => "the budget of points was spent",
            Self::NoFurther => "no further equilibrium was found: steps became too small",
        }
    }

    pub(crate) fn is_lost(self) -> bool {
        self == Self::LostByPusher
    }

    /// Whether the path covers all that the push can reach, so that what was not met is not there.
    pub(crate) fn covers(self) -> bool {
        matches!(self, Self::Stop | Self::Reach | Self::PlateAtRim)
    }

    /// Whether it ended before what it was to cover.
    pub(crate) fn is_early(self) -> bool {
        matches!(self, Self::AgainstThePush | Self::SelfContact | Self::Budget | Self::NoFurther)
    }
}
