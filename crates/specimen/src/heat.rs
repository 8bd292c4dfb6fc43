//! What is asked about a part that is heated: the range, and the device around it.

/// A pin on the axis with a spring behind it, such as the contact that a disc opens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pin {
    /// Travel of the pole from its place in the described shape, towards the other state, at which it meets the pin, m; ≥ 0.
    pub gap: f64,
    /// Stiffness of the spring, N/m; infinite for a rigid stop.
    pub stiffness: f64,
}

/// Heating and its surroundings.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Heat {
    /// Lowest and highest temperature looked at, K; `None`: as far as the branches go within what the layers tell.
    pub range: [Option<f64>; 2],
    /// Axial force on the centre (pole, or the whole edge of a hole) that acts all the time, N; positive towards the other state.
    pub preload: f64,
    /// What the centre pushes.
    pub pin: Option<Pin>,
    /// Temperature from which slow movement before the trip is counted, K; `None`: that of the case.
    pub creep_from: Option<f64>,
}
