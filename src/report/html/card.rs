//! The page of card photos: the photo, the light, every preset, what to do.

use askama::Template;

use super::cast_bar::{Bar, Reach};
use super::corrections::panel;
use super::filters;
use super::mired::Scale;
use super::page::{About, page, rendered};
use super::photo::{self, is_in_the_picture};
use super::swatch;
use super::thumb::{CardPictures, Thumb};
use super::typeset::typeset;
use super::uv::{Diagram, Mark};
use crate::balance::looks;
use crate::card::{CardReading, LightReading, ProblemRecord, Status};
use crate::report::card_words::{
    Tone, UNREAD, balance_in_words, card_in_words, residual_in_words, verdict_in_words,
};
use crate::report::words::{
    capitalised, kelvin, light_in_figures, light_in_words, sentence, signed,
};
use crate::report::{CorrectionsPage, PhotoOutcome, PhotoRecord, Tally, plain};

/// One photo on a page.
#[derive(Debug, Clone, Copy)]
pub struct CardView<'a> {
    /// Its record.
    pub record: &'a PhotoRecord,
    /// Its pictures; a photo that could not be read has none.
    pub pictures: Option<&'a CardPictures>,
}

/// The whole page of some photos, in the order given, and of the corrections that were made by them.
#[must_use]
pub fn card_page(
    photos: &[CardView<'_>],
    corrections: Option<&CorrectionsPage>,
    about: &About,
) -> String {
    let mut tally = Tally::default();
    photos.iter().for_each(|photo| tally.count(photo.record));
    let sections: Vec<_> = photos
        .iter()
        .zip(1_usize..)
        .map(|(photo, number)| card_section(photo, &format!("photo-{number}")))
        .collect();
    let contents: Vec<_> = photos
        .iter()
        .zip(1_usize..)
        .map(|(photo, number)| {
            let verdict = Verdict::of(photo.record);
            Entry { number, name: plain(&photo.record.path.path).into_owned(), verdict }
        })
        .collect();
    let contents = if photos.len() > 1 { rendered(&Contents { contents }) } else { String::new() };
    let body = contents + &sections.concat() + &corrections.map(panel).unwrap_or_default();
    let title = match photos {
        [only] => format!("Card: {}", plain(&only.record.path.path)),
        _ => "Card photos".to_owned(),
    };
    page(&title, &sentence(&tally.to_string()), about, &body, false)
}

/// One photo's part of a page; `id` is its anchor, and not escaped: letters, digits, hyphens.
#[must_use]
pub fn card_section(photo: &CardView<'_>, id: &str) -> String {
    let name = plain(&photo.record.path.path).into_owned();
    let verdict = Verdict::of(photo.record);
    let reading = match &photo.record.outcome {
        PhotoOutcome::Reading(reading) => reading,
        PhotoOutcome::Failed(failure) => {
            let message = typeset(&sentence(&failure.error.message));
            return rendered(&Failed { id, name, verdict, message });
        }
    };
    let words = Words { name: &name, reading };
    rendered(&Section {
        id,
        verdict,
        findings: words.findings(),
        notes: notes(reading),
        advice: reading.advice.iter().map(|advice| typeset(&sentence(advice))).collect(),
        photo: photo.pictures.map(|pictures| photo::draw(pictures, &reading.card, &words.photo())),
        outlined: match (reading.card.area.is_empty(), reading.card.stated) {
            (true, _) => "no card was found",
            (false, true) => "the dashed line is the card in the area that was named",
            (false, false) => "the dashed line is the card as it was found",
        },
        balanced: photo.pictures.and_then(|pictures| {
            let thumb = pictures.balanced.as_ref()?;
            Some(Picture::of(thumb, format!("{name} balanced from its card")))
        }),
        swatch: words.swatch(),
        diagram: words.diagram(),
        scale: words.scale(),
        presets: words.presets(photo.pictures),
        name: name.clone(),
    })
}

/// A verdict in words, with the mark that goes before it.
struct Verdict {
    words: String,
    class: &'static str,
    mark: &'static str,
}

impl Verdict {
    fn of(record: &PhotoRecord) -> Self {
        let (words, tone) = match &record.outcome {
            PhotoOutcome::Reading(reading) => verdict_in_words(reading),
            PhotoOutcome::Failed(_) => (UNREAD, Tone::Bad),
        };
        let (class, mark) = match tone {
            Tone::Good => ("good", "●"),
            Tone::Fair => ("fair", "◐"),
            Tone::Bad => ("bad", "✕"),
        };
        Self { words: capitalised(words), class, mark }
    }
}

struct Entry {
    number: usize,
    name: String,
    verdict: Verdict,
}

#[derive(Template)]
#[template(path = "card_contents.html")]
struct Contents {
    contents: Vec<Entry>,
}

#[derive(Template)]
#[template(path = "card_failed.html")]
struct Failed<'a> {
    id: &'a str,
    name: String,
    verdict: Verdict,
    message: String,
}

