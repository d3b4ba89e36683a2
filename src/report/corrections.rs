//! Corrections as text to read.

use std::io::{self, Write};

use super::text::{WIDTH, in_columns, width, write_wrapped};
use super::words::{capitalised, signed};
use crate::grade::{CorrectionRecord, MadeRecord, Strength};
use crate::told::Told;

/// What is printed of corrections.
#[derive(Debug, Clone, PartialEq)]
pub struct CorrectionsPage {
    /// The folder that they were written into, if they were.
    pub folder: Option<String>,
    /// The encoding that the footage is in.
    pub footage: String,
    /// How much of them was made.
    pub strength: Strength,
    /// One a group or a picture.
    pub lines: Vec<CorrectionLine>,
    /// Corrections in the folder that this run did not write.
    pub left_over: Vec<String>,
    /// The folder of proofs, and how many frames have theirs there.
    pub proofs: Option<(String, usize)>,
}

/// The correction of one group or picture.
#[derive(Debug, Clone, PartialEq)]
pub struct CorrectionLine {
    /// Which it is: "Group 2", or a file's name.
    pub label: String,
    /// What became of it.
    pub correction: CorrectionRecord,
}

impl CorrectionsPage {
    /// Which corrections lie in the folder that this run did not write, with each name as `named` puts it;
    /// `None` where there are none.
    #[must_use]
    pub fn left_over_in_words(&self, named: impl Fn(&str) -> String) -> Option<String> {
        let mut names: Vec<_> =
            self.left_over.iter().take(MOST_NAMED).map(|name| named(name)).collect();
        if let Some(more) = self.left_over.len().checked_sub(MOST_NAMED).filter(|more| *more > 0) {
            names.push(format!("and {more} more"));
        }
        let names = names.join(", ");
        (!names.is_empty()).then(|| format!("still there, and not written by this run: {names}"))
    }
}

/// So many have a sentence of their own.
const MOST_NAMED: usize = 12;

/// Writes corrections as text: a line each, then what to mind. Lines are at most 80 columns wide,
/// but for file names that are longer.
///
/// # Errors
/// What the writer says.
pub fn write_corrections_text(out: &mut impl Write, page: &CorrectionsPage) -> io::Result<()> {
    let made: Vec<_> = page.lines.iter().filter_map(|line| line.correction.made.as_ref()).collect();
    writeln!(out)?;
    if made.is_empty() {
        write_wrapped(out, "", "  ", &format!("{}.", heading(page)))?;
    } else {
        write_wrapped(out, "", "  ", &heading(page))?;
        write_table(out, &made)?;
        if page.folder.is_some() {
            let text = format!(
                "{WHICH_FILE} Slopes come no nearer than Off, in CIEDE2000 over a 24-patch chart, \
                 on average and at most."
            );
            write_wrapped(out, "  ", "  ", &text)?;
        }
        if let Some(text) = not_looked_at(page, Told::AtTerminal) {
            write_wrapped(out, "  ", "  ", text)?;
        }
    }
    write_unmade(out, page)?;
    write_warnings(out, page)?;
    write_places(out, page)?;
    out.flush()
}

/// Said where nobody looked whether what was made would clip.
pub(super) fn not_looked_at(page: &CorrectionsPage, told: Told) -> Option<&'static str> {
    let mut made = page.lines.iter().filter_map(|line| line.correction.made.as_ref()).peekable();
    made.peek()?;
    made.all(|made| made.headroom.clipped.is_none()).then(|| {
        told.either(
            "Whether it would clip was not looked at: that takes the frames themselves, as \
             mirecast frames --corrections reads them.",
            "Whether it would clip was not looked at: see to the highlights once the footage is \
             corrected.",
        )
    })
}

/// Which of the files to load.
pub(super) const WHICH_FILE: &str = "Load the .clf: it is exact. Where a program takes only CDLs, \
                                     load the .cc, or corrections.ccc for all.";

/// What was made and where it is, in a few words.
pub(super) fn heading(page: &CorrectionsPage) -> String {
    if page.lines.iter().all(|line| line.correction.made.is_none()) {
        return "No correction was made".to_owned();
    }
    let strength = match page.strength {
        Strength::FULL => "full".to_owned(),
        strength => strength.to_string(),
    };
    let place = page.folder.as_ref().map(|folder| format!(", in {folder}")).unwrap_or_default();
    format!("Corrections for {} footage, at {strength} strength{place}", page.footage)
}

fn write_table(out: &mut impl Write, made: &[&MadeRecord]) -> io::Result<()> {
    let name = made.iter().map(|made| width(&made.id)).max().unwrap_or(0).clamp(7, WIDTH - 56);
    writeln!(
        out,
        "  {:<name$}  {:<19}  {:>9}  {:>17}",
        "Name", "Slope R, G, B", "Off", "Noise R, G, B"
    )?;
    for made in made {
        let [red, green, blue] = made.slope;
        let noise = made.headroom.noise_stops.map(|stops| signed(stops, 1));
        writeln!(
            out,
            "  {}  {red:.3} {green:.3} {blue:.3}    {:>4.1} {:>4.1}  {:>5} {:>5} {:>5}",
            in_columns(&made.id, name),
            made.fit_mean_delta_e_2000,
            made.fit_max_delta_e_2000,
            noise[0],
            noise[1],
            noise[2],
        )?;
    }
    writeln!(out, "  Noise is in stops: so much it grows in that channel.")
}

