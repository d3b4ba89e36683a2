//! Corrections as text to read.

use std::io::{self, Write};

use super::text::{WIDTH, in_columns, width, write_wrapped};
use super::words::{capitalised, sentence, signed};
use crate::grade::{CorrectionRecord, MadeRecord};

/// What is printed of corrections.
#[derive(Debug, Clone, PartialEq)]
pub struct CorrectionsPage {
    /// The folder that they were written into, if they were.
    pub folder: Option<String>,
    /// The encoding that the footage is in.
    pub footage: String,
    /// How much of them was made.
    pub strength: String,
    /// One a group or a picture.
    pub lines: Vec<CorrectionLine>,
    /// Files of an earlier run that are still in the folder.
    pub left_over: Vec<String>,
    /// The folder of proofs, and how many frames have theirs there.
    pub proofs: Option<(String, usize)>,
}

/// The correction of one group or picture.
#[derive(Debug, Clone, PartialEq)]
pub struct CorrectionLine {
    /// Which it is: "group 2", or a file's name.
    pub label: String,
    /// What became of it.
    pub correction: CorrectionRecord,
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
    let place = page.folder.as_ref().map(|folder| format!(", in {folder}")).unwrap_or_default();
    writeln!(out)?;
    if made.is_empty() {
        write_wrapped(out, "", "  ", "No correction was made.")?;
    } else {
        let heading = format!(
            "Corrections for {} footage, at {} strength{place}",
            page.footage,
            if page.strength == "100%" { "full" } else { &page.strength }
        );
        write_wrapped(out, "", "  ", &heading)?;
        write_table(out, &made)?;
        if page.folder.is_some() {
            let text = "Load the .clf: it is exact. Where a program takes only CDLs, load the .cc, \
                        or corrections.ccc for all: slopes come no nearer than Off, in CIEDE2000 \
                        over a 24-patch chart, on average and at most.";
            write_wrapped(out, "  ", "  ", text)?;
        }
    }
    write_unmade(out, page)?;
    write_warnings(out, page)?;
    write_places(out, page)?;
    out.flush()
}

fn write_table(out: &mut impl Write, made: &[&MadeRecord]) -> io::Result<()> {
    let name = made.iter().map(|made| width(&made.id)).max().unwrap_or(0).clamp(7, WIDTH - 54);
    writeln!(
        out,
        "  {:<name$}  {:<19}  {:>9}  {:>17}",
        "Name", "Slope R, G, B", "Off", "Noise R, G, B"
    )?;
    for made in made {
        let [red, green, blue] = made.slope;
        let noise = made.headroom.noise_stops.map(|stops| signed(stops, 1));
        let line = format!(
            "  {}  {red:.3} {green:.3} {blue:.3}    {:>4.1} {:>4.1}  {:>5} {:>5} {:>5}  {}",
            in_columns(&made.id, name),
            made.fit_mean_delta_e_2000,
            made.fit_max_delta_e_2000,
            noise[0],
            noise[1],
            noise[2],
            if made.warnings.is_empty() { "" } else { "see below" },
        );
        writeln!(out, "{}", line.trim_end())?;
    }
    writeln!(out, "  Noise is in stops: so much it grows in that channel.")
}

fn write_unmade(out: &mut impl Write, page: &CorrectionsPage) -> io::Result<()> {
    // Those of one reason are told together.
    let mut reasons: Vec<(&str, Vec<&str>)> = Vec::new();
    for line in &page.lines {
        let Some(reason) = line.correction.reason.as_deref() else { continue };
        match reasons.iter_mut().find(|(known, _)| *known == reason) {
            Some((_, labels)) => labels.push(&line.label),
            None => reasons.push((reason, vec![&line.label])),
        }
    }
    if !reasons.is_empty() {
        writeln!(out, "  Without a correction")?;
    }
    for (reason, labels) in reasons {
        let named = match labels.as_slice() {
            many if many.len() > MOST_NAMED => format!("{} of them", many.len()),
            few => few.join(", "),
        };
        write_wrapped(out, "  - ", "    ", &sentence(&format!("{named}: {reason}")))?;
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
        writeln!(out, "  What the footage may not bear")?;
    }
    for (label, warning) in warned.iter().take(MOST_NAMED) {
        write_wrapped(out, "  - ", "    ", &format!("{}: {warning}", capitalised(label)))?;
    }
    match warned.len().checked_sub(MOST_NAMED).filter(|more| *more > 0) {
        Some(more) => writeln!(out, "  and {more} more; --format json has them all"),
        None => Ok(()),
    }
}

fn write_places(out: &mut impl Write, page: &CorrectionsPage) -> io::Result<()> {
    if !page.left_over.is_empty() {
        let text = format!(
            "Still there from an earlier run, and not of these groups: {}.",
            page.left_over.join(", ")
        );
        write_wrapped(out, "  ", "  ", &text)?;
    }
    if let Some((folder, frames)) = &page.proofs {
        let copies = if *frames == 1 { "one frame" } else { &format!("{frames} frames") };
        let text = format!(
            "Proofs of {copies}, in {folder}: NAME-proof-clf.png is what the .clf gives, \
             NAME-proof-cdl.png what the .cc gives. The pictures themselves were not touched."
        );
        write_wrapped(out, "  ", "  ", &text)?;
    }
    Ok(())
}
