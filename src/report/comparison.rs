//! A comparison of set-ups as text to read: each light, each difference, the one balance, the
//! gels, what to do.

use std::io::{self, Write};

use super::comparison_words::{
    camera_in_words, gel_in_words, nearest_preset, setup_in_figures, setup_in_words,
    shift_in_words, spread_in_words,
};
use super::gels::write_cautions;
use super::plain;
use super::text::{apart_in_columns, width, write_wrapped};
use super::words::{kelvin, sentence, signed};
use crate::setups::{CameraOffset, Comparison, GelChoice, OneBalance, SetupRecord, Shift};

const INDENT: &str = "  ";
/// Longer names of set-ups are cut in columns.
const LONGEST_NAME: usize = 20;

/// Writes a comparison as text of at most 80 columns, but for file names that are longer.
///
/// # Errors
/// What the writer says.
pub fn write_comparison_text(out: &mut impl Write, comparison: &Comparison) -> io::Result<()> {
    for setup in &comparison.setups {
        write_setup(out, setup)?;
    }
    for shift in &comparison.shifts {
        write_shift(out, shift)?;
    }
    for camera in &comparison.cameras {
        write_camera(out, camera)?;
    }
    if !comparison.shifts.is_empty() || !comparison.cameras.is_empty() {
        writeln!(out)?;
        let text = "Figures in brackets hold the truth nine times in ten. Plus mired is more \
                    orange, minus is bluer; plus Duv is greener, minus more magenta.";
        write_wrapped(out, "", "", text)?;
    }
    if let Some(balance) = &comparison.balance {
        write_balance(out, balance)?;
    }
    if !comparison.gels.is_empty() {
        write_gels(out, &comparison.gels)?;
        writeln!(out, "{INDENT}Take care:")?;
        write_cautions(out, &comparison.cautions)?;
    }
    if !comparison.problems.is_empty() {
        writeln!(out)?;
    }
    for problem in &comparison.problems {
        write_wrapped(out, "Note: ", INDENT, &sentence(&problem.message))?;
    }
    if !comparison.advice.is_empty() {
        writeln!(out, "\nWhat next")?;
    }
    for advice in &comparison.advice {
        // Some begin with a file's name, which stays as it is.
        write_wrapped(out, "  - ", "    ", advice)?;
    }
    out.flush()
}

fn write_setup(out: &mut impl Write, setup: &SetupRecord) -> io::Result<()> {
    write_wrapped(out, "", INDENT, &format!("{}: {}", setup.name, setup_in_words(setup)))?;
    for text in setup_in_figures(setup).into_iter().chain(spread_in_words(setup)) {
        write_wrapped(out, INDENT, INDENT, &text)?;
    }
    for left_out in &setup.left_out {
        let text = format!("Left out: {}: {}", left_out.path, sentence(&left_out.message));
        write_wrapped(out, INDENT, "    ", &text)?;
    }
    Ok(())
}

fn write_shift(out: &mut impl Write, shift: &Shift) -> io::Result<()> {
    writeln!(out)?;
    write_wrapped(out, "", INDENT, &format!("From {} to {}", shift.from, shift.to))?;
    for text in shift_in_words(shift) {
        write_wrapped(out, INDENT, INDENT, &text)?;
    }
    Ok(())
}

fn write_camera(out: &mut impl Write, offset: &CameraOffset) -> io::Result<()> {
    let CameraOffset { reference, camera, .. } = offset;
    writeln!(out)?;
    write_wrapped(out, "", INDENT, &format!("{camera} beside {reference}, in one light"))?;
    for text in camera_in_words(offset) {
        write_wrapped(out, INDENT, INDENT, &text)?;
    }
    Ok(())
}

fn write_balance(out: &mut impl Write, balance: &OneBalance) -> io::Result<()> {
    writeln!(
        out,
        "\nOne balance for all: {} K, Duv {}",
        kelvin(balance.kelvin),
        signed(balance.duv, 4)
    )?;
    let names = balance.misses.iter().map(|miss| width(&plain(&miss.setup)));
    let name = names.max().unwrap_or(0).min(LONGEST_NAME);
    let setups: Vec<_> = balance.misses.iter().map(|miss| miss.setup.as_str()).collect();
    for (miss, name) in balance.misses.iter().zip(apart_in_columns(&setups, name)) {
        writeln!(
            out,
            "{INDENT}{name}  {:>5} mired  Duv {:>7}  {}",
            signed(miss.mired, 0),
            signed(miss.duv, 4),
            miss.appearance
        )?;
    }
    match nearest_preset(balance) {
        Some(text) => write_wrapped(out, INDENT, INDENT, &text),
        None => Ok(()),
    }
}

