//! What can be wrong with a bracket, in words that say what to do about it.

/// One thing that is wrong with a bracket.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum BracketProblem {
    /// No photo counts.
    NoPhotos,
    /// All photos that count are at one setting; `add` are settings that would make a bracket.
    OneSetting {
        /// Kelvin.
        add: [f64; 2],
    },
    /// Neutral lies beyond the settings; `add` is a setting beyond it.
    NotEnclosed {
        /// Whether all cards came out orange; all blue otherwise.
        orange: bool,
        /// Kelvin.
        add: f64,
        /// Whether neutral was found all the same, by going on beyond the settings.
        extrapolated: bool,
    },
    /// The settings on either side of neutral lie far apart; `add` is one between them.
    WideGap {
        /// How far, mired.
        mired: f64,
        /// Kelvin.
        add: f64,
    },
    /// A photo does not fit the others, and was left out.
    Contradiction {
        /// The photo.
        path: String,
        /// How much more orange it came out than the others make expect, mired.
        off: f64,
    },
    /// Two photos contradict each other: between their settings the card did not change as it
    /// must.
    Disagreement {
        /// The two photos.
        paths: [String; 2],
        /// How far the second's setting is from the first's, mired; 0 at one setting.
        turned: f64,
        /// How much more orange the second came out, mired; about −`turned` is right.
        changed: f64,
    },
    /// Two photos seem to have each other's settings: that way round all would fit.
    Swapped {
        /// The two photos.
        paths: [String; 2],
    },
    /// The photos do not fit one line of settings and colours, so none of them can be trusted.
    Inconsistent {
        /// Whether at higher settings the card came out bluer, which no camera does.
        backward: bool,
        /// The one photo without which the others would fit, where they are too few to tell.
        odd: Option<String>,
    },
    /// The photos are of several cameras, and none of these took most of them.
    SeveralCameras {
        /// The cameras.
        cameras: Vec<String>,
    },
    /// The photo's setting is neither recorded nor stated.
    SettingUnknown {
        /// The photo.
        path: String,
    },
    /// The card keeps a tint at every setting; none is on the other side of it.
    TintNotEnclosed {
        /// What is left of it at the neutral setting: Duv, + green, − magenta.
        left: f64,
        /// A balance that would be on its other side: kelvin and Duv.
        add: [f64; 2],
    },
}

