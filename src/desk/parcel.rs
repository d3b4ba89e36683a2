//! What the page sends of photos: a line of JSON that says what they are, then their bytes one
//! after another.

use bytes::Bytes;
use serde::Deserialize;

use super::refusal::Refusal;

/// A photo as the page sends it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Photo {
    /// The file's name, or its path within a folder that was dropped.
    pub(crate) name: String,
    /// What it is called beside others; its name if nothing else.
    pub(crate) called: Option<String>,
    /// The balance as the user states it.
    pub(crate) shot_at: Option<String>,
    /// The file.
    pub(crate) bytes: Bytes,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Label {
    name: String,
    called: Option<String>,
    shot_at: Option<String>,
    bytes: usize,
}

/// Longer names are cut short: no system has them.
const LONGEST_NAME: usize = 1024;
/// The line with the labels is no longer than this.
pub(crate) const LONGEST_LINE: usize = 64 << 10;

/// Takes a body apart, without copying the photos.
pub(crate) fn unpack(body: &Bytes, most: usize) -> Result<Vec<Photo>, Refusal> {
    let malformed = |why: &str| Refusal::Malformed(why.to_owned());
    let end = body.iter().take(LONGEST_LINE).position(|byte| *byte == b'\n');
    let end = end.ok_or_else(|| malformed("no line with labels"))?;
    let labels: Vec<Label> = serde_json::from_slice(&body.slice(..end))
        .map_err(|error| Refusal::Malformed(error.to_string()))?;
    if labels.len() > most {
        return Err(Refusal::TooMany { most });
    }
    let mut rest = body.slice(end + 1..);
    let mut photos = Vec::new();
    for label in labels {
        if label.bytes > rest.len() {
            return Err(malformed("fewer bytes than were announced"));
        }
        photos.push(Photo {
            name: shortened(label.name),
            called: label.called.map(shortened),
            shot_at: label.shot_at.map(shortened),
            bytes: rest.split_to(label.bytes),
        });
    }
    match (photos.is_empty(), rest.is_empty()) {
        (true, _) => Err(malformed("no photo")),
        (_, false) => Err(malformed("more bytes than were announced")),
        _ => Ok(photos),
    }
}

fn shortened(text: String) -> String {
    if text.chars().nth(LONGEST_NAME).is_none() {
        return text;
    }
    text.chars().take(LONGEST_NAME).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn opened(body: &str) -> Result<Vec<Photo>, Refusal> {
        unpack(&Bytes::copy_from_slice(body.as_bytes()), 2)
    }

    #[test]
    fn photos_come_out_as_they_were_put_in() {
        let body = "[{\"name\":\"a.jpg\",\"bytes\":3},{\"name\":\"b\",\"shot_at\":\"5600K\",\
                    \"called\":\"lamp\",\"bytes\":2}]\nabc\n\0";
        let [a, b] = opened(body).unwrap().try_into().unwrap();
        assert_eq!((a.name.as_str(), &a.bytes[..], a.shot_at), ("a.jpg", &b"abc"[..], None));
        assert_eq!((b.shot_at.as_deref(), b.called.as_deref()), (Some("5600K"), Some("lamp")));
        assert_eq!(&b.bytes[..], b"\n\0");
    }

    #[test]
    fn what_does_not_fit_is_refused() {
        for body in [
            "",
            "\n",
            "[]\n",
            "no json\n",
            "{\"name\":\"a\",\"bytes\":0}\n",
            "[{\"name\":\"a\",\"bytes\":4}]\nabc",
            "[{\"name\":\"a\",\"bytes\":2}]\nabc",
            "[{\"name\":\"a\",\"bytes\":-1}]\nabc",
            "[{\"name\":\"a\",\"bytes\":18446744073709551615}]\nabc",
            "[{\"name\":\"a\",\"bytes\":3,\"path\":\"/etc\"}]\nabc",
            "[{\"name\":\"a\",\"bytes\":3}]abc",
        ] {
            let refused = opened(body);
            assert!(matches!(refused, Err(Refusal::Malformed(_))), "{body}: {refused:?}");
        }
        let three = "[{\"name\":\"a\",\"bytes\":0},{\"name\":\"a\",\"bytes\":0},\
                     {\"name\":\"a\",\"bytes\":0}]\n";
        assert_eq!(opened(three), Err(Refusal::TooMany { most: 2 }));
    }

    #[test]
    fn endless_names_are_cut_short() {
        let body = format!("[{{\"name\":\"{}\",\"bytes\":0}}]\n", "窓".repeat(2000));
        assert_eq!(opened(&body).unwrap()[0].name.chars().count(), LONGEST_NAME);
    }
}
