//! Whether the photos of a bracket agree: on one line of settings and colours.

use super::counted::{Counted, STEP, dial, ends};
use super::fit::{Fit, Point, fit};
use super::problem::BracketProblem;

/// Settings nearer to each other than this, mired, are one.
const ONE_SETTING: f64 = 3.0;
/// By so much less or more than the setting the card may change.
const STRETCH: [f64; 2] = [0.4, 2.5];
/// Changes that are off by less than this, mired, are no contradiction.
const DISAGREES: f64 = 10.0;
/// So many photos must agree before another is left out for not doing so: of three photos one is
/// as likely to be right as the two others, which agree easily.
const ENOUGH: usize = 3;

/// Photos that agree.
pub(super) struct Agreed<'a> {
    pub(super) photos: Vec<&'a Counted>,
    pub(super) fit: Fit,
    /// The place of the one that does not, among all that were given.
    pub(super) left_out: Option<usize>,
}

/// The photos that agree, with their fit; `None` where there are none or they contradict each
/// other. What is wrong is added to `problems`.
pub(super) fn agreeing<'a>(
    counted: &'a [Counted],
    problems: &mut Vec<BracketProblem>,
) -> Option<Agreed<'a>> {
    let Some(found) = fit_of(counted.iter()) else {
        problems.push(BracketProblem::NoPhotos);
        return None;
    };
    let (warmest, coolest) = ends(counted.iter().map(Counted::place))?;
    if warmest - coolest < ONE_SETTING {
        if let Some(contradiction) = at_one_setting(counted) {
            problems.push(contradiction);
            return None;
        }
        let beside = |side: f64| dial(found.at.mired + side * STEP);
        problems.push(BracketProblem::OneSetting { add: [beside(1.0), beside(-1.0)] });
        return None;
    }
    let disagreeing = disagreeing(counted);
    let fits = counted.len() == 2 || found.contradicts.iter().all(Option::is_none);
    if disagreeing.is_empty() && fits {
        return Some(Agreed { photos: counted.iter().collect(), fit: found, left_out: None });
    }
    if let ([a, b], Some(pair)) = (counted, disagreeing.first()) {
        problems.push(BracketProblem::Disagreement {
            paths: [a.path.clone(), b.path.clone()],
            turned: pair.turned,
            changed: pair.changed,
        });
        return None;
    }
    let backward = is_backward(counted);
    if let Some(places) = swapped(counted, &disagreeing).filter(|_| !backward) {
        let path = |place: usize| counted.get(place).map(|photo| photo.path.clone());
        let paths = places.map(|place| path(place).unwrap_or_default());
        problems.push(BracketProblem::Swapped { paths });
        return None;
    }
    let mut odd = odd(counted, &found, &disagreeing);
    if let [(place, off, _), ..] = odd[..]
        && counted.len() > ENOUGH
        && let Some(photo) = counted.get(place)
    {
        problems.push(BracketProblem::Contradiction { path: photo.path.clone(), off });
        let (_, _, fit) = odd.swap_remove(0);
        let others = counted.iter().enumerate().filter(|(other, _)| *other != place);
        let photos = others.map(|(_, photo)| photo).collect();
        return Some(Agreed { photos, fit, left_out: Some(place) });
    }
    let only = if let [(place, ..)] = odd[..] { counted.get(place) } else { None };
    problems
        .push(BracketProblem::Inconsistent { backward, odd: only.map(|photo| photo.path.clone()) });
    None
}

/// The two photos at one setting that are furthest apart, where the card cannot have come out like that.
fn at_one_setting(counted: &[Counted]) -> Option<BracketProblem> {
    let orange = |photo: &&Counted| photo.point.residual.mired;
    let by_orange = |a: &&Counted, b: &&Counted| orange(a).total_cmp(&orange(b));
    let (a, b) = (counted.iter().min_by(by_orange)?, counted.iter().max_by(by_orange)?);
    let changed = orange(&b) - orange(&a);
    let paths = [a.path.clone(), b.path.clone()];
    (changed > DISAGREES).then_some(BracketProblem::Disagreement { paths, turned: 0.0, changed })
}

