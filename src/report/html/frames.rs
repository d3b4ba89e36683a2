//! The page of frames: what to do, casts over time, and a contact sheet in groups.

use std::collections::BTreeMap;

use askama::Template;

use super::card::Picture;
use super::cast_bar::{Bar, Reach};
use super::corrections::panel;
use super::filters;
use super::frame_pairs::pairs;
use super::mark::{class_and_letter, mark};
use super::page::{About, page, rendered};
use super::thumb::{Correction, FramePair, FramePicture, corrected, correction, is_outvoted};
use super::timeline::{is_timed, timeline, with_a_cast};
use super::typeset::typeset;
use crate::balance::{self, appearance};
use crate::frames::{Cast, Clock, FrameReading, GroupReading, Tolerance, Verdict};
use crate::grade::Strength;
use crate::report::card_words::balance_in_words;
use crate::report::folder::Folder;
use crate::report::frame_order::clock_of;
use crate::report::frames_advice::{advice, gains_to_apply};
use crate::report::frames_notes::{is_odd, notes};
use crate::report::frames_words::{
    clock_in_words, counts, drifts_in_words, group_of, looks, reasons_in_words, reference_in_words,
    silent_in_words,
};
use crate::report::times::when;
use crate::report::words::{capitalised, lower_first, plural, sentence, signed};
use crate::report::{CorrectionsPage, FrameOrder, FrameRecord, FramesPage, GroupRecord};

/// The whole page of frames; `pictures` are of `frames.frames`, in their order. Where corrections were made
/// they are listed, and the pictures are shown with them.
#[must_use]
pub fn frames_page(
    frames: &FramesPage<'_>,
    pictures: &[Option<FramePicture>],
    corrections: Option<&CorrectionsPage>,
    about: &About,
) -> String {
    let body = frames_section(frames, pictures, corrections);
    page("Frames", &counts(frames.frames), about, &body, true)
}

/// The frames alone, as a part of a page.
fn frames_section(
    frames: &FramesPage<'_>,
    pictures: &[Option<FramePicture>],
    corrections: Option<&CorrectionsPage>,
) -> String {
    let groups: Vec<&GroupReading> = frames.groups.iter().map(GroupRecord::reading).collect();
    let folder = Folder::of(frames.frames);
    let strength = corrections.map_or(Strength::FULL, |page| page.strength);
    let clock = clock_of(frames.frames);
    let sheet = Sheet { page: frames, pictures, groups: &groups, folder: &folder, clock, strength };
    let views = sheet.views();
    rendered(&Section {
        reference: reference_in_words(frames.frames)
            .iter()
            .chain(&clock_in_words(frames.frames))
            .map(|text| typeset(text))
            .collect(),
        drifts: drifts_in_words(&groups, frames.told).iter().map(|text| typeset(text)).collect(),
        advice: advice(frames, &groups).iter().map(|text| typeset(text)).collect(),
        corrections: corrections.map(panel),
        timeline: timeline(frames.frames, &groups),
        is_timed: is_timed(frames.frames),
        notes: notes(frames, &frames.listed()).iter().map(|text| typeset(text)).collect(),
        kinds: kinds(&views),
        groups: sheet.grouped(views),
    })
}

#[derive(Template)]
#[template(path = "frames.html")]
struct Section {
    reference: Vec<String>,
    drifts: Vec<String>,
    advice: Vec<String>,
    corrections: Option<String>,
    timeline: Option<String>,
    is_timed: bool,
    notes: Vec<String>,
    kinds: Vec<Kind>,
    groups: Vec<GroupView>,
}

/// A verdict to filter by.
struct Kind {
    class: &'static str,
    words: String,
    count: usize,
    mark: String,
}

struct GroupView {
    heading: String,
    about: Vec<String>,
    bar: Option<String>,
    reason: Option<String>,
    odd: Vec<String>,
    frames: Vec<FrameView>,
}

/// A frame on the contact sheet.
struct FrameView {
    group: Option<u32>,
    verdict: Option<Verdict>,
    class: &'static str,
    words: String,
    mark: String,
    name: String,
    as_shot: Option<Picture>,
    corrected: Option<Picture>,
    /// What stands under the pictures, or in the place of the corrected one.
    correction: String,
    bar: Option<String>,
    figures: String,
    details: String,
    is_odd: bool,
    /// Places in the orders that the sheet can be put in.
    given: usize,
    by_name: usize,
    by_time: usize,
    by_cast: usize,
}

struct Sheet<'a> {
    page: &'a FramesPage<'a>,
    pictures: &'a [Option<FramePicture>],
    groups: &'a [&'a GroupReading],
    folder: &'a Folder,
    /// By which the times of frames are told.
    clock: Clock,
    /// How much of each correction is shown.
    strength: Strength,
}

