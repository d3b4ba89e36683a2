//! A bracket of balance settings as text to read: where the card is neutral, then each photo.

use std::io::{self, Write};

use super::plain;
use super::text::{width, write_wrapped};
use super::words::{kelvin, light_in_figures, light_in_words, sentence, signed};
use crate::balance::{appearance, looks};
use crate::setups::{BracketPhoto, BracketReading, NeutralAt};

const INDENT: &str = "  ";
const LABELLED: &str = "              ";

/// Writes a bracket as text of at most 80 columns, but for file names that are longer.
///
/// # Errors
/// What the writer says.
pub fn write_bracket_text(out: &mut impl Write, bracket: &BracketReading) -> io::Result<()> {
    match &bracket.neutral_at {
        Some(neutral) => write_neutral(out, neutral)?,
        None => writeln!(out, "{}", nowhere_neutral(bracket))?,
    }
    if let Some(light) = &bracket.light {
        let words = light_in_words(light);
        write_wrapped(out, &format!("{INDENT}{:<12}", "The light"), LABELLED, &words)?;
        let text =
            format!("{}, with what the camera's sensor leaves open", light_in_figures(light));
        write_wrapped(out, LABELLED, LABELLED, &text)?;
    }
    if bracket.photos.iter().any(|photo| photo.left_out.is_none()) {
        writeln!(out, "\n{INDENT}Setting  How the card came out")?;
    }
    for photo in bracket.photos.iter().filter(|photo| photo.left_out.is_none()) {
        write_photo(out, photo)?;
    }
    let left_out = bracket.photos.iter().filter_map(|photo| photo.left_out.as_ref());
    for photo in left_out {
        let text = format!("Left out: {}: {}", photo.path, sentence(&photo.message));
        write_wrapped(out, INDENT, "    ", &text)?;
    }
    // A photo without a setting is among those left out.
    let problems = || bracket.problems.iter().filter(|problem| problem.code != "setting-unknown");
    if problems().next().is_some() {
        writeln!(out)?;
    }
    for problem in problems() {
        let text = ended(&problem.message);
        write_wrapped(out, &format!("{INDENT}Note: "), "    ", &text)?;
    }
    if !bracket.advice.is_empty() {
        writeln!(out, "\n{INDENT}What next")?;
    }
    for advice in &bracket.advice {
        write_wrapped(out, "    - ", "      ", advice)?;
    }
    out.flush()
}

fn write_neutral(out: &mut impl Write, neutral: &NeutralAt) -> io::Result<()> {
    writeln!(out, "{}", neutral_in_words(neutral))?;
    write_wrapped(out, INDENT, INDENT, &neutral_in_figures(neutral))?;
    write_wrapped(out, INDENT, INDENT, how_sure(neutral))
}

/// Of a bracket that does not tell where.
pub(super) fn nowhere_neutral(bracket: &BracketReading) -> &'static str {
    if bracket.problems.iter().any(|problem| problem.code == "contradiction") {
        "The bracket contradicts itself: where the card is neutral cannot be said"
    } else {
        "Where the card is neutral cannot be said from these photos"
    }
}

pub(super) fn neutral_in_words(neutral: &NeutralAt) -> String {
    // Its ends outward: they are often nearer to each other than the figures shown.
    let [low, high] = neutral.kelvin_interval;
    let (low, high) = ((low / 10.0).floor() * 10.0, (high / 10.0).ceil() * 10.0);
    format!(
        "The card is neutral on this camera at {} K ({low:.0} to {high:.0})",
        kelvin(neutral.kelvin)
    )
}

pub(super) fn neutral_in_figures(neutral: &NeutralAt) -> String {
    let [duv_low, duv_high] = neutral.duv_interval.map(|duv| signed(duv, 4));
    let [mired_low, mired_high] = neutral.mired_interval;
    let left = match signed(neutral.tint_left_duv, 3).as_str() {
        "0.000" => "that number alone leaves no tint".to_owned(),
        shown => format!(
            "at that number alone it is still {} by {:.4} Duv",
            if shown.starts_with('+') { "green" } else { "magenta" },
            neutral.tint_left_duv.abs()
        ),
    };
    format!(
        "{:.1} mired ({mired_low:.1} to {mired_high:.1}), Duv {} ({duv_low} to {duv_high}); {left}.",
        neutral.mired,
        signed(neutral.duv, 4)
    )
}

pub(super) fn how_sure(neutral: &NeutralAt) -> &'static str {
    if neutral.enclosed {
        "Where nothing of the card's colour is left, the camera's tone curve has nothing to bend: \
         no rendered picture can say it more exactly."
    } else {
        "The settings do not enclose it, so it is less sure than a bracket can be."
    }
}

fn write_photo(out: &mut impl Write, photo: &BracketPhoto) -> io::Result<()> {
    let setting = photo.setting_kelvin.map_or_else(String::new, |kelvin| format!("{kelvin:.0} K"));
    let came_out = came_out(photo).map_or_else(String::new, |(mired, duv)| {
        let figures = format!("{} mired, Duv {}", signed(mired, 0), signed(duv, 4));
        format!("{figures:<25}  {}", looks(&appearance(mired, duv)))
    });
    let line = format!("{INDENT}{setting:>7}  {came_out}");
    let path = plain(&photo.path);
    if width(&line) + 2 + width(&path) <= super::text::WIDTH {
        writeln!(out, "{line}  {path}")
    } else {
        writeln!(out, "{line}\n{INDENT}         {path}")
    }
}

/// The card's residual in a photo, mired and Duv, where it has one.
pub(super) fn came_out(photo: &BracketPhoto) -> Option<(f64, f64)> {
    photo.residual.as_ref().and_then(|residual| residual.mired.zip(residual.duv))
}

