//! Values in two parts, low and high.

/// A part is at least this share of the values: fewer are a mark, a finger or what these throw on a card.
const LEAST_PART: f64 = 0.125;

/// The values, by their indices, parted where the two parts' means leave least of them unexplained; `None` if
/// one part would be next to nothing.
pub(crate) fn two_parts(values: &[f64]) -> Option<[Vec<usize>; 2]> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]));
    let explained = |&at: &usize| {
        let (low, high) = order.split_at(at);
        let apart = mean(values, high) - mean(values, low);
        apart * apart * (low.len() * high.len()) as f64
    };
    let best = (1..values.len()).max_by(|a, b| explained(a).total_cmp(&explained(b)))?;
    let (low, high) = order.split_at(best);
    let least = (LEAST_PART * values.len() as f64).max(2.0);
    (low.len().min(high.len()) as f64 >= least).then(|| [low.to_vec(), high.to_vec()])
}

/// The mean of the values with these indices.
pub(crate) fn mean(values: &[f64], of: &[usize]) -> f64 {
    of.iter().map(|&index| values[index]).sum::<f64>() / of.len().max(1) as f64
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_are_parted_where_they_part() {
        let values = [3.0, 41.0, 2.0, 40.0, 1.0, 39.0, 42.0, 2.5];
        assert_eq!(two_parts(&values), Some([vec![4, 2, 7, 0], vec![5, 3, 1, 6]]));
        assert!((mean(&values, &[1, 3]) - 40.5).abs() < 1e-9);
    }

    #[test]
    fn a_few_values_are_no_part() {
        let mut values = vec![0.0; 40];
        (values[7], values[20]) = (90.0, 90.0);
        assert_eq!(two_parts(&values), None);
        assert_eq!(two_parts(&[]), None);
    }
}
