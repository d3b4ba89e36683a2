//! Frames that share a cast, found from their records alone.
//!
//! Frames are parted by camera (by folder where a file does not name it), balance and reference;
//! bodies of one model are cameras of their own. So are edited copies beside their originals (`versions`): they
//! show no light, and would stand between the frames that do. What is left is put in the order of time; what says
//! no time comes after it, in the order of names.
//! A light stays for a while and then changes, and an earlier one may come back. Single frames
//! tell their cast badly, with an error of 20 mired and sometimes 60, so a frame counts by a
//! heavy-tailed likelihood and its neighbours speak for it:
//!
//! 1. `stretches` finds where the light changes, by the most probable path through a grid of casts;
//! 2. `levels` puts stretches of one cast together, and lets the path choose among the casts found
//!    until nothing moves;
//! 3. `order` parts them by their casts alone where that explains them better than an order;
//! 4. `pool` gives each group one cast; `drift` looks for what moves steadily;
//! 5. `unity` says which groups are of no one light, since too many of their frames look otherwise.

mod clock;
mod drift;
mod evidence;
mod levels;
mod mixture;
mod order;
mod path;
mod pool;
mod stretches;
mod unity;
mod versions;
mod views;
mod white;

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::Serialize;

use super::check::gains;
use super::verdict::verdict_of_normal;
use super::{Cast, Clock, FrameReading, ReferenceRecord, Tolerance, Verdict};
use crate::card::BalanceRecord;
use evidence::{
    Evidence, SharedNames, earlier, forget_a_stopped_clock, in_order, key, mark_copies,
};
use pool::Pooled;
use versions::{Version, versions};

pub use drift::{Drift, DriftKind};

/// Frames that share a cast: a correction is made once for all of them.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
pub struct GroupReading {
    /// Its number, from 1, in the order of its first frame.
    pub group: u32,
    /// How many frames it has.
    pub frames: usize,
    /// The path of the first of them, in the order that they were put in.
    pub first: String,
    /// The path of the last.
    pub last: String,
    /// What is said of it as a whole.
    pub verdict: Verdict,
    /// Why it is undecided as a whole, though its frames may tell; null where it is of one light.
    pub reason: Option<String>,
    /// Whether its frames are edited copies of other frames, and show what was made of the light. Only there
    /// where they are.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub edited: bool,
    /// The cast that its frames share; where there is a reason why they share none, the intervals
    /// go over the casts of the frames, each figure is the middle of its interval and no cast of
    /// any light, and the white is 1, 1, 1.
    pub cast: Cast,
    /// Gains for linear red, green and blue, in sRGB, that take its cast out; green's is 1. Null where no cast
    /// is to be taken out: it is neutral, or undecided.
    pub gains: Option<[f64; 3]>,
    /// What was called neutral.
    pub tolerance: Tolerance,
    /// When the first of its frames that say was taken, by the camera's clock; null where none says. Where
    /// frames' clocks were set to several offsets from UTC, by the one that most of all frames record.
    pub from: Option<String>,
    /// When the last of its frames that say was taken.
    pub to: Option<String>,
    /// The camera, where it is known; with its body's serial number where frames of another body of
    /// that name were grouped too.
    pub camera: Option<String>,
    /// The balance that its frames were shot at.
    pub balance: BalanceRecord,
    /// The card that its frames were judged against, if any.
    pub reference: Option<ReferenceRecord>,
    /// Frames whose own cast lies far from the group's.
    pub odd: Vec<String>,
    /// How the cast moves over a time that the group is part of, where it does.
    pub drift: Option<Drift>,
}

/// What was found.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Grouping {
    /// The group of each frame, in the order in which they were given.
    pub group_of: Vec<u32>,
    /// The groups by number.
    pub groups: Vec<GroupReading>,
}

/// How far casts of whole groups are from neutral: mired, Duv, one standard deviation.
const PRIOR: [f64; 2] = [60.0, 0.005];
/// A frame is odd from so many half-widths of its own interval on.
const ODD: f64 = 1.6;

/// Groups frames by what their records say; `frames` are paths and readings. The order in which
/// they are given does not matter.
#[must_use]
pub fn group_frames(frames: &[(&str, &FrameReading)]) -> Grouping {
    let frames: Vec<_> = frames.iter().map(|(path, reading)| (*path, *reading, 0)).collect();
    group_sourced(&frames)
}

/// As [`group_frames`], with the number of the source that each frame's record is from: where files
/// name no camera, frames of two sources are of two cameras.
pub(crate) fn group_sourced(frames: &[(&str, &FrameReading, u32)]) -> Grouping {
    let shared = SharedNames::among(frames.iter().map(|(_, reading, _)| *reading));
    let clock = Clock::of(frames.iter().map(|(_, reading, _)| &reading.shot));
    let mut parts: BTreeMap<_, Vec<Evidence<'_>>> = BTreeMap::new();
    let keyed = frames.iter().map(|(path, reading, source)| {
        let reading: &FrameReading = reading;
        (key(path, reading, *source, &shared), *path, reading)
    });
    let keyed: Vec<_> = keyed.collect();
    for (index, (version, (key, path, reading))) in
        versions(&keyed).into_iter().zip(keyed).enumerate()
    {
        let part = parts.entry((key, version == Version::Edited)).or_default();
        let is_copy = version == Version::Copy;
        part.push(Evidence { is_copy, ..Evidence::of(index, path, reading, clock) });
    }
    let mut found: Vec<_> = parts
        .into_iter()
        .flat_map(|((_, is_edited), frames)| {
            groups_of_part(frames).into_iter().map(move |mut group| {
                group.reading.edited = is_edited;
                group
            })
        })
        .collect();
    found.sort_by(|a, b| earlier(&a.first, &b.first));
    let mut grouping = Grouping { group_of: vec![0; frames.len()], groups: Vec::new() };
    for (number, mut group) in (1_u32..).zip(found) {
        for index in group.members {
            if let Some(place) = grouping.group_of.get_mut(index) {
                *place = number;
            }
        }
        group.reading.group = number;
        group.reading.camera = shared.name(group.first.reading);
        grouping.groups.push(group.reading);
    }
    grouping
}

