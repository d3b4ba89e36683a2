//! What to do about what is wrong with a card photo, in sentences.

use super::evenness::MIDDLE;
use super::problem::Problem;
use crate::balance::PresetTable;
use crate::told::Told;

impl Problem {
    /// What to do about it, in a sentence for where it is read.
    #[must_use]
    pub fn advice(&self, told: Told) -> String {
        match self {
            Self::NotFound | Self::Outshone { .. } => told
                .of_area(
                    "Fill the frame with the plain part of the card, without print, and photograph \
                     it again; or say where a plain part of it is with --area x,y,w,h.",
                    "Fill the frame with the plain part of the card, without print, and photograph \
                     it again.",
                )
                .to_owned(),
            Self::PictureTooSmall { least, .. } => format!(
                "Give the photo as the camera took it: it needs at least {least} pixels each way."
            ),
            Self::Blown { .. } => "If that is the card, close down by about two stops, fill the \
                                   frame with it and photograph it again."
                .to_owned(),
            Self::AreaOutside { .. } | Self::AreaTooSmall { .. } => told
                .of_area(
                    "Say where the card is with --area x,y,w,h, in pixels from the picture's top \
                     left; or leave it out, and the card is searched for.",
                    "Say where in the picture the card is, or let it be searched for.",
                )
                .to_owned(),
            Self::AreaNotPlain { .. } | Self::AreaUneven { .. } => told
                .of_area(
                    "Name an area that lies within the card, in pixels from the picture's top left, \
                     as in --area x,y,w,h; or leave it out, and the card is searched for.",
                    "Draw the area within the card, or let the card be searched for.",
                )
                .to_owned(),
            Self::AreaBeyond { .. } => "Draw the area so that it lies within the card.".to_owned(),
            Self::AreaCut { .. } => told
                .of_area(
                    "Check the four figures of --area: they are pixels from the upright picture's \
                     top left.",
                    "Check the area: it is in pixels from the upright picture's top left.",
                )
                .to_owned(),
            Self::Clipped { .. } => "Close down by one to two stops, until the card sits below \
                                     the right end of the histogram, and photograph it again."
                .to_owned(),
            // So near black the level is noise, and any figure made up.
            Self::Dark { stops } if *stops > 8.0 => "See that nothing is in front of the lens, \
                                                     give much more light or exposure, and \
                                                     photograph the card again."
                .to_owned(),
            Self::Dark { stops } | Self::Dim { stops, .. } => format!(
                "Open up by about {} and photograph the card again.",
                counted(*stops, "stop")
            ),
            Self::PartlyClipped { .. } => "Close down by about one stop, until the card sits \
                                           below the right end of the histogram, and photograph \
                                           it again."
                .to_owned(),
            Self::Coarse { .. } => "Set the camera to its finest JPEG quality and photograph the \
                                    card again; if this file was sent or saved anew, take the \
                                    camera's own."
                .to_owned(),
            Self::MixedLight { ends, .. } => {
                let block = "Turn off or block one of the lights, or turn the card to the light that \
                             matters most; a balance can match only one.";
                match ends.each_ref().map(|(place, _)| *place) == MIDDLE {
                    true => format!(
                        "{block} If what lies round the card is in the picture and out of focus, focus \
                         on the card, or go closer until it fills the frame."
                    ),
                    false => block.to_owned(),
                }
            }
            Self::Drift { .. } => "See whether a second light reaches the card, and block it: the \
                                   balance would lie between the two."
                .to_owned(),
            Self::Small { .. } => {
                "Go closer, or zoom in, until the card fills the frame.".to_owned()
            }
            Self::Uneven { .. } => "Turn the card square to the light and keep shadows, your own \
                                    too, off it."
                .to_owned(),
            Self::Coloured { .. } => {
                "Make sure that the card is white or neutral grey, and that no \
                                      coloured wall or cloth throws its light on it."
                    .to_owned()
            }
            Self::Banding => format!(
                "Use a shutter time that fits the mains: {} s at 50 Hz, {} s at 60 Hz.",
                shutters(50.0),
                shutters(60.0)
            ),
            Self::Glare { .. } => {
                "Tilt the card until the reflection is gone, or use a matt card.".to_owned()
            }
            Self::Marked { .. } => {
                "Use a clean card and keep fingers out of the picture.".to_owned()
            }
            Self::BalanceUnknown => told
                .of_balance(
                    "Say what the camera was set to, as in --shot-at daylight or --shot-at 5600K.",
                    "Say what the camera was set to, as in PHOTO@daylight or PHOTO@5600K.",
                    "Say which white balance the camera was set to.",
                )
                .to_owned(),
            Self::PresetUnknown { name } => {
                let kelvin = PresetTable::built_in()
                    .ok()
                    .and_then(|presets| presets.named(name).map(|preset| preset.white.cct.get()));
                let kelvin = kelvin.unwrap_or(5600.0);
                let [option, after_name] =
                    ["--shot-at ", "PHOTO@"].map(|how| format!(", as in {how}{kelvin:.0}K"));
                format!(
                    "Add {name} to the presets, or say what it stands for{}.",
                    told.of_balance(&option, &after_name, "")
                )
            }
            Self::AutoBalance => format!(
                "Set the camera to a fixed preset or a kelvin number, photograph the card again, \
                 and {}.",
                told.of_balance(
                    "name that balance with --shot-at",
                    "name that balance as in PHOTO@5600K",
                    "say which it was"
                )
            ),
            Self::FlashFired => "If you will not shoot by flash, turn it off and photograph the \
                                 card again."
                .to_owned(),
            Self::NoColour => "Turn the camera's black-and-white mode off and photograph the card \
                               again."
                .to_owned(),
            Self::OtherBalance { .. } => told
                .of_balance(
                    "If what the file records is right, leave --shot-at out.",
                    "If what the file records is right, leave out what stands after the @.",
                    "If what the file records is right, leave the balance as recorded.",
                )
                .to_owned(),
            Self::Incomplete { .. } => "Copy the file from the card again.".to_owned(),
            Self::Ignored { .. } => format!(
                "If the balance is missing or wrong, say what the camera was set to{}.",
                told.of_balance(" with --shot-at", ", as in PHOTO@5600K", "")
            ),
            Self::OddEncoding { .. } => {
                "Set the camera's colour space to sRGB, the usual one.".to_owned()
            }
        }
    }
}

