//! What was read, as the page holds it until it is grouped, reported or corrected.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use hmac::{Hmac, KeyInit, Mac};
use serde::{Deserialize, Serialize};
use sha2::Sha256;

use super::refusal::Refusal;

/// This run's key. What the page brings back is taken only if it is what was given out: figures and
/// pictures of anybody's making could be of any size.
#[derive(Clone)]
pub(crate) struct Seal([u8; 32]);

/// What goes along with a record.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum With {
    /// A card's pictures for a page.
    CardPictures,
    /// A frame's picture for a page.
    FramePicture,
    /// A frame's colours, for what a correction does to them.
    ColourSample,
}

/// A record on its way to the page and back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct Sealed {
    /// The record as a line of JSON.
    pub(crate) record: String,
    /// What goes along with it, in base64; null where there is none.
    with: Option<String>,
    seal: String,
}

impl Seal {
    pub(crate) fn new() -> Result<Self, getrandom::Error> {
        let mut key = [0; 32];
        getrandom::fill(&mut key)?;
        Ok(Self(key))
    }

    /// Closes a record's line of JSON, and what goes along with it.
    pub(crate) fn close(
        &self,
        record: &str,
        kind: With,
        with: Option<&[u8]>,
    ) -> Result<Sealed, Refusal> {
        let with = with.map(|bytes| STANDARD.encode(bytes));
        let seal = self.over(record, kind, with.as_deref()).ok_or(Refusal::Stumbled)?;
        let seal = STANDARD.encode(seal.finalize().into_bytes());
        Ok(Sealed { record: record.to_owned(), with, seal })
    }

    /// The record's line, and what goes along with it.
    pub(crate) fn open<'a>(
        &self,
        sealed: &'a Sealed,
        kind: With,
    ) -> Result<(&'a str, Option<Vec<u8>>), Refusal> {
        let with = sealed.with.as_deref();
        let seal = STANDARD.decode(&sealed.seal).map_err(|_| Refusal::Unsealed)?;
        let own = self.over(&sealed.record, kind, with).ok_or(Refusal::Stumbled)?;
        own.verify_slice(&seal).map_err(|_| Refusal::Unsealed)?;
        let with = with.map(|text| STANDARD.decode(text)).transpose();
        Ok((&sealed.record, with.map_err(|_| Refusal::Stumbled)?))
    }

    fn over(&self, record: &str, kind: With, with: Option<&str>) -> Option<Hmac<Sha256>> {
        let mut mac = Hmac::<Sha256>::new_from_slice(&self.0).ok()?;
        let kind = match (kind, with) {
            (_, None) => "-",
            (With::CardPictures, _) => "card",
            (With::FramePicture, _) => "frame",
            (With::ColourSample, _) => "sample",
        };
        // No record holds a line's end, so that nothing can be moved across it.
        for part in [record, "\n", kind, "\n", with.unwrap_or_default()] {
            mac.update(part.as_bytes());
        }
        Some(mac)
    }
}

impl std::fmt::Debug for Seal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str("Seal(…)")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_what_this_run_gave_out_comes_back() {
        let seal = Seal::new().unwrap();
        let bytes = [1_u8, 2, 3];
        let sealed = seal.close("\"a.jpg\"", With::FramePicture, Some(&bytes)).unwrap();
        let opened = seal.open(&sealed, With::FramePicture);
        assert_eq!(opened, Ok(("\"a.jpg\"", Some(bytes.to_vec()))));
        let none = seal.close("\"a.jpg\"", With::FramePicture, None).unwrap();
        assert_eq!(seal.open(&none, With::FramePicture), Ok(("\"a.jpg\"", None)));

        let other = Seal::new().unwrap().open(&sealed, With::FramePicture);
        assert_eq!(other, Err(Refusal::Unsealed));
        assert_eq!(seal.open(&sealed, With::ColourSample), Err(Refusal::Unsealed));
        let renamed = Sealed { record: "\"b.jpg\"".to_owned(), ..sealed.clone() };
        let pictured = Sealed { with: Some(String::new()), ..sealed.clone() };
        let bare = Sealed { with: None, ..sealed.clone() };
        let unsealed = Sealed { seal: "!".to_owned(), ..sealed };
        for changed in [renamed, pictured, bare, unsealed] {
            assert_eq!(seal.open(&changed, With::FramePicture), Err(Refusal::Unsealed));
        }
    }
}