impl BracketProblem {
    /// Short and stable, for scripts.
    #[must_use]
    pub fn code(&self) -> &'static str {
        match self {
            Self::NoPhotos => "no-photos",
            Self::OneSetting { .. } => "one-setting",
            Self::NotEnclosed { .. } => "not-enclosed",
            Self::WideGap { .. } => "wide-gap",
            Self::Contradiction { .. }
            | Self::Disagreement { .. }
            | Self::Swapped { .. }
            | Self::Inconsistent { .. } => "contradiction",
            Self::SeveralCameras { .. } => "several-cameras",
            Self::SettingUnknown { .. } => "setting-unknown",
            Self::TintNotEnclosed { .. } => "tint-not-enclosed",
        }
    }

    /// What is wrong, in a sentence.
    #[must_use]
    pub fn message(&self) -> String {
        match self {
            Self::NoPhotos => "no photo of the bracket can be used".to_owned(),
            Self::OneSetting { .. } => {
                "the photos are all at one balance setting, so there is no bracket".to_owned()
            }
            Self::NotEnclosed { orange, extrapolated, .. } => format!(
                "neutral lies beyond the settings: the card came out {} at every one of them{}",
                if *orange { "orange" } else { "blue" },
                if *extrapolated { ", and the figure goes on from them" } else { "" }
            ),
            Self::WideGap { mired, .. } => format!(
                "the settings on either side of neutral lie {mired:.0} mired apart, which leaves \
                 much to the unknown tone curve"
            ),
            Self::Contradiction { path, off } => format!(
                "{path} does not fit the others: its card came out {:.0} mired more {} than they \
                 make expect, so it was left out. The setting may be another than stated, or the \
                 light changed",
                off.abs(),
                if *off > 0.0 { "orange" } else { "blue" }
            ),
            Self::Disagreement { paths: [a, b], turned: 0.0, changed } => format!(
                "{a} and {b} contradict each other: they are at one setting, but the card came out \
                 {:.0} mired more {} in the second",
                changed.abs(),
                if *changed > 0.0 { "orange" } else { "blue" }
            ),
            Self::Disagreement { paths: [a, b], turned, changed } => format!(
                "{a} and {b} contradict each other: their settings lie {:.0} mired apart, so \
                 should the card, but it came out {:.0} mired more {} in the second",
                turned.abs(),
                changed.abs(),
                if *changed > 0.0 { "orange" } else { "blue" }
            ),
            Self::Swapped { paths: [a, b] } => format!(
                "{a} and {b} seem to have each other's settings: the card came out bluer in the \
                 one that is said to be at the higher one, and the other way round all photos fit"
            ),
            Self::Inconsistent { backward: true, .. } => {
                "at higher settings the card came out bluer; a camera makes it more orange there"
                    .to_owned()
            }
            Self::Inconsistent { odd, .. } => format!(
                "settings and colours of the photos do not lie on one line{}",
                odd.as_ref().map_or_else(String::new, |path| format!(
                    "; without {path} the others would fit, but they are too few to tell"
                ))
            ),
            Self::SeveralCameras { cameras } => format!(
                "the photos are of {} cameras: {}. A setting is that of one camera",
                cameras.len(),
                cameras.join(", ")
            ),
            Self::SettingUnknown { path } => {
                format!("{path} was left out: what its balance was set to is not known")
            }
            Self::TintNotEnclosed { left, .. } => format!(
                "the tint is not bracketed: at this setting the card is still {} by {:.4} Duv",
                if *left > 0.0 { "green" } else { "magenta" },
                left.abs()
            ),
        }
    }

    /// What to do about it, in a sentence.
    #[must_use]
    pub fn advice(&self) -> String {
        match self {
            Self::NoPhotos => "Photograph a white card in one light at three to five balance \
                               settings around what you expect, as in 3000, 3200 and 3500 K."
                .to_owned(),
            Self::OneSetting { add: [a, b] } => {
                format!("Photograph the card at {a:.0} K and at {b:.0} K as well.")
            }
            Self::NotEnclosed { add, .. } => {
                format!("Photograph the card at {add:.0} K as well.")
            }
            Self::WideGap { add, .. } => {
                format!("For a closer figure photograph the card at {add:.0} K as well.")
            }
            Self::Contradiction { path, .. } => {
                format!("Check what {path} was set to, or leave it out.")
            }
            Self::Disagreement { paths: [a, b], .. } => format!(
                "Check what {a} and {b} were set to; if both are right, the light changed: take \
                 the bracket again."
            ),
            Self::Swapped { paths: [a, b] } => format!(
                "Check what {a} and {b} were set to, and give each the other's setting if they \
                 were exchanged; if both are right, the light changed: take the bracket again."
            ),
            Self::Inconsistent { odd, .. } => format!(
                "Check that each setting stands after the photo taken at it, and that all photos \
                 are in the same light{}; if so, take the bracket again.",
                odd.as_ref().map_or_else(String::new, |path| format!(", {path} above all"))
            ),
            Self::SeveralCameras { .. } => {
                "Bracket each camera by itself; how far two cameras lie \
                                            apart, mirecast setups --same-light tells."
                    .to_owned()
            }
            Self::SettingUnknown { path } => {
                format!("Say what the camera was set to, as in {path}@5600K or {path}@tungsten.")
            }
            Self::TintNotEnclosed { left, add: [kelvin, duv] } => format!(
                "To bracket the tint, turn it toward {} and photograph the card again; name that \
                 photo as in PHOTO@{kelvin:.0}K,{duv:+.3}.",
                if *left > 0.0 { "magenta" } else { "green" },
            ),
        }
    }
}