/// A group, and which of the frames given are in it.
struct Group<'a> {
    first: Evidence<'a>,
    members: Vec<usize>,
    reading: GroupReading,
}

/// Groups of frames that can share one at all.
fn groups_of_part(mut frames: Vec<Evidence<'_>>) -> Vec<Group<'_>> {
    in_order(&mut frames);
    if !views::are_all_a_burst(&frames) && forget_a_stopped_clock(&mut frames) {
        in_order(&mut frames);
    }
    mark_copies(&mut frames);
    views::number_views(&mut frames);
    let times: Vec<_> = frames.iter().map(|frame| frame.at).collect();
    let chances = clock::chances_of_change(&times);
    let mut labels = levels::labels(&frames, &chances);
    let timed = clock::timed(&times);
    let unsure: Vec<_> = [0..timed, timed..frames.len()]
        .into_iter()
        .filter_map(|range| order::part_by_casts(&frames, &chances, range, &mut labels))
        .collect();
    let drifts = drift::drifts(&frames, &labels);
    let mut members: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (place, label) in labels.iter().enumerate() {
        members.entry(*label).or_default().push(place);
    }
    members
        .into_iter()
        .filter_map(|(label, places)| {
            let inside = |place: &usize, range: &std::ops::Range<usize>| range.contains(place);
            let drift = drifts
                .iter()
                .find(|(range, _)| places.iter().any(|place| inside(place, range)))
                .map(|(_, drift)| drift.clone());
            let members: Vec<_> = places.iter().filter_map(|place| frames.get(*place)).collect();
            Some(Group {
                first: **members.first()?,
                members: members.iter().map(|frame| frame.index).collect(),
                reading: reading(&members, drift, unsure.contains(&label))?,
            })
        })
        .collect()
}

/// The record of a group whose frames are in order; its number is still to come.
fn reading(members: &[&Evidence<'_>], drift: Option<Drift>, unsure: bool) -> Option<GroupReading> {
    let first = members.first()?;
    let mut timed = members.iter().filter(|frame| frame.at.is_some());
    let from = timed.next();
    let to = timed.next_back().or(from);
    let told = Pooled::told(members);
    let pooled = told.with_prior();
    let tolerance = first.reading.tolerance;
    // Of one or two frames none is odder than the other.
    let is_odd = |frame: &Evidence<'_>| {
        members.len() > 2
            && (frame.mired.half_widths_to(told.mired.0) > ODD
                || frame.duv.half_widths_to(told.duv.0) > ODD)
    };
    let odd = members.iter().filter(|frame| is_odd(frame));
    let different: Vec<_> = members.iter().filter(|frame| !frame.is_copy).copied().collect();
    let odd_ones = different.iter().filter(|frame| is_odd(frame)).count();
    let reason = match unsure && different.len() > 1 {
        true => Some(unity::of_several_lights(different.len())),
        false => unity::why_not_one(different.len(), odd_ones),
    };
    let (verdict, cast) = match different.as_slice() {
        // Nothing is known of it beyond its own record.
        [alone] => (alone.reading.verdict, alone.reading.cast),
        several if reason.is_some() => {
            let of = |of: fn(&Cast) -> f64, interval| {
                unity::span(several, |frame| of(&frame.reading.cast), interval)
            };
            let mired_interval = of(|cast| cast.mired, pooled.mired_interval());
            let duv_interval = of(|cast| cast.duv, pooled.duv_interval());
            // What is pooled would be one of the lights, as if it were more right than the other.
            let middle = |[low, high]: [f64; 2]| f64::midpoint(low, high);
            (
                Verdict::Undecided,
                Cast {
                    mired: middle(mired_interval),
                    mired_interval,
                    duv: middle(duv_interval),
                    duv_interval,
                    white_linear_srgb: [1.0; 3],
                },
            )
        }
        _ => (
            verdict_of_normal(pooled.mired, pooled.duv, tolerance),
            Cast {
                mired: pooled.mired.0,
                mired_interval: pooled.mired_interval(),
                duv: pooled.duv.0,
                duv_interval: pooled.duv_interval(),
                white_linear_srgb: white::of_group(&different, &pooled),
            },
        ),
    };
    // Where many look otherwise none is the odd one.
    let odd = odd.filter(|_| reason.is_none()).map(|frame| frame.path.to_owned()).collect();
    Some(GroupReading {
        group: 0,
        frames: members.len(),
        first: first.path.to_owned(),
        last: members.last().unwrap_or(first).path.to_owned(),
        verdict,
        reason,
        edited: false,
        cast,
        gains: verdict.is_cast().then(|| gains(cast.white_linear_srgb)),
        tolerance,
        from: from.and_then(|frame| frame.time()),
        to: to.and_then(|frame| frame.time()),
        camera: first.reading.shot.camera.clone(),
        balance: first.reading.shot.balance.clone(),
        reference: first.reading.reference.clone(),
        odd,
        drift,
    })
}

#[cfg(test)]
mod tests;
