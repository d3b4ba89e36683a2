//! Whether a correction is made, and for what.

use std::path::Path;

use super::subject::Subject;
use super::{ColourSample, Footage, Plan, Strength};
use crate::card::{CardReading, Status};
use crate::frames::{FrameReading, GroupReading, Verdict};
use crate::told::Told;

/// How corrections are made.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[non_exhaustive]
pub struct GradeOptions {
    /// The encoding that the footage is in.
    pub footage: Footage,
    /// How much of the correction is made.
    pub strength: Strength,
    /// Where warnings and refusals are read.
    pub told: Told,
}

impl GradeOptions {
    /// Options for footage of an encoding.
    #[must_use]
    pub fn new(footage: Footage, strength: Strength) -> Self {
        Self { footage, strength, told: Told::default() }
    }

    /// The same, with words for somewhere else.
    #[must_use]
    pub fn told(self, told: Told) -> Self {
        Self { told, ..self }
    }
}

/// What is decided about a correction.
#[derive(Debug, Clone, PartialEq)]
#[non_exhaustive]
pub enum Decision {
    /// It is made.
    Correct(Box<Plan>),
    /// There is nothing to correct; why.
    NotNeeded(String),
    /// None can be made; why, and what to do.
    Refused(String),
}

impl Decision {
    /// About a group of frames; `pictures` are samples of them where they are there.
    #[must_use]
    pub fn of_group(
        group: &GroupReading,
        options: &GradeOptions,
        pictures: &[&ColourSample],
    ) -> Self {
        if let Some(reason) = &group.reason {
            return Self::Refused(format!(
                "it does not tell as a whole: {reason}{}",
                options.told.either(" (frames --each-frame)", "")
            ));
        }
        let id = format!("group-{}", group.group);
        let subject = Subject::of_group(group, options.told);
        Self::by_verdict(group.verdict, &subject, &id, options, pictures)
    }

    /// About a single frame, for files of the name `id`; its path is said in them.
    #[must_use]
    pub fn of_frame(
        path: &Path,
        id: &str,
        frame: &FrameReading,
        options: &GradeOptions,
        picture: Option<&ColourSample>,
    ) -> Self {
        if frame.black_and_white {
            return Self::Refused("black and white: it shows no cast".to_owned());
        }
        if let Some(reason) = &frame.reason {
            return Self::Refused(format!("it does not tell: {reason}"));
        }
        let pictures: Vec<_> = picture.into_iter().collect();
        let subject = Subject::of_frame(path, frame);
        Self::by_verdict(frame.verdict, &subject, id, options, &pictures)
    }

    /// About footage that was shot as a card was, for files of the name `id`. A card is as good as
    /// its reading: no tolerance spares it a correction.
    #[must_use]
    pub fn of_card(path: &Path, id: &str, card: &CardReading, options: &GradeOptions) -> Self {
        match (card.status, &card.residual) {
            (Status::Read | Status::ResidualOnly, Some(residual)) => {
                let subject = Subject::of_card(path, card, residual);
                Self::correct(&subject, id, options, &[])
            }
            _ => {
                let problem = card.card.problems.first().map(|problem| &problem.message);
                Self::Refused(format!(
                    "the card cannot be balanced from: {}",
                    problem.map_or("no card was found", |message| message)
                ))
            }
        }
    }

    /// The plan, where the correction is made.
    #[must_use]
    pub fn plan_made(&self) -> Option<&Plan> {
        match self {
            Self::Correct(plan) => Some(plan),
            _ => None,
        }
    }

    fn by_verdict(
        verdict: Verdict,
        subject: &Subject,
        id: &str,
        options: &GradeOptions,
        pictures: &[&ColourSample],
    ) -> Self {
        match verdict {
            Verdict::Undecided => Self::Refused(format!(
                "it does not tell: nothing in it is surely neutral, and a correction would be a \
                 guess. Photograph a card in that light and correct from it{}",
                options.told.either(": mirecast card CARD --corrections FOLDER", "")
            )),
            Verdict::Neutral if subject.neutral.is_none() => {
                let [mired, duv] = subject.tolerance;
                Self::NotNeeded(format!("neutral: no sure cast beyond {mired} mired or {duv} Duv"))
            }
            _ => Self::correct(subject, id, options, pictures),
        }
    }

    fn correct(
        subject: &Subject,
        id: &str,
        options: &GradeOptions,
        pictures: &[&ColourSample],
    ) -> Self {
        match Plan::of(subject, id, options, pictures) {
            Some(plan) => Self::Correct(Box::new(plan)),
            None => Self::Refused("its neutral has no colour".to_owned()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::frames::ReferenceRecord;
    use crate::grade::examples::{group, made};

    #[test]
    fn the_undecided_are_refused_and_the_neutral_spared() {
        let of = |verdict| {
            let group = GroupReading { verdict, ..group() };
            Decision::of_group(&group, &GradeOptions::default(), &[])
        };
        assert!(matches!(of(Verdict::Undecided), Decision::Refused(why) if why.contains("card")));
        assert!(matches!(of(Verdict::Neutral), Decision::NotNeeded(why) if why.contains("20")));
        assert!(of(Verdict::Green).plan_made().is_some());
    }

    #[test]
    fn a_group_of_no_one_light_is_refused_with_the_way_to_go_by_frames() {
        let reason = Some("9 of its 20 frames look otherwise".to_owned());
        let group = GroupReading { verdict: Verdict::Undecided, reason, ..group() };
        let of = |told| {
            let options = GradeOptions::default().told(told);
            match Decision::of_group(&group, &options, &[]) {
                Decision::Refused(why) => why,
                other => panic!("{other:?}"),
            }
        };
        let why = of(Told::AtTerminal);
        assert!(why.contains("9 of its 20 frames") && why.contains("--each-frame"), "{why}");
        assert!(!of(Told::OnPage).contains("--each-frame"));
    }

    #[test]
    fn against_a_card_its_own_correction_comes_with_it() {
        let reference = Some(ReferenceRecord { path: "card.jpg".into(), gains: [0.8, 1.0, 1.25] });
        let relative = [1.0, 0.9, 0.8];
        let mut group = GroupReading { reference, ..group() };
        group.cast.white_linear_srgb = relative;
        let neutral = |group: &GroupReading| {
            made(Decision::of_group(group, &GradeOptions::default(), &[])).correction().neutral()
        };
        let [red, green, blue] = neutral(&group);
        assert!((red / green - 1.0 / 0.9 / 0.8).abs() < 1e-9, "{red} {green}");
        assert!((blue / green - 0.8 / 0.9 / 1.25).abs() < 1e-9, "{blue} {green}");
        group.verdict = Verdict::Neutral;
        let [red, green, blue] = neutral(&group);
        assert!((red / green - 1.25).abs() < 1e-9 && (blue / green - 0.8).abs() < 1e-9);
    }
}
