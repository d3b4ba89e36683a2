//! Card records as text to read: the verdict first, then the light, the presets, what to do.

use std::io::{self, Write};

use super::card_words::{
    Tone, UNREAD, balance_in_words, card_in_words, residual_in_words, verdict_in_words,
};
use super::scale::{Scale, Span};
use super::text::{WIDTH, in_columns, width, write_wrapped};
use super::words::{light_in_figures, light_in_words, sentence, signed};
use super::{PhotoOutcome, PhotoRecord, Tally, plain};
use crate::card::{CardReading, LightReading, Status};

/// Whether verdicts are emphasised with terminal colours; they never carry the meaning alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Emphasis {
    /// No escape sequences at all.
    None,
    /// Verdicts bold, and green, yellow or red.
    Colour,
}

/// Writes photos one after the other, and a count at the end. Lines are at most 80 columns wide,
/// but for file names that are longer.
#[derive(Debug)]
pub struct CardSheet<W> {
    out: W,
    emphasis: Emphasis,
    tally: Tally,
    explained: bool,
    explained_arrows: bool,
}

const INDENT: &str = "  ";
const LABELLED: &str = "              ";

impl<W: Write> CardSheet<W> {
    /// An empty sheet.
    #[must_use]
    pub fn new(out: W, emphasis: Emphasis) -> Self {
        Self { out, emphasis, tally: Tally::default(), explained: false, explained_arrows: false }
    }

    /// Writes one photo.
    ///
    /// # Errors
    /// What the writer says.
    pub fn write(&mut self, record: &PhotoRecord) -> io::Result<()> {
        if self.tally.photos() > 0 {
            writeln!(self.out)?;
        }
        self.tally.count(record);
        match &record.outcome {
            PhotoOutcome::Failed(failure) => {
                self.verdict(&record.path.path, UNREAD, Tone::Bad)?;
                let message = sentence(&failure.error.message);
                write_wrapped(&mut self.out, INDENT, INDENT, &message)?;
            }
            PhotoOutcome::Reading(reading) => self.reading(&record.path.path, reading)?,
        }
        self.out.flush()
    }

    /// Writes the count, where there was more than one photo, and gives the writer back.
    ///
    /// # Errors
    /// What the writer says.
    pub fn finish(mut self) -> io::Result<W> {
        if self.tally.photos() > 1 {
            writeln!(self.out)?;
            write_wrapped(&mut self.out, "", INDENT, &sentence(&self.tally.to_string()))?;
        }
        self.out.flush()?;
        Ok(self.out)
    }

    fn reading(&mut self, path: &str, reading: &CardReading) -> io::Result<()> {
        let (verdict, tone) = verdict_in_words(reading);
        self.verdict(path, verdict, tone)?;
        if reading.status != Status::Refused {
            self.findings(reading)?;
        }
        self.problems(reading)?;
        if let Some(light) = &reading.light {
            self.presets(reading, light)?;
        }
        self.advice(reading)
    }

    /// The first line: file name and verdict; below each other where they do not fit.
    fn verdict(&mut self, path: &str, verdict: &str, tone: Tone) -> io::Result<()> {
        let path = plain(path);
        let gap = if width(&path) + 2 + width(verdict) > WIDTH { "\n  " } else { " " };
        match self.emphasis {
            Emphasis::None => writeln!(self.out, "{path}:{gap}{verdict}"),
            Emphasis::Colour => {
                writeln!(self.out, "{path}:{gap}\u{1b}[1;{}m{verdict}\u{1b}[0m", tone.code())
            }
        }
    }

    /// What refuses a card says why; all else is a note.
    fn problems(&mut self, reading: &CardReading) -> io::Result<()> {
        for problem in &reading.card.problems {
            let before = if problem.refuses() { "" } else { "Note: " };
            let text = format!("{before}{}", sentence(&problem.message));
            write_wrapped(&mut self.out, INDENT, "    ", &text)?;
        }
        Ok(())
    }

    fn findings(&mut self, reading: &CardReading) -> io::Result<()> {
        match (&reading.light, &reading.residual) {
            (Some(light), _) => {
                self.labelled("The light", &light_in_words(light))?;
                self.labelled("", &light_in_figures(light))?;
            }
            (None, Some(residual)) => self.labelled("The card", &residual_in_words(residual))?,
            (None, None) => {}
        }
        let card = card_in_words(&reading.card);
        let shot_at = balance_in_words(&reading.shot.balance);
        if reading.light.is_some() {
            self.labelled("Shot at", &shot_at)?;
            self.labelled("The card", &card)
        } else {
            self.labelled("", &card)?;
            self.labelled("Shot at", &shot_at)
        }
    }