/// Text that may begin with a file's name, which stays as it is.
pub(super) fn ended(text: &str) -> String {
    if text.ends_with('.') { text.to_owned() } else { format!("{text}.") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::card::{CardReading, LightReading, ModelError};
    use crate::report::{examples, rounded_bracket};
    use crate::setups::{SetupPhoto, read_bracket};

    /// A photo at a setting, of a card in a light of 250 mired.
    fn at(path: &str, kelvin: f64) -> SetupPhoto {
        let mired = 1e6 / kelvin + 1.05 * (250.0 - 1e6 / kelvin);
        let mut reading = examples::daylight();
        reading.shot.balance.kelvin = Some(kelvin);
        reading.shot.balance.duv = Some(0.0);
        if let Some(residual) = &mut reading.residual {
            residual.mired = Some(mired - 1e6 / kelvin);
            residual.duv = Some(0.0041);
        }
        reading.light = Some(LightReading {
            cct_kelvin: 1e6 / mired,
            cct_interval_kelvin: [1e6 / (mired + 2.0), 1e6 / (mired - 2.0)],
            mired,
            mired_interval: [mired - 2.0, mired + 2.0],
            duv: 0.0041,
            duv_interval: [0.0033, 0.0049],
        });
        photo(path, reading)
    }

    fn photo(path: &str, reading: CardReading) -> SetupPhoto {
        SetupPhoto { path: path.into(), reading: Ok(reading), apparent: None, is_raw: false }
    }

    fn text(photos: &[SetupPhoto]) -> String {
        let bracket = rounded_bracket(read_bracket(photos, ModelError::none()));
        let mut out = Vec::new();
        write_bracket_text(&mut out, &bracket).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn a_bracket_reads_well() {
        let photos = [
            at("1.jpg", 3500.0),
            at("2.jpg", 3800.0),
            at("3.jpg", 4100.0),
            photo("auto.jpg", examples::unplaced()),
            photo("white.jpg", examples::refused()),
        ];
        insta::assert_snapshot!(text(&photos), @r"
        The card is neutral on this camera at 4000 K (3980 to 4020)
          250.0 mired (249.0 to 250.9), Duv +0.0041 (+0.0029 to +0.0053); at that number
          alone it is still green by 0.0014 Duv.
          Where nothing of the card's colour is left, the camera's tone curve has
          nothing to bend: no rendered picture can say it more exactly.
          The light   Like a neutral-white lamp
                      4000 K (3980 to 4020), Duv +0.0041 (+0.0029 to +0.0053), with what
                      the camera's sensor leaves open

          Setting  How the card came out
           3500 K  -38 mired, Duv +0.0041     clearly blue, slightly green  1.jpg
           3800 K  -14 mired, Duv +0.0041     slightly blue, slightly green  2.jpg
           4100 K  +6 mired, Duv +0.0041      slightly green  3.jpg
          Left out: auto.jpg: The file does not say what balance the camera used, so the
            light cannot be placed; the card came out clearly orange.
          Left out: white.jpg: Over-exposed: 92 % of the card is saturated, so its
            colour is lost.

          What next
            - Set this camera to 4000 K for this light.
            - Say what the camera was set to, as in auto.jpg@5600K or auto.jpg@tungsten.
            - white.jpg: Close down by one to two stops, until the card sits below the
              right end of the histogram, and photograph it again.
        ");
    }

    #[test]
    fn a_bracket_beside_neutral_says_what_to_add() {
        insta::assert_snapshot!(text(&[at("1.jpg", 5500.0), at("2.jpg", 5000.0)]), @r"
        Where the card is neutral cannot be said from these photos

          Setting  How the card came out
           5500 K  +72 mired, Duv +0.0041     strongly orange, slightly green  1.jpg
           5000 K  +52 mired, Duv +0.0041     clearly orange, slightly green  2.jpg

          Note: neutral lies beyond the settings: the card came out orange at every one
            of them.

          What next
            - Photograph the card at 3750 K as well.
        ");
    }

    #[test]
    fn a_bracket_that_contradicts_itself_says_so_and_advises_no_setting() {
        let swapped = |path: &str, kelvin: f64, stated: f64| {
            let mut photo = at(path, kelvin);
            if let Ok(CardReading { light: Some(light), shot, .. }) = &mut photo.reading {
                shot.balance.kelvin = Some(stated);
                light.mired += 1e6 / stated - 1e6 / kelvin;
            }
            photo
        };
        let photos = [
            swapped("1.jpg", 3500.0, 4600.0),
            swapped("2.jpg", 4000.0, 4000.0),
            swapped("3.jpg", 4600.0, 3500.0),
        ];
        insta::assert_snapshot!(text(&photos), @r"
        The bracket contradicts itself: where the card is neutral cannot be said

          Setting  How the card came out
           4600 K  -38 mired, Duv +0.0041     clearly blue, slightly green  1.jpg
           4000 K  0 mired, Duv +0.0041       slightly green  2.jpg
           3500 K  +34 mired, Duv +0.0041     clearly orange, slightly green  3.jpg

          Note: at higher settings the card came out bluer; a camera makes it more
            orange there.

          What next
            - Check that each setting stands after the photo taken at it, and that all
              photos are in the same light; if so, take the bracket again.
        ");
    }

    #[test]
    fn no_line_is_wider_than_the_page_and_nothing_steers_the_terminal() {
        let name = "a photo with a name that goes on and on and \u{1b}[2J on.jpg";
        let text = text(&[at(name, 3500.0), at("b.jpg", 4200.0)]);
        let wide: Vec<&str> = text.lines().filter(|line| width(line) > 80).collect();
        assert_eq!(wide, [""; 0]);
        assert!(!text.chars().any(|c| c.is_control() && c != '\n'), "{text:?}");
    }
}