#[derive(Template)]
#[template(path = "card.html")]
struct Section<'a> {
    id: &'a str,
    name: String,
    verdict: Verdict,
    findings: Vec<(&'static str, String)>,
    notes: Vec<Note>,
    advice: Vec<String>,
    photo: Option<String>,
    outlined: &'static str,
    balanced: Option<Picture>,
    swatch: Option<String>,
    diagram: Option<String>,
    scale: Option<String>,
    presets: Vec<PresetView>,
}

/// A problem in words, with its number on the photo.
struct Note {
    number: Option<usize>,
    text: String,
}

/// A picture with its words.
pub(super) struct Picture {
    pub(super) uri: String,
    pub(super) width: u32,
    pub(super) height: u32,
    pub(super) alternative: String,
}

impl Picture {
    pub(super) fn of(thumb: &Thumb, alternative: String) -> Self {
        Self { uri: thumb.uri(), width: thumb.width, height: thumb.height, alternative }
    }
}

struct PresetView {
    name: String,
    kelvin: String,
    picture: Option<Picture>,
    bar: String,
    figures: String,
    looks: String,
}

fn notes(reading: &CardReading) -> Vec<Note> {
    let mut number = 0;
    let note = |problem: &ProblemRecord| {
        let placed = is_in_the_picture(problem, &reading.card);
        number += usize::from(placed);
        Note { number: placed.then_some(number), text: typeset(&sentence(&problem.message)) }
    };
    reading.card.problems.iter().map(note).collect()
}

/// What is said of a reading.
struct Words<'a> {
    name: &'a str,
    reading: &'a CardReading,
}

