//! Whatever records come, in whatever order.

use super::*;

#[test]
fn the_order_of_the_records_does_not_matter() {
    let mut random = Random(29);
    for _ in 0..10 {
        let day = day(&mut random, 20.0, true);
        let names: Vec<_> = (0..day.frames.len()).map(|i| format!("still-{i}.jpg")).collect();
        let mut pairs: Vec<_> = names.iter().map(String::as_str).zip(&day.frames).collect();
        let given = group_frames(&pairs);
        let by_name: BTreeMap<_, _> =
            names.iter().map(String::as_str).zip(given.group_of).collect();
        for last in (1..pairs.len()).rev() {
            pairs.swap(last, (random.uniform() * (last + 1) as f64) as usize);
        }
        let shuffled = group_frames(&pairs);
        assert_eq!(shuffled.groups, given.groups);
        for ((name, _), group) in pairs.iter().zip(shuffled.group_of) {
            assert_eq!(group, by_name[name], "{name}");
        }
    }
}

#[test]
fn records_that_make_no_sense_are_survived() {
    let mut odd: Vec<_> = [f64::NAN, f64::INFINITY, 1e300, -1e300, 0.0]
        .iter()
        .flat_map(|cast| [frame(*cast, 20.0, None), frame(0.0, *cast, Some(0))])
        .collect();
    odd[3].shot.taken = Some("yesterday".to_owned());
    odd[4].cast.duv = f64::NAN;
    odd[5].cast.white_linear_srgb = [0.0, f64::NAN, -1.0];
    let found = group(&odd);
    assert!(found.group_of.iter().all(|group| *group >= 1));
    assert_eq!(found.groups.iter().map(|group| group.frames).sum::<usize>(), odd.len());
    assert_eq!(group(&[]), Grouping::default());
}

#[test]
fn ten_thousand_frames_are_grouped_in_good_time() {
    let mut random = Random(1);
    let mut frames = Vec::new();
    while frames.len() < 10_000 {
        frames.extend(day(&mut random, 14.0, false).frames);
    }
    let begun = std::time::Instant::now();
    let found = group(&frames);
    let took = begun.elapsed();
    assert!(found.groups.len() >= 3);
    // Tests are built without much optimisation and run beside others; a cubic time would be days.
    assert!(took.as_secs() < 60, "{took:?}");
}