fn write_gels(out: &mut impl Write, gels: &[GelChoice]) -> io::Result<()> {
    writeln!(out, "\nGels, by their nominal figures")?;
    for choice in gels {
        let [gel, left] = gel_in_words(choice);
        write_wrapped(out, INDENT, "    ", &gel)?;
        write_wrapped(out, "    ", "    ", &left)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::balance::{GelTable, PresetTable, White};
    use crate::colour::{Duv, Kelvin};
    use crate::report::{examples, rounded_comparison};
    use crate::setups::{ComparisonOptions, PhotoFailure, Setup, SetupPhoto, compare};

    fn stated(name: &str, kelvin: f64, duv: f64) -> Setup {
        let white = White::new(Kelvin::new(kelvin).unwrap(), Duv::new(duv)).unwrap();
        Setup::Stated { name: name.to_owned(), white }
    }

    fn photo(path: &str, reading: crate::card::CardReading) -> SetupPhoto {
        SetupPhoto {
            path: path.into(),
            apparent: reading.light,
            reading: Ok(reading),
            is_raw: false,
        }
    }

    fn photographed(name: &str, photos: Vec<SetupPhoto>) -> Setup {
        Setup::Photographed { name: name.to_owned(), photos }
    }

    fn text(setups: &[Setup], same_light: bool) -> String {
        let options = ComparisonOptions {
            presets: PresetTable::built_in().unwrap(),
            gels: GelTable::built_in().unwrap(),
            same_light,
        };
        let comparison = rounded_comparison(compare(setups, &options));
        let mut out = Vec::new();
        write_comparison_text(&mut out, &comparison).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn a_comparison_reads_well() {
        let window = vec![
            photo("window/1.jpg", examples::daylight()),
            photo("window/2.jpg", examples::flawed()),
            photo("window/3.jpg", examples::refused()),
        ];
        let gone = PhotoFailure { code: "missing".to_owned(), message: "no file".to_owned() };
        let gone = SetupPhoto {
            path: "gone.jpg".into(),
            reading: Err(gone),
            apparent: None,
            is_raw: false,
        };
        let setups = [
            photographed("window", window),
            stated("tube", 4000.0, 0.014),
            photographed("auto", vec![photo("auto.jpg", examples::unplaced())]),
            photographed("gone.jpg", vec![gone]),
            photographed("empty", Vec::new()),
        ];
        insta::assert_snapshot!(text(&setups, false), @r"
        window: like daylight
          5460 K (5310 to 5620), Duv +0.0031 (-0.0012 to +0.0074)
          From 2 photos, less than a mired apart
          Left out: window/3.jpg: Over-exposed: 92 % of the card is saturated, so its
            colour is lost.
        tube: as you said
          4000 K, Duv +0.0140
        auto: its light is unknown
          Left out: auto.jpg: The file does not say what balance the camera used, so the
            light cannot be placed; the card came out clearly orange.
        gone.jpg: could not be read
          Left out: gone.jpg: No file.
        empty: there is no photo that is read in this folder

        From window to tube
          With the balance right for window, tube looks strongly orange and clearly
          green.
          +67 mired (+62 to +72), Duv +0.0109 (+0.0066 to +0.0152)
          The difference is real, in mired and in tint.

        Figures in brackets hold the truth nine times in ten. Plus mired is more orange,
        minus is bluer; plus Duv is greener, minus more magenta.

        One balance for all: 4620 K, Duv +0.0086
          window    -33 mired  Duv -0.0054  clear blue, slight magenta
          tube      +33 mired  Duv +0.0054  clear orange, slight green
          The preset that comes nearest is fluorescent (4223 K), at worst 54 mired and
          0.0122 Duv off.

        Gels, by their nominal figures
          On window, toward tube: 1/2 CTO + 1/4 plus green; 0.7 stops less light
            Left over: -2 mired, Duv -0.0029: about right
          On tube, toward window: 1/2 CTB + 1/4 minus green; 1.1 stops less light
            Left over: +2 mired, Duv +0.0029: about right
          Take care:
          - Switch the lamp off and let it cool before you put a gel on or take it off.
          - Hold gels in a frame well away from the lamp and its vents; never wrap or
            tape them to a hot lamp.
          - Weigh down stands, secure what hangs overhead, and have a second person hold
            a ladder.
          - Leave mains wiring to a competent person. The maker's instructions for lamp
            and gel and your local codes come first.

        Note: The tints of window and tube differ: tube is greener by 0.0109 Duv. A
          temperature gel alone cannot make them match.

        What next
          - Gel the others to match one source, and balance for that; without gels,
            balance for the one that matters most, or set 4620 K and be off both ways
            alike.
          - window/3.jpg: Close down by one to two stops, until the card sits below the
            right end of the histogram, and photograph it again.
          - Put photos of a card into empty, or name another folder.
        ");
    }

    #[test]
    fn lights_that_do_not_differ_call_for_nothing() {
        let setups = [stated("5500K", 5500.0, 0.003), stated("5600K", 5600.0, 0.003)];
        insta::assert_snapshot!(text(&setups, false), @r"
        5500K: as you said
          5500 K, Duv +0.0030
        5600K: as you said
          5600 K, Duv +0.0030

        From 5500K to 5600K
          With the balance right for 5500K, 5600K looks about right too.
          -3 mired, Duv 0.0000
          The difference is real, but hardly shows.

        Figures in brackets hold the truth nine times in ten. Plus mired is more orange,
        minus is bluer; plus Duv is greener, minus more magenta.

        One balance for all: 5550 K, Duv +0.0030
          5500K     +2 mired  Duv  0.0000  about right
          5600K     -2 mired  Duv  0.0000  about right
          The preset that comes nearest is daylight (5500 K), at worst 3 mired off.

        What next
          - One balance does for all of them: set the camera to 5550 K.
        ");
    }

    #[test]
    fn a_tint_that_hardly_shows_is_not_made_much_of() {
        let setups = [stated("cloudy", 6500.0, 0.0033), stated("shade", 7500.0, 0.0032)];
        let text = text(&setups, false);
        assert!(text.contains("in mired is real; that in tint is too small to show"), "{text}");
    }

    #[test]
    fn cameras_say_what_to_dial() {
        let mut other = examples::daylight();
        if let Some(light) = &mut other.light {
            light.mired += 14.0;
            light.mired_interval = light.mired_interval.map(|end| end + 14.0);
            light.duv -= 0.002;
        }
        let setups = [
            photographed("first", vec![photo("1.jpg", examples::daylight())]),
            photographed("second", vec![photo("2.jpg", other)]),
            photographed("third", vec![photo("3.jpg", examples::daylight())]),
        ];
        insta::assert_snapshot!(text(&setups, true), @r"
        first: like daylight
          5460 K (5310 to 5620), Duv +0.0031 (-0.0012 to +0.0074)
        second: like daylight
          5070 K (4940 to 5210), Duv +0.0011 (-0.0012 to +0.0074)
        third: like daylight
          5460 K (5310 to 5620), Duv +0.0031 (-0.0012 to +0.0074)

        second beside first, in one light
          The pictures of second look slightly orange beside the other at one setting.
          +14 mired (+6 to +22), Duv -0.0020 (-0.0069 to +0.0056)
          Where first is set to 5500 K, set second to 5110 K (+14 mired), and leave its
          tint.

        third beside first, in one light
          The pictures of third look about the same at one setting.
          0 mired (-7 to +7), Duv 0.0000 (-0.0061 to +0.0061)
          That is within the uncertainty: leave both cameras at the same setting.

        Figures in brackets hold the truth nine times in ten. Plus mired is more orange,
        minus is bluer; plus Duv is greener, minus more magenta.
        ");
    }

    #[test]
    fn no_line_is_wider_than_the_page_and_nothing_steers_the_terminal() {
        let long = "a set-up with a name that goes on and on and on and \u{1b}[2J on";
        let setups = [stated(long, 3200.0, 0.02), stated("b", 5600.0, -0.01)];
        let text = text(&setups, false);
        let wide: Vec<&str> = text.lines().filter(|line| width(line) > 80).collect();
        assert_eq!(wide, [""; 0]);
        assert!(!text.chars().any(|c| c.is_control() && c != '\n'), "{text:?}");
    }
}
