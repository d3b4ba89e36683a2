//! Set-ups → the whole comparison.

use schemars::JsonSchema;
use serde::Serialize;

use super::advice::advice;
use super::cameras::{Camera, CameraOffset, doubt};
use super::compromise::OneBalance;
use super::gel_choice::{CLEAR_DUV, GEL_CAUTIONS, GelChoice};
use super::setup::{Setup, SetupPhoto, SetupRecord};
use super::shift::Shift;
use crate::balance::{GelTable, PresetTable};
use crate::card::LightReading;

/// What set-ups are compared with.
#[derive(Debug, Clone)]
pub struct ComparisonOptions {
    /// The presets to choose the nearest from.
    pub presets: PresetTable,
    /// The gels to choose from.
    pub gels: GelTable,
    /// Whether the set-ups are cameras in one and the same light.
    pub same_light: bool,
}

/// How several set-ups compare.
#[derive(Debug, Clone, PartialEq, Serialize, JsonSchema)]
#[schemars(title = "Set-ups record")]
pub struct Comparison {
    /// The set-ups, in the order given.
    pub setups: Vec<SetupRecord>,
    /// Between each two whose lights are known, the earlier first; none between cameras in one
    /// light.
    pub shifts: Vec<Shift>,
    /// The one balance for all whose lights are known; null for fewer than two, and for cameras in
    /// one light.
    pub balance: Option<OneBalance>,
    /// The gels that are worth it.
    pub gels: Vec<GelChoice>,
    /// What to keep in mind with gels; empty where none is named.
    pub cautions: Vec<String>,
    /// What to dial on each further camera to match the first; empty but for cameras in one light.
    pub cameras: Vec<CameraOffset>,
    /// What to know about the comparison.
    pub problems: Vec<ComparisonNote>,
    /// What to do next, a sentence each.
    pub advice: Vec<String>,
}

/// One thing to know about a comparison.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, JsonSchema)]
pub struct ComparisonNote {
    /// Short and stable, for scripts.
    pub code: String,
    /// A sentence for people.
    pub message: String,
}

/// Compares set-ups. Names are expected to differ.
///
/// Never fails: what cannot be compared is part of the result.
#[must_use]
pub fn compare(setups: &[Setup], options: &ComparisonOptions) -> Comparison {
    let records: Vec<SetupRecord> = setups.iter().map(Setup::record).collect();
    let lights: Vec<(&str, &LightReading)> = records
        .iter()
        .filter_map(|record| Some((record.name.as_str(), record.light.as_ref()?)))
        .collect();
    let mut problems: Vec<ComparisonNote> = records.iter().filter_map(scattered).collect();
    let (mut shifts, mut balance, mut cameras) = (Vec::new(), None, Vec::new());
    let mut closer = Vec::new();
    if options.same_light {
        let known: Vec<Camera> = setups.iter().filter_map(Camera::of).collect();
        closer.extend(known.iter().filter_map(Camera::advice));
        if let Some((reference, others)) = known.split_first() {
            cameras = others.iter().map(|camera| camera.offset_from(reference)).collect();
        }
    } else {
        for (index, from) in lights.iter().enumerate() {
            shifts.extend(lights.iter().skip(index + 1).map(|to| Shift::between(*from, *to)));
        }
        balance = OneBalance::of(&lights, &options.presets).filter(|_| lights.len() > 1);
    }
    let gels: Vec<GelChoice> =
        shifts.iter().flat_map(|shift| GelChoice::both_ways(shift, &options.gels)).collect();
    problems.extend(shifts.iter().filter_map(tint_differs));
    problems.extend(setups.iter().flat_map(Setup::photos).flat_map(other_balance));
    let cautions = GEL_CAUTIONS.iter().filter(|_| !gels.is_empty());
    let mut advice = advice(&records, &shifts, balance.as_ref(), &gels);
    advice.extend(cameras.iter().filter_map(doubt));
    advice.extend(closer);
    Comparison {
        cautions: cautions.map(|&caution| caution.to_owned()).collect(),
        shifts,
        balance,
        gels,
        cameras,
        problems,
        advice,
        setups: records,
    }
}

/// Photos of one set-up lie farther apart than this, in mired, only if the light changed or they
/// are not all of it.
const ONE_LIGHT_MIRED: f64 = 15.0;

fn scattered(setup: &SetupRecord) -> Option<ComparisonNote> {
    let spread = setup.spread_mired.filter(|spread| *spread > ONE_LIGHT_MIRED)?;
    Some(ComparisonNote {
        code: "spread".to_owned(),
        message: format!(
            "the photos of {} are {spread:.0} mired apart: the light changed between them, or \
             they are not all of one light. Compare them one by one",
            setup.name
        ),
    })
}

