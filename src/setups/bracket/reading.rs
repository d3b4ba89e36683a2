//! Photos of a bracket → where the card is neutral.

use super::agreement::agreeing;
use super::counted::{Counted, STEP, dial, ends};
use super::fit::Fit;
use super::one_camera::one_camera;
use super::problem::BracketProblem;
use super::record::{BracketPhoto, BracketReading, NeutralAt, TINT_SHOWS};
use crate::card::ModelError;
use crate::setups::comparison::ComparisonNote;
use crate::setups::setup::{SetupPhoto, SetupStatus};

/// With a residual up to this, mired, a photo is as good as neutral.
const NEUTRAL_MIRED: f64 = 3.0;
/// The same in Duv.
const NEUTRAL_DUV: f64 = 0.0006;
/// Beyond the settings neutral is still looked for this far, mired.
const REACH: f64 = 40.0;
/// Settings on either side of neutral should not lie farther apart than this, mired.
const WIDEST_GAP: f64 = 70.0;

/// Reads a bracket. The photos must have been read with [`ModelError::none`], each at its own
/// setting; `model` is what sensor and lamp add to the light's interval.
///
/// Never fails: what is wrong with the bracket is part of the reading.
#[must_use]
pub fn read_bracket(photos: &[SetupPhoto], model: ModelError) -> BracketReading {
    let mut records: Vec<BracketPhoto> = photos.iter().map(BracketPhoto::of).collect();
    let mut problems: Vec<BracketProblem> = photos.iter().filter_map(setting_unknown).collect();
    let several = one_camera(photos, &mut records);
    let stay = photos.iter().zip(&records).filter(|(_, record)| record.left_out.is_none());
    let counted: Vec<Counted> = stay.filter_map(|(photo, _)| Counted::of(photo)).collect();
    let agreed = match several {
        Some(several) => {
            problems.push(several);
            None
        }
        None => agreeing(&counted, &mut problems),
    };
    let neutral_at =
        agreed.as_ref().and_then(|agreed| neutral(&agreed.photos, &agreed.fit, &mut problems));
    let light = neutral_at.as_ref().map(|neutral| neutral.light(model));
    if let Some(odd) = agreed.as_ref().and_then(|agreed| agreed.left_out) {
        let counted = records.iter_mut().filter(|record| record.left_out.is_none());
        counted.skip(odd).take(1).for_each(BracketPhoto::contradicts);
    }

    let mut advice: Vec<String> = neutral_at.iter().map(NeutralAt::advice).collect();
    advice.extend(problems.iter().map(BracketProblem::advice));
    let unknown = |code: &str| matches!(code, "balance-unknown" | "auto-balance");
    for out in records.iter().filter_map(|photo| photo.left_out.as_ref()) {
        // What to do about an unknown setting has been said.
        if !unknown(&out.code) {
            advice.extend(out.advice.iter().map(|sentence| format!("{}: {sentence}", out.path)));
        }
    }
    BracketReading {
        photos: records,
        neutral_at,
        light,
        problems: problems
            .iter()
            .map(|problem| ComparisonNote {
                code: problem.code().to_owned(),
                message: problem.message(),
            })
            .collect(),
        advice,
    }
}

fn setting_unknown(photo: &SetupPhoto) -> Option<BracketProblem> {
    let path = photo.path.to_string_lossy().into_owned();
    let unknown = photo.status() == SetupStatus::ResidualOnly && !photo.is_raw;
    unknown.then_some(BracketProblem::SettingUnknown { path })
}

fn neutral(
    counted: &[&Counted],
    found: &Fit,
    problems: &mut Vec<BracketProblem>,
) -> Option<NeutralAt> {
    let points = || counted.iter().map(|photo| photo.point);
    let (most_orange, bluest) = ends(points().map(|point| point.residual.mired))?;
    let enclosed = bluest <= NEUTRAL_MIRED && most_orange >= -NEUTRAL_MIRED;
    if enclosed {
        problems.extend(wide_gap(counted, found.at.mired));
    } else {
        let orange = bluest > 0.0;
        let nearest = if orange { bluest } else { -most_orange };
        let extrapolated = nearest <= REACH;
        let add = dial(found.at.mired + if orange { STEP } else { -STEP });
        problems.push(BracketProblem::NotEnclosed { orange, add, extrapolated });
        if !extrapolated {
            return None;
        }
    }
    let (greenest, most_magenta) = ends(points().map(|point| point.residual.duv))?;
    let tint_enclosed = most_magenta <= NEUTRAL_DUV && greenest >= -NEUTRAL_DUV;
    let neutral = NeutralAt::of(found, enclosed, tint_enclosed)?;
    if !tint_enclosed && neutral.tint_left_duv.abs() >= TINT_SHOWS {
        let left = neutral.tint_left_duv;
        let add = [dial(neutral.mired), neutral.duv + TINT_SHOWS.copysign(left)];
        problems.push(BracketProblem::TintNotEnclosed { left, add });
    }
    Some(neutral)
}

