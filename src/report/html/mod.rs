//! Finished records as pages to look at, to mail, to print and to keep with the shoot.
//!
//! A page is one file: pictures, style and script are in it, it loads nothing, and it is whole
//! without its script, which only sorts and filters. Its content security policy allows nothing
//! else. The same records give the same bytes.
//!
//! Whatever comes from a file name or from a photo is hostile: templates and drawings escape it,
//! control characters and marks that turn the direction of writing are shown as escapes, and names
//! stand apart from the text round them.
//!
//! A card and corrections are also there as parts ([`card_section`], [`corrections_section`]), with
//! the style sheet ([`STYLE`]) that they go with, for whoever serves them otherwise.

mod card;
mod cast_bar;
mod corrections;
mod dial;
mod dial_chart;
mod filters;
mod frame_pairs;
mod frames;
mod labels;
mod mark;
mod mired;
mod page;
mod photo;
mod setups;
mod svg;
mod swatch;
#[cfg(test)]
mod tests;
mod thumb;
mod ticks;
mod timeline;
mod typeset;
mod uv;

pub use card::{CardView, card_page, card_section};
pub use corrections::corrections_section;
pub use dial::dial_page;
pub use frames::frames_page;
pub use page::{About, SCRIPT, STYLE, Setting};
pub use setups::{SetupPicture, setups_page};
pub use thumb::{CardPictures, FramePicture};