impl Sheet<'_> {
    fn views(&self) -> Vec<FrameView> {
        let frames = self.page.frames;
        let ranks = |order: FrameOrder| {
            let mut sorted: Vec<&FrameRecord> = frames.iter().collect();
            order.sort(&mut sorted);
            places(frames, &sorted)
        };
        let (names, times, casts) =
            (ranks(FrameOrder::Name), ranks(FrameOrder::Time), ranks(FrameOrder::Cast));
        let given = places(frames, &frames.iter().collect::<Vec<_>>());
        let reach = Reach::of(with_a_cast(frames).map(|reading| reading.cast.mired));
        let listed = self.page.listed();
        let mut pairs = pairs(self.page, self.pictures, |record| self.correction(record));
        let views = listed.into_iter().map(|record| {
            let key = std::ptr::from_ref(record);
            let place = |ranks: &BTreeMap<*const FrameRecord, usize>| {
                ranks.get(&key).copied().unwrap_or_default()
            };
            let index = place(&given);
            let pair = pairs.get_mut(index).and_then(Option::take);
            FrameView {
                given: index,
                by_name: place(&names),
                by_time: place(&times),
                by_cast: place(&casts),
                ..self.view(record, pair, reach)
            }
        });
        views.collect()
    }

    fn view(&self, record: &FrameRecord, pair: Option<FramePair>, reach: Reach) -> FrameView {
        let name = self.folder.short(&record.path.path);
        let reading = record.reading();
        let verdict = reading.map(|reading| reading.verdict);
        let (class, _) = class_and_letter(verdict);
        let mut view = FrameView {
            group: reading.and_then(|reading| reading.group),
            verdict,
            class,
            words: match verdict {
                Some(verdict) => verdict.to_string(),
                None if record.is_folder() => "could not be looked into".to_owned(),
                None => "could not be read".to_owned(),
            },
            mark: mark(verdict),
            as_shot: None,
            corrected: None,
            correction: String::new(),
            bar: None,
            figures: String::new(),
            details: record.error().map_or_else(String::new, |e| typeset(&sentence(&e.message))),
            is_odd: false,
            given: 0,
            by_name: 0,
            by_time: 0,
            by_cast: 0,
            name,
        };
        view.words = capitalised(&view.words);
        if let Some(reading) = reading {
            self.read(&mut view, record, reading, reach);
            self.picture(&mut view, record, reading, pair);
        }
        view
    }

    fn read(
        &self,
        view: &mut FrameView,
        record: &FrameRecord,
        reading: &FrameReading,
        reach: Reach,
    ) {
        let cast = &reading.cast;
        if let Some(why) = silent_in_words(reading) {
            view.figures = typeset(&capitalised(&why));
        } else {
            let figures = cast_in_figures(cast);
            let alternative = format!("{}: cast {figures}", view.name);
            let bar = cast_bar(cast, reading.tolerance, reading.verdict, reach);
            view.bar = Some(bar.draw(&alternative));
            view.figures = typeset(&figures);
        }
        let shot = &reading.shot;
        let taken = self.clock.time(shot).map(|taken| taken.replacen('T', " ", 1));
        let taken = taken.unwrap_or_else(|| "No time recorded".to_owned());
        let balance = match balance_in_words(&shot.balance) {
            words if shot.balance.kelvin.is_none() => format!("Balance {}", lower_first(&words)),
            words => words,
        };
        let parts = [Some(taken), shot.camera.clone(), Some(balance)];
        let parts: Vec<_> = parts.into_iter().flatten().collect();
        view.details = typeset(&parts.join(" · "));
        view.is_odd = is_odd(self.page, record);
    }

    /// What a frame is corrected by, if by anything: the colour that its neutral has, and the one that it gets.
    fn correction(&self, record: &FrameRecord) -> Option<(Correction, [[f64; 3]; 2])> {
        let reading = record.reading()?;
        // Where each frame has a correction of its own, no group has one.
        let group = self.group_of(reading).filter(|_| record.correction.is_none());
        let (whose, neutral) = correction(reading, group)?;
        Some((whose, [neutral, corrected(neutral, self.strength)]))
    }

    fn group_of(&self, reading: &FrameReading) -> Option<&GroupReading> {
        group_of(reading, self.page.groups)
    }

    fn picture(
        &self,
        view: &mut FrameView,
        record: &FrameRecord,
        reading: &FrameReading,
        pair: Option<FramePair>,
    ) {
        let part = match self.strength {
            Strength::FULL => String::new(),
            strength => format!(", at {strength}"),
        };
        view.correction = match self.correction(record) {
            Some((Correction::Group(group), _)) => format!("Corrected as group {group}{part}"),
            Some((Correction::Own, _)) => format!("Corrected by its own figures{part}"),
            Some((Correction::Card, _)) => format!("Corrected as the card is{part}"),
            None if reading.black_and_white => "Nothing to correct".to_owned(),
            None if reading.verdict == Verdict::Undecided => {
                "Nothing to correct by: it does not tell".to_owned()
            }
            None => match self.group_of(reading).filter(|group| is_outvoted(reading, group)) {
                Some(group) => format!("Left as it is, as group {} is neutral", group.group),
                None => "No sure cast: left as it is".to_owned(),
            },
        };
        if let Some(pair) = pair {
            let looks = match silent_in_words(reading) {
                Some(why) => why.into_owned(),
                None => balance::looks(&appearance(reading.cast.mired, reading.cast.duv)),
            };
            let words = format!("{} as shot: {}, {looks}", view.name, view.words.to_lowercase());
            view.as_shot = Some(Picture::of(&pair.as_shot, words));
            view.corrected = pair.corrected.map(|thumb| {
                Picture::of(&thumb, format!("{}, {}", view.name, lower_first(&view.correction)))
            });
        }
    }

    /// Frames under their groups; what is in none comes last.
    fn grouped(&self, views: Vec<FrameView>) -> Vec<GroupView> {
        let mut by_group: BTreeMap<(bool, u32), Vec<FrameView>> = BTreeMap::new();
        for view in views {
            let key = match view.group {
                Some(group) => (false, group),
                None => (true, u32::from(view.verdict.is_none())),
            };
            by_group.entry(key).or_default().push(view);
        }
        let views = by_group.into_iter().map(|((ungrouped, number), frames)| {
            let group = self.groups.iter().find(|group| !ungrouped && group.group == number);
            match group {
                Some(group) => self.group(group, frames),
                None => GroupView {
                    heading: match ungrouped && number == 1 {
                        true => "Could not be read".to_owned(),
                        // Grouped are all but what shows no cast.
                        false if !self.groups.is_empty() => "Nothing to judge by".to_owned(),
                        false => "Frames".to_owned(),
                    },
                    about: Vec::new(),
                    bar: None,
                    reason: None,
                    odd: Vec::new(),
                    frames,
                },
            }
        });
        views.collect()
    }

    /// The odd ones of a group, each of which is marked on the sheet too; of many the first.
    fn odd(&self, group: &GroupReading) -> Vec<String> {
        const MOST: usize = 10;
        let named = group.odd.iter().take(MOST);
        let mut odd: Vec<_> = named.map(|path| self.folder.short(path)).collect();
        if let Some(more) = group.odd.len().checked_sub(MOST).filter(|more| *more > 0) {
            odd.push(format!("and {more} more"));
        }
        odd
    }

    fn group(&self, group: &GroupReading, frames: Vec<FrameView>) -> GroupView {
        let cast = &group.cast;
        let figures = cast_in_figures(cast);
        let reach = Reach::of(self.groups.iter().map(|group| group.cast.mired));
        let count = plural(group.frames, "frame");
        let taken = when(group);
        let mut about = vec![count];
        about.extend((!taken.is_empty()).then_some(taken));
        about.extend(group.camera.clone());
        about.push(figures.clone());
        if let Some([red, _, blue]) = gains_to_apply(group) {
            let card = if group.reference.is_some() { ", the card's part included" } else { "" };
            about.push(format!("gain red {red:.2}, blue {blue:.2}{card}"));
        }
        let words = looks(group);
        let alternative = format!("Group {}: {words}, {figures}", group.group);
        let cast_bar = cast_bar(cast, group.tolerance, group.verdict, reach);
        GroupView {
            heading: format!("Group {} · {words}", group.group),
            about: about.iter().map(|text| typeset(text)).collect(),
            bar: Some(cast_bar.draw(&alternative)),
            reason: reasons_in_words(&[group]).first().map(|text| typeset(text)),
            // Where many look otherwise none is the odd one.
            odd: if group.reason.is_none() { self.odd(group) } else { Vec::new() },
            frames,
        }
    }
}

