//! Whether a correction is made, for what, and all that is said about it.

use std::path::Path;

use super::subject::Subject;
use super::warnings::warnings_of;
use super::{Cdl, CdlFit, ColourSample, Correction, Footage, Headroom, Strength};
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

/// A correction that is to be made: what goes into its files.
#[derive(Debug, Clone, PartialEq)]
pub struct Plan {
    id: String,
    correction: Correction,
    footage: Footage,
    fit: CdlFit,
    headroom: Headroom,
    safe_strength: Option<Strength>,
    descriptions: Vec<String>,
    warnings: Vec<String>,
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
                Self::plan(&subject, id, options, &[])
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
            _ => Self::plan(subject, id, options, pictures),
        }
    }

    fn plan(
        subject: &Subject,
        id: &str,
        options: &GradeOptions,
        pictures: &[&ColourSample],
    ) -> Self {
        let GradeOptions { footage, strength, told } = *options;
        let correction = subject.neutral.and_then(|neutral| Correction::new(neutral, strength));
        let Some(correction) = correction else {
            return Self::Refused("its neutral has no colour".to_owned());
        };
        let headroom = Headroom::of(&correction, footage, pictures).rounded();
        let safe_strength = Headroom::safe_strength(&correction, footage, pictures);
        let mut descriptions = subject.descriptions.clone();
        descriptions.push(format!(
            "For footage in {footage}. Strength {strength}: {}. A neutral keeps its luminance.",
            if strength == Strength::FULL { "all of the cast" } else { "a part of the cast" },
        ));
        descriptions.push(super::made_by());
        let mut warnings = subject.warnings.clone();
        warnings.extend(warnings_of(&correction, footage, &headroom, safe_strength, told));
        Self::Correct(Box::new(Plan {
            id: id.to_owned(),
            fit: Cdl::fit(&correction, footage),
            correction,
            footage,
            headroom,
            safe_strength,
            descriptions,
            warnings,
        }))
    }
}

impl Plan {
    /// Its name: of its files, and in them its id. Legal as an XML id where it was made from a
    /// group or by [`unique_names`](super::unique_names).
    #[must_use]
    pub fn id(&self) -> &str {
        &self.id
    }

    /// The correction.
    #[must_use]
    pub const fn correction(&self) -> &Correction {
        &self.correction
    }

    /// The encoding that the footage is in.
    #[must_use]
    pub const fn footage(&self) -> Footage {
        self.footage
    }

    /// The CDL that comes nearest to it.
    #[must_use]
    pub const fn fit(&self) -> &CdlFit {
        &self.fit
    }

    /// What it costs.
    #[must_use]
    pub const fn headroom(&self) -> &Headroom {
        &self.headroom
    }

    /// How much of it would do no harm, where all of it would.
    #[must_use]
    pub const fn safe_strength(&self) -> Option<Strength> {
        self.safe_strength
    }

    /// What it corrects and how, a sentence or two each.
    #[must_use]
    pub fn descriptions(&self) -> &[String] {
        &self.descriptions
    }

    /// What to mind, a sentence or two each.
    #[must_use]
    pub fn warnings(&self) -> &[String] {
        &self.warnings
    }

    /// How near the CDL comes, in words.
    #[must_use]
    pub fn fit_in_words(&self) -> String {
        format!(
            "Slopes nearest to a CAT16 adaptation; off by CIEDE2000 {:.1} on average and {:.1} at \
             most over a 24-patch chart. The .clf of the same name is exact.",
            self.fit.mean_delta_e, self.fit.max_delta_e
        )
    }
}

#[cfg(test)]
pub(super) mod tests {
    use super::*;
    use crate::balance::BalanceSource;
    use crate::card::{BalanceRecord, ShotRecord};
    use crate::frames::{Cast, ReferenceRecord, Tolerance};

