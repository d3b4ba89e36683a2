//! What may be known of a lamp.

/// What is known of the lamp's spectrum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
#[non_exhaustive]
pub enum Lamp {
    /// Nothing: it may be any lamp or daylight.
    #[default]
    Any,
    /// Smooth, without spikes: tungsten, daylight, flash.
    Continuous,
    /// With spikes: most fluorescent tubes and many LEDs.
    Spiky,
}
