//! A correction that is made, and all that is said about it.

use super::subject::Subject;
use super::warnings::warnings_of;
use super::{Cdl, CdlFit, ColourSample, Correction, Footage, GradeOptions, Headroom, Strength};

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

impl Plan {
    /// `None` where its neutral has no colour.
    pub(super) fn of(
        subject: &Subject,
        id: &str,
        options: &GradeOptions,
        pictures: &[&ColourSample],
    ) -> Option<Self> {
        let GradeOptions { footage, strength, told } = *options;
        let correction = Correction::new(subject.neutral?, strength)?;
        let headroom = Headroom::of(&correction, footage, pictures).rounded();
        let safe_strength = Headroom::safe_strength(&correction, footage, pictures);
        let mut descriptions = subject.descriptions.clone();
        descriptions.push(format!(
            "For footage in {footage}. Strength {strength}: {} of {}. A neutral keeps its luminance.",
            if strength == Strength::FULL { "all" } else { "a part" },
            subject.takes_out,
        ));
        descriptions.push(super::made_by());
        let mut warnings = subject.warnings.clone();
        warnings.extend(warnings_of(&correction, footage, &headroom, safe_strength, told));
        Some(Self {
            id: id.to_owned(),
            fit: Cdl::fit(&correction, footage),
            correction,
            footage,
            headroom,
            safe_strength,
            descriptions,
            warnings,
        })
    }

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
mod tests {
    use super::*;
    use crate::frames::{Drift, DriftKind, GroupReading, ReferenceRecord, Verdict};
    use crate::grade::Decision;
    use crate::grade::examples::{group, hostile, made, plan};

    #[test]
    fn the_files_say_what_light_what_cast_and_what_interval() {
        let said = plan().descriptions().join("\n");
        for part in [
            "group 2",
            "5 frames",
            "Its 5 frames: from wheel/take-01.jpg to take-05.jpg.",
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
    fn the_files_say_which_frames_they_are_for() {
        let said = |frames: usize, first: &str, last: &str| {
            let (first, last) = (first.to_owned(), last.to_owned());
            let group = GroupReading { frames, first, last, ..group() };
            let plan = made(Decision::of_group(&group, &GradeOptions::default(), &[]));
            plan.descriptions()[1].clone()
        };
        assert_eq!(said(1, "day/a.jpg", "day/a.jpg"), "Its frame: day/a.jpg.");
        assert_eq!(said(2, "day/a.jpg", "day/b.jpg"), "Its 2 frames: day/a.jpg and b.jpg.");
        assert_eq!(said(3, "a.jpg", "b.jpg"), "Its 3 frames: from a.jpg to b.jpg.");
        assert_eq!(said(3, "x/a.jpg", "y/b.jpg"), "Its 3 frames: from x/a.jpg to y/b.jpg.");
        let long = said(3, &format!("{}/a.jpg", "é".repeat(200)), "b.jpg");
        assert!(long.starts_with("Its 3 frames: from …é") && long.len() < 160, "{long}");
    }

    #[test]
    fn what_is_neutral_beyond_its_card_is_not_said_to_lose_a_cast() {
        let reference = Some(ReferenceRecord { path: "card.jpg".into(), gains: [0.8, 1.0, 1.25] });
        let said = |verdict| {
            let group = GroupReading { verdict, reference: reference.clone(), ..group() };
            let plan = made(Decision::of_group(&group, &GradeOptions::default(), &[]));
            plan.descriptions().join("\n")
        };
        let neutral = said(Verdict::Neutral);
        for part in ["Balances group 2", "card.jpg", "nothing more is taken out", "all of what"] {
            assert!(neutral.contains(part), "{part} is not in {neutral}");
        }
        assert!(!neutral.contains("the cast") && !neutral.contains("left beyond it"), "{neutral}");
        let orange = said(Verdict::Orange);
        assert!(
            orange.contains("left beyond it") && orange.contains("all of the cast"),
            "{orange}"
        );
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
        assert!(warnings(&group)[0].contains("2 of its 5 frames look"), "{:?}", warnings(&group));
        (group.frames, group.odd) = (4, vec!["a.jpg".to_owned()]);
        assert!(warnings(&group)[0].contains("1 of its 4 frames looks otherwise"));
    }

    #[test]
    fn a_group_that_is_a_step_of_a_change_says_so_where_it_is_loaded_and_where_it_is_read() {
        let plan = |kind| {
            let drift = Some(Drift {
                kind,
                from: Some("2024-03-12T09:40:00".to_owned()),
                to: Some("2024-03-12T10:40:00".to_owned()),
                frames: 12,
                mired: 45.0,
                mired_interval: [31.0, 59.0],
                looks_like: "the sun going down".to_owned(),
            });
            let group = GroupReading { drift, ..group() };
            made(Decision::of_group(&group, &GradeOptions::default(), &[]))
        };
        let steady = plan(DriftKind::TowardOrange);
        let [warning] = steady.warnings() else { panic!("{:?}", steady.warnings()) };
        assert!(warning.contains("+45 mired") && warning.contains("--each-frame"), "{warning}");
        assert!(steady.descriptions().iter().any(|text| text.contains("the middle of it at best")));
        let hunting = plan(DriftKind::Hunting);
        assert!(hunting.warnings().is_empty(), "{:?}", hunting.warnings());
    }

    #[test]
    fn a_single_frame_says_which_it_is() {
        let plan = hostile();
        assert!(plan.descriptions()[0].contains("a<b>&\"'"), "{:?}", plan.descriptions());
        assert!(plan.id().starts_with("a_b_"));
    }
}
