//! Sentences from outside, made fit to stand on a page.

use crate::report::plain;

/// A text with what steers shown as escapes, true minus signs, and figures that keep their units.
/// It is still to be escaped by whatever it is put into.
pub(super) fn typeset(text: &str) -> String {
    const UNITS: [&str; 6] = ["%", "K", "mired", "s", "stops", "Duv"];
    let plain = plain(text);
    let mut set = String::with_capacity(plain.len() + 16);
    for (index, word) in plain.split(' ').enumerate() {
        let bare = word.trim_end_matches(['.', ',', ';', ':', ')']);
        let follows_figure = set.ends_with(|last: char| last.is_ascii_digit());
        let is_figure = |text: &str| {
            text.trim_start_matches(['(', '-', '+']).starts_with(|c: char| c.is_ascii_digit())
        };
        let of_duv = set.ends_with("Duv") && is_figure(word);
        if index > 0 {
            let kept = (follows_figure && UNITS.contains(&bare)) || of_duv;
            set.push(if kept { '\u{a0}' } else { ' ' });
        }
        let (opening, rest) = match word.strip_prefix('(') {
            Some(rest) => ("(", rest),
            None => ("", word),
        };
        set.push_str(opening);
        match rest.strip_prefix('-').filter(|rest| is_figure(rest)) {
            Some(figure) => {
                set.push('\u{2212}');
                set.push_str(figure);
            }
            None => set.push_str(rest),
        }
    }
    set
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn figures_keep_their_units_and_names_stay_as_they_are() {
        assert_eq!(
            typeset("3140 K (3030 to 3260), Duv -0.0003 (-0.0035 to +0.0030)"),
            "3140\u{a0}K (3030 to 3260), Duv\u{a0}\u{2212}0.0003 (\u{2212}0.0035 to +0.0030)"
        );
        assert_eq!(typeset("see a-1.jpg with --shot-at 5600K"), "see a-1.jpg with --shot-at 5600K");
        assert_eq!(typeset("x\u{202e}gpj.1"), "x\\u{202e}gpj.1");
    }
}