    pub(crate) fn group() -> GroupReading {
        GroupReading {
            group: 2,
            frames: 5,
            verdict: Verdict::Orange,
            cast: Cast {
                mired: 85.0,
                mired_interval: [72.0, 98.0],
                duv: 0.0012,
                duv_interval: [-0.001, 0.004],
                white_linear_srgb: [1.0, 0.70, 0.44],
            },
            gains: [0.7, 1.0, 1.59],
            tolerance: Tolerance::default(),
            from: Some("2024-03-12T09:48:00".to_owned()),
            to: Some("2024-03-12T09:56:00".to_owned()),
            camera: Some("Camera A".to_owned()),
            balance: BalanceRecord {
                source: BalanceSource::LightSource,
                name: Some("daylight".to_owned()),
                kelvin: Some(5500.0),
                duv: Some(0.0033),
            },
            reference: None,
            odd: Vec::new(),
            drift: None,
        }
    }

    fn made(decision: Decision) -> Plan {
        match decision {
            Decision::Correct(plan) => *plan,
            other => panic!("{other:?}"),
        }
    }

    pub(crate) fn plan() -> Plan {
        made(Decision::of_group(&group(), &GradeOptions::default(), &[]))
    }

    pub(crate) fn plan_for(footage: &str) -> Plan {
        let options = GradeOptions::new(footage.parse().unwrap(), Strength::FULL);
        made(Decision::of_group(&group(), &options, &[]))
    }

    fn frame(verdict: Verdict) -> FrameReading {
        let group = group();
        FrameReading {
            verdict,
            cast: group.cast,
            gains: group.gains,
            group: None,
            tolerance: group.tolerance,
            shot: ShotRecord { camera: Some("\u{1b}[2J</x>".to_owned()), ..ShotRecord::default() },
            reference: None,
        }
    }

    /// A frame whose names are out to do harm.
    pub(crate) fn hostile() -> Plan {
        let path = Path::new("day/a<b>&\"'\u{1b}.jpg");
        let id = &super::super::unique_names(&[path])[0];
        let frame = frame(Verdict::Orange);
        made(Decision::of_frame(path, id, &frame, &GradeOptions::default(), None))
    }

    #[test]
    fn the_files_say_what_light_what_cast_and_what_interval() {
        let said = plan().descriptions().join("\n");
        for part in [
            "group 2",
            "5 frames",
            "Camera A",
            "3750 K",
            "5500 K",
            "+85 mired (+72 to +98",
            "+0.0012",
            "srgb",
            "100%",
            "mirecast",
        ] {
            assert!(said.contains(part), "{part} is not in {said}");
        }
    }

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

    #[test]
    fn what_the_picture_cannot_bear_is_said_with_what_it_can() {
        let mut strong = group();
        strong.cast.white_linear_srgb = [1.0, 0.45, 0.12];
        let plan = made(Decision::of_group(&strong, &GradeOptions::default(), &[]));
        let [warning] = plan.warnings() else { panic!("{:?}", plan.warnings()) };
        assert!(warning.contains("8-bit") && warning.contains("blue"), "{warning}");
        let safe = plan.safe_strength().unwrap();
        assert!(warning.contains(&format!("--strength {safe}")), "{warning}");
        let less = GradeOptions::new(Footage::SRGB, safe);
        let plan = made(Decision::of_group(&strong, &less, &[]));
        assert_eq!((plan.warnings().len(), plan.safe_strength()), (0, None));
    }

    #[test]
    fn a_group_that_is_at_odds_with_itself_is_warned_of() {
        let mut group = group();
        group.odd = vec!["a.jpg".to_owned()];
        let warnings = |group: &GroupReading| {
            made(Decision::of_group(group, &GradeOptions::default(), &[])).warnings().to_vec()
        };
        assert!(warnings(&group).is_empty(), "one of five");
        group.odd.push("b.jpg".to_owned());
        assert!(warnings(&group)[0].contains("2 of its 5 frames"), "{:?}", warnings(&group));
    }

    #[test]
    fn a_single_frame_says_which_it_is() {
        let plan = hostile();
        assert!(plan.descriptions()[0].contains("a<b>&\"'"), "{:?}", plan.descriptions());
        assert!(plan.id().starts_with("a_b_"));
    }
}