fn wide_gap(counted: &[&Counted], neutral: f64) -> Option<BracketProblem> {
    let settings = || counted.iter().map(|photo| photo.place());
    let below = settings().filter(|mired| *mired <= neutral).reduce(f64::max)?;
    let above = settings().filter(|mired| *mired > neutral).reduce(f64::min)?;
    let near = (neutral - below).min(above - neutral) <= STEP;
    let mired = above - below;
    (mired > WIDEST_GAP && !near).then(|| BracketProblem::WideGap { mired, add: dial(neutral) })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::card::CardReading;
    use crate::setups::PhotoFailure;
    use crate::setups::examples::photo;

    /// A photo at a setting of a card in a light of 250 mired and a Duv of 0.009, by a camera that
    /// makes residuals larger by a tenth.
    fn at(path: &str, setting: f64) -> SetupPhoto {
        let residual = 1.1 * (250.0 - setting);
        let mut photo = photo(path, setting + residual);
        if let Ok(reading) = &mut photo.reading {
            reading.shot.balance.kelvin = Some(1e6 / setting);
            reading.shot.balance.duv = Some(0.0);
            if let Some(light) = &mut reading.light {
                light.mired_interval = [light.mired - 2.0, light.mired + 2.0];
                light.duv = 0.009;
                light.duv_interval = [0.008, 0.010];
            }
        }
        photo
    }

    fn read(settings: &[f64]) -> BracketReading {
        let name = |setting: &f64| at(&format!("{setting}.jpg"), *setting);
        let photos: Vec<SetupPhoto> = settings.iter().map(name).collect();
        read_bracket(&photos, ModelError::default())
    }

    fn codes(reading: &BracketReading) -> Vec<&str> {
        reading.problems.iter().map(|problem| problem.code.as_str()).collect()
    }

    #[test]
    fn neutral_is_found_between_the_settings() {
        let reading = read(&[210.0, 230.0, 255.0, 280.0]);
        let neutral = reading.neutral_at.as_ref().unwrap();
        assert!((neutral.mired - 250.0).abs() < 0.5, "{neutral:?}");
        assert!(neutral.mired_interval[0] < 250.0 && 250.0 < neutral.mired_interval[1]);
        assert!(neutral.enclosed && !neutral.tint_enclosed);
        assert!((neutral.kelvin - 4000.0).abs() < 10.0);
        assert_eq!(codes(&reading), ["tint-not-enclosed"]);
        assert!(reading.advice[0].starts_with("Set this camera to 40"), "{:?}", reading.advice);
        let light = reading.light.unwrap();
        assert!(light.mired_interval[0] < neutral.mired_interval[0] - 5.0, "the sensor is added");
    }

    #[test]
    fn the_order_of_photos_does_not_matter() {
        let there = read(&[210.0, 230.0, 255.0, 280.0]).neutral_at.unwrap();
        let back = read(&[280.0, 255.0, 230.0, 210.0]).neutral_at.unwrap();
        assert!((there.mired - back.mired).abs() < 1e-9);
    }

    #[test]
    fn a_bracket_that_does_not_enclose_neutral_names_the_setting_to_add() {
        let warm = read(&[200.0, 220.0, 235.0]);
        assert_eq!(codes(&warm)[0], "not-enclosed");
        assert!(!warm.neutral_at.as_ref().unwrap().enclosed);
        assert!(warm.problems[0].message.contains("orange at every one"), "{:?}", warm.problems);
        let add = warm.advice.iter().find(|advice| advice.contains("as well")).unwrap();
        assert!(add.contains("3750 K") || add.contains("3800 K"), "{add}");
        let far = read(&[140.0, 160.0, 180.0]);
        assert_eq!((codes(&far), &far.neutral_at), (vec!["not-enclosed"], &None));
        let cold = read(&[300.0, 330.0]);
        assert!(cold.problems[0].message.contains("blue at every one"));
        assert!(cold.neutral_at.is_none());
    }

    #[test]
    fn settings_that_are_missing_or_far_apart_are_named() {
        assert_eq!(codes(&read(&[])), ["no-photos"]);
        assert_eq!(codes(&read(&[240.0])), ["one-setting"]);
        let one = read(&[240.0, 240.5]);
        assert_eq!((codes(&one), &one.neutral_at), (vec!["one-setting"], &None));
        assert!(
            one.advice.iter().any(|advice| advice.contains("3750 K and at 4200 K")),
            "{:?}",
            one.advice
        );
        assert_eq!(codes(&read(&[200.0, 300.0]))[0], "wide-gap");
    }

    #[test]
    fn a_photo_that_contradicts_the_others_is_named() {
        let mut photos: Vec<SetupPhoto> = [210.0, 230.0, 250.0, 270.0]
            .map(|setting| at(&format!("{setting}.jpg"), setting))
            .to_vec();
        photos.push(at("wrong.jpg", 290.0));
        if let Ok(CardReading { light: Some(light), .. }) = &mut photos[4].reading {
            light.mired += 60.0;
            light.mired_interval = light.mired_interval.map(|end| end + 60.0);
        }
        let reading = read_bracket(&photos, ModelError::default());
        assert_eq!(codes(&reading)[0], "contradiction");
        assert!(reading.problems[0].message.starts_with("wrong.jpg does not fit"));
        assert!((reading.neutral_at.unwrap().mired - 250.0).abs() < 3.0);
    }

    #[test]
    fn two_photos_between_which_the_card_did_not_change_contradict_each_other() {
        let mut second = at("second.jpg", 225.0);
        if let Ok(CardReading { light: Some(light), .. }) = &mut second.reading {
            light.mired += 25.0;
        }
        let reading = read_bracket(&[at("first.jpg", 200.0), second], ModelError::default());
        assert_eq!((codes(&reading), &reading.neutral_at), (vec!["contradiction"], &None));
        let message = &reading.problems[0].message;
        assert!(message.starts_with("first.jpg and second.jpg contradict"), "{message}");
    }

    /// Photos whose cards came out as if the camera had been set to other balances.
    fn swapped(of: &[(f64, f64)]) -> BracketReading {
        let photos = of.iter().map(|(true_setting, stated)| {
            let mut photo = at(&format!("{true_setting}.jpg"), *true_setting);
            if let Ok(CardReading { light: Some(light), shot, .. }) = &mut photo.reading {
                shot.balance.kelvin = Some(1e6 / stated);
                for mired in light.mired_interval.iter_mut().chain([&mut light.mired]) {
                    *mired += stated - true_setting;
                }
            }
            photo
        });
        read_bracket(&photos.collect::<Vec<_>>(), ModelError::default())
    }

    #[test]
    fn a_bracket_that_contradicts_itself_advises_no_setting() {
        let check = |reading: &BracketReading, word: &str| {
            assert_eq!((codes(reading), &reading.neutral_at), (vec!["contradiction"], &None));
            assert_eq!((reading.light, reading.advice.len()), (None, 1));
            assert!(reading.advice[0].contains("same light"), "{:?}", reading.advice);
            assert!(reading.problems[0].message.contains(word), "{:?}", reading.problems);
        };
        for settings in [
            &[(220.0, 280.0), (250.0, 250.0), (280.0, 220.0)][..],
            &[(230.0, 270.0), (240.0, 260.0), (250.0, 250.0), (260.0, 240.0), (270.0, 230.0)],
            &[(246.0, 254.0), (248.0, 252.0), (250.0, 250.0), (252.0, 248.0), (254.0, 246.0)],
        ] {
            check(&swapped(settings), "came out bluer");
        }
        check(&swapped(&[(220.0, 280.0), (240.0, 220.0), (260.0, 260.0), (280.0, 240.0)]), "line");
        // One of three is as likely to be right as the two others.
        check(&swapped(&[(230.0, 230.0), (250.0, 340.0), (270.0, 270.0)]), "without 250.jpg");
    }

    #[test]
    fn two_settings_that_were_exchanged_are_named_and_no_figure_is_given() {
        for (settings, places) in [
            (&[230.0, 242.0, 254.0, 266.0][..], [1, 2]),
            (&[215.0, 235.0, 255.0, 275.0], [2, 3]),
            (&[215.0, 235.0, 255.0, 275.0, 295.0], [0, 1]),
            (&[220.0, 240.0, 260.0], [1, 2]),
        ] {
            let mut all: Vec<_> = settings.iter().map(|&setting| (setting, setting)).collect();
            let [a, b] = places.map(|place| settings[place]);
            (all[places[0]].1, all[places[1]].1) = (b, a);
            let reading = swapped(&all);
            assert_eq!((codes(&reading), &reading.neutral_at), (vec!["contradiction"], &None));
            let named = format!("{a}.jpg and {b}.jpg seem to have each other's");
            assert!(reading.problems[0].message.starts_with(&named), "{:?}", reading.problems);
            assert!(reading.advice[0].contains("exchanged"), "{:?}", reading.advice);
        }
    }

    #[test]
    fn one_wrong_photo_of_several_is_left_out_and_changes_nothing() {
        for wrong in [0, 2, 4] {
            let settings = [210.0, 230.0, 250.0, 270.0, 290.0].map(|setting| (setting, setting));
            let mut others = settings.to_vec();
            others.remove(wrong);
            let mut all = settings;
            all[wrong].1 += 70.0;
            let (all, others) = (swapped(&all), swapped(&others));
            assert_eq!(codes(&all)[0], "contradiction");
            assert_eq!(all.neutral_at, others.neutral_at, "{wrong}");
            assert!(all.neutral_at.is_some());
            let out = |(place, photo): (usize, &BracketPhoto)| {
                assert_eq!(photo.left_out.is_some(), place == wrong, "{photo:?}");
            };
            all.photos.iter().enumerate().for_each(out);
        }
    }

    #[test]
    fn photos_that_do_not_count_are_kept_in_the_record() {
        let failure = PhotoFailure { code: "missing".to_owned(), message: "none".to_owned() };
        let gone = SetupPhoto { reading: Err(failure), ..at("gone.jpg", 240.0) };
        let mut silent = at("silent.jpg", 240.0);
        if let Ok(reading) = &mut silent.reading {
            reading.status = crate::card::Status::ResidualOnly;
            reading.light = None;
            reading.shot.balance.kelvin = None;
        }
        let photos = [at("a.jpg", 240.0), gone, silent, at("b.jpg", 265.0)];
        let reading = read_bracket(&photos, ModelError::default());
        let counts: Vec<bool> =
            reading.photos.iter().map(|photo| photo.left_out.is_none()).collect();
        assert_eq!(counts, [true, false, false, true]);
        assert_eq!(codes(&reading)[0], "setting-unknown");
        assert!(reading.advice.iter().any(|advice| advice.contains("silent.jpg@5600K")));
        assert!((reading.neutral_at.unwrap().mired - 250.0).abs() < 1.0);
    }

    #[test]
    fn raw_files_do_not_show_the_dial_and_are_left_out() {
        let raw = |path, setting| SetupPhoto { is_raw: true, ..at(path, setting) };
        let with = |photos: &[SetupPhoto]| read_bracket(photos, ModelError::default());
        let reading = with(&[at("a.jpg", 240.0), raw("r.dng", 250.0), at("b.jpg", 265.0)]);
        let out = reading.photos[1].left_out.as_ref().unwrap();
        assert_eq!((out.code.as_str(), reading.photos[0].left_out.is_none()), ("raw-file", true));
        assert!(reading.advice.iter().any(|advice| advice.contains("mirecast card r.dng")));
        assert_eq!(reading.neutral_at, read(&[240.0, 265.0]).neutral_at, "as if it were not there");
        let alone = with(&[raw("1.dng", 240.0), raw("2.dng", 265.0)]);
        assert_eq!((codes(&alone), &alone.neutral_at), (vec!["no-photos"], &None));
        let one = with(&[raw("1.dng", 240.0), at("a.jpg", 265.0)]);
        assert_eq!((codes(&one), &one.neutral_at), (vec!["one-setting"], &None));
    }

    #[test]
    fn settings_with_a_tint_enclose_neutral_in_tint() {
        let tinted = |path: &str, setting: f64, duv: f64| {
            let mut photo = at(path, setting);
            if let Ok(reading) = &mut photo.reading {
                reading.shot.balance.duv = Some(duv);
            }
            photo
        };
        let photos = [tinted("a", 240.0, 0.0), tinted("b", 260.0, 0.0), tinted("c", 250.0, 0.014)];
        let neutral = read_bracket(&photos, ModelError::default()).neutral_at.unwrap();
        assert!(neutral.tint_enclosed && (neutral.duv - 0.009).abs() < 5e-4, "{neutral:?}");
    }
}