/// Why some were not made, and which. Those of one reason are told together.
pub(super) fn unmade(page: &CorrectionsPage) -> Vec<(&str, String)> {
    let mut reasons: Vec<(&str, Vec<&str>)> = Vec::new();
    for line in &page.lines {
        let Some(reason) = line.correction.reason.as_deref() else { continue };
        match reasons.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, labels)) => labels.push(&line.label),
            None => reasons.push((reason, vec![&line.label])),
        }
    }
    let named = |labels: Vec<&str>| match labels.as_slice() {
        many if many.len() > MOST_NAMED => format!("{} of them", many.len()),
        few => few.join(", "),
    };
    reasons.into_iter().map(|(reason, labels)| (reason, named(labels))).collect()
}

fn write_unmade(out: &mut impl Write, page: &CorrectionsPage) -> io::Result<()> {
    let unmade = unmade(page);
    if !unmade.is_empty() {
        writeln!(out, "  Without a correction")?;
    }
    for (reason, named) in unmade {
        write_wrapped(out, "  - ", "    ", &format!("{named}: {}.", reason.trim_end_matches('.')))?;
    }
    Ok(())
}

fn write_warnings(out: &mut impl Write, page: &CorrectionsPage) -> io::Result<()> {
    let warned: Vec<_> = page
        .lines
        .iter()
        .flat_map(|line| {
            let made = line.correction.made.iter();
            made.flat_map(|made| &made.warnings).map(|warning| (&line.label, warning))
        })
        .collect();
    if !warned.is_empty() {
        writeln!(out, "  Take care")?;
    }
    for (label, warning) in warned.iter().take(MOST_NAMED) {
        write_wrapped(out, "  - ", "    ", &format!("{label}: {warning}"))?;
    }
    match warned.len().checked_sub(MOST_NAMED).filter(|more| *more > 0) {
        Some(more) => writeln!(out, "  and {more} more; --format json has them all"),
        None => Ok(()),
    }
}

/// What else lies in the folders, a few sentences each.
pub(super) fn places(page: &CorrectionsPage) -> Vec<String> {
    let left_over = page.left_over_in_words(str::to_owned);
    let left_over = left_over.map(|text| capitalised(&format!("{text}.")));
    let proofs = page.proofs.as_ref().map(|(folder, frames)| {
        let copies = if *frames == 1 { "one frame" } else { &format!("{frames} frames") };
        format!(
            "Proofs of {copies}, in {folder}: NAME-proof-clf.png is what the .clf gives, \
             NAME-proof-cdl.png what the .cc gives. The pictures themselves were not touched."
        )
    });
    left_over.into_iter().chain(proofs).collect()
}

fn write_places(out: &mut impl Write, page: &CorrectionsPage) -> io::Result<()> {
    places(page).iter().try_for_each(|text| write_wrapped(out, "  ", "  ", text))
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::frames::Verdict;
    use crate::grade::{Decision, GradeOptions};
    use crate::report::frame_examples;

    pub(in crate::report) fn page() -> CorrectionsPage {
        let (_, groups) = frame_examples::shoot();
        let lines = groups.iter().map(|group| {
            let mut reading = group.reading().clone();
            if reading.verdict.is_cast() {
                reading.cast.white_linear_srgb = [1.0, 0.45, 0.12];
            } else {
                reading.verdict = Verdict::Undecided;
            }
            let decision = Decision::of_group(&reading, &GradeOptions::default(), &[]);
            CorrectionLine {
                label: format!("Group {}", reading.group),
                correction: CorrectionRecord::of(&decision, &["group-2.cc".to_owned()]),
            }
        });
        CorrectionsPage {
            folder: Some("grade".to_owned()),
            footage: "rec709".to_owned(),
            strength: Strength::FULL,
            lines: lines.collect(),
            left_over: vec!["group-9.cc".to_owned()],
            proofs: Some(("looks".to_owned(), 5)),
        }
    }

    fn text(page: &CorrectionsPage) -> String {
        let mut out = Vec::new();
        write_corrections_text(&mut out, page).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn corrections_read_well() {
        insta::assert_snapshot!(text(&page()).trim_start(), @r"
        Corrections for rec709 footage, at full strength, in grade
          Name     Slope R, G, B              Off      Noise R, G, B
          group-2  0.763 1.082 2.026     6.7 13.7    0.0  +0.2  +1.6
          Noise is in stops: so much it grows in that channel.
          Load the .clf: it is exact. Where a program takes only CDLs, load the .cc, or
          corrections.ccc for all. Slopes come no nearer than Off, in CIEDE2000 over a
          24-patch chart, on average and at most.
          Whether it would clip was not looked at: that takes the frames themselves, as
          mirecast frames --corrections reads them.
          Without a correction
          - Group 1: it does not tell: nothing in it is surely neutral, and a correction
            would be a guess. Photograph a card in that light and correct from it:
            mirecast card CARD --corrections FOLDER.
          Take care
          - Group 2: 8-bit footage would not stand it: blue keeps 130 of its 256 codes,
            and noise and compression show. Use 10-bit footage, or give --strength 45%.
          Still there, and not written by this run: group-9.cc.
          Proofs of 5 frames, in looks: NAME-proof-clf.png is what the .clf gives,
          NAME-proof-cdl.png what the .cc gives. The pictures themselves were not
          touched.
        ");
    }

    #[test]
    fn no_line_is_too_wide_and_no_name_steers_the_terminal() {
        let mut page = page();
        for line in &mut page.lines {
            line.label = format!("day one/\u{1b}[2J{}.jpg", "x".repeat(20));
            if let Some(made) = &mut line.correction.made {
                made.id = "x".repeat(60);
            }
        }
        page.folder = Some("grade\u{1b}[2J".to_owned());
        for line in text(&page).lines() {
            assert!(width(line) <= WIDTH, "{line}");
            assert!(!line.chars().any(char::is_control), "{line:?}");
        }
    }
}
