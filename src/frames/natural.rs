//! File names in the order in which people count them.

use std::cmp::Ordering;

/// Names as people count: `still-2` before `still-10`.
#[must_use]
pub fn natural_order(a: &str, b: &str) -> Ordering {
    let (mut left, mut right) = (a, b);
    loop {
        let (x, y) = (run(left), run(right));
        if x.is_empty() || y.is_empty() {
            // The text itself decides between names that count alike, such as 1 and 01.
            return x.len().cmp(&y.len()).then_with(|| a.cmp(b));
        }
        let order = match (is_number(x), is_number(y)) {
            (true, true) => {
                let (x, y) = (x.trim_start_matches('0'), y.trim_start_matches('0'));
                x.len().cmp(&y.len()).then_with(|| x.cmp(y))
            }
            _ => x.cmp(y),
        };
        if order != Ordering::Equal {
            return order;
        }
        left = left.get(x.len()..).unwrap_or_default();
        right = right.get(y.len()..).unwrap_or_default();
    }
}

/// The digits, or what is no digit, that a text begins with.
fn run(text: &str) -> &str {
    let digits = is_number(text);
    let end = text.find(|c: char| c.is_ascii_digit() != digits).unwrap_or(text.len());
    text.get(..end).unwrap_or_default()
}

fn is_number(text: &str) -> bool {
    text.starts_with(|c: char| c.is_ascii_digit())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_counted() {
        let mut names = ["b1", "a10", "a2", "a02", "a", "a2b", "1", "a1"];
        names.sort_by(|a, b| natural_order(a, b));
        assert_eq!(names, ["1", "a", "a1", "a02", "a2", "a2b", "a10", "b1"]);
    }
}
