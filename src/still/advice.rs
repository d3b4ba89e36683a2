//! What to do with a file that is not read.

pub(super) const SAVE_AS: &str = "Save it as JPEG, PNG or TIFF first.";
pub(super) const PHONE: &str = "Set the phone or camera to save photos as JPEG and take it again; or have the phone hand this one out as JPEG, unedited and with its information kept.";
pub(super) const DEVELOP: &str = "Convert it to DNG, take the card as JPEG, or develop it to JPEG or TIFF without changing its white balance.";
pub(super) const STILL_FRAME: &str = "Take a photograph with the same camera at the same balance. Or stop the film where the card is seen, save that one frame as PNG or JPEG without any look or correction on it, and say with --shot-at what the balance was: a film's frame does not tell.";
