use std::path::Path;

use super::thumb::{Correction, correction, is_outvoted};
use super::*;
use crate::frames::Verdict;
use crate::report::{
    FrameFilter, FrameOrder, FrameOutcome, FrameRecord, FramesPage, PhotoRecord, examples,
    frame_examples,
};
use crate::told::Told;

fn about() -> About {
    About { command: "mirecast card".to_owned(), ..About::default() }
        .with("Presets", "</dl><script>alert(1)</script>")
}

/// Every text of the page that a browser would run or load.
#[track_caller]
fn assert_closed(page: &str) {
    for outside in ["http:", "https:", "src=\"//", "url(", "@import"] {
        let bare = page.replace("http-equiv", "");
        assert!(!bare.contains(outside), "{outside} in the page");
    }
    assert!(page.contains("default-src &#39;none&#39;"));
    assert!(!page.contains("<script>alert"));
}

#[test]
fn photos_of_every_kind_have_their_section() {
    let mut records = examples::of_every_kind();
    let hostile = "<img src=x onerror=alert(1)>\u{202e}.jpg";
    records.push(PhotoRecord::read(Path::new(hostile), examples::daylight()));
    let views: Vec<_> = records.iter().map(|record| CardView { record, pictures: None }).collect();
    let page = card_page(&views, None, &about());
    assert_closed(&page);
    assert_eq!(page.matches("<article").count(), records.len());
    for words in ["Good to balance from", "Could not be read", "Cannot be balanced from"] {
        assert!(page.contains(words), "{words}");
    }
    assert!(!page.contains("<img src=x") && !page.contains('\u{202e}'));
    assert!(page.contains("onerror=alert(1)&#62;\\u{202e}.jpg"), "the name is there to be read");
    assert_eq!(page, card_page(&views, None, &about()), "the same records give the same bytes");
}

#[test]
fn frames_are_listed_under_their_groups() {
    let (frames, groups) = frame_examples::shoot();
    let (filter, order) = (FrameFilter::All, FrameOrder::Given);
    let page =
        FramesPage { frames: &frames, groups: &groups, filter, order, told: Told::AtTerminal };
    let pictures = vec![None; frames.len()];
    let whole = frames_page(&page, &pictures, None, &about());
    assert_closed(&whole);
    assert_eq!(whole.matches("<li class=\"frame\"").count(), frames.len());
    assert_eq!(whole.matches("<section class=\"group").count(), groups.len() + 1);
    let casts = FramesPage { filter: FrameFilter::Casts, ..page };
    let fewer = frames_page(&casts, &pictures, None, &about());
    let listed = casts.listed().len();
    assert_eq!(fewer.matches("<li class=\"frame\"").count(), listed);
    assert!(listed < frames.len());
}

#[test]
fn a_group_of_no_one_light_has_its_reason_in_place_of_odd_ones_and_gains() {
    let (frames, groups) = frame_examples::shoot();
    let groups = [groups[0].clone(), frame_examples::mixed()];
    let page = FramesPage { told: Told::OnPage, ..frame_examples::page(&frames, &groups) };
    let whole = frames_page(&page, &vec![None; frames.len()], None, &about());
    assert!(whole.contains("<p>Group 2 is undecided as a whole, since 9 of its 20 frames"));
    assert!(!whole.contains("Odd ones out") && !whole.contains("gain red"));
}

#[test]
fn a_page_without_times_has_nothing_over_time() {
    let (mut frames, groups) = frame_examples::shoot();
    let whole = |frames: &[FrameRecord]| {
        let page = FramesPage { told: Told::OnPage, ..frame_examples::page(frames, &groups) };
        frames_page(&page, &vec![None; frames.len()], None, &about())
    };
    assert!(whole(&frames).contains("<h2>Casts over time</h2>"));
    for frame in &mut frames {
        if let FrameOutcome::Reading(reading) = &mut frame.outcome {
            reading.shot.taken = None;
        }
    }
    let whole = whole(&frames);
    assert!(
        whole.contains("<h2>Casts frame by frame</h2>") && whole.contains("in the order given")
    );
    assert!(!whole.contains("over time") && !whole.contains("order of time"));
}

#[test]
fn a_frame_that_its_neutral_group_outvotes_is_left_as_the_group_is() {
    let (_, groups) = frame_examples::shoot();
    let of = |wanted: fn(Verdict) -> bool| {
        groups.iter().map(|group| group.reading()).find(|group| wanted(group.verdict))
    };
    let (neutral, orange) = (of(|verdict| verdict == Verdict::Neutral), of(Verdict::is_cast));
    let reading = frame_examples::frame(Verdict::Orange, 60.0, 0.001, 0);
    assert!(neutral.is_some_and(|group| is_outvoted(&reading, group)));
    assert_eq!(correction(&reading, neutral), None);
    let by = |group| correction(&reading, group).map(|(by, _)| by);
    assert_eq!(by(None), Some(Correction::Own));
    assert_eq!(by(orange), orange.map(|group| Correction::Group(group.group)));
}