    fn labelled(&mut self, label: &str, text: &str) -> io::Result<()> {
        write_wrapped(&mut self.out, &format!("{INDENT}{label:<12}"), LABELLED, text)
    }

    fn presets(&mut self, reading: &CardReading, light: &LightReading) -> io::Result<()> {
        if reading.presets.is_empty() {
            return Ok(());
        }
        let looks = reading.presets.iter().map(|miss| width(&miss.appearance)).max().unwrap_or(0);
        let longest = reading.presets.iter().map(|miss| width(&plain(&miss.name))).max();
        // Name, kelvin, mired and words with the gaps between; the scale takes what is left.
        let others = INDENT.len() + (2 + 5) + (2 + 5) + 2 + (2 + looks);
        let name = longest.unwrap_or(0).max("Preset".len()).min(LONGEST_NAME);
        let room = WIDTH.saturating_sub(others + name).min(MOST_COLUMNS);

        let spans: Vec<Span> = reading
            .presets
            .iter()
            .map(|miss| Span {
                low: light.mired_interval[0] - light.mired + miss.miss_mired,
                miss: miss.miss_mired,
                high: light.mired_interval[1] - light.mired + miss.miss_mired,
            })
            .collect();
        let scale = Scale::fitting(&spans, room);

        writeln!(self.out)?;
        write_wrapped(
            &mut self.out,
            INDENT,
            INDENT,
            "How far each preset would miss this light, the miss that shows least first:",
        )?;
        let heading = scale.heading();
        writeln!(self.out, "{INDENT}{:<name$}      K  mired  {}", "Preset", heading.trim_end())?;
        for (miss, span) in reading.presets.iter().zip(&spans) {
            writeln!(
                self.out,
                "{INDENT}{}  {:>5.0}  {:>5}  {}  {}",
                in_columns(&miss.name, name),
                miss.kelvin,
                signed(miss.miss_mired, 0),
                scale.line(*span),
                miss.appearance
            )?;
        }
        self.explain()?;
        let beyond = spans.iter().any(|span| scale.line(*span).contains(['<', '>']));
        if beyond && !self.explained_arrows {
            self.explained_arrows = true;
            let text =
                "Where < or > stands, it goes on beyond the scale; the figure tells how far.";
            write_wrapped(&mut self.out, INDENT, INDENT, text)?;
        }
        Ok(())
    }

    /// Once a sheet: what the brackets and marks mean.
    fn explain(&mut self) -> io::Result<()> {
        if self.explained {
            return Ok(());
        }
        self.explained = true;
        let text = "On the scale o is the miss, to the left if bluer, to the right if more orange, \
                    and | is no miss. Brackets, in the figures as on the scale, hold the truth \
                    nine times in ten.";
        write_wrapped(&mut self.out, INDENT, INDENT, text)
    }

    fn advice(&mut self, reading: &CardReading) -> io::Result<()> {
        if reading.advice.is_empty() {
            return Ok(());
        }
        writeln!(self.out, "\n{INDENT}What next")?;
        for advice in &reading.advice {
            write_wrapped(&mut self.out, "    - ", "      ", &sentence(advice))?;
        }
        Ok(())
    }
}

/// Preset names longer than this are cut.
const LONGEST_NAME: usize = 24;
/// A wider scale tells no more.
const MOST_COLUMNS: usize = 33;

impl Tone {
    /// The foreground colour (ECMA-48 select graphic rendition).
    fn code(self) -> u8 {
        match self {
            Self::Good => 32,
            Self::Fair => 33,
            Self::Bad => 31,
        }
    }
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::*;
    use crate::report::examples;

    fn sheet(records: &[PhotoRecord], emphasis: Emphasis) -> String {
        let mut sheet = CardSheet::new(Vec::new(), emphasis);
        records.iter().for_each(|record| sheet.write(record).unwrap());
        String::from_utf8(sheet.finish().unwrap()).unwrap()
    }

