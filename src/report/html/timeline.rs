//! Casts over time, frame by frame.

use super::mark::shape;
use super::svg::{Anchor, Svg};
use super::ticks::ticks;
use crate::frames::{Clock, FrameReading, GroupReading, Tolerance};
use crate::report::frame_order::clock_of;
use crate::report::frames_words::looks;
use crate::report::times::{are_of_several_days, clock, date_and_clock};
use crate::report::words::signed;
use crate::report::{FrameOrder, FrameRecord, plain};

const SIZE: [f64; 2] = [840.0, 300.0];
const PLOT_AT: [f64; 2] = [76.0, 14.0];
const PLOT: [f64; 2] = [752.0, 232.0];

/// Whether frames say when they were taken; without that, or where all say the same time, they are as they were
/// given.
pub(super) fn is_timed(frames: &[FrameRecord]) -> bool {
    let readings = frames.iter().filter_map(FrameRecord::reading);
    let clock = clock_of(frames);
    let mut times = readings.filter_map(|reading| clock.time(&reading.shot));
    let Some(first) = times.next() else { return false };
    let others: Vec<_> = times.collect();
    others.len() < 2 || others.iter().any(|time| *time != first)
}

/// Casts over time; `None` of fewer than two frames that can show one.
pub(super) fn timeline(frames: &[FrameRecord], groups: &[&GroupReading]) -> Option<String> {
    let mut sorted: Vec<&FrameRecord> = frames.iter().collect();
    FrameOrder::Time.sort(&mut sorted);
    let readings: Vec<&FrameReading> = with_a_cast(sorted).collect();
    let first = readings.first()?;
    if readings.len() < 2 {
        return None;
    }
    let said = groups.iter().map(|group| {
        format!(
            "group {} at {} mired, {}",
            group.group,
            signed(group.cast.mired, 0),
            plain(&looks(group))
        )
    });
    let said: Vec<_> = said.collect();
    let groups_said =
        if said.is_empty() { String::new() } else { format!(" Groups: {}.", said.join("; ")) };
    let alternative = format!(
        "Casts of {} frames in the order {}, up more orange and down bluer, each with its \
         interval.{groups_said}",
        readings.len(),
        if is_timed(frames) { "of time" } else { "given" },
    );
    Some(draw(&readings, groups, first.tolerance, &alternative))
}

/// The readings of frames that can show a cast.
pub(super) fn with_a_cast<'a>(
    frames: impl IntoIterator<Item = &'a FrameRecord>,
) -> impl Iterator<Item = &'a FrameReading> {
    let readings = frames.into_iter().filter_map(FrameRecord::reading);
    readings.filter(|reading| !reading.is_silent())
}

