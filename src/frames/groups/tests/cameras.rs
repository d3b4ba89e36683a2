//! Frames of several cameras are never of one group.

use super::*;

#[test]
fn frames_of_other_cameras_and_balances_are_groups_of_their_own() {
    let mut frames: Vec<_> = (0..12).map(|i| frame(40.0, 20.0, Some(32_400 + 60 * i))).collect();
    assert_eq!(group(&frames).groups.len(), 1);
    for frame in &mut frames[6..] {
        frame.shot.camera = Some("Camera B".to_owned());
    }
    frames[11].shot.balance.kelvin = Some(3200.0);
    let found = group(&frames);
    assert_eq!(found.group_of, [1, 1, 1, 1, 1, 1, 2, 2, 2, 2, 2, 3]);
    assert_eq!(found.groups[1].camera.as_deref(), Some("Camera B"));
    assert_eq!(found.groups[2].balance.kelvin, Some(3200.0));
}

#[test]
fn bodies_of_one_model_are_cameras_of_their_own_and_named_apart() {
    let mut frames: Vec<_> = (0..12).map(|i| frame(40.0, 20.0, Some(32_400 + 60 * i))).collect();
    for (i, frame) in frames.iter_mut().enumerate() {
        frame.shot.body = Some(if i % 2 == 0 { "0042" } else { "0043" }.to_owned());
    }
    let found = group(&frames);
    assert_eq!(found.group_of, [1, 2, 1, 2, 1, 2, 1, 2, 1, 2, 1, 2]);
    let names: Vec<_> = found.groups.iter().filter_map(|group| group.camera.as_deref()).collect();
    assert_eq!(names, ["Camera A (body 0042)", "Camera A (body 0043)"]);
    // One body alone needs no number, and a file that does not say it is of that one.
    frames.iter_mut().for_each(|frame| frame.shot.body = Some("0042".to_owned()));
    frames[3].shot.body = None;
    let found = group(&frames);
    assert_eq!((found.groups.len(), found.groups[0].camera.as_deref()), (1, Some("Camera A")));
}

#[test]
fn records_of_two_sources_that_name_no_camera_are_of_two() {
    let mut frames: Vec<_> = (0..8).map(|i| frame(40.0, 20.0, Some(32_400 + 60 * i))).collect();
    let of_sources = |frames: &[FrameReading]| {
        let names: Vec<_> = (0..8).map(|i| format!("{i}.jpg")).collect();
        let given = names.iter().zip(frames).zip([0, 1].into_iter().cycle());
        let given: Vec<_> =
            given.map(|((name, frame), from)| (name.as_str(), frame, from)).collect();
        group_sourced(&given).group_of
    };
    assert_eq!(of_sources(&frames), [1; 8], "a camera that is named is the same in both");
    frames.iter_mut().for_each(|frame| frame.shot.camera = None);
    assert_eq!(of_sources(&frames), [1, 2, 1, 2, 1, 2, 1, 2]);
}

#[test]
fn a_folder_stands_for_a_camera_that_is_not_named() {
    let mut frames: Vec<_> = (0..8).map(|i| frame(40.0, 20.0, Some(32_400 + 60 * i))).collect();
    frames.iter_mut().for_each(|frame| frame.shot.camera = None);
    let names: Vec<_> = (0..8).map(|i| format!("card-{}/{i}.jpg", i % 2)).collect();
    let pairs: Vec<_> = names.iter().map(String::as_str).zip(&frames).collect();
    assert_eq!(group_frames(&pairs).group_of, [1, 2, 1, 2, 1, 2, 1, 2]);
}
