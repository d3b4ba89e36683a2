//! Reads a photograph of a white card and says what light it was taken in, how far each
//! white-balance preset would miss that light, and what is wrong with the photo.
//!
//! ```
//! use mirecast::balance::PresetTable;
//! use mirecast::{CardOptions, read_card, still};
//!
//! let photo = "sample-frames/card-lamps-fills-frame.jpg";
//! let still = still::read(photo.as_ref(), &still::ReadOptions::default())?;
//! let reading = read_card(&still, &CardOptions::new(PresetTable::built_in()?));
//!
//! // The camera wrote down that it was set to its tungsten preset, so the light is known:
//! let light = reading.light.expect("a good photo of a card");
//! assert!((3030.0..3260.0).contains(&light.cct_kelvin));
//! // … and the interval holds the truth nine times in ten.
//! let [low, high] = light.cct_interval_kelvin;
//! assert!(low < light.cct_kelvin && light.cct_kelvin < high);
//!
//! // Presets come nearest first. Plus is orange, minus blue.
//! assert_eq!(reading.presets[0].name, "tungsten");
//! let daylight = reading.presets.iter().find(|miss| miss.name == "daylight");
//! assert!(daylight.is_some_and(|miss| miss.miss_mired > 100.0));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! Where the file does not say what the camera was set to, `options.shot_at` does; without either
//! there is no light, only what the card came out as. A card that cannot be balanced from is not an
//! error but a reading that says why. Errors are for files: each names the file, what is wrong, and
//! what to do.
//!
//! Frames without a card are checked by [`check_frame`] and put together by [`group_frames`];
//! `examples/shoot.rs` goes from stills to the corrections of their groups.
//!
//! # Units and signs
//! Temperatures are in kelvin, differences in mired (1 000 000 / K): plus is orange, minus blue.
//! Tint is Duv: plus green, minus magenta. Every interval holds the truth nine times in ten.
//!
//! # Features
//! `cli` (the program and what it needs), `desk` (its page in a browser), `html` (reports as pages),
//! `raw-formats` (cameras' own raw formats, by a library under LGPL-2.1) and `jpeg-xl`, all on by
//! default. The library alone: `default-features = false`, and `raw-formats` and `jpeg-xl` as
//! wanted.
//!
//! # Layers
//! Each rests only on those after it: [`report`] writes finished records, [`grade`] makes
//! corrections for grading programs, [`setups`]
//! compares many readings, [`frames`] finds the casts of many stills, [`card`] reads one still,
//! [`balance`] knows presets and lights, [`still`] turns a file into linear light, [`colour`] is the
//! colour science. The program is behind the `cli` feature.

pub mod balance;
pub mod card;
mod channels;
pub mod colour;
pub mod frames;
pub mod grade;
mod normal;
pub mod report;
pub mod setups;
pub mod still;
mod system;
mod told;
mod whole;

pub use card::{CardOptions, CardReading, read_card};
pub use frames::{FrameOptions, FrameReading, check_frame, group_frames};
pub use system::in_system_words;
pub use told::Told;
