//! Frames that have been checked, as the page holds them until they are grouped.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use hmac::{Hmac, KeyInit, Mac};
use mirecast::report::FrameRecord;
use mirecast::report::html::FramePicture;
use serde::{Deserialize, Serialize};
use sha2::Sha256;

use super::refusal::Refusal;

/// This run's key. What the page brings back is taken only if it is what was given out: figures and
/// pictures of anybody's making could be of any size.
#[derive(Clone)]
pub(crate) struct Seal([u8; 32]);

/// A checked frame on its way to the page and back.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct SealedFrame {
    /// The record as a line of JSON.
    pub(crate) record: String,
    /// The small picture, a JPEG in base64; null where there is none.
    pub(crate) picture: Option<String>,
    seal: String,
}

impl Seal {
    pub(crate) fn new() -> Result<Self, getrandom::Error> {
        let mut key = [0; 32];
        getrandom::fill(&mut key)?;
        Ok(Self(key))
    }

    pub(crate) fn close(
        &self,
        record: &FrameRecord,
        picture: Option<&FramePicture>,
    ) -> Result<SealedFrame, Refusal> {
        let record = serde_json::to_string(record).map_err(|_| Refusal::Stumbled)?;
        let picture = picture.map(|picture| STANDARD.encode(picture.jpeg()));
        let seal = self.over(&record, picture.as_deref()).ok_or(Refusal::Stumbled)?;
        let seal = STANDARD.encode(seal.finalize().into_bytes());
        Ok(SealedFrame { record, picture, seal })
    }

    pub(crate) fn open(
        &self,
        frame: &SealedFrame,
    ) -> Result<(FrameRecord, Option<FramePicture>), Refusal> {
        let picture = frame.picture.as_deref();
        let seal = STANDARD.decode(&frame.seal).map_err(|_| Refusal::Unsealed)?;
        let own = self.over(&frame.record, picture).ok_or(Refusal::Stumbled)?;
        own.verify_slice(&seal).map_err(|_| Refusal::Unsealed)?;
        let record = FrameRecord::from_json(frame.record.as_bytes());
        let record = record.ok().flatten().ok_or(Refusal::Stumbled)?;
        let picture = picture.and_then(|picture| STANDARD.decode(picture).ok());
        Ok((record, picture.and_then(FramePicture::from_jpeg)))
    }

    fn over(&self, record: &str, picture: Option<&str>) -> Option<Hmac<Sha256>> {
        let mut mac = Hmac::<Sha256>::new_from_slice(&self.0).ok()?;
        // No record holds a line's end, so that nothing can be moved across it.
        for part in [record, "\n", if picture.is_some() { "+" } else { "-" }] {
            mac.update(part.as_bytes());
        }
        mac.update(picture.unwrap_or_default().as_bytes());
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
    use mirecast::report::ErrorRecord;

    #[test]
    fn only_what_this_run_gave_out_comes_back() {
        let record = FrameRecord::failure("a.jpg".as_ref(), ErrorRecord::stumbled());
        let seal = Seal::new().unwrap();
        let frame = seal.close(&record, None).unwrap();
        assert_eq!(seal.open(&frame), Ok((record, None)));
        assert_eq!(Seal::new().unwrap().open(&frame), Err(Refusal::Unsealed));
        let renamed =
            SealedFrame { record: frame.record.replace("a.jpg", "b.jpg"), ..frame.clone() };
        let pictured = SealedFrame { picture: Some(String::new()), ..frame.clone() };
        let bare = SealedFrame { seal: "!".to_owned(), ..frame };
        for changed in [renamed, pictured, bare] {
            assert_eq!(seal.open(&changed), Err(Refusal::Unsealed));
        }
    }
}