/// A cast in figures, with the interval of its mired.
fn cast_in_figures(cast: &Cast) -> String {
    let [low, high] = cast.mired_interval.map(|mired| signed(mired, 0));
    format!("{} mired ({low} to {high}), Duv {}", signed(cast.mired, 0), signed(cast.duv, 4))
}

fn cast_bar(cast: &Cast, tolerance: Tolerance, verdict: Verdict, reach: Reach) -> Bar {
    Bar {
        mired: cast.mired,
        interval: Some(cast.mired_interval),
        tolerance: tolerance.mired,
        reach,
        is_off: matches!(verdict, Verdict::Orange | Verdict::Blue),
    }
}

/// Where each frame stands in an order.
fn places(frames: &[FrameRecord], sorted: &[&FrameRecord]) -> BTreeMap<*const FrameRecord, usize> {
    debug_assert_eq!(frames.len(), sorted.len());
    sorted.iter().enumerate().map(|(place, record)| (std::ptr::from_ref(*record), place)).collect()
}

fn kinds(views: &[FrameView]) -> Vec<Kind> {
    let verdicts = Verdict::ALL.map(Some).into_iter().chain([None]);
    let kind = |verdict: Option<Verdict>| {
        let of_it = || views.iter().filter(|view| view.verdict == verdict);
        let first = of_it().next()?;
        Some(Kind {
            class: first.class,
            words: first.words.clone(),
            count: of_it().count(),
            mark: mark(verdict),
        })
    };
    verdicts.filter_map(kind).collect()
}