    #[test]
    fn every_kind_of_photo_reads_well() {
        insta::assert_snapshot!(sheet(&examples::of_every_kind(), Emphasis::None), @r"
        card-window.jpg: good to balance from
          The light   Like daylight
                      5460 K (5310 to 5620), Duv +0.0031 (-0.0012 to +0.0074)
          Shot at     Daylight, 5500 K, as the camera recorded
          The card    Covers 96 % of the frame; brightest channel at 78 % of full scale

          How far each preset would miss this light, the miss that shows least first:
          Preset           K  mired  bluer         0
          daylight      5500     +1               [o]       about right
          flash         5900    +14                [o]      slight orange
          cloudy        6500    +29                | [o]    clear orange
          fluorescent   4230    -53          [o]   |        clear blue
          shade         7500    +50                |   [o]  clear orange
          tungsten      3200   -129  [o]           |        strong blue, slight green
          On the scale o is the miss, to the left if bluer, to the right if more orange,
          and | is no miss. Brackets, in the figures as on the scale, hold the truth
          nine times in ten.

          What next
            - Set the custom balance from this photo.
            - The daylight preset would be about right as well.

        card-far.jpg: can be balanced from; see the notes
          The light   Like daylight
                      5460 K (5310 to 5620), Duv +0.0031 (-0.0012 to +0.0074)
          Shot at     Daylight, 5500 K, as the camera recorded
          The card    Brightest channel at 78 % of full scale
          Note: The card covers only 12 % of the frame.
          Note: A bright reflection was left out (under 1 % of the card).

          How far each preset would miss this light, the miss that shows least first:
          Preset           K  mired  bluer         0
          daylight      5500     +1               [o]       about right
          flash         5900    +14                [o]      slight orange
          cloudy        6500    +29                | [o]    clear orange
          fluorescent   4230    -53          [o]   |        clear blue
          shade         7500    +50                |   [o]  clear orange
          tungsten      3200   -129  [o]           |        strong blue, slight green

          What next
            - Set the custom balance from this photo.
            - The daylight preset would be about right as well.
            - Go closer, or zoom in, until the card fills the frame.

        card-auto.jpg: can be balanced from, but its light is unknown
          The card    Came out clearly orange: +41 mired and Duv +0.0011 from neutral
                      Covers 96 % of the frame; brightest channel at 78 % of full scale
          Shot at     Unknown: the file does not record it
          Note: The file does not say what balance the camera used, so the light cannot
            be placed.

          What next
            - Say what the camera was set to, as in --shot-at daylight or
              --shot-at 5600K.

        card-white.jpg: cannot be balanced from
          Over-exposed: 92 % of the card is saturated, so its colour is lost.
          Note: The file does not say what balance the camera used, so the light cannot
            be placed.

          What next
            - Close down by one to two stops, until the card sits below the right end of
              the histogram, and photograph it again.

        card-missing.jpg: could not be read
          There is no such file. Check the name and the folder.

        5 photos: 1 good, 1 with notes, 1 good but in unknown light, 1 cannot be
          balanced from, 1 could not be read.
        ");
    }

    #[test]
    fn no_line_is_wider_than_the_page_whatever_a_record_holds() {
        let mut wide = examples::flawed();
        wide.presets[0].name = "a-preset-with-a-name-that-goes-on-and-on".to_owned();
        wide.presets[1].appearance = "strong magenta, strong magenta".to_owned();
        wide.presets[2].miss_mired = -12_345.0;
        wide.advice.push("word ".repeat(60));
        let name = format!("{}.jpg", "x".repeat(70));
        let text = sheet(&[PhotoRecord::read(Path::new(&name), wide)], Emphasis::None);
        assert_eq!(text.lines().filter(|line| width(line) > WIDTH).collect::<Vec<_>>(), [""; 0]);
    }

    #[test]
    fn colour_is_on_the_verdict_alone_and_never_says_more() {
        let records = examples::of_every_kind();
        let coloured = sheet(&records, Emphasis::Colour);
        assert!(coloured.contains("card-window.jpg: \u{1b}[1;32mgood to balance from\u{1b}[0m\n"));
        let mut bare = coloured.replace("\u{1b}[0m", "");
        for code in [31, 32, 33] {
            bare = bare.replace(&format!("\u{1b}[1;{code}m"), "");
        }
        assert_eq!(bare, sheet(&records, Emphasis::None));
    }

    #[test]
    fn nothing_in_a_record_reaches_the_terminal_raw() {
        let mut reading = examples::flawed();
        reading.presets[0].name = "a\u{1b}[2J".to_owned();
        reading.advice[0] = "b\u{1b}[2J".to_owned();
        reading.card.problems[0].message = "c\u{7}".to_owned();
        reading.shot.balance.name = Some("d\u{9b}2J".to_owned());
        let record = PhotoRecord::read(Path::new("e\u{1b}]0;x\u{7}\n.jpg"), reading);
        let text = sheet(&[record], Emphasis::None);
        assert!(!text.chars().any(|c| c.is_control() && c != '\n'), "{text:?}");
        assert!(text.starts_with("e\\u{1b}]0;x\\u{7}\\n.jpg: "), "{text}");
    }
}