/// Frames in the order of time, evenly spaced: a lunch break would squeeze the rest of a day. Each
/// is a mark with its interval; a line under it is its group's cast.
fn draw(
    frames: &[&FrameReading],
    groups: &[&GroupReading],
    tolerance: Tolerance,
    alternative: &str,
) -> String {
    let of_groups = groups.iter().filter(|group| group.reason.is_none());
    let most = frames
        .iter()
        .flat_map(|frame| frame.cast.mired_interval)
        .chain(of_groups.map(|group| group.cast.mired))
        .map(f64::abs)
        .fold(40.0, f64::max)
        .min(320.0)
        * 1.06;
    let step = PLOT[0] / frames.len().max(1) as f64;
    let x = |index: usize| (index as f64 + 0.5) * step;
    let y = |mired: f64| PLOT[1] / 2.0 * (1.0 - mired / most);

    let mut outer = Svg::default();
    let mut plot = Svg::default();
    let [upper, lower] = [y(tolerance.mired), y(-tolerance.mired)];
    plot.rect("tolerance", [0.0, upper], [PLOT[0], lower - upper]);
    let every = if most > 160.0 {
        100.0
    } else if most > 80.0 {
        50.0
    } else {
        20.0
    };
    for (class, mired, text) in ticks(most, every) {
        plot.line(class, [0.0, y(mired)], [PLOT[0], y(mired)]);
        let at = [PLOT_AT[0] - 8.0, PLOT_AT[1] + y(mired) + 5.0];
        outer.text("tick", at, Anchor::End, &text);
    }
    for (index, frame) in frames.iter().enumerate() {
        let group = groups.iter().find(|group| Some(group.group) == frame.group);
        if let Some(group) = group.filter(|group| group.reason.is_none()) {
            let level = y(group.cast.mired);
            let half = step / 2.0;
            plot.line("pooled", [x(index) - half, level], [x(index) + half, level]);
        }
    }
    let size = (step * 0.42).clamp(3.2, 9.0);
    for (index, frame) in frames.iter().enumerate() {
        let [low, high] = frame.cast.mired_interval;
        plot.line("whisker", [x(index), y(low)], [x(index), y(high)]);
    }
    for (index, frame) in frames.iter().enumerate() {
        shape(&mut plot, Some(frame.verdict), [x(index), y(frame.cast.mired)], size);
    }
    outer.nested(PLOT_AT, PLOT, &plot);
    outer.rect("frame", PLOT_AT, PLOT);
    let below = PLOT_AT[1] + PLOT[1] + 24.0;
    let common = Clock::of(frames.iter().map(|frame| &frame.shot));
    let times: Vec<_> = frames.iter().map(|frame| common.time(&frame.shot)).collect();
    let several_days = are_of_several_days(times.iter().flatten().map(AsRef::as_ref));
    let clock = |index: usize| {
        let taken = times.get(index)?.as_deref()?;
        Some(if several_days { date_and_clock(taken) } else { clock(taken).to_owned() })
    };
    let last = frames.len().saturating_sub(1);
    let places = [(0, Anchor::Start), (last / 2, Anchor::Middle), (last, Anchor::End)];
    let places = if frames.len() > 2 { &places[..] } else { &places[..1] };
    let mut unknown_said = false;
    for (index, anchor) in places {
        let at = match anchor {
            Anchor::Start => PLOT_AT[0],
            Anchor::Middle => PLOT_AT[0] + x(*index),
            Anchor::End => PLOT_AT[0] + PLOT[0],
        };
        if let Some(clock) = clock(*index) {
            outer.text("tick", [at, below], *anchor, &clock);
        } else if !unknown_said {
            outer.text("tick", [at, below], *anchor, "time unknown");
            unknown_said = true;
        }
    }
    let axis = [PLOT_AT[0], below + 24.0];
    outer.text("axis-name", axis, Anchor::Start, "mired: up more orange, down bluer");
    outer.picture("fig wide timeline", SIZE, alternative)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frames::Verdict;
    use crate::report::frame_examples::frame;

    #[test]
    fn frames_without_times_say_so_once() {
        let mut frames = [0, 1, 2, 3, 4].map(|i| frame(Verdict::Neutral, 3.0, 0.001, i));
        let unknown = |frames: &[FrameReading]| {
            let frames: Vec<_> = frames.iter().collect();
            let drawn = draw(&frames, &[], Tolerance::default(), "casts");
            drawn.matches(">time unknown</text>").count()
        };
        assert_eq!(unknown(&frames), 0);
        frames[2].shot.taken = None;
        assert_eq!(unknown(&frames), 1);
        frames.iter_mut().for_each(|frame| frame.shot.taken = None);
        assert_eq!(unknown(&frames), 1);
    }

    #[test]
    fn a_group_further_off_than_its_frames_is_within_the_drawing() {
        let frame = FrameReading { group: Some(1), ..frame(Verdict::Blue, -60.0, 0.001, 0) };
        let (_, groups) = crate::report::frame_examples::shoot();
        let mut group = groups[0].reading().clone();
        (group.group, group.cast.mired) = (1, -230.0);
        let drawn = draw(&[&frame, &frame], &[&group], Tolerance::default(), "casts");
        let line = drawn.split("class=\"pooled\"").nth(1).unwrap_or_default();
        let y = line.split("y1=\"").nth(1).and_then(|rest| rest.split('"').next());
        let y: f64 = y.unwrap_or_default().parse().unwrap();
        assert!((0.0..PLOT[1]).contains(&y), "{y}: {line}");
    }

    #[test]
    fn times_of_several_days_have_their_dates() {
        let mut frames = [0, 1, 2].map(|i| frame(Verdict::Neutral, 3.0, 0.001, i));
        let drawn = |frames: &[FrameReading]| {
            draw(&frames.iter().collect::<Vec<_>>(), &[], Tolerance::default(), "casts")
        };
        assert!(drawn(&frames).contains(">09:00</text>"));
        frames[2].shot.taken = Some("2025-03-13T10:30:00".to_owned());
        let drawn = drawn(&frames);
        assert!(drawn.contains(">2024-03-12 09:00</text>"), "{drawn}");
        assert!(drawn.contains(">2025-03-13 10:30</text>"), "{drawn}");
    }
}
