//! Corrections as a part of a page: what was made, what to mind, what was not made and why.

use askama::Template;

use super::filters;
use super::page::rendered;
use super::typeset::typeset;
use crate::grade::MadeRecord;
use crate::report::corrections::{WHICH_FILE, heading, not_looked_at, places, unmade};
use crate::report::words::{sentence, signed};
use crate::report::{CorrectionsPage, plain};
use crate::told::Told;

/// So many are shown one by one.
const MOST_SHOWN: usize = 60;

/// Corrections alone, as a part of a page.
#[must_use]
pub fn corrections_section(page: &CorrectionsPage) -> String {
    section(page, 3)
}

/// The same as a panel among a page's own.
pub(super) fn panel(page: &CorrectionsPage) -> String {
    format!("<section class=\"panel\">\n{}</section>\n", section(page, 2))
}

/// Under a heading of this level, 1 to 5.
fn section(page: &CorrectionsPage, level: u8) -> String {
    let made: Vec<_> = page
        .lines
        .iter()
        .filter_map(|line| Some((line, line.correction.made.as_ref()?)))
        .map(|(line, made)| MadeView {
            label: plain(&line.label).into_owned(),
            files: made.files.clone(),
            figures: typeset(&figures(made)),
            warnings: made.warnings.iter().map(|text| typeset(&sentence(text))).collect(),
        })
        .collect();
    let more = made.len().saturating_sub(MOST_SHOWN);
    rendered(&Section {
        level,
        heading: plain(&heading(page)).into_owned(),
        made: made.into_iter().take(MOST_SHOWN).collect(),
        more,
        which: typeset(WHICH_FILE),
        not_looked_at: not_looked_at(page, Told::OnPage).map(typeset),
        unmade: unmade(page)
            .into_iter()
            .map(|(reason, labels)| {
                let reason = format!("{}.", reason.trim_end_matches('.'));
                (plain(&labels).into_owned(), typeset(&reason))
            })
            .collect(),
        places: places(page).iter().map(|text| typeset(&plain(text))).collect(),
    })
}

#[derive(Template)]
#[template(path = "corrections.html")]
struct Section {
    level: u8,
    heading: String,
    made: Vec<MadeView>,
    more: usize,
    which: String,
    not_looked_at: Option<String>,
    unmade: Vec<(String, String)>,
    places: Vec<String>,
}

struct MadeView {
    label: String,
    files: Vec<String>,
    figures: String,
    warnings: Vec<String>,
}

fn figures(made: &MadeRecord) -> String {
    let [red, green, blue] = made.slope;
    let [noise_red, noise_green, noise_blue] =
        made.headroom.noise_stops.map(|stops| signed(stops, 1));
    format!(
        "Slopes {red:.3} {green:.3} {blue:.3} (red, green, blue), off by CIEDE2000 {:.1} on average \
         and {:.1} at most; noise grows by {noise_red}, {noise_green} and {noise_blue} stops.",
        made.fit_mean_delta_e_2000, made.fit_max_delta_e_2000
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::corrections::tests::page;

    #[test]
    fn it_says_what_the_terminal_says() {
        let mut page = page();
        page.lines[0].label = "<b>Group 1".to_owned();
        let section = corrections_section(&page);
        for words in [
            "Corrections for rec709 footage, at full strength",
            "0.763 1.082 2.026",
            "8-bit footage would not stand it",
            "&#60;b&#62;Group 1",
            "nothing in it is surely neutral",
            "Load the .clf: it is exact.",
        ] {
            assert!(section.contains(words), "{words} is not in {section}");
        }
        page.lines.retain(|line| line.correction.made.is_none());
        let section = corrections_section(&page);
        assert!(section.contains("No correction was made"), "{section}");
        assert!(!section.contains("Load the .clf"), "{section}");
    }
}
