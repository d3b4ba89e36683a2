//! The most probable path through states that last.

/// The most probable state at each frame (Viterbi 1967), where the state stays or, with a chance
/// that each frame has its own, is drawn anew from `ln_prior`.
///
/// `emit` fills in the logarithm of each state's likelihood at a frame. Takes time in proportion
/// to frames × states, and memory to their sum: after a change the best state before it is the
/// same for all, so that the beginning of each state's stretch is all that must be kept.
pub(super) fn most_probable_path(
    chances_of_change: &[f64],
    ln_prior: &[f64],
    mut emit: impl FnMut(usize, &mut [f64]),
) -> Vec<usize> {
    let states = ln_prior.len();
    let mut score = ln_prior.to_vec();
    let mut begun = vec![0_usize; states];
    let mut emission = vec![0.0; states];
    // At each frame, the best state that ends there and where its stretch began.
    let mut best = Vec::with_capacity(chances_of_change.len());
    for (frame, chance) in chances_of_change.iter().enumerate() {
        emit(frame, &mut emission);
        if let Some((_, _, top)) = best.last().copied() {
            let (stay, change): (f64, f64) = ((1.0 - chance).ln(), chance.ln() + top);
            for ((score, begun), prior) in score.iter_mut().zip(&mut begun).zip(ln_prior) {
                let anew = change + prior;
                *score += stay;
                if anew > *score {
                    (*score, *begun) = (anew, frame);
                }
            }
        }
        score.iter_mut().zip(&emission).for_each(|(score, emission)| *score += emission);
        let mut top = (0, 0, f64::NEG_INFINITY);
        for (state, (score, begun)) in score.iter().zip(&begun).enumerate() {
            if *score > top.2 {
                top = (state, *begun, *score);
            }
        }
        best.push(top);
    }
    let mut path = vec![0; best.len()];
    let mut end = best.len();
    while let Some((state, begun, _)) = end.checked_sub(1).and_then(|last| best.get(last)) {
        if let Some(stretch) = path.get_mut(*begun..end) {
            stretch.fill(*state);
        }
        end = *begun;
    }
    path
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every path tried.
    fn by_trial(chances: &[f64], prior: &[f64], likelihood: &[Vec<f64>]) -> f64 {
        let (frames, states) = (likelihood.len(), prior.len());
        let mut best = f64::NEG_INFINITY;
        for code in 0..states.pow(frames as u32) {
            let path: Vec<_> = (0..frames).map(|f| code / states.pow(f as u32) % states).collect();
            best = best.max(score(&path, chances, prior, likelihood));
        }
        best
    }

    fn score(path: &[usize], chances: &[f64], prior: &[f64], likelihood: &[Vec<f64>]) -> f64 {
        let mut sum = prior[path[0]] + likelihood[0][path[0]];
        for frame in 1..path.len() {
            let (state, chance) = (path[frame], chances[frame]);
            let anew = chance.ln() + prior[state];
            let stay = (1.0 - chance).ln();
            sum += likelihood[frame][state];
            sum += if state == path[frame - 1] { stay.max(anew) } else { anew };
        }
        sum
    }

    #[test]
    fn no_path_is_more_probable() {
        let mut seed = 7_u64;
        let mut random = || {
            seed = seed.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
            (seed >> 33) as f64 / f64::from(1_u32 << 31)
        };
        for _ in 0..40 {
            let likelihood: Vec<Vec<f64>> =
                (0..6).map(|_| (0..3).map(|_| -6.0 * random()).collect()).collect();
            let chances: Vec<_> = (0..6).map(|_| 0.02 + 0.4 * random()).collect();
            let prior: Vec<_> = (0..3).map(|_| -3.0 * random()).collect();
            let path = most_probable_path(&chances, &prior, |frame, emission| {
                emission.copy_from_slice(&likelihood[frame]);
            });
            let found = score(&path, &chances, &prior, &likelihood);
            let wanted = by_trial(&chances, &prior, &likelihood);
            assert!((found - wanted).abs() < 1e-9, "{found} {wanted}");
        }
    }

    #[test]
    fn nothing_has_no_path() {
        assert!(most_probable_path(&[], &[0.0], |_, _| ()).is_empty());
        assert_eq!(most_probable_path(&[0.1; 3], &[], |_, _| ()), [0; 3]);
    }
}