impl Words<'_> {
    fn findings(&self) -> Vec<(&'static str, String)> {
        let reading = self.reading;
        let mut findings = Vec::new();
        if let Some(light) = &reading.light {
            findings.push(("The light", light_in_words(light)));
            findings.push(("", light_in_figures(light)));
        }
        if let Some(residual) = &reading.residual {
            findings.push(("The card", residual_in_words(residual)));
        }
        let card = card_in_words(&reading.card);
        if !reading.card.area.is_empty() && !card.is_empty() {
            findings.push((if reading.residual.is_some() { "" } else { "The card" }, card));
        }
        findings.push(("Shot at", balance_in_words(&reading.shot.balance)));
        let shot = &reading.shot;
        let shutter = shot.shutter_seconds.map(|seconds| {
            if seconds < 0.4 { format!("1/{:.0} s", 1.0 / seconds) } else { format!("{seconds} s") }
        });
        let taken = shot.taken.as_ref().map(|taken| taken.replacen('T', ", ", 1));
        let how: Vec<_> = taken.into_iter().chain(shutter).chain(shot.camera.clone()).collect();
        if !how.is_empty() {
            findings.push(("Taken", how.join(", ")));
        }
        findings.into_iter().map(|(label, text)| (label, typeset(&text))).collect()
    }

    fn photo(&self) -> String {
        let card = &self.reading.card;
        let outline = match (card.area.is_empty(), card.coverage) {
            (true, _) => "No card was found in it".to_owned(),
            (false, part) if part > 0.98 => "The card fills it".to_owned(),
            (false, part) => {
                format!("The outline of the card covers {:.0} % of it", (part * 100.0).round())
            }
        };
        let marked: Vec<_> = notes(self.reading)
            .iter()
            .filter_map(|note| Some(format!("{}: {}", note.number?, note.text)))
            .collect();
        let problems = match marked.is_empty() {
            true => String::new(),
            false => format!(" Marked on it are {}", marked.join(" ")),
        };
        format!("The photo {}. {outline}.{problems}", self.name)
    }

    fn swatch(&self) -> Option<String> {
        let residual = self.reading.residual.as_ref()?;
        let level = self.reading.card.level.unwrap_or(0.8).clamp(0.35, 1.0);
        let alternative = format!(
            "Left the card's colour as it came out, right as it should be. {}.",
            residual_in_words(residual)
        );
        Some(swatch::pair(residual.white_linear_srgb, level, &alternative))
    }

    fn diagram(&self) -> Option<String> {
        let light = self.reading.light.as_ref()?;
        let mut diagram = Diagram::default();
        for miss in &self.reading.presets {
            diagram.mark(Mark::Preset, &plain(&miss.name), miss.kelvin, miss.duv);
        }
        let shot = &self.reading.shot.balance;
        let is_preset = shot
            .name
            .as_ref()
            .is_some_and(|name| self.reading.presets.iter().any(|miss| miss.name == *name));
        if let (Some(kelvin), Some(duv), false) = (shot.kelvin, shot.duv, is_preset) {
            diagram.mark(Mark::Balance, "shot at", kelvin, duv);
        }
        let name = format!("the light, {} K", kelvin(light.cct_kelvin));
        diagram.light(&name, light);
        let nearest = self.reading.presets.first().map(|miss| {
            format!(
                " The preset that would show least is {}, {}.",
                plain(&miss.name),
                looks(&miss.appearance)
            )
        });
        let alternative = format!(
            "Chromaticity diagram, CIE 1976 u′v′, with the Planckian and the daylight locus and \
             lines of equal temperature. The light lies at {}.{}",
            light_in_figures(light),
            nearest.unwrap_or_default()
        );
        Some(diagram.draw(&alternative))
    }

    fn scale(&self) -> Option<String> {
        let light = self.reading.light.as_ref()?;
        let mut scale = Scale::default();
        let name = format!("the light, {:.0} mired ({} K)", light.mired, kelvin(light.cct_kelvin));
        scale.light(&name, light.mired, light.mired_interval);
        for miss in &self.reading.presets {
            scale.preset(&plain(&miss.name), 1e6 / miss.kelvin);
        }
        let [low, high] = light.mired_interval;
        let presets: Vec<_> = self
            .reading
            .presets
            .iter()
            .map(|miss| format!("{} at {:.0}", plain(&miss.name), 1e6 / miss.kelvin))
            .collect();
        let alternative = format!(
            "Mired scale, bluer to the left and more orange to the right. The light at {:.0} mired \
             ({low:.0} to {high:.0}). Presets: {}.",
            light.mired,
            presets.join(", ")
        );
        Some(scale.draw(&alternative))
    }

    fn presets(&self, pictures: Option<&CardPictures>) -> Vec<PresetView> {
        let Some(light) = &self.reading.light else { return Vec::new() };
        if self.reading.status != Status::Read {
            return Vec::new();
        }
        let reach = Reach::of(self.reading.presets.iter().map(|miss| miss.miss_mired));
        let views = self.reading.presets.iter().enumerate().map(|(index, miss)| {
            let name = capitalised(&plain(&miss.name));
            let looks = looks(&miss.appearance);
            let thumb = pictures.and_then(|pictures| pictures.under.get(index));
            let figures =
                format!("{} mired, Duv {}", signed(miss.miss_mired, 0), signed(miss.miss_duv, 4));
            let interval = missed(light, miss.miss_mired);
            let [low, high] = interval.map(|mired| signed(mired, 0));
            let alternative = format!("{name} misses by {figures}; in mired {low} to {high}");
            PresetView {
                kelvin: typeset(&format!("{:.0} K", miss.kelvin)),
                picture: thumb.map(|thumb| {
                    Picture::of(thumb, format!("{} under {name}: {looks}", self.name))
                }),
                bar: Bar::of_miss(miss.miss_mired, Some(interval), reach).draw(&alternative),
                figures: typeset(&figures),
                looks: capitalised(&looks),
                name,
            }
        });
        views.collect()
    }
}

/// The light's interval about a preset's miss.
fn missed(light: &LightReading, miss: f64) -> [f64; 2] {
    light.mired_interval.map(|end| end - light.mired + miss)
}