/// Said of each photo whose file records another balance than the user states.
fn other_balance(photo: &SetupPhoto) -> Option<ComparisonNote> {
    let problems = &photo.reading.as_ref().ok()?.card.problems;
    let problem = problems.iter().find(|problem| problem.code == "other-balance")?;
    let message = format!("in {}, {}", photo.path.display(), problem.message);
    Some(ComparisonNote { code: problem.code.clone(), message })
}

fn tint_differs(shift: &Shift) -> Option<ComparisonNote> {
    let Shift { from, to, duv, .. } = shift;
    let greener = if *duv > 0.0 { to } else { from };
    (shift.duv_is_real && duv.abs() >= CLEAR_DUV).then(|| ComparisonNote {
        code: "tint-differs".to_owned(),
        message: format!(
            "the tints of {from} and {to} differ: {greener} is greener by {:.4} Duv. A temperature \
             gel alone cannot make them match",
            duv.abs()
        ),
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::balance::White;
    use crate::colour::{Duv, Mired};
    use crate::setups::examples::photo;

    fn options(same_light: bool) -> ComparisonOptions {
        ComparisonOptions {
            presets: PresetTable::built_in().unwrap(),
            gels: GelTable::built_in().unwrap(),
            same_light,
        }
    }

    fn photographed(name: &str, mired: f64) -> Setup {
        Setup::Photographed { name: name.to_owned(), photos: vec![photo(name, mired)] }
    }

    fn stated(name: &str, mired: f64, duv: f64) -> Setup {
        let white = White::new(Mired::new(mired).unwrap().kelvin(), Duv::new(duv)).unwrap();
        Setup::Stated { name: name.to_owned(), white }
    }

    #[test]
    fn two_lights_are_compared() {
        let setups = [photographed("window", 172.0), photographed("lamp", 320.0)];
        let comparison = compare(&setups, &options(false));
        let [shift] = &comparison.shifts[..] else { panic!("one shift") };
        assert!((shift.mired - 148.0).abs() < 1e-9 && shift.mired_is_real && !shift.duv_is_real);
        assert!((shift.mired_interval[1] - 148.0 - 12.0 * 2.0_f64.sqrt()).abs() < 1e-9);
        assert_eq!(shift.appearance, "strong orange");
        let balance = comparison.balance.unwrap();
        assert!((balance.kelvin - 1e6 / 246.0).abs() < 1e-6);
        assert!((balance.misses[0].mired + 74.0).abs() < 1e-9);
        assert_eq!(balance.preset.unwrap().name, "fluorescent");
        assert_eq!(comparison.gels.len(), 2);
        assert_eq!(comparison.cautions.len(), GEL_CAUTIONS.len());
        assert_eq!(comparison.problems, []);
    }

    #[test]
    fn a_difference_within_the_uncertainty_calls_for_no_gel() {
        let setups = [photographed("a", 200.0), photographed("b", 214.0)];
        let comparison = compare(&setups, &options(false));
        assert!(!comparison.shifts[0].is_real());
        assert!(comparison.gels.is_empty() && comparison.cautions.is_empty());
    }

    #[test]
    fn a_slight_tint_is_not_worth_a_note() {
        let codes = |setups: &[Setup]| {
            let problems = compare(setups, &options(false)).problems;
            problems.into_iter().map(|problem| problem.code).collect::<Vec<_>>()
        };
        let dialled = |name: &str, kelvin: f64| {
            let white = White::from_dial(crate::colour::Kelvin::new(kelvin).unwrap()).unwrap();
            Setup::Stated { name: name.to_owned(), white }
        };
        assert!(codes(&[dialled("a", 5500.0), dialled("b", 5600.0)]).is_empty());
        let lamp_and_day = [dialled("lamp", 3200.0), dialled("day", 5500.0)];
        assert!(codes(&lamp_and_day).is_empty(), "the gels that are named do for it");
        assert_eq!(codes(&[stated("a", 200.0, 0.0), stated("b", 200.0, 0.007)]), ["tint-differs"]);
    }

    #[test]
    fn lamps_of_different_tint_cannot_be_matched_by_temperature_alone() {
        let setups = [stated("tube", 250.0, 0.012), stated("window", 180.0, 0.003)];
        let comparison = compare(&setups, &options(false));
        assert_eq!(comparison.problems[0].code, "tint-differs");
        assert!(comparison.problems[0].message.contains("tube is greener by 0.0090 Duv"));
        assert!(comparison.gels.iter().all(|choice| choice.gel.contains("green")));
    }

    #[test]
    fn cameras_in_one_light_differ_by_what_to_dial() {
        let setups = [photographed("a", 200.0), photographed("b", 212.0)];
        let comparison = compare(&setups, &options(true));
        assert!(comparison.shifts.is_empty() && comparison.balance.is_none());
        let [offset] = &comparison.cameras[..] else { panic!("one offset") };
        assert!(offset.is_real && (offset.mired - 12.0).abs() < 1e-9);
        // Their own two mired each, and what may stray at their residuals.
        let half = (offset.mired_interval[1] - offset.mired_interval[0]) / 2.0;
        assert!(half > 5.0 && half < 8.0, "{half}");
        assert!(comparison.advice.iter().any(|advice| advice.contains("set b near 4700 K")));
        let expected = 1e6 / (1e6 / 5500.0 + 12.0);
        assert!((offset.setting_kelvin.unwrap() - expected).abs() < 1e-6, "{offset:?}");
        assert_eq!(offset.reference_kelvin, Some(5500.0));
        assert!(!comparison.advice.iter().any(|advice| advice.contains("in the same light")));

        let lights = [photographed("a", 170.0), photographed("b", 310.0)];
        let advice = compare(&lights, &options(true)).advice;
        assert!(advice.iter().any(|advice| advice.contains("a and b were photographed in the")));
    }

    #[test]
    fn photos_that_scatter_are_noted_and_an_empty_folder_says_what_to_do() {
        let photos = vec![photo("1.jpg", 200.0), photo("2.jpg", 240.0)];
        let setups = [
            Setup::Photographed { name: "sky".to_owned(), photos },
            Setup::Photographed { name: "empty".to_owned(), photos: Vec::new() },
        ];
        let comparison = compare(&setups, &options(false));
        assert_eq!(comparison.problems[0].code, "spread");
        assert!(comparison.balance.is_none());
        assert!(comparison.advice[0].contains("photos of a card into empty"));
    }

    fn a_light() -> impl Strategy<Value = (f64, f64)> {
        (60.0..600.0, -0.02..0.02)
    }

    proptest! {
        #[test]
        fn the_order_of_setups_changes_only_signs(a in a_light(), b in a_light()) {
            let (a, b) = (stated("a", a.0, a.1), stated("b", b.0, b.1));
            let there = compare(&[a.clone(), b.clone()], &options(false));
            let back = compare(&[b, a], &options(false));
            prop_assert_eq!(there.shifts[0].mired, -back.shifts[0].mired);
            prop_assert_eq!(there.shifts[0].duv, -back.shifts[0].duv);
            let (one, other) = (there.balance.unwrap(), back.balance.unwrap());
            prop_assert_eq!((one.kelvin, one.duv, one.preset), (other.kelvin, other.duv, other.preset));
            let gel = |all: &[GelChoice], on: &str| all.iter().find(|gel| gel.on == on).cloned();
            for on in ["a", "b"] {
                prop_assert_eq!(gel(&there.gels, on), gel(&back.gels, on));
            }
        }

        #[test]
        fn a_setup_is_no_way_off_itself(a in a_light()) {
            let setups = [stated("a", a.0, a.1), stated("again", a.0, a.1)];
            let comparison = compare(&setups, &options(false));
            prop_assert_eq!((comparison.shifts[0].mired, comparison.shifts[0].duv), (0.0, 0.0));
            prop_assert!(!comparison.shifts[0].is_real() && comparison.gels.is_empty());
            prop_assert!(comparison.balance.unwrap().worst_miss_mired < 1e-9);
        }

        #[test]
        fn the_one_balance_is_never_worse_than_a_preset(
            lights in proptest::collection::vec(a_light(), 2..6)
        ) {
            let setups: Vec<Setup> = lights
                .iter()
                .enumerate()
                .map(|(index, &(mired, duv))| stated(&index.to_string(), mired, duv))
                .collect();
            let options = options(false);
            let balance = compare(&setups, &options).balance.unwrap();
            let off = |middle: f64, of: fn(&(f64, f64)) -> f64| {
                lights.iter().map(|light| (of(light) - middle).abs()).fold(0.0, f64::max)
            };
            for preset in options.presets.compared() {
                let (mired, duv) = (preset.white.mired().get(), preset.white.duv.get());
                prop_assert!(balance.worst_miss_mired <= off(mired, |light| light.0) + 1e-9);
                prop_assert!(balance.worst_miss_duv <= off(duv, |light| light.1) + 1e-12);
            }
            let preset = balance.preset.unwrap();
            prop_assert!(balance.worst_miss_mired <= preset.worst_miss_mired + 1e-9);
        }

        #[test]
        fn shifts_add_up_along_a_chain(a in a_light(), b in a_light(), c in a_light()) {
            let setups = [stated("a", a.0, a.1), stated("b", b.0, b.1), stated("c", c.0, c.1)];
            let shifts = compare(&setups, &options(false)).shifts;
            let [ab, ac, bc] = &shifts[..] else { panic!("three shifts") };
            prop_assert!((ab.mired + bc.mired - ac.mired).abs() < 1e-9);
            prop_assert!((ab.duv + bc.duv - ac.duv).abs() < 1e-12);
        }
    }
}
