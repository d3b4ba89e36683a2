//! What templates make of sentences.
#![expect(unreachable_pub, reason = "the macro for filters makes public items")]

use askama::Values;
use askama::filters::{Html, Safe, escape};

/// A sentence with the names of options marked, so that no line is broken at their hyphens.
#[askama::filter_fn]
pub(super) fn sentence(text: impl ToString, _: &dyn Values) -> askama::Result<Safe<String>> {
    let escaped = escape(text.to_string(), Html)?.to_string();
    Ok(Safe(with_options_marked(&escaped)))
}

/// An escaped text with every `--option` in an element of its own.
fn with_options_marked(escaped: &str) -> String {
    const BEGINS: &str = "--";
    let mut marked = String::with_capacity(escaped.len() + 16);
    let mut rest = escaped;
    while let Some((before, after)) = rest.split_once(BEGINS) {
        marked.push_str(before);
        let stands_alone = !before.ends_with(|last: char| last.is_alphanumeric() || last == '-');
        let end = after.find(|c: char| !c.is_ascii_lowercase() && c != '-');
        let (name, left) = after.split_at(end.unwrap_or(after.len()));
        if stands_alone && name.starts_with(|first: char| first.is_ascii_lowercase()) {
            marked.push_str(&format!("<code>{BEGINS}{name}</code>"));
            rest = left;
        } else {
            marked.push_str(BEGINS);
            rest = after;
        }
    }
    marked + rest
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn options_are_marked_and_nothing_else_is() {
        let marked = with_options_marked;
        assert_eq!(
            marked("say it with --shot-at 3200K (or --area)."),
            "say it with <code>--shot-at</code> 3200K (or <code>--area</code>)."
        );
        for whole in ["a--b.jpg", "-- ---", "&#60;--", "--5", "-3 to -2"] {
            assert_eq!(marked(whole), whole);
        }
    }

    #[test]
    fn what_is_said_stays_escaped() {
        let text = sentence::default().execute("<b> --area", askama::NO_VALUES).unwrap().0;
        assert_eq!(text, "&#60;b&#62; <code>--area</code>");
    }
}
