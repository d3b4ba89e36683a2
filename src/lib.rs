//! Reads a photograph of a white card and says what light it was taken in, how far each
//! white-balance preset would miss that light, and what is wrong with the photo.
//!
//! ```no_run
//! use mirecast::balance::{AsShot, PresetTable};
//! use mirecast::{CardOptions, read_card, still};
//!
//! let presets = PresetTable::built_in()?;
//! let mut options = CardOptions::new(presets);
//! options.shot_at = Some(AsShot::stated("daylight", &options.presets)?);
//!
//! let still = still::read("card.jpg".as_ref(), &still::ReadOptions::default())?;
//! let reading = read_card(&still, &options);
//! if let Some(light) = reading.light {
//!     assert!(light.mired_interval[0] <= light.mired && light.mired <= light.mired_interval[1]);
//! }
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Layers, each resting only on those after it: [`report`] writes finished records, [`grade`] makes
//! corrections for grading programs, [`setups`]
//! compares many readings, [`frames`] finds the casts of many stills, [`card`] reads one still,
//! [`balance`] knows presets and lights, [`still`] turns a file into linear light, [`colour`] is the
//! colour science. The program is behind the `cli` feature.

pub mod balance;
pub mod card;
pub mod colour;
pub mod frames;
pub mod grade;
pub mod report;
pub mod setups;
pub mod still;
mod told;

pub use card::{CardOptions, CardReading, read_card};
pub use frames::{FrameOptions, FrameReading, check_frame, group_frames};
pub use told::Told;