fn shutters(hertz: f64) -> String {
    let [a, b, c] = fitting_shutters(hertz).map(|seconds| format!("1/{:.0}", 1.0 / seconds));
    format!("{a}, {b} or {c}")
}

/// Shutter times, in seconds, that hold whole flickers of lamps on mains of `hertz`: what to set
/// to have no bands. Longest first.
fn fitting_shutters(hertz: f64) -> [f64; 3] {
    [2.0, 1.0, 0.5].map(|mains_cycles| mains_cycles / hertz)
}

fn counted(number: f64, unit: &str) -> String {
    let whole = number.round().max(1.0);
    format!("{whole:.0} {unit}{}", if whole == 1.0 { "" } else { "s" })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn banding_names_shutters_for_both_mains_frequencies() {
        let advice = Problem::Banding.advice(Told::AtTerminal);
        assert!(advice.contains("1/25, 1/50 or 1/100 s at 50 Hz"), "{advice}");
        assert!(advice.contains("1/30, 1/60 or 1/120 s at 60 Hz"), "{advice}");
    }

    #[test]
    fn fitting_shutters_are_whole_flickers_long() {
        for hertz in [50.0, 60.0] {
            for shutter in fitting_shutters(hertz) {
                let flickers = shutter * 2.0 * hertz;
                assert!((flickers - flickers.round()).abs() < 1e-9 && flickers >= 1.0);
            }
        }
    }

    #[test]
    fn one_stop_is_the_least_that_is_named() {
        let dark = Problem::Dark { stops: 0.2 }.advice(Told::AtTerminal);
        assert_eq!(dark.matches("1 stop ").count(), 1);
    }

    #[test]
    fn of_a_black_picture_no_stops_are_counted() {
        let black = Problem::Dark { stops: 12.3 }.advice(Told::AtTerminal);
        assert!(!black.contains("stop") && black.contains("in front of the lens"), "{black}");
        assert!(Problem::Dark { stops: 7.0 }.advice(Told::AtTerminal).contains("7 stops"));
    }

    #[test]
    fn a_preset_that_the_table_lacks_is_named_with_what_it_usually_means() {
        let lacking = Problem::PresetUnknown { name: "shade".to_owned() };
        assert!(lacking.message().contains("records shade"), "{}", lacking.message());
        assert!(lacking.advice(Told::AtTerminal).contains("--shot-at 7500K"));
        assert!(lacking.advice(Told::AmongSetups).contains("PHOTO@7500K"));
        assert!(lacking.advice(Told::OnPage).ends_with("what it stands for."));
    }

    #[test]
    fn advice_on_a_page_asks_nobody_to_type() {
        let what = String::new();
        let problems = [
            Problem::NotFound,
            Problem::AreaTooSmall { least: 60 },
            Problem::BalanceUnknown,
            Problem::AutoBalance,
            Problem::Ignored { what },
        ];
        for problem in problems {
            let [typed, seen] = [Told::AtTerminal, Told::OnPage].map(|told| problem.advice(told));
            assert!(typed.contains("--"), "{typed}");
            assert!(!seen.contains("--") && seen.ends_with('.'), "{seen}");
        }
    }

    #[test]
    fn advice_names_only_what_the_command_takes() {
        let what = String::new();
        for problem in [Problem::BalanceUnknown, Problem::AutoBalance, Problem::Ignored { what }] {
            for told in [Told::AmongSetups, Told::InBracket] {
                let advice = problem.advice(told);
                assert!(advice.contains("PHOTO@5600K") && !advice.contains("--"), "{advice}");
            }
        }
        for problem in [Problem::NotFound, Problem::AreaTooSmall { least: 60 }] {
            assert!(problem.advice(Told::InBracket).contains("--area"), "dial has it");
            assert!(!problem.advice(Told::AmongSetups).contains("--"), "setups has not");
        }
    }
}
