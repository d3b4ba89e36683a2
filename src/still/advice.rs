//! What to do with a file that is not read.

pub(super) const SAVE_AS: &str = "Save it as JPEG, PNG or TIFF first.";
/// With what phones and cameras save as HEIF or AVIF.
pub const PHONE: &str = "Set the phone or camera to save photos as JPEG and take the photo again; or have the phone hand it out as JPEG, unedited and with its information kept.";
pub(super) const DEVELOP: &str = "Convert it to DNG, take the card as JPEG, or develop it to JPEG or TIFF without changing its white balance.";
/// With a film.
pub const STILL_FRAME: &str = "To read a card, take a photograph with the same camera at the same balance; or stop the film where the card is seen, save that one frame as PNG or JPEG without any look or correction on it, and say what the camera's balance was: a film's frame does not tell. To check frames, save single frames of the film in the same way.";