fn fit_of<'a>(photos: impl Iterator<Item = &'a Counted>) -> Option<Fit> {
    fit(&photos.map(|photo| photo.point).collect::<Vec<Point>>())
}

/// Photos without any one of which the others agree: their places, what they are off from the
/// others' fit, mired, and that fit. The farthest comes first.
fn odd(counted: &[Counted], found: &Fit, disagreeing: &[Pair]) -> Vec<(usize, f64, Fit)> {
    // Who is wrong has a part in every pair that disagrees.
    let suspects: Vec<usize> = match disagreeing.first() {
        Some(pair) => pair.places.to_vec(),
        None => (0..counted.len())
            .filter(|place| found.contradicts.get(*place).is_some_and(Option::is_some))
            .collect(),
    };
    let without = |place: usize| {
        if !disagreeing.iter().all(|pair| pair.places.contains(&place)) {
            return None;
        }
        let others = || counted.iter().enumerate().filter(|(other, _)| *other != place);
        let (warmest, coolest) = ends(others().map(|(_, photo)| photo.place()))?;
        let fit = fit_of(others().map(|(_, photo)| photo))?;
        let fits = counted.len() == 3 || fit.contradicts.iter().all(Option::is_none);
        let off = fit.off(&counted.get(place)?.point);
        (fits && warmest - coolest >= ONE_SETTING).then_some((place, off, fit))
    };
    let mut odd: Vec<_> = suspects.into_iter().filter_map(without).collect();
    odd.sort_by(|(_, a, _), (_, b, _)| b.abs().total_cmp(&a.abs()));
    odd
}

/// Two photos between whose settings the card did not change as it must.
struct Pair {
    /// Among the photos that count.
    places: [usize; 2],
    /// How far the second's setting is from the first's, mired.
    turned: f64,
    /// How much more orange the card came out in the second, mired.
    changed: f64,
}

/// The pairs between whose settings the card did not change as it must: by about as much as the
/// setting, the other way. Contrast and colour of a picture style stretch that, but not out of
/// [`STRETCH`].
fn disagreeing(counted: &[Counted]) -> Vec<Pair> {
    let mut pairs = Vec::new();
    for (first, a) in counted.iter().enumerate() {
        for (second, b) in counted.iter().enumerate().skip(first + 1) {
            let turned = b.place() - a.place();
            let changed = b.point.residual.mired - a.point.residual.mired;
            let far = (turned + changed).abs() > DISAGREES;
            let share = -changed * turned.signum();
            let [least, most] = STRETCH.map(|stretch| stretch * turned.abs());
            if far && !(least..=most).contains(&share) {
                pairs.push(Pair { places: [first, second], turned, changed });
            }
        }
    }
    pairs
}

/// The two photos that came out the wrong way round, where all would agree were each at the other's
/// setting. Without either of them the others may agree as well, on a figure that is off by half
/// of what the two lie apart.
fn swapped(counted: &[Counted], contradicting: &[Pair]) -> Option<[usize; 2]> {
    let wrong_way = contradicting.iter().filter(|pair| pair.turned * pair.changed > 0.0);
    let mut fitting = wrong_way.map(|pair| pair.places).filter(|&[a, b]| {
        let (Some(first), Some(second)) = (counted.get(a), counted.get(b)) else { return false };
        let mut photos = counted.to_vec();
        photos[a] = first.at_setting(second.setting);
        photos[b] = second.at_setting(first.setting);
        let fits = |fit: Fit| fit.contradicts.iter().all(Option::is_none);
        disagreeing(&photos).is_empty() && fit_of(photos.iter()).is_some_and(fits)
    });
    // Where two exchanges would do, it is neither.
    let only = fitting.next()?;
    fitting.next().is_none().then_some(only)
}

/// Whether the card went the wrong way between each two settings.
fn is_backward(counted: &[Counted]) -> bool {
    let pairs = counted.iter().enumerate().flat_map(|(place, a)| {
        counted
            .iter()
            .skip(place + 1)
            .map(move |b| (b.place() - a.place(), b.point.residual.mired - a.point.residual.mired))
    });
    let mut apart = pairs.filter(|(turned, _)| turned.abs() >= ONE_SETTING);
    apart.all(|(turned, changed)| turned * changed > 0.0)
}
